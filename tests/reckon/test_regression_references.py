"""The closed form against numerical integration, scipy and statsmodels."""

from math import exp, lgamma, log, pi

import numpy as np
import pytest
from scipy import integrate, stats

from burnplan.reckon.regression import (
    Array,
    NormalInverseGamma,
    SufficientStatistics,
    with_one_more,
)
from tests.cases import quick_first
from tests.reckon.predictive import predictive

SEEDS = range(8)


def _case(seed: int, size: int = 4, count: int = 12) -> tuple[NormalInverseGamma, Array, Array]:
    """Invent a prior that is not centred, rows and values."""
    random = np.random.default_rng(seed)
    root = random.normal(size=(size, size))
    prior = NormalInverseGamma(
        random.normal(size=size),
        root @ root.T + np.eye(size),
        float(random.uniform(1.5, 6)),
        np.array(random.uniform(0.1, 2)),
    )
    rows = random.normal(size=(count, size))
    values = rows @ random.normal(size=size) + random.normal(size=count) * 0.4
    return prior, rows, values


def _zero_case(seed: int, size: int, count: int) -> tuple[NormalInverseGamma, Array, Array]:
    prior, rows, values = _case(seed, size, count)
    return (
        NormalInverseGamma(np.zeros(size), prior.precision, prior.shape, prior.rate),
        rows,
        values,
    )


