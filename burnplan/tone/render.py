"""Pictures of a reference: sepia, as the wood will hold it, its zones, its lines."""

import os

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from burnplan.files import written_whole
from burnplan.tone.lightness import on_wood, srgb_of_lab
from burnplan.tone.lines import Lines
from burnplan.tone.passes import Pressure
from burnplan.tone.place import Placed
from burnplan.tone.region import outline_mask
from burnplan.tone.zones import ZoneMap
from burnplan.units import MM_PER_INCH

# Stops of tonal scales as L*, a*, b*, darkest first: a dark brown that is not
# black, warmest in the shadows' upper half, cream at the light end (our own choice, by eye).
_SEPIA = ((4, 3, 4), (24, 10, 13), (50, 11, 20), (76, 6, 17), (98, 0.5, 4))
_CHAR = (7.0, 13.0)  # a*, b* of burned wood; our own estimate, by eye
WOOD_AB = (7.0, 21.0)  # a*, b* of pale bare wood; our own estimate, by eye
_PAPER = (255, 255, 255)  # by definition
LINE_RED = (196, 32, 38)  # our own choice: red shows on grey and on wood
_WEIGHT_MM = {
    Pressure.FIRM: 0.55,
    Pressure.LIGHT: 0.3,
    Pressure.LOST: 0.0,
}  # our own choice: as pens write
_SUBPIXEL_BITS = 4  # by definition


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


def sepia_of(lightness: float) -> tuple[int, int, int]:
    """Return the colour that a lightness L* has in sepia, sRGB."""
    red, green, blue = srgb_of_lab(_along([lightness], _SEPIA))[0].tolist()
    return red, green, blue


