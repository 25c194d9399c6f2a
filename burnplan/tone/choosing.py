"""Which of several photos is best burned: what each can carry on a piece, and what it lacks.

Everything is measured where the subject is likely to be, on the piece's own millimetres.
How much each fault counts is a guess, said beside it; what is found is told with its figure,
so that whoever knows better can overrule the order. Whether an ear or a chin is missing from
the photo itself is not told: where a subject ends is known too roughly for that.
"""

import math
from dataclasses import dataclass, replace
from enum import StrEnum

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.outline import Outline
from burnplan.tone.areas import AreaKind, MarkedArea
from burnplan.tone.noise import blur_of
from burnplan.tone.photo import Source, look, open_photo
from burnplan.tone.place import PX_PER_MM, Placed, place, size_needed
from burnplan.tone.region import area_of, polygon_mask
from burnplan.tone.subject import likely_subject
from burnplan.units import FEW_PX_PER_MM

SOFT_MM = 0.45
"""An edge softer than this on the wood (standard deviation) has lost its hair and eyelids.
A guess: about a fine nib's line."""

CLIPPED_DARK, CLIPPED_LIGHT = 1.5, 99.0
"""L* beyond which a photo holds no tone any more (by definition: a level or two of 255)."""

MUCH_CLIPPED = 0.02
"""Share of the subject that may be clipped before it is told (a guess: catch-lights and pupils
are less)."""

FLAT_RANGE = 45.0
"""Range of L* within the subject, from 2 % to 98 %, below which values are few (a guess: tried on
the sample's photo, spoiled)."""

SIDE_LIGHT = 0.12
"""Share of a subject's range of L* that lies between its sides where light comes from one.
A guess: tried on the sample's photo, spoiled."""

_OFF = 0.1  # share of the subject off the piece that is told; a guess: a margin is no loss


class Fault(StrEnum):
    """What a photo lacks."""

    FEW_PIXELS = "few pixels"
    SOFT = "soft"
    DARK_CLIPPED = "shadows without detail"
    LIGHT_CLIPPED = "highlights without detail"
    FEW_VALUES = "few values"
    FRONT_LIGHT = "light from the front"
    DOES_NOT_FIT = "cut off by the piece"


