"""The outline of a blank from a photo: sheet, edge, shape, bark, and where it is seen."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.progress import Progress, part, silent
from burnplan.tone import wood_edge
from burnplan.tone.flat_view import FlatView, Points
from burnplan.tone.known_sheet import FoundSheet, refined_corners
from burnplan.tone.region import area_of, ellipse, inset
from burnplan.tone.told_apart import WHOLE

# All of these are guesses, tuned on rendered scenes other than those that are tried.
# How clear the edge is, below which it is not trusted; a guess: tried on rendered photos.
_UNCLEAR = 0.3
_MOST_UNCLEAR = 0.12  # of the edge that may be so; a guess: tried on rendered photos
_ON_SHAPE_MM = 1.0  # from a straight or round edge; a guess: tried on rendered photos
_ON_SHAPE = 0.9  # of the edge that must lie on it; a guess: tried on rendered photos
_ON_RECORD = 0.75  # of it, if that is the shape on record; a guess: tried on rendered photos
_SQUARE = math.radians(1.5)  # a corner may be off a right angle; a guess: tried on rendered photos
# Corners closer to a straight line than this are left out; a guess: tried on rendered photos.
_SIMPLE_MM = 0.15
# Of half the wood, from its middle, that is on one side; a guess: tried on rendered photos.
_ASIDE = 0.3
# Sides are moved by that much at most, and seen so far; a guess: tried on rendered photos.
_PLACED_MM, _HELD = 4.0, 0.6


@dataclass(frozen=True, slots=True, eq=False)
class FoundOutline:
    """A blank's outline, found in a photo.

    Parameters
    ----------
    outline : Outline
        Origin at the top left of its bounding box; laid as the photo shows it, or along
        its own sides where it has any.
    view : FlatView
        From the outline's millimetres to pixels of the whole photo.
    sheet_mm : ndarray of float64, shape (4, 2) or (0, 2)
        Corners of the sheet, in the outline's millimetres.
    bark_mm : float
        How deep bark reaches in from the edge, nine places in ten; 0 without bark.
    unclear : tuple of (float, float)
        Places along the edge, in the outline's millimetres, where wood and bench look
        alike: to be looked at.
    """

    outline: Outline
    view: FlatView
    sheet_mm: Points
    bark_mm: float
    unclear: tuple[tuple[float, float], ...]


def find_outline(
    rgb: NDArray[np.uint8],
    sheet: FoundSheet,
    *,
    on_record: OutlineKind | None = None,
    on_progress: Progress | None = None,
) -> FoundOutline:
    """Find the outline of the wood that a sheet lies on.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (h, w, 3)
        Upright sRGB, in any size.
    sheet : FoundSheet
    on_record : OutlineKind, optional
        The shape that the blank is known to have: it is kept if most of the edge fits it.
        Without it a shape is only taken if nearly all of the edge does.
    on_progress : Progress, optional

    Raises
    ------
    BadInput
        If the wood is not whole in the picture, or cannot be told from the bench.
    """
    progress = on_progress or silent
    edge = wood_edge.find_edge(rgb, sheet, on_progress=part(progress, 0.0, 0.9))
    progress(0.9, "Fitting the shape")
    width, height = sheet.size_mm
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)], np.float64)
    seen = sheet.view.to_pixels(edge.points_mm)
    if (seen < 2).any() or (np.array(sheet.view.photo_size) - seen < 2).any():
        raise BadInput("The wood is not whole in the picture", WHOLE)
    shape = np.asarray(edge.points_mm, np.float32)
    if min(cv2.pointPolygonTest(shape, (float(x), float(y)), True) for x, y in corners) < -3:
        raise BadInput(
            "The sheet does not lie whole on the wood",
            "Lay it flat on the wood, away from its edge",
        )
    doubtful = edge.clear < _UNCLEAR
    kind, points, off = _shape(edge.points_mm, on_record)
    steady = edge.steady
    if kind is OutlineKind.LIVE_EDGE and on_record is not kind:
        # Where its edge is not sure, a plain shape that most of it has is likelier than chance.
        likely, corners, away = _shape(edge.points_mm, on_record, _ON_RECORD)
        if not steady.all():
            kind, points, off = likely, corners, away
        elif likely is OutlineKind.RECTANGLE:
            # So it is with four sides that are seen as straight, if they are where it ends.
            placed = _sides_placed(rgb, sheet.view, corners)
            if np.abs(placed - corners).max() > _ON_SHAPE_MM:
                steady = away <= _ON_SHAPE_MM
            elif placed is not corners:
                kind, points, off = likely, corners, away
    if kind is OutlineKind.RECTANGLE:
        points = _sides_placed(rgb, sheet.view, points)
    if kind is not OutlineKind.LIVE_EDGE:
        doubtful = doubtful & (off > 2 * _ON_SHAPE_MM)  # its shape tells where it goes on
    if doubtful.mean() > _MOST_UNCLEAR:
        raise BadInput(
            f"Along {100 * doubtful.mean():.0f} % of its edge the wood looks like the bench",
            "Lay a cloth or board of another colour under it, or give its corners by hand",
        )
    if kind is OutlineKind.LIVE_EDGE and not steady.all():
        raise BadInput(
            f"{_where(edge.points_mm, steady)} its edge cannot be told for sure",
            "Take away what lies or shows beside it there, lay a plain cloth or board of another"
            " colour under all of it, and take the photo again; or give its corners by hand",
        )
    motion = _laid(points, kind, sheet)
    view = sheet.view.moved(motion)
    back = np.linalg.inv(motion)

    def own(mm: Points) -> Points:
        return np.asarray(mm @ back[:2, :2].T + back[:2, 2], np.float64)

    found = own(points)
    size = np.ptp(found, axis=0)
    outline = Outline(OutlineKind.LIVE_EDGE, float(size[0]), float(size[1]), _plain(found))
    if kind is OutlineKind.ROUND:
        across = float(size.mean())
        outline = Outline(kind, across, across)
    elif kind is not OutlineKind.LIVE_EDGE:
        outline = Outline(kind, float(size[0]), float(size[1]))
    progress(1.0, "Fitting the shape")
    places = own(edge.points_mm[doubtful])[::12]
    return FoundOutline(
        outline,
        view,
        own(corners),
        0.0 if kind is OutlineKind.RECTANGLE else edge.bark_mm,
        tuple((float(x), float(y)) for x, y in places),
    )


def _sides_placed(rgb: NDArray[np.uint8], view: FlatView, corners: Points) -> Points:
    """Return a rectangle with its sides where they are seen best, if they all are."""
    if area_of(corners) < 0:
        corners = corners[::-1]
    given = rgb.shape[1] / view.photo_size[0]
    reach = _PLACED_MM * float(view.px_per_mm(corners).min()) * given
    refined = refined_corners(rgb, view.to_pixels(corners) * given, reach_px=reach)
    if refined is None or refined[2] < _HELD:
        return corners
    placed = _rectangle(evenly(view.to_mm(refined[0] / given)))
    if placed is None or np.abs(placed - corners).max() > 2 * _PLACED_MM:
        return corners
    return placed


def _where(points: Points, steady: NDArray[np.bool_]) -> str:
    """Say on which side of a closed line most of what is not steady lies.

    Examples
    --------
    >>> square = np.array([(0, 0), (9, 0), (9, 9), (0, 9)])
    >>> _where(square, np.array([True, False, True, True]))
    'At the top right'
    """
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    x, y = (points[~steady] - middle).mean(axis=0) / np.maximum(np.ptp(points, axis=0) / 2, 1e-9)
    down = "top" if y < -_ASIDE else "bottom" if y > _ASIDE else ""
    across = "left" if x < -_ASIDE else "right" if x > _ASIDE else ""
    side = " ".join(word for word in (down, across) if word)
    return f"At the {side}" if side else "In places"


def _plain(points: Points) -> tuple[tuple[float, float], ...]:
    """Return corners without those that hardly matter."""
    few = cv2.approxPolyDP(points.astype(np.float32), _SIMPLE_MM, True)[:, 0].astype(float)
    few = few - few.min(axis=0)
    return tuple((round(float(x), 3), round(float(y), 3)) for x, y in few)


def _shape(
    points: Points, on_record: OutlineKind | None, enough: float = _ON_SHAPE
) -> tuple[OutlineKind, Points, NDArray[np.float64]]:
    """Return the shape that an edge has, its corners, and how far each place is off it."""
    even = evenly(points)
    best: tuple[OutlineKind, Points, NDArray[np.float64]] | None = None
    most = 0.0
    for kind, fitted in _fits(even).items():
        wanted = _ON_RECORD if kind is on_record else enough
        if on_record is OutlineKind.LIVE_EDGE:
            wanted = 0.995
        share = float(np.mean(distances(even, fitted) <= _ON_SHAPE_MM))
        if share >= wanted and share > most:
            most, best = share, (kind, fitted, distances(points, fitted))
    return best or (OutlineKind.LIVE_EDGE, points, np.zeros(len(points)))


def evenly(points: Points) -> Points:
    """Return places a millimetre apart along a closed line."""
    ends = np.vstack([points, points[:1]])
    run = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(ends, axis=0), axis=1))])
    at = np.arange(0, run[-1], 1.0)
    return np.stack([np.interp(at, run, ends[:, axis]) for axis in (0, 1)], axis=1)


def distances(points: Points, line: Points) -> NDArray[np.float64]:
    """Return how far points lie from a closed line of corners."""
    nearest = np.full(len(points), np.inf)
    for start, end in zip(line, np.roll(line, -1, axis=0), strict=True):
        along = end - start
        share = (points - start) @ along / max(float(along @ along), 1e-12)
        off = points - start - np.clip(share, 0, 1)[:, None] * along
        np.minimum(nearest, np.linalg.norm(off, axis=1), out=nearest)
    return nearest


def _fits(points: Points) -> dict[OutlineKind, Points]:
    """Return a rectangle, a round and an oval through an edge, as far as there are any."""
    fitted = {}
    four = _rectangle(points)
    if four is not None:
        fitted[OutlineKind.RECTANGLE] = four
    kept = points
    for _ in range(6):
        centre, axes, turn = cv2.fitEllipseDirect(kept.astype(np.float32))
        across = (axes[0] + axes[1]) / 2
        is_round = abs(axes[0] - axes[1]) < 0.012 * across
        if is_round:
            axes = (across, across)
        oval = ellipse(-axes[0] / 2, -axes[1] / 2, axes[0] / 2, axes[1] / 2)
        lean = math.radians(turn)
        spin = np.array([[math.cos(lean), -math.sin(lean)], [math.sin(lean), math.cos(lean)]])
        oval = oval @ spin.T + np.array(centre)
        off = distances(points, oval)
        near = off <= max(float(np.median(off)) * 3, 0.3)
        if near.sum() < len(points) // 2:
            break
        kept = points[near]
    fitted[OutlineKind.ROUND if is_round else OutlineKind.OVAL] = oval
    return fitted


def _rectangle(points: Points) -> Points | None:
    corners = cv2.boxPoints(cv2.minAreaRect(points.astype(np.float32))).astype(np.float64)
    for _ in range(6):
        lines = []
        for side in range(4):
            start, end = corners[side], corners[(side + 1) % 4]
            length = float(np.linalg.norm(end - start))
            along = (end - start) / max(length, 1e-9)
            across = np.array([-along[1], along[0]])
            t, off = (points - start) @ along, (points - start) @ across
            mine = (t > 0.06 * length) & (t < 0.94 * length) & (np.abs(off) < 0.12 * length)
            if mine.sum() < 20:
                return None
            weight = np.ones(int(mine.sum()))
            slope = level = 0.0
            for _ in range(12):
                slope, level = np.polyfit(t[mine], off[mine], 1, w=weight)
                error = np.abs(off[mine] - slope * t[mine] - level)
                weight = 1 / (1 + (error / max(float(np.median(error)), 0.1)) ** 2)
            lines.append((start + across * level, along + across * slope))
        met = []
        for side in range(4):
            (p, a), (q, b) = lines[side - 1], lines[side]
            matrix = np.column_stack([a, -b])
            if abs(float(np.linalg.det(matrix))) < 0.3:
                return None
            met.append(p + np.linalg.solve(matrix, q - p)[0] * a)
        corners = np.array(met)
    sides = np.roll(corners, -1, axis=0) - corners
    lengths = np.linalg.norm(sides, axis=1)
    after = np.roll(sides, -1, axis=0)
    cosines = (sides * after).sum(axis=1) / (lengths * np.roll(lengths, -1))
    if np.abs(cosines).max() > math.sin(_SQUARE):
        return None
    return corners


def _laid(points: Points, kind: OutlineKind, sheet: FoundSheet) -> NDArray[np.float64]:
    """Return the motion from the outline's own millimetres to those of the sheet."""
    middle = points.mean(axis=0)
    seen = sheet.view.to_pixels([middle])[0]
    step = np.array((20.0, 0.0))
    right = sheet.view.to_mm([seen + step])[0] - sheet.view.to_mm([seen - step])[0]
    turn = math.atan2(right[1], right[0])
    if kind is not OutlineKind.ROUND:
        corners = cv2.boxPoints(cv2.minAreaRect(points.astype(np.float32)))
        side = corners[1] - corners[0]
        own = math.atan2(float(side[1]), float(side[0]))
        quarter = math.pi / 2
        turn = own + quarter * round((turn - own) / quarter)
    spin = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    low = (points @ spin).min(axis=0)
    motion = np.eye(3)
    motion[:2, :2], motion[:2, 2] = spin, spin @ low
    return motion


