"""A list that draws only the lines in view, and lays itself out anew for every width."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import accumulate, pairwise
from typing import ClassVar, TypeVar, cast

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.events import Click, Resize
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip
from textual.style import Style
from textual.widget import Widget
from textual.widgets import Input, Static

from burnplan.workbench import drawing
from burnplan.workbench.drawing import Cell, Column, put
from burnplan.workbench.holding import Down

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows of a list, drawn when they come into view.

    Parameters
    ----------
    keys : sequence of str or None
        One a row; None for a heading between rows, which the cursor passes over.
    draw : callable
        Given a row's number, how it looks.
    tall : int or sequence of int
        The lines of each row.
    heads : Content, optional
        The headings of the columns.
    """

    keys: Sequence[str | None]
    draw: Callable[[int], Content]
    tall: int | Sequence[int] = 1
    heads: Content | None = None

    def tops(self) -> list[int]:
        """Return the first line of each row, and after the last one the number of lines."""
        if isinstance(self.tall, int):
            return list(range(0, self.tall * (len(self.keys) + 1), self.tall))
        return list(accumulate(self.tall, initial=0))


def columned(
    columns: Sequence[Column],
    found: Sequence[T],
    key: Callable[[T], str],
    cells: Callable[[T], Sequence[Cell]],
) -> Callable[[int], Rows]:
    """Return what lays things out in columns, a line each, for the width there is."""

    def rows(width: int) -> Rows:
        sizes = drawing.widths(columns, width)
        return Rows(
            [key(one) for one in found],
            lambda row: drawing.row(columns, sizes, cells(found[row])),
            heads=drawing.headings(columns, sizes),
        )

    return rows


