"""Find a piece of known outline in a photo of it on a bench.

The bench is what the photo shows along its rim; the piece what stands apart from it in
the middle (:mod:`burnplan.tone.told_apart`).
Straight sides are then placed where they truly run. Which way up the piece lies is told
by what is burned on it.
"""

import math
from collections.abc import Iterator, Sequence
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.flat_view import FlatView, Points, misfit, view_of_corners
from burnplan.tone.known_sheet import refined_corners
from burnplan.tone.lightness import luminance
from burnplan.tone.region import clockwise, outline_polygon
from burnplan.tone.register import without_slow
from burnplan.tone.told_apart import Flat, told_apart

Contour = NDArray[Any]  # places of a contour as OpenCV gives them
Ellipse = tuple[Sequence[float], Sequence[float], float]  # as cv2.fitEllipse gives it

# Longer side, pixels, on which the piece is told from the bench; a guess: tried on rendered photos.
_WORKING = 320
# Of the picture's half sides about its middle, taken for the piece; a guess: tried on rendered
# photos.
_SURELY = 0.25
# By which the piece is told from the bench, and how often; a guess: tried on rendered photos.
_RAYS, _TURNS_TOLD = 240, 2
# Share of the picture that a piece takes; a guess: tried on rendered photos.
_LEAST, _MOST = 0.1, 0.96
# Share of the outline that must run along the edge found; a guess: tried on rendered photos.
_ALONG = 0.75
_BESIDE = 2.5  # pixels of the working size, within which it does; a guess: tried on rendered photos
# Of the picture: what is narrower and hangs on to the piece is bench; a guess: tried on rendered
# photos.
_THIN = 0.11
_TRIES = 200  # of ellipses through a few places of the edge; a guess: tried on rendered photos
_CLEAR_MISFIT = 0.15  # from which a shape has other proportions; a guess: tried on rendered photos
# Pixels of the working size, within which a side is placed; a guess: tried on rendered photos.
_REACH = 7.0
_HELD = 0.6  # share of each side that must be seen as a line; a guess: tried on rendered photos
# Longer side, pixels, on which ways up are compared; a guess: tried on rendered photos.
_COMPARED = 160
# Correlation by which another way up must be better; a guess: tried on rendered photos.
_CLEARLY = 0.08
_TURNS = 72  # of a round piece that are tried; a guess: tried on rendered photos
# Ways round at which a live edge is laid down, steps in which it settles, and the share of it that
# counts; a guess: tried on rendered photos.
_WAYS, _STEPS, _SETTLED = 24, 24, 0.85
_DARKEST = 2e-4  # luminance, below which a camera tells nothing; a guess: tried on rendered photos


def find_piece(
    rgb: NDArray[np.uint8],
    outline: Outline,
    photo_size: tuple[int, int],
    wanted: NDArray[np.float32],
) -> FlatView:
    """Return how a piece is seen in a photo, with the origin at the top left of its box.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (h, w, 3)
        The photo, upright, in any size of at least a few hundred pixels.
    outline : Outline
    photo_size : tuple of int
        Width and height of the whole photo.
    wanted : ndarray of float32, shape (H, W)
        Darkness as planned, on the outline's bounding box.

    Raises
    ------
    BadInput
        If no piece of that outline is found.
    """
    height, width = rgb.shape[:2]
    scale = min(1.0, _WORKING / max(height, width))
    size = (max(16, round(width * scale)), max(16, round(height * scale)))
    small = np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
    mask = _piece_mask(small)
    to_whole = np.array(photo_size) / np.array(size)
    given = np.array([width, height]) / np.array(photo_size)
    found: list[FlatView] = []
    boxes = [corners * to_whole for corners in _boxes(mask, outline)]
    if outline.kind is OutlineKind.RECTANGLE and boxes:
        refined = refined_corners(rgb, boxes[0] * given, reach_px=_REACH / scale)
        boxes = []
        if refined is not None and refined[2] >= _HELD:
            boxes = [np.roll(refined[0] / given, -turn, axis=0) for turn in range(4)]
        boxes = [
            at
            for at in boxes
            if misfit(at, (outline.width_mm, outline.height_mm), photo_size) <= _CLEAR_MISFIT
        ]
    away = _away_from_edge(mask)
    places = _along(outline)
    for at in boxes:
        view = view_of_corners(at, (outline.width_mm, outline.height_mm), photo_size)
        if _held(view.to_pixels(places) / to_whole, away) >= _ALONG:
            found.append(view)
    if not found:
        raise _none()
    scores = _alike(found, small, outline, wanted)
    best = int(np.argmax(scores))
    # As the photo shows it upright, unless another way up is clearly better.
    return found[best] if scores[best] > scores[0] + _CLEARLY else found[0]


def _none() -> BadInput:
    return BadInput(
        "The piece is not found in the photo",
        "Photograph it whole, from above, on a plain bench with some of that all round it,"
        " or give its corners",
    )


