"""Pictures of a reference: sepia, as the wood will hold it, its zones, its lines."""

import os
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray
from PIL import Image

from burnplan.errors import BadInput, OperationFailed
from burnplan.tone.lightness import on_wood, srgb_of_lab
from burnplan.tone.place import Placed
from burnplan.tone.trace import Pressure, TraceLines
from burnplan.tone.zones import ZoneMap

# Stops of tonal scales as L*, a*, b*, darkest first: a dark brown that is not
# black, warmest in the shadows' upper half, cream at the light end.
_SEPIA = ((4, 3, 4), (24, 10, 13), (50, 11, 20), (76, 6, 17), (98, 0.5, 4))
_CHAR = (7.0, 13.0)  # a*, b* of burned wood
_WOOD_AB = (7.0, 21.0)  # a*, b* of pale bare wood
_PAPER = (255, 255, 255)
_LINE_RED = (196, 32, 38)
_WEIGHT_MM = {Pressure.FIRM: 0.55, Pressure.LIGHT: 0.3, Pressure.LOST: 0.0}
_SUBPIXEL_BITS = 4


def sepia(placed: Placed) -> NDArray[np.uint8]:
    """Return the photo in sepia, its lightness kept.

    Parameters
    ----------
    placed : Placed

    Returns
    -------
    ndarray of uint8, shape (H, W, 3)
        sRGB; white outside.
    """
    return _toned(placed.lightness, placed.inside, _SEPIA)


def wood_preview(
    placed: Placed,
    wood_lightness: float,
    burn_lightness: float,
    wood_ab: tuple[float, float] = _WOOD_AB,
) -> NDArray[np.uint8]:
    """Return the photo as this wood can hold it, without grain.

    Parameters
    ----------
    placed : Placed
    wood_lightness, burn_lightness : float
        L* of the bare wood and of its darkest burn.
    wood_ab : tuple of float, optional
        a* and b* of the bare wood; pale wood by default.

    Returns
    -------
    ndarray of uint8, shape (H, W, 3)
        sRGB; bare wood where the photo does not reach, white outside the outline.
    """
    light = on_wood(placed.lightness, wood_lightness, burn_lightness)
    middle = (wood_lightness + burn_lightness) / 2
    stops = (
        (burn_lightness, *_CHAR),
        # Scorched wood is redder than either end (toasted tones).
        (middle, (wood_ab[0] + _CHAR[0]) / 2 + 4, (wood_ab[1] + _CHAR[1]) / 2 + 5),
        (wood_lightness, *wood_ab),
    )
    return _toned(light, placed.inside, stops)


def zone_palette(count: int) -> NDArray[np.uint8]:
    """Return a colour for each zone, evenly spaced in lightness, Z1 darkest.

    Parameters
    ----------
    count : int

    Returns
    -------
    ndarray of uint8, shape (count, 3)
    """
    tones = np.linspace(16, 94, count) if count > 1 else np.array([60.0])
    return srgb_of_lab(_along(tones, _SEPIA))


def zone_map(zones: ZoneMap) -> NDArray[np.uint8]:
    """Return the value zones in flat tones with a fine seam between them.

    Parameters
    ----------
    zones : ZoneMap

    Returns
    -------
    ndarray of uint8, shape (H, W, 4)
        sRGB and alpha; outside is white and fully transparent.
    """
    colours = np.concatenate([np.full((1, 3), 255, np.uint8), zone_palette(zones.count)])
    rgb = np.take(colours, zones.labels, axis=0)
    seam = np.zeros(zones.labels.shape, np.bool_)
    seam[:, 1:] |= zones.labels[:, 1:] > zones.labels[:, :-1]
    seam[1:] |= zones.labels[1:] > zones.labels[:-1]
    rgb[seam & (zones.labels > 0)] = (rgb[seam & (zones.labels > 0)] * 0.82).astype(np.uint8)
    alpha = np.where(zones.labels > 0, 255, 0).astype(np.uint8)
    return np.dstack([rgb, alpha])


