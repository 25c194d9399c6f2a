"""Pictures of a reference: sepia, on the wood, its zones, its trace lines.

Each returns sRGB, shape (height, width, 3), uint8, white off the wood.
"""

from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

from burnplan.errors import OperationFailed
from burnplan.tone.lightness import Lightness
from burnplan.tone.place import Placed
from burnplan.tone.trace import Pressure, TraceLine
from burnplan.tone.zones import ZoneMap

Picture = npt.NDArray[np.uint8]

# a* and b* of toned prints and of scorched wood: warm, most so in the middle.
_SEPIA_AB = (9.0, 22.0)
_RED = (196, 30, 36)
_WEIGHT_MM = {Pressure.FIRM: 0.7, Pressure.LIGHT: 0.35}


def _warm_ramp(darkest: float, lightest: float) -> Picture:
    """Return 256 warm colours from one L* to another."""
    light = np.linspace(darkest, lightest, 256, dtype=np.float32)
    warmth = np.sqrt(np.clip(1 - ((light - 55) / 60) ** 2, 0.05, 1))
    lab = np.stack([light, _SEPIA_AB[0] * warmth, _SEPIA_AB[1] * warmth], 1)[None]
    rgb = cv2.cvtColor(lab.astype(np.float32), cv2.COLOR_Lab2RGB)[0]
    return np.asarray((rgb * 255).round().clip(0, 255), np.uint8)


def _tinted(values: Lightness, inside: npt.NDArray[np.bool_], ramp: Picture) -> Picture:
    picture: Picture = ramp[np.clip(values * 2.55, 0, 255).astype(np.uint8)]
    picture[~inside] = 255
    return picture


def sepia(placed: Placed) -> Picture:
    """Return the reference in sepia, its values as they are."""
    return _tinted(placed.lightness, placed.inside, _warm_ramp(4, 97))


def on_wood(placed: Placed, bare_lightness: float, darkest_burn: float) -> Picture:
    """Return the reference with its values squeezed into what the wood can hold.

    Parameters
    ----------
    placed : Placed
    bare_lightness, darkest_burn : float
        L* of the fresh wood and of the darkest burn on it.
    """
    return _tinted(placed.lightness, placed.inside, _warm_ramp(darkest_burn, bare_lightness))


def zone_map(zones: ZoneMap, *, edges: bool = True) -> Picture:
    """Return the zones as flat tones, darkest Z1, with a thin edge between them."""
    tones = np.linspace(12, 92, zones.count) if zones.count > 1 else np.array([50.0])
    values = np.concatenate([[100.0], tones]).astype(np.float32)[zones.labels]
    picture = _tinted(values, zones.labels > 0, _warm_ramp(4, 97))
    if edges:
        fine = np.zeros(zones.labels.shape, bool)
        fine[:, 1:] |= zones.labels[:, 1:] != zones.labels[:, :-1]
        fine[1:] |= zones.labels[1:] != zones.labels[:-1]
        fine &= zones.labels > 0
        picture[fine] = (picture[fine] * 0.82).astype(np.uint8)
    return picture


def traced(placed: Placed, lines: tuple[TraceLine, ...]) -> Picture:
    """Return the reference, faded, under the lines to trace; lost edges left open."""
    faded = sepia(placed).astype(np.float32)
    picture = (255 - (255 - faded) * 0.38).astype(np.uint8)
    for line in lines:
        if line.pressure is Pressure.LOST:
            continue
        weight = max(1, round(_WEIGHT_MM[line.pressure] * placed.px_per_mm))
        fixed = np.round((line.points * placed.px_per_mm - 0.5) * 16).astype(np.int32)
        cv2.polylines(
            picture,
            [fixed],
            isClosed=False,
            color=_RED,
            thickness=weight,
            lineType=cv2.LINE_AA,
            shift=4,
        )
    return picture


def save_png(picture: Picture, path: Path, *, px_per_mm: float | None = None) -> None:
    """Write a picture as PNG, with its true size when known.

    Raises
    ------
    OperationFailed
        If it cannot be written.
    """
    dpi = {} if px_per_mm is None else {"dpi": (px_per_mm * 25.4, px_per_mm * 25.4)}
    try:
        Image.fromarray(picture).save(path, "PNG", optimize=True, **dpi)
    except OSError as error:
        raise OperationFailed(
            f"Cannot write '{path}': {error.strerror or error}", "Check the folder and its space"
        ) from error
