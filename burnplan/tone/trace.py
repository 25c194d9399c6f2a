"""Trace lines: boundaries between value zones, none twice, in mm, with pressure.

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
of the longer one beside them. Inside focal areas nothing is lost: what would be
is light. Beside a background left bare the step is that of the photo as it was:
the cut itself is no edge to trace, but a silhouette is.

A soft edge may pass several thresholds within a millimetre. A pencil cannot keep
their lines apart: the darkest stands for all of them, with the step of the whole
edge; where another would run along its lighter side, there is none.
"""

import itertools
import math
from dataclasses import dataclass
from typing import cast

import cv2
import numpy as np
from contourpy import LineType, contour_generator
from numpy.typing import NDArray

from burnplan.progress import Progress, silent
from burnplan.tone.chains import Chains
from burnplan.tone.edges import sampled
from burnplan.tone.lightness import lightness
from burnplan.tone.passes import Pressure as Pressure
from burnplan.tone.place import Placed
from burnplan.tone.zones import ZoneMap, nearest_label

NIB_MM = 0.75
"""Width of a fine line (common practice, no source)."""

FIRM_STEP = (12.0, 18.0)
"""Lower and upper limit of the lightness step, L*, of a firm line (common practice, no source)."""

LIGHT_STEP = (4.0, 7.0)
"""Lower and upper limit of the lightness step, L*, below which an edge is lost (the same)."""

SHORTEST_MM = 2.0
"""Shortest stretch with a pressure of its own, counted in pixel sides along the line."""

BESIDE_MM, FOCAL_BESIDE_MM = (1.0, 1.6), (0.5, 0.8)
"""Lower and upper distance below which a line is not told from a darker one, and in focal areas
(common practice, no source): a stretch below the upper counts as a whole if it is below the
lower anywhere."""

BESIDE_PIXELS, MOST_BESIDE = 1.5, 2.0
"""The lower distance is at least so many of the photo's own pixels, up to so many times as far,
and that in focal areas half of it: enlarged, every edge is soft."""

TOLERANCE_MM = 0.05
"""Farthest a simplified line lies from the smoothed one."""

SMOOTH_PX = (1.5, 4.0)
"""Standard deviation of the smoothing along a line in pixel sides: usual and most.

Where the photo's own pixels are larger than the raster's, its staircase is
coarser, and the smoothing grows with it."""


# What contourpy gives as one chunk: all points, and where each line starts and ends.
_Contours = tuple[list[NDArray[np.float64] | None], list[NDArray[np.uint32] | None]]

_PRESSURES = (Pressure.LOST, Pressure.LIGHT, Pressure.FIRM)  # in order of rising step
_BESIDE = -1  # in place of one: another line stands for it


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


