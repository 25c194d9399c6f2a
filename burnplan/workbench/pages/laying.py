"""The laying-out table: the photo laid on its blank by eye, with marks, tones, zones and lines."""

import asyncio
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, ClassVar, cast

from rich.cells import cell_len
from textual import events, on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.css.query import NoMatches
from textual.geometry import Size
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget
from textual.widgets import Static

from burnplan.desk.studio.studio import Studio
from burnplan.errors import BurnplanError
from burnplan.show.picture import asked_for
from burnplan.units import format_size
from burnplan.workbench import cropping, drawing, gather, laying_panel
from burnplan.workbench.actions import bindings
from burnplan.workbench.blocks import depth_of
from burnplan.workbench.dots import Dots
from burnplan.workbench.drawing import EMBER, SOFT, STRONG
from burnplan.workbench.forms import Choice
from burnplan.workbench.holding import Across
from burnplan.workbench.pages.burning import Lines
from burnplan.workbench.pages.page import WorkbenchPage
from burnplan.workbench.sharp import Overlay, SharpPictures
from burnplan.workbench.threads import aside

if TYPE_CHECKING:
    from burnplan.desk.jobs.laying import InHand
    from burnplan.desk.jobs.unkept import Unkept
    from burnplan.workbench.cropping import Box
    from burnplan.workbench.laying import Laid, Table
    from burnplan.workbench.tabletop import Picture, View

# What takes longer than a hand waits is begun once the hand has rested so long.
REST_SECONDS = 0.3
CLOSEST = 8


class Top(Widget, can_focus=True):
    """The table's top: the picture; a mouse moves what lies there."""

    class Held(Message):
        """The mouse went from one cell to another with its button down; the first is where."""

        def __init__(self, began: tuple[int, int], before: tuple[int, int], now: tuple[int, int]):
            self.began, self.before, self.now = began, before, now
            super().__init__()

    class LetGo(Message):
        """The mouse's button is up again."""

    class Turned(Message):
        """The wheel was turned over a cell: up is closer."""

        def __init__(self, closer: bool, at: tuple[int, int]) -> None:
            self.closer, self.at = closer, at
            super().__init__()

    class Changed(Message):
        """Its size or its colours are others."""

    def __init__(self) -> None:
        super().__init__()
        self._strips: list[Strip] = []
        self._dots: Callable[[int, int], Dots] | None = None
        self._began: tuple[int, int] | None = None
        self._before = (0, 0)

    def give(self, strips: list[Strip], dots: Callable[[int, int], Dots]) -> None:
        """Show a picture, and how it is drawn in the terminal's own dots."""
        self._strips, self._dots = strips, dots
        cast("SharpPictures", self.app).has_picture(self)
        self.refresh()

    def on_mount(self) -> None:
        """Be laid in the terminal's own dots, where it has them."""
        cast("SharpPictures", self.app).has_picture(self)

    def overlay(self) -> Overlay | None:
        """Return the picture as it is laid over its cells."""
        dots = self._dots
        return None if dots is None else Overlay(self.content_size.region, dots, id(dots))

    def render_line(self, y: int) -> Strip:
        """Return one line."""
        style = self.visual_style.rich_style
        if y >= len(self._strips):
            return Strip.blank(self.size.width, style)
        strip = self._strips[y]
        first = next(iter(strip), None)
        if first is None or first.style is None or first.style.bgcolor is None:
            strip = strip.apply_style(style)  # letters: they have no colours of their own
        return strip.adjust_cell_length(self.size.width, style)

    def on_resize(self) -> None:
        """Have it drawn for its size."""
        self.post_message(self.Changed())

    def notify_style_update(self) -> None:
        """Have it drawn in its colours."""
        super().notify_style_update()
        self.post_message(self.Changed())

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """Take hold."""
        self.capture_mouse()
        self._began = self._before = event.x, event.y

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """Move what is held."""
        now = event.x, event.y
        if self._began is not None and now != self._before:
            self.post_message(self.Held(self._began, self._before, now))
            self._before = now

    def on_mouse_up(self) -> None:
        """Let go."""
        self._began = None
        self.release_mouse()
        self.post_message(self.LetGo())

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """Look closer."""
        self.post_message(self.Turned(True, (event.x, event.y)))

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """Look from farther off."""
        self.post_message(self.Turned(False, (event.x, event.y)))


