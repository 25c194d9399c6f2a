"""Marks of value zones, on areas worth burning by themselves, and where these end."""

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.sheets.drawing import RGB, Align, Drawing
from burnplan.tone.chains import Chains
from burnplan.tone.islands import islands_of
from burnplan.tone.lines import Line, Lines
from burnplan.tone.place import Placed, outline_mask
from burnplan.tone.zones import ZoneMap
from burnplan.units import MM_PER_POINT

SIZES_POINTS = (11.0, 9.0, 7.0)
"""Sizes of type, largest first; the smallest can still be read at arm's length."""

CLEAR_MM = 0.4
"""Least space between a mark and the middle of a line."""

EVERY_MM = 90.0
"""About how far apart the marks of one large area are."""

WORTH_MM2, WORTH_SHARE = 150.0, 0.006
"""An area is worth burning by itself from this size, and this share of all that is burned
(our own choice, no source)."""

DOT_MM = 1.3
"""From one dot to the next along a border that is not traced."""

DOT_WIDE_MM = 0.25

CAP_TO_MIDDLE = 0.33
"""Half the height of a letter over the size of type."""

_TRACED_MM = 1.2  # a border with a line this near is traced
_FEWEST_DOTS = 4

# Height and width of "Z8" over the size of type (Source Sans).
_LETTERS = (0.65, 1.05)


