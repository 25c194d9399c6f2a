"""What lies on the laying-out table, drawn: the photo on its blank, zones, lines and marks.

Called on a thread, with all it needs handed over: the hand goes on meanwhile.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple, TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray
from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.geometry import Size
from textual.strip import Strip

from burnplan.outline import Outline
from burnplan.tone.areas import MarkedArea
from burnplan.tone.laying import PhotoInHand, Setting, Where, Window
from burnplan.tone.position import Position
from burnplan.tone.region import Polygon, outline_polygon
from burnplan.tone.render import wood_tones
from burnplan.workbench import blocks
from burnplan.workbench.blocks import Depth, Inks
from burnplan.workbench.colours import DAY, LAMP
from burnplan.workbench.dots import THROUGH, Dots

if TYPE_CHECKING:
    from collections.abc import Mapping

    from burnplan.workbench.cropping import Box

T = TypeVar("T", bound=np.generic)

# So much of the wood's size is seen round it, for what hangs over the edge.
_AROUND = 1.12
_LEVELS = 64
_OVER, _WOOD = 1, 1 + _LEVELS  # numbers of inks: 0 is the ground
# Finer than cells are, at most: what is seen at a hand's rest must not take long (a guess).
_FINEST = 5
_FAINT = 0.3  # of the ground: what hangs over the edge
_PALER = 0.6  # of bare wood: a picture under lines
_LINES, _EDGE, _MARK, _IN_HAND = 1, 2, 3, 7
_COLOURS = {"subject": "success", "focal": "primary", "drop": "error", "keep": "warning"}


class View(NamedTuple):
    """How one looks: how close, and the middle of what is looked at, mm; zones, lines."""

    closer: int = 1
    middle: tuple[float, float] | None = None
    zones: bool = False
    lines: bool = False


class Look(NamedTuple):
    """The colours and cells to draw in; ``colours`` are the theme's, by name.

    A cell is ``aspect`` times as high as wide.
    """

    size: Size
    aspect: float
    depth: Depth
    dark: bool
    colours: "Mapping[str, str]"


class Picture(NamedTuple):
    """What is to be drawn; of marks their kind, and whether it is in hand.

    ``used`` is the part of the photo that is used, while that is in hand: then all of the
    photo is seen, and the part framed.
    """

    setting: Setting
    zones: int
    marks: tuple[tuple[str, int, MarkedArea, bool], ...]
    lines: tuple[NDArray[np.float64], ...]
    view: View
    look: Look
    used: "Box | None" = None


def window_of(
    outline: Outline, view: View, size: Size, aspect: float, beside: Polygon | None = None
) -> Window:
    """Return what is looked at in so many cells: one is two pixels wide, and as high as it is.

    All of the wood is seen, and of what lies beside it where that is given.
    """
    wide, high = size.width * 2, round(size.height * 2 * aspect)
    seen = np.array([(0.0, 0.0), (outline.width_mm, outline.height_mm)])
    if beside is not None:
        seen = np.vstack([seen, beside])
    first, last = seen.min(axis=0), seen.max(axis=0)
    whole = float((np.array([wide, high]) / (last - first)).min()) / _AROUND
    px = whole * view.closer
    x, y = view.middle or ((first + last) / 2).tolist()
    return Window(x - wide / px / 2, y - high / px / 2, px, (high, wide))


def at(window: Window, size: Size, column: int, row: int) -> tuple[float, float]:
    """Return the mm of the wood in the middle of a cell of so many."""
    high, wide = window.shape
    return (
        window.left + (column + 0.5) * wide / size.width / window.px_per_mm,
        window.top + (row + 0.5) * high / size.height / window.px_per_mm,
    )


def draw(photo: PhotoInHand, wanted: Picture) -> list[Strip]:
    """Return the table's top as lines of cells.

    Raises
    ------
    BadInput
        If the photo lies beside the wood, or nothing of it is burned.
    """
    look, position = wanted.look, photo.lies(wanted.setting)
    window = _window(photo, position, wanted)
    # Four lines to a cell, however high it is.
    shape = look.size.height * 4, look.size.width * 2
    numbers, where = _numbers(photo, wanted, window)
    numbers, where = _sized(numbers, shape), _sized(where, shape)
    # Two pixels to a dot, one above the other; where kinds meet, the upper one's.
    upper, lower = numbers[::2], numbers[1::2]
    alike = where[::2] == where[1::2]
    dots = np.where(alike, (upper + lower) / 2, upper).astype(np.uint8)
    over = _drawn_over(photo, position, wanted, window, shape)
    found = blocks.strips(dots, _inks(photo, look), look.depth, over, _pens())
    return _with_labels(found, position, wanted, window)


def in_dots(photo: PhotoInHand, wanted: Picture, width: int, height: int) -> Dots:
    """Return the table's top in dots of a size; where a mark's letter stands, nothing is painted.

    Raises
    ------
    BadInput
        If the photo lies beside the wood, or nothing of it is burned.
    """
    look, position = wanted.look, photo.lies(wanted.setting)
    coarse = _window(photo, position, wanted)
    finer = max(1, min(_FINEST, round(width / coarse.shape[1])))
    shape = coarse.shape[0] * finer, coarse.shape[1] * finer
    window = coarse._replace(px_per_mm=coarse.px_per_mm * finer, shape=shape)
    numbers = _numbers(photo, wanted, window)[0].astype(np.uint8)
    over = _drawn_over(photo, position, wanted, window, shape, thick=max(1, finer // 2))
    inks, pens = _inks(photo, look), [pen for pair in _pens() for pen in pair]
    light = inks.weights[numbers] > blocks.MIDDLE
    pen = len(inks.colours) + 2 * (over.astype(np.intp) - 1) + light
    numbers = np.where(over > 0, pen, numbers).astype(np.uint8)
    sized = _sized(numbers, (height, width))
    across, down = width // look.size.width, height // look.size.height
    for row, column, text, _ in _labels(position, wanted, coarse):
        top, left = row * down, column * across
        sized[top : top + down, left : left + across * len(text)] = THROUGH
    painted = np.array([Color.parse(one).rgb for one in pens], np.uint8)
    return Dots(sized, np.concatenate([inks.colours, painted]))


def _sized(pixels: NDArray[T], shape: tuple[int, int]) -> NDArray[T]:
    """Return numbers at the nearest places of another raster."""
    rows, columns = (
        ((np.arange(new) + 0.5) * old / new).astype(np.intp)
        for old, new in zip(pixels.shape, shape, strict=True)
    )
    return pixels if pixels.shape == shape else pixels[rows[:, None], columns]


def _window(photo: PhotoInHand, position: Position, wanted: Picture) -> Window:
    look = wanted.look
    beside = position.whole() if wanted.used is not None else None
    return window_of(photo.outline, wanted.view, look.size, look.aspect, beside)


def _numbers(
    photo: PhotoInHand, wanted: Picture, window: Window
) -> tuple[NDArray[np.float64], NDArray[np.uint8]]:
    """Return which ink each pixel of a window has, and what it shows."""
    view = wanted.view
    seen = photo.seen(wanted.setting, window, beyond=wanted.used is not None)
    if view.zones:
        zones = photo.zones(wanted.setting, wanted.zones)
        seen = photo.in_zones(seen, zones, window)
    bare, burn = photo.wood
    light = seen.light
    if view.lines:
        light = np.where(seen.where == Where.WOOD, light + (bare - light) * _PALER, light)
    level = np.where(
        seen.where == Where.WOOD, (light - burn) / (bare - burn), light / 100
    ).clip(0, 1) * (_LEVELS - 1)  # fmt: skip
    first = np.array([0, _OVER, _WOOD])[seen.where]
    return np.where(seen.where == Where.NOTHING, 0, np.rint(level) + first), seen.where


def _inks(photo: PhotoInHand, look: Look) -> Inks:
    bare, burn = photo.wood
    wood = wood_tones(np.linspace(burn, bare, _LEVELS), bare, burn)
    page = Color.parse(look.colours["background"])
    ground = np.array(blocks.as_shown(page, look.depth), np.float64)
    grey = np.linspace(0, 255, _LEVELS)[:, None].repeat(3, axis=1)
    over = ground + (grey - ground) * _FAINT
    colours = np.concatenate([ground[None], over, wood]).astype(np.uint8)
    kinds = np.array([0] + [1] * _LEVELS + [2] * _LEVELS, np.uint8)
    return Inks(colours, kinds, look.dark)


def _pens() -> tuple[tuple[str, str], ...]:
    """Return the colours of lines, edges and marks: by lamp on what is dark, by day on light."""
    names = ("error", "foreground", *_COLOURS.values(), "foreground")
    return tuple((getattr(LAMP, name), getattr(DAY, name)) for name in names)


def _drawn_over(
    photo: PhotoInHand, position: Position, wanted: Picture, window: Window, shape: tuple[int, int],
    *, thick: int = 1,
) -> NDArray[np.uint8]:  # fmt: skip
    """Return which pen draws each dot of a raster over a window, in lines so many dots thick."""
    over = np.zeros(shape, np.uint8)
    corner = np.array([window.left, window.top])
    px_per_mm = window.px_per_mm * np.divide(shape, window.shape)[::-1]

    def draw(lines: list[NDArray[np.float64]], closed: bool, pen: int) -> None:
        # In sixteenths of a pixel, counted from centres.
        points = [
            np.rint(((line - corner) * px_per_mm - 0.5) * 16).astype(np.int32) for line in lines
        ]
        cv2.polylines(over, points, closed, pen, thick, cv2.LINE_8, 4)

    if wanted.view.lines and wanted.lines:
        draw([position.to_mm(line) for line in wanted.lines], False, _LINES)
    if wanted.look.depth is Depth.LETTERS:  # else colours tell the wood from what hangs over
        draw([outline_polygon(photo.outline)], True, _EDGE)
    if wanted.used is not None:
        left, top, right, bottom = wanted.used
        corners = [(left, top), (right, top), (right, bottom), (left, bottom)]
        draw([position.to_mm(corners)], True, _IN_HAND)
    for kind, _number, area, in_hand in wanted.marks:
        pen = _IN_HAND if in_hand else _MARK + [*_COLOURS].index(kind)
        draw([position.of(area)], True, pen)
    return over


def _with_labels(
    strips: list[Strip], position: Position, wanted: Picture, window: Window
) -> list[Strip]:
    """Return the picture with each mark's letter and number beside its upper left."""
    colours = wanted.look.colours
    for row, column, text, pen in _labels(position, wanted, window):
        style = Style(color=colours["background"], bgcolor=colours[pen], bold=True)
        strip, end = strips[row], column + len(text)
        strips[row] = Strip.join(
            [strip.crop(0, column), Strip([Segment(text, style)], len(text)), strip.crop(end)]
        )
    return strips


def _labels(
    position: Position, wanted: Picture, window: Window
) -> Iterator[tuple[int, int, str, str]]:
    """Give the row, the column, the text and the colour's name of each mark's label."""
    size = wanted.look.size
    for kind, number, area, in_hand in wanted.marks:
        polygon = (position.of(area) - (window.left, window.top)) * window.px_per_mm
        left, top = polygon.min(axis=0) * size / window.shape[::-1]
        text = f"{kind[0].upper()}{number + 1}"
        row, column = int(top), int(left) + 3 * [*_COLOURS].index(kind)
        if 0 <= row < size.height and 0 <= column <= size.width - len(text):
            yield row, column, text, "foreground" if in_hand else _COLOURS[kind]
