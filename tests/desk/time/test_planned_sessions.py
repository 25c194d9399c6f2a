"""Planned sessions: laid into the hours free, with breaks, around what is there already."""

import re
from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import checklists, commissions, endings, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.studio import days_off, settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import calendar, planned_sessions, today, week
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.sheets.time.week_page import write_week
from tests import books
from tests.conftest import FixedClock
from tests.desk.test_whole_line import contents
from tests.desk.time.test_promises import book_job

FRIDAY = datetime(2027, 3, 19, 14, tzinfo=UTC)


@pytest.fixture
def queued(studio: Studio, photo: Path) -> Studio:
    """A studio with two booked jobs, four hours free Monday to Friday."""
    for title, days in (("Soon", 12), ("Later", 30)):
        book_job(studio, title, photo, days)
    return studio


def test_sessions_planned_for_a_closed_job_are_seen_no_more_until_it_is_undone(
    studio: Studio,
) -> None:
    for title in ("Kept", "Dropped", "Delivered"):
        commissions.add(studio, Wishes(title=title))
        hours = 2 * len(planned_sessions.since(studio, studio.now()))
        planned_sessions.add(studio, title, FRIDAY + timedelta(hours=hours), timedelta(hours=1))
    endings.drop(studio, "Dropped", "moved away")
    endings.deliver(studio, "Delivered")
    assert [one.title for one in planned_sessions.since(studio, studio.now())] == ["Kept"]
    # Their time is free again.
    planned_sessions.add(studio, "Kept", FRIDAY + timedelta(hours=2), timedelta(hours=1))
    undo.undo_last(studio)
    undo.undo_last(studio)
    found = planned_sessions.since(studio, studio.now())
    assert [one.title for one in found] == ["Kept", "Delivered"]


def test_sessions_planned_for_a_job_set_aside_wait_with_it(queued: Studio) -> None:
    soon = planned_sessions.add(queued, "Soon", queued.now(), timedelta(hours=2))
    later = planned_sessions.add(queued, "Later", FRIDAY, timedelta(hours=1))

    def seen() -> list[list[str]]:
        page, entries = week.page(queued), calendar.entries(queued)
        return [
            [one.code for one in planned_sessions.since(queued, queued.now())],
            [one.code for day in page.days for one in day.sittings],
            [one.code for one in entries if one.kind == "session"],
        ]

    assert seen() == [[soon.code, later.code]] * 3
    assert [one.code for one in today.look(queued).planned] == [soon.code]
    commissions.pause(queued, "Soon", "the board has split")
    assert seen() == [[later.code]] * 3
    assert today.look(queued).planned == []
    with pytest.raises(NotAllowed, match="set aside"):
        planned_sessions.add(queued, "Soon", FRIDAY + timedelta(hours=3), timedelta(hours=1))
    # Its hours are free for others.
    start = queued.now() + timedelta(minutes=30)
    other = planned_sessions.add(queued, "Later", start, timedelta(hours=1))
    assert planned_sessions.overlapping(queued, "Later") == []
    commissions.resume(queued, "Soon")
    assert seen() == [[soon.code, later.code, later.code]] * 3
    assert planned_sessions.overlapping(queued, "Soon") == [soon]
    assert planned_sessions.overlapping(queued, "Later") == [other]
    planned_sessions.remove(queued, soon.number)
    assert planned_sessions.overlapping(queued, "Later") == []


def test_of_work_that_is_done_that_is_said_where_it_is_planned(queued: Studio) -> None:
    planned_sessions.add(queued, "Soon", queued.now(), timedelta(hours=1), work="transfer")
    steps = [str(one.number) for one in checklists.of(queued, "Soon").steps]
    checklists.tick(queued, "Soon", steps)

    def said() -> list[str]:
        (sitting,) = (one for day in week.page(queued).days for one in day.sittings)
        (entry,) = (one for one in calendar.entries(queued) if one.kind == "session")
        (planned,) = today.look(queued).planned
        return [sitting.work, entry.summary, planned.doing]

    done = "transfer, done already"
    assert said() == [done, "Transfer, done already: Soon", done]
    undo.undo_last(queued)
    assert said() == ["transfer", "Transfer: Soon", "transfer"]


