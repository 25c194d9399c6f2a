"""How a job stands in the queue and how far it is: worked by hand on rows in memory."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import pytest

from burnplan.desk.derived import job_status
from burnplan.desk.derived.job_status import JobStatus
from burnplan.desk.derived.studio_settings import Settings
from burnplan.ledger.models import BurnSession, Commission, Interval, Quote, Reference
from burnplan.reckon.remaining import left_as_judged
from burnplan.reckon.stages import Stage
from burnplan.reckon.work import Work

NOW = datetime(2027, 3, 17, 9, tzinfo=UTC)
HOURS = {"prepare": 1.0, "transfer": 2.0, "burn": 10.0, "finish": 3.0}
OLDER = {work: {"p50": 99.0} for work in HOURS}


def _job(*, hours: dict[str, float] | None = HOURS, quote: float | None = None) -> Commission:
    job = Commission(id=7, title="Barn", due_on=date(2027, 4, 1))
    if hours is not None:
        told = {work: {"p50": value} for work, value in hours.items()}
        job.references = [Reference(hours=OLDER), Reference(hours=told)]
    if quote is not None:
        job.quotes = [Quote(hours_p50=quote, total=Decimal(1), accepted_on=None)]
    return job


def _status(job: Commission, left: Any = None, **settled: float) -> JobStatus:
    shares = {work: settled.get(work.value, 0.0) for work in Work}
    return JobStatus(job, SimpleNamespace(zones_left=set()), Stage.BOOKED, left, shares)  # type: ignore[arg-type]


def _spent(job: Commission, *hours: float) -> Commission:
    for one in hours:
        sat = Interval(started_at=NOW - timedelta(hours=one), ended_at=NOW)
        job.sessions.append(BurnSession(work="burn", closed=True, intervals=[sat]))
    return job


LEFT_FOUR = left_as_judged(6.0, 2.0)


def test_the_median_left_is_of_the_newest_reference_by_stage() -> None:
    found = job_status.median_left(_status(_job(), LEFT_FOUR, prepare=1.0, transfer=0.5, burn=0.2))
    assert found == {
        Work.PREPARE: 0.0, Work.TRANSFER: 1.0, Work.BURN: pytest.approx(8.0), Work.FINISH: 3.0,
    }  # fmt: skip


def test_hours_judged_are_of_burning() -> None:
    assert job_status.median_left(_status(_job(hours=None), LEFT_FOUR)) == {
        Work.PREPARE: 0.0, Work.TRANSFER: 0.0, Work.BURN: LEFT_FOUR.p50, Work.FINISH: 0.0,
    }  # fmt: skip
    assert set(job_status.median_left(_status(_job(hours=None))).values()) == {0.0}


def test_what_waits_in_the_queue() -> None:
    own = Settings(name="x", drying_days=3, delivery_days=2)
    found = job_status.queued(_status(_job(), LEFT_FOUR, prepare=1.0, burn=0.5), own)
    assert found.key == "C-0007"
    assert found.due == date(2027, 4, 1)
    assert found.left is LEFT_FOUR
    # Left: 2 to transfer, 5 to burn, 3 to finish.
    assert found.burning == pytest.approx(0.5)
    assert found.before == pytest.approx(0.2)
    assert found.days_after == 5
    done = job_status.queued(_status(_job(), LEFT_FOUR, finish=1.0), own)
    assert done.days_after == 2, "it has dried"
    nothing = _status(_job(), LEFT_FOUR, **dict.fromkeys(HOURS, 1.0))
    assert job_status.queued(nothing, own).burning == 0
    assert job_status.queued(nothing, own).before == 0


def test_the_share_done_is_by_median_hours() -> None:
    begun = _status(_job(), burn=0.4, prepare=1.0)
    assert job_status.share_done(begun, NOW) == pytest.approx(5 / 16)
    assert job_status.share_done(_status(_job(hours=dict.fromkeys(HOURS, 0.0))), NOW) == 0


@pytest.mark.parametrize(
    ("chance", "due", "course"),
    [
        (None, True, ""), (0.99, False, ""),
        (0.99, True, "on course for Thu 1 Apr"),
        (0.3, True, "likely late for Thu 1 Apr: 30 % chance"),
    ],
)  # fmt: skip
def test_progress_in_words(chance: float | None, due: bool, course: str) -> None:
    job = _spent(_job(), 2.0, 1.0)
    if not due:
        job.due_on = None
    status = _status(job, LEFT_FOUR, burn=0.4, prepare=1.0)
    words = job_status.progress_words(status, chance, NOW, date(2027, 3, 17))
    assert "31 %" in words or "31%" in words
    assert words.endswith(course) if course else " for " not in words


def test_without_hours_or_photo_there_is_no_progress_to_tell() -> None:
    day = date(2027, 3, 17)
    assert not job_status.progress_words(_status(_job()), 0.9, NOW, day)
    assert not job_status.progress_words(_status(_job(hours=None), LEFT_FOUR), 0.9, NOW, day)


def test_the_share_done_of_hours_judged_is_by_what_was_spent() -> None:
    assert job_status.share_done(_status(_job(hours=None)), NOW) == 0
    assert job_status.share_done(_status(_spent(_job(hours=None, quote=0.0), 2.0)), NOW) == 0
    judged = _spent(_job(hours=None, quote=8.0), 1.5, 0.5)
    assert job_status.share_done(_status(judged), NOW) == pytest.approx(0.25)
    small = _spent(_job(hours=None, quote=0.5), 0.25)
    assert job_status.share_done(_status(small), NOW) == pytest.approx(0.5)
    over = _spent(_job(hours=None, quote=8.0), 9.0)
    assert job_status.share_done(_status(over), NOW) == 1


@pytest.mark.parametrize(
    ("hours", "left", "judged"),
    [(HOURS, LEFT_FOUR, False), (None, LEFT_FOUR, True), (None, None, False), (HOURS, None, False)],
)
def test_hours_are_judged_where_there_is_no_reference(
    hours: dict[str, float] | None, left: Any, judged: bool
) -> None:
    assert _status(_job(hours=hours), left).judged is judged


@pytest.mark.parametrize("stage", Stage)
def test_what_is_booked_and_not_set_aside_is_in_the_queue(stage: Stage) -> None:
    booked = {"booked", "prepared", "transferred", "burning", "finishing"}
    status = _status(_job())._replace(stage=stage)
    assert status.in_queue is (stage.value in booked)
    status.commission.paused_on = date(2027, 3, 1)
    assert not status.in_queue
