"""Place a photo on a blank at true size.

The working raster lies on the wood, not on the photo: its pixels are
``1 / px_per_mm`` millimetres wide, pixel ``(row, column)`` has its centre at
``((column + 0.5) / px_per_mm, (row + 0.5) / px_per_mm)`` mm from the top left
corner of the outline's bounding box, so cost depends on the wood and not on
megapixels.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.lightness import lightness
from burnplan.tone.photo import Photo

PX_PER_MM = 4.0
"""Default resolution of the working raster: a quarter of a millimetre, finer than a nib."""

MAX_PIXELS = 8_000_000
"""Most pixels of the working raster; larger blanks are worked more coarsely."""

FEW_PX_PER_MM = 2.0
"""Fewer photo pixels than this on a millimetre of wood look soft."""


class Fit(StrEnum):
    """How a photo fills a blank."""

    FILL = "fill"
    WHOLE = "whole"


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a photo lies on a blank; as it stands, centred.

    Parameters
    ----------
    fit : Fit
        ``fill`` covers the outline's bounding box and crops what hangs over;
        ``whole`` shows the whole photo and leaves bare wood around it.
    quarter_turns : int
        Turns of the photo by 90° clockwise.
    """

    fit: Fit = Fit.FILL
    quarter_turns: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A photo placed on an outline at true size.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
        For display; white where the photo does not reach.
    lightness : ndarray of float32, shape (H, W)
        L* of the photo.
    inside : ndarray of bool, shape (H, W)
        Pixels inside the outline that the photo covers.
    px_per_mm : float
    outline : Outline
    source_px_per_mm : float
        Pixels of the original photo on a millimetre of wood.
    lost_fraction : float
        Share of the photo's area that falls outside the outline, 0 to 1.
    pixel_area_mm2 : float
        Area that one inside pixel stands for; the inside of a fully covered
        rectangle, round or oval adds up to its exact area.
    notes : tuple of str
    """

    rgb: NDArray[np.uint8]
    lightness: NDArray[np.float32]
    inside: NDArray[np.bool_]
    px_per_mm: float
    outline: Outline
    source_px_per_mm: float
    lost_fraction: float
    pixel_area_mm2: float
    notes: tuple[str, ...] = ()


def working_resolution(outline: Outline, px_per_mm: float = PX_PER_MM) -> float:
    """Return the resolution used on an outline, px/mm: as asked, or what the ceiling allows."""
    if not math.isfinite(px_per_mm) or not 0 < px_per_mm <= 100:
        raise BadInput(f"The resolution must be between 0 and 100 px/mm, not {px_per_mm:g}")
    return min(px_per_mm, math.sqrt(MAX_PIXELS / (outline.width_mm * outline.height_mm)))


def size_needed(
    photo_size: tuple[int, int],
    outline: Outline,
    placement: Placement | None = None,
    px_per_mm: float = PX_PER_MM,
) -> tuple[int, int]:
    """Return the size to which the photo shrinks on the wood, for :func:`open_photo`.

    Parameters
    ----------
    photo_size : tuple of int
        Width and height of the upright photo, pixels.
    outline : Outline
    placement : Placement, optional
    px_per_mm : float, optional

    Returns
    -------
    tuple of int
        Width and height in pixels, upright, before any quarter turn.

    Examples
    --------
    >>> size_needed((6000, 4000), Outline(OutlineKind.RECTANGLE, 300, 400))
    (2400, 1600)
    """
    placement = placement or Placement()
    turned = photo_size[::-1] if placement.quarter_turns % 2 else photo_size
    resolution = working_resolution(outline, px_per_mm)
    scale = _mm_per_px(turned, outline, placement.fit) * resolution
    return math.ceil(photo_size[0] * scale), math.ceil(photo_size[1] * scale)


def place(
    photo: Photo,
    outline: Outline,
    placement: Placement | None = None,
    px_per_mm: float = PX_PER_MM,
) -> Placed:
    """Place a photo on an outline.

    Parameters
    ----------
    photo : Photo
    outline : Outline
        Taken as given, never turned to suit the photo.
    placement : Placement, optional
        Centred and filling by default.
    px_per_mm : float, optional
        Resolution of the working raster.

    Returns
    -------
    Placed

    Raises
    ------
    BadInput
        If the resolution is out of range, or the outline holds none of the photo.
    """
    placement = placement or Placement()
    resolution = working_resolution(outline, px_per_mm)
    shape = (
        max(1, round(outline.height_mm * resolution)),
        max(1, round(outline.width_mm * resolution)),
    )
    turns = placement.quarter_turns % 4
    full_size = photo.full_size[::-1] if turns % 2 else photo.full_size
    mm_per_px = _mm_per_px(full_size, outline, placement.fit)
    rgb, covered = _resampled(photo.rgb, turns, shape, placement.fit)

    whole = outline_mask(outline, shape, resolution)
    inside = whole & covered
    if not inside.any():
        raise BadInput(
            "The outline holds nothing of the photo", "Check the corners of the live edge"
        )
    pixel_area = 1 / resolution**2
    if outline.kind is not OutlineKind.LIVE_EDGE:  # whose corners may lie beyond its size
        pixel_area = outline.area_mm2 / int(whole.sum())
    photo_area = full_size[0] * full_size[1] * mm_per_px**2
    lost = max(0.0, 1 - float(inside.sum()) * pixel_area / photo_area)

    return Placed(
        rgb=rgb,
        lightness=lightness(rgb),
        inside=inside,
        px_per_mm=resolution,
        outline=outline,
        source_px_per_mm=1 / mm_per_px,
        lost_fraction=lost,
        pixel_area_mm2=pixel_area,
        notes=_notes(full_size, outline, placement, 1 / mm_per_px, (resolution, px_per_mm)),
    )


def outline_mask(outline: Outline, shape: tuple[int, int], px_per_mm: float) -> NDArray[np.bool_]:
    """Return the pixels whose centre lies inside an outline.

    Parameters
    ----------
    outline : Outline
    shape : tuple of int
        Height and width in pixels.
    px_per_mm : float

    Returns
    -------
    ndarray of bool, shape (H, W)
    """
    y = (np.arange(shape[0]) + 0.5) / px_per_mm
    x = (np.arange(shape[1]) + 0.5) / px_per_mm
    if outline.kind in (OutlineKind.ROUND, OutlineKind.OVAL):
        across = (2 * x / outline.width_mm - 1) ** 2
        down = (2 * y / outline.height_mm - 1) ** 2
        return across[None, :] + down[:, None] <= 1
    if outline.kind is OutlineKind.LIVE_EDGE:
        return _polygon_mask(outline.points, shape, px_per_mm)
    return np.ones(shape, np.bool_)


def _polygon_mask(
    points: tuple[tuple[float, float], ...], shape: tuple[int, int], px_per_mm: float
) -> NDArray[np.bool_]:
    """Even-odd rule at pixel centres: each edge flips all that lies to its right."""
    height, width = shape
    flips = np.zeros((height, width + 1), np.uint8)
    corners = np.asarray(points, np.float64) * px_per_mm - 0.5  # in pixel-centre coordinates
    for (x0, y0), (x1, y1) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        if y0 == y1:
            continue
        low, high = min(y0, y1), max(y0, y1)
        rows = np.arange(max(0, math.ceil(low)), min(height, math.ceil(high)))
        crossing = x0 + (rows - y0) * (x1 - x0) / (y1 - y0)
        columns = np.clip(np.ceil(crossing), 0, width).astype(np.intp)
        flips[rows, columns] ^= 1
    return np.asarray(np.bitwise_xor.accumulate(flips, axis=1)[:, :width], np.bool_)


def _mm_per_px(size: tuple[int, int], outline: Outline, fit: Fit) -> float:
    """Millimetres of wood that a photo pixel covers."""
    across, down = outline.width_mm / size[0], outline.height_mm / size[1]
    return max(across, down) if fit is Fit.FILL else min(across, down)


def _resampled(
    rgb: NDArray[np.uint8], turns: int, shape: tuple[int, int], fit: Fit
) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
    """Scale and centre a photo on a raster; give colours and where the photo reaches."""
    turned = np.ascontiguousarray(np.rot90(rgb, -turns)) if turns else rgb
    height, width = shape
    across, down = width / turned.shape[1], height / turned.shape[0]
    scale = max(across, down) if fit is Fit.FILL else min(across, down)
    # Crop first, so that no more is resampled than is seen.
    seen_w = min(turned.shape[1], max(1, round(width / scale)))
    seen_h = min(turned.shape[0], max(1, round(height / scale)))
    left, top = (turned.shape[1] - seen_w) // 2, (turned.shape[0] - seen_h) // 2
    seen = turned[top : top + seen_h, left : left + seen_w]
    new_w = width if fit is Fit.FILL else min(width, max(1, round(seen_w * scale)))
    new_h = height if fit is Fit.FILL else min(height, max(1, round(seen_h * scale)))
    method = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    small = np.asarray(cv2.resize(seen, (new_w, new_h), interpolation=method), np.uint8)
    if (new_h, new_w) == shape:
        return small, np.ones(shape, np.bool_)
    result = np.full((*shape, 3), 255, np.uint8)
    covered = np.zeros(shape, np.bool_)
    y, x = (height - new_h) // 2, (width - new_w) // 2
    result[y : y + new_h, x : x + new_w] = small
    covered[y : y + new_h, x : x + new_w] = True
    return result, covered


def _notes(
    size: tuple[int, int],
    outline: Outline,
    placement: Placement,
    source_px_per_mm: float,
    resolutions: tuple[float, float],
) -> tuple[str, ...]:
    notes = []
    photo_wide, blank_wide = size[0] > size[1], outline.width_mm > outline.height_mm
    square = size[0] == size[1] or outline.width_mm == outline.height_mm
    if photo_wide != blank_wide and not square:
        photo_word, blank_word = (
            ("landscape", "portrait") if photo_wide else ("portrait", "landscape")
        )
        effect = "much is cropped" if placement.fit is Fit.FILL else "much wood stays bare"
        notes.append(f"The photo is {photo_word} and the blank {blank_word}, so {effect}")
    if source_px_per_mm < FEW_PX_PER_MM:
        notes.append(
            f"The photo has only {source_px_per_mm:.1f} pixels per mm at this size, "
            "so fine detail will be soft"
        )
    used, asked = resolutions
    if used < asked * 0.999:
        notes.append(f"A blank this large is worked at {used:.1f} px/mm instead of {asked:g}")
    return tuple(notes)
