"""The queue drawn, and a date for one more job.

The quick chances (moments, Fenton 1960) against drawing; a promised date against trying
every date.
"""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings

from burnplan.errors import BadInput
from burnplan.reckon import promise as module
from burnplan.reckon.free_hours import Capacity, FreeHours
from burnplan.reckon.job_queue import SHARED, Queued, chances
from burnplan.reckon.lateness import earliest_due_first
from burnplan.reckon.promise import Risk, outlooks, promise
from burnplan.reckon.remaining import NOTHING, of_quantiles
from tests.cases import quick_first
from tests.reckon.queues import (
    MONDAY,
    WEEK,
    burning_queues,
    calendars,
    day,
    schedule,
    some_queue,
    sure,
)


@pytest.mark.long
@given(burning_queues(), calendars)
@settings(deadline=None)
def test_without_spread_the_drawn_schedule_is_the_exact_one_to_the_minute(
    queue: list[Queued], week: Capacity
) -> None:
    ahead = FreeHours(week, MONDAY)
    exact = schedule(queue, ahead)
    drawn = outlooks(queue, ahead, samples=11)
    assert [one.key for one in drawn] == [one.key for one in exact]
    for one, done in zip(drawn, exact, strict=True):
        assert one.p50 == one.p80 == one.p90 == done.ready
        assert done.late is not None
        assert one.on_time == float(done.late <= 0)
    order = [queue[i] for i in earliest_due_first([job.work_due for job in queue])]
    hours = np.array([[job.left.mean] for job in order])
    clock = module._Clock.holding(ahead, hours.sum(), hours.max())
    for at, done in zip(clock.done(order, hours).at[:, 0], exact, strict=True):
        whole = ahead.until(done.day - timedelta(days=1))
        assert at == pytest.approx(whole + done.minutes / 60, abs=1e-3 / 60)


@pytest.mark.parametrize("burning", [24.0, 2.5])
@pytest.mark.parametrize("shared", [0.0, 0.3])
def test_the_quick_chances_are_those_of_drawing(shared: float, burning: float) -> None:
    ahead = FreeHours(Capacity(WEEK, frozenset({day(11), day(12)}), burning), MONDAY)
    queue = some_queue()
    quick = chances(queue, ahead, shared)
    drawn = outlooks(queue, ahead, samples=20_000, shared=shared)
    within = 0.02 if burning == 24 else 0.06
    for one in drawn:
        assert quick[one.key] == pytest.approx(one.on_time, abs=within)
    assert sum(0.1 < (one.on_time or 0) < 0.9 for one in drawn) >= 5


def test_quantiles_are_those_of_the_log_normal() -> None:
    """One job alone: its finish is its own quantile, by scipy's value of the normal."""
    left = of_quantiles(100, 160)
    ahead = FreeHours(Capacity((1.0,) * 7), MONDAY)
    one = outlooks([Queued("owl", left, day(125))], ahead, samples=100_000)[0]
    for share, found in ((0.5, one.p50), (0.8, one.p80), (0.9, one.p90)):
        assert (found - MONDAY).days == pytest.approx(left.quantile(share), abs=2)
    assert one.on_time == pytest.approx(left.chance_within(126), abs=0.005)


def test_hours_drawn_elsewhere_are_taken_in_the_order_of_the_queue() -> None:
    queue = [Queued("late", sure(1), day(20)), Queued("soon", sure(1), day(5))]
    ahead = FreeHours(Capacity((1.0,) * 7), MONDAY)
    found = outlooks(queue, ahead, hours=np.array([[3.0] * 5, [2.0] * 5]))
    assert [(one.key, one.p50) for one in found] == [("soon", day(1)), ("late", day(4))]


def test_the_same_seed_gives_the_same_dates() -> None:
    ahead = FreeHours(Capacity(WEEK), MONDAY)
    assert outlooks(some_queue(), ahead, seed=3) == outlooks(some_queue(), ahead, seed=3)


def test_what_a_job_hangs_on() -> None:
    ahead = FreeHours(Capacity(WEEK), MONDAY)
    queue = [
        Queued("sure", sure(2), day(1)),
        Queued("wild", of_quantiles(8, 24), day(9)),
        Queued("small", of_quantiles(2, 2.5), day(11)),
        Queued("own", of_quantiles(20, 60), day(30)),
        Queued("hopeless", sure(100), day(31)),
        Queued("undated", sure(1), None),
    ]
    found = {one.key: one for one in outlooks(queue, ahead)}
    assert (found["sure"].risk, found["sure"].on_time) == (Risk.OWN, 1.0)
    assert (found["small"].risk, found["small"].hangs_on) == (Risk.ANOTHER, "wild")
    assert found["small"].risk_share > 0.9
    assert (found["own"].risk, found["own"].hangs_on) == (Risk.OWN, "own")
    assert (found["hopeless"].risk, found["hopeless"].hangs_on) == (Risk.FULL, "hopeless")
    assert (found["undated"].risk, found["undated"].on_time) == (None, None)


def test_drying_and_delivery_come_on_top() -> None:
    queue = [Queued("owl", sure(6), day(9), days_after=3)]
    (one,) = outlooks(queue, FreeHours(Capacity(WEEK), MONDAY), samples=5)
    assert one.p50 == one.p80 == one.p90 == day(4)
    assert outlooks([], FreeHours(Capacity(WEEK), MONDAY)) == ()
    assert outlooks([Queued("owl", NOTHING, day(0))], FreeHours(Capacity(WEEK), MONDAY))[0].on_time