def trace_lines(
    zonemap: ZoneMap,
    placed: Placed,
    *,
    nib_mm: float = NIB_MM,
    tolerance_mm: float = TOLERANCE_MM,
    on_progress: Progress | None = None,
) -> TraceLines:
    """Trace the boundaries between value zones, none twice.

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
    progress(0.0, "Tracing lines")
    coarser = placed.px_per_mm / placed.source_px_per_mm
    ground = _Ground(zonemap, min(SMOOTH_PX[0] * max(1.0, coarser), SMOOTH_PX[1]))
    # What a nib covers at once has one lightness.
    nib_px = 2 * round(nib_mm * placed.px_per_mm / 2) + 1
    light = np.asarray(cv2.blur(placed.lightness, (nib_px, nib_px)), np.float32)
    beside_bare, uncut = _uncut(placed, nib_px)
    drawn = _Drawn(placed)
    lines: list[TraceLine] = []
    for boundary in range(1, zonemap.count):
        chains = ground.owned_chains(boundary)
        if len(chains.xy) == 0:
            continue
        reach_px = nib_mm * placed.px_per_mm
        sides = _Sides(chains, zonemap.labels, boundary)
        steps = sides.steps(light, reach_px)
        if uncut is not None:
            at_bare = _within(beside_bare, chains.xy)
            steps[at_bare] = sides.steps(uncut, reach_px)[at_bare]
        lengths = chains.side_lengths()
        window = max(1, round(SHORTEST_MM * placed.px_per_mm))
        kept = _within(placed.focal, chains.xy)
        pressure = _pressures(chains, steps, window, kept, drawn.beside(sides))
        drawn.add(chains.xy[pressure > 0])
        lines += _pieces(chains, pressure, steps, lengths, boundary, placed.px_per_mm, tolerance_mm)
        progress(boundary / zonemap.count, "Tracing lines")
    order = {Pressure.FIRM: 0, Pressure.LIGHT: 1, Pressure.LOST: 2}
    lines.sort(key=lambda line: (line.boundary, order[line.pressure], -line.length_mm))
    progress(1.0, "Lines traced")
    return TraceLines(tuple(lines))


def _uncut(
    placed: Placed, nib_px: int
) -> tuple[NDArray[np.bool_] | None, NDArray[np.float32] | None]:
    """Where steps would be measured across the edge of what is left bare, and the photo's L*.

    None where nothing is.
    """
    if placed.bare is None or not placed.bare.any():
        return None, None
    around = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (4 * nib_px + 1, 4 * nib_px + 1))
    beside = cv2.dilate(placed.bare.view(np.uint8), around) > 0
    light = cv2.blur(lightness(placed.rgb), (nib_px, nib_px))
    return np.asarray(beside, np.bool_), np.asarray(light, np.float32)


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

    def owned_chains(self, boundary: int) -> Chains:
        """Smoothed chains of the pixel sides that belong to a boundary, in px of the raster."""
        points, offsets = cast("_Contours", self._generator.lines(boundary + 0.5))
        if points[0] is None or offsets[0] is None:
            return Chains(np.zeros((0, 2)), np.zeros(1, np.intp), np.zeros(0, np.bool_))
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
        smooth = _smoothed(Chains(crossing, starts, closed), self._smooth_px)
        smooth -= 0.5  # from the ring's pixel centres to the raster's corner
        height, width = self._lightness.shape
        np.clip(smooth, 0, (width, height), out=smooth)  # the ring ends half a pixel outside
        chains = self._cut_to_own(Chains(smooth, starts, closed), own, within, side)
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
        chains: Chains,
        own: NDArray[np.bool_],
        within: NDArray[np.bool_],
        side: NDArray[np.int64],
    ) -> Chains:
        """Keep the own stretches, each with a step onto the earlier line it branches from."""
        before, after = chains.neighbours()
        runs = chains.runs(own)
        mine = own[runs.first]
        first, last, chain = runs.first[mine], runs.last[mine], runs.chain[mine]
        begin, size = runs.starts[:-1][mine], np.diff(runs.starts)[mine]
        # A closed chain that is own all round stays closed and branches from nothing.
        ring = chains.closed[chain] & (size == np.diff(chains.starts)[chain])
        earlier, later = before[first], after[last]
        lead, lead_xy = self._junctions(side[earlier])
        lead &= ~ring & (earlier != first) & within[earlier]
        tail, tail_xy = self._junctions(side[later])
        tail &= ~ring & (later != last) & within[later]

        total = size + lead + tail
        keep = total > 1
        starts = np.concatenate([[0], np.cumsum(total[keep])]).astype(np.intp)
        xy = np.empty((int(starts[-1]), 2))
        begin, size, lead, tail = begin[keep], size[keep], lead[keep], tail[keep]
        counted = np.arange(int(size.sum())) - np.repeat(np.cumsum(size) - size, size)
        rows = runs.order[np.repeat(begin, size) + counted]
        xy[np.repeat(starts[:-1] + lead, size) + counted] = chains.xy[rows]
        xy[starts[:-1][lead]] = lead_xy[keep][lead]
        xy[starts[1:][tail] - 1] = tail_xy[keep][tail]
        return Chains(xy, starts, ring[keep])

    def _junctions(self, sides: NDArray[np.int64]) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
        """Whether an earlier line runs through each pixel side, and where."""
        if len(self._known_sides) == 0:
            return np.zeros(len(sides), np.bool_), np.zeros((len(sides), 2))
        at = np.searchsorted(self._known_sides, sides).clip(max=len(self._known_sides) - 1)
        return self._known_sides[at] == sides, self._known_xy[at]

    def _remember(self, sides: NDArray[np.int64], xy: NDArray[np.float64]) -> None:
        sides = np.concatenate([self._known_sides, sides])
        order = np.argsort(sides, kind="stable")
        self._known_sides = sides[order]
        self._known_xy = np.concatenate([self._known_xy, xy])[order]


def _smoothed(chains: Chains, smooth_px: float) -> NDArray[np.float64]:
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


class _Sides:
    """What lies on either side of each vertex of some chains.

    Parameters
    ----------
    chains : Chains
    labels : ndarray of uint8, shape (H, W)
    boundary : int
        The zone on their darker side.
    """

    def __init__(self, chains: Chains, labels: NDArray[np.uint8], boundary: int) -> None:
        before, after = chains.neighbours()
        along = chains.xy[after] - chains.xy[before]
        length = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)
        normal = np.stack([-along[:, 1], along[:, 0]], axis=1) / length[:, None]
        self.chains, self._labels, self._boundary = chains, labels, boundary
        # Contours keep the darker zone on one hand all along.
        rise = self._label(normal).astype(np.int64) - self._label(-normal)
        self._darker = -normal if rise.sum() > 0 else normal

    def _label(self, off: NDArray[np.float64]) -> NDArray[np.uint8]:
        """Zone so far off each vertex."""
        height, width = self._labels.shape
        at = np.floor(self.chains.xy + off).astype(np.intp)
        return self._labels[np.clip(at[:, 1], 0, height - 1), np.clip(at[:, 0], 0, width - 1)]

    def on_the_darker(self, distance_px: float) -> NDArray[np.float64]:
        """Points on the darker side of the vertices, so far off."""
        return self.chains.xy + self._darker * distance_px

    def steps(self, lightness: NDArray[np.float32], reach_px: float) -> NDArray[np.float64]:
        """Lightness step across each vertex, L*, measured reach_px either side of it.

        Where the zone beside the line ends sooner, it is measured there: beyond
        may lie the far side of another, stronger line. What gets lighter still
        on the lighter side, or darker on the darker, is of the same edge.
        """
        one, other = (
            sampled(lightness, self.chains.xy + side * self._reach(side, reach_px)[:, None])
            for side in (self._darker, -self._darker)
        )
        return np.asarray(np.abs(one - other)[_away_from_ends(self.chains, 2)], np.float64)

    def _reach(self, side: NDArray[np.float64], reach_px: float) -> NDArray[np.float64]:
        """How far beside a line to measure: reach_px, or as far as the zone there goes."""
        reach = np.full(len(self.chains.xy), min(1.0, reach_px))
        same = np.ones(len(reach), np.bool_)
        zone = None
        for distance in np.arange(1.0, math.ceil(reach_px) + 1).clip(max=reach_px):
            here = self._label(side * distance)
            zone = here if zone is None else zone
            lighter = zone > self._boundary
            same &= np.where(lighter, here >= zone, (here <= zone) & (here > 0))
            reach[same] = distance
            zone = here
        return reach


class _Drawn:
    """Where lines of darker boundaries are drawn."""

    def __init__(self, placed: Placed) -> None:
        self._mask: NDArray[np.uint8] = np.zeros_like(placed.inside, np.uint8)
        self._focal = placed.focal
        soft = BESIDE_PIXELS / placed.source_px_per_mm / BESIDE_MM[0]
        self._scale = placed.px_per_mm * min(max(1.0, soft), MOST_BESIDE)

    def add(self, xy: NDArray[np.float64]) -> None:
        """Note that a line is drawn through some points."""
        height, width = self._mask.shape
        at = np.floor(xy).astype(np.intp)
        self._mask[at[:, 1].clip(0, height - 1), at[:, 0].clip(0, width - 1)] = 1

    def beside(self, sides: _Sides) -> NDArray[np.bool_]:
        """Whether each vertex has such a line on its darker side, too near to be told apart."""
        nearness = self._nearness(sides, BESIDE_MM)
        if self._focal is not None and self._focal.any():
            focal = _within(self._focal, sides.on_the_darker(0))
            nearness[focal] = self._nearness(sides, FOCAL_BESIDE_MM)[focal]
        beside = sides.chains.hysteresis(nearness, (1, 2))
        # A line that comes up to a darker one is drawn until it meets it.
        return _shrunk(sides.chains, beside, round(BESIDE_MM[0] * self._scale))

    def _nearness(self, sides: _Sides, distances: tuple[float, float]) -> NDArray[np.float64]:
        """How many of two discs, that wide and touching the vertex, hold a part of such a line."""
        nearness = np.zeros(len(sides.chains.xy))
        for distance in distances:
            radius = distance * self._scale / 2
            size = 2 * max(1, round(radius)) + 1
            disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
            around = np.asarray(cv2.dilate(self._mask, disc), np.bool_)
            nearness += _within(around, sides.on_the_darker(radius))
        return nearness


def _shrunk(chains: Chains, wanted: NDArray[np.bool_], by: int) -> NDArray[np.bool_]:
    """Take so many vertices off the ends of stretches that are wanted, but of whole rings."""
    runs = chains.runs(wanted)
    sizes = np.diff(runs.starts)
    along = np.arange(len(runs.order)) - np.repeat(runs.starts[:-1], sizes)
    to_end = np.minimum(along, np.repeat(sizes, sizes) - 1 - along)
    ring = chains.closed[runs.chain] & (sizes == np.diff(chains.starts)[runs.chain])
    result = np.zeros(len(wanted), np.bool_)
    result[runs.order] = wanted[runs.order] & ((to_end >= by) | np.repeat(ring, sizes))
    return result


def _away_from_ends(chains: Chains, margin: int) -> NDArray[np.intp]:
    """For each row the nearest row that is margin away from the ends of an open chain.

    At the very end the zones beside a line cannot be told apart from those of
    the line that it joins.
    """
    sizes = np.diff(chains.starts)
    keep_off = np.where(chains.closed, 0, np.minimum(margin, (sizes - 1) // 2))
    first = np.repeat(chains.starts[:-1] + keep_off, sizes)
    last = np.repeat(chains.starts[1:] - 1 - keep_off, sizes)
    return np.clip(np.arange(len(chains.xy)), first, last)


def _within(mask: NDArray[np.bool_] | None, xy: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether each point lies in a mask."""
    if mask is None:
        return np.zeros(len(xy), np.bool_)
    column, row = (
        np.clip(np.floor(xy[:, axis]), 0, mask.shape[1 - axis] - 1).astype(np.intp)
        for axis in (0, 1)
    )
    return mask[row, column]


