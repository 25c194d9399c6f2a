"""One schedule of the queue, and the quick answer.

Earliest due date first: J. R. Jackson (1955), against all orders of up to seven jobs,
each worked off day by day. Dates against a plain walk over days.
"""

import subprocess
import sys
from collections.abc import Sequence
from datetime import date, timedelta
from itertools import permutations
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnplan.reckon.free_hours import DAYS_AT_MOST, Capacity, FreeHours
from burnplan.reckon.job_queue import Queued, chances, weeks_ahead
from burnplan.reckon.lateness import Waiting, chances_on_time, earliest_due_first
from burnplan.reckon.promise import outlooks
from burnplan.reckon.remaining import NOTHING, RemainingHours, of_quantiles
from tests.reckon.queues import MONDAY, WEEK, day, sure, sure_queues, unlimited, worked_off


class Done(NamedTuple):
    key: str
    day: date
    ready: date
    late: int | None


def schedule(queue: Sequence[Queued], ahead: FreeHours) -> list[Done]:
    """Work the queue off as the program does, with the hours it takes for sure."""
    jobs = {job.key: job for job in queue}
    done = []
    for one in outlooks(queue, ahead, hours=np.array([[job.left.mean] for job in queue])):
        job = jobs[one.key]
        late = None if job.due is None else (one.p50 - job.due).days
        done.append(Done(one.key, one.p50 - timedelta(days=job.days_after), one.p50, late))
    return done


def test_a_leap_day_is_a_day_of_work() -> None:
    week = Capacity((2.0,) * 7)
    queue = [Queued("owl", sure(6), date(2028, 3, 1))]
    assert schedule(queue, FreeHours(week, date(2028, 2, 28)))[0].day == date(2028, 3, 1)
    assert schedule(queue, FreeHours(week, date(2027, 2, 27)))[0].day == date(2027, 3, 1)


def test_the_last_hour_of_a_day_is_of_that_day() -> None:
    ahead = FreeHours(Capacity(WEEK), MONDAY)
    tenths = [Queued(str(n), sure(0.1), day(n)) for n in range(40)]
    assert schedule(tenths, ahead)[-1].day == MONDAY
    assert schedule([Queued("owl", sure(4.1), None)], ahead)[0].day == day(1)
    assert schedule([Queued("owl", sure(20.0), None)], ahead)[0].day == day(4)
    assert schedule([Queued("owl", sure(20.1), None)], ahead)[0].day == day(7)


def test_nothing_left_is_done_today() -> None:
    ahead = FreeHours(Capacity(WEEK), day(5))
    done = schedule([Queued("owl", NOTHING, day(9), days_after=3)], ahead)[0]
    assert (done.day, done.ready, done.late) == (day(5), day(8), -1)
    assert outlooks([Queued("owl", NOTHING, day(9))], ahead)[0].on_time == 1.0
    assert outlooks([], ahead) == ()
    assert chances([], ahead) == {}


def test_drying_and_delivery_pass_on_days_without_work() -> None:
    friday = day(4)
    queue = [Queued("owl", sure(2), day(8), days_after=3)]
    done = schedule(queue, FreeHours(Capacity(WEEK), friday))[0]
    assert (done.day, done.ready, done.late) == (friday, day(7), -1)


def test_work_beyond_a_hundred_years_ends_there() -> None:
    ahead = FreeHours(Capacity((0.5, 0, 0, 0, 0, 0, 0)), MONDAY)
    assert schedule([Queued("owl", sure(1e6), None)], ahead)[0].day == day(DAYS_AT_MOST - 1)
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


def greatest_lateness(jobs: Sequence[Queued], ends: dict[str, date]) -> int:
    return max(
        (ends[job.key] + timedelta(days=job.days_after) - job.due).days for job in jobs if job.due
    )


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


# ---- a limit on burning --------------------------------------------------------------
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


@pytest.mark.long
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


def test_the_quick_answer_needs_no_numpy() -> None:
    program = (
        "import sys, datetime as d\n"
        "from burnplan.reckon.job_queue import Queued, chances, weeks_ahead\n"
        "from burnplan.reckon.free_hours import Capacity, FreeHours\n"
        "from burnplan.reckon.remaining import of_quantiles\n"
        "q = [Queued('a', of_quantiles(5, 9), d.date(2027, 3, 9))]\n"
        "a = FreeHours(Capacity((4, 4, 4, 4, 4, 0, 0), burning=3.0), d.date(2027, 3, 1))\n"
        "chances(q, a)\n"
        "assert not {'numpy', 'scipy', 'statistics'} & sys.modules.keys()"
    )
    subprocess.run([sys.executable, "-c", program], check=True)


