"""What past jobs say of pace: every hypothesis fitted to them in closed form.

What the closed form (:mod:`burnplan.reckon.regression`) cannot hold is settled by
weighing hypotheses by their evidence: how large the scatter is, how much of it the
stages of a job share, and whether and when the artist last became faster or slower.
"""

from dataclasses import dataclass
from math import log, sqrt

import numpy as np
import numpy.typing as npt

from burnplan.reckon.pace_rows import (
    LUMP,
    ROWS,
    SCATTER_SD,
    STAGES,
    WIDTH,
    Records,
    design,
)
from burnplan.reckon.regression import (
    Array,
    NormalInverseGamma,
    SufficientStatistics,
    with_one_more,
)
from burnplan.reckon.work import Work

Index = npt.NDArray[np.intp]
BURN = STAGES.index(Work.BURN)

# ---- the prior (common practice, no source: chosen so that an artist twice as
# fast or slow as the starting guess is no surprise) --------------------------------
RECORD_SD = 0.03
"""Standard deviation of log hours from being written down to a few minutes; expected in
every record, even where a job's stages agree better than that."""
SCATTER_WORTH = 10.0
"""Observations that the guess of the scatter is worth (a guess: tried on invented studios)."""
SHARED_SD = (0.45, 0.14, 0.40, 0.40, 0.18)
"""How far pace may lie from the guess in all stages alike: the level, and the
slopes per factor e of area, per whole range of darkness and texture, and per
factor e of hardness (a guess: tried on invented studios)."""
OWN_SD = (0.30, 0.12, 0.20, 0.20, 0.10)
"""The same for what a stage has of its own (a guess: tried on invented studios)."""
BEND_SD = 0.7
"""How well the curves of the starting guess hold, where they are not straight in
the features: at -1 not at all, at 0 as they are (a guess: tried on invented studios)."""
SHIFT_SD = 0.35
"""How large a change of pace usually is (a guess: tried on invented studios)."""

# ---- hypotheses, weighed by evidence ----------------------------------------------
# Standard deviation of the scatter. The belief about σ moves little from each of these:
# the coefficients' prior is in units of σ, and slopes that are plainly nothing must not
# argue for a small one.
_SCATTERS = np.array([0.12, 0.17, SCATTER_SD, 0.36, 0.52])
_SCATTERS_CHANCE = np.array([0.10, 0.25, 0.35, 0.20, 0.10])  # a guess: tried on invented studios
# Correlation of the scatter of a job's stages, finest near 1: records that split one
# clock among the stages have them nearly alike (a guess: tried on invented studios).
_ALIKE = 1 - np.array([1.0, 0.7, 0.45, 0.25, 0.13, 0.065, 0.032, 0.016, 0.008, 0.004])
# A guess: tried on invented studios.
_ALIKE_CHANCE = np.array([0.18, 0.18, 0.16, 0.12, 0.09, 0.07, 0.06, 0.05, 0.05, 0.04])
# How many jobs ago: two at least, since one job alone says nothing of a change (a guess: tried on
# invented studios).
_CHANGE_AGES = np.array([2, 3, 4, 5, 6, 7, 8, 10, 12, 15, 19, 24, 30, 38, 48, 60])
# That pace changes between one job and the next; a guess: tried on invented studios.
CHANGE_CHANCE = 1 / 20
# That it changes in burning alone; a guess: tried on invented studios.
_BURN_CHANGE_CHANCE = 1 / 1000

DISCOUNT = 0.995
"""What a job counts for each later one (a guess: tried on invented studios)."""

# ---- jobs that do not fit -----------------------------------------------------------
# Deviations up to which an observation counts in full; a guess: tried on invented studios.
_TRUSTED = 2.5
# So many times what parts two jobs must be less than what sets them apart; a guess: tried on
# invented studios.
_AGREES = 2.0
# Jobs before a single one moves little, those looked at one by one, and how far off, in log
# hours, they must be to be so (a guess: tried on invented studios).
_ENOUGH, _NEWEST, _OFF = 10, 3, 0.25
# Of how far it is off, so much another must be off too to agree (a guess: tried on invented
# studios).
_BORNE_OUT = 2 / 3
# Observations' worth of prior that stages scatter alike; a guess: tried on invented studios.
_STAGE_SCATTER_WORTH = 12.0
# Correlation assumed between stages known only together; a guess: tried on invented studios.
_LUMP_SHARED = 0.3

