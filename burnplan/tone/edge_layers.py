"""Edge layers: how strong the edges of a placed photo are, sharp ones and soft ones.

Lightness is smoothed along the way it runs, and across it at the scale; more across
where texture is dense, so that hair becomes locks. What the surroundings of an edge
have everywhere is taken off its strength (:mod:`burnplan.tone.texture`), most where
it runs no way, and less in focal areas, where edges also count more.
"""

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.tone.chains import Chains
from burnplan.tone.direction import RESOLUTION, direction_field, shrunk, smoothed_along
from burnplan.tone.edges import (
    SHARPEST_PX,
    WORTH_SHRINKING,
    EdgeField,
    edge_field,
    edges_of,
    sampled,
)
from burnplan.tone.noise import Grain, block_medians
from burnplan.tone.place import Placed
from burnplan.tone.region import outline_mask
from burnplan.tone.strokes import (
    STEP_MM,
    THIN_MM,
    WHISKER_MM,
    not_beside,
    on_thin_lines,
    thin_reach,
)
from burnplan.tone.style import STYLES_FOR_MM, Style, for_contrast
from burnplan.tone.texture import density, surroundings

FOCAL_WEIGHT = 1.3
"""An edge in a focal area counts as so many times as strong (a guess: tried on scikit-image's
photos)."""

FOCAL_HELD = 0.4
"""What is taken off for its surroundings, as a share of that elsewhere (a guess: tried on
scikit-image's photos)."""

FOCAL_DENSE = 0.5
"""The same for how dense texture is: hair stays in locks (a guess: tried on scikit-image's
photos)."""

FOCAL_SHORTER = 0.6
"""Shortest line in focal areas, as a share of that elsewhere (a guess: tried on scikit-image's
photos)."""

COARSER = 2.0
"""Scale in dense texture as a multiple of that elsewhere (a guess: tried on scikit-image's
photos)."""

SOFTER = 3.0
"""Scale at which soft edges are looked for, as a multiple of that of sharp ones (a guess: tried on
scikit-image's photos)."""

OUTLINE_MM = 1.5
"""An edge this near to where the subject ends is its outline (a guess: tried on scikit-image's
photos)."""

_QUIETEST = 0.1  # share of the photo; a guess: tried on scikit-image's photos
_RAYLEIGH_MEDIAN = 1.1774  # of the length of a slope whose parts have deviation 1; by definition
_WAY_MM = 3.0  # over which a texture's direction is judged; a guess: tried on scikit-image's photos
# Scales of a soft edge beside a sharp one that are its foot; a guess: tried on scikit-image's
# photos.
_FOOT = 4.0
# Least scale at which surroundings are judged; a guess: tried on scikit-image's photos.
_AROUND_MM = 0.4
# A soft edge is drawn from this multiple of the shortest line; a guess: tried on scikit-image's
# photos.
_SOFT_SHORTEST = 2.0
# Points along a line that are asked for means along it; a guess: tried on scikit-image's photos.
_EVERY_MM = 0.75
LOST_SHORTEST = 2.0
"""A lost line is told of from this multiple of the shortest (a guess: tried on scikit-image's
photos)."""


@dataclass(frozen=True, slots=True, eq=False)
class EdgeLayer:
    """Lightness at one scale, and how strong its edges are by what surrounds them."""

    field: EdgeField
    strength: NDArray[np.float32]

    def edges(
        self, inside: NDArray[np.bool_], limits: tuple[float, float]
    ) -> tuple[Chains, Chains]:
        """Return the edges that are strong enough, and what is left of those above the lower."""
        edges = edges_of(self.field, limits[0], _mask_as(inside, self.strength.shape))
        strength = self.field.at(self.strength, edges.xy)
        strong = edges.hysteresis(strength, limits)
        found, _rows = edges.stretches(strong)
        weak, _rows = edges.stretches((strength >= limits[0]) & ~strong)
        return found, weak


