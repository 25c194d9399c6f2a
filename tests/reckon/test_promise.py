"""The queue against the calendar.

Earliest due date first: J. R. Jackson (1955), against all orders of up to seven jobs,
each worked off day by day. Fewest late jobs: J. M. Moore, Management Science 15 (1968),
against all subsets and a ten-job example. Dates against a plain walk over days. The
quick chances (moments, Fenton 1960) against drawing; a promised date against trying
every date.
"""

import subprocess
import sys
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import accumulate, combinations, permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.reckon import promise as module
from burnplan.reckon.progress import NOTHING, RemainingHours, of_quantiles
from burnplan.reckon.promise import (
    Capacity,
    FreeHours,
    Queued,
    Risk,
    chances,
    earliest_due_first,
    fewest_late,
    outlooks,
    promise,
    schedule,
)

MONDAY = date(2027, 3, 1)
WEEK = (4.0, 4.0, 4.0, 4.0, 4.0, 0.0, 0.0)


def sure(hours: float) -> RemainingHours:
    return RemainingHours(hours, 0.0)


def day(n: int, start: date = MONDAY) -> date:
    return start + timedelta(days=n)


# ---- hours free ----------------------------------------------------------------------
calendars = st.builds(
    Capacity,
    st.tuples(*(st.sampled_from([0.0, 1.5, 4.0, 7.25]) for _ in range(7))).filter(any),
    st.frozensets(st.dates(date(2028, 2, 20), date(2028, 4, 10)), max_size=12),
    st.sampled_from([24.0, 3.0, 2.0]),
)


@given(calendars, st.dates(date(2028, 2, 15), date(2028, 4, 1)), st.integers(-5, 500),
       st.sampled_from([0.0, 1.0, 30.0]))  # fmt: skip
def test_hours_until_a_day_are_those_of_each_date_once(
    capacity: Capacity, today: date, days: int, worked: float
) -> None:
    """Over the leap day of 2028 and the clock changes of March: a date is a date."""
    ahead = FreeHours(capacity, today, worked)
    dates = [today + timedelta(days=n) for n in range(days + 1)]
    free = [0.0 if d in capacity.days_off else capacity.weekdays[d.weekday()] for d in dates]
    if free:
        free[0] = max(0.0, free[0] - worked)
    assert ahead.until(today + timedelta(days=days)) == pytest.approx(sum(free))
    total, burned = ahead.running(sum(free))
    assert total[: len(free) + 1] == pytest.approx(list(accumulate(free, initial=0))[: len(total)])
    limited = accumulate((min(hours, capacity.burning) for hours in free), initial=0)
    assert burned[: len(free) + 1] == pytest.approx(list(limited)[: len(burned)])


def test_a_leap_day_is_a_day_of_work() -> None:
    week = Capacity((2.0,) * 7)
    queue = [Queued("owl", sure(6), date(2028, 3, 1))]
    assert schedule(queue, FreeHours(week, date(2028, 2, 28)))[0].day == date(2028, 3, 1)
    assert schedule(queue, FreeHours(week, date(2027, 2, 27)))[0].day == date(2027, 3, 1)


def test_the_last_hour_of_a_day_is_of_that_day() -> None:
    ahead = FreeHours(Capacity(WEEK), MONDAY)
    tenths = [Queued(str(n), sure(0.1), day(n)) for n in range(40)]
    done = schedule(tenths, ahead)[-1]
    assert done.day == MONDAY
    assert done.minutes == pytest.approx(240)
    assert schedule([Queued("owl", sure(4.1), None)], ahead)[0].day == day(1)
    assert schedule([Queued("owl", sure(20.0), None)], ahead)[0].day == day(4)
    assert schedule([Queued("owl", sure(20.1), None)], ahead)[0].day == day(7)


