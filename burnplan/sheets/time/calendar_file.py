"""A calendar file (RFC 5545) that calendar programs read."""

import os
from collections.abc import Iterable
from datetime import datetime, timedelta
from pathlib import Path

from burnplan.desk.time.calendar import CalendarEntry
from burnplan.files import written_whole
from burnplan.sheets.writing import Written


def calendar_text(entries: Iterable[CalendarEntry], name: str, now: datetime) -> bytes:
    """Return entries as an iCalendar object with a name, made now (an aware time, DTSTAMP).

    It is in UTF-8, its lines folded and ended as RFC 5545 (section 3.1) has it.
    """
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", "-//burnplan//burnplan//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    # Not in RFC 5545, but what calendar programs show (RFC 7986 calls it NAME).
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)
    for entry in entries:
        event = Event()
        event.add("uid", entry.uid)
        event.add("dtstamp", now)
        event.add("summary", entry.summary)
        if entry.details:
            event.add("description", entry.details)
        event.add("categories", [entry.kind])
        if entry.starts_at is not None and entry.ends_at is not None:
            event.add("dtstart", entry.starts_at)
            event.add("dtend", entry.ends_at)
        else:
            event.add("dtstart", entry.day)
            # The end is not part of the event (RFC 5545, section 3.6.1).
            event.add("dtend", entry.day + timedelta(days=1))
            event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def write_calendar(
    entries: Iterable[CalendarEntry], path: str | os.PathLike[str], name: str, now: datetime
) -> Written:
    """Write a calendar file."""
    text = calendar_text(entries, name, now)
    with written_whole(path) as unfinished:
        unfinished.write_bytes(text)
    return Written(Path(path), 0)
