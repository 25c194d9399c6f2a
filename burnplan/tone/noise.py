"""Noise and sharpness, measured in the photo, so that neither is taken for a line or a zone."""

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.tone.direction import shrunk
from burnplan.tone.edges import OWN_BLUR, edge_field
from burnplan.tone.place import Placed

BLOCKS = 24
"""Noise is measured in so many blocks along the longer side (a guess: tried on scikit-image's
photos)."""

QUIET = 0.2
"""Noise is that of the block at this share of all, from the quietest: where no texture is.
A guess: tried on scikit-image's photos."""

STRONGEST = 0.98
"""Sharpness is measured where the slope is among the steepest: above this share of all.
A guess: tried on scikit-image's photos."""

NOISE_LEFT = 0.5
"""Deviation of noise, L*, that zones do not show (a guess: tried on scikit-image's photos)."""

MOST_CALMED_MM = 0.6
"""Noise is smoothed by no wider a Gaussian: an edge of a zone is to stay where it is (a guess:
tried on scikit-image's photos)."""

# Pixels: below it smoothing does nothing; a guess: tried on scikit-image's photos.
_LEAST_SIGMA = 0.5
ENLARGED_KEEPS = 0.45
"""Share of its noise that a photo still shows once it was enlarged by cubic interpolation and
brought back (measured on white noise, 0.33 to 0.56 for factors of 1.1 to 5; this is the middle)."""

# Of the finer one in pixels, where its own blur is known; a guess: tried on scikit-image's photos.
_SCALE_MM, _SCALE_PX = 0.6, 1.4
# Rows and columns of a block, of which one is looked at; a guess: tried on scikit-image's photos.
_EVERY = 3
# L*: a fainter step is no edge to measure by; a guess: tried on scikit-image's photos.
_VISIBLE = 5.0
# L*: what is cut off at black or white has lost its noise; a guess: tried on scikit-image's photos.
_EXTREMES = (3.0, 97.0)


@dataclass(frozen=True, slots=True)
class Grain:
    """What a photo can be trusted with.

    Parameters
    ----------
    noise : float
        Standard deviation of L* from one of its pixels to the next that is no picture.
    pixel_mm : float
        Width of such a pixel on the wood, of the photo or of the raster, whichever is larger.
    """

    noise: float
    pixel_mm: float

    def step(self, scale_mm: float) -> float:
        """Return the deviation of an edge's strength by noise at a scale, L*.

        White noise of deviation n a pixel, smoothed by a Gaussian of s pixels, has
        slopes of deviation ``n / (s² √(8π))`` along each axis; as the step of a sharp
        edge that is ``n / 2s``.
        """
        return self.noise * self.pixel_mm / (2 * scale_mm)


def grain_of(placed: Placed, lightness: NDArray[np.float32] | None = None) -> Grain:
    """Measure the noise of a placed photo.

    By the mask of J. Immerkær, "Fast noise variance estimation", Computer Vision
    and Image Understanding 64(2), 1996, which no plane or straight edge along an
    axis passes, in blocks, as a median in each; of the quieter blocks, because
    texture is no noise.

    Parameters
    ----------
    placed : Placed
    lightness : ndarray of float32, shape (H, W), optional
        L* instead of the photo's, of the same shape.

    Returns
    -------
    Grain
    """
    light = placed.lightness if lightness is None else lightness
    own, px = shrunk(light, placed.px_per_mm, placed.source_px_per_mm)
    mask = np.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]], np.float32) / 6
    off = np.abs(np.asarray(cv2.filter2D(own, cv2.CV_32F, mask), np.float32))
    inside = cv2.resize(
        placed.inside.view(np.uint8), own.shape[::-1], interpolation=cv2.INTER_NEAREST
    )
    found, whole = block_medians(off, np.asarray(inside, np.bool_))
    light_of, _whole = block_medians(own, np.asarray(inside, np.bool_))
    whole &= (light_of > _EXTREMES[0]) & (light_of < _EXTREMES[1])
    level = float(np.quantile(found[whole], QUIET)) / 0.6745 if whole.any() else 0.0
    if placed.source_px_per_mm < placed.px_per_mm * 0.98:
        level /= ENLARGED_KEEPS
    return Grain(level, 1 / float(px.mean()))


