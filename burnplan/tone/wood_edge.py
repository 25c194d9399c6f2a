"""Find where a piece of wood ends against the bench, in a photo with a sheet on it.

The wood around the sheet says what wood looks like and the paper how the light falls;
the two are told apart (:mod:`burnplan.tone.told_apart`) as seen from straight above, and
the line between them is placed in fine steps where colours change fastest.
"""

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.progress import Progress, silent
from burnplan.tone.flat_view import FlatView, Points
from burnplan.tone.known_sheet import FoundSheet
from burnplan.tone.told_apart import (
    COARSE,
    LARGEST_MM,
    MOST_BARK_MM,
    Flat,
    ToldApart,
    closed_way,
    colours_of,
    told_apart,
)

Array = NDArray[np.float32]

# All of these are guesses, tuned on rendered scenes other than those that are tried.
_FINE = 2.0  # pixels on a millimetre, where the edge is placed; a guess: tried on rendered photos
_BAND_MM = 5.0  # to either side of the line as first found; a guess: tried on rendered photos
_FINE_PRICE = 0.5  # of a quarter of a millimetre in or out; a guess: tried on rendered photos
# Of an edge against a millimetre of wood or bench; a guess: tried on rendered photos.
_FINE_EDGE = 8.0
_FINE_ANGLES = 1080  # a guess: tried on rendered photos
# Than the face, in quarters of a logarithm of light; a guess: tried on rendered photos.
_BARK_DARKER = 0.9
# Of the edge that has it, else it is a knot or a shadow; a guess: tried on rendered photos.
_LEAST_BARK = 0.2
_RING_MM = (2.0, 16.0)  # around the sheet: wood; a guess: tried on rendered photos
_FINE_APART = 8  # steps from which a line is another; a guess: tried on rendered photos
# By which another line is worse, in coarse and in fine steps; a guess: tried on rendered photos.
_STEADY = 24.0, 0.85


@dataclass(frozen=True, slots=True, eq=False)
class WoodEdge:
    """The edge of a piece of wood.

    Parameters
    ----------
    points_mm : ndarray of float64, shape (K, 2)
        Clockwise, in the millimetres of the view it was found in.
    clear : ndarray of float64, shape (K,)
        How clearly wood and bench differ there, 0 to 1.
    steady : ndarray of bool, shape (K,)
        Whether any line that runs elsewhere there would part the two clearly worse.
    bark_mm : float
        How deep a dark rim reaches in from the edge, in nine places of ten where there is
        one; 0 without.
    """

    points_mm: Points
    clear: NDArray[np.float64]
    steady: NDArray[np.bool_]
    bark_mm: float


def find_edge(
    rgb: NDArray[np.uint8], sheet: FoundSheet, *, on_progress: Progress | None = None
) -> WoodEdge:
    """Find the edge of the wood that a sheet lies on.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (h, w, 3)
        Upright sRGB, in any size.
    sheet : FoundSheet
    on_progress : Progress, optional

    Returns
    -------
    WoodEdge

    Raises
    ------
    BadInput
        If the wood is not whole in the picture, or cannot be told from the bench.
    """
    progress = on_progress or silent
    progress(0.0, "Looking from straight above")
    flat = _flattened(rgb, sheet.view, _seen_box(sheet), COARSE)
    told = told_apart(
        flat,
        _around(flat, sheet),
        np.array(sheet.size_mm) / 2,
        paper=_paper_mask(flat, sheet),
        lies=sheet.lies,
        on_turn=lambda turn: progress(0.1 + 0.2 * turn, "Telling wood from bench"),
    )
    progress(0.75, "Placing the edge")
    return _placed(rgb, sheet.view, flat, told)