class Values(Lines, can_focus=False):
    """The values beside it; a click takes one in hand."""

    class Taken(Message):
        """A value was clicked."""

        def __init__(self, name: str) -> None:
            self.name = name
            super().__init__()

    def __init__(self) -> None:
        super().__init__()
        self._names: list[str] = []

    def show(self, panel: laying_panel.Panel) -> None:
        """Show the values."""

        def draw(width: int, height: int) -> list[Content]:
            found = laying_panel.lines(panel, width, height)
            self._names = [name for name, _ in found]
            return [line for _, line in found]

        self.give(draw)

    def on_click(self, event: events.Click) -> None:
        """Take the value in hand."""
        if event.y < len(self._names) and self._names[event.y]:
            self.post_message(self.Taken(self._names[event.y]))


class LayingPage(WorkbenchPage[gather.JobDetail | None]):
    """The laying-out table."""

    BINDINGS: ClassVar[list[BindingType]] = bindings("laying")

    def __init__(self, studio: Studio, name: str) -> None:
        super().__init__(studio, name)
        self.table: Table | None = None
        # A photo that is new, not yet kept.
        self.new: Path | None = None
        self.view: View
        self._said, self._wrong = "", False
        self._now: gather.Now | None = None
        self._stale = self._drawing = False
        # What the cut and the lines that are shown are of.
        self._cut_of: object = None
        self._lines_of: object = None
        self._lines: tuple[Any, ...] = ()
        # The part of the photo that the mouse is drawing a frame round.
        self._framed: Box | None = None
        # Of what was put down beside the book only the newest may stay.
        self._putting, self._put_down = Lock(), None

    _put_down: "Laid | None"

    def compose(self) -> ComposeResult:
        """Lay out the table beside its values."""
        yield Static(id="laying-head")
        with Across():
            yield Top()
            yield Values()

    def take_keys(self) -> None:
        """Let the keys go to the table."""
        self.screen.set_focus(self.query_one(Top))

    @property
    def meant(self) -> str | None:
        """The job whose photo is laid out."""
        return self.table.taken.code if self.table else None

    def begin(self, taken: "InHand", new: Path | None, unkept: "Unkept | None" = None) -> None:
        """Lay a photo out: as it is planned, or as it lay when that was not kept."""
        from burnplan.workbench.laying import Laid, Table  # brings numpy
        from burnplan.workbench.tabletop import View

        self.table, self.new, self.view = Table(taken), new, View()
        self._lines, self._lines_of, self._cut_of = (), None, None
        self._put_down = self.table.now
        self.say("")
        if unkept is None or unkept.new != new:
            return
        with suppress(BurnplanError):  # its blank may be another now
            self.table.put_back(Laid(unkept.layout, unkept.zones))
        if self.table.is_changed:
            at = self.studio.local(unkept.at)
            day = "" if at.date() == self.studio.today() else f"{drawing.day_words(at.date())} "
            self.say(f"Laid out {day}{at:%H:%M} and not kept: it lies so again; u takes that back")

    def clear(self) -> None:
        """Take the photo off the table; it was planned, or is left."""
        if self.table is not None:
            from burnplan.desk.jobs import unkept

            with self._putting:
                unkept.drop(self.studio, self.table.taken.code)
        self.table = None

    @work(group="laying-unkept", exclusive=True)
    async def _put_aside(self) -> None:
        """Put down how it lies, once the hand rests: a window that is closed loses nothing."""
        await asyncio.sleep(REST_SECONDS)
        table = self.table
        if table is None or table.now == self._put_down:
            return
        try:
            await aside(self._put, table)
        except BurnplanError as error:
            self.say(self.bench.worded(error), wrong=True)

    def _put(self, table: "Table") -> None:
        from burnplan.desk.jobs import unkept

        with self._putting:
            if self.table is not table:
                return  # kept or left meanwhile
            now, self._put_down = table.now, table.now
            if table.is_changed:
                unkept.put(self.studio, table.taken.code, now.layout, now.zones, self.new)
            else:
                unkept.drop(self.studio, table.taken.code)

    def look_up(self) -> gather.JobDetail | None:
        """Return the job, to see whether it was planned again elsewhere."""
        return None if self.meant is None else gather.job(self.studio, self.meant)

    def give(self, now: gather.Now, found: gather.JobDetail | None) -> None:
        """Say whether the job was planned again elsewhere."""
        self._now = now
        table = self.table
        if table is None or found is None:
            return
        plan = found.plan and found.plan[1:]
        if plan != table.taken.plan and found.commission.code == table.taken.code:
            self.say("It was planned again elsewhere meanwhile: what you keep replaces that",
                     wrong=True)  # fmt: skip
        self.show()

    def may_go(self, go: Callable[[], Any]) -> bool:
        """Ask whether to keep what was changed; then it goes on by itself."""
        if self.table is None or not (self.table.is_changed or self.new):
            return True

        def chosen(key: str) -> None:
            from burnplan.workbench.actions.jobs import laying

            if key == "keep":
                laying.keep(self.bench, go)
            else:
                self.clear()
                self.bench.call_later(go)

        self.bench.choose(
            Choice("The photo is not planned as it lies", [
                ("keep", Content("Keep it: plan the work from it as it lies now")),
                ("leave", Content("Leave the job without it" if self.new else
                                  "Leave the plan as it was")),
            ]),
            chosen,
        )  # fmt: skip
        return False

    # What is shown

    def say(self, words: str, *, wrong: bool = False) -> None:
        """Show a line of what is under way, or what is wrong."""
        self._said, self._wrong = words, wrong
        self.show()

    def changed(self) -> None:
        """Show what the hand changed."""
        if self._wrong:
            self._said, self._wrong = "", False
        self.show()
        self.redraw()
        self._put_aside()
        self.bench.refresh_keys()

    def show(self) -> None:
        """Show the values."""
        table = self.table
        if table is None or self._now is None:
            return
        with suppress(NoMatches):
            self.query_one(Values).show(
                laying_panel.Panel(
                    tuple(table.rows()), table.hand, self._said, self._wrong,
                    table.command(), table.is_changed,
                )
            )  # fmt: skip
            taken, own = table.taken, self._now.own
            wood = f"{format_size(taken.outline, own.units)} {taken.species.name.lower()}"
            close = f"  ×{self.view.closer}" if self.view.closer > 1 else ""
            changed = "  • changed" if table.is_changed else ""
            known = f"  {taken.code}  {wood}"
            # Its title gives way, and its photo's name: what follows may tell more.
            room = self.size.width - 2 - cell_len(f"{known}{close}{changed}")
            title = drawing.fitted(taken.title, max(12, room)).rstrip()
            left = room - cell_len(title) - 2
            photo = f"  {drawing.fitted(taken.filename, left).rstrip()}" if left > 4 else ""
            drawing.put(self.query_one("#laying-head", Static), Content.assemble(
                (title, STRONG), (known, SOFT), (photo, SOFT),
                (close, SOFT), (changed, EMBER),
            ), layout=False)  # fmt: skip

    def look_at(self, **view: Any) -> None:
        """Look otherwise: closer, elsewhere, at zones, at lines."""
        self.view = self.view._replace(**view)
        self.changed()

    def closer(self, by: int, at: tuple[float, float] | None = None) -> None:
        """Look closer or from farther off, at a point of the wood or at what is in hand."""
        if self.table is None:
            return
        closer = max(1, min(CLOSEST, self.view.closer * 2 if by > 0 else self.view.closer // 2))
        middle = at or self.view.middle
        if at is None and self.table.area is not None:
            position = self.table.taken.photo.lies(self.table.setting)
            polygon = position.of(self.table.area)
            x, y = ((polygon.min(axis=0) + polygon.max(axis=0)) / 2).tolist()
            middle = x, y
        elif at is not None:  # the point stays under the mouse
            window = self._window()
            x, y = window.left, window.top
            wide = window.shape[1] / window.px_per_mm, window.shape[0] / window.px_per_mm
            share = self.view.closer / closer
            middle = (
                at[0] + (x + wide[0] / 2 - at[0]) * share,
                at[1] + (y + wide[1] / 2 - at[1]) * share,
            )
        self.look_at(closer=closer, middle=middle if closer > 1 else None)

    @property
    def _cells(self) -> Size:
        return self.query_one(Top).size

    def _window(self) -> Any:
        from burnplan.workbench import tabletop

        assert self.table is not None  # noqa: S101  for the type checker: called with one
        size, table = self._cells, self.table
        beside = table.taken.photo.lies(table.setting).whole() if table.hand == "crop" else None
        return tabletop.window_of(
            table.taken.outline, self.view, size, self.bench.terminal.aspect, beside
        )

    # What the mouse does

    @on(Top.Held)
    def _held(self, event: Top.Held) -> None:
        from burnplan.workbench import tabletop

        table = self.table
        if table is None:
            return
        window = self._window()
        if table.area is not None or table.hand == "crop":
            position = table.taken.photo.lies(table.setting)
            corners = position.to_photo(
                [tabletop.at(window, self._cells, *cell) for cell in (event.began, event.now)]
            )
            (x0, y0), (x1, y1) = corners.tolist()
            if table.hand == "crop":  # the photo lies still until the button is up
                self._framed = cropping.drawn((x0, y0, x1, y1)) or self._framed
            else:
                table.box((x0, y0, x1, y1))
        else:
            (x0, y0), (x1, y1) = (
                tabletop.at(window, self._cells, *cell) for cell in (event.before, event.now)
            )
            table.drag(x1 - x0, y1 - y0)
        self.changed()

    @on(Top.LetGo)
    def _let_go(self) -> None:
        framed, self._framed = self._framed, None
        if framed is not None and self.table is not None:
            self.table.crop(framed)
            self.changed()

    @on(Top.Turned)
    def _turned(self, event: Top.Turned) -> None:
        from burnplan.workbench import tabletop

        if self.table is not None:
            self.closer(
                1 if event.closer else -1, tabletop.at(self._window(), self._cells, *event.at)
            )

    @on(Values.Taken)
    def _taken(self, event: Values.Taken) -> None:
        if self.table is not None:
            self.table.take(event.name)
            self.changed()

    # How it is drawn

    @on(Top.Changed)
    def redraw(self) -> None:
        """Draw what lies there, as it lies when its turn comes."""
        self._stale = True
        if not self._drawing and self.table is not None and asked_for():
            self._drawing = True
            self._draw()

    def _wanted(self, table: "Table") -> "Picture | None":
        from burnplan.workbench import tabletop

        size = self._cells
        if size.width < 2 or size.height < 2:
            return None
        bench = self.bench
        look = tabletop.Look(
            size, bench.terminal.aspect, depth_of(bench), bench.current_theme.dark,
            bench.theme_variables,
        )  # fmt: skip
        marks = tuple((kind, n, area, (kind, n) == table.mark) for kind, n, area in table.marks())
        used = self._framed or table.used if table.hand == "crop" else None
        return tabletop.Picture(
            table.setting, table.now.zones, marks, self._lines, self.view, look, used
        )

    @work(group="laying")
    async def _draw(self) -> None:
        from burnplan.workbench import tabletop

        try:
            while self._stale and self.table is not None:
                self._stale = False
                wanted = self._wanted(self.table)
                if wanted is None:
                    break
                try:
                    drawn = await aside(tabletop.draw, self.table.taken.photo, wanted)
                    dots = partial(tabletop.in_dots, self.table.taken.photo, wanted)
                    self.query_one(Top).give(drawn, dots)
                except BurnplanError as error:
                    self.say(self.bench.worded(error), wrong=True)
        except NoMatches:
            return  # the screen is being taken down
        finally:
            self._drawing = False
        self._rest()

    @work(group="laying-rest", exclusive=True)
    async def _rest(self) -> None:
        """Find the subject, and draw the lines, once the hand rests."""
        table = self.table
        if table is None:
            return
        photo, setting, line = table.taken.photo, table.setting, table.now.layout.line
        cut_of = _cut_by(setting)
        lines_of = (setting, line) if self.view.lines else None
        if cut_of == self._cut_of and lines_of in (None, self._lines_of):
            return
        await asyncio.sleep(REST_SECONDS)
        before = "" if self._wrong else self._said
        try:
            if cut_of != self._cut_of:
                self._cut_of = cut_of
                if setting.control.subject:
                    self.say("Finding the subject")
                await aside(photo.cut, setting)
                self.say(before)
                self.redraw()
            if lines_of not in (None, self._lines_of):
                self.say("Drawing the lines")
                found = await aside(photo.lines, setting, line)
                self._lines, self._lines_of = found, lines_of
                self.say(before)
                self.redraw()
        except BurnplanError as error:
            self.say(self.bench.worded(error), wrong=True)


def _cut_by(setting: Any) -> object:
    """Return what the subject's cut hangs on."""
    control = setting.control
    if not control.subject:
        return None
    return (setting.placement, setting.focal, setting.likely,
            control.subject, control.background, control.keep)  # fmt: skip
