"""The calendar file, read back with icalendar and held against rules of RFC 5545."""

import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import icalendar
import pytest

from burnplan.desk.jobs import checklists, commissions, endings, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import quotes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import calendar, planned_sessions
from burnplan.errors import BadInput
from burnplan.reckon.checklist import Phase
from burnplan.sheets.time.calendar_file import calendar_text, write_calendar
from tests import books
from tests.conftest import FixedClock
from tests.desk.test_whole_line import tick_phase


@pytest.fixture
def busy(studio: Studio) -> Studio:
    """A studio with one of everything that goes into a calendar."""
    odd = "Bär; mit\\Schleife, „groß“ – " + "sehr lang " * 15
    commissions.add(studio, Wishes(title=odd, client="Mara; Ö", due=date(2028, 2, 29)))
    quotes.issue(studio, "1", quotes.QuoteRequest(hours=4), valid_days=10)
    planned_sessions.add(
        studio, "1", datetime(2027, 3, 19, 14, tzinfo=UTC), timedelta(hours=2), note="a\nb"
    )
    commissions.add(studio, Wishes(title="Mill"))
    for phase in (Phase.PREPARE, Phase.TRANSFER, Phase.BURN):
        tick_phase(studio, "Mill", phase)
    checklists.tick(studio, "Mill", ["coat-1"])
    return studio


def written(studio: Studio) -> bytes:
    return calendar_text(calendar.entries(studio), "My studio", studio.now())


def events(text: bytes) -> dict[str, Any]:
    found = list(icalendar.Calendar.from_ical(text).walk("VEVENT"))
    by_uid = {str(event["uid"]): event for event in found}
    assert len(by_uid) == len(found), "UIDs are unique (RFC 5545, 3.8.4.7)"
    return by_uid


def test_everything_is_there_once(busy: Studio) -> None:
    found = {entry.kind: entry for entry in calendar.entries(busy)}
    assert set(found) == {"due", "next coat", "session", "quote expires"}
    assert len(calendar.entries(busy)) == 4
    assert found["due"].day == date(2028, 2, 29)
    assert found["quote expires"].day == date(2027, 3, 27)
    # A day after the first coat, as set.
    assert found["next coat"].day == date(2027, 3, 18)
    assert found["session"].starts_at == datetime(2027, 3, 19, 14, tzinfo=UTC)


def test_it_reads_back_as_written(busy: Studio) -> None:
    entries = {entry.uid: entry for entry in calendar.entries(busy)}
    read = events(written(busy))
    assert set(read) == set(entries)
    for uid, event in read.items():
        entry = entries[uid]
        assert str(event["summary"]) == entry.summary
        assert str(event.get("description", "")) == entry.details
        if entry.starts_at is None:
            assert event.start == entry.day
            assert event.end == entry.day + timedelta(days=1)
        else:
            assert event.start == entry.starts_at
            assert event.end == entry.ends_at
    leap = next(event for event in read.values() if event.start == date(2028, 2, 29))
    assert leap.end == date(2028, 3, 1)


def test_it_keeps_to_the_rules(busy: Studio) -> None:
    text = written(busy)
    # 3.1: lines end in CRLF and are no longer than 75 octets; 3.1.4: UTF-8.
    assert text.endswith(b"\r\n")
    assert b"\n" not in text.replace(b"\r\n", b"")
    lines = text.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    unfolded = text.decode("utf-8").replace("\r\n ", "").replace("\r\n\t", "").split("\r\n")
    # 3.4 and 3.6: an object is a VCALENDAR; PRODID and VERSION once each.
    assert (unfolded[0], unfolded[-2]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    for needed in ("PRODID:", "VERSION:2.0"):
        assert sum(line.startswith(needed) for line in unfolded) == 1
    # 3.1: a line is a name, parameters, a colon and a value.
    assert all(re.match(r"[A-Z0-9-]+(;[A-Z0-9-]+=[^:;]+)*:", line) for line in unfolded[:-1])
    blocks = "\n".join(unfolded).split("BEGIN:VEVENT")[1:]
    for block in blocks:
        # 3.6.1: UID and DTSTAMP are required and, like the rest here, may occur once only.
        for name in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY"):
            assert len(re.findall(rf"^{name}[;:]", block, re.MULTILINE)) == 1
        # 3.8.7.2: DTSTAMP is in UTC.
        assert re.search(r"^DTSTAMP:\d{8}T\d{6}Z$", block, re.MULTILINE)
        # 3.8.2.2: DTEND has the type of DTSTART and is later.
        start = re.search(r"^DTSTART(;VALUE=DATE)?:(\w+)", block, re.MULTILINE)
        end = re.search(r"^DTEND(;VALUE=DATE)?:(\w+)", block, re.MULTILINE)
        assert start
        assert end
        assert start[1] == end[1]
        assert start[2] < end[2]
        # 3.3.11: commas, semicolons and backslashes in text are escaped.
        summary = re.search(r"^SUMMARY:(.*)$", block, re.MULTILINE)
        assert summary
        assert not re.search(r"(?<!\\)[,;]", summary[1].replace("\\\\", ""))


def test_identifiers_stay_the_same(busy: Studio, clock: FixedClock) -> None:
    first = events(written(busy))
    clock.forward(days=1)
    assert set(events(written(busy))) == set(first)
    # What changes keeps its identifier: the calendar program moves it.
    commissions.edit(busy, "1", Wishes(title="Bear", due=date(2027, 5, 1)))
    changed = events(written(busy))
    assert set(changed) == set(first)
    assert date(2027, 5, 1) in {event.start for event in changed.values()}
    planned_sessions.remove(busy, 1)
    undo.undo_last(busy)
    assert set(events(written(busy))) == set(first)


def test_a_new_thing_has_a_new_identifier(busy: Studio) -> None:
    first = set(events(written(busy)))
    planned_sessions.remove(busy, 1)
    planned_sessions.add(busy, "1", datetime(2027, 3, 20, 9, tzinfo=UTC), timedelta(hours=1))
    quotes.issue(busy, "1", quotes.QuoteRequest(hours=5))
    assert len(set(events(written(busy))) - first) == 2


def test_no_two_books_share_identifiers(busy: Studio, tmp_path: Path, clock: FixedClock) -> None:
    clock.forward(seconds=1)
    other = books.open_at(tmp_path / "other", clock)
    commissions.add(other, Wishes(title="Bear", due=date(2028, 2, 29)))
    assert not set(events(written(other))) & set(events(written(busy)))
    other.close()


def test_what_is_done_with_is_gone(busy: Studio) -> None:
    sessions.log(busy, "1", timedelta(hours=1), sessions.Doing())
    endings.drop(busy, "1", "moved away")
    assert {entry.code for entry in calendar.entries(busy)} == {"C-0002"}
    endings.deliver(busy, "Mill")
    assert calendar.entries(busy) == []
    assert events(written(busy)) == {}


def test_a_file_is_written_whole_or_not(busy: Studio, tmp_path: Path) -> None:
    path = tmp_path / "my.ics"
    write_calendar(calendar.entries(busy), path, "My studio", busy.now())
    assert len(events(path.read_bytes())) == 4
    with pytest.raises(BadInput, match="no folder"):
        write_calendar([], tmp_path / "no" / "my.ics", "x", busy.now())
