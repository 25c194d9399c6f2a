"""Islands: connected parts of one label, found on runs of pixels.

A run is a stretch of one label in a row. A photo's zones have far fewer runs
than pixels, so islands, their borders and what is counted on them cost a small
part of what they would pixel by pixel. Noise in every pixel has as many runs as
pixels, and takes several times as long.
"""

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Value = TypeVar("Value", bound=np.generic)


@dataclass(frozen=True, slots=True, eq=False)
class Islands:
    """The islands of a raster of labels.

    Number 0 is all that is labelled 0; the islands are 1, 2, ... by label, and
    those of one label from the top down.

    Parameters
    ----------
    label : ndarray of int64, shape (number of islands + 1,)
        Label of each island; 0 for number 0.
    """

    label: NDArray[np.int64]
    _shape: tuple[int, int]
    _starts: NDArray[np.int64]  # place of each run's first pixel, row by row
    _of_run: NDArray[np.int64]  # island of each run
    # Two rows are compared in pieces, cut wherever a run begins in one of them.
    _cuts: NDArray[np.int64]  # place of each piece's first pixel in the row below
    _above: NDArray[np.int64]  # run of each piece in the row above
    _below: NDArray[np.int64]

    @property
    def count(self) -> int:
        """Number of islands, with number 0."""
        return len(self.label)

    def pixels(self) -> NDArray[np.int64]:
        """Return how many pixels each island has."""
        pixels = np.bincount(self._of_run, weights=self._lengths(), minlength=self.count)
        return pixels.astype(np.int64)

    def sums(self, values: NDArray[np.generic]) -> NDArray[np.float64]:
        """Return the sum of values (H, W) over each island's pixels."""
        of_run = np.add.reduceat(values.ravel(), self._starts, dtype=np.float64)
        sums = np.bincount(self._of_run, weights=of_run, minlength=self.count)
        return sums.astype(np.float64, copy=False)

    def painted(self, values: NDArray[Value]) -> NDArray[Value]:
        """Return a raster (H, W) of one value for each island."""
        return np.repeat(values[self._of_run], self._lengths()).reshape(self._shape)

    def sides(self) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
        """Return two islands that touch, and how many pixel sides they share there.

        A pair may come several times, in either order. Number 0 touches none.
        """
        beside = np.flatnonzero(self._starts % self._shape[1])
        one = np.concatenate([self._of_run[beside - 1], self._of_run[self._above]])
        other = np.concatenate([self._of_run[beside], self._of_run[self._below]])
        down = np.diff(self._cuts, append=self._shape[0] * self._shape[1])
        shared = np.concatenate([np.ones(len(beside), np.int64), down])
        touch = (one != other) & (one > 0) & (other > 0)
        return one[touch], other[touch], shared[touch]

    def _lengths(self) -> NDArray[np.int64]:
        return np.diff(self._starts, append=self._shape[0] * self._shape[1])


def islands_of(labels: NDArray[np.uint8], *, across_corners: bool = False) -> Islands:
    """Find the islands of all labels but 0.

    Parameters
    ----------
    labels : ndarray of uint8, shape (H, W)
    across_corners : bool, optional
        Whether an island holds together where pixels only meet at a corner:
        8-connected instead of 4-connected.

    Returns
    -------
    Islands

    Examples
    --------
    >>> islands = islands_of(np.array([[1, 1, 2], [2, 1, 2]], np.uint8))
    >>> islands.painted(np.arange(islands.count)).tolist()
    [[1, 1, 2], [3, 1, 2]]
    >>> islands.pixels().tolist()
    [0, 3, 2, 1]
    """
    width = labels.shape[1]
    flat = labels.ravel()
    begins = np.empty(flat.size, np.bool_)  # whether a run begins at the pixel
    np.not_equal(flat[1:], flat[:-1], out=begins[1:])
    begins[::width] = True
    starts = np.flatnonzero(begins)
    cuts = np.flatnonzero(begins[width:] | begins[:-width]) + width
    above = np.cumsum(begins[cuts - width]) - 1
    below = np.cumsum(begins[cuts]) - 1 + np.count_nonzero(begins[:width])

    one, other = above, below
    if across_corners:
        beside = np.flatnonzero(cuts % width)
        one = np.concatenate([one, above[beside - 1], above[beside]])
        other = np.concatenate([other, below[beside], below[beside - 1]])
    label = flat[starts]
    of_one = label[one]
    hold = (of_one == label[other]) & (of_one > 0)
    part = united(len(starts), one[hold], other[hold])

    # Parts come from the top down; number 0 takes all that are labelled 0.
    label_of_part = np.zeros(int(part.max()) + 1, np.uint8)
    label_of_part[part] = label
    order = np.argsort(label_of_part, kind="stable")
    order = order[np.count_nonzero(label_of_part == 0) :]
    number = np.zeros(len(label_of_part), np.int64)
    number[order] = np.arange(1, len(order) + 1)
    return Islands(
        label=np.concatenate([[0], label_of_part[order]]),
        _shape=labels.shape,
        _starts=starts,
        _of_run=number[part],
        _cuts=cuts,
        _above=above,
        _below=below,
    )


def united(count: int, one: NDArray[np.int64], other: NDArray[np.int64]) -> NDArray[np.int64]:
    """Give each of some things the number of the group that pairs unite it into.

    Parameters
    ----------
    count : int
        Number of things.
    one, other : ndarray of int64, shape (K,)
        Pairs that belong together.

    Returns
    -------
    ndarray of int64, shape (count,)
        Groups are 0, 1, ... in the order of their first member.

    Examples
    --------
    >>> united(5, np.array([1, 4]), np.array([3, 1])).tolist()
    [0, 1, 2, 1, 1]
    """
    first = np.arange(count)  # a lower member of the group, the lowest in the end
    while len(one):
        np.minimum.at(first, np.maximum(one, other), np.minimum(one, other))
        while True:
            lower = first[first]
            if np.array_equal(lower, first):
                break
            first = lower
        one, other = first[one], first[other]
        apart = one != other
        one, other = one[apart], other[apart]
    return (np.cumsum(first == np.arange(count)) - 1)[first]