@dataclass(frozen=True, slots=True)
class ZoneMark:
    """The mark of a zone at a place.

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

    @property
    def text(self) -> str:
        """What is written."""
        return f"Z{self.zone}"


class ZoneBorder(NamedTuple):
    """Where a zone ends at a lighter one, or at bare wood, and no line is traced.

    Parameters
    ----------
    zone : int
        The darker one, or 0 at bare wood.
    points : ndarray of float64, shape (K, 2)
        About :data:`DOT_MM` apart, mm.
    """

    zone: int
    points: NDArray[np.float64]


class ZoneMarks(NamedTuple):
    """Marks of zones, and the borders, as far as no line shows them, of the areas marked."""

    marks: tuple[ZoneMark, ...]
    borders: tuple[ZoneBorder, ...]


def radius_mm(points: float) -> float:
    """Return the radius of the circle round a mark of a size of type."""
    return math.hypot(*_LETTERS) / 2 * points * MM_PER_POINT


def place_marks(zones: ZoneMap, lines: Lines, placed: Placed) -> ZoneMarks:
    """Place the marks of value zones, where anything is burned.

    Parameters
    ----------
    zones : ZoneMap
    lines : Lines
    placed : Placed
        The photo that both are of.

    Returns
    -------
    ZoneMarks
        Areas too small to be burned by themselves, or too narrow for the smallest
        size, have none.

    Notes
    -----
    A mark lies where an area is widest, its pole of inaccessibility, found as the
    greatest distance from any line or border on the raster. Large areas are marked
    again about every 90 mm.
    """
    labels = np.where(placed.burned, zones.labels, np.uint8(0))
    drawn, px_per_mm = lines.drawn, placed.px_per_mm
    distance = _distance_to_lines(labels, drawn, px_per_mm) / px_per_mm
    need = [radius_mm(points) + CLEAR_MM for points in SIZES_POINTS]
    islands = islands_of(labels)
    pixels = islands.pixels()
    least = max(WORTH_MM2 * px_per_mm**2, WORTH_SHARE * int(pixels.sum()))
    worth = (np.arange(islands.count) > 0) & (pixels >= least)
    owner = islands.painted(np.where(worth, np.arange(islands.count), 0))
    distance[owner == 0] = 0
    rows, columns = np.concatenate(
        [_widest(distance, owner, cell, need[-1]) for cell in _cells(owner.shape, px_per_mm)],
        axis=1,
    )
    far = distance[rows, columns]
    marks: list[ZoneMark] = []
    taken: dict[int, list[tuple[float, float]]] = {}
    for at in np.argsort(-far, kind="stable").tolist():
        x, y = (float(columns[at]) + 0.5) / px_per_mm, (float(rows[at]) + 0.5) / px_per_mm
        island = int(owner[rows[at], columns[at]])
        others = taken.setdefault(island, [])
        if any(math.hypot(x - a, y - b) < 0.6 * EVERY_MM for a, b in others):
            continue
        others.append((x, y))
        points = next(p for p, room in zip(SIZES_POINTS, need, strict=True) if far[at] >= room)
        marks.append(ZoneMark(int(islands.label[island]), x, y, points))
    marked = np.isin(np.arange(islands.count), list(taken))
    return ZoneMarks(
        tuple(sorted(marks, key=lambda mark: (mark.zone, mark.y, mark.x))),
        _untraced_borders(labels, islands.painted(marked), drawn, placed),
    )


def _untraced_borders(
    labels: NDArray[np.uint8],
    marked: NDArray[np.bool_],
    drawn: Sequence[Line],
    placed: Placed,
) -> tuple[ZoneBorder, ...]:
    """Return where areas with a mark end, away from lines and from the outline."""
    if not marked.any():
        return ()
    near, px_per_mm = np.ones((3, 3), np.uint8), placed.px_per_mm
    on_wood = outline_mask(placed.outline, labels.shape, px_per_mm)
    free = np.ones(labels.shape, np.uint8)
    _draw_lines(free, drawn, px_per_mm, wide=2 * round(_TRACED_MM * px_per_mm) + 1)
    wanted = free.view(np.bool_)
    wanted &= cv2.dilate(marked.view(np.uint8), near).view(np.bool_)
    wanted &= cv2.erode(on_wood.view(np.uint8), near, borderValue=0).view(np.bool_)
    at_bare = cv2.dilate((labels == 0).view(np.uint8), near).view(np.bool_)
    found = []
    for zone in range(int(labels.max())):
        mine = at_bare if zone == 0 else (labels == zone) & ~at_bare
        # A border where several zones end at once is that of the darkest.
        up_to = (labels > 0) if zone == 0 else (labels <= zone) & (labels > 0)
        chains = Chains.around(up_to.view(np.uint8)).resampled(DOT_MM * px_per_mm)
        column, row = np.rint(chains.xy).astype(np.intp).T
        stretches, _rows = chains.stretches(wanted[row, column] & mine[row, column])
        long = np.flatnonzero(stretches.sizes >= _FEWEST_DOTS)
        found += [
            ZoneBorder(zone, (stretches.part(number) + 0.5) / px_per_mm) for number in long.tolist()
        ]
    return tuple(found)


def _cells(shape: tuple[int, ...], px_per_mm: float) -> Iterator[tuple[slice, slice]]:
    """Squares that a raster is divided into, one for each mark of a large area."""
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
    labels: NDArray[np.uint8], drawn: Sequence[Line], px_per_mm: float
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
    _draw_lines(free, drawn, px_per_mm, shift=1)
    distance = cv2.distanceTransform(free, cv2.DIST_L2, cv2.DIST_MASK_5)
    return np.asarray(distance[1:-1, 1:-1], np.float32)


def _draw_lines(
    free: NDArray[np.uint8],
    drawn: Sequence[Line],
    px_per_mm: float,
    *,
    shift: int = 0,
    wide: int = 1,
) -> None:
    """Set pixels under lines to 0."""
    for closed in (False, True):
        chains = [
            np.rint(line.points * px_per_mm + (shift - 0.5)).astype(np.int32)
            for line in drawn
            if line.closed is closed
        ]
        cv2.polylines(free, chains, closed, 0, wide)


def draw_marks(drawing: Drawing, marks: ZoneMarks, colour: Callable[[int], RGB]) -> None:
    """Write the marks on a page, in a colour by their zone."""
    for mark in marks.marks:
        base = mark.y + CAP_TO_MIDDLE * mark.points * MM_PER_POINT
        at = mark.x, base, mark.text, mark.points
        drawing.text(*at, colour=colour(mark.zone), align=Align.MIDDLE)


def draw_borders(drawing: Drawing, marks: ZoneMarks, colour: Callable[[int], RGB]) -> None:
    """Dot the borders that are not traced, in a colour by their zone."""
    drawing.canvas.setLineCap(1)  # a dash of no length is a dot
    for zone, borders in itertools.groupby(marks.borders, key=lambda border: border.zone):
        drawing.stroke(colour(zone), DOT_WIDE_MM, (0.0, DOT_MM))
        drawing.paths((border.points, False) for border in borders)
