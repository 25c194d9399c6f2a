"""A picture in cells: in the finest blocks, in the colours that the terminal shows.

A cell has four dots in two colours, chosen so that its edges stay where they are. Of what is
drawn over a picture, lines and marks, a cell has eight dots in one colour. In 256 colours the
tones of wood become a ramp of greys and browns, mixed dot by dot; without colour, or in 16,
they become letters of growing weight.
"""

from dataclasses import dataclass
from enum import Enum, auto
from functools import lru_cache
from typing import TYPE_CHECKING

from rich.color import ColorSystem
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip

from burnplan.show.picture import INK

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt
    from textual.app import App
    from textual.color import Color as TextualColor


class Depth(Enum):
    """How many colours a terminal shows."""

    FULL = auto()
    FEW = auto()
    """256: six levels of each colour, and greys."""
    LETTERS = auto()
    """So few, or none, that tones are drawn with letters."""


def depth_of(app: "App[None]") -> Depth:
    """Return how many colours an app's terminal shows."""
    if app.no_color or app.console.color_system in (None, "standard", "windows"):
        return Depth.LETTERS
    return Depth.FEW if app.console.color_system == "256" else Depth.FULL


def as_shown(colour: "TextualColor", depth: Depth) -> tuple[int, int, int]:
    """Return a colour of the page as a terminal of some depth shows it in its cells.

    Examples
    --------
    >>> from textual.color import Color
    >>> as_shown(Color.parse("#14110f"), Depth.FEW), as_shown(Color.parse("#14110f"), Depth.FULL)
    ((18, 18, 18), (20, 17, 15))
    """
    if depth is not Depth.FEW:
        return colour.rgb
    red, green, blue = colour.rich_color.downgrade(ColorSystem.EIGHT_BIT).get_truecolor()
    return red, green, blue


# Four dots to a cell; the first is above on the left, then right, below left, below right.
_QUARTERS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
_EIGHT_DOTS = 0x2800  # the empty one of Unicode's block of braille patterns
# Which bit each dot is, by row and column (Unicode, Braille Patterns).
_BITS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
# Of xterm's 256 colours, as they come through when a colour is brought down to them: dark to
# light, neutral while a brown of that lightness would be red or olive.
RAMP = (
    (8, 8, 8), (18, 18, 18), (28, 28, 28), (38, 38, 38), (48, 48, 48), (58, 58, 58), (68, 68, 68),
    (78, 78, 78), (135, 95, 0), (175, 135, 95), (215, 175, 135), (255, 215, 175), (255, 255, 215),
)  # fmt: skip
# Thresholds of an ordered mixture of two tones over four by four dots (B. E. Bayer, 1973).
MIDDLE = 0.5  # of L*: what is lighter is a light ground
_MIXTURE = ((0, 8, 2, 10), (12, 4, 14, 6), (3, 11, 1, 9), (15, 7, 13, 5))


def fitting(shape: tuple[int, ...], room: tuple[int, int], aspect: float = 1.0) -> tuple[int, int]:
    """Return how many dots a picture is wide and high where it fills some room as it is.

    Parameters
    ----------
    shape : tuple of int
        Height and width of the picture.
    room : (int, int)
        Width and height, dots.
    aspect : float
        How many times as high as wide a dot is.

    Examples
    --------
    >>> fitting((100, 100), (80, 90)), fitting((100, 100), (80, 38), aspect=2.0)
    ((80, 80), (76, 38))
    """
    high, wide = shape[:2]
    width, height = room
    return (
        max(1, min(width, round(height * aspect * wide / high))),
        max(1, min(height, round(width * high / wide / aspect))),
    )


