"""Lines: the drawing that is traced, as an artist would make it.

Not the borders of value zones but the edges of the picture, at a scale in mm:

1. Lightness is smoothed along the way it runs, and across it at the scale; more
   across where texture is dense, so that hair becomes locks, and less in focal
   areas. The scale follows the size of the piece and the detail asked for, and is
   never finer than the photo's own sharpness and noise allow.
2. Edges are followed between pixels (:mod:`burnplan.tone.edges`). What their
   surroundings have everywhere counts less (:mod:`burnplan.tone.texture`), least
   of all where it runs no way. A stretch above the lower limit stays if it passes
   the upper one somewhere.
3. They are gathered into strokes (:mod:`burnplan.tone.strokes`), ranked by strength
   × √length, and each told its pressure and its pass (:mod:`burnplan.tone.passes`).
"""

import dataclasses
import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.passes import Detail as Detail
from burnplan.progress import Progress, silent
from burnplan.tone.chains import Chains
from burnplan.tone.direction import RESOLUTION, direction_field, shrunk, smoothed_along
from burnplan.tone.edges import SHARPEST_PX, EdgeField, edge_field, edges_of, sampled
from burnplan.tone.lightness import lightness
from burnplan.tone.noise import Grain, block_medians, blur_of, grain_of
from burnplan.tone.passes import Pass, Pressure, passes, pressures
from burnplan.tone.place import Placed
from burnplan.tone.region import outline_mask
from burnplan.tone.strokes import (
    STEP_MM,
    by_a_steady_hand,
    linked,
    meeting,
    not_beside,
    on_thin_lines,
    without_doubles,
)
from burnplan.tone.texture import SPOT_MM, density, spots, surroundings
from burnplan.tone.zones import lightness_histogram, optimal_thresholds


@dataclass(frozen=True, slots=True)
class Style:
    """What a detail means on a piece; chosen by eye, no source.

    Parameters
    ----------
    scale_mm : float
        Scale of edges.
    along_mm : float
        How far lightness is smoothed along the way it runs.
    limits : tuple of float
        Lower and upper limit of the strength of a line, L*.
    held : float
        Share of the mean step around an edge that is taken off its own.
    shortest_mm : float
        Shortest line.
    least : float
        Least strength × √length, L*·√mm.
    apart_mm : float
        Lines nearer to each other are one.
    """

    scale_mm: float
    along_mm: float
    limits: tuple[float, float]
    held: float
    shortest_mm: float
    least: float
    apart_mm: float


STYLES = {
    Detail.CALM: Style(0.4, 2.0, (2.8, 8.0), 0.75, 6.5, 21.0, 1.4),
    Detail.USUAL: Style(0.3, 1.5, (2.8, 8.0), 0.65, 5.5, 20.0, 1.3),
    Detail.FINE: Style(0.25, 0.8, (2.3, 5.0), 0.3, 4.0, 10.0, 0.9),
}
"""Styles on a piece of 20 × 25 cm."""

STYLES_FOR_MM = math.sqrt(200 * 250)
"""Side of a square as large as the piece that styles are given for."""

FOCAL_WEIGHT = 1.3
"""An edge in a focal area counts as so many times as strong (a guess)."""

FOCAL_FINER = 0.7
"""Scale in focal areas as a share of that elsewhere (a guess)."""

FOCAL_ALONG = 0.6
"""The same for how far lightness is smoothed along the way it runs (a guess)."""

FOCAL_HELD = 0.6
"""The same for what is taken off for its surroundings (a guess)."""

COARSER = 2.0
"""Scale in dense texture as a multiple of that elsewhere (a guess)."""

SOFTER = 3.0
"""Scale at which soft edges are looked for, as a multiple of that of sharp ones (a guess)."""

MOST_SCALE_MM = 2.0  # a guess

OUTLINE_MM = 1.5
"""An edge this near to where the subject ends is its outline (a guess)."""

