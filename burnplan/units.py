"""Lengths, sizes and durations as people write them, and back again.

Inside burnplan every length is millimetres and every duration seconds.
"""

import re
from collections.abc import Sequence
from datetime import timedelta
from enum import StrEnum
from fractions import Fraction

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind

MM_PER_INCH = 25.4
"""Exactly, by the agreement of 1959."""

MM_PER_POINT = MM_PER_INCH / 72
"""A point of type, as PDF has it (ISO 32000)."""

FEW_PX_PER_MM = 2.0
"""Fewer photo pixels than this on a millimetre of wood look soft (common practice, no source)."""

_MM_PER = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
    '"': MM_PER_INCH,
    "″": MM_PER_INCH,
    "ft": 12 * MM_PER_INCH,
}
_VULGAR = {
    "½": " 1/2",
    "¼": " 1/4",
    "¾": " 3/4",
    "⅛": " 1/8",
    "⅜": " 3/8",
    "⅝": " 5/8",
    "⅞": " 7/8",
}
_NUMBER = r"\d+[\s-]+\d+/\d+|\d+/\d+|\d+(?:[.,]\d+)?|[.,]\d+"
_UNIT = r"mm|cm|m|inches|inch|in|ft|\"|″"
# Patterns are compiled when first looked for: most commands read no size.
_LENGTH = rf"^({_NUMBER})\s*({_UNIT})?$"
_SIZE = rf"^({_NUMBER})\s*({_UNIT})?\s*(?:[x×*]|by)\s*({_NUMBER})\s*({_UNIT})?$"
_PAIR = r"-?\d+(?:\.\d+)?\s*,\s*-?\d+(?:\.\d+)?"
_CORNERS = rf"^(?:live-edge\s+)?({_PAIR}(?:[\s;]+{_PAIR}){{2,}})\s*({_UNIT})?(?:\s+live-edge)?$"
_SIZE_HINT = "Write it like 30x40cm, 'round 25cm' or 'oval 20x30cm'"
_LENGTH_HINT = "Write it like 18mm or 2.5cm"


class UnitSystem(StrEnum):
    """How lengths are shown to the user."""

    METRIC = "metric"
    IMPERIAL = "imperial"


def plainly(text: str) -> str:
    """Return text in small letters, with vulgar fractions and stray spaces made plain."""
    for sign, spelled in _VULGAR.items():
        text = text.replace(sign, spelled)
    return " ".join(text.lower().split())


def _number(text: str) -> float:
    if "/" in text:
        try:
            return float(sum(Fraction(part) for part in text.replace("-", " ").split()))
        except ZeroDivisionError:
            raise BadInput(f"'{text}' divides by zero", _LENGTH_HINT) from None
    return float(text.replace(",", "."))


def parse_length(text: str, *, default_unit: str | None = None) -> float:
    """Read one length.

    Parameters
    ----------
    text : str
        For example ``18mm``, ``3/4 in`` or, with a default unit, ``18``.
    default_unit : str, optional
        The unit of a bare number; without it a bare number is refused.

    Returns
    -------
    float
        Millimetres.

    Raises
    ------
    BadInput
        If it is not a length.

    Examples
    --------
    >>> parse_length("1 1/2 in")
    38.1
    >>> parse_length("18", default_unit="mm")
    18.0
    """
    match = re.match(_LENGTH, plainly(text))
    if match is None:
        raise BadInput(f"'{text}' is not a length", _LENGTH_HINT)
    unit = match[2] or default_unit
    if unit is None:
        raise BadInput(f"'{text}' has no unit", _LENGTH_HINT)
    return round(_number(match[1]) * _MM_PER[unit], 4)


def unit_in(text: str) -> str | None:
    """Return the first unit of length in a text, if there is one.

    Examples
    --------
    >>> unit_in("2,4in"), unit_in("30,20 60,70")
    ('in', None)
    """
    found = re.search(_UNIT, plainly(text))
    return found and found[0]


