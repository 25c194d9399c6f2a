"""Calendars and queues that the tests of dates share, and how they are worked off."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import NamedTuple

import numpy as np
from hypothesis import strategies as st

from burnplan.reckon.free_hours import NO_HOURS, Capacity, FreeHours
from burnplan.reckon.job_queue import Queued, far_enough, in_order
from burnplan.reckon.remaining import RemainingHours, of_quantiles

MONDAY = date(2027, 3, 1)

WEEK = (4.0, 4.0, 4.0, 4.0, 4.0, 0.0, 0.0)


def sure(hours: float) -> RemainingHours:
    return RemainingHours(hours, 0.0)


def day(n: int, start: date = MONDAY) -> date:
    return start + timedelta(days=n)


calendars = st.builds(
    Capacity,
    st.tuples(*(st.sampled_from([0.0, 0.5, 1.5, 4.0, 7.25]) for _ in range(7))).filter(any),
    st.frozensets(st.dates(date(2028, 2, 20), date(2028, 4, 10)), max_size=12),
    st.sampled_from([24.0, 3.0, 2.0]),
)

unlimited = calendars.map(lambda capacity: replace(capacity, burning=24.0))


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


# ---- the rule of the module, job after job in plain numbers -----------------------------
class Finish(NamedTuple):
    """When a job's work is done, so many minutes into a day, and when the client has it."""

    key: str
    day: date
    minutes: float
    ready: date
    late: int | None


def schedule(queue: Sequence[Queued], ahead: FreeHours, share: float = 0.5) -> tuple[Finish, ...]:
    """Work the queue off by the rule of the module, job after job, with a quantile of its hours."""
    ordered = in_order(queue)
    hours = [job.left.quantile(share) for job in ordered]
    limited = ahead.capacity.limits_burning
    burning = sum(h * job.burning for h, job in zip(hours, ordered, strict=True))
    total, burned = ahead.running(
        *far_enough(sum(hours), burning, limited, max(hours, default=0.0))
    )
    done = gate = 0.0
    finishes = []
    for job, own in zip(ordered, hours, strict=True):
        begun = _between(done + own * job.before, total, burned)
        gate = max(gate, begun) + own * job.burning
        done += own
        at = done
        if limited and job.burning > 0:
            at = max(done, _between(gate, burned, total) + own * job.after)
        finishes.append(_finish(job, at, total, ahead))
    return tuple(finishes)


def _between(value: float, known: Sequence[float], wanted: Sequence[float]) -> float:
    """Return where one running sum stands when the other has a value; days spread it evenly."""
    day = min(max(1, bisect_left(known, value - NO_HOURS)), len(known) - 1)
    span = known[day] - known[day - 1]
    share = min(1.0, max(0.0, (value - known[day - 1]) / span)) if span > 0 else 0.0
    return wanted[day - 1] + share * (wanted[day] - wanted[day - 1])


def _day(at: float, total: Sequence[float]) -> int:
    """Return the day, from 0, in which some hours of work are done."""
    return min(max(1, bisect_left(total, at - NO_HOURS)), len(total) - 1) - 1


def _finish(job: Queued, at: float, total: Sequence[float], ahead: FreeHours) -> Finish:
    n = _day(at, total)
    day = ahead.today + timedelta(days=n)
    ready = day + timedelta(days=job.days_after)
    late = None if job.due is None else (ready - job.due).days
    return Finish(job.key, day, round(max(0.0, at - total[n]) * 60, 6), ready, late)