# Hypotheses without a change of pace: every scatter with every correlation.
RHO = np.repeat(_ALIKE, len(_SCATTERS))
_SIGMA = np.tile(_SCATTERS, len(_ALIKE))
_CHANCE = np.outer(_ALIKE_CHANCE, _SCATTERS_CHANCE).ravel()
# Diagonals of the prior's precision for each: of the coefficients, and of a change.
_COEFFICIENT_SD = np.concatenate([SHARED_SD, np.tile(OWN_SD, len(STAGES)), [BEND_SD]])
_A0 = (_SIGMA[:, None] / _COEFFICIENT_SD) ** 2  # by definition
_A0_CHANGE = (_SIGMA / SHIFT_SD) ** 2  # by definition


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """What a fit takes as given, and the next may know better.

    Attributes
    ----------
    shares : (n, rows, stages) how much of a row's hours each stage is
    value : (n, rows) log ratio of hours to standard hours
    extra : (n, rows) variance on top of scatter
    trust : (n, rows) what a row counts, 1 unless it looks wrong
    deviation : (n, rows) from what the others lead one to expect, in scale units
    expected : (n, rows) log ratio
    stage_scatter : (stages,)
    variance : float
    """

    shares: Array
    value: Array
    extra: Array
    trust: Array
    deviation: Array
    expected: Array
    stage_scatter: Array
    variance: float

    @classmethod
    def start(cls, records: Records) -> "State":
        """Return what is taken as given before the first fit."""
        shares, value, extra = _linear(records, np.zeros_like(records.standard))
        ones = np.ones_like(value)
        return cls(
            shares, value, extra, ones, 0 * ones, 0 * ones,
            np.ones(len(STAGES)), SCATTER_SD**2,
        )  # fmt: skip


