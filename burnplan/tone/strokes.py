"""Strokes: edges gathered into lines that a hand would draw.

A thin dark or light line has an edge on either side: both become the one line
between them. Where lines run beside each other within a pencil's width, the
stronger stands for both. Pieces whose ends point at each other across a small
gap are one line; an end that points at another line goes on until it meets it.
Then each is smoothed as a steady hand draws: bends under a millimetre go,
corners stay, and nowhere does it leave the edge by more than half a millimetre.
"""

import itertools
import math

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.tone.chains import Chains
from burnplan.tone.edges import EdgeField

STEP_MM = 0.25
"""Distance between the points of a line while it is worked on (a guess: tried on scikit-image's
photos)."""

THIN_MM = 1.0
"""A dark or light line up to this width is drawn as one stroke along its middle (a guess: tried on
scikit-image's photos)."""

THIN_LONG_MM = 4.0
"""A thin line is at least so long, or it is the end of something (a guess: tried on scikit-image's
photos)."""

WHISKER_MM = 1.3, 40.0
"""One so wide is a line too if it is so long: a whisker, a cord; on a piece of 20 × 25 cm, wider
in proportion on a larger one (a guess: tried on scikit-image's photos)."""

GAP_MM = 2.0
"""Widest gap that is closed where two ends point at each other (a guess: tried on scikit-image's
photos)."""

MEET_MM = 1.5
"""An end goes on as far as this to meet another line (a guess: tried on scikit-image's photos)."""

HAND_MM = 1.0
"""Standard deviation of the smoothing along a line: what a hand does not follow (a guess: tried on
scikit-image's photos)."""

OFF_MM = 0.4
"""Farthest that smoothing takes a line from its edge (a guess: tried on scikit-image's photos)."""

CORNER = math.radians(50)
"""A line that turns by more than this within ``CORNER_MM`` has a corner there (a guess: tried on
scikit-image's photos)."""

CORNER_MM = 1.5  # a guess: tried on scikit-image's photos

_THIN_GAP_MM = 3.0  # nor is it broken by less than this; a guess: tried on scikit-image's photos
# Most that a joined line turns at the join; a guess: tried on scikit-image's photos.
_TURN = math.radians(60)
_STRAIGHT_MM = 0.12  # most that the side of a corner bends; a guess: tried on scikit-image's photos
# Farthest that a corner is moved to be sharp; a guess: tried on scikit-image's photos.
_TIP_MM = 1.2
# Farthest that the two sides of a point are parted at it; a guess: tried on scikit-image's photos.
_POINT_MM = 1.8
# A line this long beside a stronger one is told from crossing it; a guess: tried on scikit-image's
# photos.
_BESIDE_MM = 2.0


def thin_reach(sigma_mm: NDArray[np.float64], width_mm: float = THIN_MM) -> NDArray[np.float64]:
    """Return how far off the middle of a thin line its edges are seen, mm, by the smoothing.

    The edges of a band of width w lie sqrt(s² + w²/10) from its middle, to 3 %, once it is
    smoothed by s, in the photo and after.
    """
    return np.maximum(width_mm / 2, np.sqrt(sigma_mm**2 + width_mm**2 / 10))


