"""Value zones: bands of lightness, Z1 darkest, cleaned for the pen."""

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
import numpy.typing as npt

from burnplan.errors import BadInput
from burnplan.tone.lightness import Lightness
from burnplan.tone.place import Placed

Labels = npt.NDArray[np.uint8]
Mask = npt.NDArray[np.bool_]

ZONES = 6
FEWEST_ZONES, MOST_ZONES = 3, 9
MIN_AREA_MM2 = 9.0
BINS = 256
# Edges are kept where lightness changes by more than this across the window.
_SMOOTH_MM = 1.0
_SMOOTH_STEP = 5.0


@dataclass(frozen=True, slots=True, eq=False)
class ZoneMap:
    """A reference divided into value zones.

    Parameters
    ----------
    labels : ndarray of uint8, shape (height, width)
        0 off the wood, else the zone, 1 darkest.
    thresholds : tuple of float
        L* between neighbouring zones, ascending; one fewer than the zones.
    smooth : ndarray of float32, shape (height, width)
        The edge-preserved L* that was divided.
    notes : tuple of str
        What the user may want to know.
    """

    labels: Labels
    thresholds: tuple[float, ...]
    smooth: Lightness
    notes: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        """Number of zones."""
        return len(self.thresholds) + 1


def optimal_cuts(histogram: npt.NDArray[np.integer], classes: int) -> tuple[int, ...]:
    """Divide a histogram into classes with the least variance inside them.

    Exact, by dynamic programming over the bins: the same criterion as Otsu's
    threshold (IEEE Trans. SMC 9, 1979) and its multi-level form.

    Parameters
    ----------
    histogram : ndarray of int, shape (bins,)
        Counts.
    classes : int
        At least 1.

    Returns
    -------
    tuple of int
        The last bin of each class but the lightest; fewer than asked for when
        the histogram has fewer filled bins.

    Examples
    --------
    >>> optimal_cuts(np.array([4, 5, 0, 0, 6, 3]), 2)
    (1,)
    """
    filled = np.flatnonzero(histogram)
    classes = min(classes, len(filled))
    if classes < 2:
        return ()
    counts = histogram[filled].astype(np.float64)
    weight = np.concatenate([[0.0], np.cumsum(counts)])
    moment = np.concatenate([[0.0], np.cumsum(counts * filled)])
    bins = len(filled)
    first, last = np.meshgrid(np.arange(bins), np.arange(bins), indexing="ij")
    valid = first <= last
    mass = np.where(valid, weight[last + 1] - weight[first], 1.0)
    # The sum over classes of mass × mean² is what grows as variance inside shrinks.
    score = np.where(valid, (moment[last + 1] - moment[first]) ** 2 / mass, -np.inf)
    best = score[0]
    choices = []
    for _ in range(classes - 1):
        # best[i] ends a class at bin i; the next begins at i + 1 and ends at j.
        total = best[:-1, None] + score[1:, :]
        choice = np.argmax(total, axis=0)
        choices.append(choice)
        best = np.take_along_axis(total, choice[None, :], axis=0)[0]
    cuts, end = [], bins - 1
    for choice in reversed(choices):
        end = int(choice[end])
        cuts.append(int(filled[end]))
    return tuple(reversed(cuts))


def optimal_thresholds(values: Lightness, classes: int) -> tuple[float, ...]:
    """Return the L* that divide some pixels with the least variance inside classes.

    Parameters
    ----------
    values : ndarray of float32, shape (n,)
        L*, 0 to 100, counted in 256 bins.
    classes : int

    Returns
    -------
    tuple of float
        Ascending. Where bins between two classes are empty the threshold lies
        in the middle of the gap.
    """
    histogram, edges = np.histogram(values, BINS, (0.0, 100.0))
    filled = np.flatnonzero(histogram)
    return tuple(
        float((edges[cut + 1] + edges[filled[np.searchsorted(filled, cut) + 1]]) / 2)
        for cut in optimal_cuts(histogram, classes)
    )


def smooth_lightness(values: Lightness, px_per_mm: float) -> Lightness:
    """Smooth what a pen cannot draw, keep edges: a self-guided filter.

    He, Sun and Tang, Guided image filtering, ECCV 2010.

    Parameters
    ----------
    values : ndarray of float32, shape (height, width)
        L*.
    px_per_mm : float

    Returns
    -------
    ndarray of float32, same shape
    """
    side = 2 * max(1, round(_SMOOTH_MM * px_per_mm / 2)) + 1
    window = (side, side)
    mean = cv2.blur(values, window)
    variance = cv2.blur(values * values, window) - mean * mean
    np.maximum(variance, 0, out=variance)
    keep = variance / (variance + np.float32(_SMOOTH_STEP**2))
    offset = mean - keep * mean
    return np.asarray(cv2.blur(keep, window) * values + cv2.blur(offset, window), np.float32)