@dataclass(frozen=True, slots=True, eq=False)
class EdgeLayers:
    """What lines are found in: sharp edges, soft ones, and where.

    A soft edge, of a shadow or what is out of focus, is faint and restless at a
    sharp scale, and clear at a wider one.
    """

    sharp: EdgeLayer
    soft: EdgeLayer
    coarser: NDArray[np.float32]  # by place, on a raster of its own: scale over the style's
    coherent: NDArray[np.float32]  # on that raster: how far textures run one way
    near: NDArray[np.float32]  # on that raster: 1 in focal areas, 0 elsewhere, without a seam
    inside: NDArray[np.bool_]
    size_mm: tuple[float, float]
    style: Style  # its limits as the photo's noise and contrast make them

    @classmethod
    def of(
        cls, placed: Placed, light: NDArray[np.float32], style: Style, grain: Grain
    ) -> "EdgeLayers":
        """Look for edges in lightness, which may be other than the placed photo's own."""
        px, scale = placed.px_per_mm, style.scale_mm
        enough = SHARPEST_PX / scale
        own, own_px = shrunk(light, px, enough if enough < WORTH_SHRINKING * px else px)
        shape, mean_px = own.shape[::-1], float(own_px.mean())
        wide_light, wide_px = shrunk(light, px, RESOLUTION)
        flowing = _flowing(wide_light, float(wide_px.mean()), scale, style.along_mm, shape)

        # What is gathered over millimetres lies on a raster of one pixel a millimetre.
        runs = direction_field(
            wide_light, float(wide_px.mean()), _WAY_MM, scale_mm=scale, resolution=1.0
        )
        wide = runs.coherence.shape[::-1]
        around = surroundings(edge_field(own, mean_px, max(scale, _AROUND_MM)), wide)
        near = np.zeros_like(around)
        if placed.focal is not None:
            marked = cv2.resize(placed.focal.astype(np.float32), wide, interpolation=cv2.INTER_AREA)
            near = np.asarray(cv2.GaussianBlur(marked, (0, 0), 1.0), np.float32)
        dense = density(around) * (1 - np.float32(1 - FOCAL_DENSE) * near)
        coarser = np.sqrt(1 + dense * np.float32(COARSER**2 - 1))
        held = np.float32(style.held) * around * (1 + dense * (1 - runs.coherence))
        held *= 1 - np.float32(1 - FOCAL_HELD) * near
        weight = 1 + np.float32(FOCAL_WEIGHT - 1) * near

        wider = scale * math.sqrt(COARSER**2 - 1) * mean_px
        coarse = np.asarray(cv2.GaussianBlur(flowing, (0, 0), wider), np.float32)
        coarse -= flowing
        coarse *= _raster_as(dense, flowing.shape)
        flowing += coarse
        sharp = edge_field(flowing, mean_px, scale, mean_px)
        # What was smoothed more has smaller slopes for the same step.
        sharp.step[...] *= _raster_as(coarser, sharp.step.shape)
        soft = edge_field(flowing, mean_px, SOFTER * scale)
        layers = []
        for field in (sharp, soft):
            strength = field.step - _raster_as(held, field.step.shape)
            np.maximum(strength, 0, out=strength)
            if placed.focal is not None:
                strength *= _raster_as(weight, strength.shape)
            layers.append(EdgeLayer(field, strength))
        inside = _where(placed, style, sharp.step.shape)
        every = np.s_[::3, ::3]
        style = for_contrast(
            style, layers[0].strength[every][inside[every]], grain, _quiet(sharp.step, inside)
        )
        size_mm = placed.outline.width_mm, placed.outline.height_mm
        return cls(layers[0], layers[1], coarser, runs.coherence, near, inside, size_mm, style)

    def edges(self) -> tuple[Chains, NDArray[np.float64], Chains]:
        """Return the edges that are strong enough, how they rank, and those that are lost."""
        shortest = self.style.shortest_mm
        found, weak = self.sharp.edges(self.inside, self.style.limits)
        found = found.resampled(STEP_MM)
        wide, long = WHISKER_MM
        wide *= math.sqrt(math.prod(self.size_mm)) / STYLES_FOR_MM
        enough = found.lengths() >= long
        whiskers, others = (found.chosen(np.flatnonzero(one))[0] for one in (enough, ~enough))
        whiskers = on_thin_lines(
            self.sharp.field, whiskers, self.reach(whiskers.xy, wide), long
        ).resampled(STEP_MM)
        found = whiskers.followed_by(others)
        found = on_thin_lines(self.sharp.field, found, self.reach(found.xy)).resampled(STEP_MM)
        soft, _weak = self.soft.edges(self.inside, self.style.limits)
        # The foot of a sharp edge is no soft one.
        foot = _FOOT * self.soft.field.scale_mm
        soft = not_beside(soft.resampled(STEP_MM), found, self.size_mm, foot)
        soft = soft.longer(_SOFT_SHORTEST * shortest)
        # Where both are, the sharp one is right.
        rank = np.concatenate([1 + self.weights(found), -1 / (1 + self.weights(soft))])
        return found.followed_by(soft), rank, weak.longer(LOST_SHORTEST * shortest)

    def reach(self, xy: NDArray[np.float64], width_mm: float = THIN_MM) -> NDArray[np.float64]:
        """Return how far off the middle of a thin line its edges are seen, mm, at points."""
        scale = self.style.scale_mm * self._by_place(self.coarser, xy)
        return thin_reach(np.hypot(scale, self.style.blur_mm), width_mm)

    def shortest(self, lines: Chains) -> NDArray[np.float64]:
        """Return how long each line has to be at least, mm."""
        points = lines.resampled(_EVERY_MM)
        near = points.means(self._by_place(self.near, points.xy))
        return self.style.shortest_mm * (1 - (1 - FOCAL_SHORTER) * near)

    def coherence(self, points: Chains) -> NDArray[np.float64]:
        """Return how far what lies around each line runs one way, 0 to 1."""
        return points.means(self._by_place(self.coherent, points.xy))

    def _by_place(
        self, raster: NDArray[np.float32], xy: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Return values of a raster a pixel a millimetre at points in mm."""
        return sampled(raster, xy * (np.array(raster.shape[::-1]) / self.size_mm))

    def steps(self, lines: Chains) -> NDArray[np.float64]:
        """Return the mean step in L* across each line, of a thin one that of its sides."""
        points = lines.resampled(_EVERY_MM)
        field = self.sharp.field
        return points.means(self._across(points, field, field.step)) * field.understated

    def weights(self, lines: Chains) -> NDArray[np.float64]:
        """Return the strength × √length of each line."""
        points = lines.resampled(_EVERY_MM)
        sharp, soft = (
            self._across(points, layer.field, layer.strength) for layer in (self.sharp, self.soft)
        )
        return points.means(np.maximum(sharp, soft)) * np.sqrt(lines.lengths())

    def _across(
        self, lines: Chains, field: EdgeField, raster: NDArray[np.float32]
    ) -> NDArray[np.float64]:
        """Return a raster at each point, or beside it what both sides of a thin line have."""
        side = lines.normals() * self.reach(lines.xy)[:, None]
        most = field.at(raster, lines.xy)
        for share in (0.5, 1.0):
            both = (field.at(raster, lines.xy + side * way) for way in (-share, share))
            most = np.maximum(most, np.minimum(*both))
        return most


def _raster_as(raster: NDArray[np.float32], shape: tuple[int, ...]) -> NDArray[np.float32]:
    """Return a raster in another's rows and columns."""
    size = shape[::-1]
    return np.asarray(cv2.resize(raster, size, interpolation=cv2.INTER_LINEAR), np.float32)


def _mask_as(mask: NDArray[np.bool_], shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Return a mask in another raster's rows and columns."""
    if mask.shape == shape:
        return mask
    small = cv2.resize(mask.view(np.uint8), shape[::-1], interpolation=cv2.INTER_NEAREST)
    return np.asarray(small, np.uint8).view(np.bool_)


def _flowing(
    light: NDArray[np.float32],
    px_per_mm: float,
    scale_mm: float,
    along_mm: float,
    shape: tuple[int, int],
) -> NDArray[np.float32]:
    """Return lightness smoothed along the way it runs, in a size of so many columns and rows."""
    # Finer than a third of what is smoothed over adds nothing.
    fine = 3 / along_mm
    way = direction_field(light, px_per_mm, along_mm / 2, scale_mm=scale_mm / 2, resolution=fine)
    flowing = smoothed_along(light, way, along_mm)
    return np.asarray(cv2.resize(flowing, shape, interpolation=cv2.INTER_CUBIC), np.float32)


def _quiet(step: NDArray[np.float32], inside: NDArray[np.bool_]) -> float:
    """Return the deviation of steps, L*, where the photo is quietest, as if it were noise."""
    found, whole = block_medians(step, inside)
    if not whole.any():
        return 0.0
    return float(np.quantile(found[whole], _QUIETEST)) / _RAYLEIGH_MEDIAN


def _where(placed: Placed, style: Style, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Where lines are drawn: inside, off the ends of the photo, and off what is left bare."""
    allowed = placed.inside
    if not allowed.all():
        whole = outline_mask(placed.outline, allowed.shape, placed.px_per_mm)
        if (whole & ~allowed).any():
            allowed = _eroded(allowed, 1.5 * style.scale_mm * placed.px_per_mm)
    if placed.bare is not None:
        allowed = allowed & ~_eroded(placed.bare, OUTLINE_MM * placed.px_per_mm)
    return _mask_as(allowed, shape)


def _eroded(mask: NDArray[np.bool_], radius_px: float) -> NDArray[np.bool_]:
    side = 2 * max(1, round(radius_px)) + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    return np.asarray(cv2.erode(mask.view(np.uint8), disc), np.uint8).view(np.bool_)
