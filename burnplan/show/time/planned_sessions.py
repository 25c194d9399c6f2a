"""Planned sessions on the terminal."""

from rich.console import RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time.planned_sessions import PlannedView
from burnplan.show.console import table
from burnplan.units import format_hours


def planned_table(found: list[PlannedView], studio: Studio) -> RenderableType:
    """Return planned sessions, or what to do when there are none."""
    if not found:
        return Text("Nothing is planned. Lay the queue out with: burnplan session plan", "soft")
    today = studio.today()
    rows = table("#", "day", "from", "to", "job", "+title", "work", ">time", "breaks", "+note")
    for one in found:
        start, end = studio.local(one.starts_at), studio.local(one.ends_at)
        rows.add_row(
            str(one.number),
            format_date(start.date(), today),
            f"{start:%H:%M}",
            f"{end:%H:%M}",
            Text(one.code, "code"),
            Text(one.title),
            one.doing,
            format_hours(one.minutes / 60),
            Text(" ".join(f"{studio.local(at):%H:%M}" for at in one.breaks), "soft"),
            Text(one.note),
        )
    return rows
