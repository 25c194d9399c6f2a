"""The queue of booked work against the hours that are free: its order, chances, weeks.

Jobs are worked earliest due date first, which keeps the greatest lateness as
small as it can be (Jackson 1955). Hours are log-normal and partly shared between
jobs, since one artist burns them all.

A day has hours free for work, of which at most so many for burning; what may
not be burned goes to the other work of the queue. A job is then done when

- all hours up to its own fit in the hours free, and
- its burning, begun when its wood is prepared and the burning before it is
  done, fits in the hours free for burning, and its own finishing follows.

The later of the two counts. That is exact without a limit on burning. With one
it stands for an artist who fills the day with what else there is: of queues
worked off day by day nine jobs in ten are within a day of it, neither early nor
late on average. Drying and delivery are days that pass, not work. No numpy here:
:mod:`burnplan.reckon.promise` draws.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import inf
from typing import NamedTuple

from burnplan.reckon.free_hours import FreeHours
from burnplan.reckon.lateness import Waiting, chances_on_time, earliest_due_first
from burnplan.reckon.remaining import RemainingHours

SHARED = 0.3
"""Correlation between the log hours of two jobs (our assumption): what the forecasts do
not know about this artist goes through all of them."""


@dataclass(frozen=True, slots=True)
class Queued:
    """A booked job that has work left.

    Parameters
    ----------
    key : str
        Names it.
    left : RemainingHours
        Hours left.
    due : date or None
        When the client is to have it.
    burning, before : float
        Shares of the hours left that are burning, and that come before it; the
        rest is finishing.
    days_after : int
        Days of drying and delivery after the last hour of work.
    """

    key: str
    left: RemainingHours
    due: date | None
    burning: float = 1.0
    before: float = 0.0
    days_after: int = 0

    @property
    def work_due(self) -> date:
        """The last day of work that still meets the due date; the last of all without one."""
        return date.max if self.due is None else self.due - timedelta(days=self.days_after)

    @property
    def after(self) -> float:
        """Share of the hours left that is finishing."""
        return max(0.0, 1 - self.burning - self.before)


def in_order(queue: Sequence[Queued]) -> list[Queued]:
    """Return the queue in the order worked."""
    return [queue[i] for i in earliest_due_first([job.work_due for job in queue])]


def far_enough(hours: float, burning: float, limited: bool, longest: float) -> tuple[float, float]:
    """Return how many hours ahead to look, and how many of burning where it is limited.

    Burning may wait for one job's preparation, and one job's finishing follows.
    """
    return (hours, burning + 2 * longest) if limited else (hours, 0.0)


def chances(
    queue: Sequence[Queued], ahead: FreeHours, shared: float = SHARED
) -> dict[str, float | None]:
    """Return each job's chance to meet its due date, without drawing: instant.

    Hours of the queue are added by moments (Fenton 1960). With a limit on
    burning a job must pass two gates, all work and burning; their chances go
    together, so the smaller is taken.

    Parameters
    ----------
    queue : sequence of Queued
    ahead : FreeHours
    shared : float
        Correlation between any two jobs' hours.

    Returns
    -------
    dict
        None for a job without a due date.
    """
    ordered = in_order(queue)
    gates = [
        chances_on_time(
            [
                Waiting(job.left, None if job.due is None else ahead.until(job.work_due))
                for job in ordered
            ],
            shared,
        )
    ]
    if ahead.capacity.limits_burning and ordered:
        gates.append(chances_on_time(_burning_gate(ordered, ahead), shared))
    return {
        job.key: None if job.due is None else min(one or 0.0 for one in both)
        for job, both in zip(ordered, zip(*gates, strict=True), strict=True)
    }


def _burning_gate(ordered: Sequence[Queued], ahead: FreeHours) -> list[Waiting]:
    """Return the queue's burning alone, against the hours free for it."""
    capacity = ahead.capacity
    burning = ahead.only_burning
    # Other work holds burning up by its median; hours are turned into hours of burning by
    # their average over a week.
    pace = sum(burning.capacity.weekdays) / sum(capacity.weekdays)
    gate, held, total, burned = [], 0.0, 0.0, 0.0
    for job in ordered:
        own = job.left.p50
        held = max(held, pace * (total + own * job.before) - burned)
        total, burned = total + own, burned + own * job.burning
        available = None
        if job.due is not None:
            available = burning.until(job.work_due) - held - pace * own * job.after
            if job.burning == 0 or own <= 0:
                available = inf  # nothing to burn: it passes
        left = RemainingHours(job.left.mean * job.burning, job.left.variance * job.burning**2)
        gate.append(Waiting(left, available))
    return gate


# ---- weeks -------------------------------------------------------------------------
class WeekLoad(NamedTuple):
    """A week and its work, hours.

    Parameters
    ----------
    monday : date
    free : float
    booked : float
        The queue's median hours laid in order into those free.
    due_hours : float
        Median hours of the jobs due in it.
    due : list of str
        Their keys.
    spare : float
        What is free until its end beyond all hours due by then; below zero is too much.
    """

    monday: date
    free: float
    booked: float
    due_hours: float
    due: list[str]
    spare: float


def weeks_ahead(queue: Sequence[Queued], ahead: FreeHours, count: int) -> list[WeekLoad]:
    """Return the weeks ahead, this one first; what should be done already is due in it."""
    first = ahead.today - timedelta(days=ahead.today.weekday())
    whole = sum(job.left.p50 for job in queue)
    found = []
    for n in range(count):
        monday = first + timedelta(weeks=n)
        sunday = monday + timedelta(days=6)
        before, until = ahead.until(monday - timedelta(days=1)), ahead.until(sunday)
        due = [job for job in queue if job.work_due <= sunday]
        new = [job for job in due if n == 0 or job.work_due >= monday]
        found.append(
            WeekLoad(
                monday=monday,
                free=until - before,
                booked=min(whole, until) - min(whole, before),
                due_hours=sum(job.left.p50 for job in new),
                due=[job.key for job in new],
                spare=until - sum(job.left.p50 for job in due),
            )
        )
    return found
