"""Direction: which way hair, fur, bark and cloth run, and ticks that show it.

The structure tensor (J. Bigün, G. H. Granlund, ICCV 1987) gathers the slopes of
lightness around a point: across its main axis the picture changes most, along
the other it changes least. How much more is its coherence.

Smoothed along that direction, and hardly across it, a picture keeps what runs
through it and loses what is strewn over it: hair becomes locks, and a broken
edge whole (after H. Kang, S. Lee, C. K. Chui, "Coherent line drawing", NPAR 2007).
"""

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

RESOLUTION = 2.0
"""Resolution of the directions, px/mm (a guess: two in the millimetre that is gathered over)."""

# Mean square slope, (L*/px)², of what has none; a guess: 0.2 L* a pixel is not seen.
_NOTHING = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class DirectionField:
    """Which way the tones run.

    Parameters
    ----------
    along : ndarray of float32, shape (2, H, W)
        Unit vectors along x and y; their sign means nothing.
    coherence : ndarray of float32, shape (H, W)
        0 (no direction) to 1 (one alone).
    px_per_mm : ndarray of float64, shape (2,)
        Resolution along x and y.
    """

    along: NDArray[np.float32]
    coherence: NDArray[np.float32]
    px_per_mm: NDArray[np.float64]

    def at(self, xy: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return the directions, shape (K, 2), and coherence at points in mm."""
        height, width = self.coherence.shape
        column, row = (
            np.floor(xy[:, axis] * self.px_per_mm[axis]).astype(np.intp).clip(0, most - 1)
            for axis, most in ((0, width), (1, height))
        )
        return (
            self.along[:, row, column].T.astype(np.float64),
            self.coherence[row, column].astype(np.float64),
        )


def shrunk(
    lightness: NDArray[np.float32], px_per_mm: float, resolution: float
) -> tuple[NDArray[np.float32], NDArray[np.float64]]:
    """Return lightness in a coarser resolution, and what that is along x and y, px/mm."""
    height, width = lightness.shape
    if resolution >= px_per_mm:
        return lightness, np.full(2, px_per_mm)
    size = [max(1, round(n * resolution / px_per_mm)) for n in (width, height)]
    small = np.asarray(cv2.resize(lightness, size, interpolation=cv2.INTER_AREA), np.float32)
    return small, np.array(size) / (width, height) * px_per_mm


def direction_field(
    lightness: NDArray[np.float32],
    px_per_mm: float,
    reach_mm: float,
    *,
    scale_mm: float = 0.5,  # our own choice: a fine nib's stroke is about so wide
    resolution: float = RESOLUTION,
) -> DirectionField:
    """Find which way the tones run.

    Parameters
    ----------
    lightness : ndarray of float32, shape (H, W)
        L*.
    px_per_mm : float
    reach_mm : float
        Standard deviation of the Gaussian over which slopes are gathered.
    scale_mm : float, optional
        Lightness is smoothed by this first.
    resolution : float, optional
        Of the result, px/mm.

    Returns
    -------
    DirectionField

    Examples
    --------
    >>> stripes = np.tile(np.float32([0, 0, 50, 50]), (80, 20))
    >>> field = direction_field(stripes, 4.0, 2.0, scale_mm=0.2, resolution=4.0)
    >>> field.at(np.array([[10.0, 10.0]]))[0].round(2).__abs__().tolist()
    [[0.0, 1.0]]
    """
    small, px = shrunk(lightness, px_per_mm, resolution)
    mean_px = float(px.mean())
    light = cv2.GaussianBlur(small, (0, 0), scale_mm * mean_px)
    x = cv2.Scharr(light, cv2.CV_32F, 1, 0, scale=1 / 32)
    y = cv2.Scharr(light, cv2.CV_32F, 0, 1, scale=1 / 32)
    xx, yy, xy = (
        cv2.GaussianBlur(product, (0, 0), reach_mm * mean_px) for product in (x * x, y * y, x * y)
    )
    turn = 0.5 * np.arctan2(2 * xy, xx - yy) + np.float32(math.pi / 2)
    coherence = np.hypot(xx - yy, 2 * xy) / (xx + yy + np.float32(_NOTHING))
    along = np.stack([np.cos(turn), np.sin(turn)]).astype(np.float32)
    return DirectionField(along, np.asarray(coherence, np.float32), px)


def smoothed_along(
    lightness: NDArray[np.float32], field: DirectionField, along_mm: float
) -> NDArray[np.float32]:
    """Smooth lightness along its directions.

    Parameters
    ----------
    lightness : ndarray of float32, shape (H, W)
    field : DirectionField
    along_mm : float
        Standard deviation of the Gaussian along the streamline through each point.

    Returns
    -------
    ndarray of float32
        L*, in the field's resolution.
    """
    height, width = field.coherence.shape
    small = lightness
    if small.shape != (height, width):
        resized = cv2.resize(lightness, (width, height), interpolation=cv2.INTER_AREA)
        small = np.asarray(resized, np.float32)
    x0, y0 = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    sigma = along_mm * float(field.px_per_mm.mean())
    stride = np.float32(max(1.0, sigma / 3))
    along = np.ascontiguousarray(np.moveaxis(field.along, 0, 2))
    total, weights = small.copy(), 1.0
    for sign in (1, -1):
        x, y = x0.copy(), y0.copy()
        dx, dy = sign * field.along[0], sign * field.along[1]
        for step in range(1, math.ceil(2 * sigma / stride) + 1):
            x += dx * stride
            y += dy * stride
            weight = math.exp(-((step * stride) ** 2) / (2 * sigma**2))
            total += np.float32(weight) * cv2.remap(
                small, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
            )
            weights += weight
            there = cv2.remap(along, x, y, cv2.INTER_NEAREST, borderMode=cv2.BORDER_REPLICATE)
            # Directions have no sign: go on the way that was come.
            onward = np.copysign(np.float32(1), there[..., 0] * dx + there[..., 1] * dy)
            dx, dy = there[..., 0] * onward, there[..., 1] * onward
    return np.asarray(total / np.float32(weights), np.float32)
