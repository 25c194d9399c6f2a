"""Minor units: ISO 4217 as CLDR has it (JPY 0, EUR 2, KWD 3)."""

from decimal import Decimal

import pytest
from babel.core import Locale
from babel.numbers import get_group_symbol
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.money import (
    check_currency,
    check_locale,
    format_balance,
    format_money,
    parse_money,
    parse_number,
    round_money,
    typed_money,
)
from burnplan.terminal_safe import terminal_safe


@pytest.mark.parametrize(
    ("text", "currency", "locale", "amount"),
    [
        ("1,250.50", "GBP", "en_GB", "1250.50"),
        ("£40", "GBP", "en_GB", "40"),
        ("1.250,50 €", "EUR", "de_DE", "1250.50"),
        ("40 EUR", "EUR", "en_GB", "40"),
        ("12000", "JPY", "ja_JP", "12000"),
        ("1.234", "KWD", "en_US", "1.234"),
    ],
)
def test_an_amount_is_read(text: str, currency: str, locale: str, amount: str) -> None:
    assert parse_money(text, currency, locale) == Decimal(amount)


# Space, no-break, narrow no-break, thin and figure space, and both apostrophes.
@pytest.mark.parametrize("mark", [" ", "\u00a0", "\u202f", "\u2009", "\u2007", "'", "’"])
@pytest.mark.parametrize("locales_own", ["\u202f", "'", "’"])  # fr_CH: Babel 2.18, 2.19; de_CH
def test_thousands_are_grouped_by_any_space_or_apostrophe(
    mark: str, locales_own: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    symbols = Locale.parse("fr_CH").number_symbols["latn"]
    monkeypatch.setitem(symbols, "group", locales_own)
    assert get_group_symbol("fr_CH") == locales_own
    assert parse_money(f"1{mark}250,50 CHF", "CHF", "fr_CH") == Decimal("1250.50")
    assert parse_money(f"12{mark}001{mark}250", "CHF", "fr_CH") == 12001250
    shown = format_money(Decimal("-1250.5"), "CHF", "fr_CH")
    assert locales_own in shown
    assert parse_money(shown, "CHF", "fr_CH", negative=True) == Decimal("-1250.5")


@pytest.mark.parametrize("locale", ["en_GB", "de_CH", "de_DE", "fr_FR", "pl_PL", "hi_IN"])
@pytest.mark.parametrize("text", ["40 50", "1 2500", "1250 500", "1 250 50", "' 250", "12 ' 500"])
def test_digits_apart_that_are_no_thousands_are_refused(text: str, locale: str) -> None:
    with pytest.raises(BadInput):
        parse_money(text, "EUR", locale)


@pytest.mark.parametrize(
    ("text", "currency"),
    [("-5", "EUR"), ("1.234", "EUR"), ("1.5", "JPY"), ("ten", "EUR"), ("", "EUR"),
     ("$5", "EUR"), ("NaN", "EUR"), ("Infinity", "EUR"), ("9" * 30, "EUR")],
)  # fmt: skip
def test_what_is_no_amount_is_refused(text: str, currency: str) -> None:
    with pytest.raises(BadInput):
        parse_money(text, currency, "en_GB")


@given(
    st.decimals(0, 10**9, places=2),
    st.sampled_from(["en_GB", "de_CH", "de_DE", "fr_CH", "fr_FR", "pl_PL"]),
)
def test_money_shown_reads_back(amount: Decimal, locale: str) -> None:
    assert parse_money(format_money(amount, "EUR", locale), "EUR", locale) == amount


@given(
    st.decimals(0, 10**9, places=3),
    st.sampled_from(["en_GB", "de_DE", "de_CH", "fr_FR", "pl_PL", "ar_EG", "hi_IN"]),
    st.sampled_from(["JPY", "EUR", "KWD"]),
)
def test_money_as_typed_is_one_word_that_reads_back(
    amount: Decimal, locale: str, currency: str
) -> None:
    rounded = round_money(amount, currency)
    typed = typed_money(rounded, currency, locale)
    assert set(typed) <= set("0123456789.,")
    assert parse_money(typed, currency, locale) == rounded


def test_halves_round_up() -> None:
    assert round_money(Decimal("0.125"), "EUR") == Decimal("0.13")
    assert round_money(Decimal("0.5"), "JPY") == 1


def test_unknown_currencies_and_locales_are_refused() -> None:
    with pytest.raises(BadInput):
        check_currency("ABC")
    with pytest.raises(BadInput):
        check_locale("martian")


def test_an_amount_is_a_million_millions_at_most() -> None:
    assert parse_money("1000000000000", "EUR") == 10**12
    with pytest.raises(BadInput, match="not an amount"):
        parse_money("1000000000000.01", "EUR")


def test_what_is_below_zero_by_a_cent_is() -> None:
    with pytest.raises(BadInput, match=r"below zero\W.*€1,250\.00"):
        parse_money("-0.01", "EUR")
    assert parse_money("-0.01", "EUR", negative=True) == Decimal("-0.01")
    assert parse_money("-1000000000000", "EUR", negative=True) == -(10**12)


@pytest.mark.parametrize(
    ("text", "number"), [("0", "0"), ("7,5 %", "7.5"), (" 100% ", "100"), ("0.01", "0.01")]
)
def test_a_number_is_read(text: str, number: str) -> None:
    assert parse_number(text, "--rush", least=0, most=100) == Decimal(number)


@pytest.mark.parametrize("text", ["-0.01", "100.01", "nan", "inf", "ten", "", "%"])
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(BadInput, match="between 0 and 100 for --rush"):
        parse_number(text, "--rush", least=0, most=100)


@pytest.mark.parametrize(
    ("balance", "shown"),
    [("0.50", "€0.50"), ("0", "€0.00"), ("-0.50", "€0.50 too much"), ("-2", "€2.00 too much")],
)
def test_what_was_paid_beyond_it_is_said_in_words(balance: str, shown: str) -> None:
    assert format_balance(Decimal(balance), "EUR") == shown


@pytest.mark.parametrize(
    ("locale", "currency"),
    [
        ("he_IL", "ILS"), ("ar_EG", "EGP"), ("ar_AE", "AED"), ("ar", "KWD"), ("fa_IR", "IRR"),
        ("ur_PK", "PKR"), ("ckb_IQ", "IQD"), ("ps_AF", "AFN"), ("hi_IN", "INR"), ("bn_BD", "BDT"),
    ],
)  # fmt: skip
def test_amounts_of_each_script_are_shown_whole_and_read_back(locale: str, currency: str) -> None:
    """Without CLDR's marks of direction, which a terminal shows as holes."""
    amount = round_money(Decimal("1250.5"), currency)
    for value in (amount, -amount):
        shown = format_money(value, currency, locale)
        assert terminal_safe(shown) == shown
        assert parse_money(shown, currency, locale, negative=True) == value
    assert parse_money(typed_money(amount, currency, locale), currency, locale) == amount


@pytest.mark.parametrize(
    ("text", "locale", "currency", "amount"),
    [
        ("۱۲۵۰", "fa_IR", "IRR", "1250"),
        ("١٬٢٥٠٫٥٠", "ar_EG", "EGP", "1250.50"),
        ("१,२५०", "hi_IN", "INR", "1250"),
        ("\u200f1,250.00\u00a0\u200f₪", "he_IL", "ILS", "1250"),
    ],
)
def test_any_digits_are_read(text: str, locale: str, currency: str, amount: str) -> None:
    assert parse_money(text, currency, locale) == Decimal(amount)
