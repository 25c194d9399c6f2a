"""A piece against its plan: how dark each zone has become, and where it is off.

The photo is laid on the plan (:mod:`burnplan.tone.register`), the light on it found
where the plan leaves bare wood (:mod:`burnplan.tone.even_light`), and darkness read as it
is planned: ``(L_wood - L) / (L_wood - L_dark)`` in CIE L*.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.errors import BadInput
from burnplan.tone.even_light import (
    LEAST_SHARE,
    Cells,
    LightSamples,
    fit_light,
    typical_spread,
)
from burnplan.tone.flat_view import FlatView
from burnplan.tone.lightness import (
    check_wood_range,
    lightness_of_luminance,
    luminance,
    luminance_of_lightness,
)
from burnplan.tone.place import Placed, outline_mask
from burnplan.tone.register import COARSE_SIDE, FINE_SIDE, refine
from burnplan.tone.zones import ZoneMap

TOLERANCE = 0.10
"""Darkness by which a place may be off and still be as wanted (a guess: tried on rendered
photos)."""

_BARE = 0.015  # darkness wanted, up to which wood is left bare; a guess: tried on rendered photos
# Along the edge of the wood, that is not looked at: bevels and shadows; a guess: tried on rendered
# photos.
_EDGE_MM = 2.0
_AWAY_MM = 1.5  # from what is burned, before wood counts as bare; a guess: tried on rendered photos
_CELLS = 20  # along the longer side; a guess: tried on rendered photos
# Cells, below which a zone says nothing of the light; a guess: tried on rendered photos.
_FEWEST = 6
# Along a zone's edge, which says nothing of the light; a guess: tried on rendered photos.
_SEAM_MM = 0.5
_MOST_DONE = 1.2  # of what is wanted, as far as it is followed; a guess: tried on rendered photos
# Of the photo's height; and of ln of its light; a guess: tried on rendered photos.
_CARD_PATCH, _CARD_SD = 1 / 150, 0.02
# Deviation of ln of light, from which its level is open; a guess: tried on rendered photos.
_LEVEL_UNKNOWN = 0.12
# Darkness, by which zones that are as far as each other differ; a guess: tried on rendered photos.
_AS_FAR = 0.03
_DARKEST = 2e-4  # luminance, below which a camera tells nothing; a guess: tried on rendered photos
# Of ln of the light of bare wood, between places: grain; a guess: tried on rendered photos.
_BARE_SD = 0.03
# The same within a zone, at least and at most; a guess: tried on rendered photos.
_ZONE_SD = (0.04, 0.25)
_ROUNDS = 3  # of light and progress, each from the other; a guess: tried on rendered photos
# Inside a zone, where its neighbours do not reach; a guess: tried on rendered photos.
_CORE_MM = 0.8
_CORE_LEAST = 0.15  # of a zone, that this must leave; a guess: tried on rendered photos
_CLIPPED = 253  # code value from which light may be cut off; a guess: tried on rendered photos
_SMALLEST_PX = 120  # along the piece in the photo; a guess: tried on rendered photos


Real = TypeVar("Real", np.float32, np.float64)


@dataclass(frozen=True, slots=True)
class ZoneCompared:
    """A value zone as planned and as burned.

    Parameters
    ----------
    zone : int
    wanted, measured : float
        Mean darkness.
    within : float
        Share of its area that is as wanted, within the tolerance.
    doubt : float
        Standard deviation of ``measured``, from how well the light is known.
    """

    zone: int
    wanted: float
    measured: float
    within: float
    doubt: float


@dataclass(frozen=True, slots=True, eq=False)
class PieceOnPlan:
    """A photo of a piece laid on its plan.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
        The piece from straight above.
    darkness, wanted : ndarray of float32, shape (H, W)
        As measured and as planned; 0 where nothing is planned.
    doubt : ndarray of float32, shape (H, W)
        Standard deviation of the measured darkness, by the light.
    wood : ndarray of bool, shape (H, W)
        Inside the outline and off its edge.
    corners_mm : float or None
        By how much the corners were off, by what is burned; None where too little is.
    clipped : float
        Share of the wood that is overexposed.
    """

    rgb: NDArray[np.uint8]
    darkness: NDArray[np.float32]
    wanted: NDArray[np.float32]
    doubt: NDArray[np.float32]
    wood: NDArray[np.bool_]
    corners_mm: float | None
    clipped: float


@dataclass(frozen=True, slots=True)
class KnownLight:
    """A card or sheet of known lightness in the photo.

    Parameters
    ----------
    at : tuple of float
        Where, pixels of the whole photo from its top left.
    lightness : float
        L*.
    """

    at: tuple[float, float]
    lightness: float


def wanted_darkness(placed: Placed) -> NDArray[np.float32]:
    """Return the darkness that a reference wants of each pixel: 0 bare wood, 1 darkest burn."""
    wanted = np.float32(1) - placed.lightness / np.float32(100)
    burned = placed.burned if placed.lettered is None else placed.burned | placed.lettered
    return np.where(burned, wanted, np.float32(0)).astype(np.float32)


def lay_on_plan(
    rgb: NDArray[np.uint8],
    seen: FlatView,
    placed: Placed,
    zones: ZoneMap,
    wood_lightness: float,
    burn_lightness: float,
    *,
    cards: Sequence[KnownLight] = (),
) -> PieceOnPlan:
    """Lay a photo of a piece on its plan and read its darkness.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (h, w, 3)
        The photo, upright, in any size.
    seen : FlatView
        How the piece is seen in it, with the origin at the top left of the piece's
        bounding box; within a few hundredths of its size.
    placed : Placed
    zones : ZoneMap
    wood_lightness, burn_lightness : float
        L* of the bare wood and of its darkest burn.
    cards : sequence of KnownLight, optional

    Returns
    -------
    PieceOnPlan

    Raises
    ------
    BadInput
        If the piece is too small in the photo, or nothing tells the light.
    """
    check_wood_range(wood_lightness, burn_lightness)
    outline, px = placed.outline, placed.px_per_mm
    width, height = outline.width_mm, outline.height_mm
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)], np.float64)
    at_first = seen.to_pixels(corners)
    sides = np.hypot(*(np.roll(at_first, -1, axis=0) - at_first).T)
    if sides.min() < _SMALLEST_PX:
        raise BadInput(
            "The piece is too small in the photo to compare",
            "Take it from nearer by, so that the piece fills most of the picture",
        )
    shape = placed.inside.shape
    wanted = wanted_darkness(placed)
    wood = _off_the_edge(outline_mask(outline, shape, px), px)
    tones = _Tones(wood_lightness, burn_lightness)
    corners_mm: float | None = None
    progress = np.ones(zones.count + 1)
    light = _LightOfPiece(placed, zones, wanted, tones, wood)
    box = (0.0, 0.0, shape[1] / px, shape[0] / px)
    view = seen.rectified(rgb, box, px)
    known = light.cards(cards, rgb, seen, px) if cards else None
    for side in (COARSE_SIDE, FINE_SIDE):  # then it is known how far each zone has come
        logs = _log_luminance(view)
        plan = tones.log_of(progress.astype(np.float32)[zones.labels] * wanted)
        found = refine(logs, plan, wood, px, side)
        if found is not None:
            seen = seen.moved(found.motion)
            view = seen.rectified(rgb, box, px)
            logs = _log_luminance(view)
        level, spread, progress = light.found(logs, progress, known)
    if found is not None:
        moved = seen.to_mm(at_first) - corners
        corners_mm = float(np.sqrt((moved**2).sum(axis=1).mean()))
    darkness = tones.darkness(logs - level)
    slope = tones.slope(darkness)
    return PieceOnPlan(
        rgb=view,
        darkness=darkness,
        wanted=wanted,
        doubt=slope * spread,
        wood=wood,
        corners_mm=corners_mm,
        clipped=float((view.max(axis=2) >= _CLIPPED)[wood].mean()),
    )


def compare_zones(
    piece: PieceOnPlan, placed: Placed, zones: ZoneMap, off: NDArray[np.float32], tolerance: float
) -> tuple[ZoneCompared, ...]:
    """Return each zone that has an area as planned and as burned, darkest first.

    Parameters
    ----------
    piece : PieceOnPlan
    placed : Placed
    zones : ZoneMap
    off : ndarray of float32, shape (H, W)
        As :func:`darkness_off` gives it.
    tolerance : float
    """
    burned = placed.burned
    ring = _disc(_CORE_MM * placed.px_per_mm)
    result = []
    for zone in range(1, zones.count + 1):
        whole = (zones.labels == zone) & burned
        area = int(whole.sum())
        if not area:
            continue
        core = cv2.erode(whole.view(np.uint8), ring, borderValue=1).view(np.bool_) & piece.wood
        if core.sum() < _CORE_LEAST * area:
            core = whole & piece.wood if (whole & piece.wood).any() else whole
        wanted = float(piece.wanted[whole].mean())
        at_core, here = float(piece.wanted[core].mean()), float(piece.darkness[core].mean())
        # What the core leaves out is as far burned as the core.
        share = min(max(here / max(at_core, 1e-6), 0.0), 1.0)
        result.append(
            ZoneCompared(
                zone=zone,
                wanted=wanted,
                measured=here + share * (wanted - at_core),
                within=float((np.abs(off[whole]) <= tolerance).mean()),
                doubt=float(piece.doubt[core].mean()),
            )
        )
    return tuple(result)


class _Tones:
    """Between darkness and ln of light, with bare wood as 0."""

    def __init__(self, wood_lightness: float, burn_lightness: float) -> None:
        self.wood, self.range = wood_lightness, wood_lightness - burn_lightness
        self.bare = float(luminance_of_lightness(wood_lightness))
        steps = np.linspace(0, 1.2, 481)
        light = luminance_of_lightness(np.maximum(wood_lightness - steps * self.range, 0.05))
        self._steps, self._logs = steps, np.log(light / self.bare)

    def log_of(self, darkness: NDArray[Real]) -> NDArray[Real]:
        """Return ln of the light of a darkness, of that of bare wood."""
        return np.interp(darkness, self._steps, self._logs).astype(darkness.dtype)

    def darkness(self, logs: NDArray[Real]) -> NDArray[Real]:
        """Return the darkness of ln of light; below 0 what is lighter than bare wood."""
        lightness = lightness_of_luminance(np.exp(logs) * self.bare)
        return ((self.wood - lightness) / self.range).astype(logs.dtype)

    def slope(self, darkness: NDArray[np.float32]) -> NDArray[np.float32]:
        """Return by how much darkness changes with ln of light, without its sign."""
        lightness = np.float32(self.wood) - darkness * np.float32(self.range)
        # dL*/dlnY of the cube root: a third of L* + 16.
        return np.asarray((np.maximum(lightness, 0) + 16) / np.float32(3 * self.range))


def _log_luminance(view: NDArray[np.uint8]) -> NDArray[np.float32]:
    return np.asarray(np.log(np.maximum(luminance(view), np.float32(_DARKEST))), np.float32)


def _off_the_edge(inside: NDArray[np.bool_], px: float) -> NDArray[np.bool_]:
    """Return the wood without a strip along its edge."""
    mask = cv2.erode(
        inside.view(np.uint8), _disc(_EDGE_MM * px), borderType=cv2.BORDER_CONSTANT, borderValue=0
    )
    return np.asarray(mask, np.uint8).view(np.bool_)


@dataclass(frozen=True, slots=True, eq=False)
class _ZoneCells:
    """The cells in which a zone takes enough room to say something."""

    at: NDArray[np.float64]
    wanted: NDArray[np.float64]
    share: NDArray[np.float64]
    full: NDArray[np.intp]


class _LightOfPiece:
    """The light on a piece, found from its bare parts and from how its zones change."""

    def __init__(
        self, placed: Placed, zones: ZoneMap, wanted: NDArray[np.float32], tones: _Tones,
        wood: NDArray[np.bool_],
    ) -> None:  # fmt: skip
        px = placed.px_per_mm
        self.tones, self.count = tones, zones.count
        self.cells = Cells(wood.shape, _CELLS)
        near = cv2.dilate((wanted > _BARE).view(np.uint8), _disc(_AWAY_MM * px))
        self.bare = wood & (np.asarray(near) == 0)
        self.cores: dict[int, tuple[NDArray[np.bool_], _ZoneCells]] = {}
        burned = placed.burned & (wanted > _BARE) & wood
        for zone in range(1, zones.count + 1):
            mask = ((zones.labels == zone) & burned).view(np.uint8)
            core = np.asarray(cv2.erode(mask, _disc(_SEAM_MM * px)), np.uint8).view(np.bool_)
            mean, share = self.cells.means(wanted, core)
            full = np.flatnonzero(share >= LEAST_SHARE)
            if len(full) >= _FEWEST:
                cells = _ZoneCells(self.cells.at[full], mean[full], share[full], full)
                self.cores[zone] = core, cells

    def cards(
        self,
        cards: Sequence[KnownLight],
        rgb: NDArray[np.uint8],
        seen: FlatView,
        px_per_mm: float,
    ) -> LightSamples:
        """Return what cards say of the light: how light bare wood would be there."""
        at = seen.to_mm([card.at for card in cards])
        scale = rgb.shape[1] / seen.photo_size[0]
        value = []
        reach = max(2, round(min(rgb.shape[:2]) * _CARD_PATCH))
        for card in cards:
            x, y = (int(one * scale) for one in card.at)
            if not (0 <= x < rgb.shape[1] and 0 <= y < rgb.shape[0]):
                raise BadInput("The card lies outside the photo", "Give a point on it, in pixels")
            patch = rgb[max(0, y - reach) : y + reach + 1, max(0, x - reach) : x + reach + 1]
            if np.median(patch.max(axis=2)) >= _CLIPPED:
                raise BadInput("The card is overexposed in the photo", "Take it again, darker")
            light = float(np.median(luminance(np.ascontiguousarray(patch))))
            share = self.tones.bare / float(luminance_of_lightness(card.lightness))
            value.append(np.log(max(light, _DARKEST) * share))
        return LightSamples(
            self.cells.unit(at * px_per_mm),
            np.array(value),
            np.full(len(cards), _CARD_SD),
            np.zeros(len(cards), int),
        )

    def found(
        self,
        logs: NDArray[np.float32],
        progress: NDArray[np.float64],
        known: LightSamples | None = None,
    ) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float64]]:
        """Return ln of the light of bare wood, its standard deviation, and zones' progress.

        Parameters
        ----------
        logs : ndarray of float32, shape (H, W)
            ln of the light in the photo.
        progress : ndarray of float64, shape (zones + 1,)
            Of each zone, what is taken of it at first: 0 bare, 1 as wanted.
        known : LightSamples, optional
        """
        sure = [] if known is None else [known]
        mean, share = self.cells.means(logs, self.bare)
        full = np.flatnonzero(share >= LEAST_SHARE)
        if len(full):
            sd = _BARE_SD * np.sqrt(1 + LEAST_SHARE / share[full])
            sure.append(LightSamples(self.cells.at[full], mean[full], sd, np.zeros(len(full), int)))
        seen = {
            zone: self.cells.means(logs, core)[0][cells.full]
            for zone, (core, cells) in self.cores.items()
        }
        if not sure and not seen:
            raise BadInput(
                "There is nothing on this piece to tell the light by",
                "Lay a white card beside it and say where it lies in the photo",
            )
        progress, sds = progress.copy(), dict.fromkeys(seen, _ZONE_SD[1])
        for _ in range(_ROUNDS):
            parts = list(sure)
            for zone, (_, cells) in self.cores.items():
                flat = seen[zone] - self.tones.log_of(progress[zone] * cells.wanted)
                sd = sds[zone] * np.sqrt(1 + LEAST_SHARE / cells.share)
                parts.append(LightSamples(cells.at, flat, sd, np.full(len(flat), zone)))
            light, spread = fit_light(LightSamples.joined(parts), self.cells.at)
            for zone, (_, cells) in self.cores.items():
                even = seen[zone] - light[cells.full]
                darkness = self.tones.darkness(even)
                done = float(np.median(darkness) / np.median(cells.wanted))
                progress[zone] = min(max(done, 0.0), _MOST_DONE)
                rest = even - self.tones.log_of(progress[zone] * cells.wanted)
                sds[zone] = min(max(typical_spread(rest), _ZONE_SD[0]), _ZONE_SD[1])
        if spread.mean() > _LEVEL_UNKNOWN and seen:
            light = light + self._likely_shift(seen, light)
        return self.cells.spread(light), self.cells.spread(spread), progress

    def _likely_shift(
        self, seen: dict[int, NDArray[np.float64]], light: NDArray[np.float64]
    ) -> float:
        """Return by how much all of the light is likely to be other than found.

        Where nothing is bare for sure its level is open. A level is the likelier the more
        zones come out as not begun or as wanted, or all of them as far as one another.
        """
        zones = [(seen[zone], cells) for zone, (_, cells) in self.cores.items()]
        log = np.array([np.median(logs - light[cells.full]) for logs, cells in zones])
        wanted = np.array([np.median(cells.wanted) for _, cells in zones])
        weight = np.sqrt([len(cells.full) for _, cells in zones])
        weight /= weight.mean()

        def near(done: NDArray[np.float64], at: float) -> NDArray[np.float64]:
            off = (done - at) * wanted / _AS_FAR
            return np.asarray(np.exp(-(off**2) / 2))

        def likely(shift: float) -> float:
            done = self.tones.darkness(log - shift) / np.maximum(wanted, _AS_FAR)
            either = weight @ np.log(0.45 * near(done, 0) + 0.45 * near(done, 1) + 1e-4)
            alike = max(
                float(weight @ np.log(0.45 * near(done, far) + 1e-4))
                for far in np.linspace(0.1, 1, 37)
            )
            return max(float(either), alike)

        shifts = np.linspace(-1.2, 1.2, 241)
        return float(shifts[int(np.argmax([likely(float(shift)) for shift in shifts]))])


def _disc(radius_px: float) -> NDArray[np.uint8]:
    side = 2 * max(1, round(radius_px)) + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)), np.uint8)