def wood_preview(
    placed: Placed,
    wood_lightness: float,
    burn_lightness: float,
    wood_ab: tuple[float, float] = WOOD_AB,
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
    return _toned(light, placed.inside, _wood_stops(wood_lightness, burn_lightness, wood_ab))


def burned_in(
    face: NDArray[np.uint8], placed: Placed, wood_lightness: float, burn_lightness: float
) -> NDArray[np.uint8]:
    """Return the photo as if burned into a photo of the wood itself: its grain shows through.

    Parameters
    ----------
    face : ndarray of uint8, shape (h, w, 3)
        The outline's bounding box from straight above, sRGB, under even light.
    placed : Placed
    wood_lightness, burn_lightness : float
        L* of the bare wood, as which the face is shown, and of its darkest burn.

    Returns
    -------
    ndarray of uint8, shape (H, W, 3)
        sRGB; bare wood where nothing is burned, white outside the outline.
    """
    shape = placed.inside.shape
    if face.shape[:2] != shape:
        face = np.asarray(cv2.resize(face, shape[::-1], interpolation=cv2.INTER_AREA), np.uint8)
    mask = outline_mask(placed.outline, shape, placed.px_per_mm)
    lab = np.asarray(cv2.cvtColor(face.astype(np.float32) / 255, cv2.COLOR_RGB2LAB), np.float32)
    lab[..., 0] += np.float32(wood_lightness - np.median(lab[..., 0][mask]))
    dark = np.where(placed.inside, 1 - placed.lightness / np.float32(100), np.float32(0))
    dark = np.clip(dark, 0, 1).astype(np.float32)
    for channel, end, hump in ((0, burn_lightness, 0), (1, _CHAR[0], 4), (2, _CHAR[1], 5)):
        # Scorched wood is redder than either end, as in :func:`wood_tones`.
        lab[..., channel] += dark * (np.float32(end) - lab[..., channel])
        lab[..., channel] += np.float32(hump) * (1 - np.abs(2 * dark - 1))
    lab[..., 0] = np.clip(lab[..., 0], 0, 100)
    rgb = np.clip(np.asarray(cv2.cvtColor(lab, cv2.COLOR_LAB2RGB)), 0, 1)
    picture = np.asarray(np.rint(rgb * 255), np.uint8)
    picture[~mask] = _PAPER
    return picture


def _wood_stops(
    wood_lightness: float, burn_lightness: float, wood_ab: tuple[float, float]
) -> tuple[tuple[float, float, float], ...]:
    middle = (wood_lightness + burn_lightness) / 2
    return (
        (burn_lightness, *_CHAR),
        # Scorched wood is redder than either end (toasted tones).
        (middle, (wood_ab[0] + _CHAR[0]) / 2 + 4, (wood_ab[1] + _CHAR[1]) / 2 + 5),
        (wood_lightness, *wood_ab),
    )


def wood_tones(
    lightness: ArrayLike,
    wood_lightness: float,
    burn_lightness: float,
    wood_ab: tuple[float, float] = WOOD_AB,
) -> NDArray[np.uint8]:
    """Return the colours of burned wood of some lightness, as :func:`wood_preview` has them.

    Parameters
    ----------
    lightness : array_like, shape (K,)
        L* on the wood.
    wood_lightness, burn_lightness : float
    wood_ab : tuple of float, optional

    Returns
    -------
    ndarray of uint8, shape (K, 3)
    """
    return srgb_of_lab(_along(lightness, _wood_stops(wood_lightness, burn_lightness, wood_ab)))


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


def sepia_tones(count: int) -> NDArray[np.uint8]:
    """Return colours of the sepia scale, evenly spaced in lightness from black to white.

    Parameters
    ----------
    count : int

    Returns
    -------
    ndarray of uint8, shape (count, 3)
    """
    return srgb_of_lab(_along(np.linspace(0, 100, count), _SEPIA))


def zone_map(zones: ZoneMap, placed: Placed | None = None) -> NDArray[np.uint8]:
    """Return the value zones in flat tones with a fine seam between them.

    Parameters
    ----------
    zones : ZoneMap
    placed : Placed, optional
        Tells what is left bare and belongs to no zone, which is white, and lettering.

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
    if placed is not None:
        if placed.bare is not None:
            rgb[placed.bare] = _PAPER
        if placed.lettered is not None:
            lettered = placed.lettered & placed.inside
            rgb[lettered] = srgb_of_lab(_along(placed.lightness[lettered], _SEPIA))
    alpha = np.where(zones.labels > 0, 255, 0).astype(np.uint8)
    return np.dstack([rgb, alpha])


# How much of the photo shows under lines: enough to know it by, and all lines stand out (our
# own choice, by eye); and pixels of the picture to one of the raster, so that lines are smooth
# where they are drawn on it (our own choice).
FAINT, _CRISP = 0.25, 2


def faint_photo(placed: Placed, faint: float = FAINT) -> NDArray[np.uint8]:
    """Return the photo so faint that lines show on it.

    Parameters
    ----------
    placed : Placed
    faint : float, optional
        How much of it shows, over 0 (none) to 1.

    Returns
    -------
    ndarray of uint8, shape (H, W, 3)
        sRGB; white outside.
    """
    darkest = 100 - 70 * faint
    ground = on_wood(placed.lightness, 100, darkest)
    return _toned(ground, placed.inside, ((darkest, 4, 12), (100, 0, 0)))


def trace_overlay(
    lines: Lines, placed: Placed, *, faint: float = FAINT, scale: int = _CRISP
) -> NDArray[np.uint8]:
    """Return the trace lines in red, weight by pressure, over a faint ground.

    Parameters
    ----------
    lines : Lines
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
    picture = faint_photo(placed, faint)
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
            cv2.polylines(picture, chains, closed, LINE_RED, width, cv2.LINE_AA, _SUBPIXEL_BITS)
    # Strokes are cut off square at the outline.
    outside = np.repeat(np.repeat(~placed.inside, scale, axis=0), scale, axis=1)
    picture[outside] = _PAPER
    return picture


def save_png(
    picture: NDArray[np.uint8],
    path: str | os.PathLike[str],
    px_per_mm: float,
    *,
    title: str = "",
) -> None:
    """Save a picture as PNG that prints at true size.

    Parameters
    ----------
    picture : ndarray of uint8, shape (H, W), (H, W, 3) or (H, W, 4)
    path : path
    px_per_mm : float
        Resolution written into the file.
    title : str
        What it is of, written into the file: by that an earlier one of the same is known,
        and replaced as a whole.

    Raises
    ------
    BadInput
        If the folder does not exist or the path is a folder.
    WouldReplace
        If something else is there.
    OperationFailed
        If writing fails.
    """
    dots = px_per_mm * MM_PER_INCH
    with written_whole(path) as unfinished:
        Image.fromarray(picture).save(
            unfinished, format="PNG", dpi=(dots, dots), pnginfo=png_label(title)
        )


def png_label(title: str) -> PngInfo:
    """Return what a PNG says of itself: what it is of, and that burnplan drew it."""
    facts = PngInfo()
    if title:
        facts.add_text("Title", title[:200])
        facts.add_text("Software", "burnplan")
    return facts


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