class TestLaidOut:
    def test_a_day_holds_no_more_than_its_hours(self, queued: Studio) -> None:
        laid = planned_sessions.lay_out(queued, 14)
        by_day: dict[object, int] = {}
        for one in laid:
            day = queued.local(one.starts_at).date()
            by_day[day] = by_day.get(day, 0) + one.minutes
            assert day.weekday() < 5
            assert queued.local(one.starts_at).time() >= time(9)
        assert max(by_day.values()) <= 4 * 60

    def test_sessions_do_not_overlap_and_are_in_order(self, queued: Studio) -> None:
        laid = planned_sessions.lay_out(queued, 14)
        assert len(laid) > 3
        for earlier, later in pairwise(laid):
            assert earlier.ends_at < later.starts_at
        works = [one.work for one in laid if one.title == "Soon"]
        assert works == sorted(works, key=["prepare", "transfer", "burn", "finish"].index)
        # Earliest due date first: nothing of the later job before the last of the sooner one.
        titles = [one.title for one in laid]
        assert titles == sorted(titles, key=["Soon", "Later"].index)

    def test_burning_is_limited(self, queued: Studio) -> None:
        settings.save(queued, studio_settings.Settings(burning_hours=1))
        burned: dict[object, int] = {}
        for one in planned_sessions.lay_out(queued, 14):
            if one.work == "burn":
                day = queued.local(one.starts_at).date()
                burned[day] = burned.get(day, 0) + one.minutes
        assert burned
        assert max(burned.values()) <= 60

    def test_all_of_a_job_is_laid_once(self, queued: Studio) -> None:
        first = planned_sessions.lay_out(queued, 60)
        assert planned_sessions.lay_out(queued, 60) == []
        from burnplan.desk.jobs import review

        hours = sum(job.hours_left.p50 or 0 for job in review.review(queued))
        laid = sum(one.minutes for one in first) / 60
        # To five minutes for each of at most eight stages, up or down.
        assert laid == pytest.approx(hours, abs=8 * 5 / 60)

    def test_days_off_stay_free(self, queued: Studio) -> None:
        days_off.add(queued, queued.today(), queued.today() + timedelta(days=2), "Away")
        laid = planned_sessions.lay_out(queued, 7)
        assert queued.local(laid[0].starts_at).date() == queued.today() + timedelta(days=5)

    def test_hours_worked_today_are_gone(self, queued: Studio, clock: FixedClock) -> None:
        clock.forward(hours=3)
        sessions.log(queued, "Soon", timedelta(hours=3), sessions.Doing())
        today = [
            o for o in planned_sessions.lay_out(queued, 1) if o.starts_at.date() == queued.today()
        ]
        assert sum(one.minutes for one in today) <= 60
        assert all(one.starts_at >= queued.now() for one in today)

    def test_what_was_burned_today_counts_against_its_limit(
        self, queued: Studio, clock: FixedClock
    ) -> None:
        settings.save(queued, studio_settings.Settings(burning_hours=1))
        steps = enumerate(checklists.of(queued, "Soon").steps, start=1)
        early = [str(number) for number, step in steps if step.phase in ("prepare", "transfer")]
        checklists.tick(queued, "Soon", early)
        clock.forward(hours=1)
        assert "burn" in {one.work for one in planned_sessions.lay_out(queued, 1)}
        undo.undo_last(queued)
        sessions.log(queued, "Soon", timedelta(hours=1), sessions.Doing())
        assert "burn" not in {one.work for one in planned_sessions.lay_out(queued, 1)}

    def test_it_goes_around_what_is_planned(self, queued: Studio) -> None:
        planned_sessions.add(queued, "Later", FRIDAY.replace(hour=10), timedelta(hours=1))
        planned_sessions.lay_out(queued, 7)
        found = planned_sessions.since(queued, queued.now())
        for earlier, later in pairwise(found):
            assert earlier.ends_at <= later.starts_at
        friday = [one for one in found if one.starts_at.date() == FRIDAY.date()]
        assert sum(one.minutes for one in friday) <= 240

    def test_is_undone_as_one(self, queued: Studio) -> None:
        before = contents(queued)
        planned_sessions.lay_out(queued, 7)
        undo.undo_last(queued)
        assert contents(queued) == before

    def test_an_odd_number_of_days_is_refused(self, queued: Studio) -> None:
        for days in (0, 61):
            with pytest.raises(BadInput, match="laid out"):
                planned_sessions.lay_out(queued, days)


