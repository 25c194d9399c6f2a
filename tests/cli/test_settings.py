"""Settings as they are shown and asked for by name."""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from burnplan.cli.app import run
from burnplan.cli.asking import ask_settings
from burnplan.desk.derived.studio_settings import ASKED, Hand, Ink, Paper, Settings, first_guess
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
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
    ink=Ink.RED, over_photo=True, mark="5e" * 32,
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


def test_what_an_hour_earns_follows_the_currency(burnplan: Run, studio: Studio) -> None:
    def target() -> Decimal | None:
        return settings.current(studio).hourly_target

    assert burnplan("settings", "currency=EUR", "hourly_target=35")[2] == ""
    _, out, err = burnplan("settings", "currency=JPY")
    assert target() is None
    assert err == "hourly_target was €35.00 an hour; in JPY it is not said: prices stay open\n"
    assert "hourly_target not said: prices stay open" in " ".join(out.split())
    # In whatever order: an amount is one of the currency that is given beside it.
    assert burnplan("settings", "hourly_target=2000", "currency=JPY")[2] == ""
    assert target() == 2000
    assert burnplan("settings", "currency=JPY", "name=Bench")[2] == ""
    assert target() == 2000
    assert burnplan("settings", "hourly_target=28", "currency=USD")[2] == ""
    assert target() == 28
    assert "in EUR it is €30.00 an hour" in burnplan("settings", "currency=EUR")[2]
    assert burnplan("settings", "hourly_target=none")[0] == 0
    assert target() is None


@pytest.mark.parametrize(
    ("locale", "currency", "target"),
    [("de_DE", "EUR", 30), ("en_US", "USD", 30), ("ja_JP", "JPY", None), ("en_GB", "GBP", None)],
)
def test_it_begins_where_a_source_says_what_an_hour_costs(
    monkeypatch: pytest.MonkeyPatch, locale: str, currency: str, target: int | None
) -> None:
    """30.5 EUR: Eurostat, EU, 2022. 30.33 USD: US BLS, USDL-24-0485, private wages."""
    monkeypatch.setenv("LC_ALL", f"{locale}.UTF-8")
    own = first_guess()
    assert (own.currency, own.hourly_target) == (currency, target)


def test_asked_in_a_terminal_it_may_stay_open(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LC_ALL", "ja_JP.UTF-8")
    asked: dict[str, str] = {}

    def prompt(question: str, default: str, **_: object) -> str:
        asked[question] = default
        return "EUR" if question.startswith("Currency") else default

    monkeypatch.setattr("typer.prompt", prompt)
    assert ask_settings(first_guess()).hourly_target == 30  # that of the currency answered
    assert asked["What an hour should earn"] == "30"
    monkeypatch.setattr("typer.prompt", lambda _question, default, **_: default)
    assert ask_settings(first_guess()).hourly_target is None


@pytest.mark.long
def test_without_it_hours_are_said_and_prices_stay_open(
    burnplan: Run, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LC_ALL", "ja_JP.UTF-8")
    asked = ("estimate", "--size", "20x30cm", "--dark", "3")
    line = "No price yet; say what an hour earns: burnplan settings hourly_target=AMOUNT"
    code, out, _ = burnplan(*asked)
    assert code == 0
    assert line in out.splitlines()
    found = json.loads(burnplan(*asked, "--json")[1])
    assert found["price"] is None
    assert found["hours"]["total"]["p50"] > 1
    priced = json.loads(burnplan(*asked, "--rate", "2000", "--json")[1])["price"]
    assert priced["currency"] == "JPY"
    burnplan("commission", "add", "Barn", "--size", "20x15cm", "--species", "basswood")
    assert burnplan("reference", "add", "C-0001", str(photo), "--zones", "3")[0] == 0
    for words in (("quote", "draft", "1"), ("quote", "issue", "1"), ("price-list",)):
        code, out, err = burnplan(*words)
        assert (code, out, err.count("\n")) == (2, "", 1)
        assert "burnplan settings hourly_target=AMOUNT" in err
    _, out, _ = burnplan("whatif", "C-0001", "--size", "10x15cm")
    assert out.count(" open ") == 2
    assert line in out.splitlines()
    assert burnplan("earnings")[0] == 0
    assert burnplan("settings", "hourly_target=2000")[0] == 0
    assert "Price" in burnplan("quote", "draft", "1")[1]
    assert "open" not in burnplan("whatif", "C-0001", "--size", "10x15cm")[1]


def test_an_hour_earns_something_or_prices_stay_open(burnplan: Run, studio: Studio) -> None:
    code, _, err = burnplan("settings", "hourly_target=0")
    assert code == 2
    assert "An hour that earns nothing makes no price" in err
    # One on record from before: no quote is made that pays for hours without end.
    settings.save(studio, settings.current(studio).model_copy(update={"hourly_target": Decimal(0)}))
    burnplan("commission", "add", "Barn", "--size", "20x15cm", "--species", "basswood")
    assert burnplan("estimate", "--size", "20x30cm", "--dark", "3")[0] == 0
    code, _, err = burnplan("quote", "issue", "1", "--hours", "5")
    assert code == 2
    assert "burnplan settings hourly_target=AMOUNT" in err


def test_figures_to_begin_with_say_where_they_are_from(burnplan: Run) -> None:
    out = " ".join(burnplan("settings", "--sources")[1].split())
    for words in (
        "consumables, of the work 4 % common practice, no source", "workshop, of the work 10 %",
        "deposit 40 %", "30 days common practice", "80 % our own choice",
        "an hour earns, EUR 30 Eurostat", "an hour earns, USD 30 US BLS",
    ):  # fmt: skip
        assert words in out


def test_costs_that_another_currency_reads_otherwise_are_told_of(
    burnplan: Run, studio: Studio
) -> None:
    assert burnplan("settings", "currency=EUR", "hourly_target=35")[2] == ""
    blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm", cost="18.50"))
    blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm"))
    assert burnplan("settings", "hourly_target=36")[2] == ""
    err = " ".join(burnplan("settings", "currency=USD", "hourly_target=40")[2].split())
    assert "those of B-0001 are USD from now on" in err
