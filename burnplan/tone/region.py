"""Parts of the wood: masks on the working raster, and lines in mm.

The raster's pixel ``(row, column)`` has its centre at ``((column + 0.5) /
px_per_mm, (row + 0.5) / px_per_mm)`` mm from the top left corner of the
outline's bounding box. A mask holds the pixels whose centre lies inside.
"""

import math
from collections.abc import Iterable

import numpy as np
from contourpy import contour_generator
from numpy.typing import ArrayLike, NDArray

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind

_CORNERS = 360  # of a polygon for an ellipse: its area is right within 1 in 10 000; by definition
# Points along the longer side, on which distances from an outline are taken; a guess: about a
# millimetre on 40 cm.
_GRID = 320

Polygon = NDArray[np.float64]
"""Corners in order, shape (K, 2), x and y in mm; the first is not repeated."""


def ellipse(left: float, top: float, right: float, bottom: float) -> Polygon:
    """Return an ellipse that fills a box, as a polygon.

    Examples
    --------
    >>> ellipse(0, 0, 4, 2)[[0, 90]].round(6).tolist()
    [[4.0, 1.0], [2.0, 2.0]]
    """
    turn = np.arange(_CORNERS) * (2 * math.pi / _CORNERS)
    x = (left + right) / 2 + (right - left) / 2 * np.cos(turn)
    y = (top + bottom) / 2 + (bottom - top) / 2 * np.sin(turn)
    return np.stack([x, y], axis=1)


def area_of(ring: Polygon) -> float:
    """Return the area inside a ring; its sign tells which way round it goes.

    Examples
    --------
    >>> area_of(np.array([(0, 0), (30, 0), (30, 40), (0, 40)])), area_of(ellipse(0, 4, 2, 0)) < 0
    (1200.0, True)
    """
    x, y = ring.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def clockwise(corners: Polygon) -> Polygon:
    """Return corners clockwise (y down), the one nearest to the top left first."""
    if area_of(corners) < 0:
        corners = corners[::-1]
    return np.asarray(np.roll(corners, -int(corners.sum(axis=1).argmin()), axis=0), np.float64)


def outline_polygon(outline: Outline) -> Polygon:
    """Return an outline as a polygon."""
    width, height = outline.width_mm, outline.height_mm
    if outline.points:
        return np.asarray(outline.points, np.float64)
    if outline.kind in (OutlineKind.ROUND, OutlineKind.OVAL):
        return ellipse(0, 0, width, height)
    return np.array([(0, 0), (width, 0), (width, height), (0, height)], np.float64)


def outline_mask(outline: Outline, shape: tuple[int, int], px_per_mm: float) -> NDArray[np.bool_]:
    """Return the pixels whose centre lies inside an outline.

    Parameters
    ----------
    outline : Outline
    shape : tuple of int
        Height and width in pixels.
    px_per_mm : float

    Returns
    -------
    ndarray of bool, shape (H, W)
    """
    if outline.kind is OutlineKind.LIVE_EDGE and outline.points:
        return polygon_mask([outline_polygon(outline)], shape, px_per_mm)
    if outline.kind not in (OutlineKind.ROUND, OutlineKind.OVAL):
        return np.ones(shape, np.bool_)
    x = (np.arange(shape[1]) + 0.5) / px_per_mm
    y = (np.arange(shape[0]) + 0.5) / px_per_mm
    across = (2 * x / outline.width_mm - 1) ** 2
    down = (2 * y / outline.height_mm - 1) ** 2
    return across[None, :] + down[:, None] <= 1


def polygon_mask(
    polygons: Iterable[ArrayLike], shape: tuple[int, int], px_per_mm: float
) -> NDArray[np.bool_]:
    """Return the pixels whose centre lies inside polygons, by the even-odd rule.

    Parameters
    ----------
    polygons : iterable of array_like, each of shape (K, 2)
        Corners in mm; may reach beyond the raster.
    shape : tuple of int
        Height and width in pixels.
    px_per_mm : float

    Returns
    -------
    ndarray of bool, shape (H, W)
    """
    height, width = shape
    flips = np.zeros((height, width + 1), np.uint8)  # each edge flips all that lies to its right
    for polygon in polygons:
        corners = np.asarray(polygon, np.float64) * px_per_mm - 0.5  # from pixel centres
        for (x0, y0), (x1, y1) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
            if y0 == y1:
                continue
            low, high = min(y0, y1), max(y0, y1)
            rows = np.arange(max(0, math.ceil(low)), min(height, math.ceil(high)))
            crossing = x0 + (rows - y0) * (x1 - x0) / (y1 - y0)
            columns = np.clip(np.ceil(crossing), 0, width).astype(np.intp)
            flips[rows, columns] ^= 1
    return np.asarray(np.bitwise_xor.accumulate(flips, axis=1)[:, :width], np.bool_)


