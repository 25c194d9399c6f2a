"""Curves that never turn: isotonic regression, and the monotone cubic through its points.

Short enough to be here instead of a library that would have to be installed for
them; the tests hold both to scipy's.
"""

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise


def never_rising(values: Sequence[float], weights: Sequence[float]) -> list[float]:
    """Return the closest values, by weighted least squares, that never rise.

    Pool adjacent violators (Ayer and others 1955): neighbours that rise are
    replaced by their mean until none do.

    Parameters
    ----------
    values, weights : sequence of float
        As many of each; weights above 0.

    Examples
    --------
    >>> never_rising([70, 55, 57, 30], [1, 1, 1, 1])
    [70.0, 56.0, 56.0, 30.0]
    """
    pools: list[tuple[float, float, int]] = []  # mean, weight, and how many values
    for value, weight in zip(values, weights, strict=True):
        mean, total, count = float(value), weight, 1
        while pools and pools[-1][0] < mean:
            before, its_total, its_count = pools.pop()
            mean = (before * its_total + mean * total) / (its_total + total)
            total, count = its_total + total, its_count + count
        pools.append((mean, total, count))
    return [mean for mean, _, count in pools for _ in range(count)]


class MonotoneCubic:
    """A smooth curve through points that is monotone wherever they are (PCHIP).

    Piecewise cubic, with the slopes of Fritsch and Butland (1984) and one-sided
    ones of three points at the ends (Moler, Numerical Computing with MATLAB,
    2004, section 3.6; from memory for the section).

    Parameters
    ----------
    x : sequence of float
        Rising; two at least.
    y : sequence of float
    """

    def __init__(self, x: Sequence[float], y: Sequence[float]) -> None:
        self.x, self.y = x, y
        widths = [after - before for before, after in pairwise(x)]
        rises = [
            (after - before) / h for (before, after), h in zip(pairwise(y), widths, strict=True)
        ]
        if len(widths) == 1:
            self.slopes = [rises[0], rises[0]]
            return
        inner = [
            _inner_slope(*two, *their)
            for two, their in zip(pairwise(widths), pairwise(rises), strict=True)
        ]
        first = _end_slope(*widths[:2], *rises[:2])
        last = _end_slope(*widths[:-3:-1], *rises[:-3:-1])
        self.slopes = [first, *inner, last]

    def __call__(self, at: float) -> float:
        """Return the curve's value at a place from the first to the last x."""
        k = min(max(bisect_right(self.x, at), 1), len(self.x) - 1) - 1
        width = self.x[k + 1] - self.x[k]
        t = (at - self.x[k]) / width
        # Cubic Hermite polynomials: of the values, and of the slopes.
        before = self.y[k] * (1 + 2 * t) + self.slopes[k] * width * t
        after = self.y[k + 1] * (3 - 2 * t) + self.slopes[k + 1] * width * (t - 1)
        return before * (1 - t) ** 2 + after * t**2

    def where(self, value: float, low: float, high: float) -> float:
        """Return where the curve has a value, between two places on either side of it."""
        rises = self(low) < self(high)
        for _ in range(60):  # halves to a float's own steps
            middle = (low + high) / 2
            if (self(middle) < value) == rises:
                low = middle
            else:
                high = middle
        return (low + high) / 2


def _inner_slope(h0: float, h1: float, m0: float, m1: float) -> float:
    """Return the slope between two pieces: a weighted harmonic mean, 0 where they turn."""
    if m0 * m1 <= 0:
        return 0.0
    w0, w1 = 2 * h1 + h0, h1 + 2 * h0
    return (w0 + w1) / (w0 / m0 + w1 / m1)


def _end_slope(h0: float, h1: float, m0: float, m1: float) -> float:
    """Return the slope at an end, from the pieces next to it and beyond."""
    slope = ((2 * h0 + h1) * m0 - h0 * m1) / (h0 + h1)
    if slope * m0 <= 0:
        return 0.0
    return 3 * m0 if m0 * m1 <= 0 and abs(slope) > 3 * abs(m0) else slope
