"""Trace lines: each boundary between zones once, in millimetres, with pressure.

The boundary between two zones runs along the cracks between their pixels.
Cracks are chained between the points where three or more zones meet, so that
where several thresholds fall on one sharp edge there is still one line, not
one for each threshold. Chains are smoothed to undo the pixel staircase.
"""

from dataclasses import dataclass
from enum import StrEnum

import cv2
import numpy as np
import numpy.typing as npt

from burnplan.tone.lightness import Lightness
from burnplan.tone.place import Placed
from burnplan.tone.zones import Labels, ZoneMap

Points = npt.NDArray[np.float32]
Index = npt.NDArray[np.int64]

# A line is firm where lightness steps by at least this much across a nib either
# side, lost where the step is less than the second (common practice, no source).
FIRM_STEP = 14.0
LOST_STEP = 5.0
# A line changes its pressure only where the step passes beyond the limit by this share.
_HYSTERESIS = 0.3
NIB_MM = 1.0
_SHORTEST_MM = 3.0
_TOLERANCE_MM = 0.1
_SMOOTHING_PASSES = 10


class Pressure(StrEnum):
    """How hard a line is drawn."""

    FIRM = "firm"
    LIGHT = "light"
    LOST = "lost"


_PRESSURES = (Pressure.LOST, Pressure.LIGHT, Pressure.FIRM)


@dataclass(frozen=True, slots=True, eq=False)
class TraceLine:
    """One stroke of the tracing.

    Parameters
    ----------
    points : ndarray of float32, shape (k, 2)
        x right and y down from the top left of the blank's bounding box, mm.
        A closed line repeats its first point.
    darker, lighter : int
        The zones it divides.
    pressure : Pressure
    length_mm : float
        Along the line before it was simplified.
    """

    points: Points
    darker: int
    lighter: int
    pressure: Pressure
    length_mm: float


def trace_lines(zones: ZoneMap, placed: Placed) -> tuple[TraceLine, ...]:
    """Return the lines to trace, in the order to trace them: darkest first.

    Parameters
    ----------
    zones : ZoneMap
    placed : Placed

    Returns
    -------
    tuple of TraceLine
        Firm before light before lost among lines of the same darker zone.
        The edge of the blank itself is not a line.
    """
    cracks = _Cracks.between(zones.labels)
    if not len(cracks.pair):
        return ()
    chains = _chained(cracks)
    points = _smoothed(chains)
    steps = _steps(points, chains, zones.smooth, placed.px_per_mm)
    gaps = np.hypot(*(points - points[chains.before]).T) / placed.px_per_mm
    pressure = _pressures(steps, gaps, chains)
    lines = _cut(points / placed.px_per_mm, gaps, pressure, chains, cracks.pair)
    return tuple(
        sorted(
            lines, key=lambda line: (line.darker, -_PRESSURES.index(line.pressure), line.lighter)
        )
    )


def lengths_cm(lines: tuple[TraceLine, ...]) -> dict[Pressure, float]:
    """Return the length at each pressure, cm."""
    return {
        pressure: sum(line.length_mm for line in lines if line.pressure is pressure) / 10
        for pressure in (Pressure.FIRM, Pressure.LIGHT, Pressure.LOST)
    }


@dataclass(frozen=True, slots=True, eq=False)
class _Cracks:
    """The cracks between pixels of different zones.

    ends : shape (n, 2), the pixel corners a crack joins, numbered row by row
    middle : shape (n, 2), x and y of its middle, in pixels from the top left
    pair : shape (n, 2), the darker and lighter zone
    columns : number of pixel corners in a row
    """

    ends: Index
    middle: Points
    pair: Labels
    columns: int

    @classmethod
    def between(cls, labels: Labels) -> "_Cracks":
        columns = labels.shape[1] + 1
        upright = (labels[:, 1:] != labels[:, :-1]) & (labels[:, 1:] > 0) & (labels[:, :-1] > 0)
        level = (labels[1:] != labels[:-1]) & (labels[1:] > 0) & (labels[:-1] > 0)
        uy, ux = np.nonzero(upright)
        ly, lx = np.nonzero(level)
        top = uy * columns + ux + 1
        left = (ly + 1) * columns + lx
        ends = np.concatenate(
            [np.stack([top, top + columns], 1), np.stack([left, left + 1], 1)],
        )
        middle = np.concatenate([np.stack([ux + 1, uy + 0.5], 1), np.stack([lx + 0.5, ly + 1], 1)])
        sides = np.concatenate(
            [
                np.stack([labels[uy, ux], labels[uy, ux + 1]], 1),
                np.stack([labels[ly, lx], labels[ly + 1, lx]], 1),
            ]
        )
        return cls(ends, middle.astype(np.float32), np.sort(sides, axis=1), columns)


