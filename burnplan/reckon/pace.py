"""Pace: how an artist's hours relate to the standard hours of a work plan.

log(actual / standard) of each stage is linear in what the plan asks for (a
level, the area, darkness, texture, hardness of the wood), partly the same for
all stages and partly each stage's own, plus scatter from job to job. With no
history all of it is the prior: wide, because no published figure for these
hours was found. Each past job narrows it, in closed form
(:mod:`burnplan.reckon.regression`).

What the closed form cannot hold is settled by weighing hypotheses by their
evidence: how large the scatter is, how much of it the stages of a job share, and
whether and when the artist last became faster or slower.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from math import erfc, exp, log, pi, sqrt

import numpy as np
import numpy.typing as npt

from burnplan.reckon.regression import (
    Array,
    NormalInverseGamma,
    SufficientStatistics,
    with_one_more,
)
from burnplan.reckon.standard_hours import (
    coarse_plan,
    doubt_by_stage,
    log_hardness,
    standard_hours,
    usual_line_cm,
)
from burnplan.reckon.work import Grade, Work, WorkPlan

Index = npt.NDArray[np.intp]
QUANTILES = {"p10": 0.1, "p50": 0.5, "p80": 0.8, "p90": 0.9}
DRAWS = 4000
STAGES = tuple(Work)
_BURN = STAGES.index(Work.BURN)

# ---- the prior (common practice, no source: chosen so that an artist twice as
# fast or slow as the starting guess is no surprise) --------------------------------
SCATTER_SD = 0.25
"""Standard deviation of log hours from job to job, likeliest."""
RECORD_SD = 0.03
"""The same from hours being written down to a few minutes; expected in every record,
even where a job's stages agree better than that."""
SCATTER_WORTH = 10.0
"""Observations that the guess of the scatter is worth."""
FEATURES = ("level", "area", "darkness", "texture", "hardness")
SHARED_SD = (0.45, 0.14, 0.40, 0.40, 0.18)
"""How far pace may lie from the guess in all stages alike: the level, and the
slopes per factor e of area, per whole range of darkness and texture, and per
factor e of hardness."""
OWN_SD = (0.30, 0.12, 0.20, 0.20, 0.10)
"""The same for what a stage has of its own."""
BEND_SD = 0.7
"""How well the curves of the starting guess hold, where they are not straight in
the features: at -1 not at all, at 0 as they are."""
SHIFT_SD = 0.35
"""How large a change of pace usually is."""

# ---- hypotheses, weighed by evidence ----------------------------------------------
# Standard deviation of the scatter. The belief about σ moves little from each of these:
# the coefficients' prior is in units of σ, and slopes that are plainly nothing must not
# argue for a small one.
_SCATTERS = np.array([0.12, 0.17, SCATTER_SD, 0.36, 0.52])
_SCATTERS_CHANCE = np.array([0.10, 0.25, 0.35, 0.20, 0.10])
# Correlation of the scatter of a job's stages, finest near 1: records that split one
# clock among the stages have them nearly alike.
_ALIKE = 1 - np.array([1.0, 0.7, 0.45, 0.25, 0.13, 0.065, 0.032, 0.016, 0.008, 0.004])
_ALIKE_CHANCE = np.array([0.18, 0.18, 0.16, 0.12, 0.09, 0.07, 0.06, 0.05, 0.05, 0.04])
_CHANGE_AGES = np.array([1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 15, 19, 24, 30, 38, 48, 60])
_CHANGE_CHANCE = 1 / 20  # that pace changes between one job and the next
_BURN_CHANGE_CHANCE = 1 / 1000  # that it changes in burning alone
_KEPT_WEIGHT, _KEPT_MOST = 0.999, 64

DISCOUNT = 0.995
"""What a job counts for each later one."""
MEMORY = 400
"""Jobs further back than this count for less than 2 % and are left out."""