def trace_overlay(
    lines: TraceLines, placed: Placed, *, faint: float = 0.25, scale: int = 2
) -> NDArray[np.uint8]:
    """Return the trace lines in red, weight by pressure, over a faint ground.

    Parameters
    ----------
    lines : TraceLines
    placed : Placed
    faint : float, optional
        How much of the photo shows, over 0 (none) to 1.
    scale : int, optional
        Pixels of the picture to a pixel of the working raster, for crisp lines.

    Returns
    -------
    ndarray of uint8, shape (scale·H, scale·W, 3)
        sRGB; lost lines are left open, outside is white.
    """
    darkest = 100 - 70 * faint
    ground = on_wood(placed.lightness, 100, darkest)
    picture = _toned(ground, placed.inside, ((darkest, 4, 12), (100, 0, 0)))
    if scale != 1:
        picture = np.asarray(
            cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_LINEAR), np.uint8
        )
    px_per_mm = placed.px_per_mm * scale
    for pressure in (Pressure.LIGHT, Pressure.FIRM):
        width = max(1, round(_WEIGHT_MM[pressure] * px_per_mm))
        for closed in (False, True):
            chains = [
                # cv2 counts from pixel centres, millimetres from the corner.
                np.rint((line.points * px_per_mm - 0.5) * 2**_SUBPIXEL_BITS).astype(np.int32)
                for line in lines.lines
                if line.pressure is pressure and line.closed is closed
            ]
            cv2.polylines(picture, chains, closed, _LINE_RED, width, cv2.LINE_AA, _SUBPIXEL_BITS)
    # Strokes are cut off square at the outline.
    outside = np.repeat(np.repeat(~placed.inside, scale, axis=0), scale, axis=1)
    picture[outside] = _PAPER
    return picture


def save_png(picture: NDArray[np.uint8], path: str | os.PathLike[str], px_per_mm: float) -> None:
    """Save a picture as PNG that prints at true size.

    Parameters
    ----------
    picture : ndarray of uint8, shape (H, W), (H, W, 3) or (H, W, 4)
    path : path
        Replaced as a whole if it exists.
    px_per_mm : float
        Resolution written into the file.

    Raises
    ------
    BadInput
        If the folder does not exist or the path is a folder.
    OperationFailed
        If writing fails.
    """
    target = Path(path)
    if target.is_dir():
        raise BadInput(f"{target} is a folder", "Give a file name, for example zones.png")
    if not target.parent.is_dir():
        raise BadInput(f"There is no folder {target.parent}", "Make it first")
    dots = px_per_mm * 25.4
    unfinished = target.with_name(f".{target.name}.part")
    try:
        Image.fromarray(picture).save(unfinished, format="PNG", dpi=(dots, dots))
        unfinished.replace(target)
    except OSError as error:
        unfinished.unlink(missing_ok=True)
        raise OperationFailed(
            f"{target} cannot be written ({error.strerror or 'disk error'})",
            "Check the folder's permissions and the free space",
        ) from error


def _toned(
    lightness: NDArray[np.float32],
    inside: NDArray[np.bool_],
    stops: tuple[tuple[float, float, float], ...],
) -> NDArray[np.uint8]:
    """Colour lightness along a scale of L*a*b* stops; white outside."""
    levels = np.linspace(0, 100, 1024)
    table = srgb_of_lab(_along(levels, stops))
    level = (lightness * np.float32(10.23) + np.float32(0.5)).astype(np.int16)
    picture: NDArray[np.uint8] = np.take(table, level, axis=0)
    picture[~inside] = _PAPER
    return picture


def _along(
    lightness: ArrayLike, stops: tuple[tuple[float, float, float], ...]
) -> NDArray[np.float64]:
    """L*a*b* on a scale of stops, at given L*; lightness itself is kept."""
    scale = np.asarray(stops, np.float64)
    tones = np.asarray(lightness, np.float64)
    a = np.interp(tones, scale[:, 0], scale[:, 1])
    b = np.interp(tones, scale[:, 0], scale[:, 2])
    return np.stack([tones, a, b], axis=1)
