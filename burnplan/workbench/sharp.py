"""Pictures laid over their cells in the terminal's own dots, once the hand rests."""

import asyncio
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import NamedTuple, Protocol
from weakref import WeakKeyDictionary

from textual import work
from textual.app import App
from textual.css.query import NoMatches
from textual.driver import Driver
from textual.errors import NoWidget
from textual.geometry import Region, Size
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets._toast import Toast, ToastRack

from burnplan.errors import BurnplanError
from burnplan.workbench import kitty, sixels
from burnplan.workbench.blocks import Depth, depth_of
from burnplan.workbench.dots import Dots
from burnplan.workbench.terminal import Cell, Terminal, Way, cell_now
from burnplan.workbench.threads import aside

# So long nothing is written over a picture before it is laid over its cells: while a hand
# moves it, its blocks are seen (our own choice).
REST_SECONDS = 0.15


class Overlay(NamedTuple):
    """A picture to be laid over cells.

    Parameters
    ----------
    cells : Region
        Which, counted from the widget's content.
    dots : callable
        Draws it, on a thread, for a size in px.
    of : object
        What it shows: equal as long as that is the same.
    """

    cells: Region
    dots: Callable[[int, int], Dots]
    of: object


@dataclass(frozen=True, slots=True)
class _InSight:
    """A picture in sight: what it shows, its cells of the screen, and those that are seen."""

    number: int
    of: object
    whole: Region
    seen: Region
    cell: Cell
    screen: Size  # a terminal of another size may have moved what it shows
    dots: Callable[[int, int], Dots] = field(compare=False)

    @property
    def what(self) -> object:
        """What the terminal is given to hold, wherever it is shown."""
        return self.of, self.whole.size, self.cell

    @property
    def part(self) -> Region:
        """The part that is seen, px."""
        wide, high = self.cell
        x, y, width, height = self.seen.translate((-self.whole.x, -self.whole.y))
        return Region(x * wide, y * high, width * wide, height * high)

    def told(self, way: Way) -> str:
        """Return what the terminal is told to show it."""
        dots = self.dots(self.whole.width * self.cell.width, self.whole.height * self.cell.height)
        if way is Way.KITTY:
            return kitty.sent(self.number, dots) + self.placed()
        across, down = self.part.column_span, self.part.line_span
        drawn = sixels.drawn(Dots(dots.numbers[slice(*down), slice(*across)], dots.colours))
        # The cursor goes back to where it was.
        return f"\x1b7\x1b[{self.seen.y + 1};{self.seen.x + 1}H{drawn}\x1b8"

    def placed(self) -> str:
        """Return what a terminal that holds it is told to show it."""
        return kitty.placed(self.number, self.seen, self.part)


class HasPicture(Protocol):
    """A widget whose picture can be laid over its cells."""

    def overlay(self) -> Overlay | None:
        """Return its picture as it is now; None where there is none."""


