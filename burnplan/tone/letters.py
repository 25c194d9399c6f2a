"""Lettering on the wood: its outlines in mm, and what it does to a reference around it.

Letters are burned over the picture: their own area belongs to no value zone, and what
the picture would be there is neither burned nor traced. Where a strip round them is to
stay clear the wood stays bare.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.tone.chains import Chains
from burnplan.tone.lines import Line, Lines, simplified
from burnplan.tone.measure import ZoneMeasure
from burnplan.tone.passes import Pass, Pressure
from burnplan.tone.place import Placed
from burnplan.tone.region import Polygon, area_of, polygon_mask
from burnplan.zone_names import LETTERING

FINEST_STROKE_MM = 0.8
"""Strokes narrower than this on the mean close up under a nib (common practice, no source)."""

LEGIBLE_STEP = 0.45
"""Least difference in darkness between letters and what is behind them (a guess: nearly half of
what the wood can show)."""

LOST_SHARE = 0.25
"""Share of what is round letters that may be as dark as they are unsaid (a guess: two letters of
eight)."""

LIKELY_SHARE = 0.25
"""Share of a lettering that may lie over the likely subject unsaid (our own choice)."""

# Points along a line that are asked whether letters lie there; a guess: about as fine as a pencil
# line.
_EVERY_MM = 0.25
# What is left of a line beside letters and is shorter is not drawn; a guess: shorter is no line to
# trace.
_STUB_MM = 3.0
# Parts of a pixel, each way, by which the edges of letters are shaded; a guess: finer steps are
# not seen.
_FINER = 4
# How far round letters the picture decides whether they are seen; a guess: about
# two strokes.
_BESIDE_MM = 2.0


@dataclass(frozen=True, kw_only=True)
class Lettered:
    """What is lettered, and how it is burned.

    Parameters
    ----------
    lines : tuple of str
        What it says.
    filled : bool
        Burned all over, or along its outlines only.
    darkness : float
        0 bare wood to 1 the darkest burn.
    clear_mm : float
        Strip of bare wood round it.
    """

    lines: tuple[str, ...]
    filled: bool = True
    darkness: float = 0.9  # a guess: a little short of the darkest
    clear_mm: float = 0.0

    @property
    def words(self) -> str:
        """All that it says, in a line."""
        return " / ".join(self.lines)


@dataclass(frozen=True, eq=False, kw_only=True)
class Letters(Lettered):
    """One lettering where it lies.

    Parameters
    ----------
    rings : tuple of ndarray of float64, each of shape (K, 2)
        Outlines in mm from the top left of the piece, by the even-odd rule; none cross.
    """

    rings: tuple[Polygon, ...]

    @classmethod
    def of(cls, what: Lettered, rings: Sequence[Polygon]) -> "Letters":
        """Return what is lettered where it lies."""
        same = {one.name: getattr(what, one.name) for one in fields(Lettered)}
        return cls(rings=tuple(rings), **same)

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom, mm."""
        points = np.concatenate(self.rings)
        (left, top), (right, bottom) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
        return left, top, right, bottom

    @cached_property
    def area_mm2(self) -> float:
        """Area inside the outlines, mm²: outer rings run one way, holes the other."""
        return abs(sum(map(area_of, self.rings)))

    @cached_property
    def length_mm(self) -> float:
        """Length of the outlines, mm."""
        return float(Chains.of((ring, True) for ring in self.rings).lengths().sum())

    @property
    def shapes(self) -> int:
        """Number of shapes that hang together: outer rings, which run as the largest does."""
        areas = [area_of(ring) for ring in self.rings]
        outer = max(areas, key=abs) > 0
        return sum((area > 0) is outer for area in areas)

    @property
    def stroke_mm(self) -> float:
        """Mean width of its strokes, mm: the sides of a long stroke are its outline."""
        return 2 * self.area_mm2 / self.length_mm

    def mask(self, placed: Placed) -> NDArray[np.bool_]:
        """Return the pixels inside its outlines, shape (H, W)."""
        return polygon_mask(self.rings, placed.inside.shape, placed.px_per_mm)


