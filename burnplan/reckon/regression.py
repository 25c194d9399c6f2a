"""Bayesian linear regression with a Normal-Inverse-Gamma prior, in closed form.

``y = X θ + noise``, noise of variance σ²; θ given σ² is normal with mean θ0 and
covariance σ² A0⁻¹, and σ² is inverse gamma with shape α0 and rate β0. After
seeing X and y the belief has the same form, so that nothing is iterated and
nothing is simulated (Bernardo and Smith, Bayesian Theory, 1994, section 5.2 and
appendix A; from memory for the page).
"""

from dataclasses import dataclass
from math import lgamma, log, pi

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class SufficientStatistics:
    """What observations amount to: all that the regression needs of them.

    Parameters
    ----------
    gram : ndarray, shape (..., p, p)
        XᵀX.
    moment : ndarray, shape (..., p)
        Xᵀy.
    square : ndarray, shape (...)
        yᵀy.
    count : float
        Number of observations; parts of one where they are weighted.
    """

    gram: Array
    moment: Array
    square: Array
    count: float

    @classmethod
    def of(cls, rows: Array, values: Array) -> "SufficientStatistics":
        """Return what rows X, shape (n, p), with values y, shape (n,), amount to."""
        return cls(rows.T @ rows, rows.T @ values, values @ values, float(len(values)))


@dataclass(frozen=True, slots=True, eq=False)
class NormalInverseGamma:
    """A Normal-Inverse-Gamma belief, or a stack of them that share shape and count.

    Parameters
    ----------
    mean : ndarray, shape (..., p)
        θ.
    precision : ndarray, shape (..., p, p)
        A, in units of 1/σ².
    shape : float
        α; the predictive distribution has 2α degrees of freedom.
    rate : ndarray, shape (...)
        β; σ² is about β/α.
    """

    mean: Array
    precision: Array
    shape: float
    rate: Array

    @property
    def variance(self) -> Array:
        """Square of the scale of the noise, β/α, shape (...)."""
        return self.rate / self.shape

    def after(self, seen: SufficientStatistics) -> "NormalInverseGamma":
        """Return the belief after observations.

        Examples
        --------
        >>> before = NormalInverseGamma(np.zeros(1), np.eye(1), 2.0, np.array(1.0))
        >>> seen = SufficientStatistics.of(np.ones((3, 1)), np.array([1.0, 2.0, 3.0]))
        >>> after = before.after(seen)
        >>> after.mean.tolist(), after.shape, float(after.rate)
        ([1.5], 3.5, 3.5)
        """
        pulled = self._pulled()
        precision = self.precision + seen.gram
        moment = pulled + seen.moment
        mean: Array = np.linalg.solve(precision, moment[..., None])[..., 0].astype(np.float64)
        before = np.einsum("...i,...i", self.mean, pulled)
        fitted = np.einsum("...i,...i", mean, moment)
        rate = self.rate + (seen.square + before - fitted) / 2
        # Rounding must not take it below what the prior brought.
        return NormalInverseGamma(
            mean, precision, self.shape + seen.count / 2, np.maximum(rate, self.rate)
        )

    def log_evidence(self, after: "NormalInverseGamma") -> Array:
        """Return the log marginal likelihood of what led from this belief to a later one."""
        count = 2 * (after.shape - self.shape)
        return np.asarray(
            (np.linalg.slogdet(self.precision)[1] - np.linalg.slogdet(after.precision)[1]) / 2
            + self.shape * np.log(self.rate)
            - after.shape * np.log(after.rate)
            + (lgamma(after.shape) - lgamma(self.shape) - count / 2 * log(2 * pi))
        )

    def _pulled(self) -> Array:
        return np.asarray((self.precision @ self.mean[..., None])[..., 0])


def with_one_more(
    before: NormalInverseGamma,
    after: NormalInverseGamma,
    seen: SufficientStatistics,
    own_precision: float | Array,
) -> Array:
    """Return how much the log evidence gains from each of many further columns, singly.

    By the formula of the block inverse: no further system is solved per column.

    Parameters
    ----------
    before, after : NormalInverseGamma
        Without a further column; stacks of shape (b,).
    seen : SufficientStatistics
        Gram (b, p + k, p + k) and moment (b, p + k), the k candidates last.
    own_precision : float or ndarray, shape (b, 1)
        Of the prior of a candidate's coefficient, which has mean 0.

    Returns
    -------
    ndarray, shape (b, k)
    """
    size = before.mean.shape[-1]
    cross = seen.gram[:, :size, size:]
    own = np.diagonal(seen.gram, axis1=1, axis2=2)[:, size:] + own_precision
    solved = np.linalg.solve(after.precision, cross)
    left = own - np.einsum("bpk,bpk->bk", cross, solved)
    pull = seen.moment[:, size:] - np.einsum("bpk,bp->bk", cross, after.mean)
    # The prior of the other columns has mean 0 wherever this is used, so that
    # the moment of `after` is that of the observations.
    rate = np.maximum(after.rate[:, None] - pull**2 / left / 2, before.rate[:, None])
    return np.asarray(
        np.log(own_precision / left) / 2 - after.shape * np.log(rate / after.rate[:, None])
    )