def find_zones(
    placed: Placed,
    *,
    zones: int = ZONES,
    thresholds: tuple[float, ...] | None = None,
    min_area_mm2: float = MIN_AREA_MM2,
) -> ZoneMap:
    """Divide a placed reference into value zones a pen can hold.

    Each mask {L* ≥ threshold} is cleaned by area opening and closing, which
    are increasing, so the masks stay nested and the zones stay a stack, like
    a contour map. A sliver that is left between two masks is given to the
    nearest zone, so that no island is smaller than the smallest burnable area.

    Parameters
    ----------
    placed : Placed
    zones : int
        3 to 9; fewer are made if the reference has fewer values.
    thresholds : tuple of float, optional
        L* to divide at, ascending, instead of the optimal ones.
    min_area_mm2 : float
        Smallest area worth burning by itself.

    Returns
    -------
    ZoneMap

    Raises
    ------
    BadInput
        If the number of zones, the thresholds or the area make no sense.
    """
    if not 0 <= min_area_mm2 <= placed.outline.area_mm2 / 4:
        raise BadInput(
            f"The smallest area must be between 0 and a quarter of the blank, not {min_area_mm2:g}",
            "Common is about 9 mm²",
        )
    smooth = smooth_lightness(placed.lightness, placed.px_per_mm)
    notes: tuple[str, ...] = ()
    if thresholds is None:
        if not FEWEST_ZONES <= zones <= MOST_ZONES:
            raise BadInput(
                f"There can be {FEWEST_ZONES} to {MOST_ZONES} zones, not {zones}",
                "Six suit most portraits",
            )
        thresholds = optimal_thresholds(smooth[placed.inside], zones)
        if len(thresholds) + 1 < zones:
            notes = (f"the photo has values for {len(thresholds) + 1} zones only",)
    else:
        _check_thresholds(thresholds)
    min_px = max(1, round(min_area_mm2 * placed.px_per_mm**2))
    labels = placed.inside.astype(np.uint8)
    for threshold in thresholds:
        labels += _cleaned((smooth >= threshold) & placed.inside, placed.inside, min_px)
    return ZoneMap(_without_slivers(labels, min_px), thresholds, smooth, notes)


def _check_thresholds(thresholds: tuple[float, ...]) -> None:
    ascending = all(low < high for low, high in pairwise(thresholds))
    number = FEWEST_ZONES - 1 <= len(thresholds) <= MOST_ZONES - 1
    if not (ascending and number and thresholds[0] > 0 and thresholds[-1] < 100):
        raise BadInput(
            "Thresholds must be 2 to 8 ascending L* values between 0 and 100",
            "For example 20,40,60,80",
        )


def _cleaned(light: Mask, inside: Mask, min_px: int) -> Mask:
    """Return the mask after area opening, then area closing."""
    opened = light & ~_specks(light, min_px)
    return opened | _specks(inside & ~opened, min_px)


def _components(mask: Mask) -> tuple[npt.NDArray[np.int32], npt.NDArray[np.int32]]:
    """Label 4-connected components; return labels and their areas (0 is the rest)."""
    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask.view(np.uint8), connectivity=4)
    return np.asarray(labels, np.int32), np.asarray(stats[:, cv2.CC_STAT_AREA], np.int32)


def _specks(mask: Mask, min_px: int) -> Mask:
    """Return the components smaller than a number of pixels."""
    labels, areas = _components(mask)
    small = areas < min_px
    small[0] = False
    return np.asarray(small[labels])


def _without_slivers(labels: Labels, min_px: int) -> Labels:
    """Give every component that is too small to the nearest zone that is not.

    A pixel's nearest kept pixel is reached through pixels that share it, so
    what is filled joins what was kept; a second round is needed only where
    the pixel grid breaks such a line.
    """
    inside = labels > 0
    for _ in range(16):
        kept = inside.copy()
        for zone in range(1, int(labels.max(initial=0)) + 1):
            kept &= ~_specks(labels == zone, min_px)
        if not kept.any() or kept.sum() == inside.sum():
            break
        _, nearest = cv2.distanceTransformWithLabels(
            (~kept).view(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
        )
        zone_of = np.zeros(int(nearest.max()) + 1, np.uint8)
        zone_of[nearest[kept]] = labels[kept]
        labels = np.where(inside, zone_of[nearest], 0).astype(np.uint8)
    return labels


def islands(labels: Labels, zone: int) -> npt.NDArray[np.int32]:
    """Return the area of each separate piece of a zone, pixels."""
    return _components(labels == zone)[1][1:]
