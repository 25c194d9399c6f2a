"""Value zones: bands of lightness that a pen can hold.

Zones are numbered from the darkest, Z1. Four steps make them, each simple:

1. The lightness is smoothed at a pen's scale without blurring edges (guided
   filter: K. He, J. Sun, X. Tang, "Guided image filtering", IEEE TPAMI 35(6),
   2013).
2. Thresholds minimise the variance within bands on the 256-bin histogram,
   exactly: Otsu's criterion (N. Otsu, IEEE Trans. SMC 9(1), 1979) by dynamic
   programming (W. D. Fisher, J. Am. Stat. Assoc. 53, 1958).
3. Each set of pixels at least as light as a threshold is cleaned by area
   opening and closing (L. Vincent, 1993) at the smallest area a pen can hold.
   Both keep the order of sets, so the sets stay nested, like a contour map.
4. Cleaning level by level still leaves slivers *between* two levels: along a
   sharp edge the middle tones form ribbons a pixel wide, each lawful in its
   own level and too thin or too small as a zone. Parts of a zone that no line
   of the pen's width fits into go to the zone nearest in lightness within
   reach, and what then still is an island below the smallest area joins the
   touching zone nearest to it in lightness, smallest islands first. Every pixel
   has one label throughout, so the stack stays nested by construction, and no
   island below the smallest area is left.
"""

import heapq
import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from burnplan.errors import BadInput
from burnplan.tone.place import Placed
from burnplan.tone.progress import Progress, silent

FEWEST, MOST, DEFAULT = 3, 9, 6
"""Numbers of zones that can be asked for, and how many are made when not asked."""

MIN_AREA_MM2 = 9.0
"""Smallest area a pen can hold, 3 × 3 mm (common practice, no source)."""

MIN_WIDTH_MM = 1.0
"""A zone narrower than this is a line, not a zone (common practice, no source)."""

SMOOTH_MM = 0.75
"""Radius of the edge-preserving smoothing on the wood."""

EDGE_STEP = 5.0
"""Local standard deviation, L*, above which smoothing takes a change for an edge."""

VISIBLE_STEP = 1.0
"""Zones whose mean lightness differs by less than this, L*, look the same."""

BINS = 256
"""Bins of the lightness histogram over L* 0 to 100."""


@dataclass(frozen=True, slots=True, eq=False)
class ZoneMap:
    """Value zones of a placed photo.

    Parameters
    ----------
    labels : ndarray of uint8, shape (H, W)
        0 outside the outline, 1 (darkest) to ``count`` (lightest) inside.
    thresholds : tuple of float
        L* between neighbouring zones, ascending, ``count - 1`` of them; a pixel
        at a threshold belongs to the lighter zone.
    lightness : ndarray of float32, shape (H, W)
        The edge-preserved lightness that was cut.
    min_area_mm2 : float
        Smallest island left, mm².
    notes : tuple of str
    """

    labels: NDArray[np.uint8]
    thresholds: tuple[float, ...]
    lightness: NDArray[np.float32]
    min_area_mm2: float
    notes: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        """Number of zones."""
        return len(self.thresholds) + 1


def optimal_thresholds(histogram: ArrayLike, n: int) -> tuple[int, ...]:
    """Return the cuts of a histogram into n bands with the least variance within them.

    Parameters
    ----------
    histogram : array_like, shape (B,)
        Counts in equally wide bins.
    n : int
        Number of bands, from 1 to the number of bins that are not empty.

    Returns
    -------
    tuple of int
        The last bin of each band but the last, ascending: ``n - 1`` of them.
        Where cuts inside an empty stretch are equally good, the first is given.

    Raises
    ------
    BadInput
        If there are fewer bins with anything in them than bands.

    Notes
    -----
    The variance within bands is least where the sum over bands of
    ``S² / P`` is greatest, P the count in a band and S the sum of bin numbers.
    ``best[j]`` holds the greatest sum for bins 0..j cut into the bands so far;
    one more band costs one maximum over all places of the last cut. The work
    is ``n·B²`` and the answer exact.

    Examples
    --------
    >>> optimal_thresholds([5, 5, 0, 0, 5, 5], 2)
    (1,)
    """
    counts = np.asarray(histogram, np.float64)
    occupied = int(np.count_nonzero(counts))
    if not 1 <= n <= max(occupied, 1):
        raise BadInput(f"A histogram with {occupied} different values cannot make {n} bands")
    gain = _band_gain(counts)
    bins = len(counts)
    best = gain[0].copy()
    cuts = []
    for _ in range(n - 1):
        # total[i, j]: bins 0..i in the bands so far, i+1..j in the new one.
        total = best[: bins - 1, None] + gain[1:, :]
        cut = np.argmax(total, axis=0)
        best = total[cut, np.arange(bins)]
        cuts.append(cut)
    result: list[int] = []
    end = bins - 1
    for cut in reversed(cuts):
        end = int(cut[end])
        result.append(end)
    return tuple(reversed(result))


