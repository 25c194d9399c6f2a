"""The pace and calendar pages, and their plots."""

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from burnplan.desk.jobs import checklists, commissions, endings, references, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import pace, past_import, planned_sessions, promises
from burnplan.workbench import gather
from tests.conftest import FixedClock
from tests.workbench.hand import Hand, at_work, barn

PAST = """title,finished_on,width_mm,height_mm,outline,species,darkness,texture,line_cm,\
prepare_h,transfer_h,burn_h,finish_h,price
Owl,2026-05-02,200,150,rectangle,basswood,eye:3,eye:3,,1,1.5,6,1,220
Fox,2026-06-12,200,150,rectangle,basswood,eye:3,eye:3,,1,1.5,7,1,220
Hare,2026-08-20,300,200,rectangle,basswood,eye:3,eye:3,,1.5,2,11,1,320
Wren,2026-09-20,150,100,rectangle,basswood,eye:3,eye:3,,1,1,30,1,150
"""


@pytest.mark.long
def test_each_past_job_is_drawn_in_its_band(studio: Studio, tmp_path: Path) -> None:
    file = tmp_path / "past.csv"
    file.write_text(PAST)
    past_import.bring_in(studio, file)
    tried = pace.review(studio).tried.jobs[::-1]

    async def desk(hand: Hand) -> None:
        await hand.press("5")
        rows = hand.lines("#tried")
        assert len(rows) == len(tried) > 0
        marks = [re.search("[●✗]", row) for row in rows]
        for row, mark, job in zip(rows, marks, tried, strict=True):
            assert job.title in row
            assert mark is not None
            assert mark[0] == ("●" if job.p10 <= job.actual_h <= job.p90 else "✗")
        # Of two jobs the one that took longer is marked further to the right.
        places = [mark.start() for mark in marks if mark]
        for place, job in zip(places, tried, strict=True):
            for other, than in zip(places, tried, strict=True):
                assert place >= other or job.actual_h < than.actual_h
        assert any("longer" in line or "shorter" in line for line in hand.lines("#learned"))
        # Four jobs are too few for a share; a fifth is enough.
        assert hand.app.page.listing.border_subtitle == ""
        file.write_text(PAST.splitlines()[0] + "\nBear" + PAST.splitlines()[1][3:] + "\n")
        past_import.bring_in(studio, file)
        await hand.press("1", "5")
        assert "inside the band" in str(hand.app.page.listing.border_subtitle)

    at_work(studio, desk)


@pytest.mark.long
def test_without_past_jobs_pace_says_what_to_do(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("5")
        assert hand.lines("#tried") == []
        assert "past import" in hand.text("#tried .empty")

    at_work(studio, desk)


@pytest.mark.long
def test_the_calendar_shows_planned_hours_dates_and_weeks(studio: Studio, photo: Path) -> None:
    wishes = Wishes(title="Old barn", size="8x6cm", due=studio.today() + timedelta(days=9))
    code = commissions.add(studio, wishes).code
    references.add(studio, code, photo, zones=3)
    # The clock stands at Wednesday, 9:00; the session is on Saturday.
    planned_sessions.add(studio, code, datetime(2027, 3, 20, 10, tzinfo=UTC), timedelta(hours=2))
    weeks = promises.look_ahead(studio, weeks=12).weeks

    async def desk(hand: Hand) -> None:
        await hand.press("6")
        days = hand.lines("#days")
        saturday = next(line for line in days if "Sat 20 Mar" in line)
        assert "10:00 Burn: Old barn" in saturday
        assert "━" in saturday
        assert any("Fri 26 Mar" in line and "Due: Old barn" in line for line in days)
        drawn = hand.lines("#weeks")
        assert len(drawn) == len(weeks) == 12
        for week, line in zip(weeks, drawn, strict=True):
            assert f"{week.free:.0f} h" in line
        lines = hand.app.page.listing.lines
        lines.go_to(next(key for key in lines.rows.keys if key and key.endswith(code)))
        await hand.press("enter")
        assert hand.app.page_name == "job"

    at_work(studio, desk, (120, 40))
    assert sessions.all_of(studio, code) == []


def test_what_was_planned_for_this_morning_counts_until_the_day_is_over(
    studio: Studio, clock: FixedClock
) -> None:
    commissions.add(studio, Wishes(title="Fox"))
    planned_sessions.add(studio, "Fox", studio.now(), timedelta(hours=1))
    clock.forward(hours=3)
    assert gather.calendar(studio).days[0].planned == 1


@pytest.mark.long
def test_hours_that_teach_nothing_are_said_before_what_is_learned(
    studio: Studio, photo: Path
) -> None:
    code = barn(studio)
    references.add(studio, code, photo, zones=3)
    sessions.log(studio, code, timedelta(hours=4), sessions.Doing(work="burn"))
    endings.deliver(studio, code)

    async def desk(hand: Hand) -> None:
        await hand.press("5")
        said = " ".join(" ".join(hand.lines("#learned")).split())
        assert said.startswith("· 4 h of burning of 'Old barn' teach nothing while steps of it are")
        checklists.tick(studio, code, ["Z1", "Z2", "Z3"])
        await hand.press("1", "5")
        assert "teach nothing" not in " ".join(hand.lines("#learned"))

    at_work(studio, desk)
