"""Settling: whether a blank has settled in its air, and when it will have.

Moisture content is per cent of the oven-dry weight, as meters show it; where wood
settles is :func:`burnplan.wood.moisture.emc`. numpy is imported where days are
reckoned.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from statistics import NormalDist
from typing import TYPE_CHECKING

from burnplan.errors import BadInput
from burnplan.wood.moisture import FIBRE_SATURATION, WETTEST

if TYPE_CHECKING:
    from burnplan.reckon.regression import Array

# Wood Handbook ch. 13: what a meter measures reliably.
_METER_FROM, _METER_TO = 4.0, 30.0


@dataclass(frozen=True, slots=True)
class MeterReading:
    """A moisture reading.

    Parameters
    ----------
    at : datetime
        With its time zone.
    moisture : float
        Per cent, from 0 to 200 (green wood holds more water than wood).

    Raises
    ------
    BadInput
        If the moisture is outside that, or the time has no zone.
    """

    at: datetime
    moisture: float

    def __post_init__(self) -> None:
        if not 0 <= self.moisture <= WETTEST:
            raise BadInput(
                f"{self.moisture:g} % is not a moisture content", "Meters show about 4 to 30 %"
            )
        if self.at.tzinfo is None:
            raise BadInput("A reading's time needs its time zone", "Give it in UTC")


class Verdict(StrEnum):
    """Whether a blank can be worked on."""

    GO = "go"
    WAIT = "wait"


class Unknown(StrEnum):
    """Why no days left can be told."""

    TOO_FEW = "not enough readings: take three or more, over some days, in the same place"
    TOO_WET = "above fibre saturation: free water dries off first, at its own pace"
    NOT_SETTLING = "the readings do not come nearer to what the air asks for"
    LEVELLED = "the readings have levelled off elsewhere: check the meter and the hygrometer"


@dataclass(frozen=True, slots=True)
class DaysLeft:
    """Days until a blank has settled: four in five times between low and high.

    All three can be nought where only a meter's scatter still holds the blank back.
    """

    low: float
    likely: float
    high: float


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do with a blank, for its moisture.

    Parameters
    ----------
    verdict : Verdict
    moisture : float
        The last reading, %.
    shop, home : float
        Where it settles in the shop and at the client's home, %; home None if not known.
    left : DaysLeft or None
        Only when waiting, and if the readings tell.
    unknown : Unknown or None
        Why they do not.
    notes : tuple of str
        What to mind besides.
    """

    verdict: Verdict
    moisture: float
    shop: float
    home: float | None
    left: DaysLeft | None
    unknown: Unknown | None
    notes: tuple[str, ...]

    @property
    def gap(self) -> float:
        """How much wetter the wood is than the shop asks for, %; negative if drier."""
        return self.moisture - self.shop


# Common practice, no source: a blank within a per cent of the shop's EMC is left alone;
# two per cent between shop and home show as movement; after two weeks a reading is stale.
TOLERANCE = 1.0
_HOME_DIFFERS = 2.0  # common practice, no source
_STALE_DAYS = 14.0  # common practice, no source
# Common practice, no source: a meter repeats to about half a per cent, and the EMC of
# a room is known to about one (its air changes, species and meters differ).
_NOISE = 0.5
_EMC_SPREAD = 1.0  # common practice, no source
# Of what wood is wetter than its shop, %, at first; a guess: green wood comes seldom.
_FARTHEST = 15.0
_SHAPE, _SCALE = 2.0, 0.3  # a guess: a prior worth four readings
# A board's time to come most of the way, before its readings speak: some ten days, within
# a factor of e two times in three (common practice, no source).
_USUAL_DAYS, _USUAL_SPREAD = 10.0, 1.0
# As many as the unknowns of a curve: where it begins, ends, and how fast it goes (own derivation);
# over less than a day the air of the day is what shows (a guess: no source).
_FEWEST_READINGS, _SHORTEST_DAYS = 3, 1.0
_LONGEST_DAYS = 120.0  # a guess: longer than a season, and the shop's air is another
_SECONDS_A_DAY = 86400.0  # by definition


def advise(
    readings: Iterable[MeterReading],
    shop: float,
    now: datetime,
    *,
    home: float | None = None,
    tolerance: float = TOLERANCE,
) -> Advice:
    """Say whether to wait for a blank or go, by its moisture.

    It goes when the last reading is within the tolerance of the shop's equilibrium,
    from either side: wood too dry takes moisture up and moves as well.

    Parameters
    ----------
    readings : iterable of MeterReading
        In any order, taken since the blank came to where it lies now.
    shop : float
        Equilibrium moisture content there, %.
    now : datetime
        With its time zone.
    home : float, optional
        The same where the piece will live.
    tolerance : float
        Per cent moisture.

    Raises
    ------
    BadInput
        If there is no reading.

    Examples
    --------
    >>> from datetime import UTC, timedelta
    >>> start = datetime(2027, 3, 1, tzinfo=UTC)
    >>> dried = [MeterReading(start + timedelta(days=d), m) for d, m in
    ...          ((0, 14.0), (3, 12.2), (6, 11.1), (9, 10.2))]
    >>> advice = advise(dried, 8.0, start + timedelta(days=9))
    >>> advice.verdict, round(advice.left.likely)
    (<Verdict.WAIT: 'wait'>, 7)
    """
    taken = sorted(readings, key=lambda reading: reading.at)
    if not taken:
        raise BadInput("This blank has no moisture reading", "Take one first")
    last = taken[-1]
    age = (now - last.at).total_seconds() / _SECONDS_A_DAY
    left: DaysLeft | Unknown | None = None
    verdict = Verdict.GO
    if abs(last.moisture - shop) > tolerance:
        verdict = Verdict.WAIT
        left = days_left(taken, shop, now, tolerance=tolerance)
    return Advice(
        verdict,
        last.moisture,
        shop,
        home,
        left if isinstance(left, DaysLeft) else None,
        left if isinstance(left, Unknown) else None,
        tuple(_notes(last.moisture, shop, home, age)),
    )


