"""Moisture: where wood settles in given air, whether a blank is there, and when it will be.

Moisture content is per cent of the oven-dry weight, as meters show it.
"""

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from statistics import NormalDist

from burnplan.errors import BadInput
from burnplan.units import UnitSystem

FIBRE_SATURATION = 30.0
"""Moisture content, %, above which wood neither shrinks nor swells (Wood Handbook ch. 4)."""

# Wood Handbook ch. 13: what a meter measures reliably.
_METER_FROM, _METER_TO = 4.0, 30.0


class Scale(StrEnum):
    """Scales of temperature."""

    CELSIUS = "°C"
    FAHRENHEIT = "°F"


# Hailwood and Horrobin's sorption model as fitted by Simpson (1998), FPL-RN-0268, and in the
# Wood Handbook FPL-GTR-190 (2010), Eq. 4-5: W, K, K1, K2, each a + b·T + c·T².
_CONSTANTS = {
    Scale.CELSIUS: (
        (349.0, 1.29, 0.0135),
        (0.805, 0.000736, -0.00000273),
        (6.27, -0.00938, -0.000303),
        (1.91, 0.0407, -0.000293),
    ),
    Scale.FAHRENHEIT: (
        (330.0, 0.452, 0.00415),
        (0.791, 0.000463, -0.000000844),
        (6.34, 0.000775, -0.0000935),
        (1.09, 0.0284, -0.0000904),
    ),
}
# Degrees Celsius in which the fit is used: the Handbook's table starts at −1.1 °C (30 °F);
# a little below it the equation still behaves, above 60 °C nobody keeps wood.
_COLDEST, _HOTTEST = -20.0, 60.0


def to_celsius(fahrenheit: float) -> float:
    """Return degrees Celsius."""
    return (fahrenheit - 32) / 1.8


def to_fahrenheit(celsius: float) -> float:
    """Return degrees Fahrenheit."""
    return celsius * 1.8 + 32


def emc(temperature: float, humidity: float, scale: Scale = Scale.CELSIUS) -> float:
    """Return the equilibrium moisture content of wood in air, %.

    It holds for wood of any species for most practical purposes (Wood Handbook ch. 4),
    and says where wood settles, not how soon.

    Parameters
    ----------
    temperature : float
        Of the air, in degrees of the scale; from −20 to 60 °C.
    humidity : float
        Relative humidity, %, from 0 to 100.
    scale : Scale
        Each scale has its published constants; they agree within 0.02.

    Raises
    ------
    BadInput
        If the air is outside those limits.

    Examples
    --------
    >>> round(emc(70, 50, Scale.FAHRENHEIT), 1)  # Wood Handbook Table 4-2: 9.2
    9.2
    >>> round(emc(21.1, 65), 1)
    12.0
    """
    celsius = temperature if scale is Scale.CELSIUS else to_celsius(temperature)
    if not _COLDEST <= celsius <= _HOTTEST:
        raise BadInput(
            f"{temperature:g} {scale} is no temperature to keep wood at", "Check °C or °F"
        )
    if not 0 <= humidity <= 100:
        raise BadInput(
            f"Relative humidity is from 0 to 100 %, not {humidity:g}", "Write it like 45%"
        )
    w, k, k1, k2 = (a + b * temperature + c * temperature**2 for a, b, c in _CONSTANTS[scale])
    x = k * humidity / 100
    twice = k1 * k2 * x**2
    return 1800 / w * (x / (1 - x) + (k1 * x + 2 * twice) / (1 + k1 * x + twice))


def humidity_for(moisture: float, celsius: float) -> float:
    """Return the relative humidity, %, in which wood settles at a moisture content.

    Parameters
    ----------
    moisture : float
        Equilibrium moisture content, %; what no air reaches gives 0 or 100.
    celsius : float

    Examples
    --------
    >>> round(humidity_for(9.2, 21.1))
    50
    """
    low, high = 0.0, 100.0
    for _ in range(50):  # halves to below a float's own steps
        middle = (low + high) / 2
        if emc(celsius, middle) < moisture:
            low = middle
        else:
            high = middle
    return (low + high) / 2


_TEMPERATURE = re.compile(r"([+-]?\d+(?:[.,]\d+)?)\s*(?:°|º|deg)?\s*(c|f)?")
_PERCENT = re.compile(r"(\d+(?:[.,]\d+)?)\s*%?")


def parse_temperature(text: str, units: UnitSystem | None = None) -> float:
    """Read a temperature, in °C.

    Parameters
    ----------
    text : str
        ``21C``, ``21.5 °C``, ``70F``, or a bare number where units are known.
    units : UnitSystem, optional
        Metric takes a bare number as °C, imperial as °F; without it one is refused.

    Raises
    ------
    BadInput
        If it is not a temperature.

    Examples
    --------
    >>> parse_temperature("70 °F") == to_celsius(70)
    True
    >>> parse_temperature("-5", UnitSystem.METRIC)
    -5.0
    """
    hint = "Write it like 21C or 70F"
    found = _TEMPERATURE.fullmatch(text.strip().lower().replace("−", "-"))
    if found is None:
        raise BadInput(f"'{text}' is not a temperature", hint)
    degrees = float(found[1].replace(",", "."))
    if found[2] is None and units is None:
        raise BadInput(f"'{text}' could be °C or °F", hint)
    warm = found[2] == "f" or (found[2] is None and units is UnitSystem.IMPERIAL)
    return to_celsius(degrees) if warm else degrees


