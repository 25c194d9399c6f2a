"""Moisture against the Wood Handbook (USDA FPL-GTR-190, 2010), Table 4-2 and Eq. 4-5.

The equation and its constants: Simpson 1998, FPL-RN-0268.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.units import UnitSystem
from burnplan.wood.moisture import (
    Scale,
    emc,
    format_temperature,
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


def test_just_below_nought_is_nought() -> None:
    assert format_temperature(-0.3) == "0 °C"


@pytest.mark.parametrize(("text", "value"), [("45", 45), ("45 %", 45), ("8,5%", 8.5), ("0", 0)])
def test_a_percentage_is_read(text: str, value: float) -> None:
    assert parse_percent(text) == value


@pytest.mark.parametrize("text", ["", "-1", "101", "half", "0.45", "45%%", "nan"])
def test_what_is_no_percentage(text: str) -> None:
    with pytest.raises(BadInput):
        parse_percent(text)
