"""Days off on the terminal."""

from datetime import date

from rich.console import RenderableType
from rich.text import Text

from burnplan.dates import format_date, format_day
from burnplan.desk.studio.days_off import DayOffView
from burnplan.show.console import table


def off_no_more(gone: DayOffView) -> str:
    """Return that days which were taken off are so no more."""
    first, last = format_day(gone.starts_on), format_day(gone.ends_on)
    return f"{first} is no day off now" if first == last else f"{first} to {last} are not off now"


def days_off_table(found: list[DayOffView], today: date) -> RenderableType:
    """Return days off, or what to do when there are none."""
    if not found:
        return Text("No days off. Take some with: burnplan days-off add friday", "soft")
    rows = table("#", "from", "to", "+reason")
    for one in found:
        last = format_date(one.ends_on, today) if one.ends_on != one.starts_on else ""
        number = "" if one.number is None else str(one.number)
        rows.add_row(number, format_date(one.starts_on, today), last, Text(one.reason))
    return rows
