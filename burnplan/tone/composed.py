"""Several photos composed into one picture of a piece.

Each photo fills a box of the piece; where two boxes touch, the later photo fades into the
earlier one, or is cut against it. The tones are brought together by what is seen of the
subjects: the darkest and the lightest of each become those of the photo that has most of both,
and the middles are drawn nearer to each other, so that a photo taken in dim light does not
burn as a darker animal, and a dark animal stays darker than a light one.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.outline import Outline
from burnplan.progress import Progress, part, silent
from burnplan.tone.areas import MarkedArea
from burnplan.tone.lightness import lightness
from burnplan.tone.photo import Source, look, open_photo
from burnplan.tone.region import polygon_mask
from burnplan.tone.subject import likely_subject
from burnplan.tone.together import Box, Laid, Lies, Seam, Together, Tones, holds, within

_SEAM = 0.1  # width of a soft seam, of the piece's shorter side; a guess: tried on two photos
_FINEST = 12.0  # px/mm: what a sheet printed at 300 dpi shows; by definition
_MOST_PX = 16_000_000  # of a composed picture; our own choice
# Shares of a subject that count as its ends; a guess: tried on two photos.
_DARK, _LIGHT = 0.02, 0.98
_LEAST_SPAN = 8.0  # L* between the ends from which they tell anything; a guess: tried on two photos
# By which a flat photo is stretched: more would show its grain; a guess: tried on two photos.
_MOST_GAIN = 2.5
_BENDS = 0.6, 1.7  # gammas that draw a middle nearer; a guess: tried on two photos
# Along the longer side, to find the subject and its tones; a guess: tried on two photos.
_LOOK_PX = 600
_PLACES = 100  # along a side of a box, at which it is asked what lies beyond; our own choice
_AIR = 0.1  # above a head, of the height that is seen; a guess: tried on two photos
# Share of a photo that is left where it has faded away; a guess: tried on two photos.
_NOTHING = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class Composed:
    """Several photos as one.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
        Of the proportions of the outline's bounding box; white where no photo lies.
    keep : ndarray of uint8, shape (H, W), or None
        255 where a photo lies, 0 where none does; None if they cover all of it.
    laid : tuple of Laid
    """

    rgb: NDArray[np.uint8]
    keep: NDArray[np.uint8] | None
    laid: tuple[Laid, ...]


class _Side(NamedTuple):
    """A side of a box: how far it reaches beyond it, how wide it fades, of the piece, and where.

    ``where`` has for places along the side 1 where it fades and 0 where another photo lies over.
    """

    beyond: float = 0.0
    wide: float = 0.0
    where: NDArray[np.float32] = np.zeros(1, np.float32)


def compose(
    sources: Sequence[Source],
    together: Together,
    outline: Outline,
    on_progress: Progress | None = None,
) -> Composed:
    """Compose several photos into one picture of a piece.

    Parameters
    ----------
    sources : sequence of path, bytes or binary file
        As many as ``together`` says how they lie.
    together : Together
    outline : Outline
        Its bounding box is filled; what lies outside the outline itself is cut later.
    on_progress : Progress, optional

    Returns
    -------
    Composed

    Raises
    ------
    BadInput
        If one of them cannot be read.
    """
    progress = on_progress or silent
    size_mm = outline.width_mm, outline.height_mm
    boxes, looks = _boxes(together), [_seen(source) for source in sources]
    seam = _SEAM * min(size_mm) if together.seam is Seam.SOFT else 0.0
    sides = [_sides(number, boxes, seam, size_mm) for number in range(len(boxes))]
    grown = [_grown(box, around) for box, around in zip(boxes, sides, strict=True)]
    crops = [
        _crop(look_at, wish, box, larger, size_mm)
        for look_at, wish, box, larger in zip(looks, together.lies, boxes, grown, strict=True)
    ]
    fine = [
        (crop[2] - crop[0]) * one.size[0] / ((box[2] - box[0]) * size_mm[0])
        for one, crop, box in zip(looks, crops, grown, strict=True)
    ]
    px = min(max(fine), _FINEST, math.sqrt(_MOST_PX / math.prod(size_mm)))
    shape = max(16, round(size_mm[1] * px)), max(16, round(size_mm[0] * px))
    before = [_tones(one, crop) for one, crop in zip(looks, crops, strict=True)]
    curves = _curves(before, together.middles)
    rgb, covered = np.full((*shape, 3), 255, np.float32), np.zeros(shape, np.float32)
    for number, source in enumerate(sources):
        step = part(progress, number / len(sources), (number + 1) / len(sources))
        step(0.0, "Laying the photos together")
        wish, box = together.lies[number], _px(grown[number], shape)
        seen = _fitted(source, crops[number], box, mirrored=wish.mirrored, whole=looks[number].size)
        weight = _weight(box, sides[number], shape)
        _lay_over(rgb, covered, _retoned(seen, curves[number]), weight, box)
    bare = covered < _NOTHING
    rgb = 255 + covered[..., None] * (rgb - 255)
    return Composed(
        np.clip(rgb + 0.5, 0, 255).astype(np.uint8),
        np.where(bare, 0, 255).astype(np.uint8) if bare.any() else None,
        tuple(
            Laid(grown[n], crops[n], together.lies[n].mirrored, fine[n],
                 _cut_off(looks[n].likely, crops[n]), before[n],
                 Tones(*(float(np.interp(v, *curves[n])) for v in before[n])))
            for n in range(len(boxes))
        ),
    )  # fmt: skip


class _Look(NamedTuple):
    """A photo looked at small: its whole size, its pixels, and where its subject is."""

    size: tuple[int, int]
    rgb: NDArray[np.uint8]
    likely: MarkedArea | None


def _seen(source: Source) -> _Look:
    size = look(source).size
    scale = min(1.0, _LOOK_PX / max(size))
    enough = math.ceil(size[0] * scale), math.ceil(size[1] * scale)
    rgb = open_photo(source, at_least=enough).rgb
    return _Look(size, rgb, likely_subject(rgb))


def _boxes(together: Together) -> list[Box]:
    """Return what each photo fills: the place given, or its share of the piece."""
    wide = together.shares or (1.0,) * len(together.lies)
    ends = [0.0, *(at / sum(wide) for at in accumulate(wide))]
    ends[-1] = 1.0
    shares: list[Box] = [
        (0.0, low, 1.0, high) if together.stacked else (low, 0.0, high, 1.0)
        for low, high in pairwise(ends)
    ]
    return [one.box or share for one, share in zip(together.lies, shares, strict=True)]


def _sides(
    number: int, boxes: Sequence[Box], seam: float, size_mm: tuple[float, float]
) -> tuple[_Side, _Side, _Side, _Side]:
    """Return what each side of a box does: beside another it reaches under or over it."""
    box = boxes[number]
    a, b, c, d = (_side(number, boxes, at, seam / size_mm[at % 2]) for at in range(4))
    edges = box[0] <= 0, box[1] <= 0, box[2] >= 1, box[3] >= 1
    a, b, c, d = (
        _Side() if edge or not seam else side
        for edge, side in zip(edges, (a, b, c, d), strict=True)
    )
    return a, b, c, d


def _side(number: int, boxes: Sequence[Box], at: int, wide: float) -> _Side:
    """Return what the left, top, right or bottom of a box does, by what lies beyond it."""
    box, axis = boxes[number], at % 2
    out = box[at] + (wide / 2 if at >= 2 else -wide / 2)
    along = box[1 - axis] + (np.arange(_PLACES) + 0.5) / _PLACES * (box[3 - axis] - box[1 - axis])
    beyond, where = False, np.ones(_PLACES, np.float32)
    for place, other_way in enumerate(along.tolist()):
        point = (out, other_way) if axis == 0 else (other_way, out)
        others = [n for n, one in enumerate(boxes) if n != number and holds(one, point)]
        beyond = beyond or bool(others)
        where[place] = not others or min(others) < number
    room = min(wide / 2, 1 - box[at] if at >= 2 else box[at])
    return _Side(room if beyond else 0.0, wide, where)


def _grown(box: Box, sides: tuple[_Side, _Side, _Side, _Side]) -> Box:
    left, top, right, bottom = sides
    return (
        box[0] - left.beyond, box[1] - top.beyond, box[2] + right.beyond, box[3] + bottom.beyond,
    )  # fmt: skip


def _crop(seen: _Look, wish: Lies, box: Box, grown: Box, size_mm: tuple[float, float]) -> Box:
    """Return the largest part of a photo that fills a box, its subject in the box's middle."""
    given = wish.crop or (0.0, 0.0, 1.0, 1.0)
    room = (given[2] - given[0]) * seen.size[0], (given[3] - given[1]) * seen.size[1]
    wanted = (grown[2] - grown[0]) * size_mm[0], (grown[3] - grown[1]) * size_mm[1]
    scale = min(room[0] / wanted[0], room[1] / wanted[1])
    share = wanted[0] * scale / seen.size[0], wanted[1] * scale / seen.size[1]
    middle = (given[0] + given[2]) / 2, (given[1] + given[3]) / 2
    if wish.crop is None and seen.likely is not None:
        points = seen.likely.polygon()
        (left, top), (right, bottom) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
        # Of what is taller than its place the upper part is kept: heads are at the top.
        tall = share[1] * (box[3] - box[1]) / (grown[3] - grown[1])
        middle = (left + right) / 2, min((top + bottom) / 2, top + (0.5 - _AIR) * tall)
    # Where the box's own middle lies in what it reaches over.
    at = within(grown, (box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    at = (1 - at[0] if wish.mirrored else at[0]), at[1]
    left, top = (
        min(max(middle[n] - at[n] * share[n], given[n]), given[n + 2] - share[n]) for n in (0, 1)
    )
    return left, top, left + share[0], top + share[1]


def _cut_off(likely: MarkedArea | None, crop: Box) -> float:
    """Return the share of a likely subject's mark that lies outside a crop."""
    if likely is None:
        return 0.0
    x, y = np.meshgrid(*((np.arange(100) + 0.5) / 100,) * 2)
    marked = polygon_mask([likely.polygon() * 100], x.shape, 1.0)
    seen = (x >= crop[0]) & (x <= crop[2]) & (y >= crop[1]) & (y <= crop[3])
    return float(1 - (marked & seen).sum() / max(marked.sum(), 1))


def _px(box: Box, shape: tuple[int, int]) -> tuple[int, int, int, int]:
    height, width = shape
    return (
        round(box[0] * width), round(box[1] * height),
        round(box[2] * width), round(box[3] * height),
    )  # fmt: skip


def _fitted(
    source: Source,
    crop: Box,
    box: tuple[int, int, int, int],
    *,
    mirrored: bool,
    whole: tuple[int, int],
) -> NDArray[np.uint8]:
    """Return the part of a photo that is used, in the pixels of its box."""
    size = box[2] - box[0], box[3] - box[1]
    enough = [
        math.ceil(min(pixels, n / (crop[k + 2] - crop[k])))
        for k, (n, pixels) in enumerate(zip(size, whole, strict=True))
    ]
    rgb = open_photo(source, at_least=(enough[0], enough[1])).rgb
    height, width = rgb.shape[:2]
    left, right = round(crop[0] * width), max(round(crop[0] * width) + 1, round(crop[2] * width))
    top, bottom = round(crop[1] * height), max(round(crop[1] * height) + 1, round(crop[3] * height))
    seen = rgb[top:bottom, left:right]
    smaller = seen.shape[1] >= size[0]
    how = cv2.INTER_AREA if smaller else cv2.INTER_CUBIC
    laid = np.asarray(cv2.resize(seen, size, interpolation=how), np.uint8)
    return laid[:, ::-1] if mirrored else laid


def _tones(seen: _Look, crop: Box) -> Tones:
    """Return the ends and the middle of a subject's tones, of what is seen of it."""
    light = lightness(seen.rgb)
    height, width = light.shape
    used = np.zeros(light.shape, np.bool_)
    used[
        int(crop[1] * height) : math.ceil(crop[3] * height),
        int(crop[0] * width) : math.ceil(crop[2] * width),
    ] = True
    if seen.likely is not None:
        mark = polygon_mask([seen.likely.polygon() * (width, height)], light.shape, 1.0)
        used = used & mark if np.any(used & mark) else used
    return Tones(*(float(v) for v in np.quantile(light[used], (_DARK, 0.5, _LIGHT))))


_Curve = tuple[NDArray[np.float64], NDArray[np.float64]]


def _curves(found: Sequence[Tones], middles: float | None) -> list[_Curve]:
    """Return for each photo which L* becomes which, so that the subjects belong together."""
    levels = np.linspace(0, 100, 201)
    if middles is None:
        return [(levels, levels)] * len(found)
    ends = min(one.dark for one in found), max(one.light for one in found)
    stretched = [_ends(one, ends) for one in found]
    shares = [
        min(max((one.middle - one.dark) / max(one.light - one.dark, _LEAST_SPAN), 0.02), 0.98)
        for one in found
    ]
    common = sum(math.log(share) for share in shares) / len(shares)
    curves = []
    for one, (low, high), share in zip(found, stretched, shares, strict=True):
        bend = 1 + middles * (common / math.log(share) - 1)
        bend = min(max(bend, _BENDS[0]), _BENDS[1])
        span = max(one.light - one.dark, _LEAST_SPAN)
        at = np.clip((levels - one.dark) / span, 0, 1) ** bend
        moved = low + (high - low) * at
        moved = np.where(levels < one.dark, levels * low / max(one.dark, 1e-6), moved)
        above = (levels - one.dark - span) / max(100 - one.dark - span, 1e-6)
        moved = np.where(levels > one.dark + span, high + (100 - high) * above, moved)
        curves.append((levels, np.clip(moved, 0, 100)))
    return curves


def _ends(own: Tones, wanted: tuple[float, float]) -> tuple[float, float]:
    """Return where a subject's ends go: to those wanted, as far as the photo bears it."""
    span = max(own.light - own.dark, _LEAST_SPAN)
    share = min(1.0, span * (_MOST_GAIN - 1) / max(wanted[1] - wanted[0] - span, 1e-6))
    return (
        own.dark + share * (wanted[0] - own.dark),
        own.light + share * (wanted[1] - own.light),
    )


def _retoned(rgb: NDArray[np.uint8], curve: _Curve) -> NDArray[np.float32]:
    """Return a picture with its L* moved along a curve, its colours as they are."""
    if np.array_equal(*curve):
        return rgb.astype(np.float32)
    lab = cv2.cvtColor(rgb.astype(np.float32) / 255, cv2.COLOR_RGB2LAB)
    lab[..., 0] = np.interp(lab[..., 0], *curve)
    back = cv2.cvtColor(lab, cv2.COLOR_LAB2RGB)
    return np.asarray(np.clip(back * 255, 0, 255), np.float32)


def _weight(
    box: tuple[int, int, int, int],
    sides: tuple[_Side, _Side, _Side, _Side],
    shape: tuple[int, int],
) -> NDArray[np.float32]:
    """Return how much of each pixel of a box shows its photo: it fades along some sides."""
    width, height = box[2] - box[0], box[3] - box[1]
    weight = np.ones((height, width), np.float32)
    for turned, side, full in (
        (weight, sides[0], shape[1]),
        (weight.T, sides[1], shape[0]),
        (weight[:, ::-1], sides[2], shape[1]),
        (weight.T[:, ::-1], sides[3], shape[0]),
    ):
        wide = min(round(side.wide * full), turned.shape[1])
        if not wide or not side.where.any():
            continue
        ramp = (np.arange(wide) + 0.5) / wide
        ramp = ramp * ramp * (3 - 2 * ramp)
        there = cv2.resize(side.where[:, None], (1, turned.shape[0]))
        there = cv2.blur(there, (1, max(1, wide)), borderType=cv2.BORDER_REPLICATE)
        turned[:, :wide] *= (1 - there.reshape(-1, 1) * (1 - ramp[None, :])).astype(np.float32)
    return weight


def _lay_over(
    rgb: NDArray[np.float32],
    covered: NDArray[np.float32],
    photo: NDArray[np.float32],
    weight: NDArray[np.float32],
    box: tuple[int, int, int, int],
) -> None:
    """Lay a photo over what lies there; over bare wood it fades by what is kept of it alone."""
    here = np.s_[box[1] : box[3], box[0] : box[2]]
    beneath, under = rgb[here], covered[here]
    total = weight + under * (1 - weight)
    share = np.divide(weight, total, out=np.ones_like(weight), where=total > 0)[..., None]
    rgb[here] = np.where(
        (total > 0)[..., None], share * photo + (1 - share) * beneath, np.float32(255)
    )
    covered[here] = total
