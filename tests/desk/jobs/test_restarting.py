"""A ruined piece starts again: its hours stay on record, teach and cost, and are no progress."""

from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from burnplan.desk.derived import pace_records
from burnplan.desk.jobs import (
    checklists,
    commissions,
    corrections,
    endings,
    holding,
    job_sheets,
    references,
    review,
    sessions,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import accepting, earnings, payments, quotes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import planned_sessions, today
from burnplan.desk.wood import blanks
from burnplan.desk.wood.blanks import NewBlank
from burnplan.errors import NotAllowed
from burnplan.reckon.work import Work
from tests.desk import surfaces


@pytest.fixture
def fox(studio: Studio, tmp_path: Path) -> str:
    """A job on B-0001, prepared and transferred, its darkest zone burned."""
    ramp = np.tile(np.linspace(0, 255, 240, dtype=np.uint8), (180, 1))
    Image.fromarray(ramp).save(tmp_path / "ramp.png")
    code = commissions.add(studio, Wishes(title="Fox", size="12x9cm", species="basswood")).code
    references.add(studio, code, tmp_path / "ramp.png", zones=3)
    quotes.issue(studio, code, quotes.QuoteRequest(price="200"))
    accepting.accept(studio, code)
    payments.take(studio, code, "200", "deposit")
    blanks.add(studio, NewBlank(species="basswood", size="12x9cm", cost="8", grit=150))
    blanks.add(studio, NewBlank(species="basswood", size="12x9cm", cost="9"))
    holding.hold(studio, "B-1", code)
    _tick(studio, code, "prepare", "transfer")
    checklists.tick(studio, code, ["Z1"])
    sessions.log(studio, code, timedelta(hours=1), sessions.Doing(work="prepare"))
    sessions.log(studio, code, timedelta(hours=2), sessions.Doing(work="transfer"))
    sessions.log(studio, code, timedelta(hours=3), sessions.Doing(zone=1))
    return code


def _tick(studio: Studio, code: str, *phases: str) -> None:
    keys = [step.key for step in checklists.of(studio, code).steps if step.phase in phases]
    checklists.tick(studio, code, keys)


def _job(studio: Studio, code: str) -> review.JobView:
    return next(one for one in review.review(studio) if one.code == code)


def _restart(studio: Studio, code: str) -> commissions.CommissionView:
    return holding.restart(studio, code, "B-2", "scorched")


@pytest.mark.long
def test_it_starts_again_on_another_blank(studio: Studio, fox: str) -> None:
    before = references.show(studio, fox)
    assert _restart(studio, fox).blank == "B-0002"
    assert {step.state for step in checklists.of(studio, fox).steps} == {"open"}
    old = blanks.show(studio, "B-1")
    assert (old.state, old.scrap_reason) == ("scrapped", "scorched")
    assert blanks.show(studio, "B-2").held_for == fox
    # The new blank is rougher, so there is more to sand, and the rest is as it was.
    after = references.show(studio, fox)
    assert [zone.area_cm2 for zone in after.zones] == [zone.area_cm2 for zone in before.zones]
    assert {"sand-120", "sand-150"} <= {s.key for s in checklists.of(studio, fox).steps}
    surfaces.agree(studio, ["restart"])


@pytest.mark.long
def test_hours_spent_are_no_progress(studio: Studio, fox: str) -> None:
    assert _job(studio, fox).stage == "burning"
    assert _job(studio, fox).hours_done == pytest.approx(6)
    _restart(studio, fox)
    job, shown = _job(studio, fox), commissions.show(studio, fox)
    assert job.stage == "booked"
    assert job.hours_done == shown.hours_done == 0
    assert [one.reason for one in shown.spoiled] == ["scorched"]
    assert shown.spoiled[0].hours == pytest.approx(6)
    assert job.hours_left.p50 == pytest.approx(references.show(studio, fox).hours.total.p50)
    assert "not begun" in review.progress(studio, fox)
    sheet = job_sheets.gather(studio, fox)
    assert sheet.commission.spoiled == shown.spoiled
    assert {step.state for step in sheet.checklist.steps} == {"open"}
    logged = sessions.all_of(studio, fox)
    assert len(logged) == 3
    assert {one.spoiled for one in logged} == {"scorched"}


@pytest.mark.long
def test_what_was_planned_for_the_spoiled_piece_is_taken_out(studio: Studio, fox: str) -> None:
    commissions.add(studio, Wishes(title="Owl"))
    hour = timedelta(hours=1)
    for title, days in (("Fox", 1), ("Owl", 2)):
        planned_sessions.add(studio, title, studio.now() + timedelta(days=days), hour)
    before = planned_sessions.since(studio, studio.now())
    _restart(studio, fox)
    # Burning tomorrow would come before the sanding.
    assert [one.title for one in planned_sessions.since(studio, studio.now())] == ["Owl"]
    undo.undo_last(studio)
    assert planned_sessions.since(studio, studio.now()) == before


@pytest.mark.long
def test_they_teach_the_pace_of_what_they_did(studio: Studio, fox: str) -> None:
    with studio.reading() as book:
        under_way = pace_records.records(book, studio.now()).under_way[1]
    _restart(studio, fox)
    with studio.reading() as book:
        found = pace_records.records(book, studio.now())
    (taught,) = found.finished
    assert found.under_way == {}
    assert taught.hours == {Work.PREPARE: 1, Work.TRANSFER: 2, Work.BURN: 3}
    assert taught.share == under_way.share
    assert taught.plan == under_way.plan
    assert taught.finished_on == studio.today()


@pytest.mark.long
def test_hours_and_wood_of_a_spoiled_piece_count_in_earnings(studio: Studio, fox: str) -> None:
    _restart(studio, fox)
    sessions.log(studio, fox, timedelta(hours=4), sessions.Doing())
    endings.deliver(studio, fox)
    earned = earnings.review(studio).total
    assert earned.hours == pytest.approx(10)
    assert earned.earned == 200 - 8 - 9


@pytest.mark.long
def test_it_is_taken_back_in_one(studio: Studio, fox: str) -> None:
    before = (_job(studio, fox), commissions.show(studio, fox), checklists.of(studio, fox))
    _restart(studio, fox)
    undo.undo_last(studio)
    assert (_job(studio, fox), commissions.show(studio, fox), checklists.of(studio, fox)) == before
    assert blanks.show(studio, "B-1").state == "held"
    assert blanks.show(studio, "B-2").state == "in stock"
    surfaces.agree(studio, ["restart", "undo"])


@pytest.mark.long
def test_a_blank_of_another_size_is_planned_for(studio: Studio, fox: str) -> None:
    blanks.add(studio, NewBlank(species="cherry", size="24x18cm"))
    holding.restart(studio, fox, "B-3", "split")
    assert references.show(studio, fox).size_mm == (240.0, 180.0)
    undo.undo_last(studio)
    assert references.show(studio, fox).size_mm == (120.0, 90.0)


@pytest.mark.long
def test_steps_of_ones_own_stay(studio: Studio, fox: str) -> None:
    checklists.add(studio, fox, "Ask about the ears", "transfer")
    own = checklists.of(studio, fox).steps
    number = next(n for n, step in enumerate(own, 1) if step.text == "Ask about the ears")
    checklists.tick(studio, fox, [str(number)])
    _restart(studio, fox)
    states = {step.text: step.state for step in checklists.of(studio, fox).steps}
    assert states.pop("Ask about the ears") == "ticked"
    assert set(states.values()) == {"open"}


@pytest.mark.long
def test_a_session_of_a_spoiled_piece_is_corrected_as_one(studio: Studio, fox: str) -> None:
    _restart(studio, fox)
    corrections.correct(studio, 3, corrections.Correction(length=timedelta(hours=1)), "slip")
    shown = commissions.show(studio, fox)
    assert shown.hours_done == 0
    assert shown.spoiled[0].hours == pytest.approx(4)


@pytest.mark.long
def test_a_third_piece_knows_of_both_before(studio: Studio, fox: str) -> None:
    _restart(studio, fox)
    sessions.log(studio, fox, timedelta(hours=2), sessions.Doing(work="prepare"))
    blanks.add(studio, NewBlank(species="basswood", size="12x9cm"))
    shown = holding.restart(studio, fox, "B-3", "dropped it")
    assert [one.reason for one in shown.spoiled] == ["scorched", "dropped it"]
    assert [one.hours for one in shown.spoiled] == pytest.approx([6, 2])


@pytest.mark.long
def test_what_cannot_be_is_refused(studio: Studio, fox: str) -> None:
    with pytest.raises(NotAllowed, match="B-0001 is held"):
        holding.restart(studio, fox, "B-1", "x")
    sessions.start(studio, fox, sessions.Doing(work="prepare"))
    with pytest.raises(NotAllowed, match="clock"):
        _restart(studio, fox)
    sessions.pause(studio)
    with pytest.raises(NotAllowed, match="open"):
        _restart(studio, fox)
    sessions.stop(studio)
    endings.deliver(studio, fox)
    with pytest.raises(NotAllowed, match=r"was (dropped|delivered)"):
        _restart(studio, fox)


@pytest.mark.long
def test_the_clock_takes_up_the_new_piece_where_it_stands(studio: Studio, fox: str) -> None:
    assert today.taken_up(studio)[:3] == (fox, "burn", None), "zone 1 is ticked, others are open"
    _restart(studio, fox)
    assert today.taken_up(studio) == today.TakenUp(fox, None), "bare wood is not burned next"
