"""Pictures by a terminal's own dots, where it draws sixels (DEC, VT330/VT340 programmer reference).

Whatever is drawn in cells stays beneath: a picture is laid over its cells once the hand rests,
and goes wherever anything else is written there. So nothing is left over as a page scrolls or
goes, and a terminal that has no sixels shows all there is to see.
"""

import os
import re
import sys
import time
from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

# Primary device attributes: 4 is sixels (DEC STD 070); every terminal answers. And the size of
# a cell, which many answer (xterm's control sequences).
_QUESTION = b"\x1b[16t\x1b[c"
_ATTRIBUTES = re.compile(rb"\x1b\[\?(\d+(?:;\d+)*)c")
_CELL = re.compile(rb"\x1b\[6;(\d+);(\d+)t")
# So long a terminal may take to answer, over a slow line too (our own choice).
_SECONDS = 0.5

THROUGH = 255
"""The number of what is not painted: the cell beneath is seen. By definition."""


class Cell(NamedTuple):
    """The size of a cell of the terminal, px."""

    width: int
    height: int


class Dots(NamedTuple):
    """A picture in numbered colours; ``THROUGH`` is not painted.

    Parameters
    ----------
    numbers : ndarray of uint8, shape (H, W)
    colours : ndarray of uint8, shape (N, 3)
    """

    numbers: "npt.NDArray[np.uint8]"
    colours: "npt.NDArray[np.uint8]"


def cell_of_terminal() -> Cell | None:
    """Return the size of a cell where the terminal draws sixels; None where it does not.

    It is asked only where both ends are a terminal, before anything is drawn there.
    ``BURNPLAN_PICTURES`` forces either: ``blocks``, or ``sixel`` without the question whether.
    """
    wish = os.environ.get("BURNPLAN_PICTURES", "").strip().lower()
    reads, writes = sys.__stdin__, sys.__stdout__
    if wish not in ("", "sixel") or not (reads and writes and reads.isatty() and writes.isatty()):
        return None
    with suppress(ImportError, OSError, ValueError):
        answer = _answer(reads.fileno(), writes.fileno())
        if wish == "sixel" or draws_sixels(answer):
            return cell_in(answer) or cell_now()
    return None


def draws_sixels(answer: bytes) -> bool:
    r"""Return whether a terminal's answer says that it draws sixels.

    Examples
    --------
    >>> draws_sixels(b"\x1b[?63;1;2;4;6c"), draws_sixels(b"\x1b[?4;1c"), draws_sixels(b"")
    (True, False, False)
    """
    found = _ATTRIBUTES.search(answer)
    return found is not None and b"4" in found[1].split(b";")[1:]


def cell_in(answer: bytes) -> Cell | None:
    r"""Return the size of a cell that a terminal's answer tells.

    Examples
    --------
    >>> cell_in(b"\x1b[6;20;10t\x1b[?63;4c")
    Cell(width=10, height=20)
    """
    found = _CELL.search(answer)
    return _sound(int(found[2]), int(found[1])) if found else None


def cell_now() -> Cell | None:
    """Return the size of a cell as the terminal's window has it now; None where it is not told."""
    with suppress(ImportError, OSError, ValueError):
        import fcntl
        import struct
        import termios

        window = sys.__stdout__ or sys.stdout
        told = fcntl.ioctl(window.fileno(), termios.TIOCGWINSZ, bytes(8))
        rows, columns, across, down = struct.unpack("HHHH", told)
        if rows and columns:
            return _sound(across // columns, down // rows)
    return None


def _sound(width: int, height: int) -> Cell | None:
    return Cell(width, height) if 4 <= width <= 100 and 4 <= height <= 200 else None


def _answer(reads: int, writes: int) -> bytes:
    """Return what a terminal says to the question, as far as it comes in time."""
    import select
    import termios
    import tty

    before, answer, until = termios.tcgetattr(reads), b"", time.monotonic() + _SECONDS
    tty.setcbreak(reads, termios.TCSANOW)
    try:
        os.write(writes, _QUESTION)
        while not _ATTRIBUTES.search(answer):
            if not select.select([reads], [], [], max(0.0, until - time.monotonic()))[0]:
                break
            answer += os.read(reads, 1024)
    finally:
        termios.tcsetattr(reads, termios.TCSANOW, before)
    return answer


def drawn(dots: Dots) -> str:
    r"""Return a picture as the terminal is told it, from where its cursor stands.

    Examples
    --------
    >>> import numpy as np
    >>> one = Dots(np.array([[0, 0, 0, 0], [0, 255, 255, 0]], np.uint8), np.array([[255, 0, 0]]))
    >>> drawn(one).removeprefix("\x1bP").removesuffix("\x1b\\")
    '0;1;0q"1;1;4;2#0;2;100;0;0#0B@@B-'
    """
    import numpy as np

    height, width = dots.numbers.shape
    parts = [b'\x1bP0;1;0q"1;1;%d;%d' % (width, height)]
    percent = np.rint(np.asarray(dots.colours, np.float64) / 255 * 100).astype(int).tolist()
    used = np.unique(dots.numbers).tolist()
    parts += [b"#%d;2;%d;%d;%d" % (one, *percent[one]) for one in used if one != THROUGH]
    weights = np.array([1, 2, 4, 8, 16, 32], np.uint8)[:, None]
    for top in range(0, height, 6):
        band = dots.numbers[top : top + 6]
        rows = weights[: len(band)]
        lines = []
        for one in np.unique(band).tolist():
            if one == THROUGH:
                continue
            sixels = ((band == one) * rows).sum(axis=0, dtype=np.uint8)
            last = int(np.flatnonzero(sixels)[-1]) + 1
            text = (sixels[:last] + 63).astype(np.uint8).tobytes()
            lines.append(b"#%d%s" % (one, _RUNS.sub(_short, text)))
        parts.append(b"$".join(lines) + b"-")
    return (b"".join(parts) + b"\x1b\\").decode("ascii")


_RUNS = re.compile(rb"(.)\1{3,}", re.DOTALL)


def _short(run: re.Match[bytes]) -> bytes:
    return b"!%d%s" % (len(run[0]), run[1])
