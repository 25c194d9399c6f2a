"""Trace lines: each boundary between value zones once, in mm, with pressure.

A line starts as the chain of pixel sides between two zones, which contourpy
follows. Where a sharp edge takes several thresholds at once their chains run
over the same pixel sides; each side then belongs to the darkest boundary alone,
so that no line is drawn twice. Chains are smoothed without shrinking (two
passes of a Gaussian, ``2G - G²``), which takes out the staircase of pixels, and
simplified to a tolerance.

Pressure says how hard to press when tracing: the lightness step is measured a
nib's width either side of the line. Where the step is large the line is firm,
where it is small the edge is lost and left open, and in between it is light.
Hysteresis along the line keeps it from flickering, as in J. Canny, IEEE TPAMI
8(6), 1986: a stretch above the lower limit counts as a whole if it passes the
upper limit anywhere. Stretches too short to be drawn as such take the pressure
of the longer one beside them.
"""

import itertools
import math
from dataclasses import dataclass
from enum import StrEnum
from typing import cast

import cv2
import numpy as np
from contourpy import LineType, contour_generator
from numpy.typing import NDArray

from burnplan.tone.place import Placed
from burnplan.tone.progress import Progress, silent
from burnplan.tone.zones import ZoneMap, nearest_label

NIB_MM = 0.75
"""Width of a fine line (common practice, no source)."""

FIRM_STEP = (12.0, 18.0)
"""Lower and upper limit of the lightness step, L*, of a firm line (common practice, no source)."""

LIGHT_STEP = (4.0, 7.0)
"""Lower and upper limit of the lightness step, L*, below which an edge is lost (the same)."""

SHORTEST_MM = 2.0
"""Shortest stretch with a pressure of its own, counted in pixel sides along the line."""

TOLERANCE_MM = 0.05
"""Farthest a simplified line lies from the smoothed one."""

SMOOTH_PX = (1.5, 4.0)
"""Standard deviation of the smoothing along a line in pixel sides: usual and most.

Where the photo's own pixels are larger than the raster's, its staircase is
coarser, and the smoothing grows with it."""


class Pressure(StrEnum):
    """How hard to press when tracing a line; a lost line is left open."""

    FIRM = "firm"
    LIGHT = "light"
    LOST = "lost"


# What contourpy gives as one chunk: all points, and where each line starts and ends.
_Contours = tuple[list[NDArray[np.float64] | None], list[NDArray[np.uint32] | None]]

_PRESSURES = (Pressure.LOST, Pressure.LIGHT, Pressure.FIRM)  # in order of rising step


@dataclass(frozen=True, slots=True, eq=False)
class TraceLine:
    """A stretch of boundary with one pressure.

    Parameters
    ----------
    points : ndarray of float64, shape (K, 2)
        x and y in mm from the top left of the outline's bounding box; a closed
        line does not repeat its first point.
    boundary : int
        The zone on its darker side; zone ``boundary + 1`` or a lighter one lies
        on the other.
    pressure : Pressure
    closed : bool
    length_mm : float
        Length before simplification.
    step : float
        Mean lightness step across it, L*.
    """

    points: NDArray[np.float64]
    boundary: int
    pressure: Pressure
    closed: bool
    length_mm: float
    step: float


@dataclass(frozen=True, slots=True, eq=False)
class TraceLines:
    """All trace lines of a reference, in the order to trace them.

    Parameters
    ----------
    lines : tuple of TraceLine
        Darkest boundary first, firm before light before lost, long before short.
    """

    lines: tuple[TraceLine, ...]

    def length_cm(self, pressure: Pressure | None = None, boundary: int | None = None) -> float:
        """Total length in cm, of one pressure or one boundary if given."""
        return (
            sum(
                line.length_mm
                for line in self.lines
                if pressure in (None, line.pressure) and boundary in (None, line.boundary)
            )
            / 10
        )

    @property
    def firm_cm(self) -> float:
        """Length of firm lines, cm."""
        return self.length_cm(Pressure.FIRM)

    @property
    def light_cm(self) -> float:
        """Length of light lines, cm."""
        return self.length_cm(Pressure.LIGHT)

    @property
    def lost_cm(self) -> float:
        """Length of lost edges, cm."""
        return self.length_cm(Pressure.LOST)