def inset(outline: Outline, margin_mm: float) -> tuple[Polygon, ...]:
    """Return the lines that run a margin inside an outline, for example along the bark.

    Parameters
    ----------
    outline : Outline
    margin_mm : float
        0 gives the outline itself.

    Returns
    -------
    tuple of ndarray of float64, each of shape (K, 2)
        Polygons, mm; several where a narrow waist parts them, by the even-odd
        rule. Exact for rectangles and rounds; for ovals and live edges corners
        are rounded off by less than 1/500 of the longer side.

    Raises
    ------
    BadInput
        If the margin is negative or leaves nothing.

    Examples
    --------
    >>> inset(Outline(OutlineKind.RECTANGLE, 30, 40), 5)[0].tolist()
    [[5.0, 5.0], [25.0, 5.0], [25.0, 35.0], [5.0, 35.0]]
    """
    if not math.isfinite(margin_mm) or margin_mm < 0:
        raise BadInput(f"A margin cannot be {margin_mm:g} mm", "Give a length of 0 or more")
    if margin_mm == 0:
        return (outline_polygon(outline),)
    width, height = outline.width_mm, outline.height_mm
    lines: tuple[Polygon, ...]
    if 2 * margin_mm >= min(width, height):
        lines = ()
    elif outline.kind is OutlineKind.RECTANGLE:
        lines = (
            outline_polygon(outline) + margin_mm * np.array([(1, 1), (-1, 1), (-1, -1), (1, -1)]),
        )
    elif outline.kind is OutlineKind.ROUND:
        lines = (ellipse(margin_mm, margin_mm, width - margin_mm, height - margin_mm),)
    else:
        lines = _inset_by_distance(outline, margin_mm)
    if not lines:
        raise BadInput(
            f"A margin of {margin_mm:g} mm leaves nothing of this blank", "Give a smaller one"
        )
    return lines


def within_box(
    lines: Iterable[Polygon], box: tuple[float, float, float, float]
) -> tuple[Polygon, ...]:
    """Return what of polygons lies in a box.

    Each side cuts them in turn (I. E. Sutherland, G. W. Hodgman, "Reentrant polygon clipping",
    Comm. ACM 17(1), 1974).

    Parameters
    ----------
    lines : iterable of ndarray of float64, each of shape (K, 2)
    box : tuple of float
        Left, top, right and bottom, mm.

    Examples
    --------
    >>> square = np.array([(0.0, 0.0), (30, 0), (30, 40), (0, 40)])
    >>> within_box([square], (10, 0, 30, 35))[0].tolist()
    [[10.0, 0.0], [30.0, 0.0], [30.0, 35.0], [10.0, 35.0]]
    """
    left, top, right, bottom = box
    kept = []
    for line in lines:
        corners = np.asarray(line, np.float64)
        for axis, limit, sign in ((0, left, 1), (1, top, 1), (0, right, -1), (1, bottom, -1)):
            inside = sign * (corners[:, axis] - limit) >= 0
            cut: list[NDArray[np.float64]] = []
            ends = zip(corners, np.roll(corners, -1, 0), inside, np.roll(inside, -1), strict=True)
            for start, end, in_start, in_end in ends:
                if in_start:
                    cut.append(start)
                if in_start != in_end:
                    share = (limit - start[axis]) / (end[axis] - start[axis])
                    cut.append(start + share * (end - start))
            corners = np.array(cut).reshape(-1, 2)
            if not len(corners):
                break
        if len(corners) >= 3:
            kept.append(corners)
    return tuple(kept)


def _inset_by_distance(outline: Outline, margin_mm: float) -> tuple[Polygon, ...]:
    """Contour of the distance from the outline, which is exact at the points of a grid."""
    polygon = outline_polygon(outline)
    step = max(outline.width_mm, outline.height_mm) / _GRID
    shape = (math.ceil(outline.height_mm / step), math.ceil(outline.width_mm / step))
    x, y = (np.arange(shape[1]) + 0.5) * step, (np.arange(shape[0]) + 0.5) * step
    squared = np.full(shape, np.inf)
    for (x0, y0), (x1, y1) in zip(polygon, np.roll(polygon, -1, axis=0), strict=True):
        along_x, along_y = x1 - x0, y1 - y0
        length = max(along_x**2 + along_y**2, 1e-12)
        share = ((x - x0) * along_x)[None, :] + ((y - y0) * along_y)[:, None]
        share = np.clip(share / length, 0, 1)
        off_x, off_y = (x - x0)[None, :] - share * along_x, (y - y0)[:, None] - share * along_y
        np.minimum(squared, off_x**2 + off_y**2, out=squared)
    within = polygon_mask([polygon], shape, 1 / step)
    # One more ring of points, outside: every line closes.
    signed = np.pad(np.where(within, 1, -1) * np.sqrt(squared), 1, constant_values=-step)
    found = contour_generator(z=signed).lines(margin_mm)
    return tuple((np.asarray(line)[:-1] - 0.5) * step for line in found if len(line) > 3)


_POINTS = 48  # along an outline that must lie inside: one every 7.5° of a round (our own choice)


def sampled(polygon: Polygon, count: int = _POINTS) -> Polygon:
    """Points along a polygon, its corners among them where it has few."""
    following = np.roll(polygon, -1, axis=0)
    if len(polygon) >= count:
        return polygon[:: len(polygon) // count]
    share = np.linspace(0, 1, count // len(polygon) + 1, endpoint=False)[:, None, None]
    return (polygon + share * (following - polygon)).reshape(-1, 2)