def parse_size(text: str, *, default_unit: str | None = None) -> Outline:
    """Read the size and shape of a blank.

    Parameters
    ----------
    text : str
        Width before height: ``30x40cm``, ``12x16in``, ``12 1/2 x 16 in``,
        ``300 x 400 mm``, ``round 25cm``, ``ø25cm``, ``10 in round`` or ``oval 20x30cm``; a live
        edge by its bounding box, ``live-edge 14x22in``, or by its corners in order, ``live-edge
        0,0 12,1 11.5,8 0.5,7 in``.
    default_unit : str, optional
        The unit of bare numbers; without it they are refused.

    Returns
    -------
    Outline

    Raises
    ------
    BadInput
        If it is not a size, has no unit, or is too small or large for a blank.

    Examples
    --------
    >>> outline = parse_size("12 1/2 x 16 in")
    >>> outline.width_mm, outline.height_mm
    (317.5, 406.4)
    >>> parse_size("round 25cm") == parse_size("Ø 250 mm")
    True
    """
    plain = re.sub(r"^[ø⌀]\s*", "round ", plainly(text))
    kind = OutlineKind.RECTANGLE
    if corners := re.match(_CORNERS, plain):
        return _of_corners(text, corners, default_unit)
    for named in OutlineKind:
        if plain.startswith(named):
            kind, plain = named, plain.removeprefix(named).strip()
            break
        if plain.endswith(f" {named}"):
            kind, plain = named, plain.removesuffix(named).strip()
            break
    if kind is OutlineKind.ROUND and (single := re.match(_LENGTH, plain)):
        unit = single[2] or default_unit
        if unit is None:
            raise BadInput(f"'{text}' has no unit", _SIZE_HINT)
        across = round(_number(single[1]) * _MM_PER[unit], 4)
        return Outline(kind, across, across)
    match = re.match(_SIZE, plain)
    if match is None:
        raise BadInput(f"'{text}' is not a size", _SIZE_HINT)
    width, width_unit, height, height_unit = match.groups()
    height_unit = height_unit or width_unit or default_unit
    width_unit = width_unit or height_unit
    if height_unit is None or width_unit is None:
        raise BadInput(f"'{text}' has no unit", _SIZE_HINT)
    return Outline(
        kind,
        round(_number(width) * _MM_PER[width_unit], 4),
        round(_number(height) * _MM_PER[height_unit], 4),
    )


def _of_corners(text: str, match: "re.Match[str]", default_unit: str | None) -> Outline:
    unit = match[2] or default_unit
    if unit is None:
        raise BadInput(f"'{text}' has no unit", "Write it like 'live-edge 0,0 30,1 29,21 1,20 cm'")
    numbers = [float(one) * _MM_PER[unit] for one in re.findall(r"-?\d+(?:\.\d+)?", match[1])]
    return Outline.of_corners(zip(numbers[::2], numbers[1::2], strict=True))


def _trimmed(value: float, decimals: int) -> str:
    return f"{value:.{decimals}f}".rstrip("0").rstrip(".") if decimals else f"{value:.0f}"


def _inches(mm: float) -> str:
    """Inches to the nearest sixteenth, as carpenters write them."""
    sixteenths = round(mm / MM_PER_INCH * 16)
    whole, rest = divmod(sixteenths, 16)
    if not rest:
        return str(whole)
    fraction = Fraction(rest, 16)
    return f"{whole} {fraction}" if whole else str(fraction)


def format_length(mm: float, units: UnitSystem = UnitSystem.METRIC) -> str:
    """Show a length in the user's units.

    Examples
    --------
    >>> format_length(18), format_length(18, UnitSystem.IMPERIAL)
    ('18 mm', '11/16 in')
    """
    if units is UnitSystem.IMPERIAL:
        return f"{_inches(mm)} in"
    return f"{_trimmed(mm, 1)} mm"


def format_size(outline: Outline, units: UnitSystem = UnitSystem.METRIC) -> str:
    """Show a blank's size and shape in the user's units.

    Examples
    --------
    >>> format_size(parse_size("30x40cm"))
    '30 × 40 cm'
    >>> format_size(parse_size("round 10in"), UnitSystem.IMPERIAL)
    'round 10 in'
    """
    if units is UnitSystem.IMPERIAL:
        width, height, unit = _inches(outline.width_mm), _inches(outline.height_mm), "in"
    else:
        width, height = _trimmed(outline.width_mm / 10, 2), _trimmed(outline.height_mm / 10, 2)
        unit = "cm"
    if outline.kind is OutlineKind.ROUND:
        return f"round {width} {unit}"
    shape = "" if outline.kind is OutlineKind.RECTANGLE else f"{outline.kind} "
    return f"{shape}{width} × {height} {unit}"