def test_the_share_of_a_job_in_the_spread_of_a_date() -> None:
    """Covariances by hand: a has a variance of 1, b of 4, and c of 1, wholly with a."""
    ahead = FreeHours(Capacity((24.0,) * 7), MONDAY)
    queue = [Queued(key, sure(9), day(n)) for n, key in enumerate("abc")]
    hours = np.array([[1.0, 3, 1, 3], [2, 2, 6, 6], [1, 3, 1, 3]])
    a, b, c = outlooks(queue, ahead, hours=hours)
    assert [one.hangs_on for one in (a, b, c)] == ["a", "b", "b"]
    # With c: of 1 + 4 + 1 and twice the 1 that a and c share, b has 4, a and c 2 each.
    assert [one.risk_share for one in (a, b, c)] == pytest.approx([1, 4 / 5, 4 / 8])


@pytest.mark.parametrize(("late", "risk"), [(50, Risk.OWN), (51, Risk.FULL), (46, Risk.OWN)])
def test_more_work_than_hours_is_where_most_draws_are_late(late: int, risk: Risk) -> None:
    hours = np.where(np.arange(100) < late, 30.0, 20.0)[None]
    ahead = FreeHours(Capacity((24.0,) * 7), MONDAY)
    (one,) = outlooks([Queued("owl", sure(9), MONDAY)], ahead, hours=hours)
    assert one.on_time == pytest.approx(1 - late / 100)
    assert one.risk is risk


def test_quantiles_are_those_draws() -> None:
    """Ten draws of one to ten days: the fifth, the eighth and the ninth are enough."""
    ahead = FreeHours(Capacity((1.0,) * 7), MONDAY)
    (one,) = outlooks([Queued("owl", sure(9), day(6))], ahead, hours=np.arange(1.0, 11)[None])
    assert (one.p50, one.p80, one.p90) == (day(4), day(7), day(8))
    assert one.on_time == pytest.approx(0.7)


@pytest.mark.parametrize(
    ("before", "after", "harmed"),
    [(0.95, 0.8905, False), (0.95, 0.8895, True), (0.6, 0.5905, False), (0.6, 0.5895, True)],
)
def test_a_job_is_harmed_below_what_was_asked_for_or_what_it_had(
    before: float, after: float, harmed: bool
) -> None:
    """Nine in ten are asked for; a hundredth may be lost."""
    assert module._harms(module.Effect("owl", before, after), 0.9) is harmed


# ---- one more job --------------------------------------------------------------------
NEW = Queued("new", of_quantiles(10, 16), None, burning=0.7, before=0.2, days_after=2)


def tried(
    queue: list[Queued], due: date, ahead: FreeHours, seed: int
) -> tuple[float, dict[str, float | None]]:
    """Book the new job for a date, behind those due the same day, and look at all."""
    order = [queue[i] for i in earliest_due_first([job.work_due for job in queue])]
    drawn = module._draw([NEW, *order], module.SAMPLES, seed, SHARED)
    booked = [*order, replace(NEW, due=due)]
    hours = np.vstack([drawn[1:], drawn[:1]])
    found = {one.key: one.on_time for one in outlooks(booked, ahead, hours=hours)}
    return float(found.pop("new") or 0.0), found


@pytest.mark.parametrize("burning", [24.0, 2.5])
@quick_first("seed", range(4))
def test_a_promise_is_the_earliest_date_of_all_tried(seed: int, burning: float) -> None:
    ahead = FreeHours(Capacity(WEEK, burning=burning), MONDAY)
    queue = [*some_queue(8, seed), Queued("undated", sure(30), None)]
    found = promise(queue, NEW, ahead, seed=seed)
    alone = {
        one.key: one.on_time
        for one in outlooks(
            sorted(queue, key=lambda job: job.work_due),
            ahead,
            hours=module._draw([NEW, *sorted(queue, key=lambda job: job.work_due)],
                               module.SAMPLES, seed, SHARED)[1:],
        )
    }  # fmt: skip
    earliest = sparing = None
    due = MONDAY
    while sparing is None:
        chance, others = tried(queue, due, ahead, seed)
        if chance >= 0.9:
            earliest = earliest or due
            harm = [
                key
                for key, after in others.items()
                if after is not None and after < min(alone[key] or 0.0, 0.9) - 0.01
            ]
            sparing = None if harm else due
        due += timedelta(days=1)
    assert found.earliest.ready == earliest
    assert found.sparing.ready == sparing
    assert found.sparing.harmed == ()
    assert found.earliest.chance >= 0.9
    for effect in found.earliest.effects:
        _, others = tried(queue, found.earliest.ready, ahead, seed)
        assert effect.after == pytest.approx(others[effect.key])
        assert effect.before == pytest.approx(alone[effect.key])


def test_an_empty_queue_promises_by_the_job_alone() -> None:
    ahead = FreeHours(Capacity((1.0,) * 7), MONDAY)
    found = promise([], NEW, ahead, samples=50_000)
    assert found.earliest == found.sparing
    assert (found.earliest.ready - MONDAY).days == pytest.approx(NEW.left.quantile(0.9) + 1, abs=1)
    assert found.earliest.effects == ()


def test_a_surer_promise_is_no_earlier() -> None:
    ahead = FreeHours(Capacity(WEEK), MONDAY)
    dates = [promise(some_queue(), NEW, ahead, confidence=c).earliest.ready
             for c in (0.5, 0.8, 0.9, 0.99)]  # fmt: skip
    assert dates == sorted(dates)
    assert dates[0] < dates[-1]


@pytest.mark.parametrize("confidence", [0.0, 1.0, 90.0])
def test_a_confidence_is_a_share(confidence: float) -> None:
    with pytest.raises(BadInput, match=f"not {confidence * 100:.0f} %"):
        promise([], NEW, FreeHours(Capacity(WEEK), MONDAY), confidence=confidence)