def _notes(moisture: float, shop: float, home: float | None, age: float) -> Iterable[str]:
    if not _METER_FROM <= moisture <= _METER_TO:
        yield "Meters read reliably between 4 and 30 % only (Wood Handbook ch. 13)"
    if age > _STALE_DAYS:
        yield f"The last reading is {age:.0f} days old: take another"
    if home is not None and abs(home - shop) > _HOME_DIFFERS:
        moves = "shrink" if home < shop else "swell"
        yield f"At the client's home it settles near {home:.1f} %, so it will {moves} there"


def days_left(
    readings: Sequence[MeterReading],
    shop: float,
    now: datetime,
    *,
    tolerance: float = TOLERANCE,
) -> DaysLeft | Unknown:
    """Estimate the days until a blank has settled, from how its readings approach the EMC.

    The readings are taken to approach a level near the shop's EMC exponentially. For each
    pace of a fine grid, level and distance follow in closed form (conjugate regression,
    Normal-Inverse-Gamma), as does how well that pace explains the readings; the days left
    are averaged over all paces by that. So few or scattered readings give a wide answer.

    Parameters
    ----------
    readings : sequence of MeterReading
        In order of time, in one place. Those above fibre saturation are left out.
    shop : float
        Equilibrium moisture content, %.
    now : datetime
    tolerance : float
        Settled is this near, %.

    Returns
    -------
    DaysLeft or Unknown
    """
    if readings[-1].moisture >= FIBRE_SATURATION:
        return Unknown.TOO_WET
    usable = [reading for reading in readings if reading.moisture < FIBRE_SATURATION]
    start = usable[0].at
    days = [(reading.at - start).total_seconds() / _SECONDS_A_DAY for reading in usable]
    if len(usable) < _FEWEST_READINGS or days[-1] < _SHORTEST_DAYS:
        return Unknown.TOO_FEW
    gaps = [reading.moisture - shop for reading in usable]
    if abs(gaps[-1]) > abs(gaps[0]) + _NOISE:
        return Unknown.NOT_SETTLING
    today = (now - start).total_seconds() / _SECONDS_A_DAY
    low, likely, high = _settling_days(days, gaps, today, tolerance)
    if likely > _LONGEST_DAYS:
        return Unknown.NOT_SETTLING
    if likely == 0 and abs(gaps[-1]) > tolerance + 2 * _NOISE:
        return Unknown.LEVELLED
    return DaysLeft(low, likely, high)


def _settling_days(
    days: Sequence[float], gaps: Sequence[float], today: float, tolerance: float
) -> tuple[float, float, float]:
    """Return the 10th, 50th and 90th percentile of the days until settled."""
    import numpy as np

    steps = np.arange(-30, 31) / 10  # three spreads of the usual pace either way
    paces = _USUAL_DAYS * np.exp(_USUAL_SPREAD * steps)
    distance, spread, evidence = _fits(days, gaps, paces)
    evidence -= steps**2 / 2
    nodes = np.array([NormalDist().inv_cdf((2 * i + 1) / 18) for i in range(9)])
    gap = np.abs(distance[:, None] + spread[:, None] * nodes)
    still = gap * np.exp(-today / paces)[:, None] / tolerance
    left = (paces[:, None] * np.log(np.maximum(still, 1.0))).ravel()
    order = np.argsort(left, kind="stable")
    running = np.cumsum(np.repeat(np.exp(evidence - evidence.max()), len(nodes))[order])
    # The running sum can fall short of the total by rounding.
    at = np.searchsorted(running, np.array([0.1, 0.5, 0.9]) * running[-1])
    low, likely, high = left[order][at]
    return float(low), float(likely), float(high)


def _fits(
    days: Sequence[float], gaps: Sequence[float], paces: "Array"
) -> "tuple[Array, Array, Array]":
    """Fit gap = level + distance·exp(−day/pace) for each pace, with the priors above.

    Returns the distance at day 0, its standard deviation, and the log evidence,
    each of shape (paces,).
    """
    import numpy as np

    from burnplan.reckon.regression import NormalInverseGamma, SufficientStatistics

    decays = np.exp(-np.asarray(days) / paces[:, None])
    rows = np.stack([np.ones_like(decays), decays], axis=-1)
    # In units of the noise.
    precision = np.diag([(_NOISE / _EMC_SPREAD) ** 2, (_NOISE / _FARTHEST) ** 2])
    before = NormalInverseGamma(
        np.zeros((len(paces), 2)), precision, _SHAPE, np.full(len(paces), _SCALE)
    )
    transposed = rows.transpose(0, 2, 1)
    values = np.asarray(gaps)
    seen = SufficientStatistics(
        transposed @ rows, transposed @ values, values @ values, float(len(gaps))
    )
    after = before.after(seen)
    spread = np.sqrt(after.variance * np.linalg.inv(after.precision)[:, 1, 1])
    return after.mean[:, 1], spread, before.log_evidence(after)
