"""Pictures in sixels (DEC, VT330/VT340 programmer reference).

A picture goes wherever anything else is written: whatever is drawn in cells stays beneath it.
"""

import re

from burnplan.workbench.dots import THROUGH, Dots


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
