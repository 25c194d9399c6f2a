"""Lines: the drawing that is traced, as an artist would make it.

Not the borders of value zones but the edges of the picture, at a scale in mm
(:mod:`burnplan.tone.style`):

1. It is told how strong edges are everywhere (:mod:`burnplan.tone.edge_layers`), and
   they are followed between pixels (:mod:`burnplan.tone.edges`). A stretch above the
   lower limit stays if it passes the upper one somewhere.
2. They are gathered into strokes (:mod:`burnplan.tone.strokes`), ranked by strength
   × √length, and each told its pressure and its pass (:mod:`burnplan.tone.passes`).
"""

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.passes import Detail as Detail
from burnplan.progress import Progress, silent
from burnplan.tone.chains import Chains
from burnplan.tone.edge_layers import LOST_SHORTEST, OUTLINE_MM, EdgeLayers
from burnplan.tone.edges import sampled
from burnplan.tone.lightness import lightness
from burnplan.tone.noise import Grain, blur_of, grain_of
from burnplan.tone.passes import AMONG, AMONG_COHERENT, Pass, Pressure, passes, pressures
from burnplan.tone.place import Placed
from burnplan.tone.strokes import (
    STEP_MM,
    by_a_steady_hand,
    linked,
    meeting,
    not_beside,
    without_doubles,
)
from burnplan.tone.style import Style, enlarged, style_for
from burnplan.tone.texture import SPOT_MM, spots
from burnplan.tone.zones import lightness_histogram, optimal_thresholds

TOLERANCE_MM = 0.05
"""Farthest a line lies from its points before they were made fewer (a guess: tried on
scikit-image's photos)."""

# Points along a line that are asked for what lies around it; a guess: tried on scikit-image's
# photos.
_EVERY_MM = 0.5
# How far beside a line its darker side is measured; a guess: tried on scikit-image's photos.
_SIDE_MM = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """One stroke.

    Parameters
    ----------
    points : ndarray of float64, shape (K, 2)
        x and y in mm from the top left of the outline's bounding box; a closed
        line does not repeat its first point.
    closed : bool
    pressure : Pressure
    in_pass : Pass
    length_mm : float
    step : float
        Mean lightness step across it, L*.
    of_letter : bool
        Whether it is the outline of a letter, and no edge of the photo.
    """

    points: NDArray[np.float64]
    closed: bool
    pressure: Pressure
    in_pass: Pass
    length_mm: float
    step: float
    of_letter: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """All lines of a reference, in the order to trace them.

    Parameters
    ----------
    lines : tuple of Line
        By pass, in each the most telling first; lost ones last.
    detail : Detail
    style : Style
        What the detail came to on this piece and photo.
    """

    lines: tuple[Line, ...]
    detail: Detail
    style: Style

    @property
    def drawn(self) -> tuple[Line, ...]:
        """The lines that are traced: all but lost ones."""
        return tuple(line for line in self.lines if line.pressure is not Pressure.LOST)

    @property
    def strokes(self) -> int:
        """Number of lines that are traced."""
        return len(self.drawn)

    @property
    def firm_cm(self) -> float:
        """Length of firm lines, cm."""
        return self.length_cm(Pressure.FIRM)

    @property
    def light_cm(self) -> float:
        """Length of light lines, cm."""
        return self.length_cm(Pressure.LIGHT)

    @property
    def lost_cm(self) -> float:
        """Length of lost lines, cm."""
        return self.length_cm(Pressure.LOST)

    def length_cm(self, pressure: Pressure | None = None, in_pass: Pass | None = None) -> float:
        """Return the total length in cm, of one pressure or one pass if given."""
        return (
            sum(
                line.length_mm
                for line in self.lines
                if pressure in (None, line.pressure) and in_pass in (None, line.in_pass)
            )
            / 10
        )


def draw_lines(
    placed: Placed,
    detail: Detail = Detail.USUAL,
    *,
    darkest: float | Callable[[], float | None] | None = None,
    grain: Grain | None = None,
    on_progress: Progress | None = None,
) -> Lines:
    """Draw the lines of a placed photo.

    Parameters
    ----------
    placed : Placed
        What it leaves bare is not drawn, but for the outline of what it keeps.
    detail : Detail, optional
    darkest : float or callable, optional
        L* up to which a value is among the darkest, for the second pass, or what gives it
        once lines are found; if None the first of three bands.
    grain : Grain, optional
        Of the photo, if it has been measured; not looked at where something is left bare.
    on_progress : Progress, optional

    Returns
    -------
    Lines
    """
    progress = on_progress or silent
    progress(0.0, "Looking for lines")
    light = _as_the_photo_was(placed)
    if grain is None or light is not placed.lightness:
        grain = grain_of(placed, light)
    style = style_for(detail, placed.outline, blur_of(placed, light), grain)
    layers = EdgeLayers.of(placed, light, style, grain)
    progress(0.5, "Drawing lines")
    size_mm, style = layers.size_mm, layers.style
    found, rank, lost = layers.edges()
    drawn, _rows = without_doubles(found, rank, size_mm, style.apart_mm)
    drawn = by_a_steady_hand(linked(drawn))
    enough = (drawn.lengths() >= layers.shortest(drawn)) & (layers.weights(drawn) >= style.least)
    drawn, _rows = drawn.chosen(np.flatnonzero(enough))
    drawn = meeting(drawn, size_mm)
    progress(0.8, "Drawing lines")
    lost = not_beside(by_a_steady_hand(lost.resampled(STEP_MM)), drawn, size_mm, style.apart_mm)
    lost = lost.longer(LOST_SHORTEST * style.shortest_mm)
    dark = darkest() if callable(darkest) else darkest
    lines = _told(placed, layers, drawn.followed_by(lost), drawn.count, dark)
    progress(1.0, "Lines drawn")
    return Lines(lines, detail, style)