class Lines(ScrollView, can_focus=True):
    """The rows themselves, with a cursor."""

    ALLOW_SELECT = False
    COMPONENT_CLASSES: ClassVar[set[str]] = {"lines--cursor"}
    DEFAULT_CSS = "Lines { overflow-x: hidden; overflow-y: auto; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down,j", "move(1)", "Down", show=False),
        Binding("up,k", "move(-1)", "Up", show=False),
        Binding("pagedown", "page(1)", "Page down", show=False),
        Binding("pageup", "page(-1)", "Page up", show=False),
        Binding("home", "edge(1)", "First", show=False),
        Binding("end", "edge(-1)", "Last", show=False),
        Binding("enter", "choose", "Choose", show=False),
    ]

    class Moved(Message):
        """The cursor is on another row."""

    class Chosen(Message):
        """A row was chosen: Enter, or a second click."""

        def __init__(self, lines: "Lines", key: str) -> None:
            self.lines, self.key = lines, key
            super().__init__()

    cursor: reactive[int | None] = reactive(None)

    def __init__(self) -> None:
        super().__init__()
        self.rows = Rows((), lambda _: Content())
        self._look = self.rows.draw
        self._tops = [0]
        self._row_of_line: list[int] = []
        self._drawn: dict[tuple[int, Style], list[Strip]] = {}
        # Where the cursor goes once that row is there.
        self._wanted: str | None = None
        # The row that the mouse selected: who clicks there again means it.
        self._clicked: str | None = None

    @property
    def key(self) -> str | None:
        """The key of the row the cursor is on."""
        at = self.cursor
        return self.rows.keys[at] if at is not None and at < len(self.rows.keys) else None

    def give(self, rows: Rows) -> None:
        """Show rows; the cursor stays on its row, else near its place."""
        key, at = self.key, self.cursor
        self.rows, self._tops, self._drawn = rows, rows.tops(), {}
        # The same by any light, with the cursor on it or not.
        self._look = cache(rows.draw)
        tall = (below - top for top, below in pairwise(self._tops))
        self._row_of_line = [row for row, lines in enumerate(tall) for _ in range(lines)]
        self.virtual_size = Size(self.scrollable_content_region.width, self._tops[-1])
        self.cursor = self._place(key, at)
        self.refresh()

    def _place(self, key: str | None, at: int | None) -> int | None:
        keys = self.rows.keys
        if self._wanted in keys and self._wanted is not None:
            key, self._wanted = self._wanted, None
        if key is not None and key in keys:
            return keys.index(key)
        return self._free(at or 0, 1)

    def _free(self, at: int, step: int) -> int | None:
        """Return the row nearest to a place that the cursor can be on, looking one way first."""
        usable = [row for row, key in enumerate(self.rows.keys) if key is not None]
        ahead = [row for row in usable if (row - at) * step >= 0]
        return min(ahead or usable, key=lambda row: abs(row - at), default=None)

    def go_to(self, key: str) -> None:
        """Put the cursor on a row, now or when it is there."""
        if key in self.rows.keys:
            self.cursor = self.rows.keys.index(key)
        else:
            self._wanted = key

    def action_move(self, step: int) -> None:
        """Move the cursor by a row."""
        if self.rows.keys:
            self.cursor = self._free((self.cursor or 0) + step, step)

    def action_page(self, step: int) -> None:
        """Move the cursor by the height of the list."""
        if self.cursor is not None:
            line = self._tops[self.cursor] + step * max(1, self.size.height - 1)
            line = max(0, min(line, self._tops[-1] - 1))
            self.cursor = self._free(self._row_of_line[line], step)

    def action_edge(self, step: int) -> None:
        """Move the cursor to the first row (1) or the last one (-1)."""
        if self.rows.keys:
            self.cursor = self._free(0 if step > 0 else len(self.rows.keys) - 1, step)

    def action_choose(self) -> None:
        """Choose the row the cursor is on."""
        if self.key is not None:
            self.post_message(self.Chosen(self, self.key))

    def on_click(self, event: Click) -> None:
        """Put the cursor where the mouse is; where it is already, choose that row."""
        line = event.get_content_offset(self)
        if line is None:
            return
        at = line.y + self.scroll_offset.y
        row = self._row_of_line[at] if at < len(self._row_of_line) else None
        if row is None or self.rows.keys[row] is None:
            return
        if row == self.cursor and self._clicked == self.key:
            self.action_choose()
        self.cursor, self._clicked = row, self.rows.keys[row]

    def watch_cursor(self) -> None:
        """Bring the cursor into view."""
        self.show_cursor()
        self.post_message(self.Moved())

    def show_cursor(self, *, above: int | None = None) -> None:
        """Scroll so that the cursor is in view; with so many lines above it, where given."""
        at = self.cursor
        if at is None or at + 1 >= len(self._tops):
            return
        top, below = self._tops[at], self._tops[at + 1]
        if above is not None:
            self.scroll_to(y=top - above, animate=False, force=True, immediate=True)
            return
        region = Region(0, top, max(1, self.size.width), below - top)
        self.scroll_to_region(region, animate=False, force=True, immediate=True)

    def on_resize(self) -> None:
        """Keep the cursor in view."""
        self.show_cursor()

    def render_lines(self, crop: Region) -> list[Strip]:
        """Return the lines in view: as they were drawn before, where they were."""
        filters, ground = self.get_line_filters(), self.background_colors[1]
        found = []
        for y in crop.line_range:
            strip = self.render_line(y)
            for one in filters:
                strip = strip.apply_filter(one, ground)
            found.append(strip)
        if crop.column_span == (0, self.outer_size.width):
            return found
        return [strip.crop(*crop.column_span) for strip in found]

    def render_line(self, y: int) -> Strip:
        """Return a line in view."""
        line, width, style = self.scroll_offset.y + y, self.outer_size.width, self.visual_style
        if line < len(self._row_of_line):
            row = self._row_of_line[line]
            if row == self.cursor:
                style = self.get_visual_style("lines--cursor")
            strips, place = self._strips(row, width, style), line - self._tops[row]
            if place < len(strips):
                return strips[place]
        return _blank(width, style)

    def _strips(self, row: int, width: int, style: Style) -> list[Strip]:
        if (row, style) not in self._drawn:
            # Rows are made to fit: wrapping them, as Textual does, takes most of the time.
            self._drawn[row, style] = [
                Strip(line.render_segments(style)).adjust_cell_length(width, style.rich_style)
                for line in self._look(row).split("\n", allow_blank=True)
            ]
        return self._drawn[row, style]


@lru_cache(maxsize=64)
def _blank(width: int, style: Style) -> Strip:
    """Return an empty line: the same one, so that it is cut but once."""
    return Strip.blank(width, style.rich_style)


