"""A photo laid on a blank by eye: what a screen shows of it while it is moved and its tones set.

Everything is reckoned on small rasters from a photo that was decoded once, by the functions
that a plan is made with, so that what is seen is what is planned. Two things take longer than
a hand waits: the subject's cut and the lines. Both are kept on the photo, as they were found
last, and go with it wherever it is moved until they are found again.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.errors import BadInput
from burnplan.outline import Outline
from burnplan.passes import Detail
from burnplan.tone.areas import MarkedArea
from burnplan.tone.control import ToneControl, controlled, end_points
from burnplan.tone.lightness import lightness, on_wood
from burnplan.tone.lines import draw_lines
from burnplan.tone.photo import Photo
from burnplan.tone.place import Placed, place, resampled
from burnplan.tone.placement import Placement
from burnplan.tone.position import Position, position_on
from burnplan.tone.region import outline_polygon, polygon_mask
from burnplan.tone.subject import subject_of
from burnplan.tone.zones import ZoneMap, find_zones

WHOLE_PX = 320
"""Pixels along the longer side of the raster on which the whole piece is judged (a guess: quick
enough for a key (bench_laying))."""

# Along the longer side of the photo: as fine as a subject's cut is kept; a guess: quick enough for
# a key (bench_laying).
_CUT_PX = 400
_ALL, _NONE = 255, 0  # of a mask; by definition
# L* that zones are shown in, as render does; our own choice.
_LIGHTEST_ZONE, _DARKEST_ZONE = 94.0, 16.0


class Setting(NamedTuple):
    """How a photo is laid on the wood, and its tones set; as :func:`analyse_photo` takes it."""

    placement: Placement
    control: ToneControl
    focal: tuple[MarkedArea, ...] = ()
    likely: MarkedArea | None = None


class Window(NamedTuple):
    """What is looked at: a raster whose top left corner lies at some mm of the wood.

    Parameters
    ----------
    left, top : float
        mm from the top left of the outline's bounding box; may lie outside.
    px_per_mm : float
    shape : tuple of int
        Height and width, pixels.
    """

    left: float
    top: float
    px_per_mm: float
    shape: tuple[int, int]


class Where:
    """What a pixel of a window shows."""

    NOTHING, OVER, WOOD = 0, 1, 2
    """Neither; what of the photo hangs over the edge; the wood. By definition."""


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """What a window shows.

    Parameters
    ----------
    light : ndarray of float32, shape (H, W)
        L* as the wood will hold it; of what hangs over, that of the photo.
    where : ndarray of uint8, shape (H, W)
        One of :class:`Where`.
    """

    light: NDArray[np.float32]
    where: NDArray[np.uint8]


class PhotoInHand:
    """A photo that is laid on a blank by eye.

    Parameters
    ----------
    photo : Photo
        As finely as the wood needs it.
    outline : Outline
    wood_lightness, burn_lightness : float
        L* of the bare wood and of its darkest burn.
    mask : ndarray of uint8, shape (h, w), optional
        Of the photo's proportions: 255 keeps, 0 drops out.
    """

    def __init__(
        self,
        photo: Photo,
        outline: Outline,
        wood_lightness: float,
        burn_lightness: float,
        mask: NDArray[np.uint8] | None = None,
    ) -> None:
        self.photo, self.outline = photo, outline
        self.wood = wood_lightness, burn_lightness
        self._mask, self._cut = mask, None
        self._sizes = [photo.rgb]
        while max(self._sizes[-1].shape) > WHOLE_PX:
            half = [max(1, side // 2) for side in self._sizes[-1].shape[1::-1]]
            smaller = cv2.resize(self._sizes[-1], half, interpolation=cv2.INTER_AREA)
            self._sizes.append(np.asarray(smaller, np.uint8))
        # Of the two settings that are compared, and the one before.
        self.position = lru_cache(maxsize=4)(self._position)
        self._whole = lru_cache(maxsize=4)(self._placed_whole)

    _cut: NDArray[np.uint8] | None

    def _position(
        self,
        placement: Placement,
        inside: tuple[MarkedArea, ...],
        likely: MarkedArea | None,
    ) -> Position:
        return position_on(self.photo.full_size, self.outline, placement, inside, likely)

    def lies(self, setting: Setting) -> Position:
        """Return where the photo lies.

        Raises
        ------
        BadInput
            If the margin leaves nothing of the outline.
        """
        inside = (*setting.focal, *setting.control.subject)
        return self.position(setting.placement, inside, setting.likely)

    def _placed_whole(self, position: Position, focal: tuple[MarkedArea, ...]) -> Placed:
        px = WHOLE_PX / max(self.outline.width_mm, self.outline.height_mm)
        photo = replace(self.photo, rgb=self._sized(position, px))
        return place(photo, self.outline, position.placement, px, focal=focal)

    def _sized(self, position: Position, px_per_mm: float) -> NDArray[np.uint8]:
        """Return the smallest photo that has a pixel for each of a raster."""
        wanted = position.photo_size[0] * position.mm_per_px * px_per_mm
        enough = [one for one in self._sizes if one.shape[1] >= wanted]
        return enough[-1] if enough else self._sizes[0]

    def seen(self, setting: Setting, window: Window, *, beyond: bool = False) -> Seen:
        """Return what a window shows of the photo on the wood.

        Parameters
        ----------
        setting : Setting
        window : Window
        beyond : bool
            Whether what is not used of the photo is shown beside the wood too.

        Raises
        ------
        BadInput
            If the photo lies beside the wood, or a margin leaves nothing of it.
        """
        position, placement = self.lies(setting), setting.placement
        px, shape = window.px_per_mm, window.shape
        corner = np.array([window.left, window.top])
        here = replace(
            position, origin=(position.origin[0] - window.left, position.origin[1] - window.top)
        )
        all_of_it = replace(here, placement=replace(here.placement, crop=None)) if beyond else here
        rgb = resampled(self._sized(position, px), all_of_it, shape, px)
        wood = polygon_mask([outline_polygon(self.outline) - corner], shape, px)
        covered = polygon_mask([all_of_it.used()], shape, px)
        inside = wood & (polygon_mask([here.used()], shape, px) if beyond else covered)
        if placement.margin_mm or placement.sides_mm is not None:
            lines = [line - corner for line in placement.burnable(self.outline)]
            inside &= polygon_mask(lines, shape, px)
        light = lightness(rgb)
        placed = Placed(
            rgb=rgb, lightness=light, inside=inside, px_per_mm=px, outline=self.outline,
            source_px_per_mm=1 / position.mm_per_px, pixel_area_mm2=1 / px**2, position=here,
        )  # fmt: skip
        toned = self._toned(placed, self._with_points(setting, position))
        where = np.where(wood, Where.WOOD, np.where(covered, Where.OVER, Where.NOTHING))
        burned = on_wood(np.where(inside, toned, np.float32(100)), *self.wood)
        return Seen(np.where(wood, burned, light).astype(np.float32), where.astype(np.uint8))

    def _with_points(self, setting: Setting, position: Position) -> ToneControl:
        """Return the tone control with its black and white point, which all of a piece tells."""
        control = replace(setting.control, subject=())
        if control.auto_levels:
            whole = self._whole(position, setting.focal)
            plain = ToneControl(background=control.background, keep=control.keep)
            burned = whole.inside
            if self._keep() is not None or control.background:
                burned = controlled(whole, plain, self._keep()).burned
            black, white = end_points(control, whole.lightness, burned)
            control = replace(control, auto_levels=False, black=black, white=white)
        return control

    def _toned(self, placed: Placed, control: ToneControl) -> NDArray[np.float32]:
        try:
            return controlled(placed, control, self._keep()).lightness
        except BadInput:  # nothing of what the window shows is burned
            return np.full(placed.lightness.shape, 100, np.float32)

    def _keep(self) -> NDArray[np.uint8] | None:
        """Return what is kept of the photo by its mask and by the cut that was found."""
        if self._mask is None or self._cut is None:
            return self._mask if self._cut is None else self._cut
        mask = cv2.resize(self._mask, self._cut.shape[::-1], interpolation=cv2.INTER_AREA)
        return np.minimum(np.asarray(mask, np.uint8), self._cut)

    def cut(self, setting: Setting) -> None:
        """Find the subject as it is marked, for what is seen from now on.

        Raises
        ------
        BadInput
            If none is found.
        """
        control = setting.control
        if not control.subject:
            self._cut = None
            return
        position = self.lies(setting)
        whole = self._whole(position, setting.focal)
        px = whole.px_per_mm
        marks, drop, keep = (
            [position.of(area) * px for area in areas]
            for areas in (control.subject, control.background, control.keep)
        )
        found = subject_of(whole.rgb, marks, drop=drop, keep=keep, within=whole.inside)
        if not found.any():
            raise BadInput(
                "No subject is found in what is marked",
                "Mark it roughly, a little larger than it is, where it lies on the blank",
            )
        width, height = position.photo_size
        scale = _CUT_PX / max(width, height)
        size = max(2, round(width * scale)), max(2, round(height * scale))
        # From pixels of the small photo to those of the raster, both counted from centres.
        matrix = position.matrix * px / np.array([[*size, 1.0]])
        matrix[:, 2] += (matrix[:, :2].sum(axis=1) - 1) / 2
        self._cut = np.asarray(
            cv2.warpAffine(
                found.astype(np.uint8) * _ALL, matrix, size,
                flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
                borderMode=cv2.BORDER_CONSTANT, borderValue=_NONE,
            ),
            np.uint8,
        )  # fmt: skip

    def zones(self, setting: Setting, count: int) -> ZoneMap:
        """Return the value zones of the whole piece, on a small raster.

        Raises
        ------
        BadInput
            If nothing of the photo is burned.
        """
        position = self.lies(setting)
        control = replace(setting.control, subject=())
        whole = controlled(self._whole(position, setting.focal), control, self._keep())
        return find_zones(whole, count)

    def in_zones(self, seen: Seen, zones: ZoneMap, window: Window) -> Seen:
        """Return a window with the flat tone of its zone in each place that is burned."""
        height, width = zones.labels.shape
        px = width / self.outline.width_mm
        y = (np.arange(window.shape[0]) + 0.5) / window.px_per_mm + window.top
        x = (np.arange(window.shape[1]) + 0.5) / window.px_per_mm + window.left
        rows = np.clip(y * px, 0, height - 1).astype(np.intp)
        columns = np.clip(x * px, 0, width - 1).astype(np.intp)
        labels = zones.labels[rows[:, None], columns[None, :]]
        steps = np.linspace(_DARKEST_ZONE, _LIGHTEST_ZONE, zones.count)
        tones = on_wood(np.concatenate([[100.0], steps]), *self.wood)
        bare = seen.light >= self.wood[0] - 1e-3
        flat = np.where(bare, seen.light, tones[labels])
        light = np.where(seen.where == Where.WOOD, flat, seen.light)
        return replace(seen, light=light.astype(np.float32))

    def lines(self, setting: Setting, detail: Detail) -> tuple[NDArray[np.float64], ...]:
        """Return the lines that a plan would trace, as points of the photo, each (K, 2).

        A closed one repeats its first point. It takes a second or so.

        Raises
        ------
        BadInput
            If nothing of the photo is burned.
        """
        position = self.lies(setting)
        placed = place(self.photo, self.outline, position.placement, focal=setting.focal)
        control = replace(setting.control, subject=())
        drawn = draw_lines(controlled(placed, control, self._keep()), detail).drawn
        return tuple(
            position.to_photo(
                np.concatenate([one.points, one.points[:1]]) if one.closed else one.points
            )
            for one in drawn
        )


_TO_LOOK_CLOSER = 1600  # pixels along the longer side; a guess: five screens of WHOLE_PX


def enough_for(
    size: tuple[int, int], needed: Sequence[int], least: int = _TO_LOOK_CLOSER
) -> tuple[int, int]:
    """Return the size at which a photo is decoded to be laid by eye.

    Parameters
    ----------
    size : tuple of int
        Of the whole photo.
    needed : sequence of int
        What the wood needs, as it lies.
    least : int
        Along its longer side, so that there is something to look closer at.

    Examples
    --------
    >>> enough_for((6000, 4000), (900, 600))
    (1600, 1067)
    """
    scale = min(1.0, max(least / max(size), *(a / b for a, b in zip(needed, size, strict=True))))
    return math.ceil(size[0] * scale), math.ceil(size[1] * scale)
