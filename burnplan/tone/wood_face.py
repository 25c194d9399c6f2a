"""The face of a blank, read from the photo its outline was found in: tone, grain, marks.

The light is taken away by a smooth fit (:mod:`burnplan.tone.even_light`): a sheet of white
paper says how light white is where it lies, wood how the light changes from there. What is
left is the wood's own. Grain is the main axis of its structure tensor; a mark is darker than
the wood round it and short in every direction, or far darker than all of the face.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from burnplan.outline import Outline
from burnplan.tone.even_light import LEAST_SHARE, Cells, LightSamples, fit_light
from burnplan.tone.flat_view import FlatView, Points
from burnplan.tone.lightness import WEIGHTS, lightness_of_luminance, luminance_of_lightness
from burnplan.tone.region import inset, outline_mask, polygon_mask
from burnplan.tone.strip import WHITE_CARD

READ_PX_PER_MM = 2.0
"""Resolution at which a face is read: half a millimetre (a guess: tried on rendered photos)."""

# Inside the outline and its bark, that is not read: bevels, shadow; a guess: tried on rendered
# photos.
_EDGE_MM = 3.0
# Round the sheet, that is neither paper nor wood: its shadow; a guess: tried on rendered photos.
_PAPER_EDGE_MM = 2.5
_CELLS = 24  # along the longer side, for the light; a guess: tried on rendered photos
# Of ln of light, from cell to cell: paper, and grain; a guess: tried on rendered photos.
_PAPER_SD, _WOOD_SD = 0.01, 0.08
# Code value, and share of the paper that may be so; a guess: tried on rendered photos.
_CLIPPED, _MOST_CLIPPED = 250, 0.05
_DARKEST = 2e-4  # luminance, below which a camera tells nothing; a guess: tried on rendered photos
_SMOOTH_MM = 0.8  # before marks are looked for; a guess: tried on rendered photos
_LONGEST_MM = 34.0  # a mark that is short in every direction; a guess: tried on rendered photos
_DIRECTIONS = 12  # in which dark places are measured; a guess: tried on rendered photos
# L* that a mark is darker than the wood round it, at least; a guess: tried on rendered photos.
_DARKER = 7.0
# L* that a long mark is darker than the whole face, at least; a guess: tried on rendered photos.
_FAR_DARKER = 18.0
# Of the face's own tones, that it must be beyond too; a guess: tried on rendered photos.
_SPREADS = 4.0
_LEAST_MM2 = 20.0  # a mark takes; a guess: tried on rendered photos
# That a mark's area reaches beyond what is dark; a guess: tried on rendered photos.
_AROUND_MM = 1.0
# Of the circle round it that a knot fills, at least; a guess: tried on rendered photos.
_ROUND = 0.45
_GRAIN_MM = 0.7  # scale of grain; a guess: tried on rendered photos
# Of the slopes that lie across one direction, at least; a guess: tried on rendered photos.
_COHERENT = 0.2
_FEWEST_PX = 400  # of paper or wood, that say something; a guess: tried on rendered photos
_WHITE = float(luminance_of_lightness(WHITE_CARD))


class MarkKind(StrEnum):
    """What is dark on a face."""

    KNOT = "knot"
    DARK = "dark mark"


@dataclass(frozen=True, slots=True, eq=False)
class Mark:
    """A place on the face to keep features off.

    Parameters
    ----------
    kind : MarkKind
    points_mm : ndarray of float64, shape (K, 2)
        Its edge, from the top left of the outline's bounding box.
    darker : float
        L* by which it is darker than the face.
    """

    kind: MarkKind
    points_mm: Points
    darker: float


@dataclass(frozen=True, slots=True, eq=False)
class FlatFace:
    """The wood from straight above, under even light.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
        sRGB of the outline's bounding box; outside the outline as the photo has it.
    wood : ndarray of bool, shape (H, W)
        What is seen of the wood: inside, and not under the sheet.
    filled : ndarray of bool, shape (H, W)
        What lay under the sheet and is filled in along the grain.
    true_tone : bool
        Whether white paper tells how light the wood is; else it is as exposed.
    px_per_mm : float
    """

    rgb: NDArray[np.uint8]
    wood: NDArray[np.bool_]
    filled: NDArray[np.bool_]
    true_tone: bool
    px_per_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """What a photo tells of a face.

    Parameters
    ----------
    bare : float or None
        L* of its bare wood; None without white paper to tell it by.
    grain_degrees : float or None
        Which way the grain runs: clockwise from straight across, 0 to 180; None where no
        direction prevails.
    marks : tuple of Mark
        Largest first. Nothing is known of what lay under the sheet.
    overexposed : bool
        Whether the paper is too light in the photo to tell the tone by.
    """

    bare: float | None
    grain_degrees: float | None
    marks: tuple[Mark, ...]
    overexposed: bool


def flat_face(
    rgb: NDArray[np.uint8],
    view: FlatView,
    outline: Outline,
    px_per_mm: float,
    *,
    sheet_mm: Points | None = None,
    white: bool = True,
    bark_mm: float = 0.0,
    grain_degrees: float | None = None,
    marks_mm: Sequence[ArrayLike] = (),
) -> FlatFace:
    """Return a face from straight above, the light on it evened.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (h, w, 3)
        The photo, upright, in any size.
    view : FlatView
        From the outline's millimetres to pixels of the whole photo.
    outline : Outline
    px_per_mm : float
    sheet_mm : ndarray of float64, shape (4, 2), optional
        Corners of the sheet that lies on it.
    white : bool, optional
        Whether that is white paper.
    bark_mm : float, optional
    grain_degrees : float, optional
        Along which what the sheet covers is filled in; across if not given.
    marks_mm : sequence of array_like, each of shape (K, 2)
        Knots, which are not repeated there.
    """
    even = _Evened.of(rgb, view, outline, px_per_mm, sheet_mm, white, bark_mm, marks_mm)
    linear = even.linear
    if even.covered.any():
        _fill_in(linear, even.plain, even.covered, grain_degrees or 0.0)
    return FlatFace(_encoded(linear), even.wood, even.covered, even.true_tone, px_per_mm)


def read_face(
    rgb: NDArray[np.uint8],
    view: FlatView,
    outline: Outline,
    *,
    sheet_mm: Points | None = None,
    white: bool = True,
    bark_mm: float = 0.0,
) -> Face:
    """Read a face: how light it is bare, which way its grain runs, where it is marked.

    Parameters are those of :func:`flat_face`.
    """
    marks: tuple[Mark, ...] = ()
    for _ in range(2):  # a knot is no shadow: without it the light is known better
        even = _Evened.of(
            rgb, view, outline, READ_PX_PER_MM, sheet_mm, white, bark_mm,
            [mark.points_mm for mark in marks],
        )  # fmt: skip
        if int(even.wood.sum()) < _FEWEST_PX:
            return Face(None, None, (), even.overexposed)
        light = lightness_of_luminance(np.clip(_luminance(even.linear), 0, 1))
        marks = _marks(light, even.wood, READ_PX_PER_MM)
        if not marks:
            break
    bare = float(np.median(light[even.plain])) if even.true_tone else None
    return Face(bare, _grain(light, even.plain, READ_PX_PER_MM), marks, even.overexposed)


@dataclass(frozen=True, slots=True, eq=False)
class _Evened:
    """A face from straight above in linear light, the light on it taken away."""

    linear: NDArray[np.float32]
    wood: NDArray[np.bool_]
    plain: NDArray[np.bool_]  # without marks
    covered: NDArray[np.bool_]  # of the wood, by the sheet
    true_tone: bool
    overexposed: bool

    @classmethod
    def of(
        cls, rgb: NDArray[np.uint8], view: FlatView, outline: Outline, px_per_mm: float,
        sheet_mm: Points | None, white: bool, bark_mm: float, marks_mm: Sequence[ArrayLike],
    ) -> "_Evened":  # fmt: skip
        shape = (
            max(1, round(outline.height_mm * px_per_mm)),
            max(1, round(outline.width_mm * px_per_mm)),
        )
        seen = view.rectified(
            rgb, (0.0, 0.0, shape[1] / px_per_mm, shape[0] / px_per_mm), px_per_mm
        )
        covered, paper = np.zeros(shape, np.bool_), np.zeros(shape, np.bool_)
        if sheet_mm is not None and len(sheet_mm):
            whole = polygon_mask([sheet_mm], shape, px_per_mm).view(np.uint8)
            ring = _disc(_PAPER_EDGE_MM * px_per_mm)
            covered = np.asarray(cv2.dilate(whole, ring)).view(np.bool_)
            paper = np.asarray(cv2.erode(whole, ring)).view(np.bool_)
        wood = _within(outline, shape, px_per_mm, bark_mm + _EDGE_MM) & ~covered
        knots = polygon_mask(marks_mm, shape, px_per_mm).view(np.uint8)
        around = np.asarray(cv2.dilate(knots, _disc(_AROUND_MM * px_per_mm))).view(np.bool_)
        plain = wood & ~around if (wood & ~around).any() else wood
        told = white and int(paper.sum()) >= _FEWEST_PX
        overexposed = told and float((seen[paper].max(axis=1) >= _CLIPPED).mean()) > _MOST_CLIPPED
        told = told and not overexposed
        linear = _linear(seen)
        linear /= _light_on(linear, plain, paper if told else None)[..., None]
        if told:  # white paper is neutral
            colour = np.array([np.median(linear[..., one][paper]) for one in range(3)])
            linear *= (_WHITE / np.maximum(colour, 1e-3)).astype(np.float32)
        inside = outline_mask(outline, shape, px_per_mm)
        return cls(linear, wood, plain, covered & inside, told, overexposed)


def _within(
    outline: Outline, shape: tuple[int, int], px_per_mm: float, margin_mm: float
) -> NDArray[np.bool_]:
    margin_mm = min(margin_mm, 0.2 * min(outline.width_mm, outline.height_mm))
    return polygon_mask(inset(outline, margin_mm), shape, px_per_mm)


def _linear(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    code = np.arange(256) / 255
    # IEC 61966-2-1.
    table = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
    return np.asarray(cv2.LUT(rgb, table.astype(np.float32)), np.float32)


def _encoded(linear: NDArray[np.float32]) -> NDArray[np.uint8]:
    held = np.clip(linear, 0, 1)
    # IEC 61966-2-1.
    code = np.where(held <= 0.0031308, held * 12.92, 1.055 * held ** np.float32(1 / 2.4) - 0.055)
    return np.asarray(np.rint(code * 255), np.uint8)


def _luminance(linear: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.asarray(linear @ np.array(WEIGHTS, np.float32), np.float32)


def _light_on(
    linear: NDArray[np.float32], wood: NDArray[np.bool_], paper: NDArray[np.bool_] | None
) -> NDArray[np.float32]:
    """Return how much light falls on each place: 1 in the middle of it where paper tells none.

    With paper, so that white paper has its own luminance.
    """
    logs = np.log(np.maximum(_luminance(linear), np.float32(_DARKEST))).astype(np.float32)
    cells = Cells(wood.shape, _CELLS)
    parts = []
    near = 0.0
    if paper is not None:
        white = math.log(_WHITE)
        mean, share = cells.means(logs, paper)
        full = np.flatnonzero(share >= LEAST_SHARE)
        sd = _PAPER_SD * np.sqrt(1 + LEAST_SHARE / share[full])
        zero = np.zeros(len(full), int)
        parts.append(LightSamples(cells.at[full], mean[full] - white, sd, zero))
        near = float(np.median(logs[paper])) - white
    mean, share = cells.means(logs, wood)
    full = np.flatnonzero(share >= LEAST_SHARE)
    if len(full):
        sd = _WOOD_SD * np.sqrt(1 + LEAST_SHARE / share[full])
        level = float(np.median(mean[full])) - near  # how light wood is, about; found better
        group = np.full(len(full), 0 if paper is None else 1)
        parts.append(LightSamples(cells.at[full], mean[full] - level, sd, group))
    if not parts:
        return np.ones(wood.shape, np.float32)
    light, _ = fit_light(LightSamples.joined(parts), cells.at)
    return np.exp(cells.spread(light))


def _fill_in(
    linear: NDArray[np.float32],
    wood: NDArray[np.bool_],
    gap: NDArray[np.bool_],
    grain_degrees: float,
) -> None:
    """Fill in what the sheet covers, along the grain.

    From either end the wood goes on as in a mirror, so that streaks run on; between the two
    one goes over into the other.
    """
    height, width = gap.shape
    side = math.ceil(math.hypot(height, width)) + 2
    onto = cv2.getRotationMatrix2D(((width - 1) / 2, (height - 1) / 2), grain_degrees, 1.0)
    onto[:, 2] += (side - width) / 2, (side - height) / 2
    size = (side, side)
    turned = np.asarray(cv2.warpAffine(linear, onto, size), np.float32)
    of_wood, of_gap = (
        np.asarray(cv2.warpAffine(mask.view(np.uint8), onto, size, flags=cv2.INTER_NEAREST)) > 0
        for mask in (wood, gap)
    )
    middle = np.median(linear[wood], axis=0) if wood.any() else np.full(3, 0.5, np.float32)
    for row in np.flatnonzero(of_gap.any(axis=1)):
        here = np.flatnonzero(of_gap[row])
        first, last = int(here[0]), int(here[-1])
        turned[row, here] = _run(turned[row], of_wood[row], first, last, middle)[here - first]
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    linear[gap] = np.asarray(cv2.warpAffine(turned, onto, (width, height), flags=flags))[gap]


def _run(
    row: NDArray[np.float32], wood: NDArray[np.bool_], first: int, last: int,
    middle: NDArray[np.float32],
) -> NDArray[np.float32]:  # fmt: skip
    """Return what fills a row from one place to another, from the wood at either end."""
    count = last - first + 1
    before = row[:first][wood[:first]][::-1]
    after = row[last + 1 :][wood[last + 1 :]]
    ends: list[NDArray[np.float32] | None] = []
    for seen in (before, after):
        if len(seen) < 4:
            ends.append(None)
            continue
        there = np.arange(count) % (2 * len(seen))
        ends.append(seen[np.minimum(there, 2 * len(seen) - 1 - there)])
    ahead, behind = ends[0], None if ends[1] is None else ends[1][::-1]
    if ahead is None and behind is None:
        return np.repeat(middle[None], count, axis=0)
    if ahead is None or behind is None:
        return np.asarray(behind if ahead is None else ahead, np.float32)
    share = ((np.arange(count) + 0.5) / count)[:, None].astype(np.float32)
    return np.asarray(ahead * (1 - share) + behind * share, np.float32)


def _marks(
    light: NDArray[np.float32], wood: NDArray[np.bool_], px_per_mm: float
) -> tuple[Mark, ...]:
    """Return what is dark on a face, largest first."""
    middle = float(np.median(light[wood]))
    spread = 1.4826 * float(np.median(np.abs(light[wood] - middle)))  # of the normal distribution
    soft = cv2.GaussianBlur(
        np.where(wood, light, np.float32(middle)), (0, 0), _SMOOTH_MM * px_per_mm
    )
    length = round(_LONGEST_MM * px_per_mm) | 1
    shortest = np.full(light.shape, np.inf, np.float32)
    for step in range(_DIRECTIONS):  # what is dark over that length in any direction is grain
        turn = math.pi * step / _DIRECTIONS
        closed = cv2.morphologyEx(soft, cv2.MORPH_CLOSE, _line(length, turn))
        np.minimum(shortest, closed, out=shortest)
    hat = shortest - soft
    usual = float(np.quantile(hat[wood], 0.9))
    dark = (hat > max(_DARKER, 2 * usual)) | (middle - soft > max(_FAR_DARKER, _SPREADS * spread))
    dark &= wood
    small = np.ones((3, 3), np.uint8)
    mask = cv2.morphologyEx(dark.view(np.uint8), cv2.MORPH_OPEN, small)
    mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, _disc(1.5 * px_per_mm))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=8)
    found = []
    for label in range(1, count):
        area = int(stats[label, cv2.CC_STAT_AREA])
        if area < _LEAST_MM2 * px_per_mm**2:
            continue
        mine = (labels == label).astype(np.uint8)
        darker = middle - float(np.quantile(soft[mine > 0], 0.25))
        grown = cv2.dilate(np.pad(mine, 4), _disc(_AROUND_MM * px_per_mm))
        lines, _ = cv2.findContours(grown, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        line = max(lines, key=cv2.contourArea)
        few = cv2.approxPolyDP(line, 0.6, True)[:, 0].astype(np.float64)
        if len(few) < 3:
            continue
        _, radius = cv2.minEnclosingCircle(line)
        is_round = cv2.contourArea(line) >= _ROUND * math.pi * radius**2
        points = (few - 4 + 0.5) / px_per_mm
        found.append((area, Mark(MarkKind.KNOT if is_round else MarkKind.DARK, points, darker)))
    found.sort(key=lambda one: -one[0])
    return tuple(mark for _, mark in found)


def _grain(light: NDArray[np.float32], plain: NDArray[np.bool_], px_per_mm: float) -> float | None:
    """Return which way the grain runs, degrees clockwise from straight across."""
    soft = cv2.GaussianBlur(light, (0, 0), _GRAIN_MM * px_per_mm)
    across = cv2.Scharr(soft, cv2.CV_32F, 1, 0, scale=1 / 32)
    down = cv2.Scharr(soft, cv2.CV_32F, 0, 1, scale=1 / 32)
    inner = cv2.erode(plain.view(np.uint8), _disc(2 * px_per_mm)).view(np.bool_)
    if int(inner.sum()) < _FEWEST_PX:
        return None
    x, y = across[inner].astype(np.float64), down[inner].astype(np.float64)
    size = np.hypot(x, y)
    weight = 1 / np.maximum(size, float(np.median(size)) + 1e-9)  # a sharp line counts no more
    real, imaginary = float((weight * (x * x - y * y)).sum()), float((weight * 2 * x * y).sum())
    if math.hypot(real, imaginary) < _COHERENT * float((weight * size**2).sum()):
        return None
    return (math.degrees(0.5 * math.atan2(imaginary, real)) + 90) % 180


def _line(length: int, turn: float) -> NDArray[np.uint8]:
    """Return a line as a structuring element, shape (length, length)."""
    half = length // 2
    kernel = np.zeros((length, length), np.uint8)
    x, y = half * math.cos(turn), half * math.sin(turn)
    start, end = (round(half - x), round(half - y)), (round(half + x), round(half + y))
    cv2.line(kernel, start, end, 1)
    return kernel


def _disc(radius_px: float) -> NDArray[np.uint8]:
    side = 2 * max(1, round(radius_px)) + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)), np.uint8)