def test_nothing_left_is_done_today() -> None:
    ahead = FreeHours(Capacity(WEEK), day(5))
    done = schedule([Queued("owl", NOTHING, day(9), days_after=3)], ahead)[0]
    assert (done.day, done.ready, done.late) == (day(5), day(8), -1)
    assert outlooks([Queued("owl", NOTHING, day(9))], ahead)[0].on_time == 1.0
    assert outlooks([], ahead) == ()
    assert schedule([], ahead) == ()
    assert chances([], ahead) == {}


def test_drying_and_delivery_pass_on_days_without_work() -> None:
    friday = day(4)
    queue = [Queued("owl", sure(2), day(8), days_after=3)]
    done = schedule(queue, FreeHours(Capacity(WEEK), friday))[0]
    assert (done.day, done.ready, done.late) == (friday, day(7), -1)


@pytest.mark.parametrize(
    ("weekdays", "burning"),
    [((4.0,) * 6, 24.0), ((0.0,) * 7, 24.0), ((25.0,) * 7, 24.0), (WEEK, 0.0), (WEEK, 30.0)],
)
def test_a_calendar_that_makes_no_sense(weekdays: tuple[float, ...], burning: float) -> None:
    with pytest.raises(BadInput):
        Capacity(weekdays, frozenset(), burning)


def test_work_beyond_a_hundred_years_ends_there() -> None:
    ahead = FreeHours(Capacity((0.5, 0, 0, 0, 0, 0, 0)), MONDAY)
    assert schedule([Queued("owl", sure(1e6), None)], ahead)[0].day == day(module.DAYS_AT_MOST - 1)
    assert outlooks([Queued("owl", of_quantiles(1e6, 2e6), MONDAY)], ahead)[0].on_time == 0


# ---- order ---------------------------------------------------------------------------
def test_the_published_example_of_earliest_due_date() -> None:
    """Finishes 3, 5, 6, 10, 13, 15 and a greatest lateness of 4, of all 720 orders."""
    hours, dues = (3, 2, 1, 4, 3, 2), (6, 8, 9, 9, 10, 11)
    queue = [Queued(str(j), sure(p), day(d - 1)) for j, (p, d) in
             enumerate(zip(hours, dues, strict=True))]  # fmt: skip
    done = schedule(queue, FreeHours(Capacity((1.0,) * 7), MONDAY))
    assert [(d.day - MONDAY).days + 1 for d in done] == [3, 5, 6, 10, 13, 15]
    assert max(d.late or 0 for d in done) == 4


def worked_off(jobs: Sequence[Queued], ahead: FreeHours) -> dict[str, date]:
    """Walk over the days, one job after another, in minutes."""
    free = 60 * max(0.0, ahead.capacity.on(ahead.today) - ahead.worked_today)
    today, ends = ahead.today, {}
    for job in jobs:
        rest = 60 * job.left.mean
        while rest > free + 1e-6:
            rest -= free
            today += timedelta(days=1)
            free = 60 * ahead.capacity.on(today)
        free -= rest
        ends[job.key] = today
    return ends


def greatest_lateness(jobs: Sequence[Queued], ends: dict[str, date]) -> int:
    return max(
        (ends[job.key] + timedelta(days=job.days_after) - job.due).days for job in jobs if job.due
    )


@st.composite
def sure_queues(draw: st.DrawFn, most: int = 6) -> list[Queued]:
    return [
        Queued(
            str(n),
            sure(draw(st.integers(1, 40)) / 4),
            day(draw(st.integers(0, 40))),
            days_after=draw(st.integers(0, 6)),
        )
        for n in range(draw(st.integers(1, most)))
    ]


unlimited = calendars.map(lambda capacity: replace(capacity, burning=24.0))


@settings(max_examples=60, deadline=None)
@given(sure_queues(5), unlimited)
def test_no_order_has_a_smaller_greatest_lateness(queue: list[Queued], week: Capacity) -> None:
    ahead = FreeHours(week, MONDAY)
    ours = max(done.late or 0 for done in schedule(queue, ahead) if done.late is not None)
    best = min(greatest_lateness(order, worked_off(order, ahead)) for order in permutations(queue))
    assert ours == best