# ---- jobs that do not fit -----------------------------------------------------------
_TRUSTED = 2.5  # deviations up to which an observation counts in full
SUSPECT = 3.2
"""Deviations from what is expected beyond which hours look wrong."""
_STAGE_SCATTER_WORTH = 12.0  # observations' worth of prior that stages scatter alike
_LUMP_SHARED = 0.3  # correlation assumed between stages known only together


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
        Hours of all the other stages together, known only as a sum.
    share : mapping of Work to float or None
        For a stage that is not finished: the share of it that those hours did,
        above 0 and below 1, or None if only that it takes longer than them.
    """

    title: str
    plan: WorkPlan
    hours: Mapping[Work, float]
    finished_on: date | None = None
    rest_h: float | None = None
    share: Mapping[Work, float | None] = field(default_factory=dict)

    @property
    def total_h(self) -> float:
        """All hours on record."""
        return sum(self.hours.values()) + (self.rest_h or 0.0)

    @property
    def is_whole(self) -> bool:
        """Whether it has hours, and every stage on record is finished."""
        return self.total_h > 0 and not self.share

    @property
    def recorded(self) -> tuple[Work, ...]:
        """The stages whose hours are on record, alone or with others."""
        alone = {stage for stage, hours in self.hours.items() if hours > 0}
        return tuple(
            stage for stage in STAGES if stage in alone or (self.rest_h and stage not in self.hours)
        )


@dataclass(frozen=True, slots=True, eq=False)
class HoursForecast:
    """Hours as a distribution.

    Parameters
    ----------
    draws : dict of ndarray, each shape (n,)
        Hours of each stage, drawn together: position i of every stage is one
        possible job.
    """

    draws: Mapping[Work, Array]

    @property
    def total(self) -> Array:
        """Draws of the hours of the whole job, shape (n,)."""
        return np.asarray(np.sum([*self.draws.values()], axis=0), np.float64)

    def of(self, stages: Sequence[Work]) -> "HoursForecast":
        """Return the forecast of some of the stages; their total is of these alone."""
        return HoursForecast({stage: self.draws[stage] for stage in stages})

    def quantile(self, share: float) -> float:
        """Return the hours of the whole job that are enough in a share of cases."""
        return float(np.quantile(self.total, share))

    def chance_within(self, hours: float) -> float:
        """Return the chance that the whole job takes no more than some hours."""
        return float(np.mean(self.total <= hours))

    def to_dict(self) -> dict[str, dict[str, float]]:
        """Return P10, P50, P80 and P90 of each stage and of the total."""
        named = {**{stage.value: drawn for stage, drawn in self.draws.items()}, "total": self.total}
        found = np.quantile(list(named.values()), list(QUANTILES.values()), axis=1).T
        return {
            name: dict(zip(QUANTILES, map(float, row), strict=True))
            for name, row in zip(named, found, strict=True)
        }


@dataclass(frozen=True, slots=True)
class Suspect:
    """Hours on record that look wrong: a clock left running, a slip of the pen.

    Parameters
    ----------
    title : str
    stage : Work or None
        None where only a sum of stages is known.
    hours, expected_h : float
        On record (brought up to the whole stage if it is not finished), and
        expected from the other jobs.
    """

    title: str
    stage: Work | None
    hours: float
    expected_h: float


def features_of(plan: WorkPlan) -> tuple[float, ...]:
    """Return the features of a plan, in the order of FEATURES, centred on a middling job."""
    area = log(max(plan.area_cm2, 1.0) / 400)
    return (1.0, area, plan.darkness - 0.5, plan.texture - 0.25, log_hardness(plan))


@cache
def _straight() -> Array:
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


# A job has five rows: its four stages, and those known only as a sum.
_ROWS = len(STAGES) + 1
_LUMP = _ROWS - 1
_WIDTH = len(FEATURES) * (1 + len(STAGES)) + 1


@dataclass(frozen=True, slots=True, eq=False)
class _Records:
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
    bound : (n, rows) whether the value is only a lower bound
    """

    features: Array
    standard: Array
    bend: Array
    lumped: Array
    value: Array
    known: Array
    doubt: Array
    unfinished: Array
    bound: Array

    @classmethod
    def of(cls, jobs: Sequence[PastJob]) -> "_Records":
        n = len(jobs)
        value, known, unfinished, bound = (np.zeros((n, _ROWS)) for _ in range(4))
        lumped = np.zeros((n, len(STAGES)))
        for i, job in enumerate(jobs):
            for s, stage in enumerate(STAGES):
                hours = job.hours.get(stage)
                if hours is None:
                    lumped[i, s] = bool(job.rest_h)
                elif hours > 0:
                    share = job.share.get(stage, 1.0)
                    known[i, s], bound[i, s] = share is not None, share is None
                    value[i, s] = log(hours / (share or 1.0))
                    unfinished[i, s] = SCATTER_SD**2 * (1 - (share or 1.0)) / (share or 1.0)
            if job.rest_h and lumped[i].any():
                known[i, _LUMP], value[i, _LUMP] = 1.0, log(job.rest_h)
        shape = (n, len(STAGES))
        features = np.array([features_of(job.plan) for job in jobs]).reshape(n, len(FEATURES))
        standard = np.log([[*standard_hours(job.plan).values()] for job in jobs]).reshape(shape)
        return cls(
            features,
            standard,
            standard - features @ _straight(),
            lumped,
            value,
            known,
            np.square([[*doubt_by_stage(job.plan).values()] for job in jobs]).reshape(shape),
            unfinished,
            bound,
        )

    def __len__(self) -> int:
        return len(self.features)

    def part(self, start: int, stop: int) -> "_Records":
        return _Records(
            *(
                array[start:stop]
                for array in (
                    self.features, self.standard, self.bend, self.lumped, self.value,
                    self.known, self.doubt, self.unfinished, self.bound,
                )
            )
        )  # fmt: skip


