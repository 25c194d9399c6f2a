"""Moisture against the Wood Handbook (USDA FPL-GTR-190, 2010), Table 4-2 and Eq. 4-5.

The equation and its constants: Simpson 1998, FPL-RN-0268. Settling is checked against
readings drawn from known exponential approaches, and the fit against numerical sums.
"""

import math
import random
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.units import UnitSystem
from burnplan.wood.moisture import (
    Advice,
    DaysLeft,
    MeterReading,
    Scale,
    Unknown,
    Verdict,
    _fit,
    advise,
    days_left,
    emc,
    format_temperature,
    humidity_for,
    parse_percent,
    parse_temperature,
    to_celsius,
    to_fahrenheit,
)

# Handbook Table 4-2: °F: {relative humidity %: moisture content %}
TABLE_4_2 = {
    30: {30: 6.3, 50: 9.5, 65: 12.4, 80: 16.5},
    70: {5: 1.3, 25: 5.4, 30: 6.2, 40: 7.7, 50: 9.2, 60: 11.0, 65: 12.0, 80: 16.0, 90: 20.5},
    90: {30: 5.9, 50: 8.9, 65: 11.5, 80: 15.4},
    130: {30: 5.2, 50: 7.9, 80: 14.0},
}
CELLS = [(warm, wet, value) for warm, row in TABLE_4_2.items() for wet, value in row.items()]
START = datetime(2027, 3, 1, 8, tzinfo=UTC)

CELSIUS = st.floats(-20, 60)
HUMIDITY = st.floats(0, 100)


@pytest.mark.parametrize(("fahrenheit", "humidity", "table"), CELLS)
def test_emc_is_that_of_the_handbook(fahrenheit: float, humidity: float, table: float) -> None:
    assert emc(fahrenheit, humidity, Scale.FAHRENHEIT) == pytest.approx(table, abs=0.1)
    assert emc(to_celsius(fahrenheit), humidity) == pytest.approx(table, abs=0.1)


@given(CELSIUS, HUMIDITY)
def test_both_scales_agree(celsius: float, humidity: float) -> None:
    fahrenheit = min(max(to_fahrenheit(celsius), -4), 140)
    assert emc(fahrenheit, humidity, Scale.FAHRENHEIT) == pytest.approx(
        emc(celsius, humidity), abs=0.02
    )


@given(CELSIUS, HUMIDITY, HUMIDITY)
def test_damper_air_means_wetter_wood(celsius: float, one: float, other: float) -> None:
    drier, damper = sorted((one, other))
    assert 0 <= emc(celsius, drier) <= emc(celsius, damper) <= 30
    if damper - drier > 0.01:
        assert emc(celsius, drier) < emc(celsius, damper)


@given(CELSIUS, HUMIDITY)
def test_humidity_comes_back(celsius: float, humidity: float) -> None:
    assert humidity_for(emc(celsius, humidity), celsius) == pytest.approx(humidity, abs=1e-6)


def test_moisture_that_no_air_reaches_is_at_an_end() -> None:
    assert humidity_for(90, 20) == pytest.approx(100)
    assert humidity_for(-1, 20) == pytest.approx(0)


@pytest.mark.parametrize(
    ("temperature", "humidity", "scale"),
    [(70, 50, Scale.CELSIUS), (-21, 50, Scale.CELSIUS), (141, 50, Scale.FAHRENHEIT),
     (20, -1, Scale.CELSIUS), (20, 101, Scale.CELSIUS), (math.nan, 50, Scale.CELSIUS),
     (20, math.nan, Scale.CELSIUS)],
)  # fmt: skip
def test_air_that_cannot_be(temperature: float, humidity: float, scale: Scale) -> None:
    with pytest.raises(BadInput):
        emc(temperature, humidity, scale)


@pytest.mark.parametrize(
    ("text", "units", "celsius"),
    [("21C", None, 21), ("21.5 °C", None, 21.5), ("70F", None, 21.1111), ("70 °f", None, 21.1111),
     ("70", UnitSystem.IMPERIAL, 21.1111), ("21,5", UnitSystem.METRIC, 21.5),
     ("−5 C", UnitSystem.IMPERIAL, -5), ("68F", UnitSystem.METRIC, 20)],
)  # fmt: skip
def test_a_temperature_is_read(text: str, units: UnitSystem | None, celsius: float) -> None:
    assert parse_temperature(text, units) == pytest.approx(celsius, abs=1e-3)


@pytest.mark.parametrize("text", ["21", "", "warm", "21K", "1e3C", "--2C", "21 C F"])
def test_what_is_no_temperature(text: str) -> None:
    with pytest.raises(BadInput):
        parse_temperature(text)


@given(st.floats(-20, 60))
def test_shown_in_both_scales(celsius: float) -> None:
    for units in UnitSystem:
        shown = parse_temperature(format_temperature(celsius, units))
        assert shown == pytest.approx(celsius, abs=0.51)


