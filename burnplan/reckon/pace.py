"""Pace: how an artist's hours relate to the standard hours of a work plan.

log(actual / standard) of each stage is linear in what the plan asks for, plus
scatter from job to job (:mod:`burnplan.reckon.pace_rows`). With no history all of
it is the prior: wide, because it is put together from single figures of the trade; ten of
twelve pieces whose makers report their hours lie from its P10 to its P90. Each past job
narrows it (:mod:`burnplan.reckon.pace_fit`).

A change of pace is believed when more than one job says so. After ten jobs that agree within
8 % or so, one job of any length, in a stage or in all of them alike, moves the median of
another by at most 25 %; two or three that agree are learnt. Held so: beside what all jobs say
stands what they say without a job that none before or after it bears out, and the further
the two are apart, the less the first of them counts.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from math import exp, log

import numpy as np

from burnplan.reckon.forecast import HoursForecast
from burnplan.reckon.pace_fit import (
    BURN,
    CHANGE_CHANCE,
    RHO,
    SHIFT_SD,
    Fit,
    State,
    fit_all,
    refined,
    unsupported,
)
from burnplan.reckon.pace_rows import LUMP, STAGES, PastJob, Records, design, rows_of
from burnplan.reckon.regression import Array
from burnplan.reckon.remaining import SUSPECT
from burnplan.reckon.work import Work, WorkPlan

DRAWS = 4000
"""Draws of a forecast: what lies below P90 is then right within half a per cent, one deviation
of √(0.9 · 0.1 / 4000) (own derivation)."""
MEMORY = 400
"""Jobs further back than this count for 13 % of the newest at most, 0.995⁴⁰⁰, and are left out
(our own choice, for time: what hangs on it is a day's reckoning, not the forecast)."""
# How far a job that none bears out may move what is forecast for another, in log hours. Less
# than the 25 % that are promised, since the job after it may move it further (our own bound).
_ALONE_MOVES = log(1.15)
# Where each draw lies among all, 0 to 1 (by definition).
_PLACES = (np.arange(DRAWS) + 0.5) / DRAWS
# Of so many draws one has another pace: it may change before the job that is forecast (by
# definition of the chance).
_ONE_IN = round(1 / CHANGE_CHANCE)

# Of the hypotheses those are kept that together have so much weight, and so many at most (a guess:
# tried on invented studios).
_KEPT_WEIGHT, _KEPT_MOST = 0.999, 64


@dataclass(frozen=True, slots=True)
class Suspect:
    """Hours on record that look wrong: a clock left running, a slip of the pen.

    Parameters
    ----------
    title : str
    past_number : int or None
        As of the job.
    stage : Work or None
        None where only a sum of stages is known.
    hours, expected_h : float
        On record (brought up to the whole stage if it is not finished), and
        expected from the other jobs.
    """

    title: str
    past_number: int | None
    stage: Work | None
    hours: float
    expected_h: float


@dataclass(frozen=True, slots=True, eq=False)
class Pace:
    """What is believed of an artist's pace: hypotheses with their weights.

    ``jobs`` is from how many with hours on record; with none it is the starting guess.
    Made by :func:`learn`. Arrays run over the hypotheses kept; the last
    coefficient of each is its change of pace.
    """

    jobs: int
    suspects: tuple[Suspect, ...]
    weight: Array
    mean: Array
    cover: Array  # inverse of the precision
    variance: Array
    degrees: float
    shared_scatter: Array
    shift: Array  # (h, stages): which stages the change of pace is in
    stage_scatter: Array  # (stages,): times the scatter all have in common

    def forecast(self, plan: WorkPlan, seed: int = 0) -> HoursForecast:
        """Return the hours of a job.

        Parameters
        ----------
        plan : WorkPlan
        seed : int
            The same seed gives the same draws, and plans drawn with the same
            seed differ only by what differs between them.

        Returns
        -------
        HoursForecast
        """
        rows, standard, doubt = rows_of(plan)
        centre, spread = self._log_hours(rows, doubt)
        centre = centre + standard
        return HoursForecast(dict(zip(STAGES, self._draw(centre, spread, seed), strict=True)))

    def _log_hours(self, rows: Array, doubt: Array) -> tuple[Array, Array]:
        """Return location (h, stages) and squared scale (h, stages, stages), over standard."""
        centre, spread = self._believed(rows)
        scatter = np.outer(self.stage_scatter, self.stage_scatter) * _equal_correlation(
            self.shared_scatter, len(STAGES)
        )
        return centre, spread + self.variance[:, None, None] * scatter + np.diag(doubt)

    def _believed(self, rows: Array) -> tuple[Array, Array]:
        """Return what is believed of rows (stages, width) without scatter."""
        full = np.concatenate(
            [np.broadcast_to(rows, (len(self.weight), *rows.shape)), self.shift[..., None]], axis=-1
        )
        centre = np.einsum("hsw,hw->hs", full, self.mean)
        spread = full @ self.cover @ full.transpose(0, 2, 1)
        return centre, spread * self.variance[:, None, None]

    def _draw(self, centre: Array, spread: Array, seed: int) -> Array:
        """Return hours drawn from the mixture of multivariate Student-t, shape (stages, DRAWS)."""
        normal, stretch, changed = _noise(seed, centre.shape[1], self.degrees)
        # Hypotheses in proportion to their weights, without chance of their own: each some in turn.
        ends = np.searchsorted(_PLACES, np.cumsum(self.weight), side="right")
        ends[-1] = DRAWS
        many = np.diff(ends, prepend=0)
        lower = np.repeat(np.linalg.cholesky(spread).transpose(1, 2, 0), many, axis=2)
        drawn = np.repeat(centre.T, many, axis=1)
        if self.jobs:
            drawn[:, _ONE_IN // 2 :: _ONE_IN] += changed
        for stage, row in enumerate(drawn):  # what is above the diagonal is 0
            row += (lower[stage, : stage + 1] * normal[: stage + 1]).sum(axis=0) * stretch
        return np.exp(drawn)


@lru_cache(maxsize=32)
def _noise(seed: int, stages: int, degrees: float) -> tuple[Array, Array, Array]:
    """Return what chance adds to a forecast, the same for all of a pace: to be left as it is.

    Normal draws (stages, DRAWS), what stretches them to Student-t (DRAWS,), and changes of pace.
    """
    random = np.random.default_rng(seed)
    normal = np.ascontiguousarray(random.standard_normal((DRAWS, stages)).T)
    stretch = np.sqrt(degrees / random.chisquare(degrees, DRAWS))
    return normal, stretch, random.normal(0, SHIFT_SD, DRAWS // _ONE_IN)


def _equal_correlation(rho: Array, size: int) -> Array:
    """Return correlation matrices with the same correlation everywhere, (h, size, size)."""
    rho = rho[:, None, None]
    return np.asarray(rho + (1 - rho) * np.eye(size))


def learn(jobs: Sequence[PastJob]) -> Pace:
    """Return the pace that past jobs show.

    Parameters
    ----------
    jobs : sequence of PastJob
        In any order; without a date, finished jobs count as the oldest and
        unfinished ones as the newest. Leave out what should not teach.

    Returns
    -------
    Pace
    """
    ordered = sorted(jobs, key=_when)[-MEMORY:]
    return _learn(Records.of(ordered), ordered)


def paces_before(days: Sequence[Sequence[PastJob]], first: int = 0) -> Iterator[Pace]:
    """Yield for each day the pace that the jobs of the days before it show.

    Parameters
    ----------
    days : sequence of sequences of PastJob
        Jobs finished on the same day, in order of date.
    first : int
        The number of the first day asked for, from 0.
    """
    jobs = [job for day in days for job in day]
    records, seen = Records.of(jobs), sum(len(day) for day in days[:first])
    for day in days[first:]:
        start = max(0, seen - MEMORY)
        yield _learn(records.part(start, seen), jobs[start:seen])
        seen += len(day)


def _when(job: PastJob) -> tuple[int, date]:
    if job.finished_on is not None:
        return 1, job.finished_on
    return (2 if job.under_way or job.share else 0), date.min


def _learn(records: Records, jobs: Sequence[PastJob]) -> Pace:
    pace, first, last = _of_all(records)
    for job in unsupported(records, first):
        pace = _held(pace, _of_all(records.without(job))[0], records)
    return replace(pace, suspects=_suspects(records, last, jobs))


def _of_all(records: Records) -> tuple[Pace, State, State]:
    """Return what all jobs say, without a change of pace first, then with one."""
    first = last = State.start(records)
    if len(records):
        first = refined(records, last, fit_all(records, last), steady=True)
        last = refined(records, first, fit_all(records, first), steady=False)
    return _of_fit(records, last, fit_all(records, last)), first, last


def _of_fit(records: Records, state: State, fit: Fit) -> Pace:
    kept = np.argsort(fit.weight.ravel())[::-1][:_KEPT_MOST]
    upto = int(np.searchsorted(np.cumsum(fit.weight.ravel()[kept]), _KEPT_WEIGHT)) + 1
    kept = kept[:upto]
    belief, base, change = fit.of(kept)
    shift = np.zeros((len(kept), len(STAGES)))
    ages = fit.ages
    shift[(change > 0) & (change <= ages)] = 1.0
    shift[change > ages, BURN] = 1.0
    weight = fit.weight.ravel()[kept]
    return Pace(
        jobs=int(records.known.any(axis=1).sum()),
        suspects=(),
        weight=weight / weight.sum(),
        mean=belief.mean,
        cover=np.asarray(np.linalg.inv(belief.precision), np.float64),
        variance=belief.variance,
        degrees=2 * belief.shape,
        shared_scatter=RHO[base],
        shift=shift,
        stage_scatter=state.stage_scatter,
    )


def _held(pace: Pace, without: Pace, records: Records) -> Pace:
    """Return a pace beside the one without a job: the further apart they are, the less of it.

    By the square, so that a job a hundred times too long moves less than one twice as long.
    """
    moved = np.abs(_usual(pace, records) - _usual(without, records)).max()
    moved = max(moved, abs(_scatter(pace) - _scatter(without)))
    if moved <= _ALONE_MOVES:
        return pace
    share = (_ALONE_MOVES / moved) ** 2
    return replace(
        pace,
        weight=np.concatenate([share * pace.weight, (1 - share) * without.weight]),
        mean=np.concatenate([pace.mean, without.mean]),
        cover=np.concatenate([pace.cover, without.cover]),
        variance=np.concatenate([pace.variance, without.variance]),
        shared_scatter=np.concatenate([pace.shared_scatter, without.shared_scatter]),
        shift=np.concatenate([pace.shift, without.shift]),
    )


def _scatter(pace: Pace) -> float:
    return float(pace.weight @ np.sqrt(pace.variance))


def _usual(pace: Pace, records: Records) -> Array:
    """Return about the log hours of the pieces on record, each over its standard hours, (n,)."""
    alone = np.broadcast_to(np.eye(len(STAGES)), (len(records), len(STAGES), len(STAGES)))
    rows = design(records.features, records.bend, alone)
    centre = np.einsum("h,nsw,hw->ns", pace.weight, rows, pace.mean[:, :-1], optimize=True)
    ratio = centre + pace.weight @ (pace.shift * pace.mean[:, -1:])
    hours = np.exp(records.standard)
    return np.asarray(np.log((hours * np.exp(ratio)).sum(axis=1) / hours.sum(axis=1)))


def _suspects(records: Records, state: State, jobs: Sequence[PastJob]) -> tuple[Suspect, ...]:
    found = []
    for i, row in zip(*np.nonzero(np.abs(state.deviation) > SUSPECT), strict=True):
        hours = exp(records.value[i, row])
        found.append(
            Suspect(
                jobs[i].title,
                jobs[i].past_number,
                STAGES[row] if row != LUMP else None,
                hours,
                hours * exp(state.expected[i, row] - state.value[i, row]),
            )
        )
    return tuple(found)


PRIOR_PACE = learn(())
"""What is believed of a pace before any of an artist's own hours are known."""
