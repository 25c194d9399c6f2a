"""The history on the terminal."""

from rich.console import RenderableType
from rich.text import Text

from burnplan.dates import format_moment
from burnplan.desk.keeping.undo import Happening
from burnplan.desk.studio.studio import Studio
from burnplan.show.console import table


def history_table(happenings: list[Happening], studio: Studio) -> RenderableType:
    """Return what was done, newest first."""
    if not happenings:
        return Text("Nothing has been done yet. Start with: burnplan commission add", "soft")
    rows = table(">#", "when", "who", "+what")
    for one in happenings:
        style = "soft strike" if one.undone else ""
        rows.add_row(
            str(one.number),
            format_moment(studio.local(one.at), studio.today()),
            Text(one.author or "–"),
            Text(one.summary, style),
        )
    return rows