def format_temperature(celsius: float, units: UnitSystem = UnitSystem.METRIC) -> str:
    """Show a temperature in the user's units.

    Examples
    --------
    >>> format_temperature(21.1), format_temperature(21.1, UnitSystem.IMPERIAL)
    ('21 °C', '70 °F')
    """
    if units is UnitSystem.IMPERIAL:
        return f"{to_fahrenheit(celsius):.0f} °F"
    return f"{celsius:.0f} °C"


def parse_percent(text: str) -> float:
    """Read a humidity or a moisture content, %.

    Raises
    ------
    BadInput
        If it is not a percentage from 0 to 100, or looks like a fraction (0.45).

    Examples
    --------
    >>> parse_percent("45%"), parse_percent("8,5 %")
    (45.0, 8.5)
    """
    hint = "Write it like 45% or 8.5"
    found = _PERCENT.fullmatch(text.strip())
    value = float(found[1].replace(",", ".")) if found else math.nan
    if not 0 <= value <= 100:
        raise BadInput(f"'{text}' is not a percentage", hint)
    if 0 < value < 1:
        raise BadInput(f"'{text}' looks like a fraction of one", hint)
    return value


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
        if not 0 <= self.moisture <= 200:
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
_HOME_DIFFERS = 2.0
_STALE_DAYS = 14.0
# Common practice, no source: a meter repeats to about half a per cent, and the EMC of
# a room is known to about one (its air changes, species and meters differ).
_NOISE = 0.5
_EMC_SPREAD = 1.0
_FARTHEST = 15.0
_SHAPE, _SCALE = 2.0, 0.3
# A board's time to come most of the way, before its readings speak: some ten days, within
# a factor of e two times in three (common practice, no source).
_USUAL_DAYS, _USUAL_SPREAD = 10.0, 1.0
_FEWEST_READINGS, _SHORTEST_DAYS = 3, 1.0
_LONGEST_DAYS = 120.0
_SECONDS_A_DAY = 86400.0


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
    readings : iterable of Reading
        In any order, taken since the blank came to where it lies now.
    shop : float
        Equilibrium moisture content there, %; see :func:`emc`.
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
    readings : sequence of Reading
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
    nodes = [NormalDist().inv_cdf((2 * i + 1) / 18) for i in range(9)]
    weighed: list[tuple[float, float]] = []
    fits: list[tuple[float, float, float, float]] = []
    for step in range(-30, 31):  # three spreads of the usual pace either way
        pace = _USUAL_DAYS * math.exp(_USUAL_SPREAD * step / 10)
        distance, spread, evidence = _fit(days, gaps, pace)
        fits.append((pace, distance, spread, evidence - (step / 10) ** 2 / 2))
    best = max(fit[-1] for fit in fits)
    for pace, distance, spread, evidence in fits:
        weight = math.exp(evidence - best)
        for node in nodes:
            still = abs(distance + spread * node) * math.exp(-today / pace) / tolerance
            weighed.append((pace * math.log(still) if still > 1 else 0.0, weight))
    weighed.sort()
    total = sum(weight for _, weight in weighed)
    return (
        _quantile(weighed, 0.1 * total),
        _quantile(weighed, 0.5 * total),
        _quantile(weighed, 0.9 * total),
    )


def _fit(days: Sequence[float], gaps: Sequence[float], pace: float) -> tuple[float, float, float]:
    """Fit gap = level + distance·exp(−day/pace) with the priors above.

    Returns the distance at day 0, its standard deviation, and the log evidence up to
    a constant.
    """
    decays = [math.exp(-day / pace) for day in days]
    level_prior = (_NOISE / _EMC_SPREAD) ** 2
    distance_prior = (_NOISE / _FARTHEST) ** 2
    # Precision matrix [[a, b], [b, c]] of (level, distance), in units of the noise.
    a = level_prior + len(days)
    b = sum(decays)
    c = distance_prior + sum(decay**2 for decay in decays)
    determinant = a * c - b * b
    u = sum(gaps)
    v = sum(decay * gap for decay, gap in zip(decays, gaps, strict=True))
    level, distance = (c * u - b * v) / determinant, (a * v - b * u) / determinant
    shape = _SHAPE + len(days) / 2
    squares = sum(gap * gap for gap in gaps) - level * u - distance * v
    scale = _SCALE + max(squares, 0.0) / 2
    evidence = -0.5 * math.log(determinant) - shape * math.log(scale)
    return distance, math.sqrt(scale / shape * a / determinant), evidence


def _quantile(weighed: Sequence[tuple[float, float]], at: float) -> float:
    """Return the value at which the running weight passes ``at``; values in order."""
    running = 0.0
    for value, weight in weighed:
        running += weight
        if running >= at:
            return value
    return weighed[-1][0]  # the running sum can fall short of the total by rounding
