"""Where the numbers of value zones fit: inside their islands, clear of every line."""

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.tone.islands import islands_of
from burnplan.tone.lines import Lines
from burnplan.tone.zones import ZoneMap
from burnplan.units import MM_PER_POINT

SIZES_POINTS = (11.0, 9.0, 7.0)
"""Sizes of type, largest first; the smallest can still be read at arm's length."""

CLEAR_MM = 0.4
"""Least space between a number and the middle of a line."""

EVERY_MM = 60.0
"""About how far apart the numbers of one large island are."""

# Height and width of a figure over the size of type (Source Sans).
_FIGURE = (0.65, 0.5)


@dataclass(frozen=True, slots=True)
class ZoneNumber:
    """The number of a zone at a place.

    Parameters
    ----------
    zone : int
    x, y : float
        Its middle, mm from the top left of the outline's bounding box.
    points : float
        Size of type.
    """

    zone: int
    x: float
    y: float
    points: float


def radius_mm(points: float) -> float:
    """Return the radius of the circle round a figure of a size of type."""
    return math.hypot(*_FIGURE) / 2 * points * MM_PER_POINT


def place_numbers(
    zones: ZoneMap,
    lines: Lines,
    px_per_mm: float,
    *,
    bare: NDArray[np.bool_] | None = None,
) -> tuple[ZoneNumber, ...]:
    """Place the numbers of value zones.

    Parameters
    ----------
    zones : ZoneMap
    lines : Lines
        Of the same photo.
    px_per_mm : float
    bare : ndarray of bool, shape (H, W), optional
        Where nothing is burned, and no number goes.

    Returns
    -------
    tuple of ZoneNumber
        Islands too narrow for the smallest size have none.

    Notes
    -----
    A number lies where an island is widest, its pole of inaccessibility, found
    as the greatest distance from any line or border on the raster. Large
    islands are numbered again about every 60 mm.
    """
    labels = zones.labels if bare is None else np.where(bare, np.uint8(0), zones.labels)
    distance = _distance_to_lines(labels, lines, px_per_mm) / px_per_mm
    need = [radius_mm(points) + CLEAR_MM for points in SIZES_POINTS]
    islands = islands_of(labels)
    owner = islands.painted(np.arange(islands.count))
    distance[owner == 0] = 0
    rows, columns = np.concatenate(
        [_widest(distance, owner, cell, need[-1]) for cell in _cells(owner.shape, px_per_mm)],
        axis=1,
    )
    far = distance[rows, columns]
    numbers: list[ZoneNumber] = []
    taken: dict[int, list[tuple[float, float]]] = {}
    for at in np.argsort(-far, kind="stable").tolist():
        x, y = (float(columns[at]) + 0.5) / px_per_mm, (float(rows[at]) + 0.5) / px_per_mm
        island = int(owner[rows[at], columns[at]])
        others = taken.setdefault(island, [])
        if any(math.hypot(x - a, y - b) < 0.6 * EVERY_MM for a, b in others):
            continue
        others.append((x, y))
        points = next(p for p, room in zip(SIZES_POINTS, need, strict=True) if far[at] >= room)
        numbers.append(ZoneNumber(int(islands.label[island]), x, y, points))
    return tuple(sorted(numbers, key=lambda number: (number.zone, number.y, number.x)))


def _cells(shape: tuple[int, ...], px_per_mm: float) -> Iterator[tuple[slice, slice]]:
    """Squares that a raster is divided into, one for each number of a large island."""
    side = EVERY_MM * px_per_mm
    down, along = (
        [slice(math.ceil(k * side), math.ceil((k + 1) * side)) for k in range(math.ceil(n / side))]
        for n in shape
    )
    return itertools.product(down, along)


def _widest(
    distance: NDArray[np.float32],
    owner: NDArray[np.int64],
    cell: tuple[slice, slice],
    least: float,
) -> NDArray[np.int64]:
    """Row and column of the greatest distance on each island in a cell, the first of several."""
    at = np.flatnonzero(distance[cell] >= least)
    far, island = distance[cell].ravel()[at], owner[cell].ravel()[at]
    widest = np.zeros(int(island.max(initial=0)) + 1, np.float32)
    np.maximum.at(widest, island, far)
    first = np.flatnonzero(far == widest[island])
    first = first[np.unique(island[first], return_index=True)[1]]
    rows, columns = np.unravel_index(at[first], distance[cell].shape)
    return np.stack([rows + cell[0].start, columns + cell[1].start])


def _distance_to_lines(
    labels: NDArray[np.uint8], lines: Lines, px_per_mm: float
) -> NDArray[np.float32]:
    """Distance of each pixel to the nearest line, border of a zone, or edge, px."""
    labels = np.pad(labels, 1)  # the edge of the raster is a border too
    free = np.ones(labels.shape, np.uint8)
    for one, other, a, b in (
        (labels[:, :-1], labels[:, 1:], free[:, :-1], free[:, 1:]),
        (labels[:-1], labels[1:], free[:-1], free[1:]),
    ):
        border = one != other
        a[border] = 0
        b[border] = 0
    for closed in (False, True):
        chains = [
            np.rint(line.points * px_per_mm + 0.5).astype(np.int32)
            for line in lines.lines
            if line.closed is closed
        ]
        cv2.polylines(free, chains, closed, 0)
    distance = cv2.distanceTransform(free, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    return np.asarray(distance[1:-1, 1:-1], np.float32)
