"""What a calendar file holds, on the terminal."""

from rich.console import RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time.calendar import CalendarEntry
from burnplan.show.console import table


def entry_table(found: list[CalendarEntry], studio: Studio) -> RenderableType:
    """Return what a calendar file would hold, or what to do when that is nothing."""
    if not found:
        words = "The calendar is empty. Give a job its due date:"
        return Text(f"{words} burnplan commission edit JOB --due DAY", "soft")
    rows = table("day", "time", "job", "what", "+says")
    for one in found:
        day, hours = one.day, ""
        if one.starts_at is not None and one.ends_at is not None:
            start, end = studio.local(one.starts_at), studio.local(one.ends_at)
            day, hours = start.date(), f"{start:%H:%M}–{end:%H:%M}"
        rows.add_row(
            format_date(day, studio.today()),
            hours,
            Text(one.code, "code"),
            one.kind,
            Text(one.summary),
        )
    return rows
