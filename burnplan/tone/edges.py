"""Edges of lightness at a scale in mm.

Lightness is smoothed by a Gaussian at the scale. An edge runs where the slope
across it is greatest: where the second derivative along the gradient passes
zero (R. M. Haralick, IEEE TPAMI 6(1), 1984; J. Canny, IEEE TPAMI 8(6), 1986).
contourpy follows that zero between pixels, so that edges come as curves, closed
where they close, with neither staircase nor junction.

The strength of an edge is given as the step in L* of a sharp edge that would
have the same slope at that scale.
"""

import math
from dataclasses import dataclass
from typing import cast

import cv2
import numpy as np
from contourpy import LineType, contour_generator
from numpy.typing import NDArray

from burnplan.tone.chains import Chains

SHARPEST_PX = 1.2
"""Least scale of a field in its own pixels: below it derivatives by differences are no good.
A guess: tried on scikit-image's photos."""

WORTH_SHRINKING = 0.8
"""A raster is made coarser only if it can be by at least this factor (a guess: tried on
scikit-image's photos)."""

BESIDE, MOST_BESIDE = 1.5, 0.95
"""So many scales beside an edge its slope is at most this share; shading has it all over.
A guess: tried on scikit-image's photos."""

SHADED_MM = 2.0
"""What is so over less than this is no shading (a guess: tried on scikit-image's photos)."""

OWN_BLUR = 0.53
"""Variance, pixel², that shrinking and differences add to the smoothing (measured)."""

# What contourpy gives as one chunk: all points, and where each line starts and ends.
_Contours = tuple[list[NDArray[np.float64] | None], list[NDArray[np.uint32] | None]]


