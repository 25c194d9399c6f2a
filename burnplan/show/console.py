"""The terminal: one console, its colours and its way of laying out tables."""

import os
import re
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
from burnplan.unbroken import broken, joined

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


# As wide as anything may get.
_UNBOUND = 10_000


class ShownConsole(Console):
    """A console on which nothing shown can give the terminal orders or is broken in its middle.

    Where another program reads it, a line is as long as it takes.
    """

    @property
    def options(self) -> ConsoleOptions:
        """How wide things may get, and all else that is asked of them."""
        options = super().options
        return options.update(width=_UNBOUND) if _piped(self) else options

    def render(
        self, renderable: RenderableType, options: ConsoleOptions | None = None
    ) -> Iterator[Segment]:
        """Yield what is to be shown; what draws pictures and moves the cursor stays as it is."""
        if isinstance(renderable, Text):
            renderable = _in_lines(renderable, options or self.options)
        for segment in super().render(renderable, options):
            if segment.control or segment.text.isprintable():
                yield segment
            else:
                yield Segment(terminal_safe(segment.text), segment.style)


def _in_lines(text: Text, options: ConsoleOptions) -> Text:
    """Return text in lines, broken only between what is read or copied in one piece.

    What is longer than a line runs over, if it may: the terminal folds it, and it is copied
    whole. In a cell, which would cut it, it is broken at its spaces.
    """
    if text.no_wrap or options.no_wrap:
        return text
    lines = broken(text.plain, options.max_width, over=options.overflow == "ignore")
    if lines == text.plain:
        return text
    made = text.copy()
    made.plain = lines
    return made


@cache
def console() -> Console:
    """Return the console of standard output."""
    return ShownConsole(theme=THEME, highlight=False, emoji=False)


@cache
def error_console() -> Console:
    """Return the console of standard error, for notices, progress and errors."""
    return ShownConsole(theme=THEME, highlight=False, emoji=False, stderr=True)


def _piped(shown_on: Console) -> bool:
    """Return whether another program reads it: then nothing needs to be cut or stacked."""
    return not shown_on.is_terminal and "COLUMNS" not in os.environ


def interactive() -> bool:
    """Return whether a person sits at both ends."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def show(*renderables: RenderableType) -> None:
    """Print renderables, one after another; a long path or command stays in one piece."""
    for renderable in renderables:
        console().print(renderable, overflow="ignore", crop=False)


def notice(text: str) -> None:
    """Say something beside the output, on standard error."""
    error_console().print(Text(text, "soft"), overflow="ignore", crop=False)


def caution(text: str) -> None:
    """Say what can hurt, on standard error, at full strength and marked by a sign."""
    error_console().print(Text(f"! {text}"), overflow="ignore", crop=False)


# What a column that takes the room left is worth, at least: with less, rows are stacked.
_ROOM = 18


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
            measures = [Measurement.get(console, unbound, _whole(cell)) for cell in cells]
            widest = max(measure.maximum for measure in measures)
            if column.ratio:
                least = max(measure.minimum for measure in measures)
                widest = min(widest, max(least, _ROOM + 6 * (column.ratio - 1)))
            needed += widest
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
            if isinstance(cell, str):
                words = console.render_str(_flat(cell))
            else:
                words = Text("  ").join(cell.split())
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


def _whole(cell: RenderableType) -> RenderableType:
    """Return a cell to measure, in which what belongs together is a word."""
    if isinstance(cell, str):
        return joined(cell)
    return Text(joined(cell.plain)) if isinstance(cell, Text) else cell


def _one_line(cell: RenderableType) -> RenderableType:
    if isinstance(cell, str):
        return _flat(cell)
    return Text("  ").join(cell.split()) if isinstance(cell, Text) else cell


def _flat(cell: str) -> str:
    """Return what has lines in a cell as one; a range over two of them is one again."""
    return re.sub(r"(?<= to)\n", " ", cell).replace("\n", "  ")


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