def _piece_mask(small: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return what is piece, 1, and what bench, 0; shape (h, w)."""
    height, width = small.shape[:2]
    wood = np.zeros((height, width), np.bool_)
    middle = tuple(
        slice(round(n / 2 * (1 - _SURELY)), round(n / 2 * (1 + _SURELY))) for n in (height, width)
    )
    wood[middle] = True
    flat = Flat(small, np.zeros(2), np.ones_like(wood), 1.0)
    told = told_apart(flat, wood, np.array([width, height]) / 2, rays=_RAYS, turns=_TURNS_TOLD)
    if not _LEAST < told.inside.mean() < _MOST:
        raise _none()
    return told.inside


def _boxes(mask: NDArray[np.uint8], outline: Outline) -> Iterator[Points]:
    """Yield where the corners of the outline's box may lie in a mask, most upright first."""
    lines, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    edge = max(lines, key=cv2.contourArea)
    if outline.kind in (OutlineKind.ROUND, OutlineKind.OVAL):
        yield from _around_ellipse(edge[:, 0], outline)
        return
    # What hangs on to it, and is narrow, is cut off; corners are placed anew afterwards.
    side = 2 * round(_THIN * max(mask.shape) / 2) + 1
    opened = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((side, side), np.uint8))
    lines, _ = cv2.findContours(opened, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    hull = cv2.convexHull(max(lines, key=cv2.contourArea) if lines else edge)
    if outline.kind is OutlineKind.RECTANGLE:
        four = _four_corners(hull)
        if four is not None:
            yield from (np.roll(four, -turn, axis=0) for turn in range(4))
        return
    yield from _settled(mask, outline)


def _four_corners(hull: Contour) -> Points | None:
    """Return the corners of the quadrilateral nearest to a hull, from the top left clockwise."""
    around = cv2.arcLength(hull, True)
    for share in np.linspace(0.01, 0.08, 15):
        four = cv2.approxPolyDP(hull, share * around, True)
        if len(four) == 4:
            return clockwise(four[:, 0].astype(np.float64) + 0.5)
    return None


def _ellipse_of(edge: Contour) -> Ellipse:
    """Return the ellipse that most of an edge lies on, as :func:`cv2.fitEllipse` gives it.

    RANSAC: M. A. Fischler, R. C. Bolles, Comm. ACM 24(6), 1981.
    """
    rng = np.random.default_rng(1)  # the same photo, the same ellipse
    points = edge.astype(np.float32)
    best, most = np.ones(len(points), np.bool_), 0.0
    for _ in range(_TRIES):
        few = points[rng.choice(len(points), 6, replace=False)]
        near = _near_ellipse(points, cv2.fitEllipseDirect(few))
        if near.sum() > most:
            best, most = near, float(near.sum())
    return cv2.fitEllipseDirect(points[best])


def _near_ellipse(points: NDArray[np.float32], ellipse: Ellipse) -> NDArray[np.bool_]:
    (x, y), axes, degrees = ellipse
    if not all(math.isfinite(one) and one > 20 for one in axes) or max(axes) > 4 * min(axes):
        return np.zeros(len(points), np.bool_)
    turn = math.radians(degrees)
    across, down = points[:, 0] - x, points[:, 1] - y
    u = (across * math.cos(turn) + down * math.sin(turn)) / (axes[0] / 2)
    v = (down * math.cos(turn) - across * math.sin(turn)) / (axes[1] / 2)
    return np.asarray(np.abs(np.hypot(u, v) - 1) * min(axes) / 2 < 1.2, np.bool_)


def _around_ellipse(edge: Contour, outline: Outline) -> Iterator[Points]:
    """Yield the box around an ellipse, turned in all ways that a round or an oval may lie."""
    if len(edge) < 40:
        return
    (x, y), axes, degrees = _ellipse_of(edge)
    turn = math.radians(degrees)
    along = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    box = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)], np.float64)
    middle = np.array([x, y]) + 0.5
    if outline.kind is OutlineKind.ROUND:
        upright = along @ np.diag(np.array(axes) / 2) @ along.T
        for step in range(_TURNS):
            angle = 2 * math.pi * step / _TURNS
            turned = np.array(
                [[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]]
            )
            yield middle + box @ (upright @ turned).T
        return
    # Long axis on long axis; fitEllipse gives the first at its angle.
    same = (axes[0] >= axes[1]) == (outline.width_mm >= outline.height_mm)
    columns = along @ np.diag(np.array(axes) / 2)
    if not same:
        columns = columns @ np.array([[0, -1], [1, 0]])
    ways = [columns, -columns]
    ways.sort(key=lambda way: -float(way[0, 0] + way[1, 1]))
    for way in ways:
        yield middle + box @ way.T