def _design(features: Array, bend: Array, shares: Array) -> Array:
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


def rows_of(plan: WorkPlan) -> tuple[Array, Array]:
    """Return the regression's row of each stage for a plan, and log standard hours.

    Returns
    -------
    rows : ndarray, shape (stages, width)
    standard : ndarray, shape (stages,)
    """
    standard = np.log([*standard_hours(plan).values()])
    features = np.array(features_of(plan))
    return _design(features, standard - features @ _straight(), np.eye(len(STAGES))), standard


# Hypotheses without a change of pace: every scatter with every correlation.
_RHO = np.repeat(_ALIKE, len(_SCATTERS))
_SIGMA = np.tile(_SCATTERS, len(_ALIKE))
_CHANCE = np.outer(_ALIKE_CHANCE, _SCATTERS_CHANCE).ravel()
# Diagonals of the prior's precision for each: of the coefficients, and of a change.
_COEFFICIENT_SD = np.concatenate([SHARED_SD, np.tile(OWN_SD, len(STAGES)), [BEND_SD]])
_A0 = (_SIGMA[:, None] / _COEFFICIENT_SD) ** 2
_A0_CHANGE = (_SIGMA / SHIFT_SD) ** 2


@dataclass(frozen=True, slots=True, eq=False)
class Pace:
    """What is believed of an artist's pace: hypotheses with their weights.

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
        doubt = np.square([*doubt_by_stage(plan).values()])
        rows, standard = rows_of(plan)
        centre, spread = self._log_hours(rows, doubt)
        centre = centre + standard
        return HoursForecast(dict(zip(STAGES, self._draw(centre, spread, seed).T, strict=True)))

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
        """Return hours drawn from the mixture of multivariate Student-t, shape (DRAWS, stages)."""
        random = np.random.default_rng(seed)
        normal = random.standard_normal((DRAWS, centre.shape[1]))
        stretch = np.sqrt(self.degrees / random.chisquare(self.degrees, DRAWS))
        # Hypotheses in proportion to their weights, without chance of their own.
        which = np.searchsorted(np.cumsum(self.weight), (np.arange(DRAWS) + 0.5) / DRAWS)
        which = np.minimum(which, len(self.weight) - 1)
        lower = np.linalg.cholesky(spread)
        drawn = np.einsum("nij,nj->ni", lower[which], normal)
        return np.asarray(np.exp(centre[which] + drawn * stretch[:, None]))


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
    return _learn(_Records.of(ordered), [job.title for job in ordered])


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
    records, seen = _Records.of(jobs), sum(len(day) for day in days[:first])
    for day in days[first:]:
        start = max(0, seen - MEMORY)
        yield _learn(records.part(start, seen), [job.title for job in jobs[start:seen]])
        seen += len(day)


def _when(job: PastJob) -> tuple[int, date]:
    if job.finished_on is not None:
        return 1, job.finished_on
    return (2 if job.share else 0), date.min


def _learn(records: _Records, titles: Sequence[str]) -> Pace:
    state = _State.start(records)
    for _ in range(2 if len(records) else 0):
        state = _refined(records, state, _fit(records, state))
    fit = _fit(records, state)
    kept = np.argsort(fit.weight.ravel())[::-1][:_KEPT_MOST]
    upto = int(np.searchsorted(np.cumsum(fit.weight.ravel()[kept]), _KEPT_WEIGHT)) + 1
    kept = kept[:upto]
    belief, base, change = fit.of(kept)
    shift = np.zeros((len(kept), len(STAGES)))
    ages = fit.ages
    shift[(change > 0) & (change <= ages)] = 1.0
    shift[change > ages, _BURN] = 1.0
    weight = fit.weight.ravel()[kept]
    return Pace(
        jobs=len(records),
        suspects=_suspects(records, state, titles),
        weight=weight / weight.sum(),
        mean=belief.mean,
        cover=np.asarray(np.linalg.inv(belief.precision), np.float64),
        variance=belief.variance,
        degrees=2 * belief.shape,
        shared_scatter=_RHO[base],
        shift=shift,
        stage_scatter=state.stage_scatter,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _State:
    """What a fit takes as given, and the next may know better.

    Attributes
    ----------
    shares : (n, rows, stages) how much of a row's hours each stage is
    value : (n, rows) log ratio of hours to standard hours
    known : (n, rows) whether the row teaches
    extra : (n, rows) variance on top of scatter
    trust : (n, rows) what a row counts, 1 unless it looks wrong
    deviation : (n, rows) from what the others lead one to expect, in scale units
    expected : (n, rows) log ratio
    stage_scatter : (stages,)
    variance : float
    """

    shares: Array
    value: Array
    known: Array
    extra: Array
    trust: Array
    deviation: Array
    expected: Array
    stage_scatter: Array
    variance: float

    @classmethod
    def start(cls, records: _Records) -> "_State":
        shares, value, extra = _linear(records, np.zeros_like(records.standard))
        ones = np.ones_like(value)
        return cls(
            shares, value, records.known, extra, ones, 0 * ones, 0 * ones,
            np.ones(len(STAGES)), SCATTER_SD**2,
        )  # fmt: skip


def _linear(records: _Records, ratio: Array) -> tuple[Array, Array, Array]:
    """Return shares, values and doubts of rows; a sum is made linear about log ratios."""
    n = len(records)
    shares = np.zeros((n, _ROWS, len(STAGES)))
    shares[:, : len(STAGES)] = np.eye(len(STAGES))
    guess = np.exp(records.standard + ratio) * records.lumped
    total = guess.sum(axis=1)
    total[total == 0] = 1.0
    shares[:, _LUMP] = guess / total[:, None]
    value = records.value.copy()
    value[:, : len(STAGES)] -= records.standard
    value[:, _LUMP] -= np.log(total) - np.einsum("ns,ns->n", shares[:, _LUMP], ratio)
    # Doubts of one plan mostly act together, so that in a sum they add up.
    extra = np.einsum("nrs,ns->nr", shares, np.sqrt(records.doubt)) ** 2 + records.unfinished
    return shares, value, extra


@dataclass(frozen=True, slots=True, eq=False)
class _Fit:
    """All hypotheses fitted to the same rows.

    Attributes
    ----------
    before, after : Belief without a change, (hypotheses,)
    seen : Seen with the candidates for a change as further columns
    weight : (hypotheses, 1 + 2 ages): no change, a change in all, a change in burning
    rows : (n, rows, width + candidates)
    noise : (n, rows) variance of a row in units of that of the scatter
    """

    before: NormalInverseGamma
    after: NormalInverseGamma
    seen: SufficientStatistics
    weight: Array
    rows: Array
    noise: Array
    ages: int

    def of(self, kept: Index) -> tuple[NormalInverseGamma, Index, Index]:
        """Return the belief of chosen hypotheses with a change in each, its base and change."""
        base, change = np.divmod(kept, 1 + 2 * self.ages)
        size = len(kept)
        columns = np.concatenate(
            [np.tile(np.arange(_WIDTH), (size, 1)), (_WIDTH + np.maximum(change, 1) - 1)[:, None]],
            axis=1,
        )
        gram = np.zeros((size, _WIDTH + 1, _WIDTH + 1))
        moment = np.zeros((size, _WIDTH + 1))
        if self.ages:
            gram = self.seen.gram[base[:, None, None], columns[:, :, None], columns[:, None, :]]
            moment = self.seen.moment[base[:, None], columns]
            # Without a change its column says nothing.
            none = change == 0
            gram[none, -1, :] = gram[none, :, -1] = moment[none, -1] = 0.0
        else:
            gram[:, :-1, :-1] = self.seen.gram[base]
            moment[:, :-1] = self.seen.moment[base]
        precision = np.zeros_like(gram)
        precision[:, range(_WIDTH), range(_WIDTH)] = _A0[base]
        precision[:, -1, -1] = _A0_CHANGE[base]
        before = NormalInverseGamma(
            np.zeros_like(moment), precision, self.before.shape, self.before.rate[base]
        )
        seen = SufficientStatistics(gram, moment, self.seen.square[base], self.seen.count)
        return before.after(seen), base, change


def _fit(records: _Records, state: _State) -> _Fit:
    """Fit every hypothesis."""
    n = len(records)
    ages = _CHANGE_AGES[n > _CHANGE_AGES]
    recent = (np.arange(n)[::-1, None] < ages).astype(float)
    rows = np.concatenate(
        [
            _design(records.features, records.bend, state.shares),
            np.broadcast_to(recent[:, None, :], (n, _ROWS, len(ages))),
            state.shares[:, :, _BURN, None] * recent[:, None, :],
        ],
        axis=-1,
    )
    noise = _noise(state)
    counts = DISCOUNT ** np.arange(n)[::-1]
    scale = np.sqrt(state.known * state.trust * counts[:, None] / noise)
    scaled = np.concatenate([rows, state.value[..., None]], axis=-1) * scale[..., None]
    flat = scaled.reshape(n * _ROWS, scaled.shape[-1])
    within = flat.T @ flat
    # Scatter shared by the k rows of a job: R⁻¹ = (I − 11ᵀ/k)/(1 − ρ) + (11ᵀ/k)/(1 + (k−1)ρ).
    sums, rows_known = scaled.sum(axis=1), state.known.sum(axis=1)
    products = np.repeat(within[None], len(_RHO), axis=0) / (1 - _RHO)[:, None, None]
    jacobian, records_noise = np.zeros(len(_RHO)), np.zeros(len(_RHO))
    rows_scale = np.square(scale).sum(axis=1)
    for k in np.unique(rows_known[rows_known > 0]):
        these = rows_known == k
        between = sums[these].T @ sums[these] / k
        share = 1 / (1 + (k - 1) * _RHO) - 1 / (1 - _RHO)
        products += share[:, None, None] * between
        own_part = (1 - 1 / k) / (1 - _RHO) + 1 / k / (1 + (k - 1) * _RHO)
        records_noise += RECORD_SD**2 * rows_scale[these].sum() * own_part
        jacobian -= (
            counts[these].sum() / 2 * ((k - 1) * np.log(1 - _RHO) + np.log(1 + (k - 1) * _RHO))
        )
    seen = SufficientStatistics(
        products[:, :-1, :-1],
        products[:, :-1, -1],
        products[:, -1, -1] + records_noise,
        float((state.known * state.trust * counts[:, None]).sum()),
    )
    precision = np.zeros((len(_RHO), _WIDTH, _WIDTH))
    precision[:, range(_WIDTH), range(_WIDTH)] = _A0
    shape = SCATTER_WORTH / 2
    before = NormalInverseGamma(
        np.zeros((len(_RHO), _WIDTH)),
        precision,
        shape,
        shape * _SIGMA**2,
    )
    after = before.after(
        SufficientStatistics(
            seen.gram[:, :_WIDTH, :_WIDTH], seen.moment[:, :_WIDTH], seen.square, seen.count
        )
    )
    evidence = (np.log(_CHANCE) + before.log_evidence(after) + jacobian)[:, None]
    widths = np.diff(ages, prepend=0)
    chances = np.concatenate([widths * _CHANGE_CHANCE, widths * _BURN_CHANGE_CHANCE])
    unchanged = 1 / (1 + chances.sum())
    evidence = np.concatenate(
        [
            evidence + log(unchanged),
            evidence
            + np.log(unchanged * chances)
            + with_one_more(before, after, seen, _A0_CHANGE[:, None]),
        ],
        axis=1,
    )
    weight = np.exp(evidence - evidence.max())
    return _Fit(before, after, seen, weight / weight.sum(), rows, noise, len(ages))


def _noise(state: _State) -> Array:
    """Return the variance of each row in units of the scatter's."""
    own = np.einsum("nrs,s->nr", state.shares**2, state.stage_scatter**2)
    together = np.einsum("nrs,s->nr", state.shares, state.stage_scatter) ** 2
    noise = own * (1 - _LUMP_SHARED) + together * _LUMP_SHARED + state.extra / state.variance
    return np.asarray(np.maximum(noise, 1e-6))


