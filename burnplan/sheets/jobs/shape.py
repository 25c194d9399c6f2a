"""The outline of a blank as lines to cut along, and the tabs that tape goes on."""

import itertools
import math
from collections.abc import Sequence

from burnplan.outline import Outline, OutlineKind
from burnplan.sheets.drawing import SOFT, Drawing, Points

TAB_DEPTH_MM = 7.0
"""How far a tape tab stands out."""

TAB_FILL = (246, 242, 237)

_TAB_HALF_MM = 9.0
_TAB_ROOT_MM = 3.0  # hidden inside the outline, where it may curve away
_CLEAR_MM = 4.0  # between a tab and a registration mark
_STEEPEST = math.radians(40)
_CORNERS = 720  # of a polygon for a curve: within 0.03 mm up to 5 m across


def outline_points(outline: Outline) -> Points:
    """Return an outline as a polygon, mm from the top left of its bounding box.

    Examples
    --------
    >>> outline_points(Outline(OutlineKind.RECTANGLE, 30, 40))
    [(0.0, 0.0), (30, 0.0), (30, 40), (0.0, 40)]
    """
    width, height = outline.width_mm, outline.height_mm
    if outline.points:
        return outline.points
    if outline.kind in (OutlineKind.ROUND, OutlineKind.OVAL):
        turns = [2 * math.pi * step / _CORNERS for step in range(_CORNERS)]
        return [
            (width / 2 * (1 + math.sin(turn)), height / 2 * (1 - math.cos(turn))) for turn in turns
        ]
    return [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]


def tape_tabs(
    outline: Outline, *, left_handed: bool, marks_at: Sequence[float] = ()
) -> list[Points]:
    """Return the tabs for tape: a hinge along the top, and one low on the drawing-hand side.

    The tabs of the hinge keep clear of registration marks above the outline, given by
    their x. The side tab comes last.
    """
    points = outline_points(outline)
    width, height = outline.width_mm, outline.height_mm
    straight = outline.kind is OutlineKind.RECTANGLE
    half = min(_TAB_HALF_MM, width / 8, height / 8)
    count = 3 if width >= 220 else 2
    spread = (1.0 if straight else 0.56) / count
    tabs = []
    for number in range(count):
        x = width * (0.5 + spread * (number - (count - 1) / 2))
        for mark in marks_at:
            clear = half + _CLEAR_MM
            if abs(x - mark) < clear:
                x = mark + (clear if mark < width / 2 else -clear)
        tabs.append(_tab(points, x, half, far=False))
    low = 0.86 if straight else 0.72
    turned = [(y, x) for x, y in points]
    side = _tab(turned, height * low, half, far=not left_handed)
    return [*tabs, [(x, y) for y, x in side]]


def _tab(points: Points, along: float, half: float, *, far: bool) -> Points:
    """Return a tab on the least (or greatest) second coordinate at a first one."""
    pick = max if far else min
    out = 1.0 if far else -1.0
    firsts = [first for first, _ in points]
    along = max(min(firsts), min(max(firsts), along))
    here = pick(_crossings(points, along))
    beside = [
        (first, pick(found))
        for first in (along - half / 2, along + half / 2)
        if (found := _crossings(points, first))
    ]
    lean = 0.0
    if len(beside) == 2:
        (a0, b0), (a1, b1) = beside
        lean = max(-_STEEPEST, min(_STEEPEST, math.atan2(b1 - b0, a1 - a0)))
    tangent = (math.cos(lean), math.sin(lean))
    normal = (-math.sin(lean) * out, math.cos(lean) * out)
    depth = TAB_DEPTH_MM
    corners = ((-half, -_TAB_ROOT_MM), (-half, 0.0), (-0.72 * half, depth))
    shape = [*corners, *((-a, d) for a, d in reversed(corners))]
    return [
        (along + a * tangent[0] + d * normal[0], here + a * tangent[1] + d * normal[1])
        for a, d in shape
    ]


def _crossings(points: Points, first: float) -> list[float]:
    """Second coordinates at which a polygon's edges pass a first coordinate."""
    found = []
    for (a0, b0), (a1, b1) in itertools.pairwise([*points, points[0]]):
        if min(a0, a1) <= first <= max(a0, a1):
            found.append(b0 if a0 == a1 else b0 + (first - a0) * (b1 - b0) / (a1 - a0))
    return found


def draw_tabs(drawing: Drawing, tabs: Sequence[Points]) -> None:
    """Draw tabs; what is drawn inside the outline later hides their roots."""
    drawing.stroke(SOFT, 0.15)
    for tab in tabs:
        drawing.path(tab, closed=True, fill=TAB_FILL)
