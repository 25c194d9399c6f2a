"""Past jobs as the rows of the regression that pace is learned by.

log(actual / standard) of each stage is linear in what the plan asks for (a
level, the area, darkness, texture, hardness of the wood), partly the same for
all stages and partly each stage's own.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from datetime import date
from functools import cache, lru_cache
from math import log
from typing import NamedTuple

import numpy as np

from burnplan.reckon.regression import Array
from burnplan.reckon.standard_hours import (
    coarse_plan,
    doubt_by_stage,
    log_hardness,
    standard_hours,
    usual_line_cm,
)
from burnplan.reckon.work import Grade, Work, WorkPlan

STAGES = tuple(Work)
FEATURES = ("level", "area", "darkness", "texture", "hardness")

SCATTER_SD = 0.25
"""Standard deviation of log hours from job to job, likeliest (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class PastJob:
    """A job with hours on record.

    Parameters
    ----------
    title : str
    plan : WorkPlan
    hours : mapping of Work to float
        Hours of each stage that is known by itself; 0 for one that was not part
        of the job.
    finished_on : date, optional
    rest_h : float, optional
        Hours of other stages together, known only as a sum.
    rest_of : tuple of Work
        The stages that sum covers, besides those known by themselves.
    share : mapping of Work to float
        For a stage that is not finished: the share of it that those hours did,
        above 0 and below 1.
    under_way : bool
        Whether more hours will come: it counts as the newest, and is no job to try a
        forecast on. It has the hours of what is finished of it.
    past_number : int, optional
        Its number among the past jobs, if it was brought in.
    """

    title: str
    plan: WorkPlan
    hours: Mapping[Work, float]
    finished_on: date | None = None
    rest_h: float | None = None
    rest_of: tuple[Work, ...] = STAGES
    share: Mapping[Work, float] = field(default_factory=dict)
    under_way: bool = False
    past_number: int | None = None

    @classmethod
    def of_total(
        cls,
        title: str,
        plan: WorkPlan,
        hours: Mapping[Work, float],
        finished_on: date | None,
        total_h: float,
        covers: tuple[Work, ...],
    ) -> "PastJob":
        """Return a job of which a total is known, and of some stages perhaps their own hours.

        Parameters
        ----------
        title, plan, hours, finished_on
            As above.
        total_h : float
            Hours of the stages in ``covers`` together.
        covers : tuple of Work
        """
        rest_of = tuple(stage for stage in covers if stage not in hours)
        rest = total_h - sum(hours.get(stage, 0.0) for stage in covers)
        if rest <= 0 or not rest_of:
            return cls(title, plan, hours, finished_on)
        if len(rest_of) == 1:
            return cls(title, plan, {**hours, rest_of[0]: rest}, finished_on)
        return cls(title, plan, hours, finished_on, rest, rest_of)

    @property
    def total_h(self) -> float:
        """All hours on record."""
        return sum(self.hours.values()) + (self.rest_h or 0.0)

    @property
    def is_whole(self) -> bool:
        """Whether it has hours, and every stage on record is finished."""
        return self.total_h > 0 and not self.share and not self.under_way

    @property
    def recorded(self) -> tuple[Work, ...]:
        """The stages whose hours are on record, alone or with others."""
        alone = {stage for stage, hours in self.hours.items() if hours > 0}
        return tuple(stage for stage in STAGES if stage in alone or self.lumps(stage))

    def lumps(self, stage: Work) -> bool:
        """Return whether the hours of a stage are known only as part of the sum."""
        return bool(self.rest_h) and stage in self.rest_of and stage not in self.hours


def features_of(plan: WorkPlan) -> tuple[float, ...]:
    """Return the features of a plan, in the order of FEATURES, centred on a middling job."""
    area = log(max(plan.area_cm2, 1.0) / 400)
    return (1.0, area, plan.darkness - 0.5, plan.texture - 0.25, log_hardness(plan))


class _OfPlan(NamedTuple):
    """What of a plan the regression asks for: see Records."""

    features: tuple[float, ...]
    standard: tuple[float, ...]
    doubt: tuple[float, ...]


@lru_cache(maxsize=4096)  # a plan teaches beside each of those that are left out, and is forecast
def _of_plan(plan: WorkPlan) -> _OfPlan:
    return _OfPlan(
        features_of(plan),
        tuple(map(log, standard_hours(plan).values())),
        tuple(doubt**2 for doubt in doubt_by_stage(plan).values()),
    )


@cache
def straight() -> Array:
    """Return log standard hours made straight in the features, (features, stages).

    By least squares over a grid of pieces.
    """
    grid = [
        coarse_plan(
            10 * area**0.5, 10 * area**0.5, area, hardness_lbf=hardness,
            darkness=Grade(dark), texture=Grade(rough), line_cm=usual_line_cm(area, rough),
        )
        for area in (100.0, 300.0, 900.0, 2700.0)
        for dark in (0.2, 0.5, 0.8)
        for rough in (0.1, 0.3, 0.6)
        for hardness in (400.0, 800.0, 1500.0)
    ]  # fmt: skip
    rows = np.array([features_of(plan) for plan in grid])
    hours = np.log([[*standard_hours(plan).values()] for plan in grid])
    return np.asarray(np.linalg.lstsq(rows, hours)[0])


# A job has five rows: its four stages, and those known only as a sum (by definition).
ROWS = len(STAGES) + 1
LUMP = ROWS - 1  # by definition
# Columns: what all stages share, each stage's own, and the bend (by definition).
WIDTH = len(FEATURES) * (1 + len(STAGES)) + 1


@dataclass(frozen=True, slots=True, eq=False)
class Records:
    """Past jobs as arrays, n jobs in order of date, five rows each.

    Attributes
    ----------
    features : (n, features)
    standard : (n, stages) log standard hours
    bend : (n, stages) what of them is not straight in the features
    lumped : (n, stages) whether the stage is part of the sum
    value : (n, rows) log hours; known : whether there are any
    doubt : (n, stages) variance of log hours from what is not known of the plan
    unfinished : (n, rows) variance from the part not done yet
    """

    features: Array
    standard: Array
    bend: Array
    lumped: Array
    value: Array
    known: Array
    doubt: Array
    unfinished: Array

    @classmethod
    def of(cls, jobs: Sequence[PastJob]) -> "Records":
        """Return jobs as arrays."""
        n = len(jobs)
        value, known, unfinished = (np.zeros((n, ROWS)) for _ in range(3))
        lumped = np.zeros((n, len(STAGES)))
        for i, job in enumerate(jobs):
            for s, stage in enumerate(STAGES):
                hours = job.hours.get(stage)
                if hours is None:
                    lumped[i, s] = job.lumps(stage)
                elif hours > 0:
                    share = job.share.get(stage, 1.0)
                    known[i, s], value[i, s] = 1.0, log(hours / share)
                    unfinished[i, s] = SCATTER_SD**2 * (1 - share) / share
            if job.rest_h and lumped[i].any():
                known[i, LUMP], value[i, LUMP] = 1.0, log(job.rest_h)
        shape = (n, len(STAGES))
        of_plans = [_of_plan(job.plan) for job in jobs]
        features = np.array([one.features for one in of_plans]).reshape(n, len(FEATURES))
        standard = np.array([one.standard for one in of_plans]).reshape(shape)
        return cls(
            features,
            standard,
            standard - features @ straight(),
            lumped,
            value,
            known,
            np.array([one.doubt for one in of_plans]).reshape(shape),
            unfinished,
        )

    def __len__(self) -> int:
        return len(self.features)

    def part(self, start: int, stop: int) -> "Records":
        """Return those from one number up to another."""
        return self._each(lambda array: array[start:stop])

    def without(self, job: int) -> "Records":
        """Return all but one."""
        return self._each(lambda array: np.delete(array, job, axis=0))

    def _each(self, change: Callable[[Array], Array]) -> "Records":
        return Records(*(change(getattr(self, one.name)) for one in fields(self)))


def design(features: Array, bend: Array, shares: Array) -> Array:
    """Return rows of the regression: what is shared, each stage's own, and the bend.

    Parameters
    ----------
    features : ndarray, shape (..., features)
    bend : ndarray, shape (..., stages)
    shares : ndarray, shape (..., rows, stages)
        How much of a row's hours each stage is.
    """
    shared = np.broadcast_to(features[..., None, :], (*shares.shape[:-1], features.shape[-1]))
    own = shares[..., :, None] * features[..., None, None, :]
    own = own.reshape(*own.shape[:-2], shares.shape[-1] * features.shape[-1])
    bent = (shares * bend[..., None, :]).sum(axis=-1, keepdims=True)
    return np.concatenate([shared, own, bent], axis=-1)


def rows_of(plan: WorkPlan) -> tuple[Array, Array, Array]:
    """Return the regression's row of each stage for a plan, log standard hours, and their doubt.

    Returns
    -------
    rows : ndarray, shape (stages, width)
    standard : ndarray, shape (stages,)
    doubt : ndarray, shape (stages,)
        Variance of log hours from what is not known of the plan.
    """
    of_plan = _of_plan(plan)
    standard, features = np.array(of_plan.standard), np.array(of_plan.features)
    rows = design(features, standard - features @ straight(), np.eye(len(STAGES)))
    return rows, standard, np.array(of_plan.doubt)
