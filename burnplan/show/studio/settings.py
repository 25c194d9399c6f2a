"""Settings on the terminal."""

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.derived.studio_settings import ASKED, Settings
from burnplan.show.console import facts


def settings_card(settings: Settings) -> RenderableType:
    """Return all settings, and how to change one."""
    said = ((name, one.said(getattr(settings, name), settings)) for name, one in ASKED.items())
    return Group(
        facts(*((name, Text(words)) for name, words in said)),
        Text("Change one like paper=a3; all of them, one by one: burnplan settings --ask", "soft"),
    )
