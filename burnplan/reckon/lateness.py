"""Who is late, who is at risk, and in which order fewest are.

No numpy here: the list of open jobs must be instant.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from enum import StrEnum
from math import sqrt
from typing import NamedTuple

from burnplan.reckon.free_hours import NO_HOURS
from burnplan.reckon.remaining import RemainingHours

# Chances to be on time below which a job is at risk, and likely late (our own, no source).
AT_RISK, LIKELY_LATE = 0.8, 0.5


class Course(StrEnum):
    """How a job stands to a due date that is not past."""

    ON_COURSE = "on course"
    AT_RISK = "at risk"
    LIKELY_LATE = "likely late"


def course_of(chance: float) -> Course:
    """Return how a job stands, by its chance to be on time.

    Examples
    --------
    >>> [course_of(chance).value for chance in (0.8, 0.79, 0.5, 0.49)]
    ['on course', 'at risk', 'at risk', 'likely late']
    """
    if chance < LIKELY_LATE:
        return Course.LIKELY_LATE
    return Course.AT_RISK if chance < AT_RISK else Course.ON_COURSE


def days_late(due: date | None, today: date) -> int:
    """Return how many days a due date is past; 0 up to the day itself, or without one."""
    return 0 if due is None else max(0, (today - due).days)


class Waiting(NamedTuple):
    """A job in the queue.

    Parameters
    ----------
    left : RemainingHours
    available : float or None
        Hours free from now to the end of its due day; None without a due date.
    """

    left: RemainingHours
    available: float | None


def chances_on_time(queue: Iterable[Waiting], shared: float) -> list[float | None]:
    """Return each job's chance to be done by its due date, in the order worked.

    The queue is worked earliest due date first (Jackson 1955). Hours up to and
    including a job are added by moments and taken as log-normal (Fenton 1960).

    Parameters
    ----------
    queue : iterable of Waiting
    shared : float
        Correlation between the hours of any two jobs, 0 to 1: one artist burns
        them all.
    """
    mean = variance = deviation = 0.0
    chances: list[float | None] = []
    for job in queue:
        mean += job.left.mean
        variance += job.left.variance
        deviation += sqrt(job.left.variance)
        done = RemainingHours(mean, (1 - shared) * variance + shared * deviation**2)
        chances.append(None if job.available is None else done.chance_within(job.available))
    return chances


def earliest_due_first(dues: Sequence[date | float]) -> list[int]:
    """Return the order of work that makes the greatest lateness smallest (Jackson 1955).

    Examples
    --------
    >>> earliest_due_first([9, 6, 11, 6])
    [1, 3, 0, 2]
    """
    return sorted(range(len(dues)), key=lambda job: dues[job])


def fewest_late(hours: Sequence[float], available: Sequence[float]) -> tuple[list[int], list[int]]:
    """Return the jobs on time, in order, and the fewest jobs that must be late (Moore 1968).

    One kind of hours counts: a limit on burning has no place in the rule.

    Parameters
    ----------
    hours : sequence of float
        Of each job.
    available : sequence of float
        Hours free until each job is due.

    Examples
    --------
    >>> fewest_late([4, 3, 2], [4, 5, 6])
    ([1, 2], [0])
    """
    on_time: list[int] = []
    late: list[int] = []
    done = 0.0
    for job in earliest_due_first(available):
        on_time.append(job)
        done += hours[job]
        if done > available[job] + NO_HOURS:
            longest = max(on_time, key=lambda one: hours[one])
            on_time.remove(longest)
            late.append(longest)
            done -= hours[longest]
    return on_time, late


def late_in_order(hours: Sequence[float], available: Sequence[float]) -> list[int]:
    """Return the jobs that are late if they are worked earliest due date first.

    Parameters
    ----------
    hours, available : sequence of float
        As for :func:`fewest_late`.

    Examples
    --------
    >>> late_in_order([4, 3, 2], [4, 5, 6])
    [1, 2]
    """
    late, done = [], 0.0
    for job in earliest_due_first(available):
        done += hours[job]
        if done > available[job] + NO_HOURS:
            late.append(job)
    return late
