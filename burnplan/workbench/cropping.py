"""The part of a photo that is used, as a hand moves and draws it: a box, in shares of the photo."""

Box = tuple[float, float, float, float]
"""Left, top, right and bottom, each from 0 to 1."""

ALL: Box = (0.0, 0.0, 1.0, 1.0)
_LEAST = 0.05  # of the photo: less is hardly meant


def moved(box: Box, right: float, down: float) -> Box:
    """Return a box moved, as far as the photo reaches.

    Examples
    --------
    >>> moved((0.1, 0.2, 0.5, 0.6), 0.05, -0.5)
    (0.15, 0.0, 0.55, 0.4)
    """
    left, top, last, bottom = box
    x = min(max(right, -left), 1 - last)
    y = min(max(down, -top), 1 - bottom)
    return _rounded(left + x, top + y, last + x, bottom + y)


def grown(box: Box, wider: float, higher: float) -> Box:
    """Return a box as much larger on every side, as far as the photo reaches.

    Examples
    --------
    >>> grown((0.0, 0.2, 0.5, 0.6), 0.05, -0.1), grown((0.4, 0.4, 0.5, 0.5), -0.2, 0.0)
    ((0.0, 0.3, 0.55, 0.5), (0.425, 0.4, 0.475, 0.5))
    """
    left, top, right, bottom = box
    x, y = (max(more, (_LEAST - wide) / 2)
            for more, wide in ((wider, right - left), (higher, bottom - top)))  # fmt: skip
    return _rounded(
        max(0.0, left - x), max(0.0, top - y), min(1.0, right + x), min(1.0, bottom + y)
    )


def drawn(box: Box) -> Box | None:
    """Return a box of two corners in any order, cut to the photo; None where it is hardly one.

    Examples
    --------
    >>> drawn((0.8, -0.1, 0.2, 0.5)), drawn((0.5, 0.5, 0.51, 0.9))
    ((0.2, 0.0, 0.8, 0.5), None)
    """
    x0, y0, x1, y1 = (min(max(value, 0.0), 1.0) for value in box)
    if abs(x1 - x0) < _LEAST or abs(y1 - y0) < _LEAST:
        return None
    return _rounded(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))


def typed(box: Box) -> str:
    """Return a box as one would type it.

    Examples
    --------
    >>> typed((0.1, 0.0, 0.905, 1.0)), typed(ALL)
    ('10,0,90.5,100', 'none')
    """
    return "none" if box == ALL else ",".join(f"{100 * value:.6g}" for value in box)


def _rounded(left: float, top: float, right: float, bottom: float) -> Box:
    """Return a box in tenths of a per cent."""
    return round(left, 3), round(top, 3), round(right, 3), round(bottom, 3)
