"""What an American studio types and sees: the stages as it spells them, the demo in inches."""

import json
from datetime import UTC, datetime
from pathlib import Path
from unittest.mock import Mock

import pytest

from burnplan.cli import reading
from burnplan.desk import demo
from burnplan.desk.derived import studio_settings
from burnplan.units import UnitSystem, parse_length, parse_size
from tests.cli.conftest import Run

SPELT = ("inquiry", "enquiry")


def test_a_stage_is_known_in_either_spelling(burnplan: Run) -> None:
    assert burnplan("settings", "locale=en_US", "units=imperial")[0] == 0
    assert burnplan("commission", "add", "Fox")[0] == 0
    found = [json.loads(burnplan("jobs", "--stage", word, "--json")[1]) for word in SPELT]
    assert [one["code"] for one in found[0]] == ["C-0001"]
    assert found[0] == found[1]
    assert "inquiry" in burnplan("jobs", "--help")[1]


@pytest.mark.parametrize("named", ["C.UTF-8", "POSIX", "en_US.UTF-8", "de_DE.UTF-8", ""])
def test_what_is_said_without_a_book_is_in_the_units_that_one_begins_with(
    monkeypatch: pytest.MonkeyPatch, named: str
) -> None:
    monkeypatch.setenv("LC_ALL", named)
    for other in ("LC_MONETARY", "LANG"):
        monkeypatch.delenv(other, raising=False)
    assert reading.guessed().units is studio_settings.first_guess().units


def test_nothing_of_the_demo_is_still_to_come_of_an_evening_there(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    evening = datetime(2027, 3, 17, 3, tzinfo=UTC)  # of the day before in New York
    monkeypatch.setattr(demo, "datetime", Mock(now=lambda _zone: evening))
    studio, clock = demo.open_demo(tmp_path / "demo")
    studio.close()
    assert clock.now == datetime(2027, 3, 16, 9, tzinfo=UTC)


@pytest.mark.parametrize(
    ("country", "asked", "units"),
    [
        ("en_US.UTF-8", (), UnitSystem.IMPERIAL),
        ("de_DE.UTF-8", (), UnitSystem.METRIC),
        ("en_US.UTF-8", ("--units", "metric"), UnitSystem.METRIC),
        ("de_DE.UTF-8", ("--units", "imperial"), UnitSystem.IMPERIAL),
    ],
)
def test_the_demo_is_in_the_units_of_the_country_or_those_asked_for(
    burnplan: Run,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    country: str,
    asked: tuple[str, ...],
    units: UnitSystem,
) -> None:
    """What it is filled with: the whole walk takes long, and tests/walk has it."""
    monkeypatch.setenv("LC_ALL", country)
    seen = []

    class Enough(Exception):
        """Nothing more is asked of it."""

    def fill(_studio: object, _clock: object, in_units: UnitSystem) -> None:
        seen.append(in_units)
        raise Enough

    monkeypatch.setattr(demo, "fill", fill)
    with pytest.raises(Enough):
        burnplan("demo", "--keep", str(tmp_path / "kept"), *asked)
    assert seen == [units]


def test_each_size_of_the_invented_studio_has_one_in_inches_that_is_about_as_large() -> None:
    made = {blank.size for blank in demo.BLANKS} | {job.size for job in demo.JOBS}
    assert made <= {*demo.IN_INCHES}
    for metric, inches in demo.IN_INCHES.items():
        if "%" in metric:
            continue
        if "x" in metric or "round" in metric:
            one, other = parse_size(metric), parse_size(inches)
            sides = (one.width_mm / other.width_mm, one.height_mm / other.height_mm)
        else:
            sides = (parse_length(metric) / parse_length(inches),) * 2
        assert all(0.85 < side < 1.15 for side in sides), metric
    assert {blank.thickness for blank in demo.BLANKS} <= {*demo.IN_INCHES}


def test_its_settings_are_those_of_an_inch_studio() -> None:
    own = demo.settings_in(UnitSystem.IMPERIAL)
    assert (own.units, own.locale, own.currency, own.paper) == (
        UnitSystem.IMPERIAL, "en_US", "USD", "letter",
    )  # fmt: skip
