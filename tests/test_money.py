"""Minor units: ISO 4217 as CLDR has it (JPY 0, EUR 2, KWD 3)."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.money import (
    check_currency,
    check_locale,
    format_money,
    parse_money,
    round_money,
    typed_money,
)


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


@pytest.mark.parametrize(
    ("text", "currency"),
    [("-5", "EUR"), ("1.234", "EUR"), ("1.5", "JPY"), ("ten", "EUR"), ("", "EUR"),
     ("$5", "EUR"), ("NaN", "EUR"), ("Infinity", "EUR"), ("9" * 30, "EUR")],
)  # fmt: skip
def test_what_is_no_amount_is_refused(text: str, currency: str) -> None:
    with pytest.raises(BadInput):
        parse_money(text, currency, "en_GB")


@given(st.decimals(0, 10**9, places=2), st.sampled_from(["en_GB", "de_DE", "fr_FR", "pl_PL"]))
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
