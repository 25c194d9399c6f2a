"""Settings as they are shown and asked for by name."""

from decimal import Decimal

import pytest

from burnplan.cli.app import run
from burnplan.desk.derived.studio_settings import ASKED, Hand, Ink, Paper, Settings
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.passes import Detail
from burnplan.units import UnitSystem
from tests.cli.conftest import Run


def _said(studio: Studio, capsys: pytest.CaptureFixture[str], *changes: str) -> tuple[str, str]:
    run(["settings", *changes], studio)
    out, err = capsys.readouterr()
    return "\n".join(" ".join(line.split()) for line in out.splitlines()), err


def test_settings_are_shown_with_units(studio: Studio, capsys: pytest.CaptureFixture[str]) -> None:
    out, _ = _said(studio, capsys, "locale=de_DE", "currency=EUR", "hourly_target=35,5")
    for line in (
        "hours Mon–Fri 4 h", "burning_hours 24 h: no limit", "hourly_target 35,50 € an hour",
        "address none", "pay_to none", "holidays none", "drying_days 1 day", "delivery_days 0 days",
        "deposit_percent 40 %",
    ):  # fmt: skip
        assert line in out.splitlines()
    out, _ = _said(
        studio, capsys, "hours=4 4 0 4 2.5 0 1", "burning_hours=3", "address=Mill Lane 2; Upton"
    )
    assert "hours Mon–Tue 4 h, Thu 4 h, Fri 2.5 h, Sun 1 h" in out
    assert "burning_hours at most 3 h a day" in out
    assert "address Mill Lane 2; Upton" in out


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("hand=left", "Did you mean drawing_hand?"),
        ("currancy=EUR", "Did you mean currency?"),
        ("hour=3", "Did you mean hourly_target or hours or burning_hours?"),
        ("zzz=3", "Settings are name, units,"),
    ],
)
def test_a_setting_misspelt_is_asked_about(
    studio: Studio, capsys: pytest.CaptureFixture[str], change: str, said: str
) -> None:
    assert said in _said(studio, capsys, change)[1]


OTHERS = Settings(
    name="Hollow Oak", address="Mill Lane 2\nUpton", pay_to="IBAN", units=UnitSystem.IMPERIAL,
    currency="CHF", locale="de_CH", paper=Paper.TABLOID, drawing_hand=Hand.LEFT,
    ink=Ink.RED, over_photo=True,
    hourly_target=Decimal("1350.50"), tax_percent=Decimal("7.7"), deposit_percent=Decimal(25),
    hours=dict(zip(Settings().hours, (0.0, 2.5, 4.0, 4.0, 24.0, 0.0, 1.0), strict=True)),
    burning_hours=2.5, holidays="DE-BY", drying_days=2, delivery_days=3,
    line=Detail.FINE,
)  # fmt: skip


def test_each_setting_is_read_as_it_is_written_and_kept(studio: Studio) -> None:
    assert ASKED.keys() == Settings.model_fields.keys()
    plain = Settings()
    for own in (plain, OTHERS):
        for name, asked in ASKED.items():
            value = getattr(own, name)
            assert asked.read(asked.written(value, own), own) == value
            assert asked.said(value, own)
    assert not [name for name, value in OTHERS if value == getattr(plain, name)]
    settings.save(studio, OTHERS)
    assert settings.current(studio) == OTHERS


def test_figures_to_begin_with_say_where_they_are_from(burnplan: Run) -> None:
    out = " ".join(burnplan("settings", "--sources")[1].split())
    for words in (
        "consumables, of the work 4 % common practice, no source", "workshop, of the work 10 %",
        "deposit 40 %", "30 days common practice", "80% our own choice",
    ):  # fmt: skip
        assert words in out