# Wide enough for every column of a list to be whole.
_WHOLE = 1000


def _with(wanted: str, rows: Rows, for_width: Callable[[int], Rows]) -> Rows:
    """Return the rows that have some letters, without those that are headings between rows."""
    if not wanted:
        return rows
    whole = for_width(_WHOLE)
    kept = [
        row
        for row, key in enumerate(rows.keys)
        if key is not None and wanted in whole.draw(row).plain.casefold()
    ]
    tops = rows.tops()
    return Rows(
        [rows.keys[row] for row in kept],
        lambda row: rows.draw(kept[row]),
        [tops[row + 1] - tops[row] for row in kept],
        rows.heads,
    )


class Finding(Widget):
    """What has rows, of which those that have some letters can be asked for."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "show_all", "All", show=False),
        Binding("down", "to_found", "Down", show=False),
    ]
    wanted = ""
    """The letters, folded."""

    def lay_out(self) -> None:
        """Show the rows that are wanted."""
        raise NotImplementedError

    @property
    def lines(self) -> Lines:
        """The rows."""
        return self.query_one(Lines)

    def find(self) -> None:
        """Ask which rows are wanted."""
        if not self.query(".find"):
            below = cast("Widget", self.lines.parent)
            below.mount(Input(placeholder="find …", classes="find"), after=self.lines)
        line = self.query_one(".find", Input)
        line.display = True
        line.focus()

    @on(Input.Changed, ".find")
    def _look_for(self, event: Input.Changed) -> None:
        self.wanted = event.value.strip().casefold()
        self.lay_out()

    @on(Input.Submitted, ".find")
    def _found(self) -> None:
        self.lines.focus()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Leave Escape to others while nothing is looked for."""
        return action != "show_all" or any(line.display for line in self.query(".find"))

    def action_to_found(self) -> None:
        """Go from the letters to the rows that have them."""
        self.lines.focus()

    def action_show_all(self) -> None:
        """Show all rows again."""
        line = self.query_one(".find", Input)
        line.value, line.display = "", False
        self.lines.focus()

    @property
    def has_none(self) -> Content:
        """What is said where no row has the letters."""
        return Content(f"Nothing here has '{self.wanted}'. esc shows all again.")


class Listing(Down, Finding):
    """Rows under headings, or what to do when there are none.

    Parameters
    ----------
    title : str
    empty : str
        Shown when there are no rows.
    id : str
    beside : bool
        Whether another list of the page is the one that the keys go to.
    """

    def __init__(self, title: str, empty: str, *, id: str, beside: bool = False) -> None:  # noqa: A002
        super().__init__(id=id, classes="part beside" if beside else "part")
        self.border_title = title
        self._empty = empty
        self._rows: Callable[[int], Rows] | None = None
        self._wide = 0

    def compose(self) -> ComposeResult:
        """Lay out headings, rows and the word for none."""
        yield Static(classes="heads")
        yield Static(Content(self._empty), classes="empty")
        yield Lines()

    @property
    def key(self) -> str | None:
        """The key of the row the cursor is on."""
        return self.lines.key

    def on_mount(self) -> None:
        """Show nothing until there is something to show."""
        for part in (".heads", ".empty"):
            self.query_one(part).display = False

    def give(self, rows: Callable[[int], Rows]) -> None:
        """Show rows, made for the width there is."""
        self._rows = rows
        self.lay_out()

    def on_resize(self, event: Resize) -> None:
        """Lay the rows out anew."""
        if event.size.width != self._wide:
            self.lay_out()

    def lay_out(self) -> None:
        """Show the rows that are wanted, or what to do where there are none."""
        self._wide = self.size.width
        if self._rows is None or not self._wide:
            return
        # One cell is the scroll bar's, whether it shows or not.
        rows = _with(self.wanted, self._rows(self._wide - 2), self._rows)
        heads = self.query_one(".heads", Static)
        heads.display = rows.heads is not None and bool(rows.keys)
        put(heads, rows.heads or Content(), layout=False)
        empty = self.query_one(".empty", Static)
        empty.display = not rows.keys
        found_none = self.wanted and self._rows(self._wide - 2).keys
        put(empty, self.has_none if found_none else Content(self._empty))
        self.lines.give(rows)
