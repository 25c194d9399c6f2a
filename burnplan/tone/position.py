"""Where a photo comes to lie on a blank: crop, mirror, scale, turn, shift.

In this order, from the photo to the wood: the photo is cropped, mirrored,
scaled to fit, turned about the middle of the crop, and that middle is laid on
the middle of the outline's bounding box, or beside it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from burnplan.outline import Outline, OutlineKind
from burnplan.tone.areas import MarkedArea, On
from burnplan.tone.placement import SCALES, Fit, Placement
from burnplan.tone.region import Polygon, outline_mask, polygon_mask, sampled

# Pixels along the longer side of the mask that a focal area is tried against; a guess: under a
# millimetre on 40 cm.
_LOOKS = 480
_ROOM = 1.2  # size of a focal area with some air round it, which is tried first; our own choice
_TRIES = 10  # places tried to either side, in each direction and round; our own choice


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
        self._areas = [sampled(area) for area in areas]
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
