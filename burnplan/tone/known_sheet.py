"""Find a sheet of paper or a card of known size in a photo, to a fraction of a pixel.

Quadrilaterals are proposed by cutting the photo at many levels, in lightness and
in how blue it is against red (paper is neutral and wood is not, however the light
falls). Each is judged by whether a camera can see the sheet so, by the step at its
four sides, and by how even and how white it is inside. Those left are refined: a
line is fitted to the steepest places along each side, and sides meet in corners.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from burnplan.errors import BadInput
from burnplan.progress import Progress, silent
from burnplan.tone.flat_view import FlatView, Points, checked_corners, misfit, view_of_corners
from burnplan.tone.region import clockwise

SHEETS = {
    "a4": (210.0, 297.0),  # ISO 216
    "a5": (148.0, 210.0),  # ISO 216
    "letter": (215.9, 279.4),  # ANSI/ASME Y14.1, size A: 8 1/2 × 11 in
    "half-letter": (139.7, 215.9),  # half of it: 5 1/2 × 8 1/2 in
    "card": (85.60, 53.98),  # ISO/IEC 7810, ID-1
}
"""Width and height in mm of sheets that most people have, by ISO 216, ANSI and ISO/IEC 7810."""

NO_SHEET = (
    "Lay a sheet of paper flat on the wood, whole in the picture, take it from above in even"
    " light, and say which one it is; or say where its corners are"
)

# All of these are guesses, tried on rendered scenes.
# Pixels along the longer side, where sheets are looked for; a guess: tried on rendered photos.
_WORKING = 1100
_LEVELS = 40  # at which each channel is cut; a guess: tried on rendered photos
_LEAST_SHARE = 0.004  # of the photo that a sheet fills; a guess: tried on rendered photos
_MOST_SHARE = 0.75  # a guess: tried on rendered photos
# Of a quadrilateral as proposed, a few pixels off; a guess: tried on rendered photos.
_MOST_MISFIT = 0.09
_CLEAR_MISFIT = 0.045  # of one that is refined; a guess: tried on rendered photos
# Of its girth that a quadrilateral may be off the region it stands for; a guess: tried on rendered
# photos.
_BULGE = 0.035
# Of the quadrilateral that the region fills, at least; a guess: tried on rendered photos.
_FILLED = 0.9
# Of the photo's longer side: corners as near as this are one proposal; a guess: tried on rendered
# photos.
_LIKE = 0.02
_REFINED = 10  # proposals that are looked at closely; a guess: tried on rendered photos
_SAMPLES = 160  # places along a side; a guess: tried on rendered photos
# Pixels of the working size to either side, first time round; a guess: tried on rendered photos.
_REACH = 9.0
# Of the places along each side that must lie on its line; a guess: tried on rendered photos.
_SIDE_HELD = 0.6
_LINEAR = (np.linspace(0, 1, 256) ** 2.2).astype(np.float32)
"""Light of code values, near enough to IEC 61966-2-1: a lens blurs light, so that an
edge between bright and dark stays in place in it."""
_AMBIGUOUS = 0.8  # a second sheet as good as this leaves doubt; a guess: tried on rendered photos


@dataclass(frozen=True, slots=True, eq=False)
class FoundSheet:
    """A sheet that was found.

    Parameters
    ----------
    corners_px : ndarray of float64, shape (4, 2)
        In pixels of the whole photo, clockwise; the first is the top left of the sheet
        laid as it is nearest to upright.
    size_mm : tuple of float
        Width and height of the sheet as it lies so.
    view : FlatView
        With the origin at the first corner.
    error_px : float
        Root mean square distance of the places along its sides from the lines.
    lies : bool
        Whether it lies there; else it only stands for a place on the wood.
    """

    corners_px: Points
    size_mm: tuple[float, float]
    view: FlatView
    error_px: float
    lies: bool = True


def find_sheet(
    rgb: NDArray[np.uint8],
    size_mm: tuple[float, float],
    photo_size: tuple[int, int] | None = None,
    *,
    on_progress: Progress | None = None,
) -> FoundSheet:
    """Find the sheet of a known size that lies in a photo.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (h, w, 3)
        Upright sRGB, in any size of at least a few hundred pixels.
    size_mm : tuple of float
        Its two sides, in either order; see :data:`SHEETS`.
    photo_size : tuple of int, optional
        Width and height of the whole photo, if what is given was shrunk.
    on_progress : Progress, optional

    Returns
    -------
    FoundSheet

    Raises
    ------
    BadInput
        If there is none, only one of other proportions, or more than one.
    """
    progress = on_progress or silent
    height, width = rgb.shape[:2]
    photo_size = photo_size or (width, height)
    scale = min(1.0, _WORKING / max(width, height))
    progress(0.0, "Looking for the sheet")
    small = _Small.of(rgb, scale)
    proposals = _proposals(small, size_mm)
    to_given = np.array([width, height]) / small.rgb.shape[1::-1]
    onto_whole = np.array([photo_size[0] / width, photo_size[1] / height])
    found: list[tuple[float, FoundSheet]] = []
    other_shape = False
    for number, (_, corners) in enumerate(proposals[:_REFINED]):
        progress(0.4 + 0.6 * number / _REFINED, "Looking for the sheet")
        refined = refined_corners(rgb, corners * to_given, reach_px=_REACH / scale)
        if refined is None or refined[2] < _SIDE_HELD:
            continue
        at, error, held = refined
        sheet = known_corners(at * onto_whole, size_mm, photo_size, error_px=error)
        off = misfit(sheet.corners_px, sheet.size_mm, photo_size)
        score = held * _looks_like_one(small, at / to_given)
        if off > _CLEAR_MISFIT:
            other_shape = other_shape or score > 0
        elif score > 0:
            found.append((score * math.exp(-((off / _CLEAR_MISFIT) ** 2)), sheet))
    progress(1.0, "Looking for the sheet")
    if not found:
        raise _none(size_mm, other_shape=other_shape)
    found.sort(key=lambda one: -one[0])
    best_score, best = found[0]
    for score, other in found[1:]:
        apart = float(np.linalg.norm((other.corners_px - best.corners_px).mean(axis=0)))
        if apart > 3 * _LIKE * max(photo_size) and score > _AMBIGUOUS * best_score:
            raise BadInput(
                "More than one sheet of paper is to be seen",
                "Leave only one in the picture, or say where its corners are",
            )
    return best


def _none(size_mm: tuple[float, float], *, other_shape: bool) -> BadInput:
    if not other_shape:
        return BadInput("No sheet of paper is to be found in the photo", NO_SHEET)
    sides = " × ".join(f"{side:g}" for side in size_mm)
    return BadInput(
        f"What lies on the wood does not have the proportions of {sides} mm",
        "Say which sheet it is and mind that all its corners are to be seen, or say where they are",
    )


def known_corners(
    corners_px: ArrayLike,
    size_mm: tuple[float, float],
    photo_size: tuple[int, int],
    *,
    error_px: float = 0.0,
) -> FoundSheet:
    """Return a sheet whose corners are known, turned as it lies.

    Parameters
    ----------
    corners_px : array_like, shape (4, 2)
        In pixels of the whole photo, clockwise from any of them.
    size_mm : tuple of float
        Its two sides, in either order.
    photo_size : tuple of int
    error_px : float, optional

    Raises
    ------
    BadInput
        If they do not go round a convex quadrilateral clockwise.

    Examples
    --------
    >>> lying = [(100, 100), (310, 100), (310, 248), (100, 248)]
    >>> known_corners(lying, SHEETS["a5"], (640, 480)).size_mm
    (210.0, 148.0)
    """
    corners = checked_corners(corners_px)
    corners = np.roll(corners, -int(corners.sum(axis=1).argmin()), axis=0)
    size = min((size_mm, size_mm[::-1]), key=lambda one: misfit(corners, one, photo_size))
    return FoundSheet(corners, size, view_of_corners(corners, size, photo_size), error_px)


def between(view: FlatView, pair_px: ArrayLike) -> FoundSheet:
    """Return a square of wood between two places, to stand for a sheet that is not there.

    Parameters
    ----------
    view : FlatView
        From straight above, see :func:`~burnplan.tone.flat_view.view_of_distance`.
    pair_px : array_like, shape (2, 2)
    """
    first, second = view.to_mm(pair_px)
    side = 0.3 * float(np.linalg.norm(second - first))
    low = (first + second) / 2 - side / 2
    motion = np.array([[1, 0, low[0]], [0, 1, low[1]], [0, 0, 1]])
    seen = view.moved(motion)
    corners = np.array([(0, 0), (side, 0), (side, side), (0, side)])
    return FoundSheet(seen.to_pixels(corners), (side, side), seen, 0.0, lies=False)


def refined_corners(
    rgb: NDArray[np.uint8], corners_px: ArrayLike, *, reach_px: float
) -> tuple[Points, float, float] | None:
    """Return where four straight sides truly meet, given about where.

    Along each side the steepest places across it, in the colour in which it is
    steepest, are found to a fraction of a pixel, and a line is laid through them that
    places off it do not sway.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (h, w, 3)
    corners_px : array_like, shape (4, 2)
        Clockwise, in pixels of the picture given, counted from its corner.
    reach_px : float
        How far off they may be.

    Returns
    -------
    corners : ndarray of float64, shape (4, 2)
    error_px : float
        Root mean square distance from the lines of the places that lie on them.
    held : float
        Share of the places that lie on their line, along the side with the fewest.
        None is returned instead if there are no such sides.
    """
    corners = np.asarray(corners_px, np.float64).reshape(4, 2)
    reach, error, held = reach_px, 0.0, 1.0
    for reach in (reach_px, max(reach_px / 2.5, 4.0), max(reach_px / 5, 3.0)):
        lines, off, share = [], [], []
        for side in range(4):
            line = _line_along(rgb, corners[side], corners[(side + 1) % 4], reach)
            if line is None:
                return None
            lines.append(line[0])
            off.append(line[1])
            share.append(line[2])
        met = [_crossing(lines[side - 1], lines[side]) for side in range(4)]
        if any(one is None for one in met):
            return None
        moved = np.array(met, np.float64)
        if np.abs(moved - corners).max() > 6 * reach:
            return None
        corners, error, held = moved, math.sqrt(float(np.mean(np.square(off)))), min(share)
    try:
        return checked_corners(corners), error, held
    except BadInput:
        return None


def _line_along(
    rgb: NDArray[np.uint8], start: Points, end: Points, reach: float
) -> tuple[tuple[Points, Points], float, float] | None:
    """Return a point and a direction of the line near a side, the error, and the share on it."""
    length = float(np.linalg.norm(end - start))
    if length < 8:
        return None
    along = (end - start) / length
    across = np.array([-along[1], along[0]])  # inwards, for corners that go clockwise
    places = np.linspace(0.07, 0.93, _SAMPLES)
    step = max(reach / 24, 0.25)
    offsets = np.arange(-reach, reach + step / 2, step)
    at = start + places[:, None, None] * length * along + offsets[None, :, None] * across
    profiles = _sampled(rgb, at)
    inner = profiles[:, offsets > reach / 4].reshape(-1, 3).mean(axis=0)
    outer = profiles[:, offsets < -reach / 4].reshape(-1, 3).mean(axis=0)
    colour = inner - outer
    if np.linalg.norm(colour) < 1e-6:
        return None
    signal = profiles @ (colour / np.linalg.norm(colour))
    signal = cv2.GaussianBlur(signal, (0, 0), max(reach / 8 / step, 1.0), sigmaY=1.0)
    slope = np.gradient(signal, axis=1)
    # What lies far off is believed less.
    best = (slope * (1 - 0.5 * np.abs(offsets / reach))).argmax(axis=1)
    inside = (best > 0) & (best < len(offsets) - 1)
    rows = np.flatnonzero(inside)
    if len(rows) < _SAMPLES // 4:
        return None
    peak = best[rows]
    left, here, right = (slope[rows, peak + shift] for shift in (-1, 0, 1))
    bend = left - 2 * here + right
    nudge = np.where(np.abs(bend) > 1e-9, 0.5 * (left - right) / np.minimum(bend, -1e-9), 0.0)
    off = offsets[peak] + np.clip(nudge, -0.5, 0.5) * step
    t = places[rows] * length - length / 2
    kept = _straight(t, off, max(0.12 * reach, 0.6))
    slope_of, level = np.polyfit(t[kept], off[kept], 1)
    error = float(np.std(off[kept] - slope_of * t[kept] - level))
    middle = start + along * length / 2 + across * level
    return (middle, along + across * slope_of), error, float(kept.sum()) / _SAMPLES


def _straight(
    t: NDArray[np.float64], off: NDArray[np.float64], tolerance: float
) -> NDArray[np.bool_]:
    """Return which places lie on the line that most of them share."""
    best = np.zeros(len(t), np.bool_)
    for apart in (2, 3, 4):  # each place with those a half, a third and a quarter further on
        ahead = len(t) // apart
        rise = (off[ahead:] - off[:-ahead]) / (t[ahead:] - t[:-ahead])
        level = off[:-ahead] - rise * t[:-ahead]
        on = np.abs(off[None, :] - rise[:, None] * t[None, :] - level[:, None]) <= tolerance
        most = on[on.sum(axis=1).argmax()]
        if most.sum() > best.sum():
            best = most
    return best


def _crossing(first: tuple[Points, Points], second: tuple[Points, Points]) -> Points | None:
    matrix = np.column_stack([first[1], -second[1]])
    if abs(float(np.linalg.det(matrix))) < 0.05:
        return None
    along = np.linalg.solve(matrix, second[0] - first[0])
    return np.asarray(first[0] + along[0] * first[1], np.float64)


def _sampled(rgb: NDArray[np.uint8], at: NDArray[np.float64]) -> NDArray[np.float32]:
    """Linear light at points counted from the picture's corner, shape (..., 3)."""
    flat = (at - 0.5).astype(np.float32)
    x, y = np.ascontiguousarray(flat[..., 0]), np.ascontiguousarray(flat[..., 1])
    low = np.floor([x.min(), y.min()]).astype(int) - 2  # OpenCV's maps end at 32767 pixels
    low = np.clip(low, 0, np.array(rgb.shape[1::-1]) - 1)
    high = np.ceil([x.max(), y.max()]).astype(int) + 3
    part = np.ascontiguousarray(
        rgb[low[1] : max(high[1], low[1] + 1), low[0] : max(high[0], low[0] + 1)]
    )
    found = cv2.remap(
        cv2.LUT(part, _LINEAR),
        x - np.float32(low[0]),
        y - np.float32(low[1]),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(found, np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class _Small:
    """The photo at the working size, as all proposals are judged on it."""

    rgb: NDArray[np.uint8]
    lab: NDArray[np.uint8]  # CIE L*a*b* as OpenCV packs it
    rough: NDArray[np.uint8]  # how far lightness is off its near surroundings

    @classmethod
    def of(cls, rgb: NDArray[np.uint8], scale: float) -> "_Small":
        if scale < 1:
            size = (round(rgb.shape[1] * scale), round(rgb.shape[0] * scale))
            rgb = np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
        lab = np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2LAB), np.uint8)
        light = lab[..., 0]
        rough = cv2.absdiff(light, cv2.GaussianBlur(light, (0, 0), 3.0))
        return cls(rgb, lab, np.asarray(rough, np.uint8))