def burned_at(letters: Sequence[Letters], placed: Placed) -> NDArray[np.bool_]:
    """Return the pixels that letters take, with the strip round them, shape (H, W)."""
    taken = np.zeros(placed.inside.shape, np.bool_)
    for one in letters:
        taken |= _with_strip(one.mask(placed), one.clear_mm * placed.px_per_mm)
    return taken


def _with_strip(mask: NDArray[np.bool_], wide_px: float) -> NDArray[np.bool_]:
    if wide_px <= 0:
        return mask
    away = cv2.distanceTransform((~mask).view(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    return np.asarray(away <= wide_px, np.bool_)


def around(lines: Lines, taken: NDArray[np.bool_], px_per_mm: float) -> Lines:
    """Return lines without what runs where letters are."""
    kept: list[Line] = []
    for line in lines.lines:
        kept += _left_of(line, taken, px_per_mm)
    return replace(lines, lines=tuple(kept))


def _left_of(line: Line, taken: NDArray[np.bool_], px_per_mm: float) -> list[Line]:
    dense = _dense(line.points, line.closed)
    row, column = np.floor(dense[:, ::-1] * px_per_mm).astype(np.intp).T
    height, width = taken.shape
    hit = taken[row.clip(0, height - 1), column.clip(0, width - 1)]
    if not hit.any():
        return [line]
    if line.closed:  # begin where letters are, so that what is left is in whole pieces
        first = int(np.argmax(hit))
        dense, hit = np.roll(dense[:-1], -first, axis=0), np.roll(hit[:-1], -first)
    edges = np.flatnonzero(np.diff(np.concatenate([[1], hit, [1]]).astype(np.int8)))
    pieces = [dense[a:b] for a, b in zip(edges[::2], edges[1::2], strict=True)]
    lengths = [float(np.hypot(*np.diff(piece, axis=0).T).sum()) for piece in pieces]
    return [
        replace(line, points=simplified(piece, False), closed=False, length_mm=length)
        for piece, length in zip(pieces, lengths, strict=True)
        if length >= _STUB_MM
    ]


def _dense(points: NDArray[np.float64], closed: bool) -> NDArray[np.float64]:
    """Points along a line, its own among them; a closed one ends where it began."""
    corners = np.vstack([points, points[:1]]) if closed else points
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))])
    at = np.union1d(along, np.arange(0.0, along[-1], _EVERY_MM))
    return np.stack([np.interp(at, along, corners[:, axis]) for axis in (0, 1)], axis=1)


def with_letters(lines: Lines, letters: Sequence[Letters]) -> Lines:
    """Return lines with the outlines of letters, first in the first pass.

    They are traced lightly: graphite in a letter has nothing to hide under.
    """
    drawn = tuple(
        Line(ring, True, Pressure.LIGHT, Pass.SHAPES, float(length), 0.0, of_letter=True)
        for one in letters
        for ring, length in zip(
            one.rings, Chains.of((r, True) for r in one.rings).lengths(), strict=True
        )
    )
    return replace(lines, lines=(*drawn, *lines.lines))


def measured(letters: Sequence[Letters]) -> ZoneMeasure:
    """Return what letters ask of the burner, as a zone of their own.

    Those burned along their outlines only have no area.
    """
    areas = [one.area_mm2 if one.filled else 0.0 for one in letters]
    weights = areas if any(areas) else [one.length_mm for one in letters]
    return ZoneMeasure(
        zone=LETTERING,
        area_cm2=sum(areas) / 100,
        darkness=float(np.average([one.darkness for one in letters], weights=weights)),
        texture=0.0,
        islands=sum(one.shapes for one in letters),
        line_cm=sum(one.length_mm for one in letters) / 10,
    )