# What is left of a photo's worth by a fault at its full (a guess: tried on the sample's photo,
# spoiled): what no burning brings back counts most.
_WORTH_LEFT = {
    Fault.FEW_PIXELS: 0.35, Fault.SOFT: 0.35, Fault.DARK_CLIPPED: 0.5, Fault.LIGHT_CLIPPED: 0.5,
    Fault.FEW_VALUES: 0.6, Fault.FRONT_LIGHT: 0.75, Fault.DOES_NOT_FIT: 0.6,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Worth:
    """What a photo can carry on a piece.

    Parameters
    ----------
    size_px : tuple of int
        Width and height, upright.
    px_per_mm : float
        Pixels on a millimetre of the piece.
    blur_mm : float
        How soft its sharpest edges are where the subject is, on the piece.
    dark_clipped, light_clipped : float
        Shares of the subject that hold no tone.
    values : float
        Range of L* within the subject, from 2 % to 98 %.
    from_side : float
        L* from one side of the subject to the other.
    off_piece : float
        Share of the likely subject that the piece cuts off.
    largest : float
        How many times as large the piece may be, at most, for pixels and sharpness.
    faults : tuple of Fault
        The gravest first.
    score : float
        0 to 1.
    """

    size_px: tuple[int, int]
    px_per_mm: float
    blur_mm: float
    dark_clipped: float
    light_clipped: float
    values: float
    from_side: float
    off_piece: float
    largest: float
    faults: tuple[Fault, ...]
    score: float


def worth_of(source: Source, outline: Outline) -> Worth:
    """Return what a photo can carry on a piece.

    Parameters
    ----------
    source : path, bytes or binary file
    outline : Outline

    Returns
    -------
    Worth

    Raises
    ------
    BadInput
        If the photo cannot be used.
    """
    info = look(source)
    photo = open_photo(source, at_least=size_needed(info.size, outline, None, PX_PER_MM))
    likely = likely_subject(photo.rgb)
    placed = place(photo, outline, likely=likely)
    mark = likely or MarkedArea(AreaKind.ELLIPSE, ((0.1, 0.1), (0.9, 0.9)))
    corners = placed.position.of(mark)
    subject = polygon_mask([corners], placed.inside.shape, placed.px_per_mm)
    seen = subject & placed.inside
    if not seen.any():
        seen = placed.inside
    light = placed.lightness[seen]
    low, high = np.quantile(light, (0.02, 0.98)).tolist()
    whole = abs(area_of(corners)) * placed.px_per_mm**2
    pixels, blur = placed.source_px_per_mm, blur_of(placed, _box_of(placed, seen))
    found = Worth(
        size_px=info.size,
        px_per_mm=pixels,
        blur_mm=blur,
        dark_clipped=float((light <= CLIPPED_DARK).mean()),
        light_clipped=float((light >= CLIPPED_LIGHT).mean()),
        values=high - low,
        from_side=_from_side(placed.lightness, seen),
        off_piece=max(0.0, 1 - float(seen.sum()) / max(whole, 1.0)) if likely else 0.0,
        largest=min(pixels / FEW_PX_PER_MM, SOFT_MM / blur),
        faults=(),
        score=1.0,
    )
    return _judged(found)


def _box_of(placed: Placed, seen: NDArray[np.bool_]) -> NDArray[np.float32]:
    left, top, wide, high = cv2.boundingRect(seen.view(np.uint8))
    return np.ascontiguousarray(placed.lightness[top : top + high, left : left + wide])


def _from_side(light: NDArray[np.float32], seen: NDArray[np.bool_]) -> float:
    """Return how much a plane fitted to a subject's lightness rises over its width or height.

    A coat that is dark on one side looks the same: told as what it seems.
    """
    row, column = np.nonzero(seen)
    step = max(1, len(row) // 20_000)
    row, column = row[::step], column[::step]
    x, y = ((at - at.mean()) / max(1.0, float(np.ptp(at))) for at in (column, row))
    plane = np.stack([x, y, np.ones_like(x)], axis=1)
    across, down, _ = np.linalg.lstsq(plane, light[row, column], rcond=None)[0].tolist()
    return math.hypot(across, down)


def _judged(found: Worth) -> Worth:
    """Return a photo's worth with its faults, the gravest first, and its score."""
    clipped = 10 * MUCH_CLIPPED  # a fault at its full: a fifth of the subject
    degrees = {
        Fault.FEW_PIXELS: 1 - found.px_per_mm / FEW_PX_PER_MM,
        Fault.SOFT: found.blur_mm / SOFT_MM - 1,
        Fault.DARK_CLIPPED: _beyond(found.dark_clipped, MUCH_CLIPPED, clipped),
        Fault.LIGHT_CLIPPED: _beyond(found.light_clipped, MUCH_CLIPPED, clipped),
        Fault.FEW_VALUES: 1 - found.values / FLAT_RANGE,
        Fault.FRONT_LIGHT: 1 - found.from_side / max(found.values, 1.0) / SIDE_LIGHT,
        Fault.DOES_NOT_FIT: _beyond(found.off_piece, _OFF, 0.5),
    }
    lost = {
        fault: min(1.0, degree) * (1 - _WORTH_LEFT[fault])
        for fault, degree in degrees.items()
        if degree > 0
    }
    faults = tuple(sorted(lost, key=lambda fault: -lost[fault]))
    return replace(found, faults=faults, score=math.prod(1 - part for part in lost.values()))


def _beyond(value: float, allowed: float, full: float) -> float:
    """Return how far a value is from what is allowed to a fault at its full."""
    return (value - allowed) / (full - allowed)
