"""Moisture: where wood settles in given air, and temperatures and percentages as people write them.

Moisture content is per cent of the oven-dry weight, as meters show it.
"""

import math
import re
from enum import StrEnum

from burnplan.errors import BadInput
from burnplan.units import UnitSystem

WETTEST = 200.0
"""Moisture content, %, beyond which none is believed: green wood can hold more water than wood (a
limit by definition)."""

FIBRE_SATURATION = 30.0
"""Moisture content, %, above which wood neither shrinks nor swells (Wood Handbook ch. 4)."""


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
            f"{temperature:g} {scale} is no temperature to keep wood at", "Check its scale"
        )
    if not 0 <= humidity <= 100:
        raise BadInput(
            f"Relative humidity is from 0 to 100 %, not {humidity:g}", "Write it like 45%"
        )
    w, k, k1, k2 = (a + b * temperature + c * temperature**2 for a, b, c in _CONSTANTS[scale])
    x = k * humidity / 100
    twice = k1 * k2 * x**2
    return 1800 / w * (x / (1 - x) + (k1 * x + 2 * twice) / (1 + k1 * x + twice))


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
    hint = "Write it like 21C"
    found = _TEMPERATURE.fullmatch(text.strip().lower().replace("−", "-"))
    if found is None:
        raise BadInput(f"'{text}' is not a temperature", hint)
    degrees = float(found[1].replace(",", "."))
    if found[2] is None and units is None:
        raise BadInput(f"'{text}' does not say its scale", hint)
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
        return f"{round(to_fahrenheit(celsius))} °F"
    return f"{round(celsius)} °C"


def parse_percent(text: str, most: float = 100.0) -> float:  # all of it, by definition
    """Read a humidity or a moisture content, %.

    Raises
    ------
    BadInput
        If it is not a percentage from 0 to the most, or looks like a fraction (0.45).

    Examples
    --------
    >>> parse_percent("45%"), parse_percent("8,5 %")
    (45.0, 8.5)
    """
    hint = "Write it like 45% or 8.5"
    found = _PERCENT.fullmatch(text.strip())
    value = float(found[1].replace(",", ".")) if found else math.nan
    if not 0 <= value <= most:
        raise BadInput(f"'{text}' is not a percentage", hint)
    if 0 < value < 1:
        raise BadInput(f"'{text}' looks like a fraction of one", hint)
    return value
