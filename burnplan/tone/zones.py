"""Value zones: bands of lightness that a pen can hold.

Zones are numbered from the darkest, Z1. Four steps make them, each simple:

1. The lightness is smoothed at a pen's scale without blurring edges, after what
   noise the photo has, which is more than an edge's step to that. What is an
   edge hangs on the photo: a step that is large beside the deviation that six
   zones would leave within themselves. So a pale photo keeps its faint shapes.
2. Thresholds minimise the variance within bands on the 256-bin histogram,
   exactly: Otsu's criterion (N. Otsu, IEEE Trans. SMC 9(1), 1979) by dynamic
   programming (W. D. Fisher, J. Am. Stat. Assoc. 53, 1958).
3. Each set of pixels at least as light as a threshold is cleaned by area
   opening and closing (L. Vincent, 1993) at the smallest area a pen can hold.
   Both keep the order of sets, so the sets stay nested, like a contour map.
4. What then is an island of a zone below the smallest area joins the touching
   zone nearest to it in lightness, smallest islands first. Every pixel has one
   label throughout, so the stack stays nested by construction, and no island
   below the smallest area is left.

In a drawing of few tones others stand only along its edges, in ribbons a pixel
or two wide. They are no zones: it is cut again for as many as hold the smallest
area without them. Ribbons of the others are the softness of edges, and stay.

In focal areas all of this is finer: less is smoothed, and each pixel counts
several times towards the smallest area. An island that lies in one stays at a
quarter of the size; the area so weighted still grows with the set, so that the
levels stay nested.
"""

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from burnplan.errors import BadInput
from burnplan.progress import Progress, silent
from burnplan.tone.islands import Islands, islands_of
from burnplan.tone.lightness import edge_preserved
from burnplan.tone.merging import without_small_islands
from burnplan.tone.noise import Grain, without_noise
from burnplan.tone.place import Placed
from burnplan.zoning import DEFAULT_ZONES, FEWEST, MIN_AREA_MM2, MOST

MIN_WIDTH_MM = 1.0
"""A part between two levels that is narrower than this is an edge, no zone (the same: common
practice, no source)."""

SMOOTH_MM, FOCAL_SMOOTH_MM = 1.0, 0.5
"""Radius of the edge-preserving smoothing on the wood, and in focal areas (a guess: tried on
scikit-image's photos)."""

EDGE_SHARE = 0.3
"""Smoothing takes a change for an edge above this share of the deviation within six zones.
A guess: tried on scikit-image's photos."""

FOCAL_FINER = 4
"""A pixel in a focal area counts as many when an island's area is judged (a guess: tried on
scikit-image's photos)."""

VISIBLE_STEP = 1.0
"""Zones whose mean lightness differs by less than this, L*, look the same (our own choice: about
the least step that an eye sees side by side, from memory)."""

BINS = 256
"""Bins of the lightness histogram over L* 0 to 100 (by definition)."""


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
        Smallest island left, mm²; a fourth of it in focal areas.
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
    n: int = DEFAULT_ZONES,
    thresholds: Sequence[float] | None = None,
    min_area_mm2: float = MIN_AREA_MM2,
    *,
    grain: Grain | None = None,
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
    grain : Grain, optional
        Of the photo, if it has been measured.
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
    focus = _Focus(placed.focal)
    light = without_noise(placed, grain)
    # However many zones are asked for: from its thresholds the same map comes again.
    within = _deviation(lightness_histogram(light, placed.burned), DEFAULT_ZONES)
    smoothed = focus.smoothed(light, px, max(VISIBLE_STEP / 2, EDGE_SHARE * within))
    min_px = math.ceil(min_area_mm2 / placed.pixel_area_mm2)

    def cleaned(cuts: tuple[float, ...]) -> NDArray[np.uint8]:
        progress(0.3, "Cleaning value zones")
        labels = _cut(smoothed, placed.inside, cuts, min_px, focus)
        progress(0.6, "Joining small islands")
        if cuts and min_area_mm2 > 0:
            labels = without_small_islands(labels, smoothed, len(cuts) + 1, min_px, focus.area)
        return labels

    def held(labels: NDArray[np.uint8], count: int) -> int:
        if min_area_mm2 > 0:
            side = max(2, round(MIN_WIDTH_MM * px))
            wide = islands_of(_but_ribbons(labels, count, side))
            return len(np.unique(wide.label[1:][focus.area(wide)[1:] >= min_px]))
        return int(np.count_nonzero(np.bincount(labels.ravel())[1:]))

    progress(0.2, "Finding value zones")
    if thresholds is not None:
        cuts = tuple(float(t) for t in thresholds)
        zones = ZoneMap(cleaned(cuts), cuts, smoothed, min_area_mm2)
    else:
        histogram = lightness_histogram(smoothed, placed.burned)
        zones = _fullest(smoothed, histogram, n, min_area_mm2, cleaned, held)
    progress(1.0, "Value zones found")
    return zones


def _fullest(
    lightness: NDArray[np.float32],
    histogram: NDArray[np.int64],
    n: int,
    min_area_mm2: float,
    cleaned: Callable[[tuple[float, ...]], NDArray[np.uint8]],
    held: Callable[[NDArray[np.uint8], int], int],
) -> ZoneMap:
    """Return the most zones up to n that all hold something after cleaning.

    In a drawing of few tones the others exist only as ribbons along its edges;
    it is cut again for the zones that are left.
    """
    count = n
    while True:
        cuts = _best_cuts(histogram, count)
        labels = cleaned(cuts)
        count = min(len(cuts) + 1, max(held(labels, len(cuts) + 1), 1))
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
            f"Most work is planned with {DEFAULT_ZONES}",
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
    bins = np.minimum(lightness * np.float32(BINS / 100), BINS - 1).astype(np.uint8)
    counts = cv2.calcHist([bins], [0], inside.view(np.uint8), [BINS], [0, BINS])
    return np.asarray(counts).ravel().astype(np.int64)