@dataclass(slots=True)
class _Chains:
    """Chains of vertices end to end: row i follows row ``before[i]``, ends point to themselves."""

    xy: NDArray[np.float64]
    starts: NDArray[np.intp]  # first row of each chain, and the number of rows
    closed: NDArray[np.bool_]

    def neighbours(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Rows before and after each row, round the corner where a chain is closed."""
        rows = np.arange(len(self.xy))
        before, after = rows - 1, rows + 1
        first, last = self.starts[:-1], self.starts[1:] - 1
        before[first] = np.where(self.closed, last, first)
        after[last] = np.where(self.closed, first, last)
        return before, after


def trace_lines(
    zonemap: ZoneMap,
    placed: Placed,
    *,
    nib_mm: float = NIB_MM,
    tolerance_mm: float = TOLERANCE_MM,
    on_progress: Progress | None = None,
) -> TraceLines:
    """Trace every boundary between value zones once.

    Parameters
    ----------
    zonemap : ZoneMap
    placed : Placed
        The photo the zones were made from.
    nib_mm : float, optional
        The lightness step is measured this far either side of a line.
    tolerance_mm : float, optional
    on_progress : Progress, optional

    Returns
    -------
    TraceLines
        The outline of the blank is not among them.
    """
    progress = on_progress or silent
    coarser = placed.px_per_mm / placed.source_px_per_mm
    ground = _Ground(zonemap, min(SMOOTH_PX[0] * max(1.0, coarser), SMOOTH_PX[1]))
    # What a nib covers at once has one lightness.
    nib_px = 2 * round(nib_mm * placed.px_per_mm / 2) + 1
    light = np.asarray(cv2.blur(placed.lightness, (nib_px, nib_px)), np.float32)
    lines: list[TraceLine] = []
    for boundary in range(1, zonemap.count):
        progress((boundary - 1) / zonemap.count, "Tracing lines")
        chains = ground.owned_chains(boundary)
        if len(chains.xy) == 0:
            continue
        steps = _steps(chains, zonemap.labels, light, nib_mm * placed.px_per_mm)
        lengths = _side_lengths(chains)
        window = max(1, round(SHORTEST_MM * placed.px_per_mm))
        pressure = _pressures(chains, steps, window)
        lines += _pieces(chains, pressure, steps, lengths, boundary, placed.px_per_mm, tolerance_mm)
    order = {Pressure.FIRM: 0, Pressure.LIGHT: 1, Pressure.LOST: 2}
    lines.sort(key=lambda line: (line.boundary, order[line.pressure], -line.length_mm))
    progress(1.0, "Lines traced")
    return TraceLines(tuple(lines))


class _Ground:
    """The labels to be contoured and where earlier boundaries already run."""

    def __init__(self, zonemap: ZoneMap, smooth_px: float = SMOOTH_PX[0]) -> None:
        self._smooth_px = smooth_px
        labels = zonemap.labels
        self._lightness = zonemap.lightness
        self._thresholds = np.asarray(zonemap.thresholds, np.float64)
        # One ring of pixels more on each side, and labels carried on beyond the
        # outline, so that lines reach it; what lies beyond is cut off again.
        self._labels: NDArray[np.uint8] = np.pad(nearest_label(labels), 1, mode="edge")
        self._inside: NDArray[np.bool_] = np.pad(labels > 0, 1, mode="edge")
        self._generator = contour_generator(
            z=self._labels.astype(np.float64),
            name="serial",
            line_type=LineType.ChunkCombinedOffset,
        )
        self._known_sides = np.zeros(0, np.int64)  # sorted
        self._known_xy = np.zeros((0, 2))

    def owned_chains(self, boundary: int) -> _Chains:
        """Smoothed chains of the pixel sides that belong to a boundary, in px of the raster."""
        points, offsets = cast("_Contours", self._generator.lines(boundary + 0.5))
        if points[0] is None or offsets[0] is None:
            return _Chains(np.zeros((0, 2)), np.zeros(1, np.intp), np.zeros(0, np.bool_))
        raw, starts = points[0], offsets[0].astype(np.intp)
        closed = np.all(raw[starts[:-1]] == raw[starts[1:] - 1], axis=1)
        keep = np.ones(len(raw), np.bool_)
        keep[(starts[1:] - 1)[closed]] = False  # a closed line repeats its first point
        raw = raw[keep]
        starts = np.concatenate([[0], np.cumsum(np.diff(starts) - closed)]).astype(np.intp)

        # The two pixels of a side. Interpolation leaves whole coordinates whole only
        # to rounding, while crossings stay at least 1/16 away from them.
        low, high = np.floor(raw + 1e-3).astype(np.intp), np.ceil(raw - 1e-3).astype(np.intp)
        one = self._labels[low[:, 1], low[:, 0]]
        other = self._labels[high[:, 1], high[:, 0]]
        within = self._inside[low[:, 1], low[:, 0]] | self._inside[high[:, 1], high[:, 0]]
        own = (np.minimum(one, other) == boundary) & within
        side = (low[:, 1] * self._labels.shape[1] + low[:, 0]) * 2 + (low[:, 0] == high[:, 0])

        crossing: NDArray[np.float64] = (
            low + (high - low) * self._crossing(low, high, one, other)[:, None]
        )
        smooth = _smoothed(_Chains(crossing, starts, closed), self._smooth_px)
        smooth -= 0.5  # from the ring's pixel centres to the raster's corner
        height, width = self._lightness.shape
        np.clip(smooth, 0, (width, height), out=smooth)  # the ring ends half a pixel outside
        chains = self._cut_to_own(smooth, starts, closed, own, within, side)
        self._remember(side[own], smooth[own])
        return chains

    def _crossing(
        self,
        low: NDArray[np.intp],
        high: NDArray[np.intp],
        one: NDArray[np.uint8],
        other: NDArray[np.uint8],
    ) -> NDArray[np.float64]:
        """How far between two pixels lightness passes the threshold; half where it does not.

        A side that takes several thresholds is passed at their middle, so that
        every boundary there gives the same place.
        """
        height, width = self._lightness.shape
        first, second = (
            self._lightness[
                np.clip(at[:, 1] - 1, 0, height - 1), np.clip(at[:, 0] - 1, 0, width - 1)
            ].astype(np.float64)
            for at in (low, high)
        )
        darker = np.minimum(one, other).astype(np.intp)
        lighter = np.maximum(one, other).astype(np.intp)
        threshold = (self._thresholds[darker - 1] + self._thresholds[lighter - 2]) / 2
        rise = second - first
        share = np.divide(threshold - first, rise, out=np.full(len(rise), -1.0), where=rise != 0)
        return np.where((share >= 0) & (share <= 1), share, 0.5)

    def _cut_to_own(
        self,
        xy: NDArray[np.float64],
        starts: NDArray[np.intp],
        closed: NDArray[np.bool_],
        own: NDArray[np.bool_],
        within: NDArray[np.bool_],
        side: NDArray[np.int64],
    ) -> _Chains:
        """Keep the own stretches, each with a step onto the earlier line it branches from."""
        parts: list[NDArray[np.float64]] = []
        rings: list[bool] = []
        for start, stop, ring in zip(starts[:-1], starts[1:], closed, strict=True):
            mine = own[start:stop]
            if mine.all():
                parts.append(xy[start:stop])
                rings.append(bool(ring))
                continue
            if not mine.any():
                continue
            rows = np.arange(start, stop)
            if ring:  # begin at a foreign vertex, so that no stretch runs over the seam
                rows = np.roll(rows, -int(np.argmin(mine)))
                rows = np.append(rows, rows[0])
            flags = own[rows].astype(np.int8)
            edges = np.diff(flags, prepend=0, append=0)
            for first, last in zip(
                np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True
            ):
                stretch = [xy[rows[first:last]]]
                if first > 0 and within[rows[first - 1]]:
                    stretch.insert(0, self._junction(side[rows[first - 1]]))
                if last < len(rows) and within[rows[last]]:
                    stretch.append(self._junction(side[rows[last]]))
                joined = np.concatenate(stretch)
                if len(joined) > 1:
                    parts.append(joined)
                    rings.append(False)
        sizes = np.array([len(part) for part in parts], np.intp)
        return _Chains(
            np.concatenate(parts) if parts else np.zeros((0, 2)),
            np.concatenate([[0], np.cumsum(sizes)]).astype(np.intp),
            np.array(rings, np.bool_),
        )

    def _junction(self, side: int) -> NDArray[np.float64]:
        """Where an earlier line runs through a pixel side, shape (1, 2); none if none does."""
        at = int(np.searchsorted(self._known_sides, side))
        if at < len(self._known_sides) and self._known_sides[at] == side:
            return self._known_xy[at : at + 1]
        return np.zeros((0, 2))

    def _remember(self, sides: NDArray[np.int64], xy: NDArray[np.float64]) -> None:
        sides = np.concatenate([self._known_sides, sides])
        order = np.argsort(sides, kind="stable")
        self._known_sides = sides[order]
        self._known_xy = np.concatenate([self._known_xy, xy])[order]


def _smoothed(chains: _Chains, smooth_px: float) -> NDArray[np.float64]:
    """Smooth along chains by ``2G - G²``, whose shrinking is of fourth order only.

    G is made of passes of the kernel (1, 2, 1)/4, each of variance 1/2. The
    ends of open chains stay.
    """
    before, after = chains.neighbours()
    ends = np.concatenate([chains.starts[:-1], chains.starts[1:] - 1])
    passes = round(2 * smooth_px**2)

    def blur(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        for _ in range(passes):
            # Whole shifts are many times faster than picking rows; only the ends
            # of chains, which they join wrongly, are then set right.
            total = 2 * xy
            total[1:] += xy[:-1]
            total[:-1] += xy[1:]
            total[ends] = 2 * xy[ends] + xy[before[ends]] + xy[after[ends]]
            total /= 4
            xy = total
        return xy

    once = blur(chains.xy)
    return 2 * once - blur(once)


def _side_lengths(chains: _Chains) -> NDArray[np.float64]:
    """Distance from each vertex to the one after it, px; 0 at the end of an open chain."""
    _before, after = chains.neighbours()
    return np.asarray(np.hypot(*(chains.xy[after] - chains.xy).T), np.float64)


def _steps(
    chains: _Chains,
    labels: NDArray[np.uint8],
    lightness: NDArray[np.float32],
    reach_px: float,
) -> NDArray[np.float64]:
    """Lightness step across each vertex, L*, measured reach_px either side along the normal.

    Where the zone beside the line ends sooner, it is measured there: beyond may
    lie the far side of another, stronger line.
    """
    before, after = chains.neighbours()
    along = chains.xy[after] - chains.xy[before]
    length = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1) / length[:, None]
    one, other = (
        _sampled(lightness, chains.xy + side * _reach(chains.xy, side, labels, reach_px)[:, None])
        for side in (normal, -normal)
    )
    return np.asarray(np.abs(one - other)[_away_from_ends(chains, 2)], np.float64)


def _reach(
    xy: NDArray[np.float64],
    normal: NDArray[np.float64],
    labels: NDArray[np.uint8],
    reach_px: float,
) -> NDArray[np.float64]:
    """How far beside a line to measure: reach_px, or as far as the zone there goes."""
    height, width = labels.shape
    reach = np.full(len(xy), min(1.0, reach_px))
    zone = None
    same = np.ones(len(xy), np.bool_)
    for distance in np.arange(1.0, math.ceil(reach_px) + 1).clip(max=reach_px):
        at = np.floor(xy + normal * distance).astype(np.intp)
        here = labels[np.clip(at[:, 1], 0, height - 1), np.clip(at[:, 0], 0, width - 1)]
        zone = here if zone is None else zone
        same &= here == zone
        reach[same] = distance
    return reach


def _sampled(lightness: NDArray[np.float32], xy: NDArray[np.float64]) -> NDArray[np.float64]:
    """Lightness between pixels, bilinear; beyond the edge that of the edge."""
    # Rows of 4096, because remap takes no more than 32767 points in a line.
    wide = 4096
    rows = -(-len(xy) // wide)
    padded = np.zeros((rows * wide, 2), np.float32)
    padded[: len(xy)] = xy - 0.5  # remap has pixel centres at whole numbers
    mapped = cv2.remap(
        lightness,
        padded[:, 0].reshape(rows, wide),
        padded[:, 1].reshape(rows, wide),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(mapped, np.float64).ravel()[: len(xy)]


def _away_from_ends(chains: _Chains, margin: int) -> NDArray[np.intp]:
    """For each row the nearest row that is margin away from the ends of an open chain.

    At the very end the zones beside a line cannot be told apart from those of
    the line that it joins.
    """
    sizes = np.diff(chains.starts)
    keep_off = np.where(chains.closed, 0, np.minimum(margin, (sizes - 1) // 2))
    first = np.repeat(chains.starts[:-1] + keep_off, sizes)
    last = np.repeat(chains.starts[1:] - 1 - keep_off, sizes)
    return np.clip(np.arange(len(chains.xy)), first, last)


def _pressures(chains: _Chains, steps: NDArray[np.float64], window: int) -> NDArray[np.int64]:
    """Pressure of each vertex as a place in ``_PRESSURES``, steady along the line."""
    before, after = chains.neighbours()
    around = [steps]
    earlier = later = np.arange(len(steps))
    for _ in range(window // 2):
        earlier, later = before[earlier], after[later]
        around += [steps[earlier], steps[later]]
    calm = np.median(around, axis=0)  # a mean would carry a strong line into a faint one
    level = _hysteresis(chains, calm, LIGHT_STEP).astype(np.int64)
    level += _hysteresis(chains, calm, FIRM_STEP)
    return _without_short(chains, level, window)


def _hysteresis(
    chains: _Chains, values: NDArray[np.float64], limits: tuple[float, float]
) -> NDArray[np.bool_]:
    """Stretches above the lower limit that pass the upper one somewhere."""
    run = _runs(chains, values >= limits[0])
    passes = np.zeros(int(run.max()) + 1, np.bool_)
    passes[run[values >= limits[1]]] = True
    return passes[run]


def _runs(chains: _Chains, values: NDArray[np.generic]) -> NDArray[np.int64]:
    """Give stretches of equal value along chains a number; a closed one has no seam."""
    new = np.ones(len(values), np.bool_)
    new[1:] = values[1:] != values[:-1]
    new[chains.starts[:-1]] = True
    run = np.cumsum(new) - 1
    first, last = chains.starts[:-1], chains.starts[1:] - 1
    over_seam = chains.closed & (values[first] == values[last])
    alias = np.arange(int(run[-1]) + 1)
    alias[run[last[over_seam]]] = run[first[over_seam]]
    return np.asarray(alias[run], np.int64)


def _without_short(chains: _Chains, level: NDArray[np.int64], shortest: int) -> NDArray[np.int64]:
    """Give stretches too short to draw the level of the longer stretch beside them.

    At the end of an open chain a stretch must be twice as long to stand out
    from a fainter one: the strong line that it branches from raises its steps.
    """
    result = level.copy()
    for start, stop, ring in zip(chains.starts[:-1], chains.starts[1:], chains.closed, strict=True):
        part = result[start:stop]
        edges = np.flatnonzero(np.diff(part)) + 1
        if len(edges) == 0:
            continue
        shift = int(edges[0]) if ring else 0  # a ring is read from its first change on
        part = np.roll(part, -shift)
        bounds = np.concatenate([[0], np.flatnonzero(np.diff(part)) + 1, [len(part)]])
        levels = part[bounds[:-1]].tolist()
        sizes = np.diff(bounds).tolist()
        _join_short(levels, sizes, shortest, bool(ring))
        result[start:stop] = np.roll(np.repeat(levels, sizes), shift)
    return result


def _join_short(levels: list[int], sizes: list[int], shortest: int, ring: bool) -> None:
    """Change levels in place until no stretch is too short, shortest first."""
    count = len(levels)

    def stretch(at: int) -> list[int]:
        """Places that make one stretch with a place, in order."""
        found = [at]
        for step in (-1, 1):
            place = at + step
            while (ring or 0 <= place < count) and place % count not in found:
                if levels[place % count] != levels[at]:
                    break
                found.insert(0 if step < 0 else len(found), place % count)
                place += step
        return found

    while len(set(levels)) > 1:
        candidates = []
        for at in range(count):
            places = stretch(at)
            if places[0] != at:
                continue
            beside = [
                place % count
                for place in (places[0] - 1, places[-1] + 1)
                if ring or 0 <= place < count
            ]
            size = sum(sizes[place] for place in places)
            longest = max(beside, key=lambda place: sum(sizes[i] for i in stretch(place)))
            dangling = len(beside) == 1 and levels[longest] < levels[at]
            if size < (2 * shortest if dangling else shortest):
                candidates.append((size, places, levels[longest]))
        if not candidates:
            return
        _size, places, wanted = min(candidates)
        for place in places:
            levels[place] = wanted


def _pieces(
    chains: _Chains,
    level: NDArray[np.int64],
    steps: NDArray[np.float64],
    lengths: NDArray[np.float64],
    boundary: int,
    px_per_mm: float,
    tolerance_mm: float,
) -> list[TraceLine]:
    """Split chains where the pressure changes; neighbours share the point between them."""
    pieces = []
    for start, stop, ring in zip(chains.starts[:-1], chains.starts[1:], chains.closed, strict=True):
        rows = np.arange(start, stop)
        changes = np.flatnonzero(np.diff(level[rows])) + 1
        if len(changes) == 0:
            spans = [(rows, bool(ring))]
        else:
            if ring:
                rows = np.roll(rows, -int(changes[0]))
                rows = np.append(rows, rows[0])
                changes = np.flatnonzero(np.diff(level[rows[:-1]])) + 1
            bounds = [0, *changes.tolist(), len(rows) - 1]
            spans = [
                (rows[low : high + 1], False)
                for low, high in itertools.pairwise(bounds)
                if high > low
            ]
        for span, whole_ring in spans:
            counted = span if whole_ring else span[:-1]
            pieces.append(
                TraceLine(
                    points=_simplified(chains.xy[span] / px_per_mm, whole_ring, tolerance_mm),
                    boundary=boundary,
                    pressure=_PRESSURES[level[span[0]]],
                    closed=whole_ring,
                    length_mm=float(lengths[counted].sum()) / px_per_mm,
                    step=float(steps[span].mean()),
                )
            )
    return pieces


def _simplified(
    points: NDArray[np.float64], closed: bool, tolerance_mm: float
) -> NDArray[np.float64]:
    """Fewest of the points within a tolerance (Douglas and Peucker, 1973)."""
    if tolerance_mm <= 0 or len(points) < 3:
        return points
    kept = cv2.approxPolyDP(points.astype(np.float32).reshape(-1, 1, 2), tolerance_mm, closed)
    return np.asarray(kept, np.float64).reshape(-1, 2)
