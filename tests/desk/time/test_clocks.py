"""Hours are right whatever the wall clock does: a matrix of places and nights.

Each session is known by what passes between two moments in UTC. That is worked out here
from the rules of each zone (the tz database), not by the program.
"""

import os
import time
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from burnplan.desk.jobs import commissions, corrections, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio import days_off, typed_dates
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import planned_sessions
from burnplan.errors import BurnplanError
from tests import books
from tests.cases import quick_first
from tests.conftest import FixedClock

# Zone, when it began and ended by the wall clock there, and the hours that passed.
NIGHTS = {
    "an hour is left out": ("Europe/Berlin", "2027-03-28 01:30", "2027-03-28 03:30", 1.0),
    "an hour comes twice": ("Europe/Berlin", "2027-10-31 01:30", "2027-10-31 03:30", 3.0),
    "left out in America": ("America/New_York", "2027-03-14 01:00", "2027-03-14 04:00", 2.0),
    "twice in America": ("America/New_York", "2027-11-07 00:30", "2027-11-07 03:00", 3.5),
    "half an hour left out": ("Australia/Lord_Howe", "2027-10-03 01:00", "2027-10-03 03:00", 1.5),
    "half an hour twice": ("Australia/Lord_Howe", "2027-04-04 01:00", "2027-04-04 03:00", 2.5),
    "no such jump": ("Asia/Kathmandu", "2027-03-28 01:30", "2027-03-28 03:30", 2.0),
    "into the leap day": ("Europe/Berlin", "2028-02-28 23:00", "2028-02-29 01:00", 2.0),
    "out of the leap day": ("Europe/Berlin", "2028-02-29 23:00", "2028-03-01 01:30", 2.5),
    "no leap day": ("Europe/Berlin", "2027-02-28 23:00", "2027-03-01 01:30", 2.5),
    "into the year": ("Pacific/Auckland", "2027-12-31 22:00", "2028-01-01 01:00", 3.0),
    "west of the date line": ("Pacific/Kiritimati", "2027-12-31 22:00", "2028-01-01 01:00", 3.0),
}


@pytest.fixture(
    params=[
        pytest.param(night, marks=() if number < 4 else pytest.mark.long)
        for number, night in enumerate(NIGHTS.values())
    ],
    ids=list(NIGHTS),
)
def night(request: pytest.FixtureRequest) -> tuple[ZoneInfo, datetime, datetime, float]:
    name, began, ended, hours = request.param
    zone = ZoneInfo(name)
    first, last = (
        datetime.fromisoformat(text).replace(tzinfo=zone).astimezone(UTC) for text in (began, ended)
    )
    assert (last - first) / timedelta(hours=1) == hours, "the row itself is right"
    return zone, first, last, hours


Night = tuple[ZoneInfo, datetime, datetime, float]


def at(studio: Studio, clock: FixedClock, zone: ZoneInfo, moment: datetime) -> Studio:
    """Return the studio as it is opened in a place at a moment."""
    clock.now = moment
    return books.open_at(studio.home, clock, zone)


def hours_done(studio: Studio) -> float:
    return commissions.show(studio, "1").hours_done


def test_the_clock_counts_what_passed(studio: Studio, clock: FixedClock, night: Night) -> None:
    zone, first, last, hours = night
    here = at(studio, clock, zone, first)
    commissions.add(here, Wishes(title="Fox"))
    sessions.start(here, "1", sessions.Doing())
    clock.now = first + (last - first) / 4
    sessions.pause(here)
    clock.now = first + (last - first) / 2
    sessions.resume(here)
    clock.now = last
    open_one = sessions.open_now(here)
    assert open_one is not None
    assert open_one.hours == pytest.approx(hours * 0.75)
    assert sessions.stop(here).hours == pytest.approx(hours * 0.75)
    assert hours_done(here) == pytest.approx(hours * 0.75)
    here.close()


@quick_first("elsewhere", ["America/New_York", "Asia/Tokyo", "Pacific/Kiritimati"])
def test_it_is_stopped_in_another_zone(
    studio: Studio, clock: FixedClock, night: Night, elsewhere: str
) -> None:
    zone, first, last, hours = night
    here = at(studio, clock, zone, first)
    commissions.add(here, Wishes(title="Fox"))
    sessions.start(here, "1", sessions.Doing())
    there = at(studio, clock, ZoneInfo(elsewhere), last)
    assert sessions.stop(there).hours == pytest.approx(hours)
    (seen,) = sessions.all_of(there, "1")
    assert there.local(seen.started_at) == first.astimezone(ZoneInfo(elsewhere)).replace(
        tzinfo=None
    )
    assert hours_done(here) == hours_done(there) == pytest.approx(hours)
    here.close()
    there.close()


def test_what_is_logged_ends_at_the_time_on_the_wall(
    studio: Studio, clock: FixedClock, night: Night
) -> None:
    zone, first, last, hours = night
    here = at(studio, clock, zone, last + timedelta(minutes=1))
    commissions.add(here, Wishes(title="Fox"))
    typed = f"{last.astimezone(zone):%Y-%m-%d %H:%M}"
    ended = typed_dates.moment(here, typed)
    assert ended == last
    sessions.log(here, "1", timedelta(hours=hours), sessions.Doing(), ended=ended)
    (seen,) = sessions.all_of(here, "1")
    assert seen.started_at == first
    assert hours_done(here) == pytest.approx(hours)
    corrections.correct(
        here, seen.number, corrections.Correction(length=timedelta(hours=1)), "clock"
    )
    assert hours_done(here) == pytest.approx(1)
    here.close()


