"""Draw set lines as closed outlines in mm that do not cross, curves as short straight pieces."""

import itertools
import math
from collections.abc import Callable, Iterable

import numpy as np
import pathops
from numpy.typing import NDArray

from burnplan.lettering.setting import Glyph, SetLine
from burnplan.tone.region import Polygon, area_of

FLAT_MM = 0.01
"""Farthest that a straight piece lies from its curve (a guess: a tenth of the finest pen line)."""

# Longest straight piece where a line is bent; a guess: four times the finest pen line.
_BENT_MM = 0.4
# Outlines smaller than this are left over from joining; a guess: about half the finest pen line
# square.
_SPECK_MM2 = 0.002

Warp = Callable[[NDArray[np.float64]], NDArray[np.float64]]
"""Takes points (K, 2) on a line, mm, y up from its baseline, to points on the wood, y down."""


def glyph_path(glyph: Glyph) -> pathops.Path:
    """Return a glyph's outline on its line, mm, y up."""
    path = pathops.Path()
    glyph.typeface.font.draw_glyph_with_pen(glyph.number, path.getPen())
    return path.transform(glyph.scale, 0, 0, glyph.scale, glyph.x, glyph.y)


def joins(line: SetLine) -> bool:
    """Return whether letters of a line run into each other, as handwriting and Arabic do."""
    paths = [glyph_path(glyph) for glyph in line.glyphs]
    inked = [path for path in paths if abs(path.area) > _SPECK_MM2]
    return any(
        abs(pathops.op(one, other, pathops.PathOp.INTERSECTION).area) > _SPECK_MM2
        for one, other in itertools.pairwise(inked)
    )


def outlines(parts: Iterable[tuple[pathops.Path, Warp]], *, bent: bool = False) -> list[Polygon]:
    """Return the outlines of paths taken to the wood, joined where they overlap.

    Parameters
    ----------
    parts : iterable of (pathops.Path, callable)
        Each with what takes its points to the wood.
    bent : bool, optional
        Whether that bends straight lines, which are then cut into short pieces.

    Returns
    -------
    list of ndarray of float64, each of shape (K, 2)
        Rings in mm, by the even-odd rule; the first point is not repeated.
    """
    whole = pathops.Path()
    pen = whole.getPen()
    for path, warp in parts:
        for ring in flattened(path, _BENT_MM if bent else math.inf):
            points = warp(ring).tolist()
            pen.moveTo(tuple(points[0]))
            for point in points[1:]:
                pen.lineTo(tuple(point))
            pen.closePath()
    whole.simplify(fix_winding=True, keep_starting_points=False)
    rings = flattened(whole, math.inf)
    return [ring for ring in rings if abs(area_of(ring)) > _SPECK_MM2]


def flattened(path: pathops.Path, longest_mm: float) -> list[Polygon]:
    """Return the rings of a path with its curves cut into straight pieces."""
    rings: list[Polygon] = []
    points: list[tuple[float, float]] = []

    def close() -> None:
        if len(points) > 1 and math.dist(points[0], points[-1]) < 1e-6:
            points.pop()
        if len(points) > 2:
            rings.append(np.array(points, np.float64))
        points.clear()

    for verb, given in path:
        if verb is pathops.PathVerb.MOVE:
            close()
            points.append(given[0])
        elif verb is pathops.PathVerb.CLOSE:
            if points and math.dist(points[0], points[-1]) > 1e-6:
                _go(points, (points[0],), longest_mm)
            close()
        else:
            _go(points, given, longest_mm)
    close()
    return rings


def _go(
    points: list[tuple[float, float]], to: Iterable[tuple[float, float]], longest_mm: float
) -> None:
    """Go on along a line or a Bézier curve of any degree (de Casteljau)."""
    given = tuple(to)
    if math.isinf(longest_mm) and len(given) == 1:
        points.append(given[0])
        return
    control = np.array([points[-1], *given], np.float64)
    bends = control[2:] - 2 * control[1:-1] + control[:-2]
    degree = len(control) - 1
    # A chord of 1/n of a curve is within degree (degree - 1) / 8 n² of its second differences
    # (Wang's formula).
    sag = degree * (degree - 1) / 8 * float(np.hypot(*bends.T).max()) if degree > 1 else 0.0
    length = float(np.hypot(*np.diff(control, axis=0).T).sum())
    count = max(1, math.ceil(math.sqrt(sag / FLAT_MM)), math.ceil(length / longest_mm))
    share = np.arange(1, count + 1)[:, None, None] / count
    level = np.broadcast_to(control, (count, *control.shape))
    while level.shape[1] > 1:
        level = level[:, :-1] * (1 - share) + level[:, 1:] * share
    points += [(x, y) for x, y in level[:, 0].tolist()]