@dataclass(frozen=True, slots=True, eq=False)
class _Chains:
    """Points along every chain, one chain after another.

    An open chain begins and ends on a pixel corner where lines meet; between
    are the middles of its cracks. A closed one is its cracks' middles.

    points : shape (m, 2)
    crack : shape (m,), the crack a point is the middle of, or belongs to
    start, stop : where each chain begins and ends among the points
    closed : whether each chain is closed
    before, after : shape (m,), the neighbouring points; itself at an open end
    """

    points: Points
    crack: Index
    start: Index
    stop: Index
    closed: npt.NDArray[np.bool_]
    before: Index
    after: Index


def _chained(cracks: _Cracks) -> _Chains:
    """Put the cracks of each chain in order, by pointer doubling (list ranking).

    Each crack is walked in both directions as half-edges 2i and 2i + 1; the
    next half-edge leaves the corner that this one reaches, if exactly two
    cracks meet there.
    """
    count = len(cracks.ends)
    tail = cracks.ends.reshape(-1)  # where a half-edge starts: 2i from end 0, 2i + 1 from end 1
    head = tail.reshape(-1, 2)[:, ::-1].reshape(-1)
    order = np.argsort(tail, kind="stable")
    corners, first, meeting = np.unique(tail[order], return_index=True, return_counts=True)
    place = np.searchsorted(corners, head)
    one, two = order[first[place]], order[np.minimum(first[place] + 1, 2 * count - 1)]
    # Beside the edge of the wood two cracks of different zones can meet alone.
    alike = (cracks.pair[one // 2] == cracks.pair[two // 2]).all(axis=1)
    passes = (meeting[place] == 2) & alike
    own = np.arange(2 * count) ^ 1
    following = np.where(passes, np.where(one == own, two, one), -1)
    final, rank = _ranked(following)
    # On a loop every half-edge still has a next one: cut each at its lowest number.
    looping = final < 0
    loop_lowest = np.full(2 * count, -1)
    if looping.any():
        loop_lowest = _lowest_on_loop(following, looping)
        cut = looping & (loop_lowest[np.where(following >= 0, following, 0)] == following)
        final, rank = _ranked(np.where(cut, -1, following))
    # Each chain is there in both directions; keep the one whose end is lower.
    half = np.arange(2 * count)
    backwards = final[half ^ 1]
    chosen = half[final < backwards]
    # A loop's two directions end on unrelated half-edges, an open chain's too: one is lower.
    sequence = chosen[np.lexsort((-rank[chosen], final[chosen]))]
    ends_here = np.flatnonzero(np.diff(final[sequence], append=-1) != 0)
    begins = np.concatenate([[0], ends_here[:-1] + 1])
    closed = looping[sequence[begins]]
    return _with_corners(cracks, sequence, begins, ends_here, closed, tail, head)


def _ranked(following: Index) -> tuple[Index, Index]:
    """Return the last half-edge of each one's chain (-1 on a loop), and steps to it."""
    index = np.arange(len(following))
    final = np.where(following < 0, index, following)
    rank = (following >= 0).astype(np.int64)
    for _ in range(max(1, int(np.ceil(np.log2(max(2, len(following)))))) + 1):
        rank += rank[final]
        final = final[final]
    return np.where(following[final] < 0, final, -1), rank


def _lowest_on_loop(following: Index, looping: npt.NDArray[np.bool_]) -> Index:
    """Return the lowest half-edge number on each one's loop."""
    index = np.arange(len(following))
    lowest, reach = index.copy(), np.where(looping, following, index)
    for _ in range(max(1, int(np.ceil(np.log2(max(2, len(following)))))) + 1):
        lowest = np.minimum(lowest, lowest[reach])
        reach = reach[reach]
    return np.where(looping, lowest, -1)


def _with_corners(
    cracks: _Cracks,
    sequence: Index,
    begins: Index,
    ends_here: Index,
    closed: npt.NDArray[np.bool_],
    tail: Index,
    head: Index,
) -> _Chains:
    """Add the corners where open chains begin and end, and link neighbours."""
    sizes = ends_here - begins + 1
    extra = np.where(closed, 0, 2)
    stop = np.cumsum(sizes + extra)
    start = stop - sizes - extra
    points = np.empty((int(stop[-1]), 2), np.float32)
    crack = np.empty(int(stop[-1]), np.int64)
    chain_of = np.repeat(np.arange(len(sizes)), sizes)
    at = np.arange(len(sequence)) - begins[chain_of] + start[chain_of] + (extra // 2)[chain_of]
    points[at] = cracks.middle[sequence // 2]
    crack[at] = sequence // 2
    for where, corner, edge in (
        (start, tail[sequence[begins]], begins),
        (stop - 1, head[sequence[ends_here]], ends_here),
    ):
        use = ~closed
        points[where[use], 0] = corner[use] % cracks.columns
        points[where[use], 1] = corner[use] // cracks.columns
        crack[where[use]] = sequence[edge[use]] // 2
    before, after = np.arange(len(points)) - 1, np.arange(len(points)) + 1
    before[start] = np.where(closed, stop - 1, start)
    after[stop - 1] = np.where(closed, start, stop - 1)
    return _Chains(points, crack, start, stop, closed, before, after)


def _smoothed(chains: _Chains) -> Points:
    """Average along each chain, ends held: binomial passes, near a Gaussian of √(passes/2)."""
    points: Points = chains.points
    moving = (chains.before != np.arange(len(points))) & (chains.after != np.arange(len(points)))
    for _ in range(_SMOOTHING_PASSES):
        mean = (points[chains.before] + 2 * points + points[chains.after]) * np.float32(0.25)
        points = np.where(moving[:, None], mean, points).astype(np.float32)
    return points


def _along(values: Lightness, chains: _Chains, passes: int) -> Lightness:
    for _ in range(passes):
        mean = (values[chains.before] + 2 * values + values[chains.after]) * np.float32(0.25)
        values = mean.astype(np.float32)
    return values


def _steps(
    points: Points, chains: _Chains, lightness: Lightness, px_per_mm: float
) -> npt.NDArray[np.float32]:
    """Return how much lightness changes across each point, a nib's width either side."""
    along = points[chains.after] - points[chains.before]
    length = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-6)
    across = np.stack([-along[:, 1], along[:, 0]], 1) / length[:, None] * (NIB_MM * px_per_mm)
    centre = points - 0.5  # from pixel edges to pixel centres
    sides = [_sampled(lightness, centre + sign * across) for sign in (1, -1)]
    return _along(np.abs(sides[0] - sides[1]), chains, round(2 * (NIB_MM * px_per_mm) ** 2))


def _sampled(values: Lightness, spots: Points) -> Lightness:
    """Return the values at x, y positions in pixels, bilinear."""
    # remap takes at most 32767 columns: lay the spots out as a page.
    width = 4096
    page = np.pad(spots, ((0, -len(spots) % width), (0, 0))).astype(np.float32)
    x, y = (np.ascontiguousarray(page[:, axis].reshape(-1, width)) for axis in (0, 1))
    found = cv2.remap(values, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(found.reshape(-1)[: len(spots)], np.float32)


def _runs(values: npt.NDArray[np.generic], chains: _Chains) -> tuple[Index, Index]:
    """Return where runs of equal values begin, and the run of each point."""
    fresh = np.ones(len(values), bool)
    fresh[1:] = values[1:] != values[:-1]
    fresh[chains.start] = True
    return np.flatnonzero(fresh), np.cumsum(fresh) - 1


def _pressures(
    steps: npt.NDArray[np.float32], gaps: npt.NDArray[np.float32], chains: _Chains
) -> npt.NDArray[np.int8]:
    """Return 0 lost, 1 light, 2 firm for each point, without flicker.

    Hysteresis as in Canny's edge detector (1986): a stretch above the low
    limit counts only if it somewhere passes the high one. Then stretches too
    short to draw take the pressure of the one before.
    """
    pressure = np.zeros(len(steps), np.int8)
    for limit in (LOST_STEP, FIRM_STEP):
        low, high = limit * (1 - _HYSTERESIS / 2), limit * (1 + _HYSTERESIS / 2)
        above = steps >= low
        begins, run = _runs(above, chains)
        strong = np.maximum.reduceat(steps, begins) >= high
        pressure += above & strong[run]
    for _ in range(2):
        begins, run = _runs(pressure, chains)
        long_enough = np.add.reduceat(gaps, begins) >= _SHORTEST_MM
        alone = np.isin(begins, chains.start)  # nothing before it to join
        source = np.where(long_enough | alone, np.arange(len(begins)), -1)
        source = np.maximum.accumulate(source)
        pressure = pressure[begins][source][run]
    return pressure


def _cut(
    points: Points,
    gaps: npt.NDArray[np.float32],
    pressure: npt.NDArray[np.int8],
    chains: _Chains,
    pair: Labels,
) -> list[TraceLine]:
    """Cut chains where the pressure changes; simplify each piece."""
    begins, _ = _runs(pressure, chains)
    ends = np.append(begins[1:], len(points))
    chain = np.searchsorted(chains.start, begins, side="right") - 1
    travelled = np.cumsum(gaps, dtype=np.float64)
    lines = []
    for begin, end, number in zip(begins, ends, chain, strict=True):
        piece = points[begin:end]
        length = travelled[end - 1] - travelled[begin]
        if end < chains.stop[number]:  # joins the next piece
            piece = np.concatenate([piece, points[end : end + 1]])
            length += gaps[end]
        elif chains.closed[number]:  # comes back to where the chain began
            first = chains.start[number]
            piece = np.concatenate([piece, points[first : first + 1]])
            length += gaps[first]
        simple = cv2.approxPolyDP(np.ascontiguousarray(piece)[:, None], _TOLERANCE_MM, closed=False)
        darker, lighter = pair[chains.crack[begin]]
        lines.append(
            TraceLine(
                np.asarray(simple[:, 0], np.float32),
                int(darker),
                int(lighter),
                _PRESSURES[pressure[begin]],
                float(length),
            )
        )
    return lines
