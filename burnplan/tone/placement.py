"""How a photo is wanted to lie on a blank: crop, mirror, fit, turn, scale, shift, margins."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.errors import BadInput
from burnplan.outline import Outline
from burnplan.tone.region import Polygon, inset, sampled, within_box
from burnplan.tone.validation import number, number_within, refuse_unknown

SMALLEST_CROP = 0.01
"""Least width and height of a crop, fractions of the photo (our own limit)."""

SCALES = (0.01, 20.0)
"""Least and most that a photo is scaled beyond its fit (our own limits)."""

FARTHEST_MM = 5000.0
"""Most that a photo is shifted (a limit by definition)."""

_FLUSH_MM = 0.5  # lines this near are one, as both are rounded off (a guess: half a millimetre)


class Fit(StrEnum):
    """How a photo fills a blank."""

    FILL = "fill"
    WHOLE = "whole"


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a photo lies on a blank; as it stands, centred.

    Parameters
    ----------
    fit : Fit
        ``fill`` covers the outline's bounding box and crops what hangs over;
        ``whole`` shows the whole photo and leaves bare wood around it.
    quarter_turns : int
        Turns of the photo by 90° clockwise.
    crop : tuple of float, optional
        Left, top, right and bottom of the part to use, fractions of the upright
        photo's width and height.
    turn_degrees : float
        Further turn clockwise.
    mirrored : bool
        Left and right changed over, before any turn.
    scale : float, optional
        Size beyond what fits; if not given 1, or less where only that keeps
        the focal areas inside.
    offset_mm : tuple of float, optional
        Shift to the right and down from the middle; if not given none, or what
        keeps the focal areas inside.
    margin_mm : float
        Strip inside the outline that stays bare, for example along bark.
    sides_mm : tuple of float, optional
        How far in from the left, top, right and bottom of the outline's box all stays bare
        too.

    Raises
    ------
    BadInput
        If a number is out of range.

    Examples
    --------
    >>> placement = Placement(crop=(0.1, 0, 0.9, 1), turn_degrees=-3.5)
    >>> Placement.from_dict(placement.to_dict()) == placement
    True
    """

    fit: Fit = Fit.FILL
    quarter_turns: int = 0
    crop: tuple[float, float, float, float] | None = None
    turn_degrees: float = 0.0
    mirrored: bool = False
    scale: float | None = None
    offset_mm: tuple[float, float] | None = None
    margin_mm: float = 0.0
    sides_mm: tuple[float, float, float, float] | None = None

    def __post_init__(self) -> None:
        number_within(self.turn_degrees, -360, 360, "turn in degrees")
        for value in (self.margin_mm, *(self.sides_mm or ())):
            number_within(value, 0, FARTHEST_MM, "margin", "mm")
        if self.scale is not None:
            number_within(self.scale, *SCALES, "scale")
        for value in self.offset_mm or ():
            number_within(value, -FARTHEST_MM, FARTHEST_MM, "offset", "mm")
        if self.crop is not None:
            left, top, right, bottom = self.crop
            for value in self.crop:
                number_within(value, 0, 1, "crop, a fraction of the photo,")
            if right - left < SMALLEST_CROP or bottom - top < SMALLEST_CROP:
                raise BadInput(
                    "The crop leaves nothing of the photo",
                    "Give its left, top, right and bottom in this order",
                )

    @property
    def whole_quarters(self) -> int | None:
        """The whole turn in quarters, 0 to 3, if it is made of nothing else."""
        quarters = self.turn_degrees / 90
        if abs(quarters - round(quarters)) > 1e-9:
            return None
        return (self.quarter_turns + round(quarters)) % 4

    def burnable(self, outline: Outline) -> tuple[Polygon, ...]:
        """Return the lines within which an outline is burned, mm: inside its margins.

        Raises
        ------
        BadInput
            If they leave nothing of it.
        """
        lines = inset(outline, self.margin_mm)
        if self.sides_mm is None:
            return lines
        kept = within_box(lines, self.burnable_box(outline))
        if not kept:
            raise BadInput("The margins leave nothing of this blank", "Give smaller ones")
        return kept

    def burnable_box(self, outline: Outline) -> tuple[float, float, float, float]:
        """Return the left, top, right and bottom of what is burned of an outline, mm."""
        left, top, right, bottom = (
            max(self.margin_mm, side) for side in self.sides_mm or (0.0, 0.0, 0.0, 0.0)
        )
        return left, top, outline.width_mm - right, outline.height_mm - bottom

    def keeps_off_edge(self, outline: Outline, depth_mm: float) -> bool:
        """Return whether all that is burned lies so far inside the edge of an outline."""
        if depth_mm <= self.margin_mm:
            return True
        if self.sides_mm is None:
            return False
        try:
            wood = [_ring(line) for line in inset(outline, depth_mm)]
        except BadInput:  # there is no wood so far inside
            return False
        return all(
            any(cv2.pointPolygonTest(line, point, True) > -_FLUSH_MM for line in wood)
            for burned in self.burnable(outline)
            for point in sampled(burned).tolist()
        )

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain values that JSON can hold."""
        sides = {} if self.sides_mm is None else {"sides_mm": list(self.sides_mm)}
        return {
            "fit": str(self.fit),
            "quarter_turns": self.quarter_turns,
            "crop": None if self.crop is None else list(self.crop),
            "turn_degrees": self.turn_degrees,
            "mirrored": self.mirrored,
            "scale": self.scale,
            "offset_mm": None if self.offset_mm is None else list(self.offset_mm),
            "margin_mm": self.margin_mm,
            **sides,
        }

    @classmethod
    def from_dict(cls, plain: Mapping[str, Any]) -> "Placement":
        """Return what :meth:`to_dict` gave; what is missing is as it stands.

        Raises
        ------
        BadInput
            If a name or a value means nothing.
        """
        refuse_unknown(plain, cls.__dataclass_fields__, "placement")
        crop, scale, offset = plain.get("crop"), plain.get("scale"), plain.get("offset_mm")
        sides = plain.get("sides_mm")
        try:
            return cls(
                fit=Fit(plain.get("fit", Fit.FILL)),
                quarter_turns=int(number(plain.get("quarter_turns", 0), "quarter turns")),
                crop=None if crop is None else _four(crop),
                turn_degrees=number(plain.get("turn_degrees", 0.0), "turn in degrees"),
                mirrored=bool(plain.get("mirrored", False)),
                scale=None if scale is None else number(scale, "scale"),
                offset_mm=None if offset is None else _two(offset),
                margin_mm=number(plain.get("margin_mm", 0.0), "margin in mm"),
                sides_mm=None if sides is None else _four(sides),
            )
        except (TypeError, ValueError):
            raise BadInput(
                "The placement on record cannot be used", "Place the photo again"
            ) from None


def _two(values: Sequence[float]) -> tuple[float, float]:
    x, y = (number(value, "offset in mm") for value in values)
    return x, y


def _four(values: Sequence[float]) -> tuple[float, float, float, float]:
    left, top, right, bottom = (number(value, "one of four") for value in values)
    return left, top, right, bottom


def _ring(polygon: Polygon) -> NDArray[np.float32]:
    """Return a polygon as OpenCV takes one."""
    return np.asarray(polygon, np.float32)[:, None, :]
