"""Keep features off knots: which focal areas lie on marks of the wood, and where none would."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from burnplan.outline import Outline
from burnplan.tone.areas import MarkedArea, On
from burnplan.tone.placement import SCALES, Placement
from burnplan.tone.position import Position, position_on
from burnplan.tone.region import Polygon, polygon_mask

# Pixels along the longer side of the piece, on which places are tried; a guess: tried on rendered
# boards.
_LOOKS = 260
_AIR_MM = 2.0  # between a focal area and a mark; a guess: tried on rendered boards
# Than now, that is tried; a guess: tried on rendered boards.
_LARGER = (1.0, 1.06, 1.14, 1.25, 1.4, 0.94, 0.86)
# In longer sides of the piece that it is moved by; a guess: tried on rendered boards.
_SCALE_COST, _TURN_COST = 0.6, 0.25
_SLIVER = 0.02  # of a subject, that may be cut off more than now; a guess: tried on rendered boards


def lying_on(
    position: Position, focal: Sequence[MarkedArea], marks: Sequence[ArrayLike]
) -> list[tuple[int, int]]:
    """Return which focal areas lie on which marks, as pairs of their numbers from 0.

    Parameters
    ----------
    position : Position
        How the photo lies on the wood.
    focal : sequence of MarkedArea
    marks : sequence of array_like, each of shape (K, 2)
        mm on the wood.
    """
    areas = [position.of(area).astype(np.float32) for area in focal]
    return [
        (one, other)
        for one, area in enumerate(areas)
        for other, mark in enumerate(marks)
        if _meet(area, np.asarray(mark, np.float32))
    ]


def _meet(one: NDArray[np.float32], other: NDArray[np.float32]) -> bool:
    """Return whether two polygons share any place."""
    low = np.minimum(one.min(axis=0), other.min(axis=0))
    both = [np.rint((polygon - low) * 4).astype(np.int32) for polygon in (one, other)]
    shape = np.vstack(both).max(axis=0)[::-1] + 2
    masks = []
    for polygon in both:
        mask = np.zeros(shape, np.uint8)
        cv2.fillPoly(mask, [polygon], 1)
        masks.append(mask)
    return bool((masks[0] & masks[1]).any())


def clear_placement(
    photo_size: tuple[int, int],
    outline: Outline,
    placement: Placement,
    focal: Sequence[MarkedArea],
    marks: Sequence[ArrayLike],
    *,
    subject: Sequence[MarkedArea] = (),
) -> Placement | None:
    """Return the placement nearest to one, in which no focal area lies on a mark.

    The photo is moved, and if need be shown larger or smaller or turned upside down with
    respect to the wood. It covers all of the wood if it did; a subject is cut no more.

    Parameters
    ----------
    photo_size : tuple of int
    outline : Outline
    placement : Placement
        As it lies now, its scale and offset settled.
    focal : sequence of MarkedArea
    marks : sequence of array_like, each of shape (K, 2)
        mm on the wood.
    subject : sequence of MarkedArea, optional
        What alone is burned, if not all of the photo is.

    Returns
    -------
    Placement or None
        With its scale and offset settled; None if there is no such place.
    """
    now = position_on(photo_size, outline, placement)
    if any(focal[one].on is On.WOOD for one, _ in lying_on(now, focal, marks)):
        return None  # it stays where it is marked, wherever the photo goes
    search = _Clear(photo_size, outline, now, focal, marks, subject)
    best: tuple[float, Placement] | None = None
    for tried, cost in search.ways():
        if best is None or cost < best[0]:
            best = search.nearest(tried, cost, best)
    return best[1] if best else None


class _Clear:
    """A search for a place that is clear of marks."""

    def __init__(
        self, photo_size: tuple[int, int], outline: Outline, now: Position,
        focal: Sequence[MarkedArea], marks: Sequence[ArrayLike], subject: Sequence[MarkedArea],
    ) -> None:  # fmt: skip
        self.photo_size, self.outline, self.now = photo_size, outline, now
        self.side = max(outline.width_mm, outline.height_mm)
        self.px = _LOOKS / self.side
        self.shape = (
            max(1, math.ceil(outline.height_mm * self.px)),
            max(1, math.ceil(outline.width_mm * self.px)),
        )
        self.lines = now.placement.burnable(outline)
        self.focal = [area for area in focal if area.on is On.PHOTO]
        marked = polygon_mask(marks, self.shape, self.px).astype(np.uint8)
        air = 2 * max(1, round(_AIR_MM * self.px)) + 1
        ring = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (air, air))
        self.marked = np.asarray(cv2.dilate(marked, ring), np.float32)
        within = polygon_mask(self.lines, self.shape, self.px)
        self.outside = np.where(within, 0, 1).astype(np.float32)
        self.corners = np.vstack(self.lines)
        self.covers = not subject and self._room(now, np.zeros((1, 1, 2)))[0, 0]
        on_photo = [area.polygon() for area in subject if area.on is On.PHOTO]
        self.whole = [] if self.covers else on_photo or [now.to_photo(now.used())]
        self.cut = self._over(self.whole, now)[1] if self.whole else 0.0

    def ways(self) -> Iterator[tuple[Placement, float]]:
        """Yield turns and sizes, with what they cost, in mm that it is moved by."""
        placement = self.now.placement
        for turn in (0.0, 180.0):
            turned = (placement.turn_degrees + turn + 180) % 360 - 180
            for larger in _LARGER:
                scale = (placement.scale or 1.0) * larger
                if SCALES[0] <= scale <= SCALES[1]:
                    way = replace(placement, turn_degrees=turned, scale=scale)
                    cost = _SCALE_COST * abs(math.log(larger)) + _TURN_COST * (turn > 0)
                    yield way, cost * self.side

    def nearest(
        self, way: Placement, cost: float, best: tuple[float, Placement] | None
    ) -> tuple[float, Placement] | None:
        """Return the nearest clear place of a way, or the best so far if that is nearer."""
        laid = position_on(self.photo_size, self.outline, way)
        reach = round(0.4 * _LOOKS)
        steps = np.arange(-reach, reach + 1) / self.px
        shifts = np.stack(np.meshgrid(steps, steps), axis=-1)  # mm right and down
        right = self._free(laid, reach)
        if self.covers:
            right &= self._room(laid, shifts)
        if not right.any():
            return best
        moved = cost + np.hypot(shifts[..., 0], shifts[..., 1])
        moved[~right] = np.inf
        row, column = np.unravel_index(int(moved.argmin()), moved.shape)
        if best is not None and moved[row, column] >= best[0]:
            return best
        x, y = (laid.placement.offset_mm or (0.0, 0.0)) + shifts[row, column]
        offset = (round(float(x), 1), round(float(y), 1))
        return float(moved[row, column]), replace(laid.placement, offset_mm=offset)

    def _free(self, laid: Position, reach: int) -> NDArray[np.bool_]:
        """Return for each shift whether all is inside and no focal area on a mark."""
        polygons = [laid.to_mm(area.polygon()) for area in self.focal]
        on_mark, over = self._summed(polygons, reach)
        free = (on_mark < 0.5) & (over < 0.5)
        if self.whole:
            polygons = [laid.to_mm(one) for one in self.whole]
            _, over = self._summed(polygons, reach)
            area = sum(abs(cv2.contourArea(one.astype(np.float32))) for one in polygons)
            free &= over <= (self.cut + _SLIVER) * area * self.px**2
        return np.asarray(free, np.bool_)

    def _over(self, on_photo: Sequence[Polygon], laid: Position) -> tuple[float, float]:
        """Return which share of areas lies on marks, and which over the edge."""
        polygons = [laid.to_mm(one) for one in on_photo]
        area = sum(abs(cv2.contourArea(one.astype(np.float32))) for one in polygons)
        on_mark, over = self._summed(polygons, 0)
        whole = max(area * self.px**2, 1.0)
        return float(on_mark[0, 0]) / whole, float(over[0, 0]) / whole

    def _summed(
        self, polygons: Sequence[Polygon], reach: int
    ) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Return how many pixels of areas lie on marks and outside, for each shift."""
        low = np.floor(np.vstack(polygons).min(axis=0) * self.px).astype(int)
        high = np.ceil(np.vstack(polygons).max(axis=0) * self.px).astype(int) + 1
        size = high - low
        shape = (int(size[1]), int(size[0]))
        mask = np.zeros(shape, np.bool_)
        for polygon in polygons:
            mask |= polygon_mask([polygon - low / self.px], shape, self.px)
        template = mask.astype(np.float32)
        found = []
        for picture, beyond in ((self.marked, 0.0), (self.outside, 1.0)):
            # The part of the wood that the areas reach as they are shifted; what lies beyond
            # its box is bench.
            left, top = low - reach
            canvas = np.full((shape[0] + 2 * reach, shape[1] + 2 * reach), beyond, np.float32)
            rows = np.arange(canvas.shape[0]) + top
            columns = np.arange(canvas.shape[1]) + left
            here = np.ix_(
                (rows >= 0) & (rows < picture.shape[0]),
                (columns >= 0) & (columns < picture.shape[1]),
            )
            canvas[here] = picture[
                np.ix_(
                    rows[(rows >= 0) & (rows < picture.shape[0])],
                    columns[(columns >= 0) & (columns < picture.shape[1])],
                )
            ]
            found.append(np.asarray(cv2.matchTemplate(canvas, template, cv2.TM_CCORR), np.float32))
        return found[0], found[1]

    def _room(self, laid: Position, shifts: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Return for each shift, mm, shape (H, W, 2), whether the photo covers all of the wood."""
        left, top, right, bottom = laid.crop
        at = laid.to_photo(self.corners)
        moved = shifts @ np.linalg.inv(laid.matrix[:, :2]).T
        low, high = at.min(axis=0), at.max(axis=0)
        tiny = 1e-6
        return np.asarray(
            (low[0] - moved[..., 0] >= left - tiny)
            & (low[1] - moved[..., 1] >= top - tiny)
            & (high[0] - moved[..., 0] <= right + tiny)
            & (high[1] - moved[..., 1] <= bottom + tiny)
        )
