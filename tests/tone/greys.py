"""Greys of a known lightness, for drawn pictures."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from burnplan.tone.lightness import luminance_of_lightness


def grey_of_lightness(lightness: ArrayLike) -> NDArray[np.uint8]:
    """Return the sRGB grey, 0-255, nearest to a lightness L*."""
    y = luminance_of_lightness(lightness)
    code = np.where(y <= 0.0031308, 12.92 * y, 1.055 * np.clip(y, 0, None) ** (1 / 2.4) - 0.055)
    grey: NDArray[np.uint8] = np.rint(np.clip(code, 0, 1) * 255).astype(np.uint8)
    return grey
