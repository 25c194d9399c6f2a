"""Dates promised from the book: its calendar, its queue, its clock; the review that uses them."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import (
    checklists,
    commissions,
    corrections,
    endings,
    references,
    review,
    sessions,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.studio import days_off, free_hours, settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import promises
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.reckon.checklist import Phase
from burnplan.reckon.free_hours import FreeHours
from burnplan.reckon.stages import Stage
from tests import books
from tests.conftest import FixedClock
from tests.desk.test_whole_line import contents, tick_phase

BERLIN = ZoneInfo("Europe/Berlin")
AUCKLAND = ZoneInfo("Pacific/Auckland")


def book_job(studio: Studio, title: str, photo: Path, due_in: int | None, **more: str) -> str:
    """Bring a job into the queue: planned, quoted, accepted, deposit in."""
    due = None if due_in is None else studio.today() + timedelta(days=due_in)
    wishes = Wishes(title=title, size="20x15cm", due=due, **more)
    code = commissions.add(studio, wishes).code
    references.add(studio, code, photo, zones=3)
    deposit = quotes.issue(studio, code, quotes.QuoteRequest()).deposit
    accepting.accept(studio, code)
    payments.take(studio, code, str(deposit), "deposit")
    return code


@pytest.fixture
def berlin(tmp_path: Path, clock: FixedClock) -> Iterator[Studio]:
    """A studio whose clock on the wall changes with the season."""
    opened = books.open_at(tmp_path / "berlin", clock, BERLIN)
    yield opened
    opened.close()


def ahead_of(studio: Studio) -> FreeHours:
    with studio.reading() as book:
        return free_hours.ahead(book, studio_settings.of_book(book), studio)


class TestHoursFree:
    @pytest.mark.long
    def test_days_off_and_holidays_have_none(self, studio: Studio) -> None:
        settings.save(studio, studio_settings.Settings(holidays="DE-BY"))
        days_off.add(studio, date(2027, 3, 22), date(2027, 3, 23), "Craft fair")
        ahead = ahead_of(studio)
        # Easter Sunday of 2027 is 28 March (Gregorian computus; Astronomical Almanac),
        # so Good Friday is the 26th and Easter Monday the 29th.
        off = {date(2027, 3, 22), date(2027, 3, 23), date(2027, 3, 26), date(2027, 3, 29)}
        for n in range(20):
            day = studio.today() + timedelta(days=n)
            free = 4.0 if day.weekday() < 5 and day not in off else 0.0
            assert ahead.capacity.on(day) == free, day

    @pytest.mark.long
    def test_a_part_of_a_country_has_holidays_of_its_own(self, studio: Studio) -> None:
        # Epiphany is a holiday in Bavaria (Art. 1 FTG), not in Berlin.
        for part, free in (("DE-BY", 0.0), ("DE-BE", 4.0)):
            settings.save(studio, studio_settings.Settings(holidays=part))
            assert ahead_of(studio).capacity.on(date(2028, 1, 6)) == free

    def test_a_range_over_a_leap_day_is_all_off(self, studio: Studio, clock: FixedClock) -> None:
        clock.now = datetime(2028, 2, 25, 9, tzinfo=UTC)  # a Friday
        days_off.add(studio, date(2028, 2, 28), date(2028, 3, 1), "Away")
        ahead = ahead_of(studio)
        assert ahead.until(date(2028, 2, 29)) == 4  # only that Friday
        assert ahead.until(date(2028, 3, 2)) == 8
        days_off.remove(studio, 1)
        assert ahead_of(studio).until(date(2028, 3, 2)) == 4 * 5

    def test_days_off_are_listed_changed_and_refused(self, studio: Studio) -> None:
        before = contents(studio)
        added = days_off.add(studio, studio.today(), None, "Rest")
        assert added.ends_on == studio.today()
        own = studio_settings.Settings(holidays="US")
        found = days_off.to_come(studio, own)
        assert found[0] == added
        named = {one.starts_on: one.reason for one in found if one.number is None}
        assert "Independence Day" in named[date(2027, 7, 4)]  # 5 U.S.C. § 6103
        days_off.remove(studio, 1)
        undo.undo_last(studio)
        assert days_off.to_come(studio, studio_settings.Settings()) == [added]
        undo.undo_last(studio)
        assert contents(studio) == before
        with pytest.raises(BadInput, match="is before"):
            days_off.add(studio, date(2027, 5, 2), date(2027, 5, 1), "x")
        with pytest.raises(BadInput, match="more than a year"):
            days_off.add(studio, date(2027, 5, 2), date(2037, 5, 1), "x")
        with pytest.raises(NotFound):
            days_off.remove(studio, 9)

    def test_past_days_off_are_no_longer_listed(self, studio: Studio, clock: FixedClock) -> None:
        days_off.add(studio, studio.today(), None, "Rest")
        clock.forward(days=1)
        assert days_off.to_come(studio, studio_settings.Settings()) == []


class TestWorkedToday:
    def test_counts_from_midnight_here(self, berlin: Studio, clock: FixedClock) -> None:
        commissions.add(berlin, Wishes(title="Barn"))
        # 00:30 in Berlin, still yesterday in UTC; two hours ended then, half an hour is today's.
        clock.now = datetime(2027, 3, 16, 23, 30, tzinfo=UTC)
        assert berlin.today() == date(2027, 3, 17)
        sessions.log(berlin, "Barn", timedelta(hours=2), sessions.Doing())
        assert ahead_of(berlin).worked_today == pytest.approx(0.5)
        clock.forward(hours=22)
        assert ahead_of(berlin).worked_today == pytest.approx(0.5)
        clock.forward(hours=2)
        assert ahead_of(berlin).worked_today == 0

    def test_a_running_clock_counts_up_to_now(self, berlin: Studio, clock: FixedClock) -> None:
        commissions.add(berlin, Wishes(title="Barn"))
        sessions.start(berlin, "Barn", sessions.Doing())
        clock.forward(minutes=90)
        assert ahead_of(berlin).worked_today == pytest.approx(1.5)

    @pytest.mark.parametrize(
        ("midnight", "hours"),
        [
            # Clocks change at 01:00 UTC on the last Sunday of March and October
            # (Directive 2000/84/EC, articles 2 and 3): days of 23 and 25 hours.
            (datetime(2027, 3, 27, 23, tzinfo=UTC), 23),
            (datetime(2027, 10, 30, 22, tzinfo=UTC), 25),
        ],
    )
    def test_a_day_of_another_length_is_counted_in_true_hours(
        self, berlin: Studio, clock: FixedClock, midnight: datetime, hours: int
    ) -> None:
        commissions.add(berlin, Wishes(title="Barn"))
        clock.now = midnight
        sessions.start(berlin, "Barn", sessions.Doing())
        day = berlin.today()
        clock.forward(hours=hours - 1, minutes=59)
        assert berlin.today() == day
        assert ahead_of(berlin).worked_today == pytest.approx(hours - 1 / 60)
        clock.forward(minutes=1)
        assert berlin.today() == day + timedelta(days=1)
        assert ahead_of(berlin).worked_today == 0

    def test_a_due_day_ends_at_midnight_here(
        self, tmp_path: Path, clock: FixedClock, photo: Path
    ) -> None:
        # 11:30 UTC on 17 March is half past midnight on the 18th in Auckland (UTC+13).
        clock.now = datetime(2027, 3, 17, 10, 30, tzinfo=UTC)
        there = books.open_at(tmp_path / "there", clock, AUCKLAND)
        book_job(there, "Barn", photo, 0)
        assert there.today() == date(2027, 3, 17)
        assert "late" not in review.review(there)[0].attention.replace("likely late", "")
        clock.forward(hours=1)
        assert review.review(there)[0].attention == "1 day late"
        there.close()


class TestReview:
    def test_days_off_lower_the_chance(self, studio: Studio, photo: Path) -> None:
        book_job(studio, "Barn", photo, 14)
        free = review.review(studio)[0].on_time
        days_off.add(studio, studio.today(), studio.today() + timedelta(days=13), "Away")
        away = review.review(studio)[0].on_time
        assert free is not None
        assert free > 0.8
        assert away == pytest.approx(0, abs=0.01)

    def test_a_limit_on_burning_lowers_the_chance(self, studio: Studio, photo: Path) -> None:
        book_job(studio, "Barn", photo, 6)
        free = review.review(studio)[0].on_time
        settings.save(studio, studio_settings.Settings(burning_hours=0.25))
        limited = review.review(studio)[0].on_time
        assert free is not None
        assert limited is not None
        assert limited < free - 0.3

    def test_drying_and_delivery_take_days_not_hours(self, studio: Studio, photo: Path) -> None:
        book_job(studio, "Barn", photo, 10)
        free = promises.look_ahead(studio).queue[0]
        settings.save(studio, studio_settings.Settings(drying_days=2, delivery_days=4))
        later = promises.look_ahead(studio).queue[0]
        assert (later.p50 - free.p50).days == 5  # 6 instead of 1

    def test_it_can_be_narrowed(self, studio: Studio, photo: Path) -> None:
        book_job(studio, "Barn", photo, 10, client="Mara")
        commissions.add(studio, Wishes(title="Mill", client="Ines"))

        def found(**only: Any) -> list[str]:
            return [job.title for job in review.review(studio, review.JobFilter(**only))]

        assert found(stage=Stage.BOOKED) == ["Barn"]
        assert found(client="ines") == ["Mill"]
        assert found(owed=True) == ["Barn"]
        due = studio.today() + timedelta(days=10)
        assert found(due_from=due, due_until=due) == ["Barn"]
        assert found(due_from=due + timedelta(days=1)) == []
        assert found(due_until=due - timedelta(days=1)) == []
        with pytest.raises(BadInput, match="is before"):
            found(due_from=due, due_until=due - timedelta(days=1))
        with pytest.raises(NotFound):
            found(client="Nobody")

    def test_a_job_that_is_not_shown_still_counts(self, studio: Studio, photo: Path) -> None:
        for title, days in (("First", 6), ("Second", 7)):
            book_job(studio, title, photo, days)
        all_of_them = {job.title: job.on_time for job in review.review(studio)}
        due = studio.today() + timedelta(days=7)
        (second,) = review.review(studio, review.JobFilter(due_from=due))
        assert second.on_time == all_of_them["Second"]


class TestProgress:
    def test_is_said_plainly(self, studio: Studio, photo: Path) -> None:
        code = book_job(studio, "Barn", photo, 30)
        assert review.progress(studio, code).startswith("not begun; ")
        assert review.progress(studio, code).endswith("on course for Fri 16 Apr")
        tick_phase(studio, code, Phase.PREPARE)
        sessions.log(studio, code, timedelta(hours=1), sessions.Doing(work="prepare"))
        assert " % done in " in review.progress(studio, code)
        for phase in (Phase.TRANSFER, Phase.BURN, Phase.FINISH):
            tick_phase(studio, code, phase)
        assert review.progress(studio, code).startswith("done in ")
        endings.deliver(studio, code)
        assert review.progress(studio, code) == ""

    def test_slow_hours_of_its_own_make_more_to_come(self, studio: Studio, photo: Path) -> None:
        code = book_job(studio, "Barn", photo, 30)
        tick_phase(studio, code, Phase.PREPARE)
        before = review.review(studio)[0].hours_left.p50
        forecast = references.show(studio, code).hours
        sessions.log(studio, code, timedelta(hours=12), sessions.Doing(work="prepare"))
        after = review.review(studio)[0].hours_left.p50
        assert before is not None
        assert after is not None
        assert after > before
        quick = corrections.Correction(length=timedelta(hours=forecast.prepare.p50 / 2))
        corrections.correct(studio, 1, quick, "x")
        assert (review.review(studio)[0].hours_left.p50 or 99) < before
        # The forecast itself does not learn from them: they would count twice.
        assert references.show(studio, code).hours == forecast

    def test_without_hours_there_is_none(self, studio: Studio) -> None:
        commissions.add(studio, Wishes(title="Mill"))
        assert review.progress(studio, "Mill") == ""


class TestPromise:
    def test_the_queue_is_in_order_of_due_dates(self, studio: Studio, photo: Path) -> None:
        for title, days in (("Late", 40), ("Soon", 12), ("Whenever", None)):
            book_job(studio, title, photo, days)
        found = promises.look_ahead(studio).queue
        assert [one.title for one in found] == ["Soon", "Late", "Whenever"]
        for one in found:
            assert studio.today() < one.p50 <= one.p80 <= one.p90
        assert [one.p80 for one in found] == sorted(one.p80 for one in found)
        assert found[2].on_time is None

    @pytest.mark.long
    def test_the_quick_chance_is_near_the_sampled_one(self, studio: Studio, photo: Path) -> None:
        for title, days in (("First", 5), ("Second", 8), ("Third", 9)):
            book_job(studio, title, photo, days)
        quick = {job.code: job.on_time for job in review.review(studio)}
        for one in promises.look_ahead(studio).queue:
            assert one.on_time == pytest.approx(quick[one.code], abs=0.1)

    def test_a_new_job_gets_a_date_that_is_met_as_asked(self, studio: Studio, photo: Path) -> None:
        book_job(studio, "First", photo, 12)
        commissions.add(studio, Wishes(title="New", size="20x15cm"))
        references.add(studio, "New", photo, zones=3)
        by_chance = []
        for confidence in (0.5, 0.8, 0.95):
            offer = promises.look_ahead(studio, "New", confidence=confidence).offer
            assert offer is not None
            assert offer.earliest.chance >= confidence
            assert offer.earliest.ready <= offer.sparing.ready
            assert not any(other.harmed for other in offer.sparing.others)
            by_chance.append(offer.earliest.ready)
        assert by_chance == sorted(by_chance)

    def test_hours_as_judged_need_no_commission(self, studio: Studio) -> None:
        offer = promises.look_ahead(studio, hours=8).offer
        assert offer is not None
        assert offer.code is None
        # 8 h in days of 4 h from Wednesday on, and a day to dry: Friday, or some days later.
        assert date(2027, 3, 19) <= offer.earliest.ready <= date(2027, 3, 24)

    def test_a_booked_job_is_taken_out_first(self, studio: Studio, photo: Path) -> None:
        code = book_job(studio, "Only", photo, 12)
        found = promises.look_ahead(studio, code)
        assert found.queue == []
        assert found.offer is not None
        assert found.offer.due == studio.today() + timedelta(days=12)

    def test_what_cannot_be_promised_is_refused(self, studio: Studio, photo: Path) -> None:
        commissions.add(studio, Wishes(title="Mill"))
        with pytest.raises(BadInput, match="no reference"):
            promises.look_ahead(studio, "Mill")
        with pytest.raises(BadInput, match="hours"):
            promises.look_ahead(studio, hours=0)
        with pytest.raises(BadInput, match="weeks"):
            promises.look_ahead(studio, weeks=99)
        code = book_job(studio, "Barn", photo, 12)
        endings.deliver(studio, code)
        with pytest.raises(NotAllowed, match="delivered"):
            promises.look_ahead(studio, code)

    def test_hours_judged_by_eye_are_in_the_queue(self, studio: Studio) -> None:
        commissions.add(studio, Wishes(title="Mill"))
        quotes.issue(studio, "Mill", quotes.QuoteRequest(hours=3))
        deposit = accepting.accept(studio, "Mill").deposit
        payments.take(studio, "Mill", str(deposit), "deposit")
        found = promises.look_ahead(studio)
        assert found.unknown == []
        (mill,) = found.queue
        assert (mill.code, round(mill.hours_left_p50, 6)) == ("C-0001", 3.0)

    def test_weeks_add_up(self, studio: Studio, photo: Path) -> None:
        codes = [book_job(studio, t, photo, n) for t, n in (("A", 3), ("B", 9), ("C", None))]
        found = promises.look_ahead(studio, weeks=12)
        assert [week.monday.weekday() for week in found.weeks] == [0] * 12
        # From Wednesday on; then whole weeks of five days of four hours.
        assert [week.free for week in found.weeks] == [12.0] + [20.0] * 11
        whole = sum(one.hours_left_p50 for one in found.queue)
        assert sum(week.booked for week in found.weeks) == pytest.approx(whole)
        assert all(week.booked <= week.free + 1e-9 for week in found.weeks)
        assert [code for week in found.weeks for code in week.due] == codes[:2]

    def test_dates_are_the_same_each_time(self, studio: Studio, photo: Path) -> None:
        book_job(studio, "Barn", photo, 12)
        assert promises.look_ahead(studio, hours=9) == promises.look_ahead(studio, hours=9)


class TestCorrecting:
    @pytest.fixture(autouse=True)
    def _logged(self, studio: Studio) -> None:
        commissions.add(studio, Wishes(title="Barn"))
        doing = sessions.Doing(zone=2, tip="round", heat="6")
        sessions.log(studio, "Barn", timedelta(hours=9), doing)

    def test_the_right_entry_counts_and_the_wrong_one_stays(self, studio: Studio) -> None:
        before = contents(studio)
        right = corrections.Correction(length=timedelta(hours=1.5), zone=3)
        made = corrections.correct(studio, 1, right, "clock left running")
        assert (made.hours, made.zone, made.tip, made.heat) == (1.5, 3, "round", "6")
        assert commissions.show(studio, "Barn").hours_done == 1.5
        assert review.review(studio)[0].hours_done == 1.5
        assert [one.number for one in sessions.all_of(studio, "Barn")] == [2]
        new, old = sessions.all_of(studio, "Barn", replaced=True)
        assert (old.hours, old.zone, old.replaced_by) == (9, 2, new.number)
        assert old.replace_reason == "clock left running"
        undo.undo_last(studio)
        assert contents(studio) == before

    def test_a_length_alone_keeps_the_beginning(self, studio: Studio) -> None:
        (old,) = sessions.all_of(studio, "Barn")
        right = corrections.Correction(length=timedelta(hours=2))
        assert corrections.correct(studio, 1, right, "x").started_at == old.started_at

    def test_an_end_alone_keeps_the_length(self, studio: Studio) -> None:
        ended = studio.now() - timedelta(hours=3)
        made = corrections.correct(studio, 1, corrections.Correction(ended=ended), "x")
        assert (made.ended_at, made.hours) == (ended, 9)

    def test_other_words_keep_the_intervals(self, studio: Studio, clock: FixedClock) -> None:
        sessions.start(studio, "Barn", sessions.Doing())
        clock.forward(hours=1)
        sessions.pause(studio)
        clock.forward(hours=1)
        sessions.resume(studio)
        clock.forward(hours=1)
        sessions.stop(studio)
        made = corrections.correct(studio, 2, corrections.Correction(work="finish"), "x")
        assert (made.work, made.hours) == ("finish", 2)

    def test_what_makes_no_sense_is_refused(self, studio: Studio) -> None:
        right = corrections.Correction(length=timedelta(hours=1))
        with pytest.raises(BadInput, match="Nothing is said"):
            corrections.correct(studio, 1, corrections.Correction(), "x")
        with pytest.raises(BadInput, match="reason is empty"):
            corrections.correct(studio, 1, right, " ")
        late = corrections.Correction(ended=studio.now() + timedelta(hours=1))
        with pytest.raises(BadInput, match="future"):
            corrections.correct(studio, 1, late, "x")
        with pytest.raises(NotFound):
            corrections.correct(studio, 7, right, "x")
        corrections.correct(studio, 1, right, "x")
        with pytest.raises(NotAllowed, match="by session 2"):
            corrections.correct(studio, 1, right, "x")
        sessions.start(studio, "Barn", sessions.Doing())
        with pytest.raises(NotAllowed, match="still open"):
            corrections.correct(studio, 3, right, "x")

    def test_a_replaced_entry_proves_no_burning(self, studio: Studio) -> None:
        corrections.correct(studio, 1, corrections.Correction(work="prepare"), "x")
        assert commissions.show(studio, "Barn").stage == "enquiry"
        assert checklists.of(studio, "Barn").steps


@pytest.mark.whole
def test_the_fewest_late_jobs_are_offered_beside_the_usual_order(
    studio: Studio, photo: Path
) -> None:
    """One long job due first makes three short ones late; putting it off saves them."""
    for title, size, days in (
        ("Huge", "90x120cm", 4), ("A", "20x15cm", 6), ("B", "20x15cm", 7), ("C", "20x15cm", 8),
    ):  # fmt: skip
        due = studio.today() + timedelta(days=days)
        commissions.add(studio, Wishes(title=title, size=size, species="basswood", due=due))
        references.add(studio, title, photo, zones=3)
        quotes.issue(studio, title, quotes.QuoteRequest())
        deposit = accepting.accept(studio, title).deposit
        payments.take(studio, title, str(deposit), "deposit")
    late = promises.look_ahead(studio).late
    assert len(late.usual_order) > len(late.fewest)
    assert late.fewest == ["C-0001"]
