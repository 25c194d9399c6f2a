"""Backtest: how well past jobs would have been forecast, one step ahead."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from statistics import fmean, median

from burnplan.reckon.forecast import QUANTILES
from burnplan.reckon.pace import paces_before
from burnplan.reckon.pace_rows import PastJob


@dataclass(frozen=True, slots=True)
class Tried:
    """A past job with what would have been forecast for it.

    Parameters
    ----------
    title : str
    finished_on : date
    actual_h : float
        Hours on record.
    p10, p50, p80, p90 : float
        Hours of the stages on record, forecast from jobs finished on earlier days.
    """

    title: str
    finished_on: date
    actual_h: float
    p10: float
    p50: float
    p80: float
    p90: float

    @property
    def inside(self) -> bool:
        """Whether the actual hours lie from P10 to P90."""
        return self.p10 <= self.actual_h <= self.p90

    @property
    def relative_error(self) -> float:
        """How far the actual hours are from P50, as a share of the actual hours."""
        return abs(self.p50 - self.actual_h) / self.actual_h

    @property
    def pinball(self) -> float:
        """Mean pinball loss of the four quantiles, hours."""
        return fmean(
            pinball_loss(self.actual_h, getattr(self, name), share)
            for name, share in QUANTILES.items()
        )


@dataclass(frozen=True, slots=True)
class Backtest:
    """All jobs tried, in order of date.

    Parameters
    ----------
    jobs : tuple of Tried
    """

    jobs: tuple[Tried, ...]

    @property
    def coverage(self) -> float | None:
        """Share of jobs from P10 to P90; 0.8 is meant. None without jobs."""
        return fmean(job.inside for job in self.jobs) if self.jobs else None

    @property
    def median_ape(self) -> float | None:
        """Median absolute relative error of P50, a share. None without jobs."""
        return median(job.relative_error for job in self.jobs) if self.jobs else None

    @property
    def pinball(self) -> float | None:
        """Mean pinball loss, hours. None without jobs."""
        return fmean(job.pinball for job in self.jobs) if self.jobs else None


def pinball_loss(actual: float, forecast: float, share: float) -> float:
    """Return the pinball loss of a quantile forecast (Koenker and Bassett 1978).

    Examples
    --------
    >>> pinball_loss(12, 10, 0.8), pinball_loss(8, 10, 0.75)
    (1.6, 0.5)
    """
    return (actual - forecast) * (share if actual >= forecast else share - 1)


def backtest(jobs: Sequence[PastJob], seed: int = 0, newest: int | None = None) -> Backtest:
    """Forecast each finished job from those finished on earlier days.

    Parameters
    ----------
    jobs : sequence of PastJob
        Those without a date, unfinished or without hours are neither tried nor
        learned from: nothing says that they came earlier.
    seed : int
    newest : int, optional
        Try only so many of the newest, or a few more: all of a day or none.

    Returns
    -------
    Backtest
        In order of date; jobs of the same day do not see each other.
    """
    known = [(job.finished_on, job) for job in jobs if job.finished_on and job.is_whole]
    known.sort(key=lambda one: one[0])
    days = [[job for _, job in group] for _, group in groupby(known, key=lambda one: one[0])]
    first, left = len(days), len(known) if newest is None else newest
    while first and left > 0:
        first -= 1
        left -= len(days[first])
    tried = []
    for pace, day in zip(paces_before(days, first), days[first:], strict=True):
        for job in day:
            hours = pace.forecast(job.plan, seed).of(job.recorded).to_dict()["total"]
            when = job.finished_on or date.min
            tried.append(Tried(job.title, when, job.total_h, **hours))
    return Backtest(tuple(tried))