def amid(numbers: "npt.NDArray[np.uint8]", room: tuple[int, int]) -> "npt.NDArray[np.uint8]":
    """Return a picture in the middle of some room, the ground, 0, round it."""
    import numpy as np

    found = np.zeros(room[::-1], np.uint8)
    top, left = ((all_ - part) // 2 for all_, part in zip(found.shape, numbers.shape, strict=True))
    found[top : top + numbers.shape[0], left : left + numbers.shape[1]] = numbers
    return found


@dataclass(frozen=True, slots=True, eq=False)
class Inks:
    """What the numbers of a picture stand for.

    Parameters
    ----------
    colours : ndarray of uint8, shape (N, 3)
        0 is the ground, and of two numbers the colour may be mixed where their kind is the same.
    kinds : ndarray of uint8, shape (N,)
    dark : bool
        Whether letters are light on a dark ground.
    """

    colours: "npt.NDArray[np.uint8]"
    kinds: "npt.NDArray[np.uint8]"
    dark: bool

    @property
    def weights(self) -> "npt.NDArray[np.float32]":
        """How light each is, 0 to 1."""
        return _weights(self.colours)


def _weights(colours: "npt.NDArray[np.uint8]") -> "npt.NDArray[np.float32]":
    import numpy as np

    from burnplan.tone.lightness import lightness

    return np.asarray(lightness(colours[None])[0] / 100, np.float32)


def in_few_colours(colours: "npt.NDArray[np.uint8]") -> "npt.NDArray[np.uint8]":
    """Return the two tones of the ramp that mix to each colour, and the share of the second.

    Returns
    -------
    ndarray of uint8, shape (N, 3)
        Darker and lighter as places in the ramp, and sixteenths of the lighter.
    """
    import numpy as np

    from burnplan.tone.lightness import lightness

    ramp = lightness(np.array([RAMP], np.uint8))[0]
    light = lightness(colours[None])[0]
    lighter = np.clip(np.searchsorted(ramp, light), 1, len(RAMP) - 1)
    share = (light - ramp[lighter - 1]) / (ramp[lighter] - ramp[lighter - 1])
    sixteenths = np.rint(np.clip(share, 0, 1) * 16)
    return np.stack([lighter - 1, lighter, sixteenths], axis=1).astype(np.uint8)


def nearest_in_ramp(colour: str) -> str:
    """Return the tone of the ramp that is as light as a colour, ``#rrggbb``.

    Examples
    --------
    >>> nearest_in_ramp("#3a2a20"), nearest_in_ramp("#fff4e6")
    ('#303030', '#ffffd7')
    """
    import numpy as np

    darker, lighter, sixteenths = in_few_colours(
        np.array([list(bytes.fromhex(colour.removeprefix("#")))], np.uint8)
    )[0].tolist()
    return f"#{bytes(RAMP[lighter if sixteenths >= 8 else darker]).hex()}"


def strips(
    numbers: "npt.NDArray[np.uint8]",
    inks: Inks,
    depth: Depth,
    over: "npt.NDArray[np.uint8] | None" = None,
    pens: tuple[tuple[str, str], ...] = (),
) -> list[Strip]:
    """Return a picture as lines of cells.

    Parameters
    ----------
    numbers : ndarray of uint8, shape (2 R, 2 C)
        Which ink each dot has.
    inks : Inks
    depth : Depth
    over : ndarray of uint8, shape (4 R, 2 C), optional
        What is drawn over it: 0 for nothing, else which pen, from 1.
    pens : tuple of (str, str)
        The colour of each pen where the picture is dark, and where it is light.
    """
    import numpy as np

    tall, wide = numbers.shape
    rows, columns = tall // 2, wide // 2
    dots = np.zeros((rows, columns), np.uint16)
    pen = np.zeros((rows, columns), np.uint8)
    if over is not None and over.any():
        cells = over.reshape(rows, 4, columns, 2)
        pen = cells.max(axis=(1, 3))
        lit = cells == np.maximum(pen, 1)[:, None, :, None]
        dots = (lit * np.array(_BITS, np.uint16)[None, :, None, :]).sum(axis=(1, 3))
    if depth is Depth.LETTERS:
        return _in_letters(numbers, inks, dots)
    if depth is Depth.FEW:
        colours, dark, light, which = _few(numbers, inks)
    else:
        colours = inks.colours
        dark, light, which = _split(numbers, inks.kinds, inks.weights)
    weights = _weights(colours).tolist()
    hexed = [f"#{bytes(colour).hex()}" for colour in colours.tolist()]
    styles: dict[tuple[int, int, int], Style] = {}
    found = []
    for row in zip(dark.tolist(), light.tolist(), which.tolist(), pen.tolist(), dots.tolist(),
                   strict=True):  # fmt: skip
        segments: list[Segment] = []
        last, text = (-1, -1, -1), ""
        for below, above, quarters, drawn, eighths in zip(*row, strict=True):
            key = (below, above if quarters else below, drawn)
            letter = chr(_EIGHT_DOTS + eighths) if drawn else _QUARTERS[quarters]
            if key != last:
                if text:
                    segments.append(Segment(text, styles[last]))
                last, text = key, ""
                if key not in styles:
                    styles[key] = _style(hexed, key, pens, weights)
            text += letter
        segments.append(Segment(text, styles[last]))
        found.append(Strip(segments, columns))
    return found


def _style(
    hexed: list[str],
    key: tuple[int, int, int],
    pens: tuple[tuple[str, str], ...],
    weights: list[float],
) -> Style:
    below, above, drawn = key
    if drawn:
        on_dark, on_light = pens[drawn - 1]
        return _painted(on_light if weights[below] > MIDDLE else on_dark, hexed[below])
    return _painted(hexed[above], hexed[below])


@lru_cache(maxsize=1 << 14)
def _painted(colour: str, ground: str) -> Style:
    """Return a style; kept, for a style keeps what it says to the terminal too."""
    return Style(color=colour, bgcolor=ground)


def _cells(numbers: "npt.NDArray[np.uint8]") -> "npt.NDArray[np.uint8]":
    """Return the four dots of each cell, shape (R, C, 4)."""
    tall, wide = numbers.shape
    dots = numbers.reshape(tall // 2, 2, wide // 2, 2)
    return dots.transpose(0, 2, 1, 3).reshape(tall // 2, wide // 2, 4)


def _split(
    numbers: "npt.NDArray[np.uint8]",
    kinds: "npt.NDArray[np.uint8]",
    weights: "npt.NDArray[np.float32]",
) -> tuple["npt.NDArray[np.uint8]", "npt.NDArray[np.uint8]", "npt.NDArray[np.uint8]"]:
    """Return two inks for each cell, and which of its dots have the second."""
    import numpy as np

    dots = _cells(numbers)
    value = weights[dots]
    kind = kinds[dots]
    mixed = kind.max(axis=2) != kind.min(axis=2)
    middle = (value.max(axis=2) + value.min(axis=2)) / 2
    second = np.where(
        mixed[..., None], kind == kind.max(axis=2)[..., None], value > middle[..., None]
    )
    count = second.sum(axis=2)
    inks = dots.astype(np.float32)
    of_second = (inks * second).sum(axis=2) / np.maximum(count, 1)
    of_first = (inks * ~second).sum(axis=2) / np.maximum(4 - count, 1)
    # Where three kinds meet, the mean of two numbers is none of them.
    three = mixed & ((kind * ~second).max(axis=2) != np.where(second, 255, kind).min(axis=2))
    of_first = np.where(three, np.where(second, 0, dots).max(axis=2), of_first)
    which = (second * np.array((1, 2, 4, 8))).sum(axis=2)
    which = np.where(count == 4, 0, which)
    of_first = np.where(count == 4, of_second, of_first)
    return (
        np.rint(of_first).astype(np.uint8),
        np.rint(of_second).astype(np.uint8),
        which.astype(np.uint8),
    )


def _few(
    numbers: "npt.NDArray[np.uint8]", inks: Inks
) -> tuple[
    "npt.NDArray[np.uint8]", "npt.NDArray[np.uint8]",
    "npt.NDArray[np.uint8]", "npt.NDArray[np.uint8]",
]:  # fmt: skip
    """Return the ramp's colours, two of them for each cell, and which dots have the second."""
    import numpy as np

    mixed = in_few_colours(inks.colours)[numbers]
    tall, wide = numbers.shape
    thresholds = np.tile(np.array(_MIXTURE, np.uint8), (tall // 4 + 1, wide // 4 + 1))[:tall, :wide]
    tones = np.where(mixed[..., 2] > thresholds, mixed[..., 1], mixed[..., 0])
    ground = len(RAMP)  # the theme's, as it is: nothing is mixed with it
    tones = np.where(numbers == 0, ground, tones).astype(np.uint8)
    colours = np.array([*RAMP, inks.colours[0].tolist()], np.uint8)
    kinds = np.array([1] * ground + [0], np.uint8)
    weights = np.arange(ground + 1, dtype=np.float32)
    return (colours, *_split(tones, kinds, weights))


def _in_letters(
    numbers: "npt.NDArray[np.uint8]", inks: Inks, dots: "npt.NDArray[np.uint16]"
) -> list[Strip]:
    """Return letters of growing weight: the lighter the heavier on a dark ground, else reversed."""
    import numpy as np

    cells = _cells(numbers)
    light = inks.weights[cells].mean(axis=2)
    weight = light if inks.dark else 1 - light
    step = np.clip(np.rint(weight * (len(INK) - 1)), 0, len(INK) - 1).astype(int)
    empty = (cells == 0).mean(axis=2) > 0.5
    plain = Style()
    found = []
    for row in range(cells.shape[0]):
        letters = [
            chr(_EIGHT_DOTS + eighths) if eighths else " " if nothing else INK[at]
            for at, nothing, eighths in zip(
                step[row].tolist(), empty[row].tolist(), dots[row].tolist(), strict=True
            )
        ]
        found.append(Strip([Segment("".join(letters), plain)], len(letters)))
    return found