def _as_the_photo_was(placed: Placed) -> NDArray[np.float32]:
    """Lightness, and that of the photo where it was left bare: the cut itself is no edge.

    From one it goes over into the other within the subject, without a seam.
    """
    if placed.bare is None or not placed.bare.any():
        return placed.lightness
    reach = 8.0 * placed.px_per_mm
    away = cv2.distanceTransform((~placed.bare).view(np.uint8), cv2.DIST_L2, 3)
    share = np.clip(away / np.float32(reach), 0, 1)
    photo = lightness(placed.rgb)
    return np.asarray(photo + (placed.lightness - photo) * share, np.float32)


def _told(
    placed: Placed, layers: EdgeLayers, lines: Chains, drawn: int, darkest: float | None
) -> tuple[Line, ...]:
    """Return lines, of which so many are drawn, with pressure and pass, in their order."""
    if not lines.count:
        return ()
    field, outline = layers.sharp.field, placed.outline
    if darkest is None:
        histogram = lightness_histogram(placed.lightness, placed.burned)
        bands = min(3, max(1, int(np.count_nonzero(histogram))))
        cuts = optimal_thresholds(histogram, bands)
        darkest = (cuts[0] + 1) * 100 / 256 if cuts else 0.0
    length, step, weight = lines.lengths(), layers.steps(lines), layers.weights(lines)
    points = lines.resampled(_EVERY_MM)
    across = points.normals() * _SIDE_MM
    sides = [field.at(field.light, points.xy + across * side) for side in (-1, 0, 1)]
    darker = points.means(np.min(sides, axis=0))
    light, restless = spots(field, SPOT_MM * enlarged(outline))
    coarse = light.shape[::-1] / np.array([outline.width_mm, outline.height_mm])
    around, busy = (
        points.means(sampled(raster, points.xy * coarse)) for raster in (light, restless)
    )
    told = zip(
        range(lines.count),
        pressures(step, np.arange(lines.count) < drawn),
        passes(
            length,
            step,
            lines.closed,
            points.means(_marked(placed, points.xy)) > 0.5,
            darker,
            around,
            busy,
            (weight < AMONG * step * np.sqrt(length)) & (layers.coherence(points) > AMONG_COHERENT),
            shorter_side_mm=min(outline.width_mm, outline.height_mm),
            darkest=darkest,
        ),
        strict=True,
    )
    ordered = sorted(told, key=lambda line: (line[1] is Pressure.LOST, line[2], -weight[line[0]]))
    return tuple(
        Line(
            simplified(lines.part(chain), bool(lines.closed[chain])),
            bool(lines.closed[chain]),
            pressure,
            in_pass,
            float(length[chain]),
            float(step[chain]),
        )
        for chain, pressure, in_pass in ordered
    )


def _marked(placed: Placed, xy: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether each point is on the subject's outline or in a focal area."""
    height, width = placed.inside.shape
    at = np.floor(xy * placed.px_per_mm).astype(np.intp)
    row, column = at[:, 1].clip(0, height - 1), at[:, 0].clip(0, width - 1)
    marked = np.zeros(len(xy), np.bool_)
    if placed.focal is not None:
        marked |= placed.focal[row, column]
    if placed.bare is not None and placed.bare.any():
        away = cv2.distanceTransform((~placed.bare).view(np.uint8), cv2.DIST_L2, 3)
        marked |= away[row, column] <= OUTLINE_MM * placed.px_per_mm
    return marked


def simplified(points: NDArray[np.float64], closed: bool) -> NDArray[np.float64]:
    """Return the fewest of the points within the tolerance (Douglas and Peucker, 1973)."""
    kept = cv2.approxPolyDP(points.astype(np.float32).reshape(-1, 1, 2), TOLERANCE_MM, closed)
    return np.asarray(kept, np.float64).reshape(-1, 2)
