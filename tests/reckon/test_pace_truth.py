"""Pace against dense computation, scipy, and artists whose truth is known (invented)."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from burnplan.reckon import pace_fit, pace_rows
from burnplan.reckon.forecast import HoursForecast
from burnplan.reckon.pace import MEMORY, PRIOR_PACE, learn
from burnplan.reckon.pace_rows import PastJob
from burnplan.reckon.regression import Array
from burnplan.reckon.standard_hours import coarse_plan, standard_hours
from burnplan.reckon.work import Grade, LineWork, Work, WorkPlan, ZoneWork, grade_by_eye

PIECE = coarse_plan(
    300, 400, 1200, hardness_lbf=410, darkness=Grade(0.5), texture=Grade(0.2), line_cm=1000
)


def _day(number: int) -> date:
    return date(2024, 1, 1) + timedelta(days=7 * number)


def _piece(random: np.random.Generator) -> WorkPlan:
    area = float(np.exp(random.uniform(np.log(150), np.log(2000))))
    return coarse_plan(
        10 * area**0.5, 10 * area**0.5, area,
        hardness_lbf=float(random.choice([410, 910, 1450])),
        darkness=Grade(float(random.uniform(0.2, 0.8))),
        texture=Grade(float(random.uniform(0.1, 0.6))),
        line_cm=float(area * random.uniform(0.6, 1.2)),
    )  # fmt: skip


def _jobs(
    count: int,
    level: float | Callable[[int], float] = 1.0,
    *,
    seed: int = 0,
    scatter: float = 0.2,
    start: int = 0,
) -> list[PastJob]:
    """An artist who takes ``level`` times the starting guess."""
    random = np.random.default_rng(seed)
    jobs = []
    for number in range(count):
        plan = _piece(random)
        times = level(number) if callable(level) else level
        hours = {
            stage: hours * times * float(np.exp(random.normal(0, scatter)))
            for stage, hours in standard_hours(plan).items()
        }
        jobs.append(PastJob(f"job {number}", plan, hours, _day(start + number)))
    return jobs


def _p50(jobs: Sequence[PastJob], plan: WorkPlan = PIECE) -> float:
    return learn(jobs).forecast(plan).quantile(0.5)


def _factor(jobs: Sequence[PastJob]) -> float:
    """P50 of the usual piece against its standard hours."""
    return _p50(jobs) / sum(standard_hours(PIECE).values())


def _log_width(forecast: HoursForecast) -> float:
    return float(np.log(forecast.quantile(0.9) / forecast.quantile(0.1)))


# ---- the closed form ---------------------------------------------------------------


def _dense(jobs: Sequence[PastJob], rho: float, sigma: float) -> tuple[Array, Array, Array]:
    """Rows, values and correlation of the scatter of all stages of all jobs, one under another."""
    rows, values = [], []
    for job in jobs:
        features = np.array(pace_rows.features_of(job.plan))
        standard = np.log([*standard_hours(job.plan).values()])
        bend = standard - features @ pace_rows.straight()
        for number, stage in enumerate(Work):
            own = np.zeros((4, 5))
            own[number] = features
            rows.append(np.concatenate([features, own.ravel(), [bend[number]]]))
            values.append(np.log(job.hours[stage]) - standard[number])
    within = rho + (1 - rho) * np.eye(4)
    correlation = np.asarray(np.kron(np.eye(len(jobs)), within), np.float64)
    return np.array(rows), np.array(values), correlation


@pytest.mark.parametrize("seed", range(3))
def test_every_hypothesis_is_the_generalised_least_squares_it_stands_for(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Mean by solving with the whole covariance; evidence by scipy's multivariate Student-t."""
    monkeypatch.setattr(pace_fit, "DISCOUNT", 1.0)
    monkeypatch.setattr(pace_fit, "RECORD_SD", 0.0)
    jobs = _jobs(9, 1.4, seed=seed)
    records = pace_rows.Records.of(jobs)
    state = pace_fit.State.start(records)
    fit = pace_fit.fit_all(records, state)
    found = []
    for number in (0, 7, 23, 41):
        rho, sigma = float(pace_fit.RHO[number]), float(pace_fit._SIGMA[number])
        rows, values, correlation = _dense(jobs, rho, sigma)
        prior = np.diag(pace_fit._A0[number])
        inverse = np.linalg.inv(correlation)
        precision = prior + rows.T @ inverse @ rows
        mean = np.linalg.solve(precision, rows.T @ inverse @ values)
        np.testing.assert_allclose(fit.after.mean[number], mean, atol=1e-6)
        np.testing.assert_allclose(fit.after.precision[number], precision, rtol=1e-6, atol=1e-6)
        spread = sigma**2 * (correlation + rows @ np.linalg.inv(prior) @ rows.T)
        evidence = stats.multivariate_t(
            np.zeros(len(values)), spread, df=pace_fit.SCATTER_WORTH
        ).logpdf(values)
        weighed = float(np.log(fit.weight[number, 0] / pace_fit._CHANCE[number]))
        found.append(weighed - evidence)
    # All weights are the evidence times the chance beforehand, but for one constant.
    np.testing.assert_allclose(found, found[0], atol=1e-6)