TOLERANCE_MM = 0.05
"""Farthest a line lies from its points before they were made fewer (a guess)."""

_NOISE_LIMITS = (3.5, 5.0)  # the limits are at least so many deviations of the noise; a guess
_QUIETEST = 0.1  # share of the photo; a guess
_RAYLEIGH_MEDIAN = 1.1774  # of the length of a slope whose parts have deviation 1; by definition
_QUIET_LIMITS = (3.5, 6.0)  # the same of what is found where the photo is quietest; a guess
# A guess:
_NOISIEST = 1.6  # and no more than so many times what they are without noise: it may be texture
_NOISE_STEP = 2.0  # L*: the scale grows until noise makes no more than this; a guess
_SIZE_POWER = 0.5  # a piece four times as wide is seen from farther off: twice the scale
# A guess:
_CONTRAST_AT, _FULL_CONTRAST = 0.95, 16.0  # of a photo at whose strength, L*, limits are whole
_PALEST = 0.5  # most that they fall, as a share; a guess
# A guess:
_LEAST_LIMITS = (2.0, 4.5)  # L*: nor do they fall below these, which blocks of JPEG pass seldom
_WAY_MM = 3.0  # over which a texture's direction is judged; a guess
_SIDE_MM = 1.0  # how far beside a line its darker side is measured; a guess
_FOOT = 4.0  # scales of a soft edge beside a sharp one that are its foot; a guess
_AROUND_MM = 0.4  # least scale at which surroundings are judged; a guess
_SOFT_SHORTEST = 2.0  # a soft edge is drawn from this multiple of the shortest line; a guess
_LOST_SHORTEST = 2.0  # a lost line is told of from this multiple of the shortest; a guess


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
    """

    points: NDArray[np.float64]
    closed: bool
    pressure: Pressure
    in_pass: Pass
    length_mm: float
    step: float


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
    darkest: float | None = None,
    grain: Grain | None = None,
    on_progress: Progress | None = None,
) -> Lines:
    """Draw the lines of a placed photo.

    Parameters
    ----------
    placed : Placed
        What it leaves bare is not drawn, but for the outline of what it keeps.
    detail : Detail, optional
    darkest : float, optional
        L* up to which a value is among the darkest, for the second pass; if not
        given the first of three bands.
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
    style = _style_for(placed, light, detail, grain)
    sight = _Sight.of(placed, light, style, grain)
    progress(0.5, "Drawing lines")
    size_mm = sight.size_mm
    found, rank, lost = sight.edges()
    drawn, _rows = without_doubles(found, rank, size_mm, style.apart_mm)
    drawn = by_a_steady_hand(linked(drawn))
    weights, lengths = sight.weights(drawn), drawn.lengths()
    drawn, _rows = drawn.chosen(
        np.flatnonzero((lengths >= style.shortest_mm) & (weights >= style.least))
    )
    drawn = meeting(drawn, size_mm)
    progress(0.8, "Drawing lines")
    lost = not_beside(by_a_steady_hand(lost.resampled(STEP_MM)), drawn, size_mm, style.apart_mm)
    lost = _longer(lost, _LOST_SHORTEST * style.shortest_mm)
    lines = _told(placed, sight, _together(drawn, lost), drawn.count, darkest)
    progress(1.0, "Lines drawn")
    return Lines(lines, detail, sight.style)


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


