"""Where a piece is too light or too dark: places, the largest first.

A place is off where it is lighter or darker than all that is wanted within a small
distance of it, by more than the tolerance: so neither the soft edge of a photo nor a
plan laid a little beside it makes a place. What is off hangs together across zones, but
a zone that is off nearly everywhere is one place: it is not burned yet.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.outline import Outline
from burnplan.tone.compare import PieceOnPlan
from burnplan.tone.place import Placed
from burnplan.tone.region import Polygon
from burnplan.tone.zones import ZoneMap

NAMED = 20
"""Places that are named, of both kinds together (our own choice: more are not gone through at the
bench)."""

_SMOOTH_MM = 0.7  # over which darkness is taken together; a guess: tried on rendered photos
_BESIDE_MM = 0.9  # within which what is wanted may lie; a guess: tried on rendered photos
# Share of a zone that is off, from which all of it counts as one place; a guess: tried on rendered
# photos.
_WHOLE = 0.6
_LEAST_MM2 = 9.0  # of a place, the smallest area a pen can hold (common practice, no source)
# Of a marked area's size, within which a place is said to lie beside it; a guess: tried on rendered
# photos.
_NEAR = 0.75
_THIRD = 1 / 3  # by definition
_BARE = 0  # the number that stands for wood left bare


@dataclass(frozen=True, slots=True)
class OffPlace:
    """A place that is too light or too dark.

    Parameters
    ----------
    zone : int
        That most of it lies in; 0 for what is to stay bare.
    area_cm2 : float
    at_mm : tuple of float
        Its middle, from the top left of the piece's bounding box; of a whole zone the
        middle of its largest part.
    off : float
        Darkness beyond what is wanted, mean; below 0 where it is too light.
    whole : bool
        Whether it stands for a zone that is off nearly everywhere.
    """

    zone: int
    area_cm2: float
    at_mm: tuple[float, float]
    off: float
    whole: bool = False


def darkness_off(piece: PieceOnPlan, px_per_mm: float) -> NDArray[np.float32]:
    """Return by how much each pixel is darker than wanted near it; below 0 if it is lighter.

    Parameters
    ----------
    piece : PieceOnPlan
    px_per_mm : float

    Returns
    -------
    ndarray of float32, shape (H, W)
        0 where it is as wanted, and along the edge of the wood.
    """
    smooth = max(0.5, _SMOOTH_MM * px_per_mm)
    dark, wanted = (
        np.asarray(cv2.GaussianBlur(one, (0, 0), smooth), np.float32)
        for one in (piece.darkness, piece.wanted)
    )
    side = 2 * max(1, round(_BESIDE_MM * px_per_mm)) + 1
    ring = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    off = dark - np.clip(dark, cv2.erode(wanted, ring), cv2.dilate(wanted, ring))
    return np.where(piece.wood, off, np.float32(0)).astype(np.float32)


def places_off(
    off: NDArray[np.float32], placed: Placed, zones: ZoneMap, tolerance: float
) -> tuple[tuple[OffPlace, ...], tuple[OffPlace, ...]]:
    """Return the places that are too light and those too dark, the largest first.

    Parameters
    ----------
    off : ndarray of float32, shape (H, W)
        As :func:`darkness_off` gives it.
    placed : Placed
    zones : ZoneMap
    tolerance : float

    Returns
    -------
    tuple of tuple of OffPlace
        Of both together no more than 20.
    """
    labels = np.where(placed.burned, zones.labels, _BARE).astype(np.uint8)
    found = [
        (too_dark, place)
        for too_dark in (False, True)
        for place in _of_kind(off if too_dark else -off, labels, placed, tolerance, too_dark)
    ]
    found.sort(key=lambda one: -one[1].area_cm2)
    light = tuple(place for too_dark, place in found[:NAMED] if not too_dark)
    dark = tuple(place for too_dark, place in found[:NAMED] if too_dark)
    return light, dark


def _of_kind(
    off: NDArray[np.float32],
    labels: NDArray[np.uint8],
    placed: Placed,
    tolerance: float,
    too_dark: bool,
) -> Iterable[OffPlace]:
    mask = off > tolerance
    sizes = np.bincount(labels[placed.inside], minlength=256)
    in_zone = np.bincount(labels[mask], minlength=256)
    for zone in range(1, int(labels.max()) + 1):
        if in_zone[zone] and in_zone[zone] >= _WHOLE * sizes[zone]:
            whole = mask & (labels == zone)
            yield _place(whole, off, labels, placed, too_dark, whole=True)
            mask = mask & ~whole
    ring = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
    opened = cv2.morphologyEx(mask.view(np.uint8), cv2.MORPH_OPEN, ring)
    _, parts, boxes, _ = cv2.connectedComponentsWithStats(opened, connectivity=4)
    least = _LEAST_MM2 / placed.pixel_area_mm2
    largest = np.argsort(-boxes[1:, cv2.CC_STAT_AREA], kind="stable")[:NAMED] + 1
    for part in largest:
        left, top, width, height, area = boxes[part]
        if area >= least:
            box = np.s_[top : top + height, left : left + width]
            one = np.zeros(mask.shape, np.bool_)
            one[box] = parts[box] == part
            yield _place(one, off, labels, placed, too_dark)


def _place(
    mask: NDArray[np.bool_],
    off: NDArray[np.float32],
    labels: NDArray[np.uint8],
    placed: Placed,
    too_dark: bool,
    *,
    whole: bool = False,
) -> OffPlace:
    pixels = int(mask.sum())
    mean = float(off[mask].mean())
    column, row = _middle(mask, of_largest=whole)
    px = placed.px_per_mm
    return OffPlace(
        zone=int(np.bincount(labels[mask]).argmax()),
        area_cm2=pixels * placed.pixel_area_mm2 / 100,
        at_mm=((column + 0.5) / px, (row + 0.5) / px),
        off=mean if too_dark else -mean,
        whole=whole,
    )


def _middle(mask: NDArray[np.bool_], *, of_largest: bool) -> tuple[float, float]:
    """Return the middle of a place, or where it is widest if its middle lies outside it."""
    shape = mask
    if of_largest:
        _, parts, boxes, _ = cv2.connectedComponentsWithStats(mask.view(np.uint8), connectivity=4)
        shape = parts == 1 + int(np.argmax(boxes[1:, cv2.CC_STAT_AREA]))
    rows, columns = np.nonzero(shape)
    x, y = float(columns.mean()), float(rows.mean())
    if shape[round(y), round(x)]:
        return x, y
    inside = cv2.distanceTransform(np.pad(shape, 1).view(np.uint8), cv2.DIST_L2, 3)
    row, column = np.unravel_index(int(inside.argmax()), inside.shape)
    return float(column) - 1, float(row) - 1


def said_where(
    at_mm: tuple[float, float], outline: Outline, marked: Sequence[tuple[str, Polygon]] = ()
) -> str:
    """Say where a place lies: by an area that was marked and named, else by thirds.

    Left and right are those of who looks at the piece.

    Parameters
    ----------
    at_mm : tuple of float
    outline : Outline
    marked : sequence of (str, ndarray)
        Names, and polygons in mm on the wood.

    Examples
    --------
    >>> from burnplan.outline import OutlineKind
    >>> blank = Outline(OutlineKind.RECTANGLE, 300, 400)
    >>> said_where((20, 30), blank)
    'top left'
    >>> nose = np.array([(140.0, 180.0), (160, 180), (160, 210), (140, 210)])
    >>> said_where((130, 195), blank, [("nose", nose)])
    'left of the nose'
    """
    beside: tuple[float, str] | None = None
    for name, polygon in marked:
        low, high = polygon.min(axis=0), polygon.max(axis=0)
        size = high - low
        off = (np.array(at_mm) - (low + high) / 2) / np.maximum(size, 1e-6)
        if np.abs(off).max() <= 0.5:
            return f"in the {name}"
        away = float(np.abs(off).max())
        if away <= 0.5 + _NEAR and (beside is None or away < beside[0]):
            across = abs(off[0]) >= abs(off[1])
            word = (
                ("left of" if off[0] < 0 else "right of")
                if across
                else ("above" if off[1] < 0 else "below")
            )
            beside = away, f"{word} the {name}"
    if beside is not None:
        return beside[1]
    x, y = at_mm[0] / outline.width_mm, at_mm[1] / outline.height_mm
    across = "left" if x < _THIRD else "right" if x > 1 - _THIRD else ""
    down = "top" if y < _THIRD else "bottom" if y > 1 - _THIRD else ""
    return " ".join(filter(None, (down, across))) or "in the middle"