def _refined(records: _Records, state: _State, fit: _Fit) -> _State:
    """Return the state as the likeliest hypothesis sees it."""
    belief, _, change = fit.of(np.array([np.argmax(fit.weight)]))
    column = _WIDTH + max(int(change[0]), 1) - 1
    last = fit.rows[..., column : column + 1] if change[0] else np.zeros((*fit.noise.shape, 1))
    rows = np.concatenate([fit.rows[..., :_WIDTH], last], axis=-1)
    mean, cover = belief.mean[0], np.linalg.inv(belief.precision[0])
    fitted = rows @ mean
    reach = np.einsum("nrw,wv,nrv->nr", rows, cover, rows)
    variance = float(belief.variance[0])
    shares, value, extra = _linear(records, fitted[:, : len(STAGES)])
    # The log of a sum is more than the sum made linear: by half of what the stages
    # vary more by themselves than together.
    varies = (fit.noise + reach) * variance
    apart = np.einsum("ns,ns->n", state.shares[:, _LUMP], varies[:, : len(STAGES)])
    value[:, _LUMP] -= np.maximum(apart - varies[:, _LUMP], 0) / 2
    known = state.known.copy()
    scale = np.sqrt(varies)
    for at in zip(*np.nonzero(records.bound), strict=True):
        known[at], value[at], extra[at] = state.known[at], state.value[at], state.extra[at]
        if not known[at]:
            known[at], value[at], extra[at] = _at_least(value[at], extra[at], fitted[at], scale[at])
    # Leaving each row out: residual / (1 − leverage), variance noise / (1 − leverage).
    residual = state.value - fitted
    lever = np.minimum(reach * state.trust * state.known / fit.noise, 0.99)
    measured = records.known > 0
    relative = residual / np.sqrt(fit.noise * (1 - lever)) * measured
    robust = _scale(relative[measured])
    deviation = relative / robust
    trust = np.minimum(1.0, (_TRUSTED / np.maximum(np.abs(deviation), 1e-9)) ** 2)
    square = trust * deviation**2
    stage = slice(0, len(STAGES))
    seen = measured[:, stage].sum(axis=0)
    level = (_STAGE_SCATTER_WORTH + square[:, stage].sum(axis=0)) / (_STAGE_SCATTER_WORTH + seen)
    return _State(
        shares,
        value,
        known,
        extra,
        trust,
        deviation,
        state.value - residual / (1 - lever),
        state.stage_scatter * np.sqrt(level / np.average(level, weights=seen + 1)),
        min(variance, robust**2),
    )


