"""How light falls on a piece: a smooth surface through what is known to be bare wood.

The logarithm of the light is a sum: a level that is not known, a slope, a bend, and what
else bends slowly, each with a prior deviation (Bayesian linear regression: C. E. Rasmussen,
C. K. I. Williams, Gaussian Processes for Machine Learning, 2006, section 2.1). Bare wood
says what it is where it lies. A zone that is burned says only how it changes from place to
place, since how far the zone has come is not known. What stands out is taken for a mark
on the wood and counts little (Student's t, by weighing again). How well the light is known
comes with it.
"""

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve

_LEVEL = 3.0  # deviation of the light's level, in units of ln; a guess: tried on rendered photos
# Over half the longer side of the piece; a guess: tried on rendered photos.
_SLOPE, _BEND = 0.6, 0.3
# Of what else bends, and how far it hangs together; a guess: tried on rendered photos.
_REST, _REACH = 0.08, 0.7
# Of how far a zone may be from what was taken of it; a guess: tried on rendered photos.
_OFFSET = 0.7
_FREEDOM = 4.0  # degrees of freedom of Student's t; a guess: tried on rendered photos
_ROUNDS = 4  # of weighing again; a guess: tried on rendered photos

LEAST_SHARE = 0.04
"""Share of a cell that must be of one kind for it to say something (a guess: tried on rendered
photos)."""

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class LightSamples:
    """What is known of the light at places of the piece.

    Parameters
    ----------
    at : ndarray of float64, shape (K, 2)
        x and y, with half the longer side of the piece as 1.
    value : ndarray of float64, shape (K,)
        ln of the light there.
    sd : ndarray of float64, shape (K,)
        Its standard deviation.
    group : ndarray of int, shape (K,)
        0 where the level is known; else the zone whose level is not.
    """

    at: Points
    value: NDArray[np.float64]
    sd: NDArray[np.float64]
    group: NDArray[np.int_]

    @staticmethod
    def joined(parts: "list[LightSamples]") -> "LightSamples":
        """Return several as one."""
        return LightSamples(
            np.concatenate([one.at for one in parts]),
            np.concatenate([one.value for one in parts]),
            np.concatenate([one.sd for one in parts]),
            np.concatenate([one.group for one in parts]),
        )


def _features(at: Points) -> NDArray[np.float64]:
    """Return what the light is a sum of, each at its prior deviation: a column of each."""
    x, y = at.T
    level = np.full((len(at), 1), _LEVEL)
    slope = _SLOPE * at
    bend = _BEND * np.stack([x**2, math.sqrt(2) * x * y, y**2], axis=1)
    apart = ((at[:, None, :] - _BUMPS[None, :, :]) ** 2).sum(axis=2)
    # Sums of such bumps have a squared exponential covariance of reach _REACH.
    rest = _REST * _BUMP_SHARE * np.exp(-apart / _REACH**2)
    return np.concatenate([level, slope, bend, rest], axis=1)


def _bumps() -> Points:
    along = np.arange(-_BUMPS_BEYOND, _BUMPS_BEYOND + 1) * _BUMP_STEP
    return np.stack(np.meshgrid(along, along), axis=-1).reshape(-1, 2)


_BUMP_STEP, _BUMPS_BEYOND = 0.6 * _REACH, 3  # by definition: they leave no gaps
_BUMPS = _bumps()
# By definition, so that their variances add up to one in the middle:
_BUMP_SHARE = float(np.exp(-2 * (_BUMPS**2).sum(axis=1) / _REACH**2).sum() ** -0.5)


def fit_light(samples: LightSamples, at: Points) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return ln of the light at places, and its standard deviation.

    Parameters
    ----------
    samples : LightSamples
        One at least.
    at : ndarray of float64, shape (N, 2)

    Returns
    -------
    tuple of ndarray of float64, each of shape (N,)
    """
    middle = float(np.average(samples.value, weights=samples.sd**-2))
    value, variance = samples.value - middle, samples.sd**2
    zones = np.unique(samples.group[samples.group > 0])
    own_level = _OFFSET * (samples.group[:, None] == zones[None, :])
    features = np.concatenate([_features(samples.at), own_level], axis=1)
    weight = 1 / variance
    for _ in range(_ROUNDS):
        weighted = features * weight[:, None]
        factor = cho_factor(weighted.T @ features + np.eye(features.shape[1]), lower=True)
        sums = cho_solve(factor, weighted.T @ value)
        residual = value - features @ sums
        weight = (_FREEDOM + 1) / (_FREEDOM * variance + residual**2)
    wanted = np.pad(_features(at), ((0, 0), (0, len(zones))))
    spread = (wanted * cho_solve(factor, wanted.T).T).sum(axis=1)
    return wanted @ sums + middle, np.sqrt(spread)


class Cells:
    """A raster divided into about square cells, with the mean of what lies in each.

    Parameters
    ----------
    shape : tuple of int
        Height and width of the raster.
    along : int
        Cells along its longer side.
    """

    def __init__(self, shape: tuple[int, int], along: int) -> None:
        side = max(shape) / along
        self.shape = shape
        self.count = (max(2, round(shape[0] / side)), max(2, round(shape[1] / side)))
        rows, columns = self.count
        x = (np.arange(columns) + 0.5) / columns * shape[1]
        y = (np.arange(rows) + 0.5) / rows * shape[0]
        grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
        self.at: Points = (grid - np.array(shape[::-1]) / 2) / (max(shape) / 2)

    def unit(self, xy: Points) -> Points:
        """Return places, pixels from the raster's corner, in the units of the samples."""
        return np.asarray((xy - np.array(self.shape[::-1]) / 2) / (max(self.shape) / 2))

    def means(
        self, values: NDArray[np.float32], mask: NDArray[np.bool_]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return the mean of values within a mask in each cell, and the share it takes."""
        within = mask.astype(np.float32)
        share = self._shrunk(within)
        mean = self._shrunk(values * within) / np.maximum(share, 1e-6)
        return mean.astype(np.float64), share.astype(np.float64)

    def _shrunk(self, values: NDArray[np.float32]) -> NDArray[np.float32]:
        small = cv2.resize(values, self.count[::-1], interpolation=cv2.INTER_AREA)
        return np.asarray(small, np.float32).ravel()

    def spread(self, values: NDArray[np.float64]) -> NDArray[np.float32]:
        """Return values of the cells as a smooth raster."""
        grid = values.reshape(self.count).astype(np.float32)
        rows, columns = self.count
        # A cell's value stands at its middle; the raster goes on past the outermost middles.
        x = (np.arange(self.shape[1]) + 0.5) / self.shape[1] * columns - 0.5
        y = (np.arange(self.shape[0]) + 0.5) / self.shape[0] * rows - 0.5
        return _bilinear(grid, x, y)


def _bilinear(
    grid: NDArray[np.float32], x: NDArray[np.float64], y: NDArray[np.float64]
) -> NDArray[np.float32]:
    """Interpolate a grid linearly, and beyond its edge as it goes on there."""
    for at in (y, x):  # down, then across
        first = np.clip(np.floor(at).astype(int), 0, len(grid) - 2)
        share = (at - first).astype(np.float32)[:, None]
        grid = (grid[first] * (1 - share) + grid[first + 1] * share).T
    return np.ascontiguousarray(grid)


def typical_spread(values: NDArray[np.float64]) -> float:
    """Return the standard deviation of values but for outliers, by their median distance."""
    if not len(values):
        return math.inf
    # 1.4826: of the normal distribution (by definition).
    return float(1.4826 * np.median(np.abs(values - np.median(values))))