def _best_cuts(histogram: NDArray[np.int64], n: int) -> tuple[float, ...]:
    """Optimal thresholds, L*; fewer where tones are too few or too near each other."""
    count = min(n, max(int(np.count_nonzero(histogram)), 1))
    cuts = optimal_thresholds(histogram, count)
    while cuts and _least_step(histogram, cuts) < VISIBLE_STEP:
        count -= 1
        cuts = optimal_thresholds(histogram, count)
    return tuple(_between(histogram, cut) for cut in cuts)


def _deviation(histogram: NDArray[np.int64], n: int) -> float:
    """Return the standard deviation of lightness within the best n bands, L*."""
    cuts = optimal_thresholds(histogram, min(n, max(int(np.count_nonzero(histogram)), 1)))
    bins, squares = np.arange(len(histogram)), 0.0
    for start, stop in itertools.pairwise([0, *(cut + 1 for cut in cuts), len(histogram)]):
        counts = histogram[start:stop]
        mean = np.average(bins[start:stop], weights=counts) if counts.any() else 0.0
        squares += float((counts * (bins[start:stop] - mean) ** 2).sum())
    return math.sqrt(squares / max(int(histogram.sum()), 1)) * 100 / BINS


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
    focus: "_Focus",
) -> NDArray[np.uint8]:
    """Label by the cleaned sets of pixels at least as light as each threshold.

    Light parts hold together across corners (8-connected) and so dark parts do
    not (4-connected): the two never cross each other.
    """
    labels = inside.astype(np.uint8)
    for cut in cuts:
        lighter = (lightness >= np.float32(cut)) & inside
        if min_px > 1:
            lighter = _area_opened(lighter, min_px, focus, across_corners=True)
            darker = _area_opened(inside & ~lighter, min_px, focus, across_corners=False)
            lighter = inside & ~darker
        labels += lighter
    return labels


def _area_opened(
    mask: NDArray[np.bool_], min_px: int, focus: "_Focus", *, across_corners: bool
) -> NDArray[np.bool_]:
    """Drop connected parts of a mask whose area is below min_px."""
    parts = islands_of(mask.view(np.uint8), across_corners=across_corners)
    return parts.painted((parts.label > 0) & (focus.area(parts) >= min_px))


class _Focus:
    """Where zones are finer."""

    def __init__(self, focal: NDArray[np.bool_] | None) -> None:
        self._mask: NDArray[np.bool_] | None = None
        if focal is None or not focal.any():
            return
        rows, columns = np.flatnonzero(focal.any(axis=1)), np.flatnonzero(focal.any(axis=0))
        self._box = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
        self._mask = focal[self._box]

    def area(self, islands: Islands) -> NDArray[np.int64]:
        """Area of each island as it counts: a focal pixel counts several times."""
        area = islands.pixels()
        if self._mask is not None:
            number = islands.painted(np.arange(islands.count))[self._box][self._mask]
            area += (FOCAL_FINER - 1) * np.bincount(number, minlength=islands.count)
        return area

    def smoothed(
        self, lightness: NDArray[np.float32], px_per_mm: float, edge_step: float
    ) -> NDArray[np.float32]:
        """Smooth lightness while edges stay sharp, less in focal areas."""
        smooth = edge_preserved(lightness, SMOOTH_MM * px_per_mm, edge_step)
        if self._mask is not None:
            own = lightness[self._box]
            fine = edge_preserved(own, FOCAL_SMOOTH_MM * px_per_mm, edge_step / 2)
            # It goes over into the rest within about a millimetre, without a seam.
            share = cv2.GaussianBlur(
                self._mask.astype(np.float32), (0, 0), px_per_mm, borderType=cv2.BORDER_CONSTANT
            )
            smooth[self._box] += np.asarray(share, np.float32) * (fine - smooth[self._box])
        return smooth


def _but_ribbons(labels: NDArray[np.uint8], count: int, side: int) -> NDArray[np.uint8]:
    """Return the labels without the parts that are ribbons along an edge, which get 0.

    A part of a zone is a ribbon where a square of the side does not fit into the
    zone, and yet fits into all that is as dark or darker and into all that is as
    light or lighter: it lies along an edge, on the way from one to the other. A
    thin dark or light stroke is none. A rim of a pixel round what does fit is kept.
    """
    # A pixel keeps its value where what is at least as high as itself holds a square:
    # opening the labels looks at the sets of all levels at once.
    darkness = np.where(labels > 0, np.uint8(count + 1) - labels, np.uint8(0))
    ribbon = (_opened(labels, side) == labels) & (_opened(darkness, side) == darkness)
    wide = np.zeros(labels.shape, np.uint8)
    for zone in range(1, count + 1):
        wide |= _opened((labels == zone).view(np.uint8), side)
    return np.where(ribbon & (wide == 0), np.uint8(0), labels)


def _opened(values: NDArray[np.uint8], side: int) -> NDArray[np.uint8]:
    """Highest values that squares of their own fit into, and a pixel round them."""
    square = np.ones((side, side), np.uint8)
    core = cv2.erode(values, square, anchor=(0, 0))
    # The mirrored anchor puts a square of even side back where it came from.
    core = cv2.dilate(core, square, anchor=(side - 1, side - 1))
    return np.minimum(values, np.asarray(cv2.dilate(core, np.ones((3, 3), np.uint8)), np.uint8))