@pytest.mark.parametrize("seed", range(4))
def test_no_order_of_seven_jobs_has_either(seed: int) -> None:
    random = np.random.default_rng(seed)
    queue = [
        Queued(str(n), sure(random.integers(2, 30) / 4), day(int(random.integers(0, 16))),
               days_after=int(random.integers(0, 4)))
        for n in range(7)
    ]  # fmt: skip
    ahead = FreeHours(Capacity(WEEK, frozenset({day(2)})), MONDAY)
    ours = max(done.late or 0 for done in schedule(queue, ahead))
    best = min(greatest_lateness(one, worked_off(one, ahead)) for one in permutations(queue))
    assert ours == best


@given(sure_queues(6), unlimited, st.sampled_from([0.0, 1.25]))
def test_dates_are_those_of_a_walk_over_the_days(
    queue: list[Queued], week: Capacity, worked: float
) -> None:
    ahead = FreeHours(week, MONDAY, worked)
    done = schedule(queue, ahead)
    order = [queue[i] for i in earliest_due_first([job.work_due for job in queue])]
    assert [d.key for d in done] == [job.key for job in order]
    assert {d.key: d.day for d in done} == worked_off(order, ahead)


def test_without_a_due_date_a_job_comes_last() -> None:
    queue = [Queued("a", sure(1), None), Queued("b", sure(1), day(9)), Queued("c", sure(1), None)]
    assert [d.key for d in schedule(queue, FreeHours(Capacity(WEEK), MONDAY))] == ["b", "a", "c"]


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


# ---- a limit on burning --------------------------------------------------------------
@st.composite
def burning_queues(draw: st.DrawFn) -> list[Queued]:
    return [
        Queued(
            str(n),
            sure(draw(st.integers(4, 120)) / 4),
            day(draw(st.integers(0, 60))),
            burning=draw(st.sampled_from([0.0, 0.5, 0.7, 0.8])),
            before=draw(st.sampled_from([0.0, 0.1, 0.2])),
        )
        for n in range(draw(st.integers(1, 6)))
    ]


def by_hand(jobs: Sequence[Queued], ahead: FreeHours) -> dict[str, date]:
    """Work the queue off day by day: burn while it is allowed, then whatever else there is.

    Within a job preparation comes before burning before finishing.
    """
    rest = {j.key: [j.left.mean * share for share in (j.before, j.burning, j.after)] for j in jobs}
    today = ahead.today
    ends: dict[str, date] = {}
    while len(ends) < len(jobs):
        free, burn = ahead.capacity.on(today), ahead.capacity.burning
        for job in jobs:
            parts = rest[job.key]
            for part, most in ((0, free), (1, burn), (2, free)):
                if any(left > 1e-9 for left in parts[:part]):
                    break
                did = min(parts[part], free, most)
                parts[part] -= did
                free -= did
                if part == 1:
                    burn -= did
            if sum(parts) <= 1e-9 and job.key not in ends:
                ends[job.key] = today
        today += timedelta(days=1)
    return ends


def test_a_limit_on_burning_is_much_like_doing_it() -> None:
    """Shares of burning and other work as usual for a piece (common practice, no source)."""
    random = np.random.default_rng(1)
    apart = []
    for _ in range(400):
        queue = [
            Queued(
                str(n),
                sure(float(random.integers(4, 160)) / 4),
                day(int(random.integers(0, 60))),
                burning=float(random.choice([0.6, 0.7, 0.8])),
                before=float(random.choice([0.05, 0.1, 0.2])),
            )
            for n in range(random.integers(1, 9))
        ]
        week = ((8.0,) * 5 + (0.0, 0.0), (6.0, 6, 0, 6, 6, 9, 0))[random.integers(2)]
        ahead = FreeHours(Capacity(week, burning=float(random.choice([3.0, 4, 5]))), MONDAY)
        order = [queue[i] for i in earliest_due_first([job.work_due for job in queue])]
        ends = by_hand(order, ahead)
        works = [n for n in range(600) if ahead.capacity.on(day(n))]
        for done in schedule(queue, ahead):
            ours, theirs = (works.index((d - MONDAY).days) for d in (done.day, ends[done.key]))
            apart.append(ours - theirs)
    assert np.mean(np.abs(apart) <= 1) > 0.9
    assert abs(np.mean(apart)) < 0.2
    assert min(apart) > -6


