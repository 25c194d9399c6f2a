"""Measure value zones on the wood: what the work plan reckons with."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.tone.lightness import check_wood_range, on_wood
from burnplan.tone.place import Placed
from burnplan.tone.trace import TraceLines
from burnplan.tone.zones import ZoneMap, islands_of

TEXTURE_RADIUS_MM = 1.0
"""Detail finer than about this is texture, coarser is form."""

TEXTURE_FULL = 12.0
"""Root-mean-square residual, L*, that counts as the strongest texture, 1 (our own scale)."""


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
        Length of the boundaries of which it is the darker side, all pressures.
    """

    zone: int
    area_cm2: float
    darkness: float
    texture: float
    islands: int
    line_cm: float


def measure(
    placed: Placed,
    zones: ZoneMap,
    lines: TraceLines,
    wood_lightness: float,
    burn_lightness: float,
) -> tuple[ZoneMeasure, ...]:
    """Measure every value zone.

    Parameters
    ----------
    placed : Placed
    zones : ZoneMap
    lines : TraceLines
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
    labels = zones.labels
    size = zones.count + 1
    parts, zone_of_part = islands_of(labels, zones.count)
    if placed.bare is not None:
        labels = np.where(placed.bare, 0, labels).astype(np.uint8)
        counted = np.zeros(len(zone_of_part), np.bool_)
        counted[parts[labels > 0]] = True
        zone_of_part = zone_of_part[counted]
    islands = np.bincount(zone_of_part, minlength=size)
    flat = labels.ravel()
    pixels = np.bincount(flat, minlength=size)
    on_it = on_wood(placed.lightness, wood_lightness, burn_lightness)
    sums = np.bincount(flat, weights=on_it.ravel(), minlength=size)
    radius = max(1, round(TEXTURE_RADIUS_MM * placed.px_per_mm))

    result = []
    for zone in range(1, size):
        count = int(pixels[zone])
        darkness = texture = 0.0
        if count:
            darkness = (wood_lightness - sums[zone] / count) / (wood_lightness - burn_lightness)
            residual = _residual(placed.lightness, labels == zone, radius)
            texture = min(1.0, residual / TEXTURE_FULL)
        result.append(
            ZoneMeasure(
                zone=zone,
                area_cm2=count * placed.pixel_area_mm2 / 100,
                darkness=float(min(max(darkness, 0.0), 1.0)),
                texture=texture,
                islands=int(islands[zone]),
                line_cm=lines.length_cm(boundary=zone),
            )
        )
    return tuple(result)


def _residual(lightness: NDArray[np.float32], mask: NDArray[np.bool_], radius: int) -> float:
    """Root-mean-square of lightness less its local mean within a mask, L*."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    box = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    weight = mask[box].astype(np.float32)
    values = lightness[box] * weight
    window = (2 * radius + 1, 2 * radius + 1)
    border = cv2.BORDER_CONSTANT  # nothing beyond counts, in weight as in value
    share = cv2.boxFilter(weight, -1, window, borderType=border)
    mean = cv2.boxFilter(values, -1, window, borderType=border) / np.maximum(share, 1e-6)
    left_over = ((values - mean) * weight).astype(np.float64)
    return float(np.sqrt(np.vdot(left_over, left_over) / weight.sum(dtype=np.float64)))
