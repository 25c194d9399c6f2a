"""How pace is learned: from an invented artist whose truth is known (seeds fixed)."""

from collections.abc import Callable
from datetime import date, timedelta

import numpy as np
import pytest

from burnplan.reckon import pace
from burnplan.reckon.backtest import backtest, pinball_loss
from burnplan.reckon.pace import PRIOR_PACE, Pace, learn
from burnplan.reckon.pace_rows import PastJob, rows_of
from burnplan.reckon.standard_hours import coarse_plan, standard_hours
from burnplan.reckon.work import Grade, Work, WorkPlan

MIDDLE = coarse_plan(
    245, 245, 600, hardness_lbf=600, darkness=Grade(0.5), texture=Grade(0.3), line_cm=600
)


def _plan(random: np.random.Generator) -> WorkPlan:
    area = float(random.uniform(200, 1200))
    return coarse_plan(
        10 * area**0.5, 10 * area**0.5, area, hardness_lbf=600,
        darkness=Grade(float(random.uniform(0.3, 0.7))), texture=Grade(0.3),
    )  # fmt: skip


def _jobs(count: int, pace: Callable[[int], float], scatter: float = 0.15) -> list[PastJob]:
    random = np.random.default_rng(11)
    made = []
    for number in range(count):
        plan = _plan(random)
        hours = {
            stage: value * pace(number) * float(np.exp(random.normal(0, scatter)))
            for stage, value in standard_hours(plan).items()
        }
        day = date(2026, 1, 5) + timedelta(days=7 * number)
        made.append(PastJob(f"job {number}", plan, hours, day))
    return made


def _factor(pace: Pace) -> float:
    """The median of a middling job's burning over the standard."""
    burning = pace.forecast(MIDDLE).draws[Work.BURN]
    return float(np.median(burning)) / standard_hours(MIDDLE)[Work.BURN]


def _with_burning(job: PastJob, factor: float) -> PastJob:
    hours = {**job.hours, Work.BURN: job.hours[Work.BURN] * factor}
    return PastJob(job.title, job.plan, hours, job.finished_on)


def test_before_anything_is_known_it_is_wide_and_after_five_jobs_this_artist() -> None:
    slow = learn(_jobs(5, lambda _: 1.6))
    assert _factor(PRIOR_PACE) == pytest.approx(1, abs=0.1)
    assert _factor(slow) == pytest.approx(1.6, rel=0.15)
    wide, narrow = (pace.forecast(MIDDLE).to_dict()["total"] for pace in (PRIOR_PACE, slow))
    assert narrow["p90"] / narrow["p10"] < 0.6 * wide["p90"] / wide["p10"]


def test_a_clock_left_running_overnight_wrecks_nothing_and_is_named() -> None:
    jobs = _jobs(12, lambda _: 1.0)
    spoiled = [*jobs[:8], _with_burning(jobs[8], 7.0), *jobs[9:]]
    honest, wrecked = learn(jobs), learn(spoiled)
    assert _factor(wrecked) == pytest.approx(_factor(honest), rel=0.12)
    assert honest.suspects == ()
    assert [(one.title, one.stage) for one in wrecked.suspects] == [("job 8", Work.BURN)]
    assert wrecked.suspects[0].hours > 3 * wrecked.suspects[0].expected_h


def test_an_artist_who_becomes_faster_is_followed_within_six_jobs() -> None:
    """30 % faster from job 25 on; six jobs later the forecast has come most of the way."""
    jobs = _jobs(31, lambda number: 1.0 if number < 25 else 0.7)
    assert _factor(learn(jobs[:25])) == pytest.approx(1, rel=0.1)
    assert _factor(learn(jobs)) == pytest.approx(0.7, rel=0.12)


def test_half_finished_jobs_never_count_as_whole() -> None:
    jobs = _jobs(10, lambda _: 1.0)
    halves = [
        PastJob(
            job.title, job.plan, {**job.hours, Work.BURN: job.hours[Work.BURN] / 2},
            None, share={Work.BURN: 0.5},
        )
        for job in jobs
    ]  # fmt: skip
    assert _factor(learn(halves)) == pytest.approx(1, rel=0.12)


def test_jobs_known_by_their_total_teach_too() -> None:
    jobs = [
        PastJob(job.title, job.plan, {}, job.finished_on, rest_h=job.total_h)
        for job in _jobs(12, lambda _: 1.5)
    ]
    pace = learn(jobs)
    total = pace.forecast(MIDDLE).quantile(0.5)
    assert total == pytest.approx(1.5 * sum(standard_hours(MIDDLE).values()), rel=0.15)


def _median(pace: Pace, stage: Work) -> float:
    """The median of a middling job's stage over the standard."""
    return float(np.median(pace.forecast(MIDDLE).draws[stage])) / standard_hours(MIDDLE)[stage]


