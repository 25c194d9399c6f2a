"""A terminal that knows the Kitty graphics protocol, as far as a program may use it here.

By the protocol's own words (sw.kovidgoyal.net/kitty/graphics-protocol), strictly: what it does not
say, or what would be answered, fails.
"""

import base64
import io
import re
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from textual.widget import Widget

from burnplan.workbench.dots import THROUGH, Dots
from burnplan.workbench.terminal import Cell, Terminal, Way
from tests.workbench.hand import Hand

CELL = Cell(9, 20)

# An application program command; a control sequence; what else an escape begins.
_TOKENS = re.compile(
    r"\x1b_G(?P<control>[^;\x1b]*)(?:;(?P<payload>[^\x1b]*))?\x1b\\"
    r"|\x1b\[(?P<arguments>[0-?]*)(?P<final>[ -/]*[@-~])"
    r"|\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)|\x1b(?P<other>[^_\[\]])"
    r"|[^\x1b]+"
)
_KEYS = {"t": {"a", "t", "f", "i", "q", "m"}, "d": {"a", "d", "i", "q"},
         "p": {"a", "i", "p", "x", "y", "w", "h", "c", "r", "C", "q"}}  # fmt: skip
_CHUNK = 4096


class Placed(NamedTuple):
    """What is shown: over which cells, and which part of a picture, px."""

    column: int
    row: int
    columns: int
    rows: int
    part: tuple[int, int, int, int]


class KittyScreen:
    """What a terminal holds and shows of pictures after all that it was told."""

    def __init__(self) -> None:
        self.images: dict[int, NDArray[np.uint8]] = {}
        self.shown: dict[int, Placed] = {}
        self.received = self.sent_bytes = self.placed_bytes = 0
        # Of each time the alternate screen was left: how many pictures were held and shown.
        self.left_with: list[int] = []
        self.questions: list[str] = []
        self.alternate = False
        self._rest = ""
        self._cursor = self._saved = (0, 0)
        self._coming: tuple[int, str] | None = None

    def feed(self, text: str) -> None:
        """Be told something more."""
        text, at = self._rest + text, 0
        while at < len(text):
            token = _TOKENS.match(text, at)
            if token is None:  # an end that is still to come
                break
            at = token.end()
            if token["control"] is not None:
                self._command(token["control"], token["payload"] or "", token[0])
            elif token["final"] is not None:
                self._sequence(token["arguments"], token["final"])
            elif token["other"] == "7":
                self._saved = self._cursor
            elif token["other"] == "8":
                self._cursor = self._saved
        self._rest = text[at:]

    def pixels(self, number: int) -> NDArray[np.uint8]:
        """Return what is shown of a picture, RGBA."""
        x, y, width, height = self.shown[number].part
        return self.images[number][y : y + height, x : x + width]

    @property
    def only(self) -> Placed:
        """The one picture that is shown."""
        assert len(self.shown) == 1
        return next(iter(self.shown.values()))

    def _sequence(self, arguments: str, final: str) -> None:
        if final == "H":
            row, column = [int(one or 1) for one in (arguments + ";").split(";")][:2]
            self._cursor = column - 1, row - 1
        elif final == "J" and arguments in ("2", "3"):
            self.shown.clear()
        elif (arguments, final) == ("?1049", "h"):
            self.alternate = True
            self.shown.clear()
        elif (arguments, final) == ("?1049", "l"):
            self.alternate = False
            self.left_with.append(len(self.images) + len(self.shown))
        elif (arguments + final) in ("c", "16t"):
            self.questions.append(arguments + final)

    def _command(self, control: str, payload: str, whole: str) -> None:
        keys = dict(one.split("=", 1) for one in control.split(","))
        assert len(payload) <= _CHUNK
        if self._coming is not None:
            assert keys.keys() == {"m"}, "a picture is sent without a pause"
            number, before = self._coming
            self._chunk(number, before + payload, keys["m"], whole)
            return
        action = keys["a"]
        if action == "q":
            self.questions.append(control)
            return
        assert self.alternate, "nothing is drawn where the shell is"
        assert keys.keys() == _KEYS[action]
        assert keys["q"] == "2", "an answer would be read as keys"
        number = int(keys["i"])
        if action == "t":
            assert (keys["t"], keys["f"]) == ("d", "100")
            self.images.pop(number, None)
            self.shown.pop(number, None)
            self._chunk(number, payload, keys["m"], whole)
        elif action == "d":
            self.shown.pop(number, None)
            if keys["d"] == "I":
                del self.images[number]
            else:
                assert keys["d"] == "i"
        else:
            x, y, width, height, columns, rows = (int(keys[key]) for key in "xywhcr")
            high, wide = self.images[number].shape[:2]
            assert 0 <= x < x + width <= wide
            assert 0 <= y < y + height <= high
            assert (keys["p"], keys["C"]) == ("1", "1")
            self.shown[number] = Placed(*self._cursor, columns, rows, (x, y, width, height))
            self.placed_bytes += len(whole)

    def _chunk(self, number: int, payload: str, more: str, whole: str) -> None:
        self.sent_bytes += len(whole)
        if more == "1":
            assert len(payload) % 4 == 0
            self._coming = number, payload
            return
        assert more == "0"
        self._coming = None
        file = io.BytesIO(base64.b64decode(payload, validate=True))
        self.images[number] = np.asarray(Image.open(file, formats=["PNG"]).convert("RGBA"))
        self.received += 1


def sits_at(hand: Hand) -> KittyScreen:
    """Sit at a terminal that knows the protocol."""
    screen = KittyScreen()
    screen.alternate = True
    driver = hand.app._driver
    assert driver is not None
    driver.write = screen.feed  # type: ignore[method-assign, assignment]
    hand.app.terminal = Terminal(Way.KITTY, CELL)
    return screen


def colours(dots: Dots) -> NDArray[np.uint8]:
    """Return a picture as RGBA; what is not painted is clear and black."""
    rgba = np.zeros((*dots.numbers.shape, 4), np.uint8)
    painted = dots.numbers != THROUGH
    rgba[painted, :3] = np.asarray(dots.colours, np.uint8)[dots.numbers[painted]]
    rgba[painted, 3] = 255
    return rgba


def source(widget: Widget) -> NDArray[np.uint8]:
    """Return a widget's picture as it is drawn for its cells."""
    overlay = widget.overlay()  # type: ignore[attr-defined]
    return colours(overlay.dots(overlay.cells.width * CELL.width, overlay.cells.height * 20))


def shows(screen: KittyScreen, widget: Widget) -> bool:
    """Return whether a widget's picture is all that is shown, in its place, dot for dot."""
    where = widget.overlay().cells.translate(widget.content_region.offset)  # type: ignore[attr-defined]
    ((number, placed),) = screen.shown.items()
    assert placed[:4] == where
    return np.array_equal(screen.pixels(number), source(widget))
