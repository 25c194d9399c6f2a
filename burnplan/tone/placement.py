"""Where a photo comes to lie on a blank: crop, mirror, scale, turn, shift.

In this order, from the photo to the wood: the photo is cropped, mirrored,
scaled to fit, turned about the middle of the crop, and that middle is laid on
the middle of the outline's bounding box, or beside it.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.areas import MarkedArea, On
from burnplan.tone.region import Polygon, inset, outline_mask, polygon_mask, within_box
from burnplan.tone.validation import number, number_within, refuse_unknown

SMALLEST_CROP = 0.01
"""Least width and height of a crop, fractions of the photo (our own limit)."""

SCALES = (0.01, 20.0)
"""Least and most that a photo is scaled beyond its fit (our own limits)."""

FARTHEST_MM = 5000.0
"""Most that a photo is shifted (a limit by definition)."""

# Pixels along the longer side of the mask that a focal area is tried against; a guess: under a
# millimetre on 40 cm.
_LOOKS = 480
_FLUSH_MM = 0.5  # lines this near are taken for one, as both are rounded off; a guess
_ROOM = 1.2  # size of a focal area with some air round it, which is tried first; our own choice
_TRIES = 10  # places tried to either side, in each direction and round; our own choice


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
            for point in _sampled(burned).tolist()
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


@dataclass(frozen=True, slots=True)
class Position:
    """Where each point of a photo lies on the wood.

    Parameters
    ----------
    placement : Placement
        With its scale and offset settled.
    across, down : tuple of float
        From the photo's left edge to its right, and from its top to its
        bottom, as x and y on the wood, mm.
    origin : tuple of float
        Where the top left corner of the whole photo lies, mm.
    mm_per_px : float
        Millimetres that a pixel of the original photo covers.
    photo_size : tuple of int
        Width and height of the upright original, pixels.
    crop_px : tuple of float
        Width and height of the part that is used, pixels of the original.
    """

    placement: Placement
    across: tuple[float, float]
    down: tuple[float, float]
    origin: tuple[float, float]
    mm_per_px: float
    photo_size: tuple[int, int]
    crop_px: tuple[float, float]

    @property
    def crop(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the part that is used, fractions of the photo."""
        return self.placement.crop or (0.0, 0.0, 1.0, 1.0)

    @property
    def matrix(self) -> NDArray[np.float64]:
        """What takes fractions of the photo to mm, shape (2, 3)."""
        return np.array([self.across, self.down, self.origin], np.float64).T

    def to_mm(self, fractions: ArrayLike) -> NDArray[np.float64]:
        """Return where points of the photo lie on the wood, mm, shape (K, 2)."""
        points = np.asarray(fractions, np.float64)
        return np.asarray(points @ self.matrix[:, :2].T + self.matrix[:, 2], np.float64)

    def to_photo(self, mm: ArrayLike) -> NDArray[np.float64]:
        """Return which point of the photo lies at points of the wood, shape (K, 2)."""
        points = np.asarray(mm, np.float64) - self.matrix[:, 2]
        return np.asarray(points @ np.linalg.inv(self.matrix[:, :2]).T, np.float64)

    def whole(self) -> Polygon:
        """Return where all of the photo lies, also what is not used of it, mm, shape (4, 2)."""
        return self.to_mm([(0, 0), (1, 0), (1, 1), (0, 1)])

    def used(self) -> Polygon:
        """Return where the part that is used lies, mm, shape (4, 2)."""
        left, top, right, bottom = self.crop
        return self.to_mm([(left, top), (right, top), (right, bottom), (left, bottom)])

    def of(self, area: MarkedArea) -> Polygon:
        """Return where a marked area lies on the wood, mm, shape (K, 2)."""
        return area.polygon() if area.on is On.WOOD else self.to_mm(area.polygon())


def position_on(
    photo_size: tuple[int, int],
    outline: Outline,
    placement: Placement | None = None,
    focal: Sequence[MarkedArea] = (),
    likely: MarkedArea | None = None,
) -> Position:
    """Lay a photo on an outline and say where each of its points comes to lie.

    Parameters
    ----------
    photo_size : tuple of int
        Width and height of the upright original, pixels.
    outline : Outline
    placement : Placement, optional
    focal : sequence of MarkedArea, optional
        Areas to keep inside, if possible with some air round them. Where no
        offset is given the photo is moved the least that does so, and it goes
        on covering what it would cover; where that is not enough and no scale
        is given, it is shown smaller.
    likely : MarkedArea, optional
        Where the subject is likely to be, on the photo. Where nothing else says how the
        photo lies, it is moved so that this is cut as little as can be.

    Returns
    -------
    Position

    Raises
    ------
    BadInput
        If the margin leaves nothing of the outline.

    Examples
    --------
    >>> outline = Outline(OutlineKind.RECTANGLE, 200, 200)
    >>> face = MarkedArea.from_dict({"kind": "ellipse", "corners": [[0.7, 0.2], [0.9, 0.6]]})
    >>> x, _y = position_on((600, 400), outline, focal=[face]).placement.offset_mm
    >>> round(x)
    -26
    """
    placement = placement or Placement()
    lines = placement.burnable(outline)
    on_photo = [area.polygon() for area in focal if area.on is On.PHOTO]
    scale, offset = placement.scale, placement.offset_mm
    if on_photo and offset is None:
        search = _Search(photo_size, outline, placement, lines, on_photo)
        scale, offset = search.best()
    elif likely is not None and placement.crop is None and offset is None:
        search = _Search(photo_size, outline, placement, lines, [likely.polygon()])
        offset = search.moved(scale or 1.0)
    return _laid(photo_size, outline, placement, scale or 1.0, offset or (0.0, 0.0))


