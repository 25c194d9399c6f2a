"""Measure value zones on the wood: what the work plan reckons with."""

import math
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.tone.chains import Chains
from burnplan.tone.islands import islands_of
from burnplan.tone.lightness import check_wood_range, on_wood
from burnplan.tone.lines import Lines
from burnplan.tone.place import Placed
from burnplan.tone.zones import ZoneMap

TEXTURE_RADIUS_MM = 1.0
"""Detail finer than about this is texture, coarser is form (a guess: about a shading nib's
width)."""

TEXTURE_FULL = 12.0
"""Root-mean-square residual, L*, that counts as the strongest texture, 1 (our own scale)."""

# Points along a line that are asked for the zones beside them; a guess: finer than a shading nib's
# width.
_EVERY_MM = 0.5
_SIDE_MM = 0.75  # how far beside it; a guess: off the line's own width


@dataclass(frozen=True, slots=True)
class ZoneMeasure:
    """What one value zone holds.

    Parameters
    ----------
    zone : int
        1 is the darkest.
    area_cm2 : float
    darkness : float
        Mean darkness on the wood: 0 bare wood, 1 the darkest burn.
    texture : float
        0 smooth to 1 rough.
    islands : int
        Separate parts, joined through pixel sides.
    line_cm : float
        Length of the lines to trace of which it is the darker side; 0 until they are measured.
    """

    zone: int
    area_cm2: float
    darkness: float
    texture: float
    islands: int
    line_cm: float


def with_lines(
    measures: tuple[ZoneMeasure, ...], lines: Lines, zones: ZoneMap, px_per_mm: float
) -> tuple[ZoneMeasure, ...]:
    """Return measures of zones with the length of the lines that each is the darker side of.

    Parameters
    ----------
    measures : tuple of ZoneMeasure
    lines : Lines
    zones : ZoneMap
    px_per_mm : float

    Returns
    -------
    tuple of ZoneMeasure
    """
    line_cm = _line_by_darker_side(lines, zones, px_per_mm)
    return tuple(replace(one, line_cm=float(line_cm[one.zone])) for one in measures)


def measure_areas(
    placed: Placed, zones: ZoneMap, wood_lightness: float, burn_lightness: float
) -> tuple[ZoneMeasure, ...]:
    """Measure every value zone but for its lines.

    Parameters
    ----------
    placed : Placed
    zones : ZoneMap
    wood_lightness, burn_lightness : float
        L* of the bare wood and of its darkest burn.

    Returns
    -------
    tuple of ZoneMeasure
        One for each zone, darkest first; a zone that cleaning emptied has no
        area. Areas add up to the covered area of the outline, but for what is
        dropped out as background: that is bare wood and no work.

    Notes
    -----
    Darkness is ``(L_wood - L) / (L_wood - L_dark)`` with L the reference's
    lightness mapped onto the wood by :func:`burnplan.tone.lightness.on_wood`:
    reference white is bare wood, reference black the darkest burn.

    Texture is the root-mean-square of what remains of the lightness after its
    mean over about 2 mm, taken within the zone only so that edges of zones do
    not count, divided by 12 L* and held at 1.
    """
    check_wood_range(wood_lightness, burn_lightness)
    burned = placed.burned
    islands = islands_of(zones.labels)
    in_island = islands.sums(burned)
    pixels, light = (
        np.bincount(islands.label, weights=weights, minlength=zones.count + 1)
        for weights in (in_island, islands.sums(placed.lightness * burned))
    )
    islands_in = np.bincount(islands.label[in_island > 0], minlength=zones.count + 1)
    radius = max(1, round(TEXTURE_RADIUS_MM * placed.px_per_mm))

    result = []
    for zone in range(1, zones.count + 1):
        count = int(pixels[zone])
        darkness = texture = 0.0
        if count:
            # Mapping onto the wood is linear from 0 to 100: the mean goes where its pixels go.
            mean = float(on_wood(light[zone] / count, wood_lightness, burn_lightness))
            darkness = (wood_lightness - mean) / (wood_lightness - burn_lightness)
            mask = ((zones.labels == zone) & burned).view(np.uint8)
            texture = min(1.0, _residual(placed.lightness, mask, radius) / TEXTURE_FULL)
        result.append(
            ZoneMeasure(
                zone=zone,
                area_cm2=count * placed.pixel_area_mm2 / 100,
                darkness=min(max(darkness, 0.0), 1.0),
                texture=texture,
                islands=int(islands_in[zone]),
                line_cm=0.0,
            )
        )
    return tuple(result)


def _line_by_darker_side(lines: Lines, zones: ZoneMap, px_per_mm: float) -> NDArray[np.float64]:
    """Length of the lines that are traced by the zone on their darker side, cm."""
    drawn = Chains.of((line.points, line.closed) for line in lines.drawn)
    chains = drawn.resampled(_EVERY_MM)
    height, width = zones.labels.shape
    across = chains.normals() * _SIDE_MM
    darker = np.full(len(chains.xy), zones.count)
    for side in (across, -across, np.zeros_like(across)):
        column, row = np.floor((chains.xy + side) * px_per_mm).astype(np.intp).T
        here = zones.labels[row.clip(0, height - 1), column.clip(0, width - 1)]
        darker = np.where(here > 0, np.minimum(darker, here), darker)
    # The points stand for as much of their line each, which keeps the length it has.
    share = np.array([line.length_mm for line in lines.drawn]) / chains.sizes / 10
    weights = np.repeat(share, chains.sizes)
    return np.bincount(darker, weights, zones.count + 1).astype(np.float64)


def _residual(lightness: NDArray[np.float32], mask: NDArray[np.uint8], radius: int) -> float:
    """Root-mean-square of lightness less its local mean within a mask, L*."""
    left, top, width, height = cv2.boundingRect(mask)
    box = np.s_[top : top + height, left : left + width]
    light, within = lightness[box], mask[box]
    window = (2 * radius + 1, 2 * radius + 1)

    def total(values: NDArray[np.uint8 | np.float32]) -> NDArray[np.float32]:
        # In a window; nothing beyond the mask counts, in number as in value.
        sums = cv2.boxFilter(
            values, cv2.CV_32F, window, normalize=False, borderType=cv2.BORDER_CONSTANT
        )
        return np.asarray(sums, np.float32)

    mean = total(light * within)
    mean /= np.maximum(total(within), np.float32(1))
    return math.sqrt(cv2.norm(light, mean, cv2.NORM_L2SQR, within) / cv2.countNonZero(within))