def _settled(mask: NDArray[np.uint8], outline: Outline) -> Iterator[Points]:
    """Yield the box of a live edge, each way round at which it settles on the mask's edge.

    Its places are laid on those of the edge that lie nearest, again and again (P. J. Besl,
    N. D. McKay, "A method for registration of 3-D shapes", IEEE PAMI 14(2), 1992); what is far
    off, where something hangs on to it, counts for nothing.
    """
    edge = _edge(mask)
    _, labels = cv2.distanceTransformWithLabels(
        (edge == 0).astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
    )
    rows, columns = np.nonzero(edge)
    nearest = np.zeros((int(labels.max()) + 1, 2))
    nearest[labels[rows, columns]] = np.stack([columns, rows], axis=1) + 0.5
    last = np.array(mask.shape[::-1]) - 1

    places = _along(outline)
    low, high = places.min(axis=0), places.max(axis=0)
    box = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
    moments = cv2.moments(mask, binaryImage=True)
    middle = np.array([moments["m10"], moments["m01"]]) / moments["m00"] + 0.5
    scale = math.sqrt(moments["m00"] / outline.area_mm2)
    ring = cv2.moments(places.astype(np.float32))
    own = np.array([ring["m10"], ring["m01"]]) / ring["m00"]
    for way in range(_WAYS):
        angle = 2 * math.pi * way / _WAYS
        turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
        onto = np.eye(3)
        onto[:2, :2] = scale * turn
        onto[:2, 2] = middle - onto[:2, :2] @ own
        for step in range(_STEPS):
            seen = FlatView(onto, (1, 1)).to_pixels(places)
            at = np.clip(np.floor(seen), 0, last).astype(int)
            to = nearest[labels[at[:, 1], at[:, 0]]]
            off = np.linalg.norm(to - seen, axis=1)
            near = off <= max(float(np.quantile(off, _SETTLED)), 1e-6)
            if step < _STEPS // 2:  # first as seen from straight above
                flat = np.column_stack([places[near], np.ones(int(near.sum()))])
                onto = np.vstack([np.linalg.lstsq(flat, to[near], rcond=None)[0].T, (0, 0, 1)])
                continue
            bent, _ = cv2.findHomography(places[near], to[near])
            if bent is None:
                break
            onto = np.asarray(bent, np.float64)
        corners = FlatView(onto, (1, 1)).to_pixels(box)
        if np.isfinite(corners).all() and cv2.isContourConvex(corners.astype(np.float32)):
            yield corners


def _along(outline: Outline) -> Points:
    """Return places all along an outline, mm."""
    ring = outline_polygon(outline)
    if len(ring) >= 100:
        return ring
    steps = np.linspace(0, 1, 24, endpoint=False)[None, :, None]
    sides = ring[:, None] + steps * (np.roll(ring, -1, axis=0) - ring)[:, None]
    return np.asarray(sides.reshape(-1, 2), np.float64)


def _edge(mask: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return the pixels on both sides of where a mask ends."""
    return np.asarray(cv2.morphologyEx(mask, cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8)))


def _away_from_edge(mask: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Return how far each pixel lies from the edge of a mask."""
    edge = _edge(mask)
    return np.asarray(cv2.distanceTransform((edge == 0).astype(np.uint8), cv2.DIST_L2, 3))


def _held(seen: Points, away: NDArray[np.float32]) -> float:
    """Return the share of places that lie along the edge of a mask."""
    last = np.array(away.shape[::-1]) - 1
    at = np.floor(seen).astype(int)
    column, row = np.clip(at, 0, last).T
    inside = (at >= 0).all(axis=1) & (at <= last).all(axis=1)
    return float(((away[row, column] <= _BESIDE) & inside).mean())


def _alike(
    views: Sequence[FlatView],
    rgb: NDArray[np.uint8],
    outline: Outline,
    wanted: NDArray[np.float32],
) -> list[float]:
    """Return how each view of the piece goes with its plan: their correlation."""
    px = _COMPARED / max(outline.width_mm, outline.height_mm)
    box = 0.0, 0.0, outline.width_mm, outline.height_mm

    def picture(values: NDArray[np.float32]) -> NDArray[np.float64]:
        even = without_slow(values, np.ones(values.shape, np.bool_), px)
        return np.asarray(cv2.GaussianBlur(even, (0, 0), 2.0), np.float64).ravel()

    scores = []
    plan: NDArray[np.float64] | None = None
    for view in views:
        light = np.maximum(luminance(view.rectified(rgb, box, px)), np.float32(_DARKEST))
        if plan is None:
            small = cv2.resize(-wanted, light.shape[::-1], interpolation=cv2.INTER_AREA)
            plan = picture(np.asarray(small, np.float32))
        seen = picture(np.log(light).astype(np.float32))
        flat = min(float(seen.std()), float(plan.std())) < 1e-4
        scores.append(0.0 if flat else float(np.corrcoef(seen, plan)[0, 1]))
    return scores
