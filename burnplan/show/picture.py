"""Pictures in the terminal: its own graphics where it has them, else half blocks.

Without colour a picture is drawn with letters of growing weight.
"""

import os
from typing import TYPE_CHECKING, Any

from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.measure import Measurement
from rich.segment import Segment

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

# What BURNPLAN_PICTURES says where none are wanted.
_NONE = ("no", "off", "0", "none")


def asked_for() -> bool:
    """Return whether pictures are wanted, by what the user said once for all."""
    return os.environ.get("BURNPLAN_PICTURES", "").strip().lower() not in _NONE


INK = " .:-=+*#%@"
"""From empty to full: how much ink a letter has in a terminal's usual faces."""


class _Letters:
    """A picture in letters, for terminals without colour."""

    def __init__(self, pixels: "npt.NDArray[np.uint8]", columns: int) -> None:
        from PIL import Image

        grey = Image.fromarray(pixels).convert("L")
        rows = max(1, round(columns * grey.height / grey.width / 2))
        small = grey.resize((columns, rows))
        steps = len(INK) - 1
        self.lines = [
            "".join(
                INK[steps - value * steps // 255]
                for value in small.crop((0, y, columns, y + 1)).tobytes()
            )
            for y in range(rows)
        ]

    def __rich_console__(self, _console: Console, _options: ConsoleOptions) -> RenderResult:
        for line in self.lines:
            yield Segment(line)
            yield Segment.line()

    def __rich_measure__(self, _console: Console, _options: ConsoleOptions) -> Measurement:
        width = max(map(len, self.lines))
        return Measurement(width, width)


def fitting(size: tuple[int, int], room: tuple[int, int]) -> int:
    """Return the columns a picture may take in some columns and rows.

    A cell of the terminal is taken to be twice as high as wide.

    Examples
    --------
    >>> fitting((400, 300), (80, 24))
    64
    """
    width, height = size
    return max(4, min(room[0], int(room[1] * 2 * width / height)))


def picture(
    pixels: "npt.NDArray[np.uint8]", console: Console, room: tuple[int, int]
) -> RenderableType:
    """Return a picture that fits some columns and rows of a terminal.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (height, width, 3)
    console : Console
    room : (int, int)
        Columns and rows.
    """
    height, width = pixels.shape[:2]
    columns = fitting((width, height), room)
    if console.no_color or console.color_system in (None, "standard"):
        return _Letters(pixels, columns)
    from PIL import Image

    # Importing this asks the terminal what it can draw, if there is one.
    from textual_image import renderable
    from textual_image.renderable import halfcell, unicode

    plain = not console.is_terminal or renderable.Image is unicode.Image
    image: Any = halfcell.Image if plain else renderable.Image
    shown: RenderableType = image(Image.fromarray(pixels), width=columns, height="auto")
    return shown