def _linear(records: Records, ratio: Array) -> tuple[Array, Array, Array]:
    """Return shares, values and doubts of rows; a sum is made linear about log ratios."""
    n = len(records)
    shares = np.zeros((n, ROWS, len(STAGES)))
    shares[:, : len(STAGES)] = np.eye(len(STAGES))
    guess = np.exp(records.standard + ratio) * records.lumped
    total = guess.sum(axis=1)
    total[total == 0] = 1.0
    shares[:, LUMP] = guess / total[:, None]
    value = records.value.copy()
    value[:, : len(STAGES)] -= records.standard
    value[:, LUMP] -= np.log(total) - np.einsum("ns,ns->n", shares[:, LUMP], ratio)
    # Doubts of one plan mostly act together, so that in a sum they add up.
    extra = np.einsum("nrs,ns->nr", shares, np.sqrt(records.doubt)) ** 2 + records.unfinished
    return shares, value, extra


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """All hypotheses fitted to the same rows.

    Attributes
    ----------
    before, after : NormalInverseGamma without a change, (hypotheses,)
    seen : SufficientStatistics with the candidates for a change as further columns
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
            [np.tile(np.arange(WIDTH), (size, 1)), (WIDTH + np.maximum(change, 1) - 1)[:, None]],
            axis=1,
        )
        gram = np.zeros((size, WIDTH + 1, WIDTH + 1))
        moment = np.zeros((size, WIDTH + 1))
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
        precision[:, range(WIDTH), range(WIDTH)] = _A0[base]
        precision[:, -1, -1] = _A0_CHANGE[base]
        before = NormalInverseGamma(
            np.zeros_like(moment), precision, self.before.shape, self.before.rate[base]
        )
        seen = SufficientStatistics(gram, moment, self.seen.square[base], self.seen.count)
        return before.after(seen), base, change


def fit_all(records: Records, state: State) -> Fit:
    """Fit every hypothesis."""
    n = len(records)
    ages = _CHANGE_AGES[n > _CHANGE_AGES]
    recent = (np.arange(n)[::-1, None] < ages).astype(float)
    rows = np.concatenate(
        [
            design(records.features, records.bend, state.shares),
            np.broadcast_to(recent[:, None, :], (n, ROWS, len(ages))),
            state.shares[:, :, BURN, None] * recent[:, None, :],
        ],
        axis=-1,
    )
    noise = _noise(state)
    counts = DISCOUNT ** np.arange(n)[::-1]
    scale = np.sqrt(records.known * state.trust * counts[:, None] / noise)
    scaled = np.concatenate([rows, state.value[..., None]], axis=-1) * scale[..., None]
    flat = scaled.reshape(n * ROWS, scaled.shape[-1])
    within = flat.T @ flat
    # Scatter shared by the k rows of a job: R⁻¹ = (I − 11ᵀ/k)/(1 − ρ) + (11ᵀ/k)/(1 + (k−1)ρ).
    sums, rows_known = scaled.sum(axis=1), records.known.sum(axis=1)
    products = np.repeat(within[None], len(RHO), axis=0) / (1 - RHO)[:, None, None]
    jacobian, records_noise = np.zeros(len(RHO)), np.zeros(len(RHO))
    rows_scale = np.square(scale).sum(axis=1)
    for k in np.unique(rows_known[rows_known > 0]):
        these = rows_known == k
        between = sums[these].T @ sums[these] / k
        share = 1 / (1 + (k - 1) * RHO) - 1 / (1 - RHO)
        products += share[:, None, None] * between
        own_part = (1 - 1 / k) / (1 - RHO) + 1 / k / (1 + (k - 1) * RHO)
        records_noise += RECORD_SD**2 * rows_scale[these].sum() * own_part
        jacobian -= (
            counts[these].sum() / 2 * ((k - 1) * np.log(1 - RHO) + np.log(1 + (k - 1) * RHO))
        )
    seen = SufficientStatistics(
        products[:, :-1, :-1],
        products[:, :-1, -1],
        products[:, -1, -1] + records_noise,
        float((records.known * state.trust * counts[:, None]).sum()),
    )
    precision = np.zeros((len(RHO), WIDTH, WIDTH))
    precision[:, range(WIDTH), range(WIDTH)] = _A0
    shape = SCATTER_WORTH / 2
    before = NormalInverseGamma(
        np.zeros((len(RHO), WIDTH)),
        precision,
        shape,
        shape * _SIGMA**2,
    )
    after = before.after(
        SufficientStatistics(
            seen.gram[:, :WIDTH, :WIDTH], seen.moment[:, :WIDTH], seen.square, seen.count
        )
    )
    evidence = (np.log(_CHANCE) + before.log_evidence(after) + jacobian)[:, None]
    widths = np.diff(ages, prepend=0)
    chances = np.concatenate([widths * CHANGE_CHANCE, widths * _BURN_CHANGE_CHANCE])
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
    return Fit(before, after, seen, weight / weight.sum(), rows, noise, len(ages))


def _noise(state: State) -> Array:
    """Return the variance of each row in units of the scatter's."""
    own = np.einsum("nrs,s->nr", state.shares**2, state.stage_scatter**2)
    together = np.einsum("nrs,s->nr", state.shares, state.stage_scatter) ** 2
    noise = own * (1 - _LUMP_SHARED) + together * _LUMP_SHARED + state.extra / state.variance
    return np.asarray(np.maximum(noise, 1e-6))