def test_drawn_quantiles_are_those_of_the_mixture() -> None:
    """The distribution of one stage, by scipy's Student-t, weighed."""
    found = learn(_jobs(6, 1.3))
    rows = pace_rows.design(
        np.array(pace_rows.features_of(PIECE)),
        np.log([*standard_hours(PIECE).values()])
        - np.array(pace_rows.features_of(PIECE)) @ pace_rows.straight(),
        np.eye(4),
    )
    centre, spread = found._log_hours(rows, np.zeros(4))
    drawn = found.forecast(PIECE).draws[Work.BURN] / standard_hours(PIECE)[Work.BURN]
    for share in (0.1, 0.5, 0.8, 0.9):
        at = np.log(np.quantile(drawn, share))
        below = stats.t(found.degrees, centre[:, 2], np.sqrt(spread[:, 2, 2])).cdf(at)
        # One in twenty may have another pace: a Student-t and a normal deviate, by simulation.
        random = np.random.default_rng(3)
        which = random.choice(len(found.weight), 200_000, p=found.weight)
        other = centre[which, 2] + np.sqrt(spread[which, 2, 2]) * random.standard_t(
            found.degrees, which.size
        )
        other += random.normal(0, pace_fit.SHIFT_SD, which.size)
        below = 0.95 * below + 0.05 * np.mean(other <= at)
        assert float(found.weight @ below) == pytest.approx(share, abs=0.02)


# ---- before anything is known ------------------------------------------------------


def test_with_no_history_the_forecast_is_wide_about_the_standard() -> None:
    hours, standard = PRIOR_PACE.forecast(PIECE), standard_hours(PIECE)
    for stage, drawn in hours.draws.items():
        logs = np.log(drawn / standard[stage])
        assert abs(np.median(logs)) < 0.1
        assert 0.4 < logs.std() < 1.0
    assert hours.chance_within(hours.quantile(0.8)) == pytest.approx(0.8, abs=0.001)
    assert PRIOR_PACE.jobs == 0
    assert PRIOR_PACE.suspects == ()


def test_the_same_seed_gives_the_same_hours() -> None:
    found = learn(_jobs(3))
    assert np.array_equal(found.forecast(PIECE, 5).total, found.forecast(PIECE, 5).total)
    assert not np.array_equal(found.forecast(PIECE, 5).total, found.forecast(PIECE, 6).total)


def test_the_shape_of_an_estimate() -> None:
    hours = PRIOR_PACE.forecast(PIECE).to_dict()
    assert list(hours) == ["prepare", "transfer", "burn", "finish", "total"]
    for quantiles in hours.values():
        assert list(quantiles) == ["p10", "p50", "p80", "p90"]
        assert list(quantiles.values()) == sorted(quantiles.values())


def test_stages_are_slow_together() -> None:
    """Wider than if they were independent: the artist is slow or fast at all of them."""
    draws = PRIOR_PACE.forecast(PIECE).draws
    random = np.random.default_rng(1)
    apart = sum(random.permutation(drawn) for drawn in draws.values())
    assert np.std(np.log(PRIOR_PACE.forecast(PIECE).total)) > 1.05 * np.std(np.log(apart))


# ---- what hours teach --------------------------------------------------------------


@pytest.mark.parametrize("level", [0.5, 1.0, 2.0])
def test_after_five_jobs_it_is_this_artist(level: float) -> None:
    found = [_factor(_jobs(5, level, seed=seed)) for seed in range(6)]
    assert np.median(found) == pytest.approx(level, rel=0.15)
    assert _log_width(learn(_jobs(5, level)).forecast(PIECE)) < 0.6 * _log_width(
        PRIOR_PACE.forecast(PIECE)
    )


