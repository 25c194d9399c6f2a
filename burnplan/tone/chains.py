"""Chains of points, many at once: stretches, hysteresis, resampling and smoothing along them.

All chains of a drawing lie end to end in one array, so that what is done along
each of them is done for all in a few calls.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, eq=False)
class Chains:
    """Chains of points end to end.

    Parameters
    ----------
    xy : ndarray of float64, shape (K, 2)
    starts : ndarray of intp, shape (N + 1,)
        First row of each chain, and the number of rows; no chain is empty.
    closed : ndarray of bool, shape (N,)
        Whether the last point of a chain goes on to its first, which it does not repeat.
    """

    xy: NDArray[np.float64]
    starts: NDArray[np.intp]
    closed: NDArray[np.bool_]

    @classmethod
    def none(cls) -> "Chains":
        """Return no chains."""
        return cls(np.zeros((0, 2)), np.zeros(1, np.intp), np.zeros(0, np.bool_))

    @classmethod
    def of(cls, parts: Iterable[tuple[NDArray[np.float64], bool]]) -> "Chains":
        """Return chains of points given one by one, each with whether it is closed."""
        points, closed = [], []
        for xy, ring in parts:
            points.append(xy)
            closed.append(ring)
        starts = np.cumsum([0, *map(len, points)]).astype(np.intp)
        xy = np.concatenate(points) if points else np.zeros((0, 2))
        return cls(xy, starts, np.array(closed, np.bool_))

    @classmethod
    def around(cls, mask: NDArray[np.uint8]) -> "Chains":
        """Return the pixels of a mask along its borders, holes too, as column and row."""
        rings = cv2.findContours(mask, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)[0]
        return cls.of((ring[:, 0].astype(np.float64), True) for ring in rings)

    @property
    def count(self) -> int:
        """Number of chains."""
        return len(self.closed)

    @property
    def sizes(self) -> NDArray[np.intp]:
        """Number of points of each chain."""
        return np.diff(self.starts)

    @property
    def number(self) -> NDArray[np.intp]:
        """Number of the chain that each point belongs to."""
        return np.repeat(np.arange(self.count), self.sizes)

    def part(self, chain: int) -> NDArray[np.float64]:
        """Return the points of one chain."""
        return self.xy[self.starts[chain] : self.starts[chain + 1]]

    def neighbours(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Return the rows before and after each row; ends of open chains have themselves."""
        rows = np.arange(len(self.xy))
        before, after = rows - 1, rows + 1
        first, last = self.starts[:-1], self.starts[1:] - 1
        before[first] = np.where(self.closed, last, first)
        after[last] = np.where(self.closed, first, last)
        return before, after

    def side_lengths(self) -> NDArray[np.float64]:
        """Return the distance from each point to the next; 0 at the end of an open chain."""
        _before, after = self.neighbours()
        return np.asarray(np.hypot(*(self.xy[after] - self.xy).T), np.float64)

    def lengths(self) -> NDArray[np.float64]:
        """Return the length of each chain."""
        return self.totals(self.side_lengths())

    def totals(self, values: NDArray[np.floating] | NDArray[np.bool_]) -> NDArray[np.float64]:
        """Return the sum over each chain of values given for each point."""
        if not self.count:
            return np.zeros(0)
        return np.add.reduceat(values, self.starts[:-1], dtype=np.float64)

    def means(self, values: NDArray[np.floating] | NDArray[np.bool_]) -> NDArray[np.float64]:
        """Return the mean over each chain of values given for each point."""
        return self.totals(values) / self.sizes

    def normals(self) -> NDArray[np.float64]:
        """Return the direction across each chain at each point, to the right of its run.

        The raster's y runs down, so that right is as a reader sees it.
        """
        before, after = self.neighbours()
        along = self.xy[after] - self.xy[before]
        length = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)
        return np.stack([-along[:, 1], along[:, 0]], axis=1) / length[:, None]

    def runs(self, values: NDArray[np.generic]) -> "Runs":
        """Return the stretches of equal value along chains, which end with them."""
        before, _after = self.neighbours()
        sizes = self.sizes
        first = self.starts[:-1]
        # A closed chain is read from a change on, so that no stretch runs over its seam.
        rows = np.arange(len(self.xy))
        change = np.where(values != values[before], rows, len(rows))
        change_of = np.minimum.reduceat(change, first) if len(first) else change
        shift = np.where(self.closed & (change_of < len(rows)), change_of - first, 0)
        along = rows - np.repeat(first, sizes) + np.repeat(shift, sizes)
        order = np.repeat(first, sizes) + along % np.repeat(np.maximum(sizes, 1), sizes)
        new = values[order] != values[np.roll(order, 1)]
        new[first] = True
        starts = np.append(np.flatnonzero(new), len(rows))
        chain = np.searchsorted(self.starts, starts[:-1], side="right") - 1
        return Runs(order, starts, chain)

    def hysteresis(
        self, values: NDArray[np.floating], limits: tuple[float, float]
    ) -> NDArray[np.bool_]:
        """Return the points in stretches above the lower limit that pass the upper somewhere.

        J. Canny, IEEE TPAMI 8(6), 1986.
        """
        if not len(values):
            return np.zeros(0, np.bool_)
        run = self.runs(values >= limits[0]).number
        passes = np.zeros(int(run.max()) + 1, np.bool_)
        passes[run[values >= limits[1]]] = True
        return passes[run] & (values >= limits[0])

    def stretches(self, wanted: NDArray[np.bool_]) -> tuple["Chains", NDArray[np.intp]]:
        """Return the stretches of wanted points as chains, and the row each point comes from.

        A closed chain that is wanted all round stays closed.
        """
        runs = self.runs(wanted)
        sizes = np.diff(runs.starts)
        mine = wanted[runs.first] if len(runs.chain) else np.zeros(0, np.bool_)
        rows = runs.order[np.repeat(mine, sizes)]
        ring = self.closed[runs.chain] & (sizes == self.sizes[runs.chain])
        starts = np.concatenate([[0], np.cumsum(sizes[mine])]).astype(np.intp)
        return Chains(self.xy[rows], starts, ring[mine]), rows

    def chosen(self, chains: NDArray[np.intp]) -> tuple["Chains", NDArray[np.intp]]:
        """Return some chains by number, in the order given, and the row each point comes from."""
        sizes = self.sizes[chains]
        starts = np.concatenate([[0], np.cumsum(sizes)]).astype(np.intp)
        rows = np.arange(int(starts[-1])) + np.repeat(self.starts[:-1][chains] - starts[:-1], sizes)
        return Chains(self.xy[rows], starts, self.closed[chains]), rows

    def longer(self, least: float) -> "Chains":
        """Return the chains of at least a length."""
        return self.chosen(np.flatnonzero(self.lengths() >= least))[0]

    def followed_by(self, others: "Chains") -> "Chains":
        """Return these chains, then others."""
        return Chains(
            np.concatenate([self.xy, others.xy]),
            np.concatenate([self.starts, others.starts[1:] + len(self.xy)]),
            np.concatenate([self.closed, others.closed]),
        )

    def resampled(self, step: float) -> "Chains":
        """Return the chains with points about a step apart; the ends of open ones stay."""
        if not self.count:
            return self
        lengths = self.lengths()
        sides = np.maximum(1, np.rint(lengths / step)).astype(np.intp)
        sides = np.where(self.closed, np.maximum(sides, 3), sides)
        # Along one ruler on which chains follow each other, a closed one with its way home.
        turn = np.where(self.closed, 1, 0)
        rows = np.insert(np.arange(len(self.xy)), self.starts[1:][self.closed], 0)
        starts = self.starts + np.concatenate([[0], np.cumsum(turn)])
        rows[starts[1:][self.closed] - 1] = self.starts[:-1][self.closed]
        points = self.xy[rows]
        along = np.zeros(len(points))
        along[1:] = np.hypot(*np.diff(points, axis=0).T)
        along[starts[1:-1]] = 1.0  # between chains
        along = np.cumsum(along)
        sizes = np.where(self.closed, sides, sides + 1)
        new = np.concatenate([[0], np.cumsum(sizes)]).astype(np.intp)
        place = np.arange(int(new[-1])) - np.repeat(new[:-1], sizes)
        at = np.repeat(along[starts[:-1]], sizes) + place * np.repeat(lengths / sides, sizes)
        # Rounding must not carry the last point of a chain over to the next one.
        np.minimum(at, np.repeat(along[starts[1:] - 1], sizes), out=at)
        xy = np.stack([np.interp(at, along, points[:, axis]) for axis in (0, 1)], axis=1)
        return Chains(xy, new, self.closed)

    def blurred(
        self,
        passes: int,
        values: NDArray[np.float64] | None = None,
        pinned: NDArray[np.bool_] | None = None,
    ) -> NDArray[np.float64]:
        """Return points, or other values given for each, blurred along chains.

        Passes of the kernel (1, 2, 1)/4, each of variance 1/2 point². The ends
        of open chains stay, and what is pinned.
        """
        result = np.array(self.xy if values is None else values, np.float64)
        before, after = self.neighbours()
        ends = np.concatenate([self.starts[:-1], self.starts[1:] - 1])
        still = ends[~np.tile(self.closed, 2)]
        if pinned is not None:
            still = np.union1d(still, np.flatnonzero(pinned))
        kept = result[still]
        for _ in range(passes):
            # Whole shifts are many times faster than picking rows; only the ends
            # of chains, which they join wrongly, are then set right.
            total = 2 * result
            total[1:] += result[:-1]
            total[:-1] += result[1:]
            total[ends] = 2 * result[ends] + result[before[ends]] + result[after[ends]]
            total /= 4
            total[still] = kept
            result = total
        return result


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """Stretches of chains: the rows in the order they are read, and where each stretch starts.

    Parameters
    ----------
    order : ndarray of intp, shape (K,)
    starts : ndarray of intp, shape (R + 1,)
        Place in the order of each stretch's first, and the number of rows.
    chain : ndarray of intp, shape (R,)
        Chain of each stretch.
    """

    order: NDArray[np.intp]
    starts: NDArray[np.intp]
    chain: NDArray[np.intp]

    @property
    def first(self) -> NDArray[np.intp]:
        """Row that each stretch starts with."""
        return self.order[self.starts[:-1]]

    @property
    def last(self) -> NDArray[np.intp]:
        """Row that each stretch ends with."""
        return self.order[self.starts[1:] - 1]

    @property
    def number(self) -> NDArray[np.intp]:
        """Number of each row's stretch."""
        result = np.empty(len(self.order), np.intp)
        result[self.order] = np.repeat(np.arange(len(self.chain)), np.diff(self.starts))
        return result