@quick_first("seed", SEEDS, quick=3)
def test_against_numerical_integration(seed: int) -> None:
    """One coefficient: evidence, mean of θ and mean of σ² by quadrature over both."""
    prior, rows, values = _case(seed, size=1, count=6)
    after = prior.after(SufficientStatistics.of(rows, values))
    theta0, a0 = float(prior.mean[0]), float(prior.precision[0, 0])
    alpha, beta = prior.shape, float(prior.rate)
    x = rows[:, 0]

    def log_joint(thetas: Array, variance: float) -> Array:
        misfit = np.square(values - thetas[:, None] * x).sum(axis=1)
        normal = -len(x) / 2 * log(2 * pi * variance) - misfit / (2 * variance)
        coefficient = -log(2 * pi * variance / a0) / 2 - a0 * (thetas - theta0) ** 2 / 2 / variance
        inverse_gamma = (
            alpha * log(beta) - lgamma(alpha) - (alpha + 1) * log(variance) - beta / variance
        )
        return np.asarray(normal + coefficient + inverse_gamma)

    # On an even grid over log σ² and θ the trapezoid rule converges faster than any power.
    log_variances = np.linspace(-7, 7, 1401) + log(float(after.variance))
    an, thetas0 = float(after.precision[0, 0]), float(after.mean[0])
    moments = np.zeros((3, len(log_variances)))
    top = float(log_joint(np.array([thetas0]), float(after.variance))[0])
    for i, log_variance in enumerate(log_variances):
        variance = exp(log_variance)
        thetas = thetas0 + np.linspace(-12, 12, 241) * (variance / an) ** 0.5
        weight = np.exp(log_joint(thetas, variance) - top) * variance
        moments[:, i] = [
            integrate.trapezoid(weight, thetas),
            integrate.trapezoid(weight * thetas, thetas),
            integrate.trapezoid(weight * variance, thetas),
        ]
    whole, first, spread = integrate.trapezoid(moments, log_variances)
    assert log(whole) + top == pytest.approx(float(prior.log_evidence(after)), abs=1e-6)
    assert first / whole == pytest.approx(thetas0, abs=1e-6)
    assert spread / whole == pytest.approx(float(after.rate) / (after.shape - 1), rel=1e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_evidence_is_a_multivariate_student_t(seed: int) -> None:
    prior, rows, values = _case(seed)
    spread = np.eye(len(rows)) + rows @ np.linalg.inv(prior.precision) @ rows.T
    expected = stats.multivariate_t(
        rows @ prior.mean, float(prior.variance) * spread, df=2 * prior.shape
    ).logpdf(values)
    found = prior.log_evidence(prior.after(SufficientStatistics.of(rows, values)))
    assert float(found) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_predictive_is_the_ratio_of_evidences(seed: int) -> None:
    """p(next | seen) = p(seen, next) / p(seen)."""
    prior, rows, values = _case(seed)
    seen, all_seen = (
        SufficientStatistics.of(rows[:-1], values[:-1]),
        SufficientStatistics.of(rows, values),
    )
    ratio = prior.log_evidence(prior.after(all_seen)) - prior.log_evidence(prior.after(seen))
    df, centre, scale = predictive(prior.after(seen), rows[-1:])
    found = stats.t(df, centre[0], scale[0]).logpdf(values[-1])
    assert found == pytest.approx(float(ratio), abs=1e-9)


@pytest.mark.long
@pytest.mark.parametrize("seed", SEEDS)
def test_mean_is_least_squares_with_the_prior_as_further_rows(seed: int) -> None:
    """Against statsmodels: the prior's precision is LLᵀ; Lᵀ are rows with values Lᵀθ0."""
    import statsmodels.api as sm  # takes its time

    prior, rows, values = _case(seed)
    upper = np.linalg.cholesky(prior.precision).T
    fitted = sm.OLS(
        np.concatenate([values, upper @ prior.mean]), np.concatenate([rows, upper])
    ).fit()
    after = prior.after(SufficientStatistics.of(rows, values))
    np.testing.assert_allclose(after.mean, fitted.params, atol=1e-9)
    np.testing.assert_allclose(
        np.linalg.inv(after.precision), fitted.normalized_cov_params, atol=1e-9
    )
    assert 2 * float(after.rate - prior.rate) == pytest.approx(fitted.ssr, abs=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_seen_at_once_or_one_after_another_is_the_same(seed: int) -> None:
    prior, rows, values = _case(seed)
    at_once = prior.after(SufficientStatistics.of(rows, values))
    in_turn = prior
    for row, value in zip(rows, values, strict=True):
        in_turn = in_turn.after(SufficientStatistics.of(row[None], value[None]))
    np.testing.assert_allclose(in_turn.mean, at_once.mean, atol=1e-9)
    assert float(in_turn.rate) == pytest.approx(float(at_once.rate), abs=1e-9)
    assert in_turn.shape == at_once.shape


def test_stacks_are_as_one_by_one() -> None:
    cases = [_case(seed) for seed in SEEDS]
    shape = 3.0
    before = NormalInverseGamma(
        np.array([b.mean for b, _, _ in cases]),
        np.array([b.precision for b, _, _ in cases]),
        shape,
        np.array([b.rate for b, _, _ in cases]),
    )
    each = [SufficientStatistics.of(rows, values) for _, rows, values in cases]
    after = before.after(
        SufficientStatistics(
            np.array([s.gram for s in each]),
            np.array([s.moment for s in each]),
            np.array([s.square for s in each]),
            each[0].count,
        )
    )
    evidence = before.log_evidence(after)
    for i, ((prior, _, _), seen) in enumerate(zip(cases, each, strict=True)):
        alone = NormalInverseGamma(prior.mean, prior.precision, shape, prior.rate)
        then = alone.after(seen)
        np.testing.assert_allclose(after.mean[i], then.mean, atol=1e-12)
        assert evidence[i] == pytest.approx(float(alone.log_evidence(then)), abs=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_further_column_is_as_fitting_with_it(seed: int) -> None:
    size, more = 4, 3
    prior, rows, values = _zero_case(seed, size + more, 12)
    first = prior.precision[:size, :size]
    precisions = np.array([[1.7]])
    before = NormalInverseGamma(np.zeros((1, size)), first[None], prior.shape, prior.rate[None])
    seen = SufficientStatistics.of(rows, values)
    stacked = SufficientStatistics(
        seen.gram[None], seen.moment[None], seen.square[None], seen.count
    )
    after = before.after(
        SufficientStatistics(
            stacked.gram[:, :size, :size], stacked.moment[:, :size], stacked.square, seen.count
        )
    )
    gains = with_one_more(before, after, stacked, precisions)[0]
    for column in range(more):
        chosen = [*range(size), size + column]
        wider = np.eye(size + 1) * 1.7
        wider[:size, :size] = first
        alone = NormalInverseGamma(np.zeros(size + 1), wider, prior.shape, prior.rate)
        then = alone.after(SufficientStatistics.of(rows[:, chosen], values))
        gain = float(alone.log_evidence(then) - before.log_evidence(after)[0])
        assert gains[column] == pytest.approx(gain, abs=1e-9)
