"""Islands too small for a pen join the touching zone that is nearest to them in lightness."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from burnplan.tone.islands import Islands, islands_of, united


def without_small_islands(
    labels: NDArray[np.uint8],
    lightness: NDArray[np.float32],
    count: int,
    min_px: int,
    areas: Callable[[Islands], NDArray[np.int64]],
) -> NDArray[np.uint8]:
    """Merge every 4-connected island below min_px into a touching zone, smallest first.

    Of the zones that touch an island it joins the one whose mean lightness is
    nearest to its own: the change that adds least to the variance within zones;
    among equals the one with the longest shared border. What joins may unite
    several parts of that zone. Islands that touch nothing stay. ``areas`` says how large
    each island counts.
    """
    islands = islands_of(labels)
    zone, area = islands.label, areas(islands)
    small = (area < min_px) & (zone > 0)
    if not small.any():
        return labels
    pixels, light = islands.pixels(), islands.sums(lightness)
    mean = _sums(zone, light, count + 1) / np.maximum(_sums(zone, pixels, count + 1), 1)
    merging = _Merging(zone.copy(), pixels, area, light, *_borders(islands, small))
    return islands.painted(merging.merged(mean, min_px).astype(np.uint8))


def _sums(
    number: NDArray[np.integer], values: NDArray[np.number], count: int = 0
) -> NDArray[np.float64]:
    """Sum of the values that have each number."""
    return np.bincount(number, weights=values, minlength=count).astype(np.float64, copy=False)


def _borders(
    islands: Islands, small: NDArray[np.bool_]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of touching islands of which one is small, and the pixel sides they share."""
    one, other, shared = islands.sides()
    wanted = small[one] | small[other]
    return _pairs(one[wanted], other[wanted], shared[wanted], len(small))


def _pairs(
    one: NDArray[np.int64], other: NDArray[np.int64], shared: NDArray[np.int64], count: int
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of numbers below a count, each once with the lower first, and the sums they share."""
    codes = np.minimum(one, other) * count + np.maximum(one, other)
    codes, at = np.unique(codes, return_inverse=True)
    return codes // count, codes % count, _sums(at, shared, len(codes)).astype(np.int64)


@dataclass(slots=True)
class _Merging:
    """Islands and which of them touch, while small ones join others.

    ``one`` and ``other`` are pairs of which at least one is small, ``shared``
    their common border.
    """

    zone: NDArray[np.int64]
    pixels: NDArray[np.int64]
    area: NDArray[np.int64]  # as it counts: a focal pixel counts several times
    light: NDArray[np.float64]  # sum over pixels
    one: NDArray[np.int64]
    other: NDArray[np.int64]
    shared: NDArray[np.int64]

    def merged(self, zone_mean: NDArray[np.float64], min_px: int) -> NDArray[np.int64]:
        """Return the zone of each island once no small one with a neighbour is left.

        An island's zone changes only when it joins another, and it joins after
        all smaller ones. So every island that is the smallest among those it
        touches can join at once, which gives what one at a time would.
        """
        home = np.arange(len(self.zone))
        while len(self.one):
            joining, chosen = self._next(zone_mean, min_px)
            group = self._groups(joining, chosen)
            self.zone[joining] = chosen[joining]
            self._unite(group, min_px)
            home = group[home]
        return self.zone[home]

    def _next(
        self, zone_mean: NDArray[np.float64], min_px: int
    ) -> tuple[NDArray[np.intp], NDArray[np.int64]]:
        """Islands that join now, and for them the zone that each joins."""
        count = len(self.zone)
        rank = np.empty(count, np.int64)
        rank[np.lexsort((np.arange(count), self.area))] = np.arange(count)
        lowest = np.full(count, count)
        np.minimum.at(lowest, self.one, rank[self.other])
        np.minimum.at(lowest, self.other, rank[self.one])
        joins = (self.area < min_px) & (rank < lowest) & (lowest < count)
        joining = np.flatnonzero(joins)

        place = np.zeros(count, np.int64)
        place[joining] = np.arange(len(joining))
        zones = len(zone_mean)
        border = np.zeros((len(joining), zones))
        for a, b in ((self.one, self.other), (self.other, self.one)):
            counts = joins[a]
            cell = place[a[counts]] * zones + self.zone[b[counts]]
            border += _sums(cell, self.shared[counts], border.size).reshape(border.shape)
        off = np.abs((self.light[joining] / self.pixels[joining])[:, None] - zone_mean)
        off[border == 0] = np.inf
        nearest = off == off.min(axis=1, keepdims=True)
        chosen = np.zeros(count, np.int64)
        chosen[joining] = np.argmax(np.where(nearest, border, 0), axis=1)
        return joining, chosen

    def _groups(self, joining: NDArray[np.intp], chosen: NDArray[np.int64]) -> NDArray[np.int64]:
        """Give islands new numbers, those that unite the same one."""
        count = len(self.zone)
        joins = np.zeros(count, np.bool_)
        joins[joining] = True
        unite = (joins[self.one] & (chosen[self.one] == self.zone[self.other])) | (
            joins[self.other] & (chosen[self.other] == self.zone[self.one])
        )
        return united(count, self.one[unite], self.other[unite])

    def _unite(self, group: NDArray[np.int64], min_px: int) -> None:
        """Make one island of each group."""
        zone = np.zeros(int(group.max()) + 1, np.int64)
        zone[group] = self.zone
        self.zone = zone
        self.pixels = _sums(group, self.pixels).astype(np.int64)
        self.area = _sums(group, self.area).astype(np.int64)
        self.light = _sums(group, self.light)
        one, other = group[self.one], group[self.other]
        apart = (one != other) & ((self.area[one] < min_px) | (self.area[other] < min_px))
        self.one, self.other, self.shared = _pairs(
            one[apart], other[apart], self.shared[apart], len(zone)
        )
