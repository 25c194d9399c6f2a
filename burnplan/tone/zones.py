"""Value zones: bands of lightness that a pen can hold.

Zones are numbered from the darkest, Z1. They keep near to the photo with few
lines: among the labellings whose islands a pen can hold, one is sought with a
low sum of the squared error of lightness and of a price for each length of
border (R. B. Potts, 1952; D. Mumford and J. Shah, Commun. Pure Appl. Math. 42,
1989). Three simple steps make it:

1. Thresholds minimise the variance within bands on the 256-bin histogram,
   exactly: Otsu's criterion (N. Otsu, IEEE Trans. SMC 9(1), 1979) by dynamic
   programming (W. D. Fisher, J. Am. Stat. Assoc. 53, 1958).
2. Borders settle. Every pixel takes the zone that is best for its own lightness
   and for its surroundings, again and again (S. Esedoglu and F. Otto, Commun.
   Pure Appl. Math. 68, 2015); each pass lowers the sum. The price of a line
   follows from the photo: where six tones render it well few lines are worth
   saving, in rough texture many are.
3. Islands below the smallest area, and ribbons along an edge that no line of a
   pen's width fits into, join the touching zone nearest in lightness, smallest
   first, until none is left.

Borders then settle once more, now from where they are, into what joined, and
that is kept where the sum is lower. Every pixel has one label throughout, so
that the zones stay a stack, like a contour map.

In focal areas all of this is finer: lines cost nothing, narrower ribbons stay,
and each pixel counts several times towards the smallest area.
"""

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

MIN_WIDTH_MM, WIDE_SHARE = 0.75, 0.07
"""A ribbon between two levels is an edge and no zone if it is narrower than a fine line (the
same) but for this share of its area."""

LINE_PRICE, PRICE_GROWTH = 0.21, 2.25
"""What a pixel's surroundings weigh against its own lightness: price times the squared
error, (L*)², of zones without fine detail, to this power. Chosen on the photos of
``tests/benchmarks/bench_tone.py``, with six zones on 30 × 40 cm: fewer zones come out with
fewer lines and a little more error than Otsu's cleaned, more zones the other way round."""

NEAR_MM = 0.5
"""Standard deviation of the surroundings that a pixel looks at, and of fine detail."""

PASSES = 1, 6
"""How often borders settle at most, before and after small islands are gone."""

FOCAL_FINER = 16
"""A pixel in a focal area counts as many when an island's area is judged: there a dot of
a fine line's width can be an island."""

FOCAL_WIDTH_MM = 0.4
"""Least width of a ribbon in focal areas."""

VISIBLE_STEP = 1.0
"""Zones whose mean lightness differs by less than this, L*, look the same."""

SETTLED = 1e-4
"""Borders have settled once a pass changes no more than this share of the pixels."""

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
        The lightness that was cut.
    min_area_mm2 : float
        Smallest island left, mm²; a sixteenth of it in focal areas.
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
    min_px = math.ceil(min_area_mm2 / placed.pixel_area_mm2)

    def cleaned(cuts: tuple[float, ...]) -> NDArray[np.uint8]:
        labels = _cut(placed.lightness, placed.inside, cuts)
        if not cuts or min_area_mm2 == 0:
            return labels
        progress(0.1, "Settling borders")
        fit = _Fit(placed, labels, cuts)
        islands = _Cleaning(placed, len(cuts) + 1, min_px)
        labels = fit.settled(fit.start(labels), PASSES[0])
        progress(0.3, "Joining small islands")
        labels = islands.joined(labels)
        progress(0.5, "Settling borders")
        again = fit.settled(labels, PASSES[1], adjacent=True)
        progress(0.8, "Joining small islands")
        again = islands.joined(again)
        return min(labels, again, key=fit.cost)

    progress(0.0, "Finding value zones")
    if thresholds is not None:
        cuts = tuple(float(t) for t in thresholds)
        zones = ZoneMap(cleaned(cuts), cuts, placed.lightness, min_area_mm2)
    else:
        histogram = lightness_histogram(placed.lightness, placed.burned)
        zones = _fullest(placed.lightness, histogram, n, min_area_mm2, cleaned)
    progress(1.0, "Value zones found")
    return zones