def shown(
    placed: Placed, letters: Sequence[Letters], taken: NDArray[np.bool_]
) -> NDArray[np.float32]:
    """Return the lightness of a reference with its letters, their edges shaded."""
    light: NDArray[np.float32] = np.where(taken, np.float32(100), placed.lightness)
    for one in letters:
        left, top, right, bottom = (edge * placed.px_per_mm for edge in one.box)
        rows, columns = (
            slice(max(0, int(low) - 1), min(size, int(high) + 2))
            for low, high, size in zip((top, left), (bottom, right), light.shape, strict=True)
        )
        ink = _coverage(one, placed, rows, columns)
        part = light[rows, columns]
        light[rows, columns] = part + (np.float32(100 * (1 - one.darkness)) - part) * ink
    return light


def _coverage(one: Letters, placed: Placed, rows: slice, columns: slice) -> NDArray[np.float32]:
    """Return how far each pixel of a box is inked, 0 to 1."""
    high, wide = rows.stop - rows.start, columns.stop - columns.start
    fine = placed.px_per_mm * _FINER
    shift = np.array([columns.start, rows.start]) / placed.px_per_mm
    moved = [ring - shift for ring in one.rings]
    shape = (max(1, high * _FINER), max(1, wide * _FINER))
    if one.filled:
        mask = polygon_mask(moved, shape, fine).astype(np.float32)
    else:
        canvas = np.zeros(shape, np.uint8)
        chains = [np.rint(ring * fine - 0.5).astype(np.int32) for ring in moved]
        cv2.polylines(canvas, chains, True, 255, max(1, round(OUTLINE_MM * fine)), cv2.LINE_AA)
        mask = canvas.astype(np.float32) / np.float32(255)
    small = cv2.resize(mask, (max(1, wide), max(1, high)), interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.float32)


OUTLINE_MM = 0.5
"""How wide a line burned along an outline is shown (a guess: a fine tip)."""


def notes_on(
    letters: Sequence[Letters],
    placed: Placed,
    likely: NDArray[np.bool_] | None = None,
) -> tuple[str, ...]:
    """Return what may disappoint of letters where they lie, a sentence each.

    Parameters
    ----------
    letters : sequence of Letters
    placed : Placed
        The picture alone.
    likely : ndarray of bool, optional
        Where the subject is likely to be, if no focal area is marked.
    """
    notes = []
    for one in letters:
        said, mask = f"'{one.words}'", one.mask(placed)
        covered = focal_cm2([one], placed)
        if covered:
            notes.append(f"{said} lies over the focal area, {covered:.1f} cm² of it")
        elif (
            placed.focal is None
            and likely is not None
            and ((mask & likely).sum() > LIKELY_SHARE * mask.sum())
        ):
            notes.append(
                f"{said} lies over the likely subject: mark what counts most with a focal area,"
                " and look at the picture"
            )
        if one.filled and one.stroke_mm < FINEST_STROKE_MM:
            notes.append(
                f"The strokes of {said} are {one.stroke_mm:.1f} mm wide on the mean, and a nib"
                " may close them up: make it larger, or choose a heavier typeface"
            )
        if one.clear_mm == 0 and _lost(one, mask, placed) > LOST_SHARE:
            notes.append(
                f"{said} is hardly to be read on what is burned behind it: leave a strip"
                " of bare wood round it, or put it where the picture is lighter"
            )
    notes += [
        f"'{one.words}' lies over '{other.words}': put one of them elsewhere"
        for other, one in itertools.combinations(letters, 2)
        if (one.mask(placed) & other.mask(placed)).any()
    ]
    return tuple(notes)


def _lost(one: Letters, mask: NDArray[np.bool_], placed: Placed) -> float:
    """Return the share of what is round letters that is burned about as dark as they are."""
    beside = _with_strip(mask, _BESIDE_MM * placed.px_per_mm) & ~mask & placed.inside
    if not beside.any():
        return 0.0
    behind = np.where(placed.burned, 1 - placed.lightness / 100, 0)[beside]
    return float((np.abs(one.darkness - behind) < LEGIBLE_STEP).mean())


def focal_cm2(letters: Sequence[Letters], placed: Placed) -> float:
    """Return how much of focal areas letters lie over, with the strip round them, cm²."""
    if placed.focal is None or not letters:
        return 0.0
    return float((burned_at(letters, placed) & placed.focal).sum()) * placed.pixel_area_mm2 / 100