def _style_for(placed: Placed, light: NDArray[np.float32], detail: Detail, grain: Grain) -> Style:
    """Return the style of a detail for a piece's size and a photo's sharpness and noise."""
    outline, style = placed.outline, STYLES[detail]
    larger = math.sqrt(outline.width_mm * outline.height_mm) / STYLES_FOR_MM
    larger **= _SIZE_POWER
    scale = math.hypot(style.scale_mm * larger, blur_of(placed, light))
    scale = min(max(scale, grain.step(1.0) / _NOISE_STEP), MOST_SCALE_MM)
    return dataclasses.replace(
        style,
        scale_mm=scale,
        along_mm=style.along_mm * larger,
        shortest_mm=style.shortest_mm * larger,
        least=style.least * math.sqrt(larger),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Layer:
    """Lightness at one scale, and how strong its edges are by what surrounds them."""

    field: EdgeField
    strength: NDArray[np.float32]

    def at(self, xy: NDArray[np.float64]) -> NDArray[np.float64]:
        """Strength at points in mm."""
        return self.field.at(self.strength, xy)

    def edges(
        self, inside: NDArray[np.bool_], limits: tuple[float, float]
    ) -> tuple[Chains, Chains]:
        """Return the edges that are strong enough, and what is left of those above the lower."""
        here = cv2.resize(
            inside.view(np.uint8), self.strength.shape[::-1], interpolation=cv2.INTER_NEAREST
        )
        edges = edges_of(self.field, limits[0], here > 0)
        strength = self.at(edges.xy)
        strong = edges.hysteresis(strength, limits)
        found, _rows = edges.stretches(strong)
        weak, _rows = edges.stretches((strength >= limits[0]) & ~strong)
        return found, weak


@dataclass(frozen=True, slots=True, eq=False)
class _Sight:
    """What lines are found in: sharp edges, soft ones, and where.

    A soft edge, of a shadow or what is out of focus, is faint and restless at a
    sharp scale, and clear at a wider one.
    """

    sharp: _Layer
    soft: _Layer
    inside: NDArray[np.bool_]
    size_mm: tuple[float, float]
    style: Style  # its limits as the photo's noise and contrast make them

    @classmethod
    def of(cls, placed: Placed, light: NDArray[np.float32], style: Style, grain: Grain) -> "_Sight":
        px, scale = placed.px_per_mm, style.scale_mm
        focal = placed.focal if placed.focal is not None and placed.focal.any() else None
        least = scale if focal is None else scale * FOCAL_FINER
        own, own_px = shrunk(light, px, SHARPEST_PX / least)
        shape, mean_px = own.shape[::-1], float(own_px.mean())
        flowing = _flowing(light, px, scale, style.along_mm, shape)

        found = surroundings(edge_field(own, mean_px, max(scale, _AROUND_MM)))
        around = np.asarray(cv2.resize(found, shape, interpolation=cv2.INTER_LINEAR), np.float32)
        dense = density(around)
        coarse = cv2.GaussianBlur(flowing, (0, 0), scale * math.sqrt(COARSER**2 - 1) * mean_px)
        flowing += (coarse - flowing) * dense
        soft = edge_field(flowing, mean_px, SOFTER * scale)
        # Variance of the scale, by place.
        variance = (1 + dense * np.float32(COARSER**2 - 1)) * np.float32(scale**2)
        near = np.zeros_like(dense)
        if focal is not None:
            marked = cv2.resize(focal.astype(np.float32), shape, interpolation=cv2.INTER_AREA)
            near = np.asarray(cv2.GaussianBlur(marked, (0, 0), mean_px), np.float32)
            sigma = math.sqrt(scale**2 - least**2) * mean_px
            flowing = np.asarray(cv2.GaussianBlur(flowing, (0, 0), sigma), np.float32)
            own = _flowing(light, px, least, style.along_mm * FOCAL_ALONG, shape)
            flowing += (own - flowing) * near
            variance += (np.float32(least**2) - variance) * near
        sharp = edge_field(flowing, mean_px, least, mean_px)
        # What was smoothed more has smaller slopes for the same step.
        sharp.step[...] *= np.sqrt(variance) / np.float32(least)

        runs = direction_field(light, px, _WAY_MM, scale_mm=scale, resolution=1.0)
        coherence = cv2.resize(runs.coherence, shape, interpolation=cv2.INTER_LINEAR)
        held = np.float32(style.held) * around * (1 + dense * (1 - coherence))
        held *= 1 - np.float32(1 - FOCAL_HELD) * near
        weight = 1 + np.float32(FOCAL_WEIGHT - 1) * near
        layers = [
            _Layer(field, _on(field, weight) * np.maximum(field.step - _on(field, held), 0))
            for field in (sharp, soft)
        ]
        inside = _where(placed, style, shape)
        size_mm = placed.outline.width_mm, placed.outline.height_mm
        strength = layers[0].strength
        style = _paler(style, strength[inside], grain, _quiet(sharp.step, inside))
        return cls(layers[0], layers[1], inside, size_mm, style)

    def edges(self) -> tuple[Chains, NDArray[np.float64], Chains]:
        """Return the edges that are strong enough, how they rank, and those that are lost."""
        shortest = self.style.shortest_mm
        found, weak = self.sharp.edges(self.inside, self.style.limits)
        found = on_thin_lines(self.sharp.field, found.resampled(STEP_MM)).resampled(STEP_MM)
        soft, _weak = self.soft.edges(self.inside, self.style.limits)
        # The foot of a sharp edge is no soft one.
        foot = _FOOT * self.soft.field.scale_mm
        soft = not_beside(soft.resampled(STEP_MM), found, self.size_mm, foot)
        soft = _longer(soft, _SOFT_SHORTEST * shortest)
        # Where both are, the sharp one is right.
        rank = np.concatenate([1 + self.weights(found), -1 / (1 + self.weights(soft))])
        return _together(found, soft), rank, _longer(weak, _LOST_SHORTEST * shortest)

    def weights(self, lines: Chains) -> NDArray[np.float64]:
        """Return the strength × √length of each line."""
        strength = np.maximum(self.sharp.at(lines.xy), self.soft.at(lines.xy))
        return lines.means(strength) * np.sqrt(lines.lengths())


def _on(field: EdgeField, raster: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return a raster in the shape of a field."""
    shape = field.step.shape[::-1]
    return np.asarray(cv2.resize(raster, shape, interpolation=cv2.INTER_LINEAR), np.float32)


def _longer(lines: Chains, least_mm: float) -> Chains:
    """Return the lines that are long enough."""
    return lines.chosen(np.flatnonzero(lines.lengths() >= least_mm))[0]


def _quiet(step: NDArray[np.float32], inside: NDArray[np.bool_]) -> float:
    """Return the deviation of steps, L*, where the photo is quietest, as if it were noise."""
    found, whole = block_medians(step, inside)
    if not whole.any():
        return 0.0
    return float(np.quantile(found[whole], _QUIETEST)) / _RAYLEIGH_MEDIAN


def _flowing(
    light: NDArray[np.float32],
    px_per_mm: float,
    scale_mm: float,
    along_mm: float,
    shape: tuple[int, int],
) -> NDArray[np.float32]:
    """Return lightness smoothed along the way it runs, in a size of so many columns and rows."""
    # Finer than a third of what is smoothed over adds nothing.
    fine = min(RESOLUTION, 3 / along_mm)
    way = direction_field(light, px_per_mm, along_mm / 2, scale_mm=scale_mm / 2, resolution=fine)
    flowing = smoothed_along(light, way, along_mm)
    return np.asarray(cv2.resize(flowing, shape, interpolation=cv2.INTER_CUBIC), np.float32)


def _paler(style: Style, strength: NDArray[np.float32], grain: Grain, quiet: float) -> Style:
    """Return a style whose limits are lower where the photo's own edges are faint.

    Nor do they lie within its noise: that from pixel to pixel, and what is
    everywhere at the scale of lines, as noise is that JPEG has blurred.
    """
    if not len(strength):
        return style
    contrast = float(np.quantile(strength[::7], _CONTRAST_AT)) / _FULL_CONTRAST
    paler = min(max(math.sqrt(contrast), _PALEST), 1.0)
    noise = grain.step(style.scale_mm)
    low, high = (
        max(limit * paler, least, times * noise, min(more * quiet, _NOISIEST * limit))
        for limit, least, times, more in zip(
            style.limits, _LEAST_LIMITS, _NOISE_LIMITS, _QUIET_LIMITS, strict=True
        )
    )
    return dataclasses.replace(style, limits=(low, high), least=style.least * paler)


def _where(placed: Placed, style: Style, shape: tuple[int, int]) -> NDArray[np.bool_]:
    """Where lines are drawn: inside, off the ends of the photo, and off what is left bare."""
    allowed = placed.inside
    whole = outline_mask(placed.outline, allowed.shape, placed.px_per_mm)
    if (whole & ~allowed).any():
        allowed = _eroded(allowed, 1.5 * style.scale_mm * placed.px_per_mm)
    if placed.bare is not None:
        allowed = allowed & ~_eroded(placed.bare, OUTLINE_MM * placed.px_per_mm)
    small = cv2.resize(allowed.view(np.uint8), shape, interpolation=cv2.INTER_NEAREST)
    return np.asarray(small, np.bool_)


def _eroded(mask: NDArray[np.bool_], radius_px: float) -> NDArray[np.bool_]:
    side = 2 * max(1, round(radius_px)) + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    return np.asarray(cv2.erode(mask.astype(np.uint8), disc), np.bool_)


def _together(one: Chains, other: Chains) -> Chains:
    """Return the chains of both, one's first."""
    return Chains(
        np.concatenate([one.xy, other.xy]),
        np.concatenate([one.starts, other.starts[1:] + len(one.xy)]),
        np.concatenate([one.closed, other.closed]),
    )


def _told(
    placed: Placed, sight: _Sight, lines: Chains, drawn: int, darkest: float | None
) -> tuple[Line, ...]:
    """Return lines, of which so many are drawn, with pressure and pass, in their order."""
    if not lines.count:
        return ()
    field, outline = sight.sharp.field, placed.outline
    if darkest is None:
        histogram = lightness_histogram(placed.lightness, placed.burned)
        bands = min(3, max(1, int(np.count_nonzero(histogram))))
        cuts = optimal_thresholds(histogram, bands)
        darkest = (cuts[0] + 1) * 100 / 256 if cuts else 0.0
    step = lines.means(field.at(field.step, lines.xy)) * field.understated
    length = lines.lengths()
    across = lines.normals() * _SIDE_MM
    beside = np.minimum(*(field.at(field.light, lines.xy + side) for side in (across, -across)))
    larger = math.sqrt(outline.width_mm * outline.height_mm) / STYLES_FOR_MM
    light, restless = spots(field, SPOT_MM * math.sqrt(larger))
    coarse = light.shape[::-1] / np.array([outline.width_mm, outline.height_mm])
    around, busy = (lines.means(sampled(raster, lines.xy * coarse)) for raster in (light, restless))
    told = zip(
        range(lines.count),
        pressures(step, np.arange(lines.count) < drawn),
        passes(
            length,
            step,
            lines.closed,
            lines.means(_marked(placed, lines.xy)) > 0.5,
            lines.means(beside),
            around,
            busy,
            shorter_side_mm=min(outline.width_mm, outline.height_mm),
            darkest=darkest,
        ),
        strict=True,
    )
    weight = sight.weights(lines)
    ordered = sorted(told, key=lambda line: (line[1] is Pressure.LOST, line[2], -weight[line[0]]))
    return tuple(
        Line(
            _simplified(lines.part(chain), bool(lines.closed[chain])),
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


def _simplified(points: NDArray[np.float64], closed: bool) -> NDArray[np.float64]:
    """Fewest of the points within the tolerance (Douglas and Peucker, 1973)."""
    kept = cv2.approxPolyDP(points.astype(np.float32).reshape(-1, 1, 2), TOLERANCE_MM, closed)
    return np.asarray(kept, np.float64).reshape(-1, 2)
