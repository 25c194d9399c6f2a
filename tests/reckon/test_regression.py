"""The conjugate regression against independent computations, on random cases, to 1e-6.

The belief after observations is also what least squares finds when the prior's mean and
precision are added as rows (scipy.linalg.lstsq; statsmodels' OLS with a faint prior). Evidence
and prediction are also integrals over σ² of normal ones, which scipy.integrate.quad takes
numerically: the Normal-Inverse-Gamma model by its definition (Bernardo and Smith, Bayesian
Theory, 1994).
"""

import importlib
from typing import Any

import numpy as np
import pytest
from scipy import integrate, linalg, stats

from burnplan.reckon.regression import NormalInverseGamma, SufficientStatistics, with_one_more
from tests.cases import quick_first
from tests.reckon.predictive import predictive

CASES = range(12)


def _case(number: int) -> tuple[NormalInverseGamma, np.ndarray, np.ndarray]:
    random = np.random.default_rng(number)
    width, count = int(random.integers(1, 5)), int(random.integers(1, 12))
    root = random.normal(size=(width, width))
    before = NormalInverseGamma(
        random.normal(size=width),
        root @ root.T + 0.3 * np.eye(width),
        float(random.uniform(1.5, 6)),
        np.array(random.uniform(0.2, 3)),
    )
    rows = random.normal(size=(count, width))
    return before, rows, rows @ random.normal(size=width) + random.normal(size=count)


@pytest.mark.parametrize("number", CASES)
def test_the_mean_is_that_of_least_squares_with_the_prior_as_rows(number: int) -> None:
    before, rows, values = _case(number)
    after = before.after(SufficientStatistics.of(rows, values))
    root = np.linalg.cholesky(before.precision).T
    solved, *_ = linalg.lstsq(np.vstack([root, rows]), np.append(root @ before.mean, values))
    assert after.mean == pytest.approx(solved, abs=1e-6)
    left = np.append(root @ before.mean, values) - np.vstack([root, rows]) @ solved
    assert float(after.rate) == pytest.approx(float(before.rate) + left @ left / 2, rel=1e-6)


@pytest.mark.long
@pytest.mark.parametrize("number", CASES)
def test_with_a_faint_prior_it_is_ordinary_least_squares(number: int) -> None:
    random = np.random.default_rng(100 + number)
    rows = random.normal(size=(20, 3))
    values = rows @ random.normal(size=3) + random.normal(size=20)
    after = NormalInverseGamma(np.zeros(3), 1e-9 * np.eye(3), 1e-9, np.array(1e-9)).after(
        SufficientStatistics.of(rows, values)
    )
    fitted: Any = importlib.import_module("statsmodels.api").OLS(values, rows).fit()
    assert after.mean == pytest.approx(fitted.params, abs=1e-6)
    assert float(after.rate) == pytest.approx(fitted.ssr / 2, rel=1e-6)


def _integrated(before: NormalInverseGamma, rows: np.ndarray, values: np.ndarray) -> float:
    """Integrate the likelihood over the prior of σ², the coefficients in closed form."""
    cover = np.eye(len(rows)) + rows @ np.linalg.solve(before.precision, rows.T)
    centre = rows @ before.mean
    noise = stats.invgamma(before.shape, scale=float(before.rate))

    def at(log_variance: float) -> float:
        variance = np.exp(log_variance)
        density = stats.multivariate_normal(centre, variance * cover).pdf(values)
        return float(density * noise.pdf(variance) * variance)

    total, _ = integrate.quad(at, -14, 14, points=[-2, 0, 2], limit=400, epsabs=0, epsrel=1e-11)
    return float(total)


@quick_first("number", CASES, quick=4)
def test_evidence_is_the_integral(number: int) -> None:
    before, rows, values = _case(number)
    after = before.after(SufficientStatistics.of(rows, values))
    expected = np.log(_integrated(before, rows, values))
    assert float(before.log_evidence(after)) == pytest.approx(expected, abs=1e-6)


@quick_first("number", CASES, quick=2)
def test_prediction_is_the_ratio_of_integrals(number: int) -> None:
    before, rows, values = _case(number)
    after = before.after(SufficientStatistics.of(rows, values))
    new = np.random.default_rng(number).normal(size=(1, rows.shape[1]))
    df, centre, scale = predictive(after, new)
    whole = _integrated(before, rows, values)
    for value in (-1.0, 0.3, 2.0):
        joint = _integrated(before, np.vstack([rows, new]), np.append(values, value))
        assert stats.t(df, centre[0], scale[0]).pdf(value) == pytest.approx(joint / whole, rel=1e-6)


@pytest.mark.parametrize("number", CASES)
def test_one_more_column_gains_what_a_full_fit_says(number: int) -> None:
    random = np.random.default_rng(number)
    rows, extra = random.normal(size=(15, 3)), random.normal(size=(15, 4))
    values = rows.sum(axis=1) + 0.7 * extra[:, 1] + random.normal(size=15)
    before = NormalInverseGamma(np.zeros((1, 3)), np.eye(3)[None], 2.0, np.array([0.7]))
    both = SufficientStatistics.of(np.hstack([rows, extra]), values)
    seen = SufficientStatistics(
        both.gram[None], both.moment[None], np.array([both.square]), both.count
    )
    plain = SufficientStatistics.of(rows, values)
    after = before.after(
        SufficientStatistics(plain.gram[None], plain.moment[None], seen.square, seen.count)
    )
    gains = with_one_more(before, after, seen, 1.3)[0]
    for column in range(4):
        wide = NormalInverseGamma(np.zeros(4), np.diag([1.0, 1, 1, 1.3]), 2.0, np.array(0.7))
        full = wide.after(SufficientStatistics.of(np.hstack([rows, extra[:, [column]]]), values))
        gain = float(wide.log_evidence(full)) - float(before.log_evidence(after)[0])
        assert gains[column] == pytest.approx(gain, abs=1e-6)
