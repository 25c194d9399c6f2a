"""Place a photo on a blank at true size.

The working raster lies on the wood, not on the photo: its pixels are
``1 / px_per_mm`` millimetres wide, pixel ``(row, column)`` has its centre at
``((column + 0.5) / px_per_mm, (row + 0.5) / px_per_mm)`` mm from the top left
corner of the outline's bounding box, so cost depends on the wood and not on
megapixels.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.areas import MarkedArea
from burnplan.tone.lightness import lightness
from burnplan.tone.photo import Photo
from burnplan.tone.placement import Fit, Placement
from burnplan.tone.position import Position, position_on
from burnplan.tone.region import area_of, outline_mask, polygon_mask
from burnplan.units import FEW_PX_PER_MM

__all__ = [
    "MAX_PIXELS",
    "PX_PER_MM",
    "Fit",
    "Placed",
    "Placement",
    "outline_mask",
    "place",
    "resampled",
    "size_needed",
    "working_resolution",
]

PX_PER_MM = 4.0
"""Default resolution of the working raster: a quarter of a millimetre, finer than a nib
(our own choice)."""

MAX_PIXELS = 8_000_000
"""Most pixels of the working raster; larger blanks are worked more coarsely.
A limit by definition."""

FOCAL_LOSS = 0.02
"""Share of a focal area that may fall outside before a note says so (a guess: a mark is no truer
at its edge)."""


ALIKE = 1.02
"""Most that the proportions of a mask and its photo differ, as a factor (a guess: one pixel of
fifty, as a small mask is rounded)."""


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A photo placed on an outline at true size.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
        For display; white where the photo does not reach.
    lightness : ndarray of float32, shape (H, W)
        L* of the photo, after tone control if there is one.
    inside : ndarray of bool, shape (H, W)
        Pixels inside the outline, and its margin if there is one, that the
        photo covers.
    px_per_mm : float
    outline : Outline
    source_px_per_mm : float
        Pixels of the original photo on a millimetre of wood.
    pixel_area_mm2 : float
        Area that one inside pixel stands for; the inside of a fully covered
        rectangle, round or oval adds up to its exact area.
    position : Position
        Where each point of the photo lies.
    notes : tuple of str
    focal : ndarray of bool, shape (H, W), optional
        Pixels of focal areas.
    bare : ndarray of bool, shape (H, W), optional
        Pixels of a background that was dropped out: bare wood.
    lettered : ndarray of bool, shape (H, W), optional
        Pixels that lettering takes, with the strip round it: in no value zone.
    """

    rgb: NDArray[np.uint8]
    lightness: NDArray[np.float32]
    inside: NDArray[np.bool_]
    px_per_mm: float
    outline: Outline
    source_px_per_mm: float
    pixel_area_mm2: float
    position: Position
    notes: tuple[str, ...] = ()
    focal: NDArray[np.bool_] | None = None
    bare: NDArray[np.bool_] | None = None
    lettered: NDArray[np.bool_] | None = None

    @property
    def burned(self) -> NDArray[np.bool_]:
        """Pixels of the picture: inside, and neither left out as background nor lettered."""
        left_out = [mask for mask in (self.bare, self.lettered) if mask is not None]
        return self.inside & ~np.logical_or.reduce(left_out) if left_out else self.inside


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
    *,
    focal: Sequence[MarkedArea] = (),
) -> tuple[int, int]:
    """Return the size to which the photo shrinks on the wood, for :func:`open_photo`.

    Parameters
    ----------
    photo_size : tuple of int
        Width and height of the upright photo, pixels.
    outline : Outline
    placement : Placement, optional
    px_per_mm : float, optional
    focal : sequence of MarkedArea, optional

    Returns
    -------
    tuple of int
        Width and height in pixels of the whole photo, upright, before any turn.

    Examples
    --------
    >>> size_needed((6000, 4000), Outline(OutlineKind.RECTANGLE, 300, 400))
    (2400, 1600)
    """
    position = position_on(photo_size, outline, placement, focal)
    scale = position.mm_per_px * working_resolution(outline, px_per_mm)
    # A size that is whole but for rounding stays what it is.
    return math.ceil(photo_size[0] * scale - 1e-9), math.ceil(photo_size[1] * scale - 1e-9)


