"""The subject: what the picture is of, from one rough mark, or proposed without any.

A graph cut parts it from the rest by colour (C. Rother, V. Kolmogorov, A. Blake,
"GrabCut", ACM Trans. Graphics 23(3), 2004), on a small raster: the outline is
found by lines later, and is not to be finer than a hand would mark it.
"""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.tone.areas import AreaKind, MarkedArea
from burnplan.tone.lightness import lightness
from burnplan.tone.region import Polygon, polygon_mask

LONGER_SIDE = 160
"""Pixels along the longer side of the raster that is cut (a guess: tried on subjects outlined by
hand)."""

ROUNDS = 4
"""Times that colours are learnt and the picture is cut (a guess: tried on subjects outlined by
hand)."""

CORE = 0.3
"""This share of a mark, about its middle, is subject for sure; a mark is rough (a guess: tried on
subjects outlined by hand)."""

AROUND = 1.08
"""What lies outside a mark grown by this factor is not subject for sure (a guess: tried on
subjects outlined by hand)."""

SMALL_SHARE = 0.02
"""Parts and holes below this share of the subject go (a guess: tried on subjects outlined by
hand)."""

REACH = 2.5
"""A proposed mark reaches this many deviations of what tells most from its middle (a guess: tried
on subjects outlined by hand)."""

LEAST_LIKELY, MOST_LIKELY = 0.02, 0.85
"""A likely subject's box takes a share of the photo between these (a guess: tried on subjects
outlined by hand)."""

# Of the longer side: bends of the outline below it are smoothed; a guess: tried on subjects
# outlined by hand.
_ROUGH = 0.01
_BORDER_COLOURS = 5  # that the rest is told by; a guess: tried on subjects outlined by hand
_SEED = 7  # the cut learns its colours from a random start; by definition any would do


