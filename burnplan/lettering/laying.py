"""Lay set lines on the wood: straight, on an arc, or along the outline.

Lines stand centred. Straight, and on an arc of a piece without a round edge, the block is
put as near to the edge asked for as its strip allows; along the outline each line keeps its
distance from the edge, so that on a round piece its arc has the edge's own middle.

Letters that stand apart are turned one by one and keep their shape; where they run into
each other, as handwriting and Arabic do, the whole line is bent, so that no join breaks.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import partial

import numpy as np
from numpy.typing import NDArray

from burnplan.errors import BadInput
from burnplan.lettering.drawing import Warp, glyph_path, joins, outlines
from burnplan.lettering.paths import Path, along_edge
from burnplan.lettering.setting import SetLine, set_line
from burnplan.lettering.typefaces import Typeface
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.letters import Lettered, Letters
from burnplan.tone.region import Polygon, outline_polygon

FROM_EDGE = 0.6
"""Strip between lettering and the edge, in heights of a capital, and at least (a guess: about a
letter's width)..."""

FROM_EDGE_MM = 4.0
"""... this much (a guess: a bevel lies within it)."""

# From line to line, and least between their ink, in cap heights; a guess: set nearly solid, and
# clear of descenders.
_PITCH, _AIR = 1.5, 0.3
# By which a block is moved in from the edge until it fits; a guess: less is not seen.
_STEP_MM = 0.5
# Points of the outlines that are asked whether they lie inside; our own choice: quick, and several
# to a letter.
_ENOUGH = 500
# Radius of an arc, in widths of the piece; a guess: a line as wide as the piece turns by 84
# degrees.
_ARC = 0.75
HEIGHTS_MM = (2.0, 500.0)
"""Least and greatest height of a capital (a limit by definition)."""


class At(StrEnum):
    """Where on the piece."""

    TOP = "top"
    MIDDLE = "middle"
    BOTTOM = "bottom"


class Course(StrEnum):
    """How lines run."""

    STRAIGHT = "straight"
    ARC = "arc"
    EDGE = "edge"


@dataclass(frozen=True, kw_only=True)
class Inscription(Lettered):
    """What is lettered, and how it is set and laid.

    Parameters
    ----------
    typefaces : tuple of Typeface
        The one chosen, then those that stand in.
    height_mm : float
        Of a capital.
    at : At
    middle_mm : tuple of float, optional
        Where the middle of the block lies instead.
    course : Course
    radius_mm : float, optional
        Of an arc, to its baseline; found from the piece if not given.
    """

    typefaces: tuple[Typeface, ...]
    height_mm: float
    at: At = At.BOTTOM
    middle_mm: tuple[float, float] | None = None
    course: Course = Course.STRAIGHT
    radius_mm: float | None = None


def laid(one: Inscription, outline: Outline, margin_mm: float = 0.0) -> Letters:
    """Return an inscription where it lies on a piece.

    Parameters
    ----------
    one : Inscription
    outline : Outline
    margin_mm : float, optional
        Strip along the edge that stays bare.

    Raises
    ------
    BadInput
        If no typeface has a letter of it, or it does not fit.
    """
    if not HEIGHTS_MM[0] <= one.height_mm <= HEIGHTS_MM[1]:
        raise BadInput(
            f"Letters cannot be {one.height_mm:g} mm high",
            "Give the height of a capital, for example 12 mm",
        )
    block = _Block([set_line(text, one.typefaces, one.height_mm) for text in one.lines], one)
    strip = margin_mm + max(FROM_EDGE_MM, FROM_EDGE * one.height_mm)
    follows = one.middle_mm is None and one.at is not At.MIDDLE
    if one.course is Course.EDGE and not follows:
        raise BadInput(
            "Lettering runs along the edge at the top or at the bottom", "Say which of them"
        )
    curved = outline.kind in (OutlineKind.ROUND, OutlineKind.OVAL) and not one.radius_mm
    if one.course is Course.EDGE or (one.course is Course.ARC and curved and follows):
        rings = block.along(outline, strip)
        if _clearance(rings, outline) < margin_mm + 0.5 * (strip - margin_mm):
            raise _does_not_fit(one, "runs off the piece along this edge", 0.8)
    else:
        rings = block.placed(outline, strip, margin_mm)
    return Letters.of(one, rings)


class _Block:
    """Lines, and how far their ink reaches above and below their baselines."""

    def __init__(self, lines: Sequence[SetLine], one: Inscription) -> None:
        self.lines, self.one = lines, one
        boxes = [path.bounds for line in lines for path in map(glyph_path, line.glyphs)]
        inked = [box for box in boxes if box[2] > box[0]]
        if not inked:
            raise BadInput("There is nothing to letter", "Give the words, a line each")
        self.below = max(0.0, -min(box[1] for box in inked))
        self.above = max(box[3] for box in inked)
        height = one.height_mm
        least = self.above + self.below + _AIR * height
        self.pitch = max(_PITCH * height, least) if len(lines) > 1 else 0.0

    @property
    def width_mm(self) -> float:
        return max(line.width_mm for line in self.lines)

    def placed(self, outline: Outline, strip: float, margin_mm: float) -> list[Polygon]:
        """Return the block straight or on an arc of its own, moved in until it fits."""
        one = self.one
        rings = self._bent(outline) if one.course is Course.ARC else self._straight()
        points = np.concatenate(rings)
        low, high = points.min(axis=0), points.max(axis=0)
        middle, half = (low + high) / 2, (high - low) / 2
        rings = [ring - middle for ring in rings]
        if one.middle_mm is not None:
            found = [ring + np.array(one.middle_mm) for ring in rings]
            if _clearance(found, outline) < margin_mm:
                raise BadInput(
                    f"'{one.words}' reaches over the edge there",
                    "Put it elsewhere, or make it smaller",
                )
            return found
        place = _fitting(rings, outline, one.at, strip)
        if place is None:
            raise _does_not_fit(one, _too_wide(2 * half, outline), _largest(rings, outline, one))
        return [ring + place for ring in rings]

    def _straight(self) -> list[Polygon]:
        found = []
        for number, line in enumerate(self.lines):
            rings = outlines((glyph_path(glyph), _on_wood) for glyph in line.glyphs)
            x = np.concatenate(rings)[:, 0]
            shift = np.array([-(x.min() + x.max()) / 2, number * self.pitch])
            found += [ring + shift for ring in rings]
        return found

    def _bent(self, outline: Outline) -> list[Polygon]:
        """Return the block on arcs about one middle: at the bottom they hang, else they rise."""
        least = self.width_mm / math.tau * 1.2 + len(self.lines) * self.pitch
        radius = self.one.radius_mm or max(_ARC * outline.width_mm, least)
        if radius < least:
            raise BadInput(
                f"An arc of {radius:g} mm is too tight for '{self.one.words}'",
                f"Give a radius of at least {math.ceil(least)} mm",
            )
        hangs = self.one.at is At.BOTTOM
        found = []
        for number, line in enumerate(self.lines):
            inner = (len(self.lines) - 1 - number if hangs else number) * self.pitch
            path = Path.arc(radius - inner, self.one.height_mm / 2, hangs=hangs)
            found += _on_path(line, path, self.one.height_mm)
        return found

    def along(self, outline: Outline, strip: float) -> list[Polygon]:
        """Return the block along the outline, its outermost line a strip from the edge."""
        found, bottom, half = [], self.one.at is At.BOTTOM, self.one.height_mm / 2
        for number, line in enumerate(self.lines):
            if bottom:
                inward = strip + self.below + (len(self.lines) - 1 - number) * self.pitch + half
            else:
                inward = strip + self.above + number * self.pitch - half
            path = along_edge(outline, inward, self.one.height_mm, bottom=bottom)
            if line.width_mm > 0.95 * path.length:
                ratio = 0.9 * path.length / line.width_mm
                raise _does_not_fit(self.one, "is longer than the edge", ratio)
            if path.sharpest(line.width_mm, self.one.height_mm) > math.radians(40):
                raise _does_not_fit(self.one, "would run round a corner of the edge", 0.7)
            found += _on_path(line, path, self.one.height_mm)
        return found


def _on_wood(points: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(points * np.array([1.0, -1.0]), np.float64)


def _on_path(line: SetLine, path: Path, height_mm: float) -> list[Polygon]:
    """Return a line on a path that runs through the middle of its capitals."""
    boxes = [box for box in (glyph_path(glyph).bounds for glyph in line.glyphs) if box[2] > box[0]]
    start = -(min(box[0] for box in boxes) + max(box[2] for box in boxes)) / 2
    if joins(line):
        warp = partial(path.bent, start=start, middle=height_mm / 2)
        return outlines(((glyph_path(glyph), warp) for glyph in line.glyphs), bent=True)
    parts: list[tuple[object, Warp]] = []
    for glyph in line.glyphs:
        at = glyph.x + glyph.advance / 2
        turned = partial(path.turned, about=at, start=start, middle=height_mm / 2)
        parts.append((glyph_path(glyph), turned))
    return outlines(parts)


def _clearance(rings: Sequence[Polygon], outline: Outline) -> float:
    """Return how far inside an outline rings lie, mm; below zero where they reach over it."""
    points = np.concatenate(rings)
    size = np.array([outline.width_mm, outline.height_mm])
    if outline.kind is OutlineKind.RECTANGLE:
        return float(min(points.min(), (size - points).min()))
    if outline.kind is OutlineKind.ROUND:
        return float(size[0] / 2 - np.hypot(*(points - size / 2).T).max())
    some = points[:: max(1, len(points) // _ENOUGH)]
    return float(_distances(some, outline_polygon(outline)).min())


def _distances(points: NDArray[np.float64], polygon: Polygon) -> NDArray[np.float64]:
    """Return the distance of points from a polygon's edge, mm, below zero outside."""
    start, end = polygon, np.roll(polygon, -1, axis=0)
    along = end - start
    square = np.maximum((along**2).sum(axis=1), 1e-12)
    off = points[:, None] - start[None]
    share = np.clip((off * along).sum(axis=2) / square, 0, 1)
    nearest = np.hypot(*np.moveaxis(off - share[..., None] * along, 2, 0)).min(axis=1)
    x, y = points[:, 0, None], points[:, 1, None]
    spans = (start[:, 1] > y) != (end[:, 1] > y)
    rise = np.where(along[:, 1] == 0, 1e-12, along[:, 1])
    crossing = start[:, 0] + (y - start[:, 1]) / rise * along[:, 0]
    inside = (spans & (x < crossing)).sum(axis=1) % 2 == 1
    return np.asarray(np.where(inside, nearest, -nearest), np.float64)


def _fitting(
    rings: Sequence[Polygon], outline: Outline, at: At, strip: float
) -> NDArray[np.float64] | None:
    """Return where the middle of a block lies that fits, nearest to the edge asked for."""
    points = np.concatenate(rings)
    half = points.max(axis=0)
    size = np.array([outline.width_mm, outline.height_mm])
    ways = {At.BOTTOM: [(size[1] - strip - half[1], -1)], At.TOP: [(strip + half[1], 1)]}
    starts = ways.get(at, [(size[1] / 2, 1), (size[1] / 2, -1)])
    asides = [0.0]
    if outline.kind is OutlineKind.LIVE_EDGE:  # its middle may lie to a side of its box's
        asides = sorted(np.linspace(-0.25, 0.25, 21) * size[0], key=abs)
    thin = [points[:: max(1, len(points) // _ENOUGH)]]
    for step in itertools.count():
        moved = step * _STEP_MM
        if moved > 0.6 * size[1]:
            return None
        for first, way in starts:
            for aside in asides:
                place = np.array([size[0] / 2 + aside, first + way * moved])
                if (
                    _clearance([part + place for part in thin], outline) >= strip - 1e-6
                    and _clearance([part + place for part in rings], outline) >= strip - 1e-6
                ):
                    return place
    return None


def _largest(rings: Sequence[Polygon], outline: Outline, one: Inscription) -> float:
    """Return about how much smaller an inscription fits, as a factor."""
    low, high = 0.0, 1.0
    for _ in range(8):
        middle = (low + high) / 2
        strip = max(FROM_EDGE_MM, FROM_EDGE * one.height_mm * middle)
        fits = _fitting([ring * middle for ring in rings], outline, one.at, strip) is not None
        low, high = (middle, high) if fits else (low, middle)
    return low


def _too_wide(size: NDArray[np.float64], outline: Outline) -> str:
    wide, high = size.tolist()
    return (
        f"takes {wide:.0f} × {high:.0f} mm, more than there is room for on a piece of"
        f" {outline.width_mm:.0f} × {outline.height_mm:.0f} mm"
    )


def _does_not_fit(one: Inscription, why: str, factor: float) -> BadInput:
    height = math.floor(one.height_mm * factor * 2) / 2
    if height < HEIGHTS_MM[0]:
        return BadInput(f"'{one.words}' {why}", "Set it in more lines, or choose fewer words")
    return BadInput(f"'{one.words}' {why}", f"Try letters {height:g} mm high, or more lines")