def _seen_box(sheet: FoundSheet) -> tuple[float, float, float, float]:
    """Return the box, mm, of all that the photo shows, as far as any wood may reach."""
    width, height = sheet.view.photo_size
    rim = np.linspace(0, 1, 40)
    sides = [np.column_stack([rim * width, rim * 0 + end]) for end in (0, height)]
    sides += [np.column_stack([rim * 0 + end, rim * height]) for end in (0, width)]
    middle = np.array(sheet.size_mm) / 2
    at = np.vstack(sides)
    depth = np.linalg.inv(sheet.view.matrix)[2]
    signed = at @ depth[:2] + depth[2]
    mm = sheet.view.to_mm(at[signed * np.median(signed) > 0])
    low = np.maximum(mm.min(axis=0), middle - LARGEST_MM)
    high = np.minimum(mm.max(axis=0), middle + LARGEST_MM)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _flattened(
    rgb: NDArray[np.uint8],
    view: FlatView,
    box: tuple[float, float, float, float],
    px_per_mm: float,
) -> Flat:
    width, height = view.photo_size
    seen = view.rectified(rgb, box, px_per_mm)
    everywhere = np.full((max(height // 8, 1), max(width // 8, 1)), 255, np.uint8)
    shown = view.rectified(everywhere, box, px_per_mm, beyond=0) > 250
    return Flat(seen, np.array(box[:2]), shown, px_per_mm)


def _paper_mask(flat: Flat, sheet: FoundSheet) -> NDArray[np.bool_]:
    width, height = sheet.size_mm
    mask = np.zeros(flat.shown.shape, np.uint8)
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)])
    cv2.fillPoly(mask, [np.rint(flat.place(corners)).astype(np.int32)], 1)
    return cv2.dilate(mask, np.ones((5, 5), np.uint8)).astype(bool)


def _around(flat: Flat, sheet: FoundSheet) -> NDArray[np.bool_]:
    """Return the ring around the sheet, which is nearly all wood."""
    y, x = np.mgrid[: flat.shown.shape[0], : flat.shown.shape[1]]
    mm = np.stack([x, y], axis=-1) / COARSE + flat.origin
    half = np.array(sheet.size_mm) / 2
    beyond = np.maximum(np.abs(mm - half) - half, 0)
    away = np.hypot(beyond[..., 0], beyond[..., 1])
    return (away > _RING_MM[0]) & (away < _RING_MM[1]) & flat.shown


def _placed(
    rgb: NDArray[np.uint8],
    view: FlatView,
    coarse: Flat,
    told: ToldApart,
) -> WoodEdge:
    """Return the line placed in fine steps, where it changes fastest."""
    line, margin, centre = told.line_mm, told.margin, told.pole_mm
    away = np.linalg.norm(line - centre, axis=1)
    turn = np.unwrap(np.arctan2(*(line - centre).T[::-1]))
    low, high = line.min(axis=0) - 2 * _BAND_MM, line.max(axis=0) + 2 * _BAND_MM
    flat = _flattened(rgb, view, (*low, *high), _FINE)
    linear = (flat.rgb.astype(np.float32) / 255) ** 2.2
    y, x = np.mgrid[: linear.shape[0], : linear.shape[1]]
    mm = np.stack([x + 0.5, y + 0.5], axis=-1) / _FINE + low
    place = coarse.place(mm)
    shade = cv2.remap(
        told.light, place[..., 0], place[..., 1], cv2.INTER_LINEAR, None, cv2.BORDER_REPLICATE
    )
    linear = linear / np.exp(shade)[..., None]
    linear /= max(float(linear.mean()), 1e-3)
    soft = np.asarray(cv2.GaussianBlur(linear, (0, 0), 0.5 * _FINE), np.float32)
    across = cv2.Sobel(soft, cv2.CV_32F, 1, 0, ksize=3, scale=1 / 8)
    down = cv2.Sobel(soft, cv2.CV_32F, 0, 1, ksize=3, scale=1 / 8)
    colours = colours_of(np.log(soft + 0.03))
    odds = cv2.remap(
        told.odds, place[..., 0], place[..., 1], cv2.INTER_LINEAR, None, cv2.BORDER_REPLICATE
    )
    angles = turn[0] + np.arange(_FINE_ANGLES) * (2 * math.pi / _FINE_ANGLES)
    radius = np.interp(angles, [*turn, turn[0] + 2 * math.pi], [*away, away[0]])
    rays = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    for _ in range(2):
        reach = radius[:, None] + np.arange(-_BAND_MM, _BAND_MM + 0.01, 0.25)[None, :]
        at = centre + rays[:, None, :] * reach[..., None]
        spot = flat.place(at)
        sx, sy = np.ascontiguousarray(spot[..., 0]), np.ascontiguousarray(spot[..., 1])
        ahead = centre + rays * radius[:, None]
        normal = _normals(ahead)
        gradient = [
            np.asarray(cv2.remap(one, sx, sy, cv2.INTER_LINEAR, None, cv2.BORDER_REPLICATE), float)
            for one in (across, down)
        ]
        steep = np.linalg.norm(
            gradient[0] * normal[:, None, :1] + gradient[1] * normal[:, None, 1:], axis=2
        )
        says = np.asarray(
            cv2.remap(odds, sx, sy, cv2.INTER_LINEAR, None, cv2.BORDER_REPLICATE), float
        )
        shown = cv2.remap(flat.shown.astype(np.float32), sx, sy, cv2.INTER_LINEAR) > 0.5
        steep = np.where(shown, steep, 0)
        top = steep.max(axis=1, keepdims=True)
        edge = steep / (top + 0.3 * float(np.median(top)) + 1e-6)
        cost = -np.cumsum(says * 0.25, axis=1) - _FINE_EDGE * edge
        best, fine_margin = closed_way(cost, _FINE_PRICE, _FINE_APART)
        # To a fraction of a step, where the edge is steepest.
        radius = reach[np.arange(len(best)), best] + 0.25 * _peak(steep, best)
    radius = _smoothed(radius)
    points = centre + rays * radius[:, None]
    coarse_margin = np.interp(angles, [*turn, turn[0] + 2 * math.pi], [*margin, margin[0]])
    steady = (fine_margin > _STEADY[1]) & (coarse_margin > _STEADY[0])
    return WoodEdge(points, _clear(flat, colours, points), steady, _bark(flat, colours, points))


