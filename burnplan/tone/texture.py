"""Texture: what the surroundings of an edge have everywhere.

Cells of the visual cortex answer less to an edge among many like it; so does an
artist, who draws the outline of fur and not its hairs (C. Grigorescu, N. Petkov,
M. Westenberg, IEEE Trans. Image Processing 12(7), 2003).
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.tone.direction import shrunk
from burnplan.tone.edges import EdgeField

RING_MM = (1.5, 6.0)
"""What lies around: nearer than the first is the edge itself, beyond the second is elsewhere.
A guess: tried on scikit-image's photos."""

STRONG = 12.0
"""A stronger step around, L*, counts no more: an outline is not to kill what is near it.
A guess: tried on scikit-image's photos."""

DENSE = (3.0, 7.0)
"""Mean step around, L*, from which it begins to be texture, and is wholly (a guess: tried on
scikit-image's photos)."""

SPOT_MM = 5.0
"""What lies around a spot, as an eye or a mouth is in a face, on a piece of 20 × 25 cm."""

SPOT_DETAIL_MM = 1.0
"""What is finer than this is detail: where there is much, a spot is part of a texture (a guess:
tried on scikit-image's photos)."""

SPOT_PX = 2.0
"""Detail in pixels of the raster that spots are looked for in (a guess: tried on scikit-image's
photos)."""


def surroundings(field: EdgeField, size: tuple[int, int]) -> NDArray[np.float32]:
    """Return the mean step around each point, L*.

    Parameters
    ----------
    field : EdgeField
    size : tuple of int
        Columns and rows of the result: a pixel a millimetre is enough for means over several.

    Returns
    -------
    ndarray of float32
        By two Gaussians, one less the other, so that what is at the point does not count.
    """
    capped = np.minimum(field.step, np.float32(STRONG))
    coarse = cv2.resize(capped, size, interpolation=cv2.INTER_AREA)
    px_per_mm = float(field.px_per_mm.mean()) * size[0] / capped.shape[1]
    near, far = RING_MM
    inner, outer = (cv2.GaussianBlur(coarse, (0, 0), sigma * px_per_mm) for sigma in RING_MM)
    around = (outer * far**2 - inner * near**2) / (far**2 - near**2)
    return np.asarray(np.maximum(around, 0), np.float32)


def spots(
    field: EdgeField, reach_mm: float = SPOT_MM
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return how light it is around each pixel, and how restless, both L*.

    What is darker than its surroundings by more than they are restless is a spot, as an
    eye, a nostril or a mouth is in a face.

    Parameters
    ----------
    field : EdgeField
    reach_mm : float, optional
        How far around.

    Returns
    -------
    light, restless : ndarray of float32
        On a raster of their own, coarser than the field.
    """
    coarse, px = shrunk(field.light, float(field.px_per_mm.mean()), SPOT_PX / SPOT_DETAIL_MM)
    px_per_mm = float(px.mean())
    detail = np.abs(coarse - cv2.GaussianBlur(coarse, (0, 0), SPOT_DETAIL_MM * px_per_mm))
    light, restless = (_mean_around(raster, px_per_mm, reach_mm) for raster in (coarse, detail))
    return light, restless


def density(around: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return how much of a texture there is, 0 (none) to 1, from the mean step around."""
    low, high = DENSE
    share = (around - np.float32(low)) / np.float32(high - low)
    return np.asarray(np.clip(share, 0, 1), np.float32)


def _mean_around(
    raster: NDArray[np.float32], px_per_mm: float, reach_mm: float
) -> NDArray[np.float32]:
    """Return means by a Gaussian, on no finer a raster than they need."""
    small, px = shrunk(raster, px_per_mm, 2 * SPOT_PX / reach_mm)
    blurred = cv2.GaussianBlur(small, (0, 0), reach_mm * float(px.mean()))
    return np.asarray(blurred, np.float32)
