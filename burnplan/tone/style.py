"""Styles: what a detail asked for means on one piece and photo, in mm and L*.

The scale follows the size of the piece and the detail, and is never finer than the
photo's own sharpness and noise allow.
"""

import dataclasses
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from burnplan.outline import Outline
from burnplan.passes import Detail
from burnplan.tone.noise import Grain


@dataclass(frozen=True, slots=True)
class Style:
    """What a detail means on a piece; chosen by eye, no source.

    Parameters
    ----------
    scale_mm : float
        Scale of edges.
    along_mm : float
        How far lightness is smoothed along the way it runs.
    limits : tuple of float
        Lower and upper limit of the strength of a line, L*.
    held : float
        Share of the mean step around an edge that is taken off its own.
    shortest_mm : float
        Shortest line.
    least : float
        Least strength × √length, L*·√mm.
    apart_mm : float
        Lines nearer to each other are one.
    blur_mm : float
        How soft the sharpest edges of the photo are.
    """

    scale_mm: float
    along_mm: float
    limits: tuple[float, float]
    held: float
    shortest_mm: float
    least: float
    apart_mm: float
    blur_mm: float = 0.0


STYLES = {
    Detail.CALM: Style(0.4, 2.0, (2.8, 8.0), 0.7, 6.5, 21.0, 1.4),
    Detail.USUAL: Style(0.3, 1.5, (2.8, 8.0), 0.6, 5.5, 18.0, 1.3),
    Detail.FINE: Style(0.25, 0.8, (2.3, 5.0), 0.3, 4.0, 10.0, 0.9),
}
"""Styles on a piece of 20 × 25 cm."""

STYLES_FOR_MM = math.sqrt(200 * 250)
"""Side of a square as large as the piece that styles are given for."""

MOST_SCALE_MM = 2.0  # a guess: tried on scikit-image's photos

# The limits are at least so many deviations of the noise; a guess: tried on scikit-image's photos.
_NOISE_LIMITS = (3.5, 5.0)
# The same of what is found where the photo is quietest; a guess: tried on scikit-image's photos.
_QUIET_LIMITS = (3.5, 6.0)
# A guess, tried on scikit-image's photos:
_NOISIEST = 1.6  # and no more than so many times what they are without noise: it may be texture
# L*: the scale grows until noise makes no more than this; a guess: tried on scikit-image's photos.
_NOISE_STEP = 2.0
_SIZE_POWER = 0.5  # a piece four times as wide is seen from farther off: twice the scale
# A guess, tried on scikit-image's photos:
_CONTRAST_AT, _FULL_CONTRAST = 0.95, 16.0  # of a photo at whose strength, L*, limits are whole
_PALEST = 0.5  # most that they fall, as a share; a guess: tried on scikit-image's photos
# A guess, tried on scikit-image's photos:
_LEAST_LIMITS = (2.0, 4.5)  # L*: nor do they fall below these, which blocks of JPEG pass seldom


def enlarged(outline: Outline) -> float:
    """Return by what factor lengths of a style grow on a piece.

    Examples
    --------
    >>> from burnplan.outline import OutlineKind
    >>> enlarged(Outline(OutlineKind.RECTANGLE, 800, 1000))
    2.0
    """
    larger = math.sqrt(outline.width_mm * outline.height_mm) / STYLES_FOR_MM
    return float(larger**_SIZE_POWER)


def style_for(detail: Detail, outline: Outline, blur_mm: float, grain: Grain) -> Style:
    """Return the style of a detail for a piece's size and a photo's sharpness and noise."""
    style, larger = STYLES[detail], enlarged(outline)
    scale = math.hypot(style.scale_mm * larger, blur_mm)
    scale = min(max(scale, grain.step(1.0) / _NOISE_STEP), MOST_SCALE_MM)
    return dataclasses.replace(
        style,
        scale_mm=scale,
        along_mm=style.along_mm * larger,
        shortest_mm=style.shortest_mm * larger,
        least=style.least * math.sqrt(larger),
        blur_mm=blur_mm,
    )


def for_contrast(style: Style, strength: NDArray[np.float32], grain: Grain, quiet: float) -> Style:
    """Return a style whose limits are lower where the photo's own edges are faint.

    Nor do they lie within its noise: that from pixel to pixel, and what is
    everywhere at the scale of lines, as noise is that JPEG has blurred.

    Parameters
    ----------
    style : Style
    strength : ndarray of float32
        Of edges, L*, at points all over the piece.
    grain : Grain
    quiet : float
        Deviation of steps where the photo is quietest, L*.
    """
    if not strength.size:
        return style
    contrast = float(np.quantile(strength, _CONTRAST_AT)) / _FULL_CONTRAST
    paler = min(max(math.sqrt(contrast), _PALEST), 1.0)
    noise = grain.step(style.scale_mm)
    low, high = (
        max(limit * paler, least, times * noise, min(more * quiet, _NOISIEST * limit))
        for limit, least, times, more in zip(
            style.limits, _LEAST_LIMITS, _NOISE_LIMITS, _QUIET_LIMITS, strict=True
        )
    )
    return dataclasses.replace(style, limits=(low, high), least=style.least * paler)