def _proposals(small: _Small, size_mm: tuple[float, float]) -> list[tuple[float, Points]]:
    """Quadrilaterals that may be the sheet, best first, each with how good it looks."""
    height, width = small.rgb.shape[:2]
    share = _LEAST_SHARE * height * width, _MOST_SHARE * height * width
    found: list[tuple[float, Points]] = []
    seen: set[tuple[int, ...]] = set()
    for corners in _quadrilaterals(small.rgb, share):
        about = tuple(np.rint(corners.ravel() / 3).astype(int).tolist())
        if about in seen:  # at a level beside it
            continue
        seen.add(about)
        off = min(misfit(corners, one, (width, height)) for one in (size_mm, size_mm[::-1]))
        score = _looks_like_one(small, corners) * math.exp(-((off / _MOST_MISFIT) ** 2))
        found.append((score, corners))
    found.sort(key=lambda one: -one[0])
    kept: list[tuple[float, Points]] = []
    for score, corners in found:
        near = (np.abs(corners - other).max() < _LIKE * max(width, height) for _, other in kept)
        if score > 0 and not any(near):
            kept.append((score, corners))
    return kept


def _quadrilaterals(small: NDArray[np.uint8], share: tuple[float, float]) -> Iterator[Points]:
    """Convex quadrilaterals, corners clockwise from the top left, at all levels."""
    for channel in _channels(small):
        levels = np.unique(
            np.quantile(channel[::4, ::4], np.linspace(0.02, 0.985, _LEVELS)).astype(np.uint8)
        )
        for level in levels:
            cut = (channel > level).astype(np.uint8)
            opened = cv2.morphologyEx(cut, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
            lines, _ = cv2.findContours(opened, cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)
            for line in lines:
                area = cv2.contourArea(line)
                if not share[0] < area < share[1]:
                    continue
                hull = cv2.convexHull(line)
                four = cv2.approxPolyDP(hull, _BULGE * cv2.arcLength(hull, True), True)
                if len(four) != 4 or area < _FILLED * cv2.contourArea(four):
                    continue
                try:
                    yield checked_corners(clockwise(four[:, 0].astype(np.float64) + 0.5))
                except BadInput:
                    continue


def _channels(small: NDArray[np.uint8]) -> Iterator[NDArray[np.uint8]]:
    """Yield the photo as lightness, blue, blue against red, lightness against what is around."""
    soft = cv2.GaussianBlur(small, (0, 0), 1.2)
    red, _, blue = cv2.split(soft.astype(np.float32))
    light = cv2.cvtColor(soft, cv2.COLOR_RGB2LAB)[..., 0]
    yield np.asarray(light, np.uint8)
    yield blue.astype(np.uint8)
    yield np.clip(160 + 110 * np.log((blue + 6) / (red + 6)), 0, 255).astype(np.uint8)
    coarse = cv2.resize(light, (0, 0), fx=1 / 8, fy=1 / 8, interpolation=cv2.INTER_AREA)
    coarse = cv2.GaussianBlur(coarse.astype(np.float32), (0, 0), max(small.shape) / 48)
    wide = cv2.resize(coarse, light.shape[::-1], interpolation=cv2.INTER_LINEAR)
    yield np.clip(128 + light - wide, 0, 255).astype(np.uint8)
    yield np.asarray(255 - light, np.uint8)  # a dark card


def _looks_like_one(small: _Small, corners: Points) -> float:
    """How much a quadrilateral looks like a sheet, 0 for not at all.

    The step at each side against what varies inside, how even it is inside, and how
    white it is.
    """
    places = np.linspace(0.08, 0.92, 40)
    middle = corners.mean(axis=0)
    steps = []
    for side in range(4):
        start, end = corners[side], corners[(side + 1) % 4]
        along = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
        across = np.array([-along[1], along[0]])
        at = start + places[:, None] * (end - start)
        inner, outer = (_lab_at(small.lab, at + across * off) for off in (4.0, -4.0))
        steps.append(inner - outer)
    held = []
    for step in steps:
        mean = step.mean(axis=0)
        size = float(np.linalg.norm(mean))
        if size < 2.5:
            return 0.0
        held.append(float(np.mean(step @ mean / size > 0.35 * size)))
    if min(held) < 0.5:
        return 0.0
    shrunk = np.rint(middle + 0.88 * (corners - middle) - 0.5).astype(np.int32)
    low = np.maximum(shrunk.min(axis=0), 0)
    high = shrunk.max(axis=0) + 1
    part = np.s_[low[1] : high[1], low[0] : high[0]]
    inside = np.zeros(small.lab[part].shape[:2], np.uint8)
    cv2.fillConvexPoly(inside, shrunk - low, 1)
    if int(inside.sum()) < 100:
        return 0.0
    uneven = cv2.mean(small.rough[part], inside)[0]
    _, green, blue, _ = cv2.mean(small.lab[part], inside)
    chroma = math.hypot(green - 128, blue - 128)
    lighter = float(np.mean([step[:, 0].mean() for step in steps])) / 2.55
    even = math.exp(-uneven / 3.0)
    white = math.exp(-chroma / 20) * (1.0 if lighter > 0 else 0.4)
    contrast = min(float(np.linalg.norm(step.mean(axis=0))) for step in steps)
    return min(held) * even * white * (1 - math.exp(-contrast / 12))


def _lab_at(lab: NDArray[np.uint8], at: Points) -> NDArray[np.float32]:
    whole = np.clip(np.floor(at).astype(int), 0, np.array(lab.shape[1::-1]) - 1)
    return np.asarray(lab[whole[:, 1], whole[:, 0]], np.float32)