class TestOne:
    @pytest.fixture(autouse=True)
    def _job(self, studio: Studio) -> None:
        commissions.add(studio, Wishes(title="Barn"))

    def test_breaks_come_on_top(self, studio: Studio) -> None:
        made = planned_sessions.add(studio, "Barn", FRIDAY, timedelta(hours=2))
        assert made.ends_at == FRIDAY + timedelta(hours=2, minutes=10)
        assert made.breaks == [FRIDAY + timedelta(minutes=50)]

    def test_what_cannot_be_is_refused(self, studio: Studio) -> None:
        planned_sessions.add(studio, "Barn", FRIDAY, timedelta(hours=2))
        with pytest.raises(NotAllowed, match="planned then"):
            planned_sessions.add(studio, "Barn", FRIDAY + timedelta(hours=1), timedelta(hours=1))
        with pytest.raises(NotAllowed, match="planned then"):
            planned_sessions.add(studio, "Barn", FRIDAY - timedelta(hours=1), timedelta(hours=4))
        planned_sessions.add(studio, "Barn", FRIDAY - timedelta(hours=1), timedelta(hours=1))
        with pytest.raises(BadInput, match="past"):
            planned_sessions.add(
                studio, "Barn", studio.now() - timedelta(hours=1), timedelta(hours=1)
            )
        with pytest.raises(BadInput, match="longer than a day"):
            planned_sessions.add(studio, "Barn", FRIDAY, timedelta(hours=13))
        with pytest.raises(NotFound):
            planned_sessions.remove(studio, 9)
        endings.drop(studio, "Barn", "x")
        with pytest.raises(NotAllowed, match="was dropped"):
            planned_sessions.add(studio, "Barn", FRIDAY + timedelta(days=1), timedelta(hours=1))

    def test_taken_out_and_put_back(self, studio: Studio) -> None:
        planned_sessions.add(studio, "Barn", FRIDAY, timedelta(hours=2))
        before = contents(studio)
        planned_sessions.remove(studio, 1)
        assert planned_sessions.since(studio, studio.now()) == []
        undo.undo_last(studio)
        assert contents(studio) == before


class TestClockChanges:
    @pytest.fixture
    def berlin(self, tmp_path: Path, clock: FixedClock, photo: Path) -> Iterator[Studio]:
        opened = books.open_at(tmp_path / "b", clock, ZoneInfo("Europe/Berlin"))
        settings.save(
            opened, studio_settings.Settings(hours=dict.fromkeys(studio_settings.DAYS, 1.0))
        )
        book_job(opened, "Soon", photo, 12)
        yield opened
        opened.close()

    @pytest.mark.parametrize(
        "sunday",
        # Directive 2000/84/EC: clocks change on the last Sundays of March and October.
        [datetime(2027, 3, 28, tzinfo=UTC), datetime(2027, 10, 31, tzinfo=UTC)],
    )
    def test_nine_is_nine_before_and_after(
        self, berlin: Studio, clock: FixedClock, sunday: datetime
    ) -> None:
        clock.now = sunday - timedelta(hours=20)  # Saturday, early
        laid = planned_sessions.lay_out(berlin, 3)
        firsts: dict[object, time] = {}
        for one in laid:
            wall = berlin.local(one.starts_at)
            firsts.setdefault(wall.date(), wall.time())
        assert set(firsts.values()) == {time(9)}
        assert len(firsts) > 1

    def test_a_session_through_the_change_is_as_long_as_said(self, berlin: Studio) -> None:
        # 01:30 in winter time; two hours and a break later it is 04:40 in summer time.
        start = berlin.moment(datetime(2027, 3, 28, 1, 30))  # noqa: DTZ001 wall-clock time
        made = planned_sessions.add(berlin, "Soon", start, timedelta(hours=2))
        assert made.ends_at - made.starts_at == timedelta(hours=2, minutes=10)
        assert berlin.local(made.ends_at).time() == time(4, 40)

    def test_a_night_in_another_zone_is_the_next_day(
        self, berlin: Studio, clock: FixedClock
    ) -> None:
        clock.now = datetime(2027, 3, 17, 23, 30, tzinfo=UTC)  # the 18th in Berlin
        laid = planned_sessions.lay_out(berlin, 1)
        assert {berlin.local(one.starts_at).date() for one in laid} == {berlin.today()}
        assert berlin.today().day == 18


