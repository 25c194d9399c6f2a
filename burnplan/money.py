"""Money as Decimal, in the currencies and spellings of CLDR (through Babel)."""

import re
import unicodedata
from decimal import ROUND_HALF_UP, Decimal

from burnplan.errors import BadInput

LARGEST = Decimal(10) ** 12
# CLDR changes its mind about these marks (French in Switzerland: a narrow space, then an
# apostrophe) and keyboards have only some of them, so each is taken in every locale.
# Marks of direction, which locales written from the right put beside signs. A terminal shows
# none; on paper the whole line is laid out.
_TURNS = re.compile("[\u061c\u200e\u200f]")
GROUPED = re.compile(r"(?<![\d.,])\d{1,3}(?:[\s'’]\d{3})+(?!\d)")


def parse_number(text: str, what: str, *, least: Decimal | int, most: int) -> Decimal:
    """Read a number as people write it, with a point or a comma, a per cent sign or none.

    Parameters
    ----------
    text : str
    what : str
        What it is, for the error.
    least, most : Decimal or int
        What it may be, both included.

    Raises
    ------
    BadInput

    Examples
    --------
    >>> parse_number(" 7,5 %", "--rush", least=0, most=100)
    Decimal('7.5')
    """
    try:
        value = Decimal(text.strip().removesuffix("%").strip().replace(",", "."))
    except ArithmeticError:
        value = Decimal("nan")
    if not (value.is_finite() and least <= value <= most):
        raise BadInput(
            f"'{text}' is not a number between {least} and {most} for {what}",
            "Write it like 25 or 7.5",
        )
    return value


# Signs that one currency has for itself, or nearly so; what the dollar's means has to be said.
_SIGNS = {"€": "EUR", "£": "GBP"}


def check_currency(code: str) -> str:
    """Return the ISO 4217 code in capitals, or refuse it.

    Raises
    ------
    BadInput
        If CLDR does not know the code.

    Examples
    --------
    >>> check_currency("eur"), check_currency("€")
    ('EUR', 'EUR')
    """
    from babel.core import Locale  # heavy: only when money is read or shown

    code = _SIGNS.get(code.strip(), code.strip().upper())
    if code not in Locale("en").currencies:
        raise BadInput(f"'{code}' is not a currency", "Give its ISO 4217 code, for example EUR")
    return code


def check_locale(name: str) -> str:
    """Return the locale's name in CLDR spelling, or refuse it.

    Raises
    ------
    BadInput
        If CLDR does not know the locale.

    Examples
    --------
    >>> check_locale("de-CH")
    'de_CH'
    """
    from babel.core import Locale, UnknownLocaleError

    try:
        return str(Locale.parse(name.strip().replace("-", "_")))
    except (UnknownLocaleError, ValueError, TypeError):
        raise BadInput(
            f"'{name}' is not a known locale", "Give one like en_GB, de_DE or ja_JP"
        ) from None


def minor_digits(currency: str) -> int:
    """Return the number of decimals of a currency, by CLDR.

    Examples
    --------
    >>> [minor_digits(code) for code in ("JPY", "EUR", "KWD")]
    [0, 2, 3]
    """
    from babel.numbers import get_currency_precision

    return int(get_currency_precision(currency))


def currency_sign(currency: str, locale: str = "en") -> str:
    """Return a currency's sign, as amounts have it in a locale.

    Examples
    --------
    >>> currency_sign("EUR"), currency_sign("KWD")
    ('€', 'KWD')
    """
    from babel.numbers import get_currency_symbol

    return _TURNS.sub("", get_currency_symbol(currency, locale))


def round_money(amount: Decimal, currency: str) -> Decimal:
    """Round half up to the currency's minor unit.

    Examples
    --------
    >>> round_money(Decimal("2.345"), "EUR"), round_money(Decimal("2.5"), "JPY")
    (Decimal('2.35'), Decimal('3'))
    """
    return amount.quantize(Decimal(1).scaleb(-minor_digits(currency)), ROUND_HALF_UP)