def _pressures(
    chains: Chains,
    steps: NDArray[np.float64],
    window: int,
    kept: NDArray[np.bool_] | None = None,
    beside: NDArray[np.bool_] | None = None,
) -> NDArray[np.int64]:
    """Pressure of each vertex as a place in ``_PRESSURES``, steady along the line.

    Where it is to be kept it is not lost. Where it is beside a darker line it is
    none, ``_BESIDE``, with what is left too short between such stretches.
    """
    if beside is not None:
        steps = np.where(beside, 0, steps)
    calm = _running_median(chains, steps, window // 2)
    level = chains.hysteresis(calm, LIGHT_STEP).astype(np.int64)
    level += chains.hysteresis(calm, FIRM_STEP)
    if kept is not None:
        level[kept] = np.maximum(level[kept], 1)
    if beside is not None:
        level[beside] = _BESIDE
    level = _without_short(chains, level, window)
    if kept is not None:  # whatever is short then
        left = kept if beside is None else kept & ~beside
        level[left] = np.maximum(level[left], 1)
    return level


def _running_median(chains: Chains, values: NDArray[np.float64], reach: int) -> NDArray[np.float64]:
    """Median along chains over a reach to either side.

    A mean would carry a strong line into a faint one.
    """
    before, after = chains.neighbours()
    result = np.empty(len(values))
    for start in range(0, len(values), 1 << 17):  # in parts, to save memory
        earlier = later = np.arange(start, min(start + (1 << 17), len(values)))
        around = [values[earlier]]
        for _ in range(reach):
            earlier, later = before[earlier], after[later]
            around += [values[earlier], values[later]]
        result[start : start + (1 << 17)] = np.median(around, axis=0)
    return result


def _without_short(chains: Chains, level: NDArray[np.int64], shortest: int) -> NDArray[np.int64]:
    """Give stretches too short to draw the level of the longer stretch beside them.

    At the end of an open chain a stretch must be twice as long to stand out
    from a fainter one: the strong line that it branches from raises its steps.
    """
    runs = chains.runs(level)
    sizes = np.diff(runs.starts)
    levels = level[runs.first]
    bounds = np.flatnonzero(np.diff(runs.chain, prepend=-1, append=len(chains.closed)))
    for start, stop in itertools.pairwise(bounds):
        if stop - start > 1:
            ring = bool(chains.closed[runs.chain[start]])
            levels[start:stop] = _joined(
                levels[start:stop].tolist(), sizes[start:stop].tolist(), shortest, ring
            )
    result = np.empty_like(level)
    result[runs.order] = np.repeat(levels, sizes)
    return result


def _joined(levels: list[int], sizes: list[int], shortest: int, ring: bool) -> list[int]:
    """Change the levels of stretches until none is too short, shortest first."""
    parts = [[place] for place in range(len(levels))]  # what was joined to make each stretch
    level, size = levels.copy(), sizes.copy()
    while len(parts) > 1:
        count = len(parts)
        shortest_yet, chosen, wanted = math.inf, -1, 0
        for at in range(count):
            if ring:
                beside = [(at - 1) % count, (at + 1) % count]
            else:
                beside = [place for place in (at - 1, at + 1) if 0 <= place < count]
            longest = max(beside, key=size.__getitem__)
            dangling = len(beside) == 1 and _BESIDE < level[longest] < level[at]
            least = 2 * shortest if dangling else shortest
            if size[at] < min(least, shortest_yet):
                shortest_yet, chosen, wanted = size[at], at, level[longest]
        if chosen < 0:
            break
        level[chosen] = wanted
        at = 0
        while at < len(parts) and len(parts) > 1:
            one = at - 1  # the last is before the first in a ring
            if (ring or at > 0) and level[one] == level[at]:
                parts[one] += parts[at]
                size[one] += size[at]
                del parts[at], level[at], size[at]
            else:
                at += 1
    result = levels.copy()
    for places, one_level in zip(parts, level, strict=True):
        for place in places:
            result[place] = one_level
    return result


def _pieces(
    chains: Chains,
    level: NDArray[np.int64],
    steps: NDArray[np.float64],
    lengths: NDArray[np.float64],
    boundary: int,
    px_per_mm: float,
    tolerance_mm: float,
) -> list[TraceLine]:
    """Split chains where the pressure changes; neighbours share the point between them."""
    runs = chains.runs(level)
    _before, after = chains.neighbours()
    sizes = np.diff(runs.starts)
    whole = chains.closed[runs.chain] & (sizes == np.diff(chains.starts)[runs.chain])
    joins = ~whole & (after[runs.last] != runs.last)  # goes on, in the next stretch
    length = np.add.reduceat(lengths[runs.order], runs.starts[:-1]) / px_per_mm
    step = np.add.reduceat(steps[runs.order], runs.starts[:-1]) / sizes
    xy = chains.xy / px_per_mm
    ordered, shared = xy[runs.order], xy[after[runs.last]]
    pieces = []
    for run, (start, stop) in enumerate(itertools.pairwise(runs.starts.tolist())):
        points = ordered[start:stop]
        if joins[run]:
            points = np.concatenate([points, shared[run : run + 1]])
        if len(points) < 2:  # the end of a chain, which the stretch before it has
            continue
        if level[runs.order[start]] == _BESIDE:
            continue
        closed = bool(whole[run])
        pieces.append(
            TraceLine(
                points=_simplified(points, closed, tolerance_mm),
                boundary=boundary,
                pressure=_PRESSURES[level[runs.order[start]]],
                closed=closed,
                length_mm=float(length[run]),
                step=float(step[run]),
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
