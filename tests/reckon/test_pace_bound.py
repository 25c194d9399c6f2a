"""One job alone does not move what is forecast for others; jobs that agree do.

The bound: after ten jobs that agree within 8 %, one job of any length, in one stage or in all
of them alike, moves the median of another by at most 25 %, also when one like the others
follows it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pytest

from burnplan.reckon.pace import learn
from burnplan.reckon.pace_rows import PastJob
from burnplan.reckon.standard_hours import coarse_plan, standard_hours, usual_line_cm
from burnplan.reckon.work import Grade, Work, WorkPlan

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


@pytest.mark.parametrize("seed", range(16))
def test_one_job_of_any_length_moves_another_by_a_quarter_at_most(seed: int) -> None:
    artist = Artist.of(seed)
    count = int(artist.random.choice([10, 12, 20]))
    jobs = [artist.job(day) for day in range(count)]
    plan = artist.piece()
    before = _median(jobs, plan)
    for factor in FACTORS:
        for stages in (STAGES, [Work.BURN]):
            odd, then = artist.job(count, factor, stages), artist.job(count + 1)
            for newest in ([odd], [odd, then]):
                moved = _median([*jobs, *newest], plan) / before
                assert 1 / BOUND < moved < BOUND, (factor, len(stages), len(newest))


@pytest.mark.parametrize("factor", FACTORS)
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