def _smoothed(radius: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return radii without the jitter from ray to ray; a bark's own bumps are wider."""
    kernel = np.exp(-0.5 * (np.arange(-4, 5) / 1.6) ** 2)
    around = np.concatenate([radius[-4:], radius, radius[:4]])
    return np.convolve(around, kernel / kernel.sum(), mode="valid")


def _bark(flat: Flat, colours: Array, points: Points) -> float:
    """Return how deep the rim reaches that is darker than the face within it."""
    normal = _normals(points)
    depths = np.arange(0.75, MOST_BARK_MM + 8.0, 0.5)
    at = flat.place(points[:, None, :] - normal[:, None, :] * depths[None, :, None])
    x, y = np.ascontiguousarray(at[..., 0]), np.ascontiguousarray(at[..., 1])
    level = np.ascontiguousarray(colours[..., 0])
    seen = cv2.remap(level, x, y, cv2.INTER_LINEAR, None, cv2.BORDER_REPLICATE)
    seen = np.asarray(cv2.blur(seen, (1, 9), borderType=cv2.BORDER_REPLICATE), np.float64)
    face = np.median(seen[:, depths > MOST_BARK_MM], axis=1)
    darker = face[:, None] - seen
    rim = darker[:, depths < 2.0].mean(axis=1)
    ends = (darker < rim[:, None] / 2).argmax(axis=1)
    has = (rim > _BARK_DARKER) & (ends > 0)
    if has.mean() < _LEAST_BARK:
        return 0.0
    return float(np.quantile(depths[ends[has]], 0.9))


def _peak(values: NDArray[np.float64], best: NDArray[np.intp]) -> NDArray[np.float64]:
    """Return how far beside the best column a parabola through it peaks, in columns."""
    rows = np.arange(len(best))
    inner = np.clip(best, 1, values.shape[1] - 2)
    left, here, right = (values[rows, inner + shift] for shift in (-1, 0, 1))
    bend = left - 2 * here + right
    return np.where(
        bend < -1e-9, np.clip(0.5 * (left - right) / np.minimum(bend, -1e-9), -0.5, 0.5), 0
    )


def _normals(points: Points) -> Points:
    """Return the unit outward normals of a closed line that goes clockwise."""
    along = np.roll(points, -3, axis=0) - np.roll(points, 3, axis=0)
    along = along / np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    return np.stack([along[:, 1], -along[:, 0]], axis=1)


def _clear(flat: Flat, colours: Array, points: Points) -> NDArray[np.float64]:
    """Return how clearly colour changes across the line, 0 to 1."""
    normal = _normals(points)
    sides = []
    for way in (-1, 1):
        depths = np.arange(1.0, 3.1, 0.5) * way
        at = flat.place(points[:, None, :] + normal[:, None, :] * depths[None, :, None])
        x, y = np.ascontiguousarray(at[..., 0]), np.ascontiguousarray(at[..., 1])
        seen = cv2.remap(colours, x, y, cv2.INTER_LINEAR, None, cv2.BORDER_REPLICATE)
        sides.append(np.asarray(seen, np.float64).mean(axis=1))
    step = np.linalg.norm(sides[0] - sides[1], axis=1)
    return np.asarray(1 - np.exp(-((step / 0.9) ** 2)), np.float64)