def test_one_stage_teaches_the_others_a_little() -> None:
    """Partial pooling: slow burning makes finishing likelier slow, but not as slow."""
    jobs = [replace(job, hours={Work.BURN: job.hours[Work.BURN]}) for job in _jobs(8, 2.0)]
    forecast = learn(jobs).forecast(PIECE)
    burn, finish = (
        float(np.median(forecast.draws[stage])) / standard_hours(PIECE)[stage]
        for stage in (Work.BURN, Work.FINISH)
    )
    assert 1.15 < finish < burn - 0.1
    assert burn == pytest.approx(2, rel=0.15)


def test_hours_known_only_as_a_sum_teach_too() -> None:
    jobs = [replace(job, hours={}, rest_h=job.total_h) for job in _jobs(8, 1.8)]
    assert _factor(jobs) == pytest.approx(1.8, rel=0.15)
    some = [
        replace(
            job,
            hours={Work.BURN: job.hours[Work.BURN]},
            rest_h=job.total_h - job.hours[Work.BURN],
        )
        for job in _jobs(8, 1.8)
    ]
    assert _factor(some) == pytest.approx(_factor(_jobs(8, 1.8)), rel=0.05)


def test_a_stage_that_was_not_part_of_the_job_teaches_nothing_of_it() -> None:
    jobs = _jobs(6, 1.5)
    without = [replace(job, hours={**job.hours, Work.PREPARE: 0.0}) for job in jobs]
    silent = [
        replace(job, hours={w: h for w, h in job.hours.items() if w is not Work.PREPARE})
        for job in jobs
    ]
    assert _p50(without) == _p50(silent)


def test_order_of_records_does_not_matter() -> None:
    jobs = _jobs(7, 1.4)
    assert _p50(jobs[::-1]) == pytest.approx(_p50(jobs), rel=1e-9)


def test_slower_on_large_pieces_is_learned() -> None:
    """True hours grow with a power of area that is 0.3 more than the guess's."""

    def slower(jobs: list[PastJob]) -> list[PastJob]:
        return [
            replace(
                job,
                hours={w: h * (job.plan.area_cm2 / 500) ** 0.3 for w, h in job.hours.items()},
            )
            for job in jobs
        ]

    def ratio(jobs: list[PastJob]) -> float:
        large, small = (coarse_plan(100, 100, area, hardness_lbf=910) for area in (1800, 200))
        return _p50(jobs, large) / _p50(jobs, small)

    plain, found = ratio(_jobs(30)), ratio(slower(_jobs(30)))
    assert found / plain == pytest.approx(9**0.3, rel=0.12)


@pytest.mark.long
def test_a_faster_artist_is_followed_within_six_jobs() -> None:
    """The median over invented artists who became 30 % faster after 20 jobs."""

    def off(after: int) -> float:
        found = [
            _factor(_jobs(20 + after, lambda n: 0.7 if n >= 20 else 1.0, seed=seed))
            for seed in range(12)
        ]
        return float(np.median(found)) / 0.7 - 1

    assert off(0) > 0.3
    assert off(6) < 0.06


def test_a_steady_artist_is_not_thought_to_have_changed() -> None:
    few = [_factor(_jobs(30, seed=seed)) for seed in range(12)]
    assert np.std(np.log(few)) < 0.1


# ---- what does not fit -------------------------------------------------------------


@pytest.mark.parametrize("where", [2, 7, 11])
def test_a_clock_left_running_overnight_does_not_wreck_it(where: int) -> None:
    jobs = _jobs(12, 1.3, seed=4)
    wrong = list(jobs)
    hours = {**jobs[where].hours}
    hours[Work.TRANSFER] += 14
    wrong[where] = replace(jobs[where], hours=hours)
    assert _p50(wrong) == pytest.approx(_p50(jobs), rel=0.06)
    (suspect,) = learn(wrong).suspects
    assert (suspect.title, suspect.stage) == (jobs[where].title, Work.TRANSFER)
    assert suspect.hours == pytest.approx(hours[Work.TRANSFER])
    assert suspect.expected_h == pytest.approx(jobs[where].hours[Work.TRANSFER], rel=0.6)


def test_hours_typed_in_minutes_are_suspected() -> None:
    jobs = _jobs(10, seed=1)
    jobs[4] = replace(jobs[4], hours={w: h * 60 for w, h in jobs[4].hours.items()})
    found = learn(jobs)
    assert {suspect.title for suspect in found.suspects} == {"job 4"}
    assert _factor(jobs) == pytest.approx(1, rel=0.15)