def format_area(cm2: float, units: UnitSystem = UnitSystem.METRIC) -> str:
    """Show an area in the user's units.

    Examples
    --------
    >>> format_area(1200.4), format_area(1200, UnitSystem.IMPERIAL)
    ('1200 cm²', '186 in²')
    """
    value, unit = round(cm2, 1 if cm2 < 100 else 0), "cm²"
    if units is UnitSystem.IMPERIAL:
        # Of the figure in cm²: words that were written with that say the same area.
        value, unit = value / 6.4516, "in²"
    return f"{_trimmed(value, 1 if value < 100 else 0)} {unit}"


def format_speed(mm_s: float, units: UnitSystem = UnitSystem.METRIC) -> str:
    """Show the speed of a stroke in the user's units.

    Examples
    --------
    >>> format_speed(10), format_speed(10, UnitSystem.IMPERIAL)
    ('10 mm/s', '0.394 in/s')
    """
    if units is UnitSystem.IMPERIAL:
        return f"{mm_s / MM_PER_INCH:.3g} in/s"
    return f"{mm_s:g} mm/s"


def format_setting(setting: float) -> str:
    """Show a setting of the pen, whatever its scale, to three figures and whole degrees.

    Examples
    --------
    >>> [format_setting(one) for one in (0.2564, 6.5, 954.3, 1052)]
    ['0.256', '6.5', '954', '1052']
    """
    return f"{setting:.0f}" if setting >= 100 else f"{setting:.3g}"


def format_runs(cms: Sequence[float], units: UnitSystem = UnitSystem.METRIC) -> list[str]:
    """Show lengths of lines, which are long, and last what they are together as shown.

    Parameters
    ----------
    cms : sequence of float
        Centimetres.
    units : UnitSystem, optional

    Examples
    --------
    >>> format_runs([224, 1924]), format_runs([610], UnitSystem.IMPERIAL)
    (['2.2 m', '19.2 m', '21.4 m'], ['20.0 ft', '20.0 ft'])
    """
    unit, cm = ("m", 100.0) if units is UnitSystem.METRIC else ("ft", 1.2 * MM_PER_INCH)
    shown = [round(each / cm, 1) for each in cms]
    return [f"{value:.1f} {unit}" for value in (*shown, sum(shown))]


_DURATION = (
    r"^(?:(\d{1,4}(?:[.,]\d+)?)\s*(?:h|hr|hrs|hour|hours))?"
    r"\s*(?:(\d{1,4})\s*(?:m|min|mins|minutes)?)?$"
)
_CLOCK = r"^(\d{1,4}):([0-5]\d)$"
_LEAST_HOURS, MOST_HOURS = 0.01, 5000  # of one piece; our own choice


def parse_duration(text: str) -> timedelta:
    """Read a length of time.

    Parameters
    ----------
    text : str
        ``2h``, ``1h30``, ``90min``, ``1:30`` or ``1.5h``. A bare number is
        refused, since it could be hours or minutes.

    Raises
    ------
    BadInput
        If it is not a duration, is zero, or is longer than a day and a half.

    Examples
    --------
    >>> parse_duration("1h30"), parse_duration("45 min")
    (datetime.timedelta(seconds=5400), datetime.timedelta(seconds=2700))
    """
    hint = "Write it like 2h, 1h30, 1:30 or 90min"
    length = _length(text)
    if length is None:
        raise BadInput(f"'{text}' is not a length of time", hint)
    if not timedelta(0) < length <= timedelta(hours=36):
        raise BadInput(f"'{text}' cannot be one sitting at the bench", hint)
    return length