def on_thin_lines(
    field: EdgeField, edges: Chains, reach: NDArray[np.float64], least_mm: float = THIN_LONG_MM
) -> Chains:
    """Move the edges of thin lines, points ``STEP_MM`` apart, onto the line between them.

    Across a thin line the slope passes zero in its middle, where it is darkest
    or lightest. If that lies within reach, which is given in mm for each point, the
    edge is one side of it. Dark lines go before light ones; shorter than the least is none.
    """
    if not edges.count:
        return edges
    dark = edges.normals()
    off = np.zeros_like(edges.xy)
    done = np.zeros(len(off), np.bool_)
    for side in (dark, -dark):
        sign = 1.0 if side is dark else -1.0
        middle = np.full(len(off), np.nan)
        last = np.full(len(off), -1.0)
        for near, far in itertools.pairwise(np.linspace(0, 1, 5)):
            at = edges.xy + side * (reach * far)[:, None]
            slope = np.stack([field.at(field.slope[axis], at) for axis in (0, 1)], axis=1)
            now = np.sum(slope * side, axis=1) * sign  # below 0 until the middle
            first = np.isnan(middle) & (now >= 0)
            share = np.divide(-last, now - last, out=np.ones(len(now)), where=now > last)
            middle[first] = (near + share * (far - near))[first]
            last = now
        # Short stretches are where a line ends or a corner is sharp: no line.
        found = _long(edges, ~np.isnan(middle) & ~done, least_mm)
        off[found] = side[found] * (reach * middle)[found][:, None]
        done |= found
    # Between two such stretches it goes on; before and after it is not left at once.
    share = done.astype(np.float64)
    gap = ~_long(edges, ~done, _THIN_GAP_MM) & ~done
    passes = round(2 * (HAND_MM / STEP_MM) ** 2)
    near = edges.blurred(passes, np.column_stack([off, share]))
    off[gap] = near[gap, :2] / np.maximum(near[gap, 2:], 1e-9)
    off = edges.blurred(passes, off, pinned=done | gap)
    return Chains(edges.xy + off, edges.starts, edges.closed)


def without_doubles(
    lines: Chains, weight: NDArray[np.float64], size_mm: tuple[float, float], apart_mm: float
) -> tuple[Chains, NDArray[np.intp]]:
    """Take away what runs too near to a line of more weight, or to itself.

    Parameters
    ----------
    lines : Chains
        With points ``STEP_MM`` apart.
    weight : ndarray of float64, shape (N,)
    size_mm : tuple of float
        Width and height of the wood.
    apart_mm : float
        Lines nearer to each other are one.

    Returns
    -------
    lines : Chains
    rows : ndarray of intp
        Row that each point comes from.
    """
    order = np.argsort(weight, kind="stable")
    _ordered, rows = lines.chosen(order)
    rank = np.empty(len(rows), np.float32)  # exact to 16 million
    rank[rows] = np.arange(1, len(rows) + 1)
    raster = _Raster(size_mm)
    at = raster.places(lines.xy)
    radius = round(apart_mm / STEP_MM)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * radius + 1, 2 * radius + 1))
    kept = np.ones(len(rows), np.bool_)
    for _ in range(2):  # again, for what lay beside nothing but lines that went themselves
        highest = np.zeros(raster.size, np.float32)
        standing = rows[kept[rows]]
        highest[at[standing]] = rank[standing]  # of several in a pixel the last
        around = cv2.dilate(highest.reshape(raster.shape), disc).ravel()[at]
        # A line is within reach of itself just before and after each point.
        beside = around > rank + 4 * radius
        kept = ~_long(lines, beside, _BESIDE_MM)
    return lines.stretches(kept)


def not_beside(
    lines: Chains, others: Chains, size_mm: tuple[float, float], reach_mm: float
) -> Chains:
    """Take away what runs beside other lines, both with points ``STEP_MM`` apart.

    What goes on where another ends is not beside it.
    """
    raster = _Raster(size_mm)
    drawn = np.zeros(raster.size, np.uint8)
    drawn[raster.places(others.xy)] = 1
    # A pixel wider, so that no line is passed by in steps of two.
    wide = cv2.dilate(drawn.reshape(raster.shape), np.ones((3, 3), np.uint8))
    there = np.asarray(wide, np.bool_).ravel()
    across = lines.normals()
    beside = np.zeros(len(lines.xy), np.bool_)
    for distance in np.linspace(-reach_mm, reach_mm, math.ceil(reach_mm / STEP_MM) + 1):
        beside |= there[raster.places(lines.xy + across * distance)]
    return lines.stretches(~_long(lines, beside, _BESIDE_MM))[0]