def without_noise(
    placed: Placed, grain: Grain | None = None, left: float = NOISE_LEFT
) -> NDArray[np.float32]:
    """Smooth lightness as far as its noise asks for, before zones are made.

    Parameters
    ----------
    placed : Placed
    grain : Grain, optional
        Its own, if it has been measured.
    left : float, optional
        Deviation of noise that may stay, L*.

    Returns
    -------
    ndarray of float32, shape (H, W)
        L*; as it is where noise is too low to be seen in zones.

    Notes
    -----
    A Gaussian of deviation s leaves ``1 / (2 s √π)`` of white noise, s in the
    pixels that it lies in.
    """
    grain = grain or grain_of(placed)
    sigma_mm = min(grain.noise * grain.pixel_mm / (2 * math.sqrt(math.pi) * left), MOST_CALMED_MM)
    sigma = sigma_mm * placed.px_per_mm
    if sigma < _LEAST_SIGMA:
        return placed.lightness
    return np.asarray(cv2.GaussianBlur(placed.lightness, (0, 0), sigma), np.float32)


def block_medians(
    values: NDArray[np.float32], inside: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Return the median of each square of a raster, and whether it lies wholly inside.

    ``BLOCKS`` of them along the longer side; what is left over at the ends does not count.
    """
    side = max(8, math.ceil(max(inside.shape) / BLOCKS))
    rows, columns = (n // side for n in inside.shape)
    cut = np.s_[: rows * side, : columns * side]
    shape = rows, side, columns, side
    whole = np.asarray(inside[cut].reshape(shape).all(axis=(1, 3)), np.bool_)
    # Some pixels of each tell as much; an odd step, since what JPEG leaves has a period of eight.
    parts = values[cut].reshape(shape)[:, ::_EVERY, :, ::_EVERY].swapaxes(1, 2)
    parts = parts.reshape(rows, columns, len(range(0, side, _EVERY)) ** 2)
    return np.median(parts, axis=-1).astype(np.float64), whole


def blur_of(placed: Placed, lightness: NDArray[np.float32] | None = None) -> float:
    """Measure how soft the sharpest edges of a placed photo are.

    A step that a Gaussian of deviation b has softened appears, as an edge at
    the scale s, smaller by ``s / sqrt(s² + b²)``: two scales give b.

    Parameters
    ----------
    placed : Placed
    lightness : ndarray of float32, shape (H, W), optional

    Returns
    -------
    float
        Standard deviation on the wood, mm; at least a third of the photo's pixel.
    """
    light = placed.lightness if lightness is None else lightness
    least = 1 / (3 * min(placed.source_px_per_mm, placed.px_per_mm))
    small, px = shrunk(light, placed.px_per_mm, _SCALE_PX / _SCALE_MM)
    finest = float(px.mean())
    near, far = (
        edge_field(small, finest, scale_mm, finest) for scale_mm in (_SCALE_MM, 2 * _SCALE_MM)
    )
    # On the crests alone: beside them slopes fall with the scale whatever the photo's softness.
    crest = near.step >= cv2.dilate(near.step, np.ones((3, 3), np.uint8))
    crest &= near.step >= max(float(np.quantile(near.step[::2, ::2], STRONGEST)), _VISIBLE)
    if not crest.any():
        return least
    ratio = near.step[crest] / np.maximum(far.step[crest], np.float32(1e-6))
    # ratio² = s²/(s²+b²) · (4s²+b²)/4s², solved for b².
    squared = float(np.median(ratio)) ** 2
    if squared >= 1:
        return least
    square = 4 * _SCALE_MM**2 * (1 - squared) / max(4 * squared - 1, 0.5)
    square -= OWN_BLUR / finest**2
    return max(least, math.sqrt(max(square, 0.0)))