def _band_gain(counts: NDArray[np.float64]) -> NDArray[np.float64]:
    """``S² / P`` of the band i..j for all i and j; -inf where i > j, 0 for an empty band."""
    bins = len(counts)
    mass = np.concatenate([[0.0], np.cumsum(counts)])
    # Bins are numbered from the middle, which keeps the squares small and exact.
    first = np.concatenate([[0.0], np.cumsum(counts * (np.arange(bins) - bins // 2))])
    p = mass[None, 1:] - mass[:-1, None]
    s = first[None, 1:] - first[:-1, None]
    gain: NDArray[np.float64] = np.divide(s * s, p, out=np.zeros_like(p), where=p > 0)
    gain[np.tril_indices(bins, -1)] = -np.inf
    return gain


def find_zones(
    placed: Placed,
    n: int = DEFAULT,
    thresholds: Sequence[float] | None = None,
    min_area_mm2: float = MIN_AREA_MM2,
    *,
    on_progress: Progress | None = None,
) -> ZoneMap:
    """Divide a placed photo into value zones.

    Parameters
    ----------
    placed : Placed
    n : int, optional
        Number of zones, 3 to 9; not looked at when thresholds are given.
    thresholds : sequence of float, optional
        L* between zones, 2 to 8 of them, ascending.
    min_area_mm2 : float, optional
        Smallest island to keep, mm²; 0 keeps all.
    on_progress : Progress, optional

    Returns
    -------
    ZoneMap
        With fewer zones than asked, and a note, where the photo holds fewer
        tones that can be told apart.

    Raises
    ------
    BadInput
        If n, a threshold or the area is out of range.
    """
    check_request(n, thresholds, min_area_mm2)
    progress = on_progress or silent
    progress(0.0, "Smoothing")
    px = placed.px_per_mm
    smoothed = edge_preserved(placed.lightness, SMOOTH_MM * px, EDGE_STEP)
    min_px = math.ceil(min_area_mm2 / placed.pixel_area_mm2)

    def cleaned(cuts: tuple[float, ...]) -> NDArray[np.uint8]:
        progress(0.3, "Cleaning value zones")
        labels = _cut(smoothed, placed.inside, cuts, min_px)
        progress(0.6, "Joining small islands")
        if cuts and min_area_mm2 > 0:
            labels = _without_thin_parts(labels, smoothed, len(cuts) + 1, MIN_WIDTH_MM * px)
            labels = _without_small_islands(labels, smoothed, len(cuts) + 1, min_px)
        return labels

    progress(0.2, "Finding value zones")
    if thresholds is not None:
        cuts = tuple(float(t) for t in thresholds)
        zones = ZoneMap(cleaned(cuts), cuts, smoothed, min_area_mm2)
    else:
        zones = _fullest(smoothed, placed.inside, n, min_area_mm2, cleaned)
    progress(1.0, "Value zones found")
    return zones


def _fullest(
    lightness: NDArray[np.float32],
    inside: NDArray[np.bool_],
    n: int,
    min_area_mm2: float,
    cleaned: Callable[[tuple[float, ...]], NDArray[np.uint8]],
) -> ZoneMap:
    """Return the most zones up to n that all hold something after cleaning.

    In a drawing of few tones the others exist only as ribbons along its edges,
    which cleaning takes away; it is cut again for the zones that are left.
    """
    histogram = lightness_histogram(lightness, inside)
    count = n
    while True:
        cuts = _best_cuts(histogram, count)
        labels = cleaned(cuts)
        held = np.count_nonzero(np.bincount(labels.ravel(), minlength=len(cuts) + 2)[1:])
        count = min(len(cuts) + 1, max(int(held), 1))
        if count == len(cuts) + 1:
            break
    notes: tuple[str, ...] = ()
    if count < n:
        zones = "one value zone is" if count == 1 else f"{count} value zones are"
        notes = (f"The photo holds too few tones for {n} value zones, so {zones} made",)
    return ZoneMap(labels, cuts, lightness, min_area_mm2, notes)


def check_request(n: int, thresholds: Sequence[float] | None, min_area_mm2: float) -> None:
    """Refuse numbers that no zones can be made by, as :func:`find_zones` would.

    Raises
    ------
    BadInput
    """
    if thresholds is None and not FEWEST <= n <= MOST:
        raise BadInput(
            f"The number of value zones must be {FEWEST} to {MOST}, not {n}",
            f"Most work is planned with {DEFAULT}",
        )
    if not math.isfinite(min_area_mm2) or not 0 <= min_area_mm2 <= 10_000:
        raise BadInput(
            f"The smallest area must be between 0 and 10000 mm², not {min_area_mm2:g}",
            f"A fine pen holds about {MIN_AREA_MM2:g} mm²",
        )
    if thresholds is None:
        return
    values = [float(t) for t in thresholds]
    if not FEWEST <= len(values) + 1 <= MOST:
        raise BadInput(
            f"{len(values)} thresholds would make {len(values) + 1} zones, "
            f"but there must be {FEWEST} to {MOST}",
            f"Give {FEWEST - 1} to {MOST - 1} thresholds",
        )
    if not all(math.isfinite(t) and 0 < t < 100 for t in values):
        raise BadInput("Thresholds are lightness L* and must lie between 0 and 100")
    if any(b <= a for a, b in itertools.pairwise(values)):
        raise BadInput("Thresholds must ascend, darkest first", "For example 20,35,50,65,80")


def edge_preserved(
    lightness: NDArray[np.float32], radius_px: float, edge_step: float
) -> NDArray[np.float32]:
    """Smooth lightness while edges stay sharp, by the self-guided filter.

    Parameters
    ----------
    lightness : ndarray of float32, shape (H, W)
    radius_px : float
        Radius of the window, pixels.
    edge_step : float
        Local standard deviation, L*, above which a change counts as an edge.

    Returns
    -------
    ndarray of float32, shape (H, W)
    """
    side = 2 * max(1, round(radius_px)) + 1

    def mean(values: NDArray[np.floating]) -> NDArray[np.float32]:
        return np.asarray(
            cv2.boxFilter(values, -1, (side, side), borderType=cv2.BORDER_REFLECT), np.float32
        )

    local = mean(lightness)
    # Rounding may leave a variance just below zero.
    variance = np.maximum(mean(lightness * lightness) - local * local, np.float32(0))
    slope = variance / (variance + np.float32(edge_step**2))
    offset = mean(local - slope * local)
    return np.asarray(mean(slope) * lightness + offset, np.float32)


def lightness_histogram(
    lightness: NDArray[np.float32], inside: NDArray[np.bool_]
) -> NDArray[np.int64]:
    """Return the counts of lightness inside the outline in 256 bins over L* 0 to 100."""
    bins = np.clip(lightness * np.float32(BINS / 100), 0, BINS - 1).astype(np.uint8)
    return np.bincount(bins[inside], minlength=BINS)


def _best_cuts(histogram: NDArray[np.int64], n: int) -> tuple[float, ...]:
    """Optimal thresholds, L*; fewer where tones are too few or too near each other."""
    count = min(n, max(int(np.count_nonzero(histogram)), 1))
    cuts = optimal_thresholds(histogram, count)
    while cuts and _least_step(histogram, cuts) < VISIBLE_STEP:
        count -= 1
        cuts = optimal_thresholds(histogram, count)
    return tuple(_between(histogram, cut) for cut in cuts)


def _least_step(histogram: NDArray[np.int64], cuts: tuple[int, ...]) -> float:
    """Least difference of mean lightness between neighbouring bands, L*."""
    starts = [0, *(cut + 1 for cut in cuts)]
    mass = np.add.reduceat(histogram, starts)
    sums = np.add.reduceat(histogram * (np.arange(len(histogram)) + 0.5), starts)
    return float(np.diff(sums / mass).min()) * 100 / BINS


def _between(histogram: NDArray[np.int64], cut: int) -> float:
    """L* of a cut after a bin: the middle of the empty stretch there, if there is one."""
    above = cut + 1 + int(np.argmax(histogram[cut + 1 :] > 0))
    below = cut - int(np.argmax(histogram[cut::-1] > 0))
    return (below + 1 + above) / 2 * 100 / BINS


def _cut(
    lightness: NDArray[np.float32],
    inside: NDArray[np.bool_],
    cuts: tuple[float, ...],
    min_px: int,
) -> NDArray[np.uint8]:
    """Label by the cleaned sets of pixels at least as light as each threshold.

    Light parts hold together across corners (8-connected) and so dark parts do
    not (4-connected): the two never cross each other.
    """
    labels = inside.astype(np.uint8)
    for cut in cuts:
        lighter = ((lightness >= np.float32(cut)) & inside).astype(np.uint8)
        if min_px > 1:
            lighter = _area_opened(lighter, min_px, 8)
            darker = inside.view(np.uint8) - lighter
            lighter = inside.view(np.uint8) - _area_opened(darker, min_px, 4)
        labels += lighter
    return labels


def _area_opened(mask: NDArray[np.uint8], min_px: int, connectivity: int) -> NDArray[np.uint8]:
    """Drop connected parts of a 0/1 mask that are smaller than min_px."""
    _count, parts, stats, _centres = cv2.connectedComponentsWithStats(
        mask, connectivity=connectivity
    )
    keep = (stats[:, cv2.CC_STAT_AREA] >= min_px).astype(np.uint8)
    keep[0] = 0
    return np.take(keep, np.asarray(parts))


def _without_thin_parts(
    labels: NDArray[np.uint8], lightness: NDArray[np.float32], count: int, width_px: float
) -> NDArray[np.uint8]:
    """Give parts of zones narrower than a line to wide ones within its reach.

    A part is thin where a square of the line's width does not fit; a rim of a
    pixel round what does fit is kept, so that corners and slanting borders of
    wide zones stay as they are. Each thin pixel goes to the zone within reach
    whose mean lightness is nearest to its own, so that a sharp edge ends up
    where its lightness is half way; with none in reach, to the nearest zone.
    """
    side = max(2, round(width_px))
    square = np.ones((side, side), np.uint8)
    rim = np.ones((3, 3), np.uint8)
    reach = np.ones((2 * side + 1, 2 * side + 1), np.uint8)
    wide_of_zone = []
    wide = np.zeros(labels.shape, np.uint8)
    for zone in range(1, count + 1):
        mask = (labels == zone).astype(np.uint8)
        core = cv2.erode(mask, square, anchor=(0, 0))
        # The mirrored anchor puts a square of even side back where it came from.
        core = cv2.dilate(core, square, anchor=(side - 1, side - 1))
        fits = cv2.dilate(core, rim) & mask
        wide_of_zone.append(fits)
        wide |= np.asarray(fits, np.uint8)
    thin = np.flatnonzero((wide == 0) & (labels > 0))
    if not wide.any() or len(thin) == 0:
        return labels
    light = lightness.ravel()[thin]
    least = np.full(len(thin), np.inf, np.float32)
    chosen = np.zeros(len(thin), np.uint8)
    for zone, fits in enumerate(wide_of_zone, start=1):
        if not fits.any():
            continue
        mean = np.float32(cv2.mean(lightness, fits)[0])
        near = cv2.dilate(fits, reach).ravel()[thin] > 0
        off = np.where(near, np.abs(light - mean), np.inf)
        better = off < least
        chosen[better] = zone
        least[better] = off[better]
    result = labels.copy()
    result.ravel()[thin] = chosen
    if not chosen.all():
        alone = (result == 0) & (labels > 0)
        result[alone] = nearest_label(np.where(wide > 0, labels, 0).astype(np.uint8))[alone]
    return result


def nearest_label(labels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Give every pixel labelled 0 the label of the nearest pixel that has one.

    Parameters
    ----------
    labels : ndarray of uint8, shape (H, W)

    Returns
    -------
    ndarray of uint8, shape (H, W)
    """
    bare = (labels == 0).astype(np.uint8)
    if not bare.any() or bare.all():
        return labels
    _distance, nearest = cv2.distanceTransformWithLabels(
        bare, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
    )
    label_of_seed = np.zeros(int(nearest.max()) + 1, np.uint8)
    seeds = labels > 0
    label_of_seed[nearest[seeds]] = labels[seeds]
    return np.take(label_of_seed, np.asarray(nearest))


def _without_small_islands(
    labels: NDArray[np.uint8], lightness: NDArray[np.float32], count: int, min_px: int
) -> NDArray[np.uint8]:
    """Merge every 4-connected island below min_px into a touching zone, smallest first.

    Of the zones that touch an island it joins the one whose mean lightness is
    nearest to its own: the change that adds least to the variance within zones;
    among equals the one with the longest shared border. What joins may unite
    several parts of that zone. Islands that touch nothing stay.
    """
    islands, zone = islands_of(labels, count)
    area = np.bincount(islands.ravel(), minlength=len(zone))
    if not np.any((area < min_px) & (zone > 0)):
        return labels
    light = np.bincount(islands.ravel(), weights=lightness.ravel(), minlength=len(zone))
    totals = np.bincount(zone, weights=light, minlength=count + 1)
    pixels = np.bincount(zone, weights=area, minlength=count + 1)
    zone_mean = totals / np.maximum(pixels, 1)
    borders = _borders(islands, (area < min_px) & (zone > 0))
    merged = _merge(area.tolist(), light.tolist(), zone.tolist(), borders, zone_mean, min_px)
    return np.take(np.asarray(merged, np.uint8), islands)


def islands_of(
    labels: NDArray[np.uint8], count: int
) -> tuple[NDArray[np.int32], NDArray[np.int64]]:
    """Give each 4-connected island of all zones a number.

    Parameters
    ----------
    labels : ndarray of uint8, shape (H, W)
    count : int
        Number of zones.

    Returns
    -------
    islands : ndarray of int32, shape (H, W)
        0 outside, then 1, 2, ...
    zone : ndarray of int64, shape (number of islands + 1,)
        Zone of each island; 0 for number 0.
    """
    islands = np.zeros(labels.shape, np.int32)
    zone = [np.zeros(1, np.int64)]
    known = 0
    for z in range(1, count + 1):
        mask = (labels == z).astype(np.uint8)
        found, parts = cv2.connectedComponents(mask, connectivity=4)
        number = np.arange(found, dtype=np.int32) + known
        number[0] = 0
        islands += np.take(number, parts)
        zone.append(np.full(found - 1, z, np.int64))
        known += found - 1
    return islands, np.concatenate(zone)


def _borders(islands: NDArray[np.int32], small: NDArray[np.bool_]) -> dict[int, dict[int, int]]:
    """Pixel sides that each small island shares with each neighbour."""
    pairs = []
    for a, b in ((islands[:, :-1], islands[:, 1:]), (islands[:-1], islands[1:])):
        touching = (a != b) & (a > 0) & (b > 0)
        one, other = a[touching].astype(np.int64), b[touching].astype(np.int64)
        near = small[one] | small[other]
        pairs.append(np.minimum(one, other)[near] * len(small) + np.maximum(one, other)[near])
    codes, lengths = np.unique(np.concatenate(pairs), return_counts=True)
    borders: dict[int, dict[int, int]] = {}
    for code, length in zip(codes.tolist(), lengths.tolist(), strict=True):
        one, other = divmod(code, len(small))
        borders.setdefault(one, {})[other] = length
        borders.setdefault(other, {})[one] = length
    return borders


def _merge(
    area: list[int],
    light: list[float],
    zone: list[int],
    borders: dict[int, dict[int, int]],
    zone_mean: NDArray[np.float64],
    min_px: int,
) -> list[int]:
    """Return the zone of each island once no small one with a neighbour is left."""
    parent = list(range(len(area)))

    def root(island: int) -> int:
        while parent[island] != island:
            parent[island] = parent[parent[island]]
            island = parent[island]
        return island

    waiting = [(area[i], i) for i in borders if area[i] < min_px]
    heapq.heapify(waiting)
    while waiting:
        size, island = heapq.heappop(waiting)
        if parent[island] != island or size != area[island]:
            continue  # merged or grown since it was queued
        shared: dict[int, int] = {}
        for other, length in borders[island].items():
            neighbour = root(other)
            if neighbour != island:
                shared[neighbour] = shared.get(neighbour, 0) + length
        if not shared:
            continue
        mean = light[island] / size
        border_of_zone: dict[int, int] = {}
        for neighbour, length in shared.items():
            border_of_zone[zone[neighbour]] = border_of_zone.get(zone[neighbour], 0) + length
        chosen = min(border_of_zone, key=lambda z: (abs(mean - zone_mean[z]), -border_of_zone[z]))
        group = [i for i in shared if zone[i] == chosen]
        target = max(group, key=lambda i: area[i])
        for joined in [island, *(i for i in group if i != target)]:
            parent[joined] = target
            area[target] += area[joined]
            light[target] += light[joined]
            # A large island's own neighbours are not needed: it is never merged away
            # except as part of a group, and then only upwards.
            borders.setdefault(target, {}).update(
                {i: n + borders[target].get(i, 0) for i, n in borders.get(joined, {}).items()}
            )
        if area[target] < min_px:
            heapq.heappush(waiting, (area[target], target))
    return [zone[root(i)] for i in range(len(area))]
