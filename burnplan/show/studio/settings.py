"""Settings on the terminal."""

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.derived.studio_settings import ASKED, Settings
from burnplan.desk.studio.settings import FigureView
from burnplan.show.console import facts, table


def settings_card(settings: Settings) -> RenderableType:
    """Return all settings, and how to change one."""
    said = ((name, one.said(getattr(settings, name), settings)) for name, one in ASKED.items())
    return Group(
        facts(*((name, Text(words)) for name, words in said)),
        Text("Change one like paper=a3; all of them, one by one: burnplan settings --ask", "soft"),
    )


def figure_table(found: list[FigureView]) -> RenderableType:
    """Return the figures that the program begins with, and where each is from."""
    rows = table("+figure", ">to begin with", "from")
    for one in found:
        rows.add_row(one.what, one.value, one.source)
    more = "Of hours: burnplan pace --guess; of woods: burnplan blank species --json"
    return Group(rows, Text(more, "soft"))