def place(
    photo: Photo,
    outline: Outline,
    placement: Placement | None = None,
    px_per_mm: float = PX_PER_MM,
    *,
    focal: Sequence[MarkedArea] = (),
    subject: Sequence[MarkedArea] = (),
    likely: MarkedArea | None = None,
) -> Placed:
    """Place a photo on an outline.

    Parameters
    ----------
    photo : Photo
    outline : Outline
        Taken as given, never turned to suit the photo.
    placement : Placement, optional
        Filling by default, and centred or where focal areas lie inside.
    px_per_mm : float, optional
        Resolution of the working raster.
    focal : sequence of MarkedArea, optional
        What must not be cut off, and keeps finer zones and all its lines.
    subject : sequence of MarkedArea, optional
        What must not be cut off either.
    likely : MarkedArea, optional
        Where the subject is likely to be, if nobody said.

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
    position = position_on(photo.full_size, outline, placement, (*focal, *subject), likely)
    rgb = resampled(photo.rgb, position, shape, resolution)

    whole = outline_mask(outline, shape, resolution)
    inside = whole
    if not _covers(position, shape, resolution):
        inside = inside & polygon_mask([position.used()], shape, resolution)
        rgb[~inside] = 255
    if placement.margin_mm or placement.sides_mm is not None:
        inside = inside & polygon_mask(placement.burnable(outline), shape, resolution)
    if not inside.any():
        raise BadInput(
            "The outline holds nothing of the photo",
            "Check the photo's offset, the margin and the corners of a live edge",
        )
    pixel_area = 1 / resolution**2
    if outline.kind is not OutlineKind.LIVE_EDGE:  # whose corners may lie beyond its size
        pixel_area = outline.area_mm2 / int(whole.sum())
    focal_mask, focal_notes = _focal(focal, position, inside, resolution)
    notes = _notes(position, placement, outline, (resolution, px_per_mm))

    return Placed(
        rgb=rgb,
        lightness=lightness(rgb),
        inside=inside,
        px_per_mm=resolution,
        outline=outline,
        source_px_per_mm=1 / position.mm_per_px,
        pixel_area_mm2=pixel_area,
        position=position,
        notes=notes + focal_notes,
        focal=focal_mask,
    )


def laid_mask(mask: NDArray[np.uint8], placed: Placed) -> NDArray[np.uint8]:
    """Lay a mask that belongs to a photo on the wood, just as the photo lies.

    Parameters
    ----------
    mask : ndarray of uint8, shape (h, w)
        Of the photo's proportions, upright, in any size.
    placed : Placed

    Returns
    -------
    ndarray of uint8, shape (H, W)

    Raises
    ------
    BadInput
        If it has other proportions than the photo.
    """
    position = placed.position
    width, height = position.photo_size
    off = (mask.shape[1] / mask.shape[0]) / (width / height)
    if not 1 / ALIKE < off < ALIKE:
        raise BadInput(
            f"The mask is {mask.shape[1]} × {mask.shape[0]} pixels and the photo "
            f"{width} × {height}: they have different proportions",
            "Make the mask from the photo, uncropped",
        )
    return resampled(mask, position, placed.inside.shape, placed.px_per_mm)


def _covers(position: Position, shape: tuple[int, int], px_per_mm: float) -> bool:
    """Whether the used part of the photo reaches over the whole raster."""
    height, width = shape
    corners = np.array([(0.5, 0.5), (width - 0.5, 0.5), (width - 0.5, height - 0.5)])
    corners = np.vstack([corners, (0.5, height - 0.5)]) / px_per_mm
    left, top, right, bottom = position.crop
    at = position.to_photo(corners)
    low, high = at.min(axis=0) + 1e-9, at.max(axis=0) - 1e-9
    return bool(np.all(low >= (left, top)) and np.all(high <= (right, bottom)))


def resampled(
    rgb: NDArray[np.uint8], position: Position, shape: tuple[int, int], px_per_mm: float
) -> NDArray[np.uint8]:
    """Lay a photo or mask on a raster; its edge goes on where it does not reach."""
    height, width = rgb.shape[:2]
    # From pixels of the photo as opened, counted from its corner, to pixels of the raster.
    matrix = position.matrix * px_per_mm / np.array([[width, height, 1.0]])
    scale = math.sqrt(abs(np.linalg.det(matrix[:, :2])))
    quarters = position.placement.whole_quarters
    if scale < 1 and quarters is not None:
        return _shrunk(rgb, position, matrix, shape, quarters)
    left, top, right, bottom = position.crop
    box = [left * width, top * height, right * width, bottom * height]
    corner = np.floor(box[:2]).astype(int)
    part = rgb[corner[1] : math.ceil(box[3]), corner[0] : math.ceil(box[2])]
    matrix[:, 2] += matrix[:, :2] @ corner
    if scale < 1:  # no finer than the raster, by averaging, so that nothing shimmers
        size = [max(1, round(n * scale)) for n in part.shape[1::-1]]
        matrix[:, 0] *= part.shape[1] / size[0]
        matrix[:, 1] *= part.shape[0] / size[1]
        part = np.asarray(cv2.resize(part, size, interpolation=cv2.INTER_AREA), np.uint8)
    # OpenCV counts from pixel centres, here it is counted from corners.
    matrix[:, 2] += (matrix[:, :2].sum(axis=1) - 1) / 2
    return np.asarray(
        cv2.warpAffine(
            part, matrix, shape[::-1], flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE
        ),
        np.uint8,
    )


def _shrunk(
    rgb: NDArray[np.uint8],
    position: Position,
    matrix: NDArray[np.float64],
    shape: tuple[int, int],
    quarters: int,
) -> NDArray[np.uint8]:
    """Average the part of a right-angled photo that is seen, exactly over each pixel."""
    height, width = rgb.shape[:2]
    left, top, right, bottom = position.crop
    used = np.array([(left * width, top * height), (right * width, bottom * height)])
    seen = np.sort(used @ matrix[:, :2].T + matrix[:, 2], axis=0)
    size = np.array(shape[::-1])
    low, high = np.clip(np.rint(seen), 0, size).astype(int)
    result = np.full(shape + rgb.shape[2:], 255, np.uint8)
    if (high <= low).any():
        return result
    back = np.linalg.inv(matrix[:, :2])
    source = np.sort((np.array([low, high]) - matrix[:, 2]) @ back.T, axis=0)
    first = np.clip(np.rint(source[0]), 0, (width - 1, height - 1)).astype(int)
    last = np.clip(np.rint(source[1]), first + 1, (width, height)).astype(int)
    part = rgb[first[1] : last[1], first[0] : last[0]]
    # The turns and the mirror that take the photo's axes to those of the raster.
    if position.placement.mirrored:
        part = part[:, ::-1]
    part = np.ascontiguousarray(np.rot90(part, -quarters))
    small = cv2.resize(part, tuple((high - low).tolist()), interpolation=cv2.INTER_AREA)
    result[low[1] : high[1], low[0] : high[0]] = small
    return result


def _focal(
    areas: Sequence[MarkedArea], position: Position, inside: NDArray[np.bool_], px_per_mm: float
) -> tuple[NDArray[np.bool_] | None, tuple[str, ...]]:
    """Pixels of focal areas, and a note for each that is cut off."""
    if not areas:
        return None, ()
    together, notes = np.zeros(inside.shape, np.bool_), []
    for area in areas:
        polygon = position.of(area)
        mask = polygon_mask([polygon], inside.shape, px_per_mm) & inside
        together |= mask
        whole = abs(area_of(polygon)) * px_per_mm**2
        lost = 1 - float(mask.sum()) / max(whole, 1.0)
        if lost > FOCAL_LOSS:
            notes.append(
                f"{lost * 100:.0f} % of {area.called} is cut off: move the photo or make it smaller"
            )
    return together, tuple(notes)


def placement_notes(
    photo_size: tuple[int, int],
    outline: Outline,
    placement: Placement | None = None,
    px_per_mm: float = PX_PER_MM,
    *,
    inside: Sequence[MarkedArea] = (),
    likely: MarkedArea | None = None,
) -> tuple[str, ...]:
    """Return what :func:`place` notes of how a photo lies, without its pixels.

    Parameters
    ----------
    photo_size : tuple of int
        Width and height of the upright photo, pixels.
    outline, placement, px_per_mm, likely
        As :func:`place` takes them.
    inside : sequence of MarkedArea
        Focal areas and the subject.

    Examples
    --------
    >>> placement_notes((300, 400), Outline(OutlineKind.RECTANGLE, 300, 400))
    ('The photo has only 1.0 pixels per mm at this size, so fine detail will be soft',)
    """
    placement = placement or Placement()
    position = position_on(photo_size, outline, placement, inside, likely)
    return _notes(position, placement, outline, (working_resolution(outline, px_per_mm), px_per_mm))


def _notes(
    position: Position,
    asked: Placement,
    outline: Outline,
    resolutions: tuple[float, float],
) -> tuple[str, ...]:
    notes = []
    on_its_side = round(asked.quarter_turns + asked.turn_degrees / 90) % 2
    width, height = position.crop_px[::-1] if on_its_side else position.crop_px
    photo_wide, blank_wide = width > height, outline.width_mm > outline.height_mm
    square = width == height or outline.width_mm == outline.height_mm
    if photo_wide != blank_wide and not square:
        photo_word, blank_word = (
            ("landscape", "portrait") if photo_wide else ("portrait", "landscape")
        )
        effect = "much is cropped" if asked.fit is Fit.FILL else "much wood stays bare"
        notes.append(f"The photo is {photo_word} and the blank {blank_word}, so {effect}")
    if asked.scale is None and (position.placement.scale or 1.0) < 1:
        notes.append("The photo is shown smaller, so that the marked areas lie inside")
    if 1 / position.mm_per_px < FEW_PX_PER_MM:
        notes.append(
            f"The photo has only {1 / position.mm_per_px:.1f} pixels per mm at this size,"
            " so fine detail will be soft"
        )
    used, asked_px = resolutions
    if used < asked_px * 0.999:
        notes.append(f"A blank this large is worked at {used:.1f} px/mm instead of {asked_px:g}")
    return tuple(notes)
