"""The terminal: one console, its colours and its way of laying out tables."""

import sys
from collections.abc import Iterator
from functools import cache

from rich.box import Box
from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment
from rich.table import Table
from rich.text import Text
from rich.theme import Theme

from burnplan.harmless import harmless

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
                yield Segment(harmless(segment.text), segment.style)


@cache
def console() -> Console:
    """Return the console of standard output."""
    return _Console(theme=THEME, highlight=False, soft_wrap=False)


@cache
def error_console() -> Console:
    """Return the console of standard error, for notices, progress and errors."""
    return _Console(theme=THEME, highlight=False, stderr=True)


def interactive() -> bool:
    """Return whether a person sits at both ends."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def show(*renderables: RenderableType) -> None:
    """Print renderables, one after another; in plain lines, a long path stays in one piece."""
    for renderable in renderables:
        if isinstance(renderable, str):
            console().print(renderable, overflow="ignore", crop=False)
        else:
            console().print(renderable)


def notice(text: str) -> None:
    """Say something beside the output, on standard error."""
    error_console().print(Text(text, "soft"), overflow="ignore", crop=False)


def table(*columns: str, title: str = "") -> Table:
    """Return an empty table.

    Parameters
    ----------
    columns : str
        Headings; one that begins with ``>`` is for figures, aligned right, and
        one that begins with ``+`` takes the room that is left, with ``++`` a
        double share of it.
    title : str
        A line above it.
    """
    made = Table(
        box=_RULED,
        title=title or None,
        title_justify="left",
        title_style="title",
        header_style="head",
        pad_edge=False,
        show_edge=False,
        padding=(0, 1),
    )
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