def test_burning_takes_the_days_it_may_take() -> None:
    """16 hours of burning at 4 a day are four days, whatever else is free."""
    ahead = FreeHours(Capacity((8.0,) * 7, burning=4.0), MONDAY)
    assert schedule([Queued("owl", sure(16), None)], ahead)[0].day == day(3)
    # Preparation of 4 h takes half of the first day; 4 h of finishing half of another.
    whole = Queued("owl", sure(24), None, burning=16 / 24, before=4 / 24)
    assert schedule([whole], ahead)[0].day == day(4)
    free = FreeHours(Capacity((8.0,) * 7), MONDAY)
    assert schedule([whole], free)[0].day == day(2)
    # What has nothing to burn is not held up by what has.
    queue = [Queued("owl", sure(16), day(3)), Queued("frame", sure(2), day(9), 0.0, 0.0)]
    assert schedule(queue, ahead)[1].day == day(2)


# ---- distributions -------------------------------------------------------------------
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


def some_queue(jobs: int = 12, seed: int = 5, spread: float = 1.6) -> list[Queued]:
    random = np.random.default_rng(seed)
    medians = random.uniform(3, 18, jobs)
    return [
        Queued(
            f"C-{n}",
            of_quantiles(median, median * spread),
            day(int(end * 7 / 20 * random.uniform(0.85, 1.5)) + 3),
            burning=0.7,
            before=0.2,
            days_after=int(random.integers(0, 4)),
        )
        for n, (median, end) in enumerate(zip(medians, np.cumsum(medians), strict=True))
    ]


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


# ---- one more job --------------------------------------------------------------------
NEW = Queued("new", of_quantiles(10, 16), None, burning=0.7, before=0.2, days_after=2)


def tried(
    queue: list[Queued], due: date, ahead: FreeHours, seed: int
) -> tuple[float, dict[str, float | None]]:
    """Book the new job for a date, behind those due the same day, and look at all."""
    order = [queue[i] for i in earliest_due_first([job.work_due for job in queue])]
    drawn = module._draw([NEW, *order], module.SAMPLES, seed, module.SHARED)
    booked = [*order, replace(NEW, due=due)]
    hours = np.vstack([drawn[1:], drawn[:1]])
    found = {one.key: one.on_time for one in outlooks(booked, ahead, hours=hours)}
    return float(found.pop("new") or 0.0), found


@pytest.mark.parametrize("burning", [24.0, 2.5])
@pytest.mark.parametrize("seed", range(4))
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
                               module.SAMPLES, seed, module.SHARED)[1:],
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
    with pytest.raises(BadInput):
        promise([], NEW, FreeHours(Capacity(WEEK), MONDAY), confidence=confidence)


def test_the_quick_answer_needs_no_numpy() -> None:
    program = (
        "import sys, datetime as d\n"
        "from burnplan.reckon.promise import *\n"
        "from burnplan.reckon.progress import of_quantiles\n"
        "q = [Queued('a', of_quantiles(5, 9), d.date(2027, 3, 9))]\n"
        "a = FreeHours(Capacity((4, 4, 4, 4, 4, 0, 0), burning=3.0), d.date(2027, 3, 1))\n"
        "chances(q, a); schedule(q, a, 0.8)\n"
        "assert not {'numpy', 'scipy', 'statistics'} & sys.modules.keys()"
    )
    subprocess.run([sys.executable, "-c", program], check=True)
