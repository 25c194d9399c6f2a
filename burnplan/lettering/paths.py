"""Paths that lettering runs on, by their length, with what lies beside them."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from burnplan.outline import Outline, OutlineKind
from burnplan.tone.region import area_of, inset

_EVERY_MM = 0.25  # points of a path; a guess: about as fine as a pencil line
# How far a live edge is evened out, in heights of a capital; a guess: no letter follows a bump
# smaller than itself.
_STEADY = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """A path from left to right; 0 is the middle of what is laid on it.

    Parameters
    ----------
    xy : ndarray of float64, shape (K, 2)
        mm, y down.
    along : ndarray of float64, shape (K,)
        How far along the path each point lies, mm.
    closed : bool
        Whether it goes on from its end at its beginning.
    """

    xy: NDArray[np.float64]
    along: NDArray[np.float64]
    closed: bool

    @classmethod
    def arc(cls, radius_mm: float, up_mm: float, *, hangs: bool) -> "Path":
        """Return a circle whose lowest point (or highest) is the origin's.

        Parameters
        ----------
        radius_mm : float
            Of the baseline.
        up_mm : float
            From the baseline to the path, towards the tops of letters.
        hangs : bool
            Whether its middle lies above, and not below.
        """
        inner = radius_mm - up_mm if hangs else radius_mm + up_mm
        turn = np.linspace(-math.pi, math.pi, max(720, math.ceil(math.tau * inner / _EVERY_MM)))
        x, rise = inner * np.sin(turn), radius_mm - inner * np.cos(turn)
        return cls(np.stack([x, -rise if hangs else rise], axis=1), turn * inner, False)

    @property
    def length(self) -> float:
        """Its length, mm."""
        return float(self.along[-1] - self.along[0])

    def at(
        self, along: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Return points at places along it, with the ways ahead and up, each of shape (N, 2)."""
        if self.closed:
            along = (along - self.along[0]) % self.length + self.along[0]
        ahead = np.gradient(self.xy, self.along, axis=0)
        if self.closed:  # the last point is the first
            ahead[[0, -1]] = (ahead[0] + ahead[-1]) / 2
        point, way = (
            np.stack([np.interp(along, self.along, of[:, axis]) for axis in (0, 1)], axis=1)
            for of in (self.xy, ahead)
        )
        way /= np.maximum(np.hypot(*way.T), 1e-9)[:, None]
        return point, way, np.stack([way[:, 1], -way[:, 0]], axis=1)

    def bent(
        self, points: NDArray[np.float64], *, start: float, middle: float
    ) -> NDArray[np.float64]:
        """Return points of a line that begins at ``start``, each where its own place is."""
        at, _ahead, up = self.at(points[:, 0] + start)
        return at + up * (points[:, 1] - middle)[:, None]

    def turned(
        self, points: NDArray[np.float64], *, about: float, start: float, middle: float
    ) -> NDArray[np.float64]:
        """Return points of a letter, turned as a whole about a place on its line."""
        at, ahead, up = self.at(np.array([about + start]))
        return at + ahead * (points[:, :1] - about) + up * (points[:, 1:] - middle)

    def sharpest(self, width_mm: float, over_mm: float) -> float:
        """Return the most that it turns within a length, radians, where a line lies."""
        places = np.arange(-width_mm / 2, width_mm / 2 + over_mm, over_mm / 4)
        _at, ahead, _up = self.at(places)
        heading = np.unwrap(np.arctan2(ahead[:, 1], ahead[:, 0]))
        if len(heading) < 5:
            return 0.0
        return float(np.abs(heading[4:] - heading[:-4]).max())


def along_edge(outline: Outline, inward_mm: float, height_mm: float, *, bottom: bool) -> Path:
    """Return the path a distance inside an outline, from its lowest (or highest) middle.

    Parameters
    ----------
    outline : Outline
    inward_mm : float
    height_mm : float
        Of a capital: a live edge is evened out over about that much.
    bottom : bool

    Raises
    ------
    BadInput
        If the distance leaves nothing of the outline.
    """
    ring = max(inset(outline, inward_mm), key=lambda one: abs(area_of(one)))
    around = np.vstack([ring, ring[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(around, axis=0).T))])
    count = max(8, round(along[-1] / _EVERY_MM))
    places = np.arange(count) * along[-1] / count
    xy = np.stack([np.interp(places, along, around[:, axis]) for axis in (0, 1)], axis=1)
    if outline.kind is OutlineKind.LIVE_EDGE:
        xy = _evened(xy, _STEADY * height_mm / (along[-1] / count))
    # From left to right where it begins: clockwise (y down) along the top.
    clockwise = area_of(xy) > 0
    if clockwise is bottom:
        xy = xy[::-1]
    column = xy[:, 0] - outline.width_mm / 2
    crossing = np.flatnonzero((column <= 0) & (np.roll(column, -1) > 0))
    pick = np.argmax if bottom else np.argmin
    first = int(crossing[int(pick(xy[crossing, 1]))])
    xy = np.roll(xy, -first, axis=0)
    share = -xy[0, 0] + outline.width_mm / 2
    xy = np.vstack([xy, xy[:1]])
    step = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))])
    return Path(xy, step - share, True)


def _evened(xy: NDArray[np.float64], spread: float) -> NDArray[np.float64]:
    """Return a ring smoothed along itself, by a Gaussian of so many points."""
    wave = np.fft.rfftfreq(len(xy))
    fade = np.exp(-2 * (math.pi * wave * spread) ** 2)
    return np.asarray(np.fft.irfft(np.fft.rfft(xy, axis=0) * fade[:, None], len(xy), axis=0))
