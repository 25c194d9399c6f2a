"""One job alone does not move what is forecast for others; jobs that agree do.

The bound: after ten jobs that agree within 8 %, one job of any length, in one stage or in all
of them alike, moves the median of another by at most 25 %, also when some like the others
follow it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnplan.reckon.pace import learn
from burnplan.reckon.pace_rows import PastJob
from burnplan.reckon.standard_hours import coarse_plan, standard_hours, usual_line_cm
from burnplan.reckon.work import Grade, Work, WorkPlan
from tests.cases import quick_first

BOUND = 1.25
FACTORS = (0.1, 1 / 3, 0.5, 2, 3, 10)
STAGES = [*Work]


@dataclass
class Artist:
    """One who burns ten, twelve or twenty jobs that agree within 8 %."""

    random: np.random.Generator
    alike: bool  # whether the stages of a job are slow or fast together
    own: float
    piece: Callable[[], WorkPlan]

    @classmethod
    def of(cls, seed: int) -> "Artist":
        random = np.random.default_rng(seed)

        def piece() -> WorkPlan:
            area, texture = float(np.exp(random.uniform(4.6, 7.8))), random.uniform(0.05, 0.75)
            return coarse_plan(
                10 * area**0.5,
                10 * area**0.5,
                area,
                hardness_lbf=float(random.choice([410, 910, 1450])),
                darkness=Grade(float(random.uniform(0.15, 0.85))),
                texture=Grade(float(texture)),
                line_cm=usual_line_cm(area, float(texture)),
            )

        one = piece()
        always = seed % 4 >= 2
        own = float(np.exp(random.uniform(-0.5, 0.5)))
        return cls(random, bool(seed % 2), own, (lambda: one) if always else piece)

    def job(self, day: int, factor: float = 1.0, stages: list[Work] = STAGES) -> PastJob:
        plan = self.piece()
        scatter = np.exp(self.random.normal(0, 0.08, 1 if self.alike else 4)) * np.ones(4)
        hours = {
            work: self.own * h * float(x) * (factor if work in stages else 1.0)
            for (work, h), x in zip(standard_hours(plan).items(), scatter, strict=True)
        }
        return PastJob(str(day), plan, hours, date(2020, 1, 1) + timedelta(day))


def _median(jobs: list[PastJob], plan: WorkPlan) -> float:
    return learn(jobs).forecast(plan).quantile(0.5)


@pytest.mark.whole
@settings(deadline=None)
@given(
    seed=st.integers(0, 10**6),
    count=st.integers(10, 24),
    log_factor=st.floats(-5, 5),
    stages=st.sampled_from([STAGES, [Work.BURN], [Work.PREPARE, Work.TRANSFER]]),
    followed=st.integers(0, 2),
)
def test_one_job_of_any_length_moves_another_by_a_quarter_at_most(
    seed: int, count: int, log_factor: float, stages: list[Work], followed: int
) -> None:
    """Against what is forecast without it, when it is the newest, and when others follow it."""
    artist = Artist.of(seed)
    jobs = [artist.job(day) for day in range(count)]
    plan, odd = artist.piece(), artist.job(count, float(np.exp(log_factor)), stages)
    then = [artist.job(count + 1 + day) for day in range(followed)]
    moved = _median([*jobs, odd, *then], plan) / _median([*jobs, *then], plan)
    assert 1 / BOUND < moved < BOUND


@quick_first("seed", range(8), quick=1)
def test_it_moves_what_was_forecast_before_it_by_a_quarter_at_most(seed: int) -> None:
    artist = Artist.of(seed)
    jobs = [artist.job(day) for day in range(int(artist.random.choice([10, 12, 20])))]
    plan = artist.piece()
    before, count = _median(jobs, plan), len(jobs)
    for factor in FACTORS:
        for stages in (STAGES, [Work.BURN]):
            odd, then = artist.job(count, factor, stages), artist.job(count + 1)
            for newest in ([odd], [odd, then]):
                moved = _median([*jobs, *newest], plan) / before
                assert 1 / BOUND < moved < BOUND, (factor, len(stages), len(newest))


@quick_first("factor", [3.0, 30.0])
def test_it_does_not_make_what_is_forecast_vague(factor: float) -> None:
    """P80, on which prices rest, stays where it was too."""
    for seed in range(6):
        artist = Artist.of(seed)
        jobs = [artist.job(day) for day in range(12)]
        plan, odd = artist.piece(), artist.job(12, factor)
        before, after = (learn(known).forecast(plan) for known in (jobs, [*jobs, odd]))
        assert after.quantile(0.8) < 1.35 * before.quantile(0.8)


@quick_first("factor", FACTORS, quick=2)
def test_jobs_that_agree_are_learnt(factor: float) -> None:
    """Most of it from two, nearly all of it from three."""
    learnt: dict[int, list[float]] = {2: [], 3: []}
    for seed in range(8):
        artist = Artist.of(seed)
        jobs = [artist.job(day) for day in range(12)]
        plan = artist.piece()
        before = _median(jobs, plan)
        for count, found in learnt.items():
            newest = [artist.job(12 + day, factor) for day in range(count)]
            found.append(np.log(_median([*jobs, *newest], plan) / before) / np.log(factor))
    assert np.median(learnt[2]) > 0.8
    assert np.median(learnt[3]) > 0.9
    assert min(learnt[3]) > 0.6


def test_an_unfinished_job_teaches_by_what_is_finished_of_it() -> None:
    artist = Artist.of(1)
    jobs = [artist.job(day) for day in range(12)]
    plan = artist.piece()
    slow = artist.job(12, 3).hours
    begun = PastJob(
        "begun", plan, {Work.BURN: slow[Work.BURN] / 4}, share={Work.BURN: 0.25}, under_way=True
    )
    assert _median([*jobs, begun], plan) / _median(jobs, plan) == pytest.approx(1, abs=0.1)
    assert not begun.is_whole