def test_a_total_teaches_what_it_covers_and_no_more() -> None:
    """Twice the standard in burning alone: finishing follows only as stages are alike."""
    jobs = _jobs(12, lambda _: 2.0)
    alone = [
        PastJob.of_total(
            job.title, job.plan, {}, job.finished_on, job.hours[Work.BURN], (Work.BURN,)
        )
        for job in jobs
    ]
    by_stage = [
        PastJob(job.title, job.plan, {Work.BURN: job.hours[Work.BURN]}, job.finished_on)
        for job in jobs
    ]
    assert alone == by_stage
    whole = [
        PastJob.of_total(job.title, job.plan, {}, job.finished_on, job.total_h, tuple(Work))
        for job in jobs
    ]
    assert whole == [
        PastJob(job.title, job.plan, {}, job.finished_on, rest_h=job.total_h) for job in jobs
    ]
    traced = [
        PastJob.of_total(
            job.title, job.plan, {}, job.finished_on,
            job.hours[Work.TRANSFER] + job.hours[Work.BURN], (Work.TRANSFER, Work.BURN),
        )
        for job in jobs
    ]  # fmt: skip
    assert traced[0].recorded == (Work.TRANSFER, Work.BURN)
    pace = learn(traced)
    assert _median(pace, Work.BURN) == pytest.approx(2, rel=0.15)
    assert 1 < _median(pace, Work.FINISH) < _median(pace, Work.BURN)
    spread = {
        stage: float(np.std(np.log(pace.forecast(MIDDLE).draws[stage])))
        for stage in (Work.BURN, Work.FINISH)
    }
    assert spread[Work.FINISH] > 1.3 * spread[Work.BURN], "it is not known as well"


def test_hours_of_a_stage_are_taken_out_of_the_total() -> None:
    plan, burn = MIDDLE, {Work.BURN: 12.0}
    job = PastJob.of_total("Owl", plan, burn, None, 20.0, tuple(Work))
    assert (job.rest_h, job.total_h) == (8.0, 20.0)
    assert job.rest_of == (Work.PREPARE, Work.TRANSFER, Work.FINISH)
    two = PastJob.of_total("Owl", plan, burn, None, 15.0, (Work.TRANSFER, Work.BURN))
    assert two.hours == {Work.BURN: 12.0, Work.TRANSFER: 3.0}
    assert PastJob.of_total("Owl", plan, burn, None, 12.0, tuple(Work)).hours == burn


def test_the_order_of_the_records_does_not_matter_and_seeds_do_not_wander() -> None:
    jobs = _jobs(9, lambda _: 1.2)
    assert _factor(learn(jobs)) == pytest.approx(_factor(learn(jobs[::-1])), rel=1e-9)
    first, again = (learn(jobs).forecast(MIDDLE).total for _ in range(2))
    assert np.array_equal(first, again)


@pytest.mark.long
def test_a_backtest_covers_about_what_it_says() -> None:
    """One artist of 60 jobs: P10 to P90 is meant to hold 80 %; three standard errors either way."""
    tried = backtest(_jobs(60, lambda _: 1.3, scatter=0.25)).jobs[5:]
    inside = np.mean([job.inside for job in tried])
    assert abs(inside - 0.8) < 3 * np.sqrt(0.16 / len(tried))
    for job in tried:
        assert job.p10 < job.p50 < job.p80 < job.p90


def test_jobs_of_a_day_do_not_see_each_other() -> None:
    jobs = _jobs(8, lambda _: 1.4)
    same = [PastJob(job.title, job.plan, job.hours, date(2026, 1, 5)) for job in jobs]
    prior = PRIOR_PACE.forecast(jobs[0].plan).quantile(0.5)
    assert backtest(same).jobs[0].p50 == pytest.approx(prior, rel=1e-6)


def test_the_newest_are_tried_as_all_are() -> None:
    jobs = _jobs(9, lambda _: 1.2)
    assert backtest(jobs, newest=4).jobs == backtest(jobs).jobs[-4:]
    assert backtest(jobs, newest=99).jobs == backtest(jobs).jobs


def test_pinball_is_least_at_the_quantile() -> None:
    """Koenker and Bassett (1978): the quantile minimises the mean loss."""
    draws = np.random.default_rng(5).lognormal(size=4001)
    for share in (0.1, 0.5, 0.8, 0.9):
        at = float(np.quantile(draws, share))
        losses = [
            np.mean([pinball_loss(float(x), guess, share) for x in draws[:1500]])
            for guess in (0.8 * at, at, 1.25 * at)
        ]
        assert losses[1] == min(losses)


@pytest.mark.parametrize("jobs", [0, 3, 25])
def test_draws_are_those_of_the_mixture_written_out(jobs: int) -> None:
    known = learn(_jobs(jobs, lambda _: 1.2))
    rows, standard, doubt = rows_of(MIDDLE)
    centre, spread = known._log_hours(rows, doubt)
    normal, stretch, changed = pace._noise(0, len(standard), known.degrees)
    shares = np.cumsum(known.weight)
    plain = []
    for draw in range(pace.DRAWS):
        one = min(int((shares < (draw + 0.5) / pace.DRAWS).sum()), len(shares) - 1)
        log_hours = centre[one] + standard
        log_hours += np.linalg.cholesky(spread[one]) @ normal[:, draw] * stretch[draw]
        if jobs and draw % pace._ONE_IN == pace._ONE_IN // 2:
            log_hours += changed[draw // pace._ONE_IN]
        plain.append(np.exp(log_hours))
    drawn = known.forecast(MIDDLE).draws
    assert pytest.approx(np.array(plain), rel=1e-12) == np.array([*drawn.values()]).T