def refined(records: Records, state: State, fit: Fit, *, steady: bool) -> State:
    """Return the state as the likeliest hypothesis sees it.

    ``steady`` asks those without a change of pace: a job that does not fit must not be
    trusted because a change would explain it.
    """
    likely = int(np.argmax(fit.weight[:, 0])) * fit.weight.shape[1] if steady else None
    belief, base, change = fit.of(np.array([np.argmax(fit.weight) if likely is None else likely]))
    column = WIDTH + max(int(change[0]), 1) - 1
    last = fit.rows[..., column : column + 1] if change[0] else np.zeros((*fit.noise.shape, 1))
    rows = np.concatenate([fit.rows[..., :WIDTH], last], axis=-1)
    mean, cover = belief.mean[0], np.linalg.inv(belief.precision[0])
    fitted = rows @ mean
    reach = np.einsum("nrw,wv,nrv->nr", rows, cover, rows)
    variance = float(belief.variance[0])
    shares, value, extra = _linear(records, fitted[:, : len(STAGES)])
    # The log of a sum is more than the sum made linear: by half of what the stages
    # vary more by themselves than together.
    varies = (fit.noise + reach) * variance
    apart = np.einsum("ns,ns->n", state.shares[:, LUMP], varies[:, : len(STAGES)])
    value[:, LUMP] -= np.maximum(apart - varies[:, LUMP], 0) / 2
    # Leaving each row out: residual / (1 − leverage), variance noise / (1 − leverage).
    residual = state.value - fitted
    lever = np.minimum(reach * state.trust * records.known / fit.noise, 0.99)
    measured = records.known > 0
    relative = residual / np.sqrt(fit.noise * (1 - lever)) * measured
    robust = _scale(relative[measured])
    deviation = relative / robust
    trust = np.minimum(state.trust, _trust(deviation, measured, float(RHO[base[0]])))
    square = trust * deviation**2
    stage = slice(0, len(STAGES))
    seen = measured[:, stage].sum(axis=0)
    level = (_STAGE_SCATTER_WORTH + square[:, stage].sum(axis=0)) / (_STAGE_SCATTER_WORTH + seen)
    return State(
        shares,
        value,
        extra,
        trust,
        deviation,
        state.value - residual / (1 - lever),
        state.stage_scatter * np.sqrt(level / np.average(level, weights=seen + 1)),
        min(variance, robust**2),
    )


def _trust(deviation: Array, measured: npt.NDArray[np.bool_], rho: float) -> Array:
    """Return what each row counts, by how far it is from what the others lead one to expect.

    Where the stages of a job scatter alike, what sets one apart from the others says much,
    and its job as a whole is not to be trusted; where they scatter by themselves, that stage.
    """
    rows = np.maximum(measured.sum(axis=1, keepdims=True), 1)
    mean = (deviation * measured).sum(axis=1, keepdims=True) / rows
    level = mean / np.sqrt((1 + (rows - 1) * rho) / rows)
    apart = (deviation - mean) * measured / np.sqrt((1 - rho) * np.maximum(1 - 1 / rows, 0.25))
    of_job = np.maximum(
        _alone(level, np.any(measured, axis=1)[:, None]),
        _alone(apart, measured).max(axis=1, keepdims=True),
    )
    return np.asarray(_counts(_alone(deviation, measured)) ** (1 - rho) * _counts(of_job) ** rho)


def _counts(deviation: Array) -> Array:
    return np.minimum(1.0, (_TRUSTED / np.maximum(deviation, 1e-9)) ** 2)


def _alone(deviation: Array, measured: npt.NDArray[np.bool_]) -> Array:
    """Return deviations as far as the job before or after does not agree: those are no accident."""
    far = np.abs(deviation)
    if len(far) > 1:
        parted = _AGREES * np.abs(np.diff(deviation, axis=0))
        parted[~(measured[1:] & measured[:-1])] = np.inf
        far[1:], far[:-1] = np.minimum(far[1:], parted), np.minimum(far[:-1], parted)
    return far


def unsupported(records: Records, state: State) -> list[int]:
    """Return which of the newest jobs are far from what is expected, and none agrees with them.

    Parameters
    ----------
    records : Records
    state : State
        As hypotheses without a change of pace see it.

    Returns
    -------
    list of int
        None where so few are on record that each must count.
    """
    n = len(records)
    if n <= _ENOUGH:
        return []
    hours = np.exp(records.value) * records.known
    expected = hours * np.exp(state.expected - state.value)
    some = records.known.any(axis=1)
    off = np.log((hours.sum(axis=1) + ~some) / (expected.sum(axis=1) + ~some))
    return [i for i in range(max(0, n - _NEWEST), n) if abs(off[i]) > _OFF and not _agreed(off, i)]


def _agreed(off: Array, job: int) -> bool:
    beside = off[max(0, job - 1) : job + 2] * np.sign(off[job])
    return bool((beside >= abs(off[job]) * _BORNE_OUT).sum() > 1)


def _scale(relative: Array) -> float:
    """Return the scale of residuals, not moved by a few wrong ones, held by the prior."""
    middle = 1.4826 * float(np.median(np.abs(relative))) if len(relative) else 0.0
    seen = len(relative)
    return sqrt((SCATTER_WORTH * SCATTER_SD**2 + seen * middle**2) / (SCATTER_WORTH + seen))