@pytest.mark.parametrize(("text", "value"), [("45", 45), ("45 %", 45), ("8,5%", 8.5), ("0", 0)])
def test_a_percentage_is_read(text: str, value: float) -> None:
    assert parse_percent(text) == value


@pytest.mark.parametrize("text", ["", "-1", "101", "half", "0.45", "45%%", "nan"])
def test_what_is_no_percentage(text: str) -> None:
    with pytest.raises(BadInput):
        parse_percent(text)


@pytest.mark.parametrize(
    ("at", "moisture"),
    [(START, -1), (START, 201), (START, math.nan), (datetime(2027, 3, 1), 9)],  # noqa: DTZ001
)
def test_a_reading_that_cannot_be(at: datetime, moisture: float) -> None:
    with pytest.raises(BadInput):
        MeterReading(at, moisture)


# wait or go --------------------------------------------------------------------------------


def approach(
    level: float, first: float, pace: float, days: list[float], noise: float = 0, seed: int = 0
) -> list[MeterReading]:
    """Readings of wood that approaches a level exponentially, as a meter scatters them."""
    scatter = random.Random(seed)  # noqa: S311
    return [
        MeterReading(
            START + timedelta(days=day),
            level + (first - level) * math.exp(-day / pace) + scatter.gauss(0, noise),
        )
        for day in days
    ]


def advice_of(readings: list[MeterReading], shop: float, home: float | None = None) -> Advice:
    return advise(readings, shop, readings[-1].at, home=home)


@pytest.mark.parametrize(
    ("moisture", "verdict"),
    [(8, Verdict.GO), (8.9, Verdict.GO), (7.1, Verdict.GO), (9.2, Verdict.WAIT),
     (6.7, Verdict.WAIT)],
)  # fmt: skip
def test_it_goes_near_the_shops_emc_from_either_side(moisture: float, verdict: Verdict) -> None:
    advice = advice_of([MeterReading(START, moisture)], 8)
    assert advice.verdict is verdict
    assert advice.gap == pytest.approx(moisture - 8)


def test_the_last_reading_counts_whatever_their_order() -> None:
    readings = approach(8, 14, 5, [0, 4, 20])
    assert advise(reversed(readings), 8, readings[-1].at).moisture == readings[-1].moisture
    assert advice_of(readings, 8).verdict is Verdict.GO


def test_no_reading_no_advice() -> None:
    with pytest.raises(BadInput, match="no moisture reading"):
        advise([], 8, START)


@pytest.mark.parametrize(("first", "pace"), [(14.0, 6.0), (16.0, 12.0), (4.0, 8.0)])
def test_clean_readings_tell_the_day(first: float, pace: float) -> None:
    """Settled when within 1 % of the level: pace · ln(distance)."""
    readings = approach(8, first, pace, [0, 2, 4, 6, 8])
    left = advice_of(readings, 8).left
    truth = pace * math.log(abs(first - 8)) - 8
    assert left is not None
    assert left.low <= truth <= left.high
    assert left.likely == pytest.approx(truth, abs=max(2.0, 0.2 * truth))


def test_the_interval_holds_as_often_as_it_says() -> None:
    """P10 to P90 holds the truth about four times in five, over scattered histories.

    600 boards: paces about ten days, meters that scatter by half a per cent, an EMC known
    to one per cent. Binomial spread of the share is under 2 %.
    """
    draw = random.Random(7)  # noqa: S311
    held = told = below = 0
    for seed in range(600):
        pace, first = 10 * math.exp(draw.gauss(0, 0.7)), draw.choice((13.0, 15.0, 18.0, 3.0))
        level = 8 + draw.gauss(0, 0.7)
        days = [0.0, 2, 4, 7][: draw.choice((3, 4))]
        left = advice_of(approach(level, first, pace, days, 0.5, seed), 8).left
        if left is None:
            continue
        truth = max(0.0, pace * math.log(max(1.0, abs(first - level))) - days[-1])
        told += 1
        held += left.low <= truth <= left.high
        below += truth < left.likely
    assert told > 450
    assert 0.76 <= held / told <= 0.92
    assert 0.38 <= below / told <= 0.62


def test_more_readings_narrow_it() -> None:
    few = advice_of(approach(8, 16, 15, [0, 5, 10]), 8).left
    many = advice_of(approach(8, 16, 15, [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10]), 8).left
    assert few is not None
    assert many is not None
    assert many.high - many.low < few.high - few.low


def test_it_counts_from_today() -> None:
    readings = approach(8, 16, 15, [0, 5, 10])
    at_once = days_left(readings, 8, readings[-1].at)
    later = days_left(readings, 8, readings[-1].at + timedelta(days=5))
    assert isinstance(at_once, DaysLeft)
    assert isinstance(later, DaysLeft)
    assert later.likely == pytest.approx(at_once.likely - 5, abs=0.5)


