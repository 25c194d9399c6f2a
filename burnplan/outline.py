"""The outline of a blank: its shape and true size.

Lengths are millimetres. The origin is the top left corner of the bounding
box, x to the right and y down, as on a photo.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from burnplan.errors import BadInput


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
        Corners of a live edge in order, millimetres; empty for other kinds.

    Raises
    ------
    BadInput
        If a length is not positive and finite, a round blank is not as wide as
        high, or a live edge has fewer than three corners.

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
        if self.kind is OutlineKind.LIVE_EDGE and len(self.points) < 3:
            raise BadInput(
                "A live edge needs at least three corners", "Give them as x,y pairs in order"
            )

    @property
    def area_mm2(self) -> float:
        """Area inside the outline, mm²."""
        if self.kind in (OutlineKind.ROUND, OutlineKind.OVAL):
            return math.pi * self.width_mm * self.height_mm / 4
        if self.kind is OutlineKind.LIVE_EDGE:
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

    def turned(self) -> "Outline":
        """Return the same blank a quarter turn round (width and height swapped)."""
        return Outline(
            self.kind,
            self.height_mm,
            self.width_mm,
            tuple((self.height_mm - y, x) for x, y in self.points),
        )