class SharpPictures(App[None]):
    """An app that lays pictures over their cells where its terminal draws them in its own dots."""

    def __init__(self) -> None:
        super().__init__()
        self.terminal = Terminal()
        # The number of each widget that has a picture, and the one it had when asked last.
        self._numbers: WeakKeyDictionary[Widget, int] = WeakKeyDictionary()
        self._asked: WeakKeyDictionary[Widget, tuple[object, Overlay | None]] = WeakKeyDictionary()
        self._count = 0
        # What the terminal holds, what it shows, and what it is to show once the hand rests.
        self._held: dict[int, object] = {}
        self._shown: dict[int, _InSight] = {}
        self._coming: list[_InSight] = []
        self._given_back = False

    def has_picture(self, widget: Widget) -> None:
        """Note a widget that has a picture, or another one now: a ``HasPicture``."""
        self._asked.pop(widget, None)
        if widget not in self._numbers:
            self._count += 1
            self._numbers[widget] = self._count

    def on_resize(self) -> None:
        """Note the size of a cell: letters may have become larger."""
        if self.terminal.cell is not None:
            self.terminal = self.terminal._replace(cell=cell_now() or self.terminal.cell)

    def get_driver_class(self) -> type[Driver]:
        """Return the driver, which gives the terminal back as it was, however that comes about."""
        app = self

        class WithPictures(super().get_driver_class()):  # type: ignore[misc]
            def start_application_mode(self) -> None:
                super().start_application_mode()
                app._given_back = False

            def stop_application_mode(self) -> None:
                app._give_back(self)
                super().stop_application_mode()

        return WithPictures

    def _give_back(self, driver: Driver) -> None:
        """Leave no picture in the terminal, until the program has it again."""
        self._given_back = True
        for number in self._held:
            driver.write(kitty.taken_away(number, forgotten=True))
        self._held, self._shown, self._coming = {}, {}, []

    def _tell(self, told: str) -> None:
        if told and self._driver is not None:
            self._driver.write(told)
            self._driver.flush()

    def _display(self, screen: Screen[object], renderable: object) -> None:
        # Textual's own step of writing to the terminal. Were it named otherwise, pictures would
        # stay as blocks.
        sharp = renderable is not None and self._is_sharp
        wanted = {one.number: one for one in self._in_sight()} if sharp else {}
        if sharp:
            self._take_away(wanted)
        super()._display(screen, renderable)  # type: ignore[arg-type]
        if not sharp or not (wanted or self._shown):
            return
        written = _written(screen, renderable)

        def is_touched(one: _InSight) -> bool:
            return any(region.overlaps(one.seen) for region in written)

        if self.terminal.way is Way.KITTY:
            moved = [
                one for number, one in wanted.items()
                if self._held.get(number) == one.what and self._shown.get(number) != one
            ]  # fmt: skip
            self._tell("".join(one.placed() for one in moved))
            self._shown |= {one.number: one for one in moved}
        else:
            self._shown = {n: one for n, one in self._shown.items() if not is_touched(one)}
        coming = [one for number, one in wanted.items() if self._shown.get(number) != one]
        if coming and (coming != self._coming or any(map(is_touched, coming))):
            self._lay_them(coming)
        self._coming = coming

    @property
    def _is_sharp(self) -> bool:
        way, cell = self.terminal
        return (
            way is not None and cell is not None and not self._given_back
            and depth_of(self) is not Depth.LETTERS
        )  # fmt: skip

    def _take_away(self, wanted: dict[int, _InSight]) -> None:
        """Have no picture shown that is another by now, or none; what is written comes after."""
        gone = [
            number for number, one in self._shown.items()
            if number not in wanted or wanted[number].what != one.what
        ]  # fmt: skip
        told = [kitty.taken_away(number) for number in gone if number in self._held]
        for number in gone:
            del self._shown[number]
        for number in self._held.keys() - self._numbers.values():  # of widgets that are no more
            del self._held[number]
            told.append(kitty.taken_away(number, forgotten=True))
        self._tell("".join(told))

    def _in_sight(self) -> list[_InSight]:
        """Return the pictures that are in sight, each as far as it is."""
        found: list[_InSight] = []
        cell = self.terminal.cell
        if not self.screen_stack or cell is None:
            return found
        covered = self._toasts()
        for widget, number in list(self._numbers.items()):
            try:
                place = self.screen.find_widget(widget)
            except NoWidget:
                continue
            overlay = self._overlay(widget, place)
            if overlay is not None:
                whole = overlay.cells.translate(widget.content_region.offset)
                seen = whole.intersection(place.visible_region)
                if seen.area and not any(map(seen.overlaps, covered)):
                    found.append(
                        _InSight(number, overlay.of, whole, seen, cell, self.size, overlay.dots)
                    )
        return found

    def _overlay(self, widget: Widget, place: object) -> Overlay | None:
        """Return a widget's picture; it is asked where its place or its looks are others."""
        key = place, self.size, self.terminal, self.theme
        before = self._asked.get(widget)
        if before is None or before[0] != key:
            before = self._asked[widget] = key, widget.overlay()  # type: ignore[attr-defined]
        return before[1]

    def _toasts(self) -> list[Region]:
        """Return where something is said in passing, over the page."""
        try:
            rack = self.screen.get_child_by_type(ToastRack)
        except NoMatches:
            return []
        return [toast.region for toast in rack.query(Toast)] if rack.display else []

    @work(group="sharp", exclusive=True)
    async def _lay_them(self, coming: list[_InSight]) -> None:
        """Lay pictures over their cells, unless others come meanwhile."""
        await asyncio.sleep(REST_SECONDS)
        way = self.terminal.way
        for one in coming:
            try:
                if way is None or one not in self._in_sight():
                    continue
                told = await aside(one.told, way)
                # A question may be over it by now, or another page there.
                if self._is_sharp and one in self._in_sight():
                    self._tell(told)
                    self._shown[one.number] = one
                    if way is Way.KITTY:
                        self._held[one.number] = one.what
            except (BurnplanError, NoMatches):
                continue  # its blocks are seen


def _written(screen: Screen[object], renderable: object) -> Iterable[Region]:
    """Return where something is written to the terminal."""
    spans = getattr(renderable, "spans", None)
    if spans is not None:
        return [Region(x, y, end - x, 1) for y, x, end in spans]
    return [getattr(renderable, "region", None) or screen.region]