def parse_money(text: str, currency: str, locale: str = "en", *, negative: bool = False) -> Decimal:
    """Read an amount in the locale's own form, with or without a currency sign.

    Parameters
    ----------
    text : str
        ``1,250.50`` in ``en``, ``1.250,50`` in ``de``, ``€ 40`` or ``40 EUR``; any space or
        apostrophe may stand between thousands.
    currency, locale : str
        ISO 4217 code and CLDR locale.
    negative : bool
        Whether an amount below zero is allowed.

    Raises
    ------
    BadInput
        If it is not an amount, names another currency, is negative, too large,
        or finer than the currency's minor unit.

    Examples
    --------
    >>> parse_money("1.250,50 €", "EUR", "de")
    Decimal('1250.50')
    """
    from babel.numbers import (
        NumberFormatError,
        get_decimal_symbol,
        parse_decimal,
    )

    bare = _with_plain_figures(_TURNS.sub("", text).strip(), get_decimal_symbol(locale))
    for sign in (currency_sign(currency, locale), currency_sign(currency, "en")):
        bare = bare.replace(sign, "")
    bare = bare.strip()
    for code in (currency, currency.lower()):
        bare = bare.removeprefix(code).removesuffix(code).strip()
    bare = re.sub(r"^([-−])\s+", r"\1", bare)
    example = format_money(Decimal(1250), currency, locale)
    bare = GROUPED.sub(lambda found: re.sub(r"\D", "", found[0]), bare)
    hint = f"Write an amount in {currency}, for example {example}"
    try:
        amount = parse_decimal(bare, locale, strict=True)
    except (NumberFormatError, ArithmeticError, ValueError):
        raise BadInput(f"'{text}' is not an amount of money", hint) from None
    if not amount.is_finite() or amount.copy_abs() > LARGEST:
        raise BadInput(f"'{text}' is not an amount of money", hint)
    if amount < 0 and not negative:
        raise BadInput(f"'{text}' is below zero", hint)
    rounded = round_money(amount, currency)
    if rounded != amount:
        raise BadInput(f"'{text}' is finer than {currency} has coins for", hint)
    return rounded


def _with_plain_figures(text: str, decimal: str) -> str:
    """Return an amount with the figures 0 to 9, whichever digits of the world it was typed with."""
    plain = "".join(str(unicodedata.decimal(one)) if one.isdecimal() else one for one in text)
    return plain.replace("\N{ARABIC THOUSANDS SEPARATOR}", "").replace(
        "\N{ARABIC DECIMAL SEPARATOR}", decimal
    )


def format_money(amount: Decimal, currency: str, locale: str = "en") -> str:
    """Show an amount with its sign, in the locale's form.

    Examples
    --------
    >>> format_money(Decimal("1250.5"), "EUR")
    '€1,250.50'
    """
    from babel.numbers import format_currency

    return _TURNS.sub("", format_currency(amount, currency, locale=locale))


def typed_money(amount: Decimal, currency: str, locale: str = "en") -> str:
    """Return an amount as it is typed into a command: no sign, no groups of digits.

    Examples
    --------
    >>> typed_money(Decimal("1308.4"), "EUR", "de")
    '1308,40'
    """
    from babel.numbers import format_decimal

    pattern = "0." + "0" * minor_digits(currency)
    return str(format_decimal(amount, pattern.removesuffix("."), locale=locale))


def format_balance(balance: Decimal, currency: str, locale: str = "en") -> str:
    """Show what is owed; what was paid beyond it in words, not as a debt below zero.

    Examples
    --------
    >>> format_balance(Decimal(-10), "EUR"), format_balance(Decimal(10), "EUR")
    ('€10.00 too much', '€10.00')
    """
    shown = format_money(abs(balance), currency, locale)
    return f"{shown} too much" if balance < 0 else shown