@dataclass(frozen=True, slots=True, eq=False)
class EdgeField:
    """Lightness at a scale, and how it changes.

    Parameters
    ----------
    light : ndarray of float32, shape (H, W)
        L*, smoothed.
    slope : ndarray of float32, shape (2, H, W)
        Gradient along x and y, L* a pixel.
    step : ndarray of float32, shape (H, W)
        Strength as an edge, L*.
    px_per_mm : ndarray of float64, shape (2,)
        Resolution of the field along x and y, which may be coarser than the photo's raster.
    scale_mm : float
        Standard deviation of the smoothing.
    """

    light: NDArray[np.float32]
    slope: NDArray[np.float32]
    step: NDArray[np.float32]
    px_per_mm: NDArray[np.float64]
    scale_mm: float

    @property
    def understated(self) -> float:
        """By what factor a sharp step is larger than its strength here, for the pixels' own blur.

        Examples
        --------
        >>> sharp = np.zeros((80, 80), np.float32)
        >>> sharp[:, 41:] = 50
        >>> field = edge_field(sharp, 4.0, 0.8)
        >>> round(float(field.step.max())), round(float(field.step.max()) * field.understated)
        (43, 50)
        """
        own = OWN_BLUR / float(self.px_per_mm.mean()) ** 2
        return math.sqrt(1 + own / self.scale_mm**2)

    def at(self, raster: NDArray[np.float32], xy: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return values of a raster of the field's shape at points in mm, bilinear."""
        return sampled(raster, xy * self.px_per_mm)

    def uphill(self, xy: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the unit vectors towards the lighter side at points in mm, shape (K, 2)."""
        slope = np.stack([self.at(self.slope[axis], xy) for axis in (0, 1)], axis=1)
        return slope / np.maximum(np.hypot(slope[:, 0], slope[:, 1]), 1e-9)[:, None]


def edge_field(
    lightness: NDArray[np.float32], px_per_mm: float, scale_mm: float, finest: float = 0.0
) -> EdgeField:
    """Return lightness at a scale.

    Parameters
    ----------
    lightness : ndarray of float32, shape (H, W)
        L*.
    px_per_mm : float
    scale_mm : float
        Standard deviation of the Gaussian, mm.
    finest : float, optional
        Resolution, px/mm, that is wanted at least; without it the field is as coarse
        as its derivatives allow, and a sharp step comes out up to an eighth too small.

    Returns
    -------
    EdgeField

    Examples
    --------
    >>> sharp = np.zeros((80, 80), np.float32)
    >>> sharp[:, 40:] = 50
    >>> round(float(edge_field(sharp, 4.0, 0.8, finest=4.0).step.max()))
    49
    """
    fewer = min(1.0, max(finest, SHARPEST_PX / scale_mm) / px_per_mm)
    resolution = np.full(2, px_per_mm)
    if fewer < WORTH_SHRINKING:
        size = [max(1, round(n * fewer)) for n in lightness.shape[::-1]]
        resolution *= np.array(size) / lightness.shape[::-1]
        lightness = np.asarray(
            cv2.resize(lightness, size, interpolation=cv2.INTER_AREA), np.float32
        )
    sigma = scale_mm * float(resolution.mean())
    light = np.asarray(cv2.GaussianBlur(lightness, (0, 0), sigma), np.float32)
    slope = np.empty((2, *light.shape), np.float32)
    for axis, x, y in ((0, 1, 0), (1, 0, 1)):
        cv2.Sobel(light, cv2.CV_32F, x, y, dst=slope[axis], ksize=3, scale=1 / 8)
    step = np.asarray(cv2.magnitude(slope[0], slope[1]), np.float32)
    step *= np.float32(sigma * math.sqrt(2 * math.pi))
    return EdgeField(light, slope, step, resolution, scale_mm)


def edges_of(field: EdgeField, least: float, inside: NDArray[np.bool_] | None = None) -> Chains:
    """Follow the edges of a field.

    Parameters
    ----------
    field : EdgeField
    least : float
        Step, L*, below which nothing is followed.
    inside : ndarray of bool, shape (H, W), optional
        Where edges are looked for, in the field's own pixels.

    Returns
    -------
    Chains
        Points in mm, the darker side on the right of the way they run, as a reader sees it.
    """
    weak = field.step < np.float32(least)
    if inside is not None:
        weak |= ~inside
    if weak.all() or min(weak.shape) < 2:  # a contour runs between pixels
        return Chains.none()
    found = cast(
        "_Contours",
        contour_generator(
            z=np.ma.array(_along_gradient(field), mask=weak),
            name="serial",
            corner_mask=False,
            line_type=LineType.ChunkCombinedOffset,
        ).lines(0.0),
    )
    if found[0][0] is None or found[1][0] is None:
        return Chains.none()
    xy, starts = found[0][0], found[1][0].astype(np.intp)
    first, last = starts[:-1], starts[1:] - 1
    closed = np.all(xy[first] == xy[last], axis=1) & (last - first > 2)
    # A closed line repeats its first point.
    kept = np.ones(len(xy), np.bool_)
    kept[last[closed]] = False
    starts = np.concatenate([[0], np.cumsum(np.diff(starts) - closed)]).astype(np.intp)
    lines = Chains((xy[kept] + 0.5) / field.px_per_mm, starts, closed)
    uphill, here = field.uphill(lines.xy), field.at(field.step, lines.xy)
    crest = np.ones(len(here), np.bool_)
    for away, most in (
        (1 / float(field.px_per_mm.mean()), 1.0),
        (BESIDE * field.scale_mm, MOST_BESIDE),
    ):
        sides = (field.at(field.step, lines.xy + uphill * side) for side in (away, -away))
        crest &= sum(sides) < 2 * most * here
    # At a corner or a tip the other side is near; only where it goes on so is it shading.
    runs = lines.runs(crest)
    lengths = np.add.reduceat(lines.side_lengths()[runs.order], runs.starts[:-1])
    edges, _rows = lines.stretches(crest | (lengths < SHADED_MM)[runs.number])
    return edges


def _along_gradient(field: EdgeField) -> NDArray[np.float32]:
    """Return the second derivative along the gradient: above 0 on the darker side of an edge."""

    def second(x: int, y: int) -> NDArray[np.float32]:
        found = cv2.Sobel(field.light, cv2.CV_32F, x, y, ksize=3, scale=1 / 4)
        return np.asarray(found, np.float32)

    x, y = field.slope
    squares = x * x, y * y
    result: NDArray[np.float32] = squares[0] * second(2, 0)
    result += squares[1] * second(0, 2)
    mixed = second(1, 1)
    mixed *= x
    mixed *= y
    result += mixed
    result += mixed
    result /= squares[0] + squares[1] + np.float32(1e-12)
    return result


def sampled(raster: NDArray[np.float32], xy_px: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return values between pixels, bilinear; beyond the edge those of the edge.

    Parameters
    ----------
    raster : ndarray of float32, shape (H, W)
    xy_px : ndarray of float64, shape (K, 2)
        Counted from the corner of the raster, in pixels.

    Returns
    -------
    ndarray of float64, shape (K,)
    """
    # Rows of 4096, because remap takes no more than 32767 points in a line.
    wide = 4096
    rows = -(-len(xy_px) // wide)
    padded = np.zeros((rows * wide, 2), np.float32)
    padded[: len(xy_px)] = xy_px - 0.5  # remap has pixel centres at whole numbers
    if not rows:
        return np.zeros(0)
    mapped = cv2.remap(
        raster,
        padded[:, 0].reshape(rows, wide),
        padded[:, 1].reshape(rows, wide),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(mapped, np.float64).ravel()[: len(xy_px)]
