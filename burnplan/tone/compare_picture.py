"""The picture of a comparison: the piece in greys, what is too light or too dark in colour."""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from burnplan.tone.compare import PieceOnPlan
from burnplan.tone.typeface import face as face_of

TOO_LIGHT, TOO_DARK = (30, 96, 200), (216, 72, 20)
"""Colours of what is too light and too dark (our own choice: blue and orange, told apart by the
colour-blind too)."""

_FULL = 0.35  # darkness off, at which the colour is full; our own choice
_SIDE = 1100  # longer side, pixels, at least; our own choice
_NUMBER = 24  # height of the numbers, pixels; our own choice


def off_picture(
    piece: PieceOnPlan,
    off: NDArray[np.float32],
    tolerance: float,
    px_per_mm: float,
    inside: NDArray[np.bool_],
    too_light: Sequence[tuple[float, float]],
    too_dark: Sequence[tuple[float, float]],
) -> NDArray[np.uint8]:
    """Return the piece with all that is off coloured and the named places numbered.

    Too light is blue and too dark orange, the stronger the farther off. The numbers are
    those of the list: too light first, in the order of each.

    Parameters
    ----------
    piece : PieceOnPlan
    off : ndarray of float32, shape (H, W)
    tolerance : float
    px_per_mm : float
    inside : ndarray of bool, shape (H, W)
        The wood.
    too_light, too_dark : sequence of (float, float)
        Where the named places are, mm.

    Returns
    -------
    ndarray of uint8, shape (sH, sW, 3)
        sRGB, of a whole multiple of the raster.
    """
    tone = np.clip(1 - piece.darkness, 0, 1) * np.float32(190) + np.float32(50)
    colour = np.repeat(tone[..., None], 3, axis=2)
    beyond = np.abs(off) > np.float32(tolerance)
    share = np.where(beyond, np.clip(np.abs(off) / _FULL, 0.35, 1), 0)[..., None] * 0.85
    hue = np.where((off < 0)[..., None], np.array(TOO_LIGHT), np.array(TOO_DARK))
    painted = (colour * (1 - share) + hue * share).astype(np.uint8)
    painted[~inside] = 255
    scale = max(1, -(-_SIDE // max(off.shape)))
    large = cv2.resize(painted, None, fx=scale, fy=scale, interpolation=cv2.INTER_LINEAR)
    picture = Image.fromarray(np.asarray(large, np.uint8))
    draw, face = ImageDraw.Draw(picture), face_of("Semibold", _NUMBER)
    for number, (x, y) in enumerate((*too_light, *too_dark), start=1):
        at = x * px_per_mm * scale, y * px_per_mm * scale
        ink = TOO_LIGHT if number <= len(too_light) else TOO_DARK
        draw.text(at, str(number), ink, face, "mm", stroke_width=4, stroke_fill=(255, 255, 255))
    return np.asarray(picture, np.uint8)