def subject_of(
    rgb: NDArray[np.uint8],
    marks: Sequence[Polygon],
    *,
    drop: Sequence[Polygon] = (),
    keep: Sequence[Polygon] = (),
    within: NDArray[np.bool_] | None = None,
) -> NDArray[np.bool_]:
    """Find the subject from a rough mark.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    marks : sequence of ndarray of float64, each of shape (K, 2)
        Polygons roughly round it, x and y in pixels.
    drop, keep : sequence of ndarray of float64, optional
        What is not, and what is subject whatever else is found.
    within : ndarray of bool, shape (H, W), optional
        Where anything of the subject can be.

    Returns
    -------
    ndarray of bool, shape (H, W)
    """
    height, width = rgb.shape[:2]
    scale = min(1.0, LONGER_SIDE / max(height, width))
    size = max(2, round(width * scale)), max(2, round(height * scale))
    small = np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA), np.uint8)

    def mask(polygons: Sequence[Polygon]) -> NDArray[np.bool_]:
        result = np.zeros(size[::-1], np.bool_)
        for polygon in polygons:
            result |= polygon_mask([np.asarray(polygon) * scale], size[::-1], 1.0)
        return result

    marked = mask(marks)
    sure = mask([_scaled(mark, CORE) for mark in marks])
    possible = mask([_scaled(mark, AROUND) for mark in marks])
    if within is not None:
        inside = cv2.resize(within.view(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
        possible &= inside
    dropped, kept = mask(drop), mask(keep)
    labels = np.full(size[::-1], cv2.GC_BGD, np.uint8)
    labels[possible] = cv2.GC_PR_BGD
    labels[marked & possible] = cv2.GC_PR_FGD
    labels[sure | kept] = cv2.GC_FGD
    labels[dropped & ~kept] = cv2.GC_BGD
    found = _cut(small, labels)
    found = (_smooth(found) | kept) & ~(dropped & ~kept)
    # Smooth between its pixels, which are larger than the picture's.
    soft = cv2.GaussianBlur(found.astype(np.float32), (0, 0), 1.0)
    whole = cv2.resize(soft, (width, height), interpolation=cv2.INTER_CUBIC)
    return np.asarray(whole > 0.5, np.bool_)


def likely_subject(rgb: NDArray[np.uint8]) -> MarkedArea | None:
    """Return the mark that is proposed as an area of the photo, to whole per cent.

    None where it is no part of the photo that stands out: next to nothing or nearly all.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)

    Returns
    -------
    MarkedArea or None
    """
    mark = proposed(rgb) / rgb.shape[1::-1]
    (left, top), (right, bottom) = (
        np.rint(corner * 100).tolist() for corner in (mark.min(axis=0), mark.max(axis=0))
    )
    share = (right - left) * (bottom - top) / 1e4
    if not LEAST_LIKELY < share < MOST_LIKELY:
        return None
    corners = ((left / 100, top / 100), (right / 100, bottom / 100))
    return MarkedArea(AreaKind.ELLIPSE, corners)


def proposed(rgb: NDArray[np.uint8]) -> Polygon:
    """Propose where the subject is, as an ellipse, from sharpness, contrast and the centre.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)

    Returns
    -------
    ndarray of float64, shape (K, 2)
        A mark for :func:`subject_of`, in pixels.
    """
    height, width = rgb.shape[:2]
    scale = min(1.0, LONGER_SIDE / max(height, width))
    size = max(2, round(width * scale)), max(2, round(height * scale))
    small = np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
    weight = _telling(small)
    y, x = np.mgrid[0 : size[1], 0 : size[0]]
    total = float(weight.sum()) or 1.0
    middle_x, middle_y = (float((weight * at).sum()) / total for at in (x, y))
    spread_x, spread_y = (
        float(np.sqrt((weight * (at - middle) ** 2).sum() / total))
        for at, middle in ((x, middle_x), (y, middle_y))
    )
    turn = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    # An evenly filled ellipse reaches twice the deviation of its points; a mark is to be roomy.
    ellipse = np.stack(
        [middle_x + REACH * spread_x * np.cos(turn), middle_y + REACH * spread_y * np.sin(turn)],
        axis=1,
    )
    return np.asarray(np.clip(ellipse + 0.5, 0, size) / scale, np.float64)


def _telling(rgb: NDArray[np.uint8]) -> NDArray[np.float64]:
    """How much each pixel tells: sharp, unlike the borders, and near the centre."""
    light = lightness(rgb)
    height, width = light.shape
    longer = max(height, width)
    detail = np.abs(light - cv2.GaussianBlur(light, (0, 0), 2.0))
    sharp = cv2.GaussianBlur(np.minimum(detail, 10), (0, 0), longer * 0.03)
    lab = cv2.cvtColor(rgb.astype(np.float32) / 255, cv2.COLOR_RGB2LAB)
    lab = cv2.GaussianBlur(lab, (0, 0), longer * 0.01)
    rim = max(2, longer // 20)
    border = np.ones(light.shape, np.bool_)
    border[rim:-rim, rim:-rim] = False
    # Distance in colour from the nearest of a few colours of the border.
    samples = lab[border].reshape(-1, 3)[:: max(1, int(border.sum()) // 400)]
    count = min(_BORDER_COLOURS, len(samples))
    until = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_MAX_ITER, 20, 0.5)
    first = np.arange(len(samples), dtype=np.int32).reshape(-1, 1) * count // len(samples)
    _compact, _labels, centres = cv2.kmeans(
        samples, count, first, until, 1, cv2.KMEANS_USE_INITIAL_LABELS
    )
    unlike = np.min([np.linalg.norm(lab - centre, axis=2) for centre in centres], axis=0)
    y, x = np.mgrid[0:height, 0:width]
    central = np.exp(-(((x / width - 0.5) / 0.3) ** 2 + ((y / height - 0.5) / 0.3) ** 2) / 2)
    telling = (
        sharp / max(float(sharp.max()), 1e-6) + unlike / max(float(unlike.max()), 1e-6)
    ) * central
    telling -= np.quantile(telling, 0.6)
    return np.asarray(np.maximum(telling, 0), np.float64)


def _scaled(polygon: Polygon, factor: float) -> Polygon:
    """Return a polygon grown or shrunk about the middle of its box."""
    points = np.asarray(polygon, np.float64)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    return np.asarray(middle + (points - middle) * factor, np.float64)


def _cut(rgb: NDArray[np.uint8], labels: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Cut the picture; what is sure either way stays so."""
    sure = (labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD)
    if not sure.any() or sure.all():
        return np.asarray(sure, np.bool_)
    if not ((labels == cv2.GC_BGD) | (labels == cv2.GC_PR_BGD)).any():
        return np.asarray(sure, np.bool_)
    cv2.setRNGSeed(_SEED)
    bgr = np.ascontiguousarray(rgb[..., ::-1])
    models = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.grabCut(bgr, labels, (0, 0, 1, 1), *models, ROUNDS, cv2.GC_INIT_WITH_MASK)
    return np.asarray((labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD), np.bool_)


def _smooth(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Without small parts and holes, and bends that no hand would mark."""
    longer = max(mask.shape)
    soft = cv2.GaussianBlur(mask.astype(np.float32), (0, 0), max(1.0, _ROUGH * longer))
    mask = _without_small(soft > 0.5)
    return ~_without_small(~mask)


def _without_small(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Without parts below a share of the largest."""
    count, parts, stats, _middles = cv2.connectedComponentsWithStats(mask.view(np.uint8))
    if count < 2:
        return mask
    area = stats[:, cv2.CC_STAT_AREA].astype(np.int64)
    area[0] = 0
    return np.asarray((area >= SMALL_SHARE * area.max())[parts], np.bool_) & mask
