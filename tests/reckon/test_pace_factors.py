from dataclasses import replace
from datetime import date, timedelta
from math import exp, log, sqrt

import numpy as np
import pytest

from burnplan.reckon.pace import PRIOR_PACE, learn
from burnplan.reckon.pace_factors import PaceFactor, pace_factors
from burnplan.reckon.pace_rows import PastJob
from burnplan.reckon.standard_hours import coarse_plan, standard_hours
from burnplan.reckon.work import Grade, Work


def _jobs(count: int, level: float, dark: float) -> list[PastJob]:
    """An artist who is ``level`` times the guess, and slower by ``dark`` per unit of darkness."""
    random = np.random.default_rng(3)
    jobs = []
    for number in range(count):
        darkness, area = random.uniform(0.25, 0.8), random.uniform(200, 1200)
        plan = coarse_plan(
            10 * area**0.5, 10 * area**0.5, area, hardness_lbf=600,
            darkness=Grade(darkness), texture=Grade(random.uniform(0.1, 0.6)),
        )  # fmt: skip
        slow = level * np.exp(dark * (darkness - 0.5))
        hours = {
            stage: hours * (slow if stage is Work.BURN else level) * np.exp(random.normal(0, 0.1))
            for stage, hours in standard_hours(plan).items()
        }
        day = date(2026, 1, 1) + timedelta(days=7 * number)
        jobs.append(PastJob(f"job {number}", plan, hours, day))
    return jobs


def _by_name(jobs: list[PastJob]) -> dict[str, tuple[float, float]]:
    return {one.about: (one.factor, one.within) for one in pace_factors(learn(jobs))}


def test_with_no_history_all_is_as_guessed_and_unsure() -> None:
    for one in pace_factors(PRIOR_PACE):
        assert one.factor == pytest.approx(1, abs=0.02)
        assert one.within > 0.2
        assert "as the starting guess" in one.in_words()


def test_nine_times_in_ten_is_what_is_said() -> None:
    """With no history: level, area, darkness, texture and hardness as PRIOR has them, by hand.

    The belief is a Student-t of 10 degrees of freedom, whose variance is 10/8 of its scale's
    square; nine in ten of a normal one of that variance lie within 1.645 deviations.
    """
    level, area, dark, rough, hard, bend = (
        (0.45, 0.30), (0.14, 0.12), (0.40, 0.20), (0.40, 0.20), (0.18, 0.10), 0.7,
    )  # fmt: skip
    found = {one.about: one.within for one in pace_factors(PRIOR_PACE)}

    def within(*parts: tuple[tuple[float, float], float], bent: float = 0.0) -> float:
        variance = sum((shared**2 + own**2) * by**2 for (shared, own), by in parts)
        return exp(1.6449 * sqrt((variance + (bend * bent) ** 2) * 10 / 8)) - 1

    middle = (level, 1.0), (area, log(600 / 400)), (rough, 0.05), (hard, log(600 / 750))
    # Bends are what a piece's log standard hours are off a straight line in the features.
    assert found == pytest.approx(
        {
            "prepare, a middling piece": within(*middle, bent=0.149),
            "transfer, a middling piece": within(*middle, bent=0.092),
            "burn, a middling piece": within(*middle, bent=0.037),
            "finish, a middling piece": within(*middle, bent=0.151),
            "burning dark fills, against pale ones": within((dark, 0.45), bent=0.003),
            "burning dense fur, against plain tones": within((rough, 0.5), bent=0.025),
            "burning large pieces, against small ones": within((area, log(6)), bent=0.040),
            "burning hard wood, against soft": within((hard, log(1400 / 410)), bent=0.008),
        },
        rel=0.002,
    )


def test_what_hypotheses_disagree_about_makes_it_unsure() -> None:
    """Two of equal weight, each sure of itself: 30 % faster or slower, in logarithms."""
    pair = np.array([0.3, -0.3])
    mean = np.zeros((2, PRIOR_PACE.mean.shape[1]))
    mean[:, 0] = pair
    sure = replace(
        PRIOR_PACE, weight=np.full(2, 0.5), mean=mean, cover=np.zeros((2, *2 * mean.shape[1:])),
        variance=np.ones(2), shared_scatter=np.zeros(2), shift=np.zeros((2, 4)),
    )  # fmt: skip
    for one in pace_factors(sure)[:4]:
        assert (one.factor, one.within) == pytest.approx((1, exp(1.6449 * 0.3) - 1), rel=1e-4)
    uneven = pace_factors(replace(sure, weight=np.array([0.9, 0.1])))[0]
    # 0.9 and 0.1 of them: a mean of 0.24, a deviation of 0.18.
    expected = exp(0.24), exp(1.6449 * 0.18) - 1
    assert (uneven.factor, uneven.within) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(
    ("factor", "within", "words"),
    [
        (2.0, 1.0, "100 % longer than the starting guess; sure within half to 2 times"),
        (1.5, 0.6, "50 % longer than the starting guess; sure within two thirds to 1.6 times"),
        (1.5, 0.12, "50 % longer than the starting guess; sure within ±12 %"),
        (0.7, 0.12, "30 % shorter than the starting guess; sure within ±12 %"),
        (1.031, 0.5, "3 % longer than the starting guess; sure within ±50 %"),
        (1.029, 0.5, "as the starting guess; sure within ±50 %"),
        (0.971, 0.5, "as the starting guess; sure within ±50 %"),
    ],
)
def test_a_factor_in_words(factor: float, within: float, words: str) -> None:
    assert PaceFactor("burning", factor, within).in_words() == f"burning: {words}"


def test_a_slow_artist_is_found_and_surer_with_more_jobs() -> None:
    few, many = _by_name(_jobs(5, 1.6, 0.0)), _by_name(_jobs(30, 1.6, 0.0))
    for stage in ("prepare", "transfer", "burn", "finish"):
        name = f"{stage}, a middling piece"
        assert many[name][0] == pytest.approx(1.6, rel=0.12)
        assert many[name][1] < few[name][1]


def test_slow_dark_fills_are_told_from_slow_burning() -> None:
    """True factor 1.5; slopes are strongly shrunk, so part of it is enough."""
    plain, found = _by_name(_jobs(40, 1.0, 0.0)), _by_name(_jobs(40, 1.0, 0.9))
    name = "burning dark fills, against pale ones"
    assert 1.1 < found[name][0] < 1.7
    assert found[name][0] > plain[name][0] * 1.1
    assert found["burn, a middling piece"][0] == pytest.approx(1, rel=0.12)