def test_the_chance_of_burning_is_that_of_its_own_gate() -> None:
    """By hand: a quarter of the hours free are free for burning, and each job passes two gates.

    What is prepared before a job's burning, and finished after it, holds burning up by its
    median, turned into hours of burning by that quarter.
    """
    first = Queued("a", of_quantiles(16, 24), day(6), burning=0.5, before=0.25)
    second = Queued("b", of_quantiles(12, 18), day(9), burning=0.75)
    undated = Queued("e", of_quantiles(10, 15), None)
    ahead = FreeHours(Capacity((8.0,) * 7, burning=2.0), MONDAY)

    def part(job: Queued) -> RemainingHours:
        return RemainingHours(job.left.mean * job.burning, job.left.variance * job.burning**2)

    gate = [
        # Seven days of 2 h; 4 h of wood before it and 4 h of finishing after it.
        Waiting(part(first), 14 - 1 - 1),
        # Nothing before it; the first job's 16 h stand for 4 of burning, 8 of which it has burned.
        Waiting(part(second), 20 - 1 - 0.25 * 12 * 0.25),
    ]
    found = chances([undated, second, first], ahead)
    assert [found["a"], found["b"]] == pytest.approx(chances_on_time(gate, 0.3))
    assert found["e"] is None
    wood = Queued("w", of_quantiles(40, 60), day(9), burning=0.25, before=0.75)
    held = chances_on_time([Waiting(part(wood), 20 - 7.5)], 0.3)
    assert list(chances([wood], ahead).values()) == pytest.approx(held)
    # 40 h of a frame, nothing of it to burn, stand for 10 of burning.
    frame = Queued("f", of_quantiles(40, 60), day(8), burning=0.0)
    last = Queued("g", of_quantiles(10, 15), day(9), burning=1.0)
    behind = chances_on_time([Waiting(part(frame), None), Waiting(part(last), 10)], 0.3)
    assert chances([frame, last], ahead)["g"] == pytest.approx(behind[1])


def test_what_has_nothing_to_burn_passes_the_gate() -> None:
    ahead = FreeHours(Capacity((8.0,) * 7, burning=0.5), MONDAY)
    frame = Queued("frame", of_quantiles(12, 18), day(1), burning=0.0)
    assert chances([frame], ahead)["frame"] == pytest.approx(frame.left.chance_within(16))
    # What burns before it holds up burning, not it: 24 h of 24 are enough for both.
    owl = Queued("owl", sure(12), day(2), burning=1.0)
    behind = Queued("frame", sure(12), day(2), burning=0.0)
    assert chances([owl, behind], ahead) == {"owl": 0.0, "frame": 1.0}
    at_once = Queued("all burning", of_quantiles(3, 4), day(6))
    assert chances([at_once], ahead)["all burning"] == pytest.approx(
        at_once.left.chance_within(3.5)
    )
    done = Queued("done", NOTHING, day(0), burning=0.5)
    assert chances([done], ahead)["done"] == 1.0


def test_the_weeks_ahead() -> None:
    """From a Wednesday, 4 h on five days: 12 h in what is left of the week, then 20."""
    queue = [
        Queued("past", sure(3), day(0)),
        Queued("friday", sure(10), day(4)),
        # Two days of drying: the work is due on the Sunday.
        Queued("dries", sure(2), day(8), days_after=2),
        Queued("monday", sure(5), day(7)),
        Queued("sunday", sure(11), day(13)),
        Queued("whenever", sure(6), None),
    ]
    ahead = FreeHours(Capacity(WEEK), day(2))
    assert weeks_ahead(queue, ahead, 0) == []
    found = weeks_ahead(queue, ahead, 3)
    assert [(week.monday, week.due) for week in found] == [
        (day(0), ["past", "friday", "dries"]), (day(7), ["monday", "sunday"]), (day(14), []),
    ]  # fmt: skip
    assert [week.free for week in found] == [12, 20, 20]
    assert [week.booked for week in found] == pytest.approx([12, 20, 5])
    assert [week.due_hours for week in found] == pytest.approx([15, 16, 0])
    assert [week.spare for week in found] == pytest.approx([-3, 1, 21])


def test_hours_of_two_jobs_go_together_by_a_third() -> None:
    """Our assumption; see SHARED."""
    ahead = FreeHours(Capacity(WEEK), MONDAY)
    queue = [Queued(str(n), of_quantiles(8, 13), day(4 + n)) for n in range(3)]
    assert chances(queue, ahead) == chances(queue, ahead, 0.3)
    assert chances(queue, ahead) != chances(queue, ahead, 0.33)