def _length(text: str) -> timedelta | None:
    plain = plainly(text)
    if clock := re.match(_CLOCK, plain):
        return timedelta(hours=int(clock[1]), minutes=int(clock[2]))
    if plain and not plain.replace(".", "").isdigit() and (match := re.match(_DURATION, plain)):
        hours = float((match[1] or "0").replace(",", "."))
        return timedelta(seconds=round(hours * 3600) + 60 * int(match[2] or 0))
    return None


def parse_hours(text: str) -> float:
    """Read the hours that work takes: a bare number, or a length of time.

    Raises
    ------
    BadInput
        If it is neither, or not between 0.01 and 5000.

    Examples
    --------
    >>> [parse_hours(text) for text in ("19", "12,5h", "12h30", "40:30", "90 min", "12 hours")]
    [19.0, 12.5, 12.5, 40.5, 1.5, 12.0]
    """
    length = _length(text)
    hours = 0.0 if length is None else length / timedelta(hours=1)
    if length is None and re.fullmatch(r"\d{1,5}([.,]\d{1,6})?", text.strip()):
        hours = float(text.replace(",", "."))
    if not _LEAST_HOURS <= hours <= MOST_HOURS:
        raise BadInput(
            f"'{text}' is not hours of work between {_LEAST_HOURS} and {MOST_HOURS}",
            "Write them like 12, 12.5, 12h30 or 12:30",
        )
    return hours


def format_hours(hours: float) -> str:
    """Show hours the way they are spoken: ``45 min``, ``2 h 10``, ``14 h``.

    Examples
    --------
    >>> [format_hours(h) for h in (0.0, 0.75, 2.17, 14.3, 1.999)]
    ['0 min', '45 min', '2 h 10', '14 h', '2 h']
    """
    minutes = round(hours * 60)
    if minutes < 60:
        return f"{minutes} min"
    if hours >= 10:
        return f"{hours:.0f} h"
    whole, rest = divmod(minutes, 60)
    return f"{whole} h {rest:02d}" if rest else f"{whole} h"


def format_hours_range(half: float | None, most: float | None) -> str:
    """Show hours that are enough in half and in four of five cases; ``?`` if not known.

    Every surface shows hours that are forecast so, and no other way.

    Examples
    --------
    >>> format_hours_range(6.25, 7.17), format_hours_range(14.2, 16.8)
    ('6 h 15 (50 %) to 7 h 10 (80 %)', '14 h (50 %) to 17 h (80 %)')
    >>> format_hours_range(3.0, 3.004), format_hours_range(None, None), format_hours_range(0, 0)
    ('3 h', '?', '–')
    """
    if half is None or most is None:
        return "?"
    if most < 0.02:
        return "–"
    low, high = format_hours(half), format_hours(most)
    return f"{low} (50 %) to {high} (80 %)" if low != high else high


def format_chance(chance: float) -> str:
    """Show a chance in per cent; nothing reckoned is quite sure.

    Examples
    --------
    >>> [format_chance(c) for c in (0.0, 0.01, 0.374, 0.99, 1.0)]
    ['<1 %', '1 %', '37 %', '99 %', '>99 %']
    """
    if 0.01 <= chance <= 0.99:
        return f"{100 * chance:.0f} %"
    return "<1 %" if chance < 0.01 else ">99 %"


def typed_numbers(text: str, what: str) -> list[float]:
    """Return numbers typed with commas or spaces between.

    Raises
    ------
    BadInput
        If there is anything else.

    Examples
    --------
    >>> typed_numbers("1,2 3.5", "list of heats")
    [1.0, 2.0, 3.5]
    """
    try:
        return [float(part) for part in text.replace(",", " ").split()]
    except ValueError:
        raise BadInput(f"'{text}' is not a {what}", "Write numbers like 1,2,3.5,5") from None


def typed_speeds(text: str, units: UnitSystem) -> list[float]:
    """Return speeds typed in a studio's own unit, in mm/s.

    Examples
    --------
    >>> typed_speeds("2,4", UnitSystem.IMPERIAL)
    [50.8, 101.6]
    """
    mm = MM_PER_INCH if units is UnitSystem.IMPERIAL else 1.0
    return [speed * mm for speed in typed_numbers(text, "list of speeds")]
