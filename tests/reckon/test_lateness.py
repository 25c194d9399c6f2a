"""Who is late: fewest by J. M. Moore, Management Science 15 (1968), against all subsets and a
ten-job example; chances by moments (Fenton 1960) against drawing.
"""

from collections.abc import Sequence
from datetime import date
from itertools import accumulate, combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.reckon.lateness import (
    Course,
    Waiting,
    chances_on_time,
    course_of,
    days_late,
    earliest_due_first,
    fewest_late,
    late_in_order,
)
from burnplan.reckon.remaining import of_quantiles


def test_the_ten_job_example_of_fewest_late() -> None:
    hours = (19, 23, 5, 31, 17, 8, 32, 41, 26, 18)
    dues = (48, 75, 170, 215, 205, 240, 85, 67, 100, 95)
    on_time, late = fewest_late(hours, dues)
    assert {job + 1 for job in late} == {8, 7}
    assert [job + 1 for job in on_time] == [1, 2, 10, 9, 3, 5, 4, 6]
    # Earliest due date first alone has four late, the worst by 59.
    order = earliest_due_first(dues)
    lateness = [c - dues[j] for c, j in zip(accumulate(hours[j] for j in order), order,
                                            strict=True)]  # fmt: skip
    assert sum(one > 0 for one in lateness) == 4
    assert late_in_order(hours, dues) == [
        j for j, one in zip(order, lateness, strict=True) if one > 0
    ]
    assert max(lateness) == 59


@given(st.lists(st.tuples(st.integers(1, 20), st.integers(0, 60)), max_size=9))
def test_no_subset_has_fewer_late(jobs: list[tuple[int, int]]) -> None:
    hours, dues = [p for p, _ in jobs], [d for _, d in jobs]
    on_time, late = fewest_late(hours, dues)
    assert sorted(on_time + late) == list(range(len(jobs)))

    def feasible(subset: Sequence[int]) -> bool:
        order = sorted(subset, key=lambda j: dues[j])
        ends = accumulate(hours[j] for j in order)
        return all(end <= dues[j] for end, j in zip(ends, order, strict=True))

    assert feasible(on_time)
    assert on_time == sorted(on_time, key=lambda j: dues[j])
    more = combinations(range(len(jobs)), len(on_time) + 1)
    assert not any(feasible(subset) for subset in more)


@pytest.mark.parametrize("shared", [0.0, 0.3, 0.8])
def test_chances_of_a_shared_pace_agree_with_a_simulation(shared: float) -> None:
    """Moments of sums of correlated log-normals against 200 000 draws, within 1.5 points."""
    random = np.random.default_rng(11)
    medians = np.array((5.0, 12, 3, 20, 8, 6))
    sigma = 0.35
    free = np.array((6.0, 19, 22, 46, 52, 70))
    common, own = random.normal(size=200_000), random.normal(size=(6, 200_000))
    drawn = medians[:, None] * np.exp(sigma * (shared**0.5 * common + (1 - shared) ** 0.5 * own))
    simulated = np.mean(np.cumsum(drawn, axis=0) <= free[:, None], axis=1)
    left = [of_quantiles(m, m * np.exp(sigma * 1.2815515655446004)) for m in medians]
    chances = chances_on_time(
        [Waiting(one, hours) for one, hours in zip(left, free, strict=True)], shared
    )
    np.testing.assert_allclose(np.array(chances, float), simulated, atol=0.015)


def test_without_a_date_there_is_no_chance_but_its_hours_count() -> None:
    left = of_quantiles(10, 14)
    alone, behind = (
        chances_on_time([*before, Waiting(left, 25.0)], 0)[-1]
        for before in ([], [Waiting(left, None)])
    )
    assert chances_on_time([Waiting(left, None)], 0) == [None]
    assert alone is not None
    assert behind is not None
    assert alone > 0.99 > behind
    assert chances_on_time([Waiting(left, 0.0)], 0) == [0.0]


@pytest.mark.parametrize(
    ("chance", "course"),
    [(1.0, "on course"), (0.8, "on course"), (0.799, "at risk"), (0.5, "at risk"),
     (0.499, "likely late"), (0.0, "likely late")],
)  # fmt: skip
def test_a_job_is_at_risk_below_four_fifths_and_likely_late_below_half(
    chance: float, course: str
) -> None:
    assert course_of(chance) is Course(course)


def test_days_late_are_counted_from_the_day_after() -> None:
    today = date(2027, 3, 17)
    assert [days_late(due, today) for due in (None, date(2027, 3, 20), today)] == [0, 0, 0]
    assert days_late(date(2027, 3, 16), today) == 1
    assert days_late(date(2027, 2, 17), today) == 28
