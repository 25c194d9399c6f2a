"""Ticks: thin short lines that show which way to lay burn strokes; not to be traced."""

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.tone.chains import Chains
from burnplan.tone.direction import direction_field, shrunk
from burnplan.tone.edges import EdgeField, edge_field, sampled
from burnplan.tone.lines import Lines
from burnplan.tone.place import Placed
from burnplan.tone.strokes import STEP_MM, lying_within
from burnplan.tone.style import enlarged
from burnplan.tone.texture import STRONG

EVERY_MM = 6.0
"""Distance between ticks on a piece of 20 × 25 cm; a larger one has fewer."""

LONG_MM = 6.0
"""Length of a tick on such a piece."""

LEAST_COHERENCE = 0.35
"""Where directions agree less than this a texture runs no way (a guess: tried on scikit-image's
photos)."""

LEAST_TEXTURE = 2.0
"""Mean step, L*, of what is textured at all (a guess: tried on scikit-image's photos)."""

CLEAR_MM = 1.2
"""Ticks keep this far off lines (a guess: tried on scikit-image's photos)."""

_SCALE_MM = 0.3  # a guess: tried on scikit-image's photos
_REACH_MM = 2.5  # over which a direction is gathered, on a piece of 20 × 25 cm
_LINE_MM = 1.0  # beside a line, its own slope; a guess: tried on scikit-image's photos
_RESOLUTION = 2.0  # px/mm; a guess: tried on scikit-image's photos


def direction_ticks(placed: Placed, lines: Lines | None = None) -> tuple[NDArray[np.float64], ...]:
    """Return ticks along the textures of a placed photo.

    Parameters
    ----------
    placed : Placed
    lines : Lines, optional
        What is traced: ticks keep off it.

    Returns
    -------
    tuple of ndarray of float64, each of shape (K, 2)
        Open lines, x and y in mm.
    """
    outline, px = placed.outline, placed.px_per_mm
    larger = enlarged(outline)
    every, half = EVERY_MM * larger, LONG_MM * larger / 2
    small, small_px = shrunk(placed.lightness, px, _RESOLUTION / larger)
    mean_px = float(small_px.mean())
    field = direction_field(small, mean_px, _REACH_MM * larger, scale_mm=_SCALE_MM * larger)
    fine = edge_field(small, mean_px, max(_SCALE_MM * larger, 0.8 / mean_px))
    texture = _texture(fine, lines)

    seeds = _staggered(outline.width_mm, outline.height_mm, every)
    way, coherence = field.at(seeds)
    kept = coherence >= LEAST_COHERENCE
    kept &= sampled(texture, seeds * fine.px_per_mm) >= LEAST_TEXTURE
    seeds, way = seeds[kept], way[kept]
    parts = []
    for sign in (-1.0, 1.0):
        at, heading, walked = seeds, way * sign, [seeds]
        for _ in range(round(half / STEP_MM / 2)):
            at = at + heading * STEP_MM * 2
            walked.append(at)
            onward, _coherence = field.at(at)
            back = np.sum(onward * heading, axis=1) < 0
            heading = np.where(back[:, None], -onward, onward)
        parts.append(np.stack(walked, axis=1))
    ticks = np.concatenate([parts[0][:, :0:-1], parts[1]], axis=1)  # from one end to the other
    count, long = ticks.shape[:2]
    if not count:
        return ()
    chains = Chains(ticks.reshape(-1, 2), np.arange(count + 1) * long, np.zeros(count, np.bool_))
    free = _burned(placed, chains.xy)
    if lines is not None and lines.lines:
        drawn = Chains.of((line.points, line.closed) for line in lines.drawn).resampled(STEP_MM)
        size_mm = outline.width_mm, outline.height_mm
        free &= ~lying_within(chains.xy, drawn, size_mm, CLEAR_MM)
    whole = chains.means(free) == 1
    return tuple(ticks[whole])


def _texture(field: EdgeField, lines: Lines | None) -> NDArray[np.float32]:
    """Mean step around each pixel, L*, but for what is drawn as lines: that is no texture."""
    counted = np.ones(field.step.shape, np.uint8)
    wide = 2 * math.ceil(_LINE_MM * float(field.px_per_mm.mean())) + 1
    for line in lines.drawn if lines is not None else ():
        at = np.rint((line.points * field.px_per_mm - 0.5) * 16).astype(np.int32)  # sixteenths
        cv2.polylines(counted, [at], line.closed, 0, wide, cv2.LINE_8, 4)
    capped = np.minimum(field.step, np.float32(STRONG)) * counted
    sigma = _REACH_MM * float(field.px_per_mm.mean())
    share = cv2.GaussianBlur(counted.astype(np.float32), (0, 0), sigma)
    mean = cv2.GaussianBlur(capped, (0, 0), sigma) / np.maximum(share, np.float32(0.05))
    return np.asarray(mean, np.float32)


def _staggered(width: float, height: float, every: float) -> NDArray[np.float64]:
    """Points of rows of which every other one is shifted by half."""
    rows = np.arange(every / 2, height, every)
    columns = np.arange(every / 2, width, every)
    x = columns[None, :] + (np.arange(len(rows)) % 2)[:, None] * every / 2
    y = np.broadcast_to(rows[:, None], x.shape)
    points = np.stack([x.ravel(), y.ravel()], axis=1)
    return points[points[:, 0] < width]


def _burned(placed: Placed, xy: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether points lie where anything is burned."""
    height, width = placed.inside.shape
    at = np.floor(xy * placed.px_per_mm).astype(np.intp)
    beyond = (at < 0).any(axis=1) | (at[:, 0] >= width) | (at[:, 1] >= height)
    row, column = at[:, 1].clip(0, height - 1), at[:, 0].clip(0, width - 1)
    return np.asarray(placed.burned[row, column] & ~beyond, np.bool_)