def _fullest(
    lightness: NDArray[np.float32],
    histogram: NDArray[np.int64],
    n: int,
    min_area_mm2: float,
    cleaned: Callable[[tuple[float, ...]], NDArray[np.uint8]],
) -> ZoneMap:
    """Return the most zones up to n that all hold something after cleaning.

    In a drawing of few tones the others exist only as ribbons along its edges,
    which cleaning takes away; it is cut again for the zones that are left.
    """
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
    # One threshold will do: a drawing of two tones is cut once, and again from what it kept.
    if not 1 <= len(values) < MOST:
        raise BadInput(
            f"{len(values)} thresholds cannot be used", f"Give 1 to {MOST - 1} thresholds"
        )
    if not all(math.isfinite(t) and 0 < t < 100 for t in values):
        raise BadInput("Thresholds are lightness L* and must lie between 0 and 100")
    if any(b <= a for a, b in itertools.pairwise(values)):
        raise BadInput("Thresholds must ascend, darkest first", "For example 20,35,50,65,80")


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
    lightness: NDArray[np.float32], inside: NDArray[np.bool_], cuts: tuple[float, ...]
) -> NDArray[np.uint8]:
    """Label by how many thresholds each pixel reaches."""
    labels = inside.astype(np.uint8)
    for cut in cuts:
        labels += (lightness >= np.float32(cut)) & inside
    return labels