def _laid(
    photo_size: tuple[int, int],
    outline: Outline,
    placement: Placement,
    scale: float,
    offset_mm: tuple[float, float],
) -> Position:
    """Put the photo down with everything settled."""
    left, top, right, bottom = placement.crop or (0.0, 0.0, 1.0, 1.0)
    width, height = photo_size
    crop_px = ((right - left) * width, (bottom - top) * height)
    mm_per_px = _fitted(crop_px, outline, placement) * scale
    cos, sin = _turn(placement)
    flip = -1 if placement.mirrored else 1
    across = (flip * cos * width * mm_per_px, flip * sin * width * mm_per_px)
    down = (-sin * height * mm_per_px, cos * height * mm_per_px)
    middle = ((left + right) / 2, (top + bottom) / 2)
    origin_x, origin_y = (
        centre + shift - middle[0] * a - middle[1] * d
        for centre, shift, a, d in zip(
            _middle(outline, placement), offset_mm, across, down, strict=True
        )
    )
    settled = replace(placement, scale=scale, offset_mm=offset_mm)
    return Position(settled, across, down, (origin_x, origin_y), mm_per_px, photo_size, crop_px)


def _middle(outline: Outline, placement: Placement) -> tuple[float, float]:
    """Return the middle of what is burned, mm."""
    left, top, right, bottom = placement.burnable_box(outline)
    return (left + right) / 2, (top + bottom) / 2


def _turn(placement: Placement) -> tuple[float, float]:
    """Cosine and sine of the whole turn, exact at right angles."""
    quarters = placement.whole_quarters
    if quarters is not None:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[quarters]
    degrees = placement.turn_degrees + 90 * placement.quarter_turns
    return math.cos(math.radians(degrees)), math.sin(math.radians(degrees))


def _reach(outline: Outline, placement: Placement) -> tuple[float, float]:
    """How far the burnable part of an outline reaches along the photo's own edges, mm."""
    cos, sin = (abs(value) for value in _turn(placement))
    left, top, right, bottom = placement.burnable_box(outline)
    if placement.sides_mm is not None:
        width, height = right - left, bottom - top
        return width * cos + height * sin, width * sin + height * cos
    width, height = outline.width_mm, outline.height_mm
    if outline.kind in (OutlineKind.ROUND, OutlineKind.OVAL):
        along, beside = math.hypot(width * cos, height * sin), math.hypot(width * sin, height * cos)
    else:
        along, beside = width * cos + height * sin, width * sin + height * cos
    return along - 2 * placement.margin_mm, beside - 2 * placement.margin_mm


def _fitted(crop_px: tuple[float, float], outline: Outline, placement: Placement) -> float:
    """Millimetres of wood that a photo pixel covers at scale 1."""
    width, height = crop_px
    if placement.fit is Fit.FILL:
        along, beside = _reach(outline, placement)
        return max(along / width, beside / height)
    cos, sin = (abs(value) for value in _turn(placement))
    left, top, right, bottom = placement.burnable_box(outline)
    room = right - left, bottom - top
    return min(room[0] / (width * cos + height * sin), room[1] / (width * sin + height * cos))