def drawn_over(
    rgb: NDArray[np.uint8],
    view: FlatView,
    points_mm: Points,
    bark_mm: float = 0.0,
    unclear: Sequence[tuple[float, float]] = (),
    *,
    longest: int = 1600,  # pixels of the picture; a guess: tried on rendered photos
) -> NDArray[np.uint8]:
    """Return a photo with an outline drawn over it.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (h, w, 3)
        The photo, in any size.
    view : FlatView
        From the outline's millimetres to pixels of the whole photo.
    points_mm : ndarray of float64, shape (K, 2)
    bark_mm : float
        Where bark ends is drawn too.
    unclear : sequence of (float, float)
        Places that are to be looked at; dots.
    longest : int
        Pixels along the longer side of the result, at most.
    """
    scale = min(1.0, longest / max(rgb.shape[:2]))
    size = (round(rgb.shape[1] * scale), round(rgb.shape[0] * scale))
    picture = np.array(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA))
    onto = np.array(size) / np.array(view.photo_size)

    def seen(mm: Points) -> NDArray[np.int32]:
        at = view.to_pixels(mm) * onto - 0.5
        return np.asarray(np.rint(at * 16), np.int32)

    thick = max(2, round(max(size) / 500))
    lines = [(points_mm, (255, 40, 60))]
    if bark_mm > 0:
        corners = tuple((float(x), float(y)) for x, y in points_mm)
        box = np.ptp(points_mm, axis=0)
        whole = Outline(OutlineKind.LIVE_EDGE, float(box[0]), float(box[1]), corners)
        lines += [(one, (255, 190, 40)) for one in inset(whole, bark_mm)]
    for points, colour in lines:
        for wide, ink in ((thick + 2, (255, 255, 255)), (thick, colour)):
            cv2.polylines(picture, [seen(points)], True, ink, wide, cv2.LINE_AA, shift=4)
    for place in unclear:
        at = seen(np.array([place]))[0] // 16
        cv2.circle(picture, (int(at[0]), int(at[1])), 2 * thick, (40, 90, 255), -1, cv2.LINE_AA)
    return np.asarray(picture, np.uint8)