class _Fit:
    """How well labels fit a photo and each other, and a better fit.

    With tones m and thresholds t, zone z costs a pixel of lightness L
    ``c_z - 2 m_z L``, where c makes the costs of neighbouring zones equal at the
    threshold between them. With Otsu's thresholds that is the squared error
    ``(L - m_z)²`` but for what all zones have in common.
    """

    def __init__(self, placed: Placed, labels: NDArray[np.uint8], cuts: tuple[float, ...]) -> None:
        self._lightness = placed.lightness
        self._inside = placed.inside.view(np.uint8)
        tones = _tones(placed, labels, cuts)
        self._slopes = [-2 * tone for tone in tones]
        self._offsets = [0.0]
        for step, cut in zip(np.diff(tones), cuts, strict=True):
            self._offsets.append(self._offsets[-1] + 2 * float(step) * cut)
        self._spread = max(NEAR_MM * placed.px_per_mm, 0.5)
        reach = math.ceil(2.5 * self._spread)
        self._kernel = cv2.getGaussianKernel(2 * reach + 1, self._spread, cv2.CV_32F)

        self._focal = placed.focal
        coarse = cv2.GaussianBlur(placed.lightness, (0, 0), self._spread)
        self._coarse = _cut(np.asarray(coarse, np.float32), placed.inside, cuts)
        error = np.take(np.array([0.0, *tones], np.float32), self._coarse) - placed.lightness
        mean = cv2.mean(error * error, placed.burned.view(np.uint8))[0]
        self._weight = float(LINE_PRICE * mean**PRICE_GROWTH)

    def start(self, labels: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """Labels to start from: without detail where surroundings outweigh any lightness."""
        return labels if self._weight < 100**2 else self._coarse

    def settled(
        self, labels: NDArray[np.uint8], passes: int, *, adjacent: bool = False
    ) -> NDArray[np.uint8]:
        """Let every pixel take the zone that costs it least, some times over.

        A zone costs its error of lightness less the weight of its share of the
        pixel's surroundings. Where ``adjacent``, only zones that touch a pixel
        are open to it, so that no new islands arise within others.
        """
        cross = cv2.getStructuringElement(cv2.MORPH_CROSS, (3, 3))
        for _ in range(passes):
            least = np.full(labels.shape, np.inf, np.float32)
            result = np.zeros_like(labels)
            for zone, (slope, offset) in enumerate(
                zip(self._slopes, self._offsets, strict=True), start=1
            ):
                mask = (labels == zone).view(np.uint8)
                near = cv2.sepFilter2D(
                    mask, cv2.CV_32F, self._kernel, self._kernel, borderType=cv2.BORDER_REFLECT
                )
                if self._focal is not None:
                    near[self._focal] = 0
                cost = cv2.addWeighted(self._lightness, slope, near, -self._weight, offset)
                better = cv2.compare(cost, least, cv2.CMP_LT)
                if adjacent:
                    better = cv2.bitwise_and(better, cv2.dilate(mask, cross) * 255)
                cv2.copyTo(cost, better, least)
                result[better > 0] = zone
            result *= self._inside
            moved = np.count_nonzero(result != labels)
            labels = result
            if moved < SETTLED * labels.size:
                break
        return labels

    def cost(self, labels: NDArray[np.uint8]) -> float:
        """Sum of errors of lightness and of the price of all borders.

        A straight border loses its pixels ``σ/√(2π)`` of a whole surrounding for
        each pixel of its length, and the number of pixel sides along borders of
        all directions is ``4/π`` of their length.
        """
        error = np.take(np.array([0.0, *self._slopes], np.float32), labels) * self._lightness
        error += np.take(np.array([0.0, *self._offsets], np.float32), labels)
        sides = np.count_nonzero(labels[1:] != labels[:-1])
        sides += np.count_nonzero(labels[:, 1:] != labels[:, :-1])
        of_a_side = self._weight * self._spread / math.sqrt(2 * math.pi) * math.pi / 4
        return float(error.sum(dtype=np.float64)) + of_a_side * sides


def _tones(placed: Placed, labels: NDArray[np.uint8], cuts: tuple[float, ...]) -> list[float]:
    """Mean lightness of each zone where it is burned, or the middle of its band."""
    tones = []
    for zone, band in enumerate(itertools.pairwise([0.0, *cuts, 100.0]), start=1):
        mask = ((labels == zone) & placed.burned).view(np.uint8)
        tones.append(cv2.mean(placed.lightness, mask)[0] if mask.any() else sum(band) / 2)
    return tones


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


class _Cleaning:
    """Joins islands that a pen cannot hold to what touches them."""

    def __init__(self, placed: Placed, count: int, min_px: int) -> None:
        self._lightness = placed.lightness
        self._focal = placed.focal
        self._count = count
        self._min_px = min_px
        self._side, self._fine_side = (
            max(2, round(mm * placed.px_per_mm)) for mm in (MIN_WIDTH_MM, FOCAL_WIDTH_MM)
        )

    def joined(self, labels: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """Merge every 4-connected island that is too small or a ribbon into a touching zone.

        Of the zones that touch an island it joins the one whose mean lightness is
        nearest to its own: the change that adds least to the variance within zones;
        among equals the one with the longest shared border. What joins may unite
        several parts of that zone. Islands that touch nothing stay.
        """
        while True:
            islands, zone = islands_of(labels, self._count)
            pixels = np.bincount(islands.ravel(), minlength=len(zone))
            area = pixels.copy()
            if self._focal is not None:
                within = np.bincount(islands[self._focal], minlength=len(zone))
                area += (FOCAL_FINER - 1) * within
            small = (area < self._min_px) & (zone > 0)
            thin = self._thin(labels, islands, zone, pixels) & ~small
            one, other, shared = _borders(islands, small | thin)
            area[thin & _between_levels(zone, one, other, shared)] = 0
            joins = (area[one] < self._min_px) | (area[other] < self._min_px)
            if not joins.any():
                return labels
            light = _sums(islands.ravel(), self._lightness.ravel(), len(zone))
            in_zone = np.bincount(zone, weights=pixels, minlength=self._count + 1)
            mean = _sums(zone, light, self._count + 1) / np.maximum(in_zone, 1)
            graph = _Islands(zone, pixels, area, light, one[joins], other[joins], shared[joins])
            labels = np.take(graph.merged(mean, self._min_px).astype(np.uint8), islands)

    def _thin(
        self,
        labels: NDArray[np.uint8],
        islands: NDArray[np.int32],
        zone: NDArray[np.int64],
        pixels: NDArray[np.int64],
    ) -> NDArray[np.bool_]:
        """Islands of which squares of a line's width cover little."""
        wide = _wide(labels, self._side)
        if self._focal is not None:
            wide |= _wide(labels, self._fine_side) & self._focal
        of_island = np.bincount(islands[wide], minlength=len(zone))
        return (zone > 0) & (of_island < WIDE_SHARE * pixels)


def _wide(labels: NDArray[np.uint8], side: int) -> NDArray[np.bool_]:
    """Pixels of squares that lie in one zone."""
    square = np.ones((side, side), np.uint8)
    # The mirrored anchor puts a square of even side back where it came from.
    whole = cv2.erode(labels, square, anchor=(0, 0)) == cv2.dilate(labels, square, anchor=(0, 0))
    squares = cv2.dilate(whole.view(np.uint8), square, anchor=(side - 1, side - 1))
    return np.asarray(squares > 0, np.bool_)


def _between_levels(
    zone: NDArray[np.int64],
    one: NDArray[np.int64],
    other: NDArray[np.int64],
    shared: NDArray[np.int64],
) -> NDArray[np.bool_]:
    """Islands with darker zones along one side and lighter ones along the other.

    So lies a ribbon along an edge. A thin dark or light stroke is none, and stays.
    """
    darker, lighter = np.zeros(len(zone)), np.zeros(len(zone))
    for a, b in ((one, other), (other, one)):
        below = zone[b] < zone[a]
        darker += _sums(a[below], shared[below], len(zone))
        lighter += _sums(a[~below], shared[~below], len(zone))
    least = np.minimum(darker, lighter)
    return (least > 0) & (3 * least >= np.maximum(darker, lighter))


def _sums(
    number: NDArray[np.integer], values: NDArray[np.number], count: int = 0
) -> NDArray[np.float64]:
    """Sum of the values that have each number."""
    return np.bincount(number, weights=values, minlength=count).astype(np.float64, copy=False)


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
        mask = labels == z
        found, parts = cv2.connectedComponents(mask.view(np.uint8), connectivity=4)
        np.add(parts, known, out=islands, where=mask)
        zone.append(np.full(found - 1, z, np.int64))
        known += found - 1
    return islands, np.concatenate(zone)


def _borders(
    islands: NDArray[np.int32], small: NDArray[np.bool_]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of touching islands of which one is small, and the pixel sides they share."""
    pairs = []
    for a, b in ((islands[:, :-1], islands[:, 1:]), (islands[:-1], islands[1:])):
        touching = (a != b) & (a > 0) & (b > 0)
        touching &= np.take(small, a) | np.take(small, b)
        one, other = a[touching].astype(np.int64), b[touching].astype(np.int64)
        pairs.append(np.minimum(one, other) * len(small) + np.maximum(one, other))
    codes, shared = np.unique(np.concatenate(pairs), return_counts=True)
    return codes // len(small), codes % len(small), shared.astype(np.int64)


@dataclass(slots=True)
class _Islands:
    """Islands and which of them touch, while small ones join others.

    ``one`` and ``other`` are pairs of which at least one is small, ``shared``
    their common border.
    """

    zone: NDArray[np.int64]
    pixels: NDArray[np.int64]
    area: NDArray[np.int64]  # as it counts: a focal pixel counts several times
    light: NDArray[np.float64]  # sum over pixels
    one: NDArray[np.int64]
    other: NDArray[np.int64]
    shared: NDArray[np.int64]

    def merged(self, zone_mean: NDArray[np.float64], min_px: int) -> NDArray[np.int64]:
        """Return the zone of each island once no small one with a neighbour is left.

        An island's zone changes only when it joins another, and it joins after
        all smaller ones. So every island that is the smallest among those it
        touches can join at once, which gives what one at a time would.
        """
        home = np.arange(len(self.zone))
        while len(self.one):
            joining, chosen = self._next(zone_mean, min_px)
            group = self._groups(joining, chosen)
            self.zone[joining] = chosen[joining]
            self._unite(group, min_px)
            home = group[home]
        return self.zone[home]

    def _next(
        self, zone_mean: NDArray[np.float64], min_px: int
    ) -> tuple[NDArray[np.intp], NDArray[np.int64]]:
        """Islands that join now, and for them the zone that each joins."""
        count = len(self.zone)
        rank = np.empty(count, np.int64)
        rank[np.lexsort((np.arange(count), self.area))] = np.arange(count)
        lowest = np.full(count, count)
        np.minimum.at(lowest, self.one, rank[self.other])
        np.minimum.at(lowest, self.other, rank[self.one])
        joins = (self.area < min_px) & (rank < lowest) & (lowest < count)
        joining = np.flatnonzero(joins)

        place = np.zeros(count, np.int64)
        place[joining] = np.arange(len(joining))
        zones = len(zone_mean)
        border = np.zeros((len(joining), zones))
        for a, b in ((self.one, self.other), (self.other, self.one)):
            counts = joins[a]
            cell = place[a[counts]] * zones + self.zone[b[counts]]
            border += _sums(cell, self.shared[counts], border.size).reshape(border.shape)
        off = np.abs((self.light[joining] / self.pixels[joining])[:, None] - zone_mean)
        off[border == 0] = np.inf
        nearest = off == off.min(axis=1, keepdims=True)
        chosen = np.zeros(count, np.int64)
        chosen[joining] = np.argmax(np.where(nearest, border, 0), axis=1)
        return joining, chosen

    def _groups(self, joining: NDArray[np.intp], chosen: NDArray[np.int64]) -> NDArray[np.int64]:
        """Give islands new numbers, those that unite the same one."""
        count = len(self.zone)
        joins = np.zeros(count, np.bool_)
        joins[joining] = True
        unite = (joins[self.one] & (chosen[self.one] == self.zone[self.other])) | (
            joins[self.other] & (chosen[self.other] == self.zone[self.one])
        )
        one, other = self.one[unite], self.other[unite]
        group = np.arange(count)
        while True:
            low = np.minimum(group[one], group[other])
            if np.array_equal(low, np.maximum(group[one], group[other])):
                break
            for ends in (one, other):
                np.minimum.at(group, group[ends], low)
            while True:
                nearer = group[group]
                if np.array_equal(nearer, group):
                    break
                group = nearer
        return np.unique(group, return_inverse=True)[1].astype(np.int64)

    def _unite(self, group: NDArray[np.int64], min_px: int) -> None:
        """Make one island of each group."""
        zone = np.zeros(int(group.max()) + 1, np.int64)
        zone[group] = self.zone
        self.zone = zone
        self.pixels = _sums(group, self.pixels).astype(np.int64)
        self.area = _sums(group, self.area).astype(np.int64)
        self.light = _sums(group, self.light)
        one, other = group[self.one], group[self.other]
        apart = (one != other) & ((self.area[one] < min_px) | (self.area[other] < min_px))
        one, other = one[apart], other[apart]
        codes = np.minimum(one, other) * len(zone) + np.maximum(one, other)
        codes, at = np.unique(codes, return_inverse=True)
        self.shared = _sums(at, self.shared[apart], len(codes)).astype(np.int64)
        self.one, self.other = codes // len(zone), codes % len(zone)
