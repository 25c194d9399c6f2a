"""Tell wood from the bench that it lies on, in a picture seen flat.

Some places are known to be wood and some to be bench. Each other is judged by its colour
(freed of uneven light) and its texture; then the closed line round the middle that parts
the two best and runs along edges is found by dynamic programming over angles, which
gives the best of all lines that a ray from the middle meets once, and by how much the
best line elsewhere is worse: where that is little, the edge is not steady. It is done
again from the middle of what was found, with the wood and the bench known better (a rim
unlike the bench all round is bark).
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.errors import BadInput
from burnplan.tone.flat_view import Points

Array = NDArray[np.float32]

WHOLE = "Have all of the wood in the picture, with some of the bench around it"

# All of these are guesses, tuned on rendered scenes other than those that are tried.
# Pixels on a millimetre, where wood and bench are told apart; a guess: tried on rendered photos.
COARSE = 1.0
_ANGLES = 720  # rays; a guess: tried on rendered photos
LARGEST_MM = 900.0  # from the sheet's middle; a guess: tried on rendered photos
MOST_BARK_MM = 18  # deep; a guess: tried on rendered photos
_BARK_VARIES_MM = 2.0  # in depth; a guess: tried on rendered photos
_TURNS = 3  # a guess: tried on rendered photos
# Of colours that wood, and the bench, are described by; a guess: tried on rendered photos.
_KINDS = 7
_WINDOW = 5  # pixels, whose texture is looked at; a guess: tried on rendered photos
_RIM = 0.06  # of the photo's shorter side: bench; a guess: tried on rendered photos
# Most that a place can say for wood or bench, nats; a guess: tried on rendered photos.
_BELIEVED = 3.0
# Of an edge against a millimetre of wood or bench; a guess: tried on rendered photos.
_EDGE_WEIGHT = 9.0
_APART = 12  # millimetres from which a line is another; a guess: tried on rendered photos
_ROUGH_PRICE = 1.2  # of a step in or out; a guess: tried on rendered photos
# Inside the edge, where there is hardly bark; a guess: tried on rendered photos.
_DEEP_MM = 10.0
# Of the wood, that says nothing of the bench; a guess: tried on rendered photos.
_BESIDE_MM = 14.0
_FEWEST_BENCH = 3000  # pixels, that it is learned from; a guess: tried on rendered photos
# Beside what was found, and nats that bark is unlike; a guess: tried on rendered photos.
_RIM_MM, _UNLIKE = (3.0, 5.5), 2.5
# The same of thin bark, and of its light, by which it is no blend; a guess: tried on rendered
# photos.
_THIN_RIM_MM, _NO_BLEND = (1.0, 3.0), 0.2
# By which a knot or bark is darker than wood, in units of the looks; a guess: tried on rendered
# photos.
_DARKER = 1.2
# Nats by which what is like neither may be likelier than that; of the wood's warmth, what its knots
# and bark have; a guess: tried on rendered photos.
_NEITHER, _AS_WARM = 1.0, 0.5
_RATHER = 1.0  # nats, that those say for wood; a guess: tried on rendered photos
# Likelihood of what was never seen, on wood and on a bench; a guess: tried on rendered photos.
_NEVER, _OTHER = 1e-6, 2e-5
_SECTORS = 36  # round the wood; a guess: tried on rendered photos
# Of them, that a kind of wood round the sheet is in, and a kind of bark; a guess: tried on rendered
# photos.
_WOOD_ROUND, _BARK_ROUND = 0.25, 0.6


@dataclass(frozen=True, slots=True, eq=False)
class Flat:
    """The photo from straight above."""

    rgb: NDArray[np.uint8]
    origin: NDArray[np.float64]  # mm of its top left corner
    shown: NDArray[np.bool_]  # what the photo shows
    px_per_mm: float

    def place(self, mm: NDArray[np.float64]) -> NDArray[np.float32]:
        """Return pixels, counted from centres, of points in mm."""
        return ((mm - self.origin) * self.px_per_mm - 0.5).astype(np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class ToldApart:
    """Wood and bench, told apart.

    Parameters
    ----------
    line_mm : ndarray of float64, shape (K, 2)
        Where the wood ends, clockwise, one place on each ray.
    margin : ndarray of float64, shape (K,)
        By how much any other line there parts the two worse.
    pole_mm : ndarray of float64, shape (2,)
        Where the rays meet.
    inside : ndarray of uint8, shape (H, W)
        1 within the line.
    odds : ndarray of float32, shape (H, W)
        How much more a place looks like wood than like bench, nats.
    light : ndarray of float32, shape (H, W)
        ln of the light, of that in the middle.
    """

    line_mm: Points
    margin: NDArray[np.float64]
    pole_mm: Points
    inside: NDArray[np.uint8]
    odds: Array
    light: Array


def told_apart(
    flat: Flat,
    wood: NDArray[np.bool_],
    centre: Points,
    *,
    paper: NDArray[np.bool_] | None = None,
    lies: bool = True,
    rays: int = _ANGLES,
    turns: int = _TURNS,
    on_turn: Callable[[int], None] | None = None,
) -> ToldApart:
    """Tell wood from bench.

    Parameters
    ----------
    flat : Flat
    wood : ndarray of bool, shape (H, W)
        What is wood, nearly all of it.
    centre : ndarray of float64, shape (2,)
        A place on the wood, mm.
    paper : ndarray of bool, shape (H, W), optional
        Where a sheet lies on the wood, which tells the light; without it the light is taken
        for even.
    lies : bool
        Whether it is a white sheet; else it only stands for a place on the wood.
    rays : int
    turns : int
        How often both are learned.
    on_turn : callable, optional
        Called with the number of each turn as it begins.

    Raises
    ------
    BadInput
        If too little of either is to be seen.
    """
    bench = _rim(flat) & ~cv2.dilate(wood.view(np.uint8), np.ones((9, 9), np.uint8)).astype(bool)
    light = np.zeros(wood.shape, np.float32) if paper is None else _paper_light(flat, paper)
    white = paper if lies else None
    for turn in range(turns):
        if on_turn is not None:
            on_turn(turn)
        looks = _features(flat, light)
        # At first what lies beside a sheet may be at its corners only, and no wood.
        all_round = flat.place(centre), _WOOD_ROUND
        odds = _odds(looks, wood, bench, white, None if turn or paper is None else all_round)
        if paper is not None:
            odds[paper] = _BELIEVED
        line, margin = _best_line(flat, odds, _edge_strength(looks), centre, rays)
        inside = _filled(flat, line)
        pole = centre
        moments = cv2.moments(line.astype(np.float32))
        if moments["m00"] > 0:
            centre = np.array([moments["m10"], moments["m01"]]) / moments["m00"]
        wood = cv2.erode(inside, np.ones((5, 5), np.uint8)).astype(bool)
        # Beside the wood there may be bark that was not taken for it: no bench to learn from.
        bench = _off(inside, _BESIDE_MM) & flat.shown
        if int(bench.sum()) < _FEWEST_BENCH:
            bench = _off(inside, 3.0) & flat.shown
        if paper is None:
            continue
        wood &= ~paper
        if int(bench.sum()) >= _FEWEST_BENCH:
            wood |= _rim_of_bark(flat, looks, line, inside, bench) & flat.shown
        face = _off(1 - inside, _DEEP_MM) & ~paper  # without bark, which is no shadow
        light = _wood_light(flat, face if face.sum() > _FEWEST_BENCH else wood, paper)
    return ToldApart(line, margin, pole, inside, odds, light)


def _rim(flat: Flat) -> NDArray[np.bool_]:
    """Return what the photo shows along its rim: bench."""
    padded = np.pad(flat.shown.view(np.uint8), 1)
    inwards = cv2.distanceTransform(padded, cv2.DIST_L2, 3)[1:-1, 1:-1]
    return np.asarray((inwards < _RIM * inwards.max() * 2) & flat.shown)


def _log_light(flat: Flat) -> Array:
    linear = (cv2.GaussianBlur(flat.rgb, (0, 0), 1.0).astype(np.float32) / 255) ** 2.2
    return np.asarray(np.log(linear + 0.004), np.float32)


def _surface(values: Array, where: NDArray[np.bool_], degree: int) -> NDArray[np.float32]:
    """Return the smooth surface that fits values at some places, at all places."""
    height, width = values.shape
    rows, columns = np.nonzero(where)
    step = max(1, len(rows) // 20000)
    rows, columns = rows[::step], columns[::step]
    scale = max(height, width) / 2

    def terms(y: NDArray[np.float64], x: NDArray[np.float64]) -> NDArray[np.float64]:
        powers = [(i, j) for i in range(degree + 1) for j in range(degree + 1 - i)]
        return np.stack([y**i * x**j for i, j in powers], axis=-1)

    at = terms(rows / scale - 0.5, columns / scale - 0.5)
    seen = values[rows, columns].astype(np.float64)
    solved = np.linalg.lstsq(at, seen, rcond=None)[0]
    for _ in range(3):
        off = np.abs(seen - at @ solved)
        weight = 1 / np.sqrt(1 + (off / max(float(np.median(off)) * 2, 1e-4)) ** 2)
        solved = np.linalg.lstsq(at * weight[:, None], seen * weight, rcond=None)[0]
    y = (np.arange(height) / scale - 0.5)[:, None] * np.ones((1, width))
    x = (np.arange(width) / scale - 0.5)[None, :] * np.ones((height, 1))
    fitted = terms(y, x) @ solved
    low, high = np.quantile(at @ solved, (0.0, 1.0))
    room = 0.35  # no further on than this, in logarithms of light
    return np.asarray(np.clip(fitted, low - room, high + room), np.float32)


def _paper_light(flat: Flat, paper: NDArray[np.bool_]) -> Array:
    within = cv2.erode(paper.view(np.uint8), np.ones((11, 11), np.uint8)).astype(bool)
    light = _log_light(flat).mean(axis=2)
    fitted = _surface(light, within, 1)
    return fitted - float(np.median(fitted[within]))


def _wood_light(flat: Flat, wood: NDArray[np.bool_], paper: NDArray[np.bool_]) -> Array:
    light = _log_light(flat).mean(axis=2)
    within = cv2.erode(paper.view(np.uint8), np.ones((11, 11), np.uint8)).astype(bool)
    level = light.copy()
    if wood.any():
        ring = cv2.dilate(paper.view(np.uint8), np.ones((31, 31), np.uint8)).astype(bool) & wood
        near = ring if ring.any() else wood
        level[within] -= float(np.median(light[within]) - np.median(light[near]))
    fitted = _surface(level, within | wood, 2)
    return fitted - float(np.median(fitted[within]))


def _features(flat: Flat, light: Array) -> Array:
    """Return what a place looks like: lightness, two colours, texture, in units alike."""
    colours = colours_of(_log_light(flat) - light[..., None])
    fine = (flat.rgb.astype(np.float32).mean(axis=2) / 255) ** 2.2
    fine = np.log(fine + 0.01) - light
    mean, square = (cv2.blur(one, (_WINDOW, _WINDOW)) for one in (fine, fine**2))
    # Of all windows that a place lies in the evenest: those across an edge say nothing of it.
    rough = cv2.erode(np.maximum(square - mean**2, 0), np.ones((_WINDOW, _WINDOW), np.uint8))
    texture = 0.8 * np.log(cv2.blur(rough, (3, 3)) + 2e-4)
    return np.asarray(np.concatenate([colours, texture[..., None]], axis=-1), np.float32)


def colours_of(log: Array) -> Array:
    """Return lightness and two colours of the logarithm of light, in units alike."""
    level = log.mean(axis=2)
    red = log[..., 0] - log[..., 1]
    blue = log[..., 2] - log[..., 1]
    return np.asarray(np.stack([level * 4, red * 12, blue * 9], axis=-1), np.float32)


def _rim_of_bark(
    flat: Flat,
    looks: Array,
    line: Points,
    inside: NDArray[np.uint8],
    bench: NDArray[np.bool_],
) -> NDArray[np.bool_]:
    """Return the rim round what was found that is unlike the bench: bark, if it runs all round."""
    colours = np.ascontiguousarray(looks[..., :3])  # texture reaches too far
    like = _likelihood(colours, bench, _OTHER)
    unlike = like < float(np.median(like[bench])) - _UNLIKE
    near = _between(inside, _RIM_MM)
    if not near.any() or unlike[near].mean() < 0.5:
        # Nearer by it may be thin, or else what is there is a blend of both.
        near = _between(inside, _THIN_RIM_MM)
        if not near.any() or _no_blend(flat, line).mean() < _BARK_ROUND:
            return np.zeros(bench.shape, np.bool_)
    middle = flat.place(line.mean(axis=0))
    rim = _likelihood(colours, near & unlike, _OTHER, (middle, _BARK_ROUND))
    alike = (cv2.blur(rim - like, (3, 3)) > 0.5) & (inside == 0)
    # As deep as it is in most places.
    away = cv2.distanceTransform(1 - inside, cv2.DIST_L2, 5) / COARSE
    rings = [alike[(away > depth - 1) & (away <= depth)] for depth in range(1, MOST_BARK_MM + 1)]
    deep = [depth for depth, ring in enumerate(rings, start=1) if ring.mean() > 0.5]
    return np.asarray(alike & (away <= max(deep, default=0) + _BARK_VARIES_MM), np.bool_)


def _no_blend(flat: Flat, line: Points) -> NDArray[np.bool_]:
    """Return where a thin rim beyond a line is no blend of the light on either side of it."""
    linear = (cv2.blur(flat.rgb, (3, 3)).astype(np.float32) / 255) ** 2.2
    out = line - line.mean(axis=0)
    out /= np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9)
    rim = sum(_THIN_RIM_MM) / 2
    places = [np.rint(flat.place(line + out * away)).astype(int) for away in (rim, -rim, 3 * rim)]
    last = np.array(linear.shape[1::-1]) - 1
    here, start, end = (linear[tuple(np.clip(one, 0, last).T[::-1])] for one in places)
    along = end - start
    share = ((here - start) * along).sum(axis=1) / np.maximum((along**2).sum(axis=1), 1e-9)
    beside = np.linalg.norm(here - start - np.clip(share, 0, 1)[:, None] * along, axis=1)
    return np.asarray(beside > _NO_BLEND * np.linalg.norm(here, axis=1), np.bool_)


def _odds(
    looks: Array,
    wood: NDArray[np.bool_],
    bench: NDArray[np.bool_],
    paper: NDArray[np.bool_] | None,
    all_round: tuple[Array, float] | None,
) -> Array:
    """Return how much more a place looks like wood than like bench, nats.

    What is like neither is some other thing that lies on the bench; without paper, what a
    sheet would cover may be one too. But what is dark and as warm as wood may be its knot or
    its bark: that is taken for likelier.
    """
    other = _NEVER if paper is None else _OTHER
    # At an edge a place is a blend of what is beside it, not some other thing.
    found = [
        cv2.dilate(one, np.ones((3, 3), np.uint8))
        for one in (_likelihood(looks, wood, all_round=all_round), _likelihood(looks, bench, other))
    ]
    odds = np.clip(found[0] - found[1], -_BELIEVED, _BELIEVED)
    if paper is not None:
        neither = np.maximum(*found) < math.log(other) + _NEITHER
        white, face = (np.median(looks[one], axis=0) for one in (paper, wood))
        warm = (looks - white)[..., 1:3] * np.sign(face - white)[1:3]
        as_warm = (warm > _AS_WARM * np.abs(face - white)[1:3]).all(axis=2)
        odds[neither & as_warm & (looks[..., 0] < face[0] - _DARKER)] = _RATHER
    return np.asarray(cv2.medianBlur(odds, 5), np.float32)


def _likelihood(
    looks: Array,
    where: NDArray[np.bool_],
    other: float = _NEVER,
    all_round: tuple[Array, float] | None = None,
) -> Array:
    """Return the logarithm of a mixture of normals fitted at some places, at all places.

    ``other`` is the likelihood of what was never seen there. With a middle and a share of the
    way round it given, only what is seen in so much of it counts: what lies at one place is no
    part of it.
    """
    sample = looks[where]
    if len(sample) < 200:
        raise BadInput("Too little of the wood or of the bench is to be seen", WHOLE)
    step = max(1, len(sample) // 12000)
    sample = np.ascontiguousarray(sample[::step])
    if all_round is not None:
        down, across = (np.stack(np.nonzero(where))[:, ::step].T - all_round[0][::-1]).T
        lies = np.floor(np.arctan2(down, across) * (_SECTORS / (2 * math.pi)))
    cv2.setRNGSeed(1)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 12, 1e-3)
    _, labels, _ = cv2.kmeans(sample, _KINDS, None, stop, 1, cv2.KMEANS_PP_CENTERS)  # type: ignore[call-overload]
    total = np.full(looks.shape[:2], other, np.float32)
    for kind in range(_KINDS):
        chosen = labels[:, 0] == kind
        mine = sample[chosen]
        if len(mine) < 12:
            continue
        if all_round is not None:
            if len(np.unique(lies[chosen])) < all_round[1] * _SECTORS:
                continue
            off = np.linalg.norm(mine - np.median(mine, axis=0), axis=1)
            mine = mine[off <= 2 * np.median(off)]
        mean = mine.mean(axis=0)
        spread = np.cov(mine.T) + 0.06 * np.eye(looks.shape[2])
        root = np.linalg.cholesky(np.linalg.inv(spread)).T
        off = cv2.transform(looks, np.column_stack([root, -root @ mean]))
        exponent = -0.5 * np.einsum("ijk,ijk->ij", off, off)
        scale = len(mine) / len(sample) / math.sqrt(float(np.linalg.det(spread)))
        total += np.float32(scale) * np.exp(exponent)
    return np.asarray(np.log(total), np.float32)


def _edge_strength(looks: Array) -> Array:
    """Return how sharp an edge of colour is, 0 to 1."""
    total = np.zeros(looks.shape[:2], np.float32)
    for channel in range(3):
        across = cv2.Sobel(looks[..., channel], cv2.CV_32F, 1, 0, ksize=3, scale=1 / 8)
        down = cv2.Sobel(looks[..., channel], cv2.CV_32F, 0, 1, ksize=3, scale=1 / 8)
        total += across**2 + down**2
    return np.asarray(total / (total + 0.15), np.float32)


def _directions(count: int) -> NDArray[np.float64]:
    turn = np.arange(count) * (2 * math.pi / count)
    return np.stack([np.cos(turn), np.sin(turn)], axis=1)


def _best_line(
    flat: Flat, odds: Array, edges: Array, centre: NDArray[np.float64], rays: int
) -> tuple[Points, NDArray[np.float64]]:
    """Return the line round the centre that parts wood from bench best, by rays.

    With it comes by how much any other is worse, at each ray.
    """
    furthest = np.hypot(*flat.shown.shape) / COARSE
    reach = np.arange(4.0, min(furthest, LARGEST_MM), 1.0)
    directions = _directions(rays)
    at = centre + directions[:, None, :] * reach[None, :, None]
    place = flat.place(at)
    x, y = np.ascontiguousarray(place[..., 0]), np.ascontiguousarray(place[..., 1])

    def along(values: Array, beyond: float) -> NDArray[np.float64]:
        return np.asarray(
            cv2.remap(values, x, y, cv2.INTER_LINEAR, None, cv2.BORDER_CONSTANT, (beyond,)),
            np.float64,
        )

    shown = along(flat.shown.astype(np.float32), 0) > 0.5
    says = np.where(shown, along(odds, -_BELIEVED), -_BELIEVED)
    arc = reach * (2 * math.pi / rays)
    inside = np.cumsum(says * arc, axis=1)
    cost = -inside - _EDGE_WEIGHT * np.where(shown, along(edges, 0), 0) * arc
    best, margin = closed_way(cost, _ROUGH_PRICE, _APART)
    return np.asarray(centre + directions * reach[best][:, None], np.float64), margin


def closed_way(
    cost: NDArray[np.float64], price: float, apart: int
) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Return the cheapest closed way through all rows, and by how much any other is dearer.

    The min-marginals of a chain, what the cheapest way through each place costs, by dynamic
    programming there and back, twice round so that its ends meet. Steps cost their length.

    Parameters
    ----------
    cost : ndarray of float64, shape (rows, columns)
    price : float
        Of a step of one column from a row to the next.
    apart : int
        Columns from which a way is another.

    Returns
    -------
    way : ndarray of int, shape (rows,)
    margin : ndarray of float64, shape (rows,)
        By how much the cheapest way is dearer that is another at this row.
    """
    rows, columns = cost.shape
    twice = np.concatenate([cost, cost])
    slope = price * np.arange(columns)

    def on(total: NDArray[np.float64]) -> NDArray[np.float64]:
        down = np.minimum.accumulate(total - slope) + slope
        up = np.minimum.accumulate((total + slope)[::-1])[::-1] - slope
        return np.asarray(np.minimum(down, up), np.float64)

    ahead, back = twice.copy(), twice.copy()
    for row in range(1, 2 * rows):
        ahead[row] += on(ahead[row - 1])
        back[-1 - row] += on(back[-row])
    half = rows // 2
    middle = slice(half, half + rows)
    through = np.roll(ahead[middle] + back[middle] - twice[middle], half, axis=0)
    way = through.argmin(axis=1)
    near = np.abs(np.arange(columns)[None, :] - way[:, None]) < apart
    margin = np.where(near, np.inf, through).min(axis=1) - through.min(axis=1)
    return way, np.asarray(margin, np.float64)


def _off(inside: NDArray[np.uint8], apart_mm: float) -> NDArray[np.bool_]:
    """Return what lies farther off than some mm."""
    away = cv2.distanceTransform(1 - inside, cv2.DIST_L2, 5)
    return np.asarray(away > apart_mm * COARSE, np.bool_)


def _between(inside: NDArray[np.uint8], apart_mm: tuple[float, float]) -> NDArray[np.bool_]:
    """Return what lies off it within a band."""
    return _off(inside, apart_mm[0]) & ~_off(inside, apart_mm[1])


def _filled(flat: Flat, line: Points) -> NDArray[np.uint8]:
    mask = np.zeros(flat.shown.shape, np.uint8)
    cv2.fillPoly(mask, [np.rint(flat.place(line)).astype(np.int32)], 1)
    return mask
