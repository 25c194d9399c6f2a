"""How well past jobs would have been forecast: the figures by hand."""

from datetime import date, timedelta

import pytest

from burnplan.reckon.backtest import Backtest, Tried, backtest, pinball_loss
from burnplan.reckon.pace_rows import PastJob
from burnplan.reckon.standard_hours import coarse_plan, standard_hours
from burnplan.reckon.work import Grade, Work

DAY = date(2026, 5, 3)


def tried(actual: float) -> Tried:
    return Tried("owl", DAY, actual, p10=8, p50=9, p80=12, p90=15)


@pytest.mark.parametrize(
    ("actual", "inside"), [(7.9, False), (8, True), (10, True), (15, True), (15.1, False)]
)
def test_both_ends_are_inside(actual: float, inside: bool) -> None:
    assert tried(actual).inside is inside


def test_the_error_is_a_share_of_what_it_took() -> None:
    assert tried(10).relative_error == pytest.approx(0.1)
    assert tried(6).relative_error == pytest.approx(0.5)


def test_the_pinball_loss_is_the_mean_of_four() -> None:
    # 2 h over P10 weigh 0.1, 1 h over P50 0.5, 2 h below P80 0.2, 5 h below P90 0.1.
    assert tried(10).pinball == pytest.approx((0.2 + 0.5 + 0.4 + 0.5) / 4)
    assert pinball_loss(10, 10, 0.8) == 0


def test_all_jobs_together() -> None:
    found = Backtest((tried(6), tried(10), tried(12)))
    assert found.coverage == pytest.approx(2 / 3)
    assert found.median_ape == pytest.approx(0.25)  # of 0.5, 0.1 and 0.25
    losses = [one.pinball for one in found.jobs]
    assert found.pinball == pytest.approx(sum(losses) / 3)
    nothing = Backtest(())
    assert (nothing.coverage, nothing.median_ape, nothing.pinball) == (None, None, None)


def job(title: str, day: date | None, share: dict[Work, float] | None = None) -> PastJob:
    plan = coarse_plan(200, 300, 600, darkness=Grade(0.5), texture=Grade(0.3))
    return PastJob(title, plan, standard_hours(plan), day, share=share or {})


def test_only_finished_jobs_with_a_date_are_tried_in_its_order() -> None:
    jobs = [
        job("second", DAY + timedelta(days=2)),
        job("half", DAY, {Work.BURN: 0.5}),
        job("undated", None),
        job("first", DAY),
        job("also second", DAY + timedelta(days=2)),
    ]
    found = backtest(jobs).jobs
    assert [one.title for one in found] == ["first", "second", "also second"]
    assert [one.finished_on for one in found] == [DAY, *[DAY + timedelta(days=2)] * 2]
    assert found[0].actual_h == pytest.approx(sum(standard_hours(jobs[0].plan).values()))
    # Of the newest all of a day are tried, or none.
    assert [one.title for one in backtest(jobs, newest=1).jobs] == ["second", "also second"]
    assert [one.title for one in backtest(jobs, newest=2).jobs] == ["second", "also second"]
    assert len(backtest(jobs, newest=3).jobs) == 3
    assert backtest(jobs, newest=0).jobs == ()