def test_honest_hours_are_seldom_suspected() -> None:
    suspects = [len(learn(_jobs(20, seed=seed, scatter=0.25)).suspects) for seed in range(10)]
    assert sum(suspects) <= 4  # of 800


# ---- unfinished --------------------------------------------------------------------


def test_a_job_half_done_counts_by_its_share_and_for_less() -> None:
    def with_last(hours: float, share: Mapping[Work, float]) -> HoursForecast:
        last = PastJob("last", PIECE, {Work.BURN: hours}, _day(50), share=share)
        return learn([*_jobs(3), last]).forecast(PIECE)

    slow = 2.2 * standard_hours(PIECE)[Work.BURN]
    before = learn(_jobs(3)).forecast(PIECE).quantile(0.5)
    whole, half = with_last(slow, {}), with_last(slow / 2, {Work.BURN: 0.5})
    assert before * 1.03 < half.quantile(0.5) < whole.quantile(0.5)


# ---- what is not known of a piece --------------------------------------------------


def test_what_is_graded_by_eye_or_not_at_all_is_wider() -> None:
    found = learn(_jobs(20))
    measured = found.forecast(PIECE)
    by_eye = found.forecast(
        coarse_plan(
            300, 400, 1200, hardness_lbf=410, darkness=grade_by_eye(3), texture=grade_by_eye(2)
        )
    )
    unknown = found.forecast(coarse_plan(300, 400, 1200))
    assert _log_width(measured) < _log_width(by_eye) < _log_width(unknown)


def test_jobs_graded_by_eye_teach_less() -> None:
    jobs = _jobs(6, 1.6)
    vague = [
        replace(
            job,
            plan=coarse_plan(
                job.plan.width_mm, job.plan.height_mm, job.plan.area_cm2,
                hardness_lbf=job.plan.hardness_lbf,
                darkness=Grade(job.plan.darkness, 0.18), texture=Grade(job.plan.texture, 0.15),
                line_cm=job.plan.lines.drawn_cm,
            ),
        )
        for job in jobs
    ]  # fmt: skip
    sure, unsure = learn(jobs).forecast(PIECE), learn(vague).forecast(PIECE)
    assert 1.2 < _factor(vague) < 1.8
    assert _log_width(unsure) > _log_width(sure)


def test_a_measured_plan_of_many_zones_is_forecast() -> None:
    zones = tuple(ZoneWork(n, 200, d, 0.2, 4, 80) for n, d in enumerate((0.9, 0.6, 0.3, 0.0), 1))
    plan = WorkPlan(200, 400, 800, "own wood", None, zones, LineWork(200, 300, 100))
    assert 3 < learn(_jobs(5)).forecast(plan).quantile(0.5) < 12


# ---- strange but possible records --------------------------------------------------


@pytest.mark.long
@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.floats(1, 50_000),
            st.floats(0, 1),
            st.floats(0, 1),
            st.floats(0.01, 5000),
            st.sampled_from([*Work, None]),
            st.integers(0, 5),
        ),
        max_size=12,
    )
)
def test_any_records_give_a_sane_forecast(
    jobs: list[tuple[float, float, float, float, Work | None, int]],
) -> None:
    past = []
    for area, dark, rough, hours, stage, day in jobs:
        plan = coarse_plan(100, 100, area, darkness=Grade(dark), texture=Grade(rough))
        known = {stage: hours} if stage else {}
        past.append(PastJob("x", plan, known, _day(day), rest_h=None if stage else hours))
    for quantiles in learn(past).forecast(PIECE).to_dict().values():
        values = [*quantiles.values()]
        assert np.isfinite(values).all()
        assert 0 < values[0] <= values[1] <= values[2] <= values[3]


def test_jobs_that_are_all_alike() -> None:
    jobs = [PastJob("same", PIECE, standard_hours(PIECE), _day(n)) for n in range(30)]
    forecast = learn(jobs).forecast(PIECE)
    assert forecast.quantile(0.5) == pytest.approx(sum(standard_hours(PIECE).values()), rel=0.03)
    assert _log_width(forecast) < 0.35


def test_only_the_latest_jobs_are_kept_in_mind() -> None:
    jobs = _jobs(MEMORY + 50, lambda n: 3.0 if n < 50 else 1.0, scatter=0.25)
    assert learn(jobs).jobs == MEMORY
    assert _p50(jobs) == pytest.approx(_p50(jobs[50:]), rel=1e-9)
