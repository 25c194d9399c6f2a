"""The outline of a blank: its shape and true size.

Lengths are millimetres. The origin is the top left corner of the bounding
box, x to the right and y down, as on a photo.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from burnplan.errors import BadInput

_CORNERS_HINT = "Give them in order round the edge: 0,0 300,5 290,210 10,200 mm"


class OutlineKind(StrEnum):
    """Shapes a blank comes in."""

    RECTANGLE = "rectangle"
    ROUND = "round"
    OVAL = "oval"
    LIVE_EDGE = "live-edge"


@dataclass(frozen=True, slots=True)
class Outline:
    """Shape and bounding box of a blank.

    Parameters
    ----------
    kind : OutlineKind
    width_mm, height_mm : float
        Bounding box, millimetres, both positive and at most 5 m.
    points : tuple of (float, float)
        Corners of a live edge in order, millimetres; empty for other kinds, and for a
        live edge of which only the bounding box is known, which then stands for it.

    Raises
    ------
    BadInput
        If a length is not positive and finite, a round blank is not as wide as
        high, or a live edge's corners enclose nothing.

    Examples
    --------
    >>> Outline(OutlineKind.RECTANGLE, 300, 400).area_cm2
    1200.0
    >>> round(Outline(OutlineKind.ROUND, 200, 200).area_cm2, 2)
    314.16
    """

    kind: OutlineKind
    width_mm: float
    height_mm: float
    points: tuple[tuple[float, float], ...] = ()

    MAX_MM = 5000.0
    MIN_MM = 5.0

    def __post_init__(self) -> None:
        for name, value in (("width", self.width_mm), ("height", self.height_mm)):
            if not math.isfinite(value) or not self.MIN_MM <= value <= self.MAX_MM:
                raise BadInput(
                    f"A blank's {name} must be between 5 mm and 5 m, not {value:g} mm",
                    "Check the size and its unit, for example 30x40cm",
                )
        if self.kind is OutlineKind.ROUND and abs(self.width_mm - self.height_mm) > 1e-6:
            raise BadInput(
                "A round blank is as wide as it is high",
                "Give one diameter, for example 'round 25cm', or use 'oval 20x30cm'",
            )
        if self.kind is OutlineKind.LIVE_EDGE and 0 < len(self.points) < 3:
            raise BadInput(
                "A live edge needs at least three corners", "Give them as x,y pairs in order"
            )

    @property
    def area_mm2(self) -> float:
        """Area inside the outline, mm²."""
        if self.kind in (OutlineKind.ROUND, OutlineKind.OVAL):
            return math.pi * self.width_mm * self.height_mm / 4
        if self.kind is OutlineKind.LIVE_EDGE and self.points:
            following = self.points[1:] + self.points[:1]
            shoelace = sum(
                x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(self.points, following, strict=True)
            )
            return abs(shoelace) / 2
        return self.width_mm * self.height_mm

    @property
    def area_cm2(self) -> float:
        """Area inside the outline, cm²."""
        return self.area_mm2 / 100

    @classmethod
    def of_corners(cls, corners: Iterable[tuple[float, float]]) -> "Outline":
        """Return the live edge that corners go round, moved to the top left.

        Corners on a spot are left out; they may go round either way.

        Raises
        ------
        BadInput
            If they enclose nothing, or the line crosses itself.

        Examples
        --------
        >>> Outline.of_corners([(10, 10), (110, 10), (90, 80), (10, 70)]).points[2]
        (80.0, 70.0)
        """
        given = [(float(x), float(y)) for x, y in corners]
        if not all(math.isfinite(x) and math.isfinite(y) for x, y in given):
            raise BadInput("A corner is not a place", _CORNERS_HINT)
        given = [one for place, one in enumerate(given) if math.dist(one, given[place - 1]) > 1e-6]
        if len(given) < 3:
            raise BadInput("A live edge needs at least three corners", _CORNERS_HINT)
        left, top = min(x for x, _ in given), min(y for _, y in given)
        points = tuple((round(x - left, 3), round(y - top, 3)) for x, y in given)
        size = max(x for x, _ in points), max(y for _, y in points)
        found = cls(OutlineKind.LIVE_EDGE, *size, points)
        if found.area_mm2 < cls.MIN_MM**2 or crosses_itself(points):
            raise BadInput("These corners do not go round a piece of wood", _CORNERS_HINT)
        return found

    def turned(self) -> "Outline":
        """Return the same blank a quarter turn round (width and height swapped)."""
        return Outline(
            self.kind,
            self.height_mm,
            self.width_mm,
            tuple((self.height_mm - y, x) for x, y in self.points),
        )


def crosses_itself(points: Sequence[tuple[float, float]]) -> bool:
    """Return whether a closed line of corners crosses itself.

    Examples
    --------
    >>> crosses_itself([(0, 0), (9, 0), (9, 9), (0, 9)])
    False
    >>> crosses_itself([(0, 0), (9, 9), (9, 0), (0, 9)])
    True
    """
    count = len(points)

    def side(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    for first in range(count):
        a, b = points[first], points[(first + 1) % count]
        for second in range(first + 2, count - (first == 0)):
            c, d = points[second], points[(second + 1) % count]
            if max(c[0], d[0]) < min(a[0], b[0]) or min(c[0], d[0]) > max(a[0], b[0]):
                continue
            if side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0:
                return True
    return False
