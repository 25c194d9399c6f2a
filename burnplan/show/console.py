"""The terminal: one console, its colours and its way of laying out tables."""

import os
import sys
from collections.abc import Iterator, Sequence
from functools import cache

from rich.box import Box
from rich.console import Console, ConsoleOptions, Group, RenderableType, RenderResult
from rich.measure import Measurement
from rich.padding import Padding
from rich.segment import Segment
from rich.styled import Styled
from rich.table import Table
from rich.text import Text
from rich.theme import Theme

from burnplan.terminal_safe import terminal_safe

THEME = Theme(
    {
        "code": "bold",
        "soft": "dim",
        "ember": "#c8642b",
        "good": "green",
        "warn": "yellow",
        "bad": "bold red",
        "head": "dim",
        "title": "bold",
    }
)

# A single rule under the headings; nothing else competes with the figures.
_RULED = Box("    \n    \n ── \n    \n    \n    \n    \n    \n")


class _Console(Console):
    """A console on which nothing shown can give the terminal orders."""

    def render(
        self, renderable: RenderableType, options: ConsoleOptions | None = None
    ) -> Iterator[Segment]:
        """Yield what is to be shown; what draws pictures and moves the cursor stays as it is."""
        for segment in super().render(renderable, options):
            if segment.control or segment.text.isprintable():
                yield segment
            else:
                yield Segment(terminal_safe(segment.text), segment.style)


@cache
def console() -> Console:
    """Return the console of standard output."""
    return _Console(theme=THEME, highlight=False, emoji=False)


@cache
def error_console() -> Console:
    """Return the console of standard error, for notices, progress and errors."""
    return _Console(theme=THEME, highlight=False, emoji=False, stderr=True)


# As wide as anything may get.
_UNBOUND = 10_000


def _piped(shown_on: Console) -> bool:
    """Return whether another program reads it: then nothing needs to be cut or stacked."""
    return not shown_on.is_terminal and "COLUMNS" not in os.environ


def interactive() -> bool:
    """Return whether a person sits at both ends."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def show(*renderables: RenderableType) -> None:
    """Print renderables, one after another; in plain lines, a long path stays in one piece."""
    for renderable in renderables:
        if isinstance(renderable, str):
            console().print(renderable, overflow="ignore", crop=False)
        else:
            console().print(renderable, crop=not _piped(console()))


def notice(text: str) -> None:
    """Say something beside the output, on standard error."""
    error_console().print(Text(text, "soft"), overflow="ignore", crop=False)


def caution(text: str) -> None:
    """Say what can hurt, on standard error, at full strength and marked by a sign."""
    error_console().print(Text(f"! {text}"), overflow="ignore", crop=False)


# What a column that takes the room left is worth, at least: with less, rows are stacked;
# and how much another one may ask for.
_ROOM, _MOST = 18, 40


class Listing(Table):
    """A table that stacks each row, heading by heading, where its columns have no room.

    ``instead`` is shown then in place of it, if it is given.
    """

    instead: RenderableType | None = None
    asked: tuple[str, ...] = ()

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Yield the table, or its rows one under another."""
        if _piped(console):
            options = options.update(width=_UNBOUND)
            yield from Table.__rich_console__(self._in_lines(), console, options)
            return
        if self._needed(console, options) <= options.max_width or not self.rows:
            yield from super().__rich_console__(console, options)
            return
        if self.instead is not None:
            yield self.instead
            return
        if self.title:
            yield Text(str(self.title), "title")
        columns = (column.cells for column in self.columns)
        for row, *cells in zip(self.rows, *columns, strict=True):
            yield Styled(Group(*self._stacked(console, options, cells)), row.style or "")
            if row.end_section:
                yield Text()
        if self.caption:
            yield Text(str(self.caption), "soft")

    def _in_lines(self) -> "Listing":
        """Return the same with each row in one line, for another program to read."""
        flat = table(*self.asked, title=str(self.title or ""))
        flat.caption = self.caption
        columns = (column.cells for column in self.columns)
        for row, *cells in zip(self.rows, *columns, strict=True):
            flat.add_row(*map(_one_line, cells), style=row.style, end_section=row.end_section)
        return flat

    def _needed(self, console: Console, options: ConsoleOptions) -> int:
        """Return the width at which every column can be read."""
        unbound = options.update(width=_UNBOUND)
        needed = 3 * (len(self.columns) - 1)
        for column in self.columns:
            cells = (column.header, *column.cells)
            widest = max(Measurement.get(console, unbound, cell).maximum for cell in cells)
            needed += min(widest, _ROOM + 6 * (column.ratio - 1) if column.ratio else _MOST)
        return needed

    def _stacked(
        self, console: Console, options: ConsoleOptions, cells: Sequence[RenderableType]
    ) -> Iterator[RenderableType]:
        """Yield one row: what names it, and under that what is known of it, with headings."""
        naming = next((n for n, column in enumerate(self.columns) if column.ratio), 0)
        line, indent = Text(), 0
        for n, (column, cell) in enumerate(zip(self.columns, cells, strict=True)):
            if not isinstance(cell, str | Text):
                yield Padding(Group(line, cell), (0, 0, 0, indent), expand=False)
                line, indent = Text(), 2
                continue
            text = console.render_str(cell) if isinstance(cell, str) else cell
            words = Text("  ").join(text.split())
            if words.plain in ("", "–"):
                continue
            if n > naming and column.header:
                words = Text.assemble((f"{column.header} ", "soft"), words)
            full = indent + line.cell_len + 2 + words.cell_len > options.max_width
            if line and (full or n == naming + 1):
                yield Padding(line, (0, 0, 0, indent), expand=False)
                line, indent = Text(), 2
            line = Text("  ").join([line, words]) if line else words
        yield Padding(line, (0, 0, 0, indent), expand=False)


def _one_line(cell: RenderableType) -> RenderableType:
    if isinstance(cell, str):
        return cell.replace("\n", "  ")
    return Text("  ").join(cell.split()) if isinstance(cell, Text) else cell


def table(*columns: str, title: str = "") -> Listing:
    """Return an empty table; where the terminal is too narrow for it, its rows are stacked.

    Parameters
    ----------
    columns : str
        Headings; one that begins with ``>`` is for figures, aligned right, and
        one that begins with ``+`` takes the room that is left, with ``++`` a
        double share of it.
    title : str
        A line above it.
    """
    made = Listing(
        box=_RULED,
        title=title or None,
        title_justify="left",
        title_style="title",
        caption_justify="left",
        caption_style="soft",
        show_header=any(column.lstrip(">+") for column in columns),
        header_style="head",
        pad_edge=False,
        show_edge=False,
        padding=(0, 1),
    )
    made.asked = columns
    for column in columns:
        made.add_column(
            column.lstrip(">+"),
            justify="right" if column.startswith(">") else "left",
            ratio=len(column) - len(column.lstrip("+")) or None,
            overflow="fold" if column.startswith("+") else "ellipsis",
            no_wrap=not column.startswith("+"),
        )
    return made


def facts(*pairs: tuple[str, RenderableType | None]) -> Table:
    """Return names with values beside them; pairs without a value are left out."""
    made = Table.grid(padding=(0, 2))
    made.add_column(style="soft", no_wrap=True)
    made.add_column(overflow="fold")
    for name, value in pairs:
        if value is not None and str(value):
            made.add_row(name, value)
    return made
