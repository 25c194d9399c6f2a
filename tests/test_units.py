"""Sizes and lengths: the international inch is 25.4 mm exactly (ISO 31-1, 1959 agreement)."""

import math
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.units import (
    UnitSystem,
    format_area,
    format_hours,
    format_runs,
    format_size,
    parse_duration,
    parse_length,
    parse_size,
)
from burnplan.wording import Wording


@pytest.mark.parametrize(
    ("text", "kind", "width", "height"),
    [
        ("30x40cm", "rectangle", 300, 400),
        ("300 x 400 mm", "rectangle", 300, 400),
        ("12x16in", "rectangle", 304.8, 406.4),
        ("12 1/2 x 16 in", "rectangle", 317.5, 406.4),
        ("12½ × 16 in", "rectangle", 317.5, 406.4),
        ('8"x10"', "rectangle", 203.2, 254),
        ("30cm by 12in", "rectangle", 300, 304.8),
        ("0,5x0,75 m", "rectangle", 500, 750),
        ("round 25cm", "round", 250, 250),
        ("Round 10 in", "round", 254, 254),
        ("oval 20x30cm", "oval", 200, 300),
        ("12-1/2 x 16 in", "rectangle", 317.5, 406.4),
        ("10 in round", "round", 254, 254),
        ("20x30cm oval", "oval", 200, 300),
    ],
)
def test_a_size_is_read(text: str, kind: str, width: float, height: float) -> None:
    size = parse_size(text)
    assert size.kind == kind
    assert (size.width_mm, size.height_mm) == pytest.approx((width, height), abs=1e-3)


@pytest.mark.parametrize(
    ("text", "unit", "width", "height"),
    [
        ("11x14", "in", 279.4, 355.6),
        ("11x14", "cm", 110, 140),
        ("round 10", "in", 254, 254),
        ("10 round", "in", 254, 254),
        ("12-1/2 x 16", "in", 317.5, 406.4),
        ("30x40cm", "in", 300, 400),
    ],
)
def test_a_size_without_a_unit_has_that_of_the_studio(
    text: str, unit: str, width: float, height: float
) -> None:
    size = parse_size(text, default_unit=unit)
    assert (size.width_mm, size.height_mm) == pytest.approx((width, height), abs=1e-3)


@pytest.mark.parametrize(
    "text",
    ["", "30x40", "30", "axb cm", "30x-40cm", "0x40cm", "1x1mm", "99x99m", "round 20x30cm",
     "1/0x3in", "30x40x2cm", "nan x 3cm", "1e3x2cm", "x" * 500],
)  # fmt: skip
def test_what_is_no_size_is_refused_in_a_line(text: str) -> None:
    with pytest.raises(BadInput) as refused:
        parse_size(text)
    assert "\n" not in str(refused.value)


@given(st.text(max_size=40))
def test_no_text_breaks_the_readers(text: str) -> None:
    for reader in (parse_size, parse_length, parse_duration):
        try:
            reader(text)
        except BadInput:
            continue


@given(
    st.sampled_from([OutlineKind.RECTANGLE, OutlineKind.OVAL]),
    st.integers(100, 20000),
    st.integers(100, 20000),
)
def test_a_size_shown_reads_back(kind: OutlineKind, width: int, height: int) -> None:
    size = Outline(kind, width / 10, height / 10)
    again = parse_size(format_size(size))
    assert (again.width_mm, again.height_mm) == pytest.approx((size.width_mm, size.height_mm))
    inches = parse_size(format_size(size, UnitSystem.IMPERIAL))
    assert inches.width_mm == pytest.approx(size.width_mm, abs=25.4 / 32 + 1e-3)


def test_areas_are_those_of_the_closed_forms() -> None:
    assert Outline(OutlineKind.OVAL, 200, 300).area_mm2 == pytest.approx(math.pi * 100 * 150)
    triangle = Outline(OutlineKind.LIVE_EDGE, 30, 40, ((0, 0), (30, 0), (0, 40)))
    assert triangle.area_mm2 == 600
    assert triangle.turned().area_mm2 == 600


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("2h", 120), ("1h30", 90), ("1:30", 90), ("90min", 90), ("1.5h", 90), ("1 h 5 m", 65)],
)
def test_a_duration_is_read(text: str, minutes: int) -> None:
    assert parse_duration(text) == timedelta(minutes=minutes)


@pytest.mark.parametrize("text", ["", "2", "0h", "-1h", "40h", "soon", "h"])
def test_what_is_no_duration_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        parse_duration(text)


@given(st.floats(0, 500))
def test_hours_are_always_short(hours: float) -> None:
    assert len(format_hours(hours)) <= 7


@given(st.lists(st.floats(0, 1e5), max_size=9), st.sampled_from(UnitSystem))
def test_runs_shown_add_up_as_shown(cms: list[float], units: UnitSystem) -> None:
    *parts, total = (Decimal(text.split()[0]) for text in format_runs(cms, units))
    assert sum(parts, Decimal(0)) == total


def test_a_foot_is_12_inches_of_25_4_mm() -> None:  # NIST SP 811, appendix B.6
    assert format_runs([30.48 * 7], UnitSystem.IMPERIAL)[0] == "7.0 ft"


def test_an_area_is_the_same_in_words_and_in_figures() -> None:
    wording = Wording(UnitSystem.IMPERIAL)
    for tenths in range(1, 20_000, 7):
        cm2 = tenths / 9.7
        assert wording.own(format_area(cm2)) == format_area(cm2, UnitSystem.IMPERIAL)