class TestWeekPage:
    def test_every_day_has_what_it_has(self, queued: Studio) -> None:
        days_off.add(queued, queued.today() + timedelta(days=1), None, "Dentist")
        planned_sessions.lay_out(queued, 7)
        page = week.page(queued)
        assert [day.day.weekday() for day in page.days] == list(range(7))
        assert [day.free for day in page.days] == [4, 4, 4, 0, 4, 0, 0]
        assert page.days[3].off == "Dentist"
        assert page.days[2].sittings
        assert not page.days[3].sittings
        following = week.page(queued, following=True)
        assert following.days[0].day == page.days[0].day + timedelta(days=7)
        due = [entry.title for day in week.page(queued).days for entry in day.entries]
        assert due == []

    @pytest.mark.long
    def test_a_day_that_was_off_was_off(self, queued: Studio, clock: FixedClock) -> None:
        monday = queued.today() - timedelta(days=2)
        days_off.add(queued, monday - timedelta(days=3), monday, "Craft fair")
        own = studio_settings.Settings(holidays="IE")  # St Patrick's Day is today, a Wednesday
        settings.save(queued, own)
        clock.forward(days=2)
        page = week.page(queued)
        assert [day.free for day in page.days] == [0, 4, 0, 4, 4, 0, 0]
        assert [bool(day.off) for day in page.days] == [True, False, True, *[False] * 4]
        assert page.days[0].off == "Craft fair"
        assert not any(day.off for day in week.page(queued, following=True).days)

    def test_prints_one_page_with_everything_on_it(self, queued: Studio, tmp_path: Path) -> None:
        from pypdf import PdfReader

        planned_sessions.lay_out(queued, 7)
        days_off.add(queued, queued.today() + timedelta(days=2), None, "Dentist")
        evening = queued.now().replace(hour=17, minute=3)
        planned_sessions.add(queued, "1", evening, timedelta(hours=5))
        written = write_week(week.page(queued), tmp_path / "week.pdf", studio_settings.Settings())
        assert written.notes == ()
        (page,) = PdfReader(tmp_path / "week.pdf").pages
        assert float(page.mediabox.width) == pytest.approx(297 * 72 / 25.4, abs=0.5)  # ISO 216
        text = page.extract_text()
        # ISO 8601: 17 March 2027 is in week 11.
        for word in ("Week 11", "Wed 17", "Dentist", "C-0001", "Later", "09:00", "break"):
            assert word in text, word
        (long,) = (one for day in week.page(queued).days for one in day.sittings
                   if one.starts.minute == 3)  # fmt: skip
        assert len(long.breaks) > 3
        assert all(f"{at:%H:%M}" in text for at in long.breaks)

    @pytest.mark.long
    def test_many_jobs_and_strange_titles_fit(self, studio: Studio, tmp_path: Path) -> None:
        from pypdf import PdfReader

        for n in range(40):
            wishes = Wishes(title=f"{n} 猫 " + "W" * 150, client="X" * 150, due=studio.today())
            commissions.add(studio, wishes)
        for n in range(12):
            at = studio.now() + timedelta(minutes=30 * n)
            planned_sessions.add(studio, "1", at, timedelta(minutes=20))
        write_week(week.page(studio), tmp_path / "week.pdf", studio_settings.Settings())
        (page,) = PdfReader(tmp_path / "week.pdf").pages
        text = page.extract_text()
        assert "more: burnplan jobs" in text
        (left,) = re.findall(r"and (\d+) more(?!:)", text)
        assert text.count("Due: ") + int(left) == 40 + 12
        assert len(text) < 6000