def test_a_clock_set_back_or_on_counts_nothing_that_was_not(
    studio: Studio, clock: FixedClock, night: Night
) -> None:
    zone, first, last, hours = night
    here = at(studio, clock, zone, first)
    commissions.add(here, Wishes(title="Fox"))
    sessions.start(here, "1", sessions.Doing())
    clock.now = first - timedelta(days=1)
    open_one = sessions.open_now(here)
    assert open_one is not None
    assert open_one.hours == 0
    clock.now = last
    assert sessions.stop(here).hours == pytest.approx(hours)
    here.close()


def test_today_is_the_day_on_the_wall(studio: Studio, clock: FixedClock, night: Night) -> None:
    zone, first, last, _ = night
    for moment in (first, last):
        here = at(studio, clock, zone, moment)
        wall = moment.astimezone(zone)
        assert here.today() == wall.date()
        assert typed_dates.day(here, "tomorrow") == wall.date() + timedelta(days=1)
        assert here.moment(here.local(moment)) in (moment, moment - _ambiguity(zone, moment))
        here.close()


def _ambiguity(zone: ZoneInfo, moment: datetime) -> timedelta:
    """Return how far apart the two moments are that a time on the wall may mean."""
    wall = moment.astimezone(zone).replace(tzinfo=zone)
    return abs(
        (wall.utcoffset() or timedelta()) - (wall.replace(fold=1).utcoffset() or timedelta())
    )


@pytest.fixture
def system_zone() -> Iterator[None]:
    before = os.environ.get("TZ")
    yield
    if before is None:
        os.environ.pop("TZ", None)
    else:
        os.environ["TZ"] = before
    time.tzset()


@pytest.mark.usefixtures("system_zone")
def test_the_systems_zone_may_change_between_sessions(
    studio: Studio, clock: FixedClock, night: Night
) -> None:
    zone, first, last, hours = night
    clock.now = first
    here = Studio(studio.home, studio.database_url, clock)
    commissions.add(here, Wishes(title="Fox"))
    total = 0.0
    for number, name in enumerate((str(zone), "America/New_York", "Asia/Tokyo")):
        os.environ["TZ"] = name
        time.tzset()
        clock.now = first + timedelta(days=number)
        sessions.start(here, "1", sessions.Doing())
        clock.now += last - first
        assert here.local(clock.now) == clock.now.astimezone(ZoneInfo(name)).replace(tzinfo=None)
        assert sessions.stop(here).hours == pytest.approx(hours)
        total += hours
        assert hours_done(here) == pytest.approx(total)
    here.close()


@pytest.mark.parametrize(
    ("typed", "first", "last"),
    [
        ("2028-02-29", date(2028, 2, 29), date(2028, 2, 29)),
        ("31 december", date(2027, 12, 31), date(2027, 12, 31)),
    ],
)
def test_days_off_at_the_edges_of_the_calendar(
    studio: Studio, clock: FixedClock, typed: str, first: date, last: date
) -> None:
    clock.now = datetime(2027, 12, 30, 12, tzinfo=UTC)
    here = books.open_at(studio.home, clock, ZoneInfo("Europe/Berlin"))
    kept = days_off.add(here, typed_dates.day(here, typed), None, "fair")
    assert (kept.starts_on, kept.ends_on) == (first, last)
    with pytest.raises(BurnplanError):
        typed_dates.day(here, "2027-02-29")
    here.close()


@pytest.mark.parametrize("wall", ["2027-03-28 01:30", "2027-10-31 01:30"])
def test_a_planned_session_over_a_jump_is_as_long_as_it_is(
    studio: Studio, clock: FixedClock, wall: str
) -> None:
    zone = ZoneInfo("Europe/Berlin")
    clock.now = datetime(2027, 3, 1, 12, tzinfo=UTC)
    here = books.open_at(studio.home, clock, zone)
    commissions.add(here, Wishes(title="Fox", size="12x9cm"))
    starts = here.moment(datetime.fromisoformat(wall))
    planned = planned_sessions.add(here, "1", starts, timedelta(hours=2))
    assert here.local(planned.starts_at) == datetime.fromisoformat(wall)
    assert planned.starts_at == starts
    assert planned.minutes == 120
    breaks = (planned.ends_at - planned.starts_at) - timedelta(minutes=120)
    assert timedelta() <= breaks <= timedelta(minutes=60)
    here.close()


def test_a_clock_set_back_puts_no_break_off(studio: Studio, clock: FixedClock) -> None:
    """What was worked by a clock that ran ahead is still to come by the right one."""
    commissions.add(studio, Wishes(title="Fox"))
    sessions.log(studio, "1", timedelta(hours=1), sessions.Doing())
    clock.forward(hours=-4)
    sessions.start(studio, "1", sessions.Doing())
    assert sessions.break_due(studio) == clock.now + timedelta(minutes=50)