def lying_within(
    xy: NDArray[np.float64], lines: Chains, size_mm: tuple[float, float], reach_mm: float
) -> NDArray[np.bool_]:
    """Whether points lie within a distance of lines with points ``STEP_MM`` apart."""
    raster = _Raster(size_mm)
    free = np.ones(raster.size, np.uint8)
    free[raster.places(lines.xy)] = 0
    away = cv2.distanceTransform(free.reshape(raster.shape), cv2.DIST_L2, 3)
    return np.asarray(away.ravel()[raster.places(xy)] <= reach_mm / STEP_MM, np.bool_)


def _long(lines: Chains, wanted: NDArray[np.bool_], least_mm: float) -> NDArray[np.bool_]:
    """Keep the wanted stretches that are long enough, or a whole line; points ``STEP_MM`` apart."""
    if not len(wanted):
        return wanted
    runs = lines.runs(wanted)
    sizes = np.diff(runs.starts)
    enough = (sizes * STEP_MM >= least_mm) | (sizes == lines.sizes[runs.chain])
    return np.asarray(wanted & enough[runs.number], np.bool_)


def linked(lines: Chains, gap_mm: float = GAP_MM) -> Chains:
    """Join lines whose ends point at each other across a small gap, and close those that can be.

    Each end is joined once, the nearest and straightest first.
    """
    opened = np.flatnonzero(~lines.closed)
    if not len(opened):
        return lines
    ends, inner = _ends(lines, opened)
    xy = lines.xy[ends]
    way = xy - lines.xy[inner]
    way /= np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)[:, None]
    long = np.repeat(lines.lengths()[opened], 2)
    one, other = _near_pairs(xy, gap_mm)
    across = xy[other] - xy[one]
    gap = np.hypot(across[:, 0], across[:, 1])
    across /= np.maximum(gap, 1e-9)[:, None]
    straight = -np.sum(way[one] * way[other], axis=1)
    # Over next to no gap its direction means nothing.
    near = gap < 2 * STEP_MM
    leave = np.where(near, 1, np.sum(way[one] * across, axis=1))
    arrive = np.where(near, 1, -np.sum(way[other] * across, axis=1))
    fits = (straight > math.cos(_TURN)) & (np.minimum(leave, arrive) > math.cos(_TURN * 0.7))
    # The two sides of a point meet where they cross, however sharply they turn there.
    turn = _cross(way[one], way[other])
    turn = np.where(np.abs(turn) < 1e-6, 1e-6, turn)
    ahead = gap * np.stack([_cross(across, way[other]), _cross(across, way[one])]) / turn
    fits |= (gap <= _POINT_MM) & np.all((ahead > 0) & (ahead < 2 * _POINT_MM), axis=0)
    fits |= near
    fits &= gap <= np.minimum(gap_mm, np.minimum(long[one], long[other]) / 2 + 0.5)
    fits &= (one // 2 != other // 2) | (long[one] > 4 * gap_mm)  # itself, if it goes round
    # A join of the same side: an end to a start keeps dark on one hand.
    swapped = one % 2 == other % 2
    cost = gap + 1.5 * (1 - straight) + (2 - leave - arrive) + 0.3 * swapped
    mate = np.full(len(xy), -1)
    for pair in np.flatnonzero(fits)[np.argsort(cost[fits], kind="stable")].tolist():
        a, b = int(one[pair]), int(other[pair])
        if mate[a] < 0 and mate[b] < 0:
            mate[a], mate[b] = b, a
    return _walked(lines, opened, mate.tolist())


def _near_pairs(xy: NDArray[np.float64], most: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs of points at most so far apart, each once."""
    order = np.argsort(xy[:, 0], kind="stable")
    x = xy[order, 0]
    until = np.searchsorted(x, x + most, side="right")
    counts = until - np.arange(len(x)) - 1
    one = np.repeat(np.arange(len(x)), counts)
    other = np.arange(len(one)) - np.repeat(np.cumsum(counts) - counts, counts) + one + 1
    one, other = order[one], order[other]
    near = np.hypot(*(xy[one] - xy[other]).T) <= most
    return one[near], other[near]


def _walked(lines: Chains, opened: NDArray[np.intp], mate: list[int]) -> Chains:
    """Put open lines together along the joins between their ends."""
    parts = [lines.part(int(chain)) for chain in np.flatnonzero(lines.closed)]
    closed = [True] * len(parts)
    done = [False] * len(opened)
    # From free ends first; what is left then goes round.
    free = [end for end in range(len(mate)) if mate[end] < 0]
    for start in [*free, *range(0, len(mate), 2)]:
        if done[start // 2]:
            continue
        pieces, end = [], start
        while not done[end // 2]:
            done[end // 2] = True
            points = lines.part(int(opened[end // 2]))
            pieces.append(points if end % 2 == 0 else points[::-1])
            onward = mate[end ^ 1]
            if onward < 0:
                break
            end = onward
        parts.append(np.concatenate(pieces))
        closed.append(mate[start] >= 0)
    starts = np.concatenate([[0], np.cumsum([len(part) for part in parts])]).astype(np.intp)
    xy = np.concatenate(parts) if parts else np.zeros((0, 2))
    return Chains(xy, starts, np.array(closed, np.bool_))


def by_a_steady_hand(lines: Chains, hand_mm: float = HAND_MM, off_mm: float = OFF_MM) -> Chains:
    """Smooth lines as a hand draws them.

    By ``2G - G²`` of a Gaussian along the line, which does not draw in curves,
    held to the line within ``off_mm``; corners stay where they are.
    """
    if not lines.count:
        return lines
    lines = lines.resampled(STEP_MM)
    passes = round(2 * (hand_mm / STEP_MM) ** 2)
    corners = _corners(lines)
    once = lines.blurred(passes, pinned=corners)
    smooth = 2 * once - lines.blurred(passes, once, corners)
    off = smooth - lines.xy
    far = np.hypot(off[:, 0], off[:, 1])
    share = np.minimum(1, off_mm / np.maximum(far, 1e-9))
    held = Chains(lines.xy + off * share[:, None], lines.starts, lines.closed)
    held = Chains(held.blurred(4, pinned=corners), lines.starts, lines.closed)
    return _sharpened(held, np.flatnonzero(corners))


def _sharpened(lines: Chains, corners: NDArray[np.intp]) -> Chains:
    """Carry the straight sides of corners on until they cross, where smoothing had rounded them."""
    before, after = lines.neighbours()
    reach = round(CORNER_MM / STEP_MM)
    sides = []
    for onward in (before, after):
        rows = [corners]
        for _ in range(2 * reach):
            rows.append(onward[rows[-1]])
        near, middle, far = (lines.xy[rows[n]] for n in (reach - 2, 3 * reach // 2 - 1, 2 * reach))
        way = near - far
        length = np.hypot(way[:, 0], way[:, 1])
        way /= np.maximum(length, 1e-9)[:, None]
        bent = np.abs(_cross(middle - far, way))
        sides.append(
            (np.stack(rows), near, way, (bent < _STRAIGHT_MM) & (length > 0.8 * CORNER_MM))
        )
    (back, one, along, straight), (on, other, along_other, straight_other) = sides
    turn = _cross(along, along_other)
    share = _cross(other - one, along_other) / np.where(np.abs(turn) < 1e-6, 1e-6, turn)
    tip = one + along * share[:, None]
    moved = np.hypot(*(tip - lines.xy[corners]).T)
    right = straight & straight_other & (np.abs(turn) > 0.5) & (moved < _TIP_MM)
    xy = lines.xy.copy()
    for side, start in ((back, one), (on, other)):
        for place in range(reach - 2):
            part = place / (reach - 2)
            xy[side[place, right]] = (tip + (start - tip) * part)[right]
    return Chains(xy, lines.starts, lines.closed)


def _cross(one: NDArray[np.float64], other: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the cross product of plane vectors."""
    return np.asarray(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0], np.float64)


def _corners(lines: Chains) -> NDArray[np.bool_]:
    """Whether each point is a corner: the sharpest turn around, between two straight sides."""
    calm = Chains(lines.blurred(4), lines.starts, lines.closed)
    reach = round(CORNER_MM / STEP_MM)
    before, after = calm.neighbours()
    back = on = np.arange(len(calm.xy))
    for _ in range(reach):
        back, on = before[back], after[on]
    into, out = calm.xy - calm.xy[back], calm.xy[on] - calm.xy
    turn = np.abs(np.arctan2(_cross(into, out), np.sum(into * out, axis=1)))
    whole = np.minimum(np.hypot(*into.T), np.hypot(*out.T)) > 0.8 * CORNER_MM
    turn = np.where(whole, turn, 0)
    highest = turn
    for _ in range(reach):
        highest = np.maximum(highest, np.maximum(highest[before], highest[after]))
    return (turn > CORNER) & (turn >= highest)


def meeting(lines: Chains, size_mm: tuple[float, float], reach_mm: float = MEET_MM) -> Chains:
    """Carry ends on, the way they point, until they meet another line that is near."""
    opened = np.flatnonzero(~lines.closed)
    if not len(opened):
        return lines
    raster = _Raster(size_mm)
    at = raster.places(lines.xy)
    row_at = np.full(raster.size, -1)
    row_at[at] = np.arange(len(at))
    ends, inner = _ends(lines, opened)
    tip = lines.xy[ends]
    way = tip - lines.xy[inner]
    way /= np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)[:, None]
    number = lines.number
    met = np.full(len(ends), -1)
    for distance in np.arange(2 * STEP_MM, reach_mm + STEP_MM / 2, STEP_MM / 2):
        row = row_at[raster.places(tip + way * distance)]
        # Itself it meets only where it comes round, not just behind its end.
        far = (number[row] != number[ends]) | (np.abs(row - ends) * STEP_MM > 4 * reach_mm)
        met = np.where((met < 0) & (row >= 0) & far, row, met)
    starts = lines.starts.copy()
    first, last = met[0::2], met[1::2]
    before, after = np.full(lines.count, -1), np.full(lines.count, -1)
    before[opened], after[opened] = first, last
    grown = (before >= 0).astype(np.intp) + (after >= 0)
    starts[1:] += np.cumsum(grown)
    xy = np.empty((int(starts[-1]), 2))
    own = np.arange(len(lines.xy)) + np.repeat(
        starts[:-1] + (before >= 0) - lines.starts[:-1], lines.sizes
    )
    xy[own] = lines.xy
    xy[starts[:-1][before >= 0]] = lines.xy[before[before >= 0]]
    xy[starts[1:][after >= 0] - 1] = lines.xy[after[after >= 0]]
    return Chains(xy, starts, lines.closed)


def _ends(lines: Chains, opened: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Rows of both ends of open lines, in turn, and of the points their direction is taken from."""
    ends = np.stack([lines.starts[opened], lines.starts[opened + 1] - 1], axis=1)
    inner = np.minimum(lines.sizes[opened] - 1, round(CORNER_MM / STEP_MM))
    return ends.ravel(), np.stack([ends[:, 0] + inner, ends[:, 1] - inner], axis=1).ravel()


class _Raster:
    """Pixels as wide as points lie apart, so that a line leaves no gap in them."""

    def __init__(self, size_mm: tuple[float, float]) -> None:
        self.shape = math.ceil(size_mm[1] / STEP_MM) + 1, math.ceil(size_mm[0] / STEP_MM) + 1
        self.size = self.shape[0] * self.shape[1]

    def places(self, xy: NDArray[np.float64]) -> NDArray[np.intp]:
        """Return the pixel of each point, as a place in the flat raster."""
        at = np.floor(xy / STEP_MM).astype(np.intp)
        row, column = at[:, 1].clip(0, self.shape[0] - 1), at[:, 0].clip(0, self.shape[1] - 1)
        return np.asarray(row * self.shape[1] + column, np.intp)
