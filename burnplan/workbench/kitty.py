r"""Pictures by the Kitty graphics protocol (sw.kovidgoyal.net/kitty/graphics-protocol).

A terminal holds a picture by its number, and shows it where it is placed, above the text, until
it is taken away: text that is written there changes nothing. So a picture is sent once, and a few
bytes show it elsewhere, in part, or not.
"""

import base64
import io
from typing import TYPE_CHECKING

from burnplan.workbench.dots import THROUGH, Dots

if TYPE_CHECKING:
    from textual.geometry import Region

# Our own first number of a picture; a picture of the same number takes its place.
_FIRST = 0x6275_0000
# The most of a picture that one command may carry, in base64 (the protocol).
_CHUNK = 4096
# Of zlib's nine: more takes up to four times as long for three per cent (measured).
_EFFORT = 4

QUESTION = b"\x1b_Gi=31,s=1,v=1,a=q,t=d,f=24;AAAA\x1b\\"
"""Whether a picture of one dot could be shown; what does not know the protocol keeps silent."""


def understood(answer: bytes) -> bool:
    r"""Return whether a terminal's answer says that it knows the protocol.

    Examples
    --------
    >>> understood(b"\x1b_Gi=31;OK\x1b\\\x1b[?62c"), understood(b"\x1b[?62c")
    (True, False)
    """
    return b"\x1b_Gi=31;OK\x1b\\" in answer


def sent(number: int, dots: Dots) -> str:
    """Return how a terminal is given a picture to hold; it answers nothing."""
    import numpy as np
    from PIL import Image

    colours, options = np.asarray(dots.colours, np.uint8), {}
    if (dots.numbers == THROUGH).any():
        options["transparency"] = THROUGH
        colours = np.concatenate([colours, np.zeros((THROUGH + 1 - len(colours), 3), np.uint8)])
    drawn, file = Image.fromarray(dots.numbers), io.BytesIO()
    drawn.putpalette(colours.tobytes())
    drawn.save(file, "png", compress_level=_EFFORT, **options)
    text = base64.standard_b64encode(file.getvalue()).decode("ascii")
    chunks = [text[at : at + _CHUNK] for at in range(0, len(text), _CHUNK)]
    first = f"a=t,t=d,f=100,i={_FIRST + number},q=2,"
    return "".join(
        f"\x1b_G{first if at == 0 else ''}m={int(at < len(chunks) - 1)};{chunk}\x1b\\"
        for at, chunk in enumerate(chunks)
    )


def placed(number: int, cells: "Region", part: "Region") -> str:
    r"""Return how a terminal shows a part, px, of a picture that it holds over some cells.

    It goes from where it was.

    Examples
    --------
    >>> from textual.geometry import Region
    >>> placed(1, Region(4, 2, 10, 5), Region(0, 20, 100, 100)).removeprefix("\x1b7\x1b[3;5H")
    '\x1b_Ga=p,i=1651834881,p=1,x=0,y=20,w=100,h=100,c=10,r=5,C=1,q=2\x1b\\\x1b8'
    """
    # The cursor goes back to where it was.
    return (
        f"\x1b7\x1b[{cells.y + 1};{cells.x + 1}H"
        f"\x1b_Ga=p,i={_FIRST + number},p=1,x={part.x},y={part.y},w={part.width},h={part.height},"
        f"c={cells.width},r={cells.height},C=1,q=2\x1b\\\x1b8"
    )


def taken_away(number: int, *, forgotten: bool = False) -> str:
    r"""Return how a terminal shows a picture no more; it holds it on, unless it is forgotten.

    Examples
    --------
    >>> taken_away(1), taken_away(1, forgotten=True)
    ('\x1b_Ga=d,d=i,i=1651834881,q=2\x1b\\', '\x1b_Ga=d,d=I,i=1651834881,q=2\x1b\\')
    """
    return f"\x1b_Ga=d,d={'I' if forgotten else 'i'},i={_FIRST + number},q=2\x1b\\"