class _Search:
    """The shift, and if need be the scale, at which focal areas lie inside."""

    def __init__(
        self,
        photo_size: tuple[int, int],
        outline: Outline,
        placement: Placement,
        lines: Sequence[Polygon],
        areas: Sequence[Polygon],
    ) -> None:
        self._of = (photo_size, outline, placement)
        self._placement = placement
        self._cos, self._sin = _turn(placement)
        self._reach = _reach(outline, placement)
        whole = _laid(photo_size, outline, replace(placement, fit=Fit.WHOLE), 1.0, (0.0, 0.0))
        least = 0.5 * whole.mm_per_px / self._at(1.0).mm_per_px
        self._least = min(1.0, max(SCALES[0], least))
        self._areas = [_sampled(area) for area in areas]
        self._px_per_mm = _LOOKS / max(outline.width_mm, outline.height_mm)
        shape = (
            math.ceil(outline.height_mm * self._px_per_mm),
            math.ceil(outline.width_mm * self._px_per_mm),
        )
        if placement.margin_mm or placement.sides_mm is not None:
            mask = polygon_mask(lines, shape, self._px_per_mm)
        else:
            mask = outline_mask(outline, shape, self._px_per_mm)
        # A ring of outside round it, and a pixel less inside: what is found fits for sure.
        ringed = np.pad(mask, 1).astype(np.uint8)
        self._mask = np.asarray(cv2.erode(ringed, np.ones((3, 3), np.uint8)), np.bool_)

    def best(self) -> tuple[float, tuple[float, float]]:
        """Return the scale and the offset, mm, to use."""
        scale = self._placement.scale or 1.0
        share, offset = self._shifted(scale, _ROOM)
        if share == 1:
            return scale, offset
        share, offset = self._shifted(scale)
        if share == 1 or self._placement.scale is not None:
            return scale, offset
        least_share, least_offset = self._shifted(self._least)
        if least_share < 1:  # no scale helps, so none is changed
            return scale, offset
        small, large, found = self._least, 1.0, least_offset
        for _ in range(10):
            middle = (small + large) / 2
            share, offset = self._shifted(middle)
            if share == 1:
                small, found = middle, offset
            else:
                large = middle
        return small, found

    def moved(self, scale: float) -> tuple[float, float]:
        """Return the offset, mm, at which the areas lie inside, or else their middle does."""
        share, offset = self._shifted(scale)
        if share == 1:
            return offset
        laid = self._at(scale)
        points = laid.to_mm(np.concatenate(self._areas))
        _photo_size, outline, _placement = self._of
        middle = (points.min(axis=0) + points.max(axis=0)) / 2
        x, y = np.array(_middle(outline, self._placement)) - middle
        u, v = (
            float(np.clip(wanted, -room, room))
            for wanted, room in zip(
                (x * self._cos + y * self._sin, y * self._cos - x * self._sin),
                self._room(laid),
                strict=True,
            )
        )
        return self._on_wood(u, v)

    def _at(self, scale: float) -> Position:
        return _laid(*self._of, scale, (0.0, 0.0))

    def _shifted(self, scale: float, grown: float = 1.0) -> tuple[float, tuple[float, float]]:
        """Share of the areas' outlines inside and the offset, mm, for one scale.

        The areas may be taken as grown about their middle.
        """
        laid = self._at(scale)
        middles = [(area.min(axis=0) + area.max(axis=0)) / 2 for area in self._areas]
        points = laid.to_mm(
            np.concatenate(
                [at + (area - at) * grown for area, at in zip(self._areas, middles, strict=True)]
            )
        )
        room = self._room(laid)
        best_u = best_v = 0.0
        step_u, step_v = room[0] / _TRIES, room[1] / _TRIES
        share = 0.0
        for _ in range(4):
            tries = np.arange(-_TRIES, _TRIES + 1)
            u = np.clip(best_u + tries * step_u, -room[0], room[0])
            v = np.clip(best_v + tries * step_v, -room[1], room[1])
            grid_u, grid_v = (grid.ravel() for grid in np.meshgrid(u, v))
            x = grid_u * self._cos - grid_v * self._sin
            y = grid_u * self._sin + grid_v * self._cos
            shares = self._inside(points[:, 0] + x[:, None], points[:, 1] + y[:, None])
            share = float(shares.max())
            away = np.where(shares == share, np.hypot(grid_u, grid_v), np.inf)
            chosen = int(np.argmin(away))
            best_u, best_v = float(grid_u[chosen]), float(grid_v[chosen])
            step_u, step_v = step_u / _TRIES, step_v / _TRIES
        return share, self._on_wood(best_u, best_v)

    def _room(self, laid: Position) -> list[float]:
        """How far it may move along its own edges, mm.

        Until it no longer covers what it would, or, where it is smaller, until it
        reaches the edge.
        """
        return [
            abs(px * laid.mm_per_px - reach) / 2
            for px, reach in zip(laid.crop_px, self._reach, strict=True)
        ]

    def _on_wood(self, u: float, v: float) -> tuple[float, float]:
        """Shift along the photo's own edges, as one on the wood, mm."""
        return (
            round(u * self._cos - v * self._sin, 3),
            round(u * self._sin + v * self._cos, 3),
        )

    def _inside(self, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        """Share of the points inside, for each row."""
        height, width = self._mask.shape
        column = np.clip(np.floor(x * self._px_per_mm) + 1, 0, width - 1).astype(np.intp)
        row = np.clip(np.floor(y * self._px_per_mm) + 1, 0, height - 1).astype(np.intp)
        return np.asarray(self._mask[row, column].mean(axis=1), np.float64)


_POINTS = 48  # along an outline that must lie inside: one every 7.5° of a round (our own choice)


def _ring(polygon: Polygon) -> NDArray[np.float32]:
    """Return a polygon as OpenCV takes one."""
    return np.asarray(polygon, np.float32)[:, None, :]


def _sampled(polygon: Polygon, count: int = _POINTS) -> Polygon:
    """Points along a polygon, its corners among them where it has few."""
    following = np.roll(polygon, -1, axis=0)
    if len(polygon) >= count:
        return polygon[:: len(polygon) // count]
    share = np.linspace(0, 1, count // len(polygon) + 1, endpoint=False)[:, None, None]
    return (polygon + share * (following - polygon)).reshape(-1, 2)
