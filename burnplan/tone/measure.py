"""What a zone asks of the burner: how large, how dark, how busy."""

from dataclasses import dataclass

import numpy as np

from burnplan.tone.place import Placed
from burnplan.tone.trace import TraceLine
from burnplan.tone.zones import ZoneMap, islands

# Residual of this many L*, root mean square, counts as full texture: dense fur
# or foliage reaches about this (own measurement on sample photos).
FULL_TEXTURE = 8.0


@dataclass(frozen=True, slots=True)
class ZoneMeasure:
    """One zone of a reference, measured.

    Parameters
    ----------
    zone : int
        1 darkest.
    area_cm2 : float
    darkness : float
        Mean of (bare wood − value) / (bare wood − darkest burn), 0 to 1.
        Photo white stands for bare wood and photo black for the darkest burn
        with L* in proportion between, so this is 1 − L*/100 on any wood.
    texture : float
        What the pen must put back after smoothing, 0 flat to 1 dense fur.
    islands : int
        Separate pieces.
    line_cm : float
        Boundaries with lighter zones; each boundary counts for its darker side.
    """

    zone: int
    area_cm2: float
    darkness: float
    texture: float
    islands: int
    line_cm: float


def measure(
    placed: Placed, zones: ZoneMap, lines: tuple[TraceLine, ...]
) -> tuple[ZoneMeasure, ...]:
    """Measure every zone, darkest first."""
    flat = zones.labels.ravel()
    size = zones.count + 1
    pixels = np.bincount(flat, minlength=size)
    light = np.bincount(flat, placed.lightness.ravel(), size)
    rough = np.bincount(flat, (placed.lightness - zones.smooth).ravel() ** 2, size)
    area_of_pixel = placed.outline.area_cm2 / max(1, int(pixels[1:].sum()))
    line_mm = np.zeros(size)
    for line in lines:
        line_mm[line.darker] += line.length_mm
    return tuple(
        ZoneMeasure(
            zone=zone,
            area_cm2=float(pixels[zone] * area_of_pixel),
            darkness=float(1 - light[zone] / count / 100),
            texture=float(min(1.0, np.sqrt(rough[zone] / count) / FULL_TEXTURE)),
            islands=len(islands(zones.labels, zone)),
            line_cm=float(line_mm[zone] / 10),
        )
        for zone in range(1, size)
        for count in [max(1, int(pixels[zone]))]
    )