@pytest.mark.parametrize(
    ("readings", "why"),
    [
        (approach(8, 14, 10, [0]), Unknown.TOO_FEW),
        (approach(8, 14, 10, [0, 5]), Unknown.TOO_FEW),
        (approach(8, 14, 10, [0, 0.1, 0.2]), Unknown.TOO_FEW),
        (approach(8, 60, 10, [0, 2, 4]), Unknown.TOO_WET),
        (approach(20, 12, 10, [0, 4, 8]), Unknown.NOT_SETTLING),  # it takes moisture up
        (approach(14, 14, 10, [0, 5, 10, 15, 20, 25]), Unknown.NOT_SETTLING),  # it stands still
        (approach(10.6, 14, 2, [0, 3, 6, 9, 12, 15, 18]), Unknown.LEVELLED),
    ],
)
def test_when_the_readings_cannot_tell_it_says_so(
    readings: list[MeterReading], why: Unknown
) -> None:
    advice = advice_of(readings, 8)
    assert (advice.verdict, advice.left, advice.unknown) == (Verdict.WAIT, None, why)


def test_a_blank_held_back_by_scatter_only_has_no_days_left() -> None:
    left = advice_of(
        [*approach(8, 14, 3, [0, 5, 10]), MeterReading(START + timedelta(12), 9.1)], 8
    ).left
    assert left is not None
    assert left.likely == 0


def test_going_needs_no_days() -> None:
    advice = advice_of(approach(8, 14, 3, [0, 5, 20]), 8)
    assert (advice.left, advice.unknown) == (None, None)


def test_what_to_mind_besides() -> None:
    assert advice_of([MeterReading(START, 8)], 8, home=8.5).notes == ()
    assert any("swell" in note for note in advice_of([MeterReading(START, 8)], 8, home=11).notes)
    assert any("shrink" in note for note in advice_of([MeterReading(START, 8)], 8, home=5).notes)
    for moisture in (3, 45):  # Handbook ch. 13: meters measure about 4 to 30 %
        notes = advice_of([MeterReading(START, moisture)], 8).notes
        assert any("Wood Handbook" in note for note in notes)
    old = advise([MeterReading(START, 8)], 8, START + timedelta(days=15))
    assert any("15 days old" in note for note in old.notes)


def test_the_fit_is_that_of_numerical_integration() -> None:
    """Level, distance and noise summed over a fine lattice: same mean, spread and evidence.

    Priors as in the module: level ~ N(0, 4·v), distance ~ N(0, 900·v), that is 1 and 15 % at
    a noise of 0.5 %, and the noise variance v ~ inverse-gamma(2, 0.3).
    """
    days, gaps = np.array([0.0, 3, 6, 9]), np.array([6.2, 4.1, 3.3, 2.1])
    v = np.geomspace(0.004, 40, 160)[:, None, None]
    level = np.linspace(-12, 12, 161)[None, :, None]
    distance = np.linspace(-12, 24, 241)[None, None, :]

    def summed(pace: float) -> tuple[float, float, float]:
        squares = sum(
            (gap - level - distance * decay) ** 2
            for gap, decay in zip(gaps, np.exp(-days / pace), strict=True)
        )
        log = -0.5 * (squares + level**2 / 4 + distance**2 / 900) / v
        log = (
            log - (len(gaps) / 2 + 1 + 3 - 1) * np.log(v) - 0.3 / v
        )  # −1: a step in log v is v wide
        share = np.exp(log).sum(axis=(0, 1))
        at = distance.ravel()
        mean = (share * at).sum() / share.sum()
        spread = math.sqrt((share * (at - mean) ** 2).sum() / share.sum())
        return mean, spread, math.log(share.sum())

    fits = {pace: _fit(days.tolist(), gaps.tolist(), pace) for pace in (5.0, 12.0)}
    sums = {pace: summed(pace) for pace in fits}
    for pace in fits:
        assert fits[pace][0] == pytest.approx(sums[pace][0], rel=0.01)
        # Student's t with 2·shape = 8 degrees is wider than its scale by sqrt(8/6).
        assert fits[pace][1] * math.sqrt(8 / 6) == pytest.approx(sums[pace][1], rel=0.03)
    assert fits[12.0][2] - fits[5.0][2] == pytest.approx(sums[12.0][2] - sums[5.0][2], abs=0.01)


@given(
    st.lists(st.tuples(st.floats(0, 60), st.floats(0, 40)), min_size=1, max_size=8),
    st.floats(4, 18),
    st.floats(0, 30),
)
def test_advice_is_always_given_and_in_order(
    taken: list[tuple[float, float]], shop: float, later: float
) -> None:
    readings = [MeterReading(START + timedelta(days=day), moisture) for day, moisture in taken]
    now = max(reading.at for reading in readings) + timedelta(days=later)
    advice = advise(readings, shop, now)
    assert (advice.verdict is Verdict.GO) is (abs(advice.gap) <= 1)
    if advice.left:
        assert 0 <= advice.left.low <= advice.left.likely <= advice.left.high < math.inf
    assert advice.verdict is Verdict.GO or (advice.left is None) is (advice.unknown is not None)