def _at_least(bound: float, extra: float, centre: float, scale: float) -> tuple[bool, float, float]:
    """Return the observation that 'more than this' amounts to: whether any, value and variance.

    The one that takes the normal belief of the value to the mean and variance
    of that belief cut off at the bound (a step of expectation propagation).
    """
    z = (bound - centre) / scale
    if z < -3:
        return False, bound, extra
    if z > 6:  # the tail's own limit, where its share of the whole is lost in rounding
        tilt, shrunk = z + 1 / z, 1 / z**2
    else:
        tilt = sqrt(2 / pi) * exp(-(z**2) / 2) / erfc(z / sqrt(2))
        shrunk = 1 - tilt * (tilt - z)
    precision = 1 / (scale**2 * shrunk) - 1 / scale**2
    mean = ((centre + scale * tilt) / (scale**2 * shrunk) - centre / scale**2) / precision
    return True, mean, extra + 1 / precision


def _scale(relative: Array) -> float:
    """Return the scale of residuals, not moved by a few wrong ones, held by the prior."""
    middle = 1.4826 * float(np.median(np.abs(relative))) if len(relative) else 0.0
    seen = len(relative)
    return sqrt((SCATTER_WORTH * SCATTER_SD**2 + seen * middle**2) / (SCATTER_WORTH + seen))


def _suspects(records: _Records, state: _State, titles: Sequence[str]) -> tuple[Suspect, ...]:
    found = []
    for i, row in zip(*np.nonzero(np.abs(state.deviation) > SUSPECT), strict=True):
        hours = exp(records.value[i, row])
        found.append(
            Suspect(
                titles[i],
                STAGES[row] if row != _LUMP else None,
                hours,
                hours * exp(state.expected[i, row] - state.value[i, row]),
            )
        )
    return tuple(found)


PRIOR_PACE = learn(())


def forecast(plan: WorkPlan, seed: int = 0) -> HoursForecast:
    """Return the hours of a job before any of this artist's own are known."""
    return PRIOR_PACE.forecast(plan, seed)
