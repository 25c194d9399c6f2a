"""Pictures laid over their cells in the terminal's own dots, once the hand rests."""

import asyncio
from collections.abc import Callable, Iterable
from typing import NamedTuple, Protocol
from weakref import WeakSet

from textual import work
from textual.app import App
from textual.css.query import NoMatches
from textual.errors import NoWidget
from textual.geometry import Region
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets._toast import Toast

from burnplan.errors import BurnplanError
from burnplan.workbench import sixels
from burnplan.workbench.blocks import Depth, depth_of
from burnplan.workbench.sixels import Cell, Dots
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
    """

    cells: Region
    dots: Callable[[int, int], Dots]


class _InSight(NamedTuple):
    """A picture in sight: what draws it, its cells of the screen, and those that are seen."""

    dots: Callable[[int, int], Dots]
    whole: Region
    seen: Region

    def told(self, cell: Cell) -> str:
        """Return what the terminal is told, as far as it is seen."""
        wide, high = cell
        dots = self.dots(self.whole.width * wide, self.whole.height * high)
        crop = self.seen.translate((-self.whole.x, -self.whole.y))
        part = dots.numbers[crop.y * high : crop.bottom * high, crop.x * wide : crop.right * wide]
        # The cursor goes back to where it was.
        to = f"\x1b[{self.seen.y + 1};{self.seen.x + 1}H"
        return f"\x1b7{to}{sixels.drawn(Dots(part, dots.colours))}\x1b8"


class HasPicture(Protocol):
    """A widget whose picture can be laid over its cells."""

    def overlay(self) -> Overlay | None:
        """Return its picture as it is now; None where there is none."""


class SharpPictures(App[None]):
    """An app that lays pictures over their cells where its terminal draws sixels."""

    def __init__(self) -> None:
        super().__init__()
        # The size of a cell of a terminal that draws sixels; None for one that does not.
        self.cell: Cell | None = None
        self._with_pictures: WeakSet[Widget] = WeakSet()

    def has_picture(self, widget: Widget) -> None:
        """Note a widget that has a picture: a ``HasPicture``."""
        self._with_pictures.add(widget)

    def _display(self, screen: Screen[object], renderable: object) -> None:
        # Textual's own step of writing to the terminal. Were it named otherwise, pictures would
        # stay as blocks.
        super()._display(screen, renderable)  # type: ignore[arg-type]
        if self.cell is not None and renderable is not None and self._with_pictures:
            spans = getattr(renderable, "spans", None)
            region = getattr(renderable, "region", None)
            if spans is not None:
                written: Iterable[Region] = (Region(x, y, end - x, 1) for y, x, end in spans)
            else:
                written = [region or screen.region]
            places = [one.seen for one in self._in_sight()]
            if any(one.overlaps(seen) for one in written for seen in places):
                self._lay_them()

    def _in_sight(self) -> list[_InSight]:
        """Return the pictures that are in sight, each as far as it is."""
        found: list[_InSight] = []
        if len(self.screen_stack) == 1:
            for widget in self._with_pictures:
                try:
                    place = self.screen.find_widget(widget)
                except NoWidget:
                    continue
                overlay: Overlay | None = widget.overlay()  # type: ignore[attr-defined]
                if overlay is not None:
                    whole = overlay.cells.translate(widget.content_region.offset)
                    seen = whole.intersection(place.visible_region)
                    if seen.area:
                        found.append(_InSight(overlay.dots, whole, seen))
        return found

    @work(group="sharp", exclusive=True)
    async def _lay_them(self) -> None:
        """Lay all pictures over their cells, unless another is written meanwhile."""
        await asyncio.sleep(REST_SECONDS)
        if self.cell is None or depth_of(self) is Depth.LETTERS:
            return
        try:
            covered = [toast.region for toast in self.screen.query(Toast)]
            for one in self._in_sight():
                if any(one.seen.overlaps(toast) for toast in covered):
                    continue
                told = await aside(one.told, sixels.cell_now() or self.cell)
                # A question may be over it by now, or another page there.
                where = [(now.whole, now.seen) for now in self._in_sight()]
                if self._driver is not None and (one.whole, one.seen) in where:
                    self._driver.write(told)
                    self._driver.flush()
        except (BurnplanError, NoMatches):
            return  # its blocks are seen
