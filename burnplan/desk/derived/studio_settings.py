"""How this studio works: its settings, how each is asked for and said, and what the book has."""

import os
import re
from collections.abc import Callable
from decimal import Decimal
from enum import StrEnum
from itertools import groupby
from typing import Any, NamedTuple

from pydantic import Field
from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned, cleaned_note
from burnplan.errors import BadInput
from burnplan.files import given_path, refuse_what_is_no_file
from burnplan.ledger.models import Studio
from burnplan.money import (
    check_currency,
    check_locale,
    format_money,
    minor_digits,
    parse_money,
    parse_number,
)
from burnplan.passes import Detail
from burnplan.units import UnitSystem
from burnplan.view import View
from burnplan.wording import Wording

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


class Paper(StrEnum):
    """Paper the reference is printed on (ISO 216, and North American sizes)."""

    A4 = "a4"
    A3 = "a3"
    LETTER = "letter"
    TABLOID = "tabloid"


class Hand(StrEnum):
    """The hand that draws."""

    RIGHT = "right"
    LEFT = "left"


class Ink(StrEnum):
    """The colour of lines to trace: a pen of another colour shows what has been traced."""

    BLUE = "blue"
    RED = "red"
    GREY = "grey"

    @property
    def pen(self) -> str:
        """The colour of the pen that shows on it."""
        return "blue" if self is Ink.RED else "red"

    @classmethod
    def _missing_(cls, value: object) -> "Ink | None":
        return cls.GREY if value == "gray" else None


# What an hour should earn where nobody said it yet: what one of work costs, rounded.
STARTING_TARGETS = {
    "EUR": Decimal(30),  # Eurostat, hourly labour costs 2022: 30.5 in the EU
    "USD": Decimal(30),  # US BLS, USDL-24-0485, December 2023: wages of private industry 30.33
}
"""By currency; where no figure was found it is open until it is said (our own choice)."""


class Settings(View):
    """A studio's settings."""

    name: str = "My studio"
    # Lines at the head of letters, and where an invoice is to be paid.
    address: str = ""
    pay_to: str = ""
    units: UnitSystem = UnitSystem.METRIC
    currency: str = "EUR"
    locale: str = "en_GB"
    paper: Paper = Paper.A4
    drawing_hand: Hand = Hand.RIGHT
    # A red pen, which most trace with, shows on blue lines (common practice, no source).
    ink: Ink = Ink.BLUE
    over_photo: bool = False
    # None until it is said: prices stay open.
    hourly_target: Decimal | None = Decimal(30)  # Eurostat, 2022: see STARTING_TARGETS
    tax_percent: Decimal = Decimal(0)
    deposit_percent: Decimal = Decimal(40)  # common practice, no source
    # Half a day at the bench on workdays (a guess: every studio sets its own).
    hours: dict[str, float] = Field(
        default_factory=lambda: dict(zip(DAYS, (4.0, 4.0, 4.0, 4.0, 4.0, 0.0, 0.0), strict=True))
    )
    burning_hours: float = 24.0  # no limit, by definition
    holidays: str = ""
    # A night for the last coat (common practice, no source; its label has the last word).
    drying_days: int = 1
    delivery_days: int = 0
    # How much is drawn of a photo's lines where a plan does not say.
    line: Detail = Detail.USUAL
    # An image on what clients read: the SHA-256 it is kept by, or a file that is to be kept.
    mark: str = ""

    @property
    def wording(self) -> Wording:
        """How the program's own words are read here."""
        return Wording(self.units, self.locale)

    @property
    def size_unit(self) -> str:
        """The unit of a size that is typed without one."""
        return "in" if self.units is UnitSystem.IMPERIAL else "cm"

    @property
    def thickness_unit(self) -> str:
        """The unit of a thickness that is typed without one."""
        return "in" if self.units is UnitSystem.IMPERIAL else "mm"

    @property
    def digits(self) -> int:
        """Decimals of the currency's minor unit."""
        return minor_digits(self.currency)


class Asked(NamedTuple):
    """How a setting is asked for, read and said; by its value and the settings it is among."""

    question: str
    read: Callable[[str, Settings], object]
    # As the user would type it.
    written: Callable[[Any, Settings], str] = lambda value, _own: str(value)
    # With its unit; as it is written if not given.
    words: Callable[[Any, Settings], str] | None = None
    # With a good default, so not among the first questions.
    later: bool = False

    def said(self, value: object, own: Settings) -> str:
        """Return a value as it is read, with its unit."""
        return (self.words or self.written)(value, own) or "none"


def _one_of(kind: type[StrEnum]) -> Callable[[str, Settings], StrEnum]:
    def read(text: str, _own: Settings) -> StrEnum:
        try:
            return kind(text.strip().lower())
        except ValueError:
            names = " or ".join(kind)
            raise BadInput(f"'{text}' is not a choice here", f"Choose {names}") from None

    return read


def _yes_or_no(text: str, _own: Settings) -> bool:
    answer = {"yes": True, "y": True, "no": False, "n": False}.get(text.strip().lower())
    if answer is None:
        raise BadInput(f"'{text}' is neither yes nor no", "Write yes or no")
    return answer


def _in_a_word(value: bool, _own: Settings) -> str:
    return "yes" if value else "no"


def _lines(text: str, _own: Settings) -> str:
    return "\n".join(line.strip() for line in cleaned_note(text).split(";")).strip()


def _semicolons(value: str, _own: Settings) -> str:
    return "; ".join(value.splitlines())


def _percent(name: str) -> Callable[[str, Settings], Decimal]:
    def read(text: str, _own: Settings) -> Decimal:
        value = parse_number(text, name, least=0, most=100)
        if value != round(value, 4):
            raise BadInput(f"'{text}' is finer than the book can hold", "Write it like 19 or 7.5")
        return value

    return read


def _target(text: str, own: Settings) -> Decimal | None:
    if text.strip().lower() in ("", "none"):
        return None
    value = parse_money(text, own.currency, own.locale)
    if not value:
        raise BadInput("An hour that earns nothing makes no price", "Give what it should earn")
    return value


def _mark(text: str, _own: Settings) -> str:
    if text.strip().lower() in ("", "none"):
        return ""
    if is_kept(text.strip()):
        return text.strip()
    path = given_path(text.strip())
    refuse_what_is_no_file(path)
    if not path.is_file():
        raise BadInput(f"'{text}' is not there", "Name an image, such as mark.png, or none")
    return str(path.absolute())


def is_kept(mark: str) -> bool:
    """Return whether a mark is an image that is kept already."""
    return re.fullmatch(r"[0-9a-f]{64}", mark) is not None


def _hours(text: str, _own: Settings) -> dict[str, float]:
    hint = "Write seven numbers from Monday on, for example: 4 4 4 4 4 0 0"
    try:
        numbers = [float(part) for part in text.replace(",", " ").split()]
    except ValueError:
        raise BadInput(f"'{text}' is not hours for each weekday", hint) from None
    if len(numbers) != len(DAYS) or not all(0 <= number <= 24 for number in numbers):
        raise BadInput(f"'{text}' is not hours for each weekday", hint)
    if not any(numbers):
        raise BadInput("No weekday has hours free for work", hint)
    return dict(zip(DAYS, numbers, strict=True))


def _burning_hours(text: str, _own: Settings) -> float:
    try:
        hours = float(text.strip().removesuffix("h").strip().replace(",", "."))
    except ValueError:
        hours = 0.0
    if not 0 < hours <= 24:
        raise BadInput(f"'{text}' is not hours in a day", "Write it like 3 or 2.5; 24 is no limit")
    return hours


def _days(text: str, _own: Settings) -> int:
    try:
        days = int(text.strip())
    except ValueError:
        days = -1
    if not 0 <= days <= 365:
        raise BadInput(f"'{text}' is not a number of days", "Write it like 2")
    return days


def country(text: str) -> str:
    """Return a country, or part of one, whose public holidays are known."""
    plain = text.strip().upper()
    if plain in ("", "NONE"):
        return ""
    from holidays import list_supported_countries

    country, dash, part = plain.partition("-")
    parts = list_supported_countries().get(country)
    if parts is None or (dash and part not in parts):
        raise BadInput(
            f"No public holidays are known for '{text}'",
            "Write a country like DE or one of its parts like DE-BY, or none",
        )
    return plain


def _decimal(value: Decimal, own: Settings) -> str:
    from babel.numbers import format_decimal

    return str(format_decimal(value, locale=own.locale))


def _plain_decimal(value: Decimal, _own: Settings) -> str:
    return f"{value.normalize():f}"


def _per_cent(value: Decimal, own: Settings) -> str:
    return f"{_plain_decimal(value, own)} %"


def _seven(value: dict[str, float], _own: Settings) -> str:
    return " ".join(f"{hours:g}" for hours in value.values())


def _week(value: dict[str, float], _own: Settings) -> str:
    """Return the hours free, days alike together.

    Examples
    --------
    >>> _week({"mon": 4.0, "tue": 4.0, "wed": 0.0, "thu": 2.5}, Settings())
    'Mon–Tue 4 h, Thu 2.5 h'
    """
    alike = [(free, [*days]) for free, days in groupby(value, key=value.__getitem__)]
    return ", ".join(
        f"{days[0].capitalize()}{f'–{days[-1].capitalize()}' if days[1:] else ''} {free:g} h"
        for free, days in alike
        if free
    )


def _a_day(value: float, _own: Settings) -> str:
    return "24 h: no limit" if value == 24 else f"at most {value:g} h a day"


def _in_days(value: int, _own: Settings) -> str:
    return f"{value} day{'' if value == 1 else 's'}"


ASKED = {
    "name": Asked("Name of the studio", lambda text, _: cleaned(text, "name")),
    "units": Asked("Units (metric or imperial)", _one_of(UnitSystem)),
    "currency": Asked("Currency (ISO code)", lambda text, _: check_currency(text)),
    "locale": Asked("Language and country (like en_GB)", lambda text, _: check_locale(text)),
    "paper": Asked("Paper (a4, a3, letter or tabloid)", _one_of(Paper)),
    "drawing_hand": Asked("Drawing hand (right or left)", _one_of(Hand)),
    "hourly_target": Asked(
        "What an hour should earn",
        _target,
        lambda value, own: "none" if value is None else _decimal(value, own),
        lambda value, own: (
            "not said: prices stay open"
            if value is None
            else f"{format_money(value, own.currency, own.locale)} an hour"
        ),
    ),
    "tax_percent": Asked(
        "Tax on sales, per cent", _percent("tax_percent"), _plain_decimal, _per_cent
    ),
    "deposit_percent": Asked(
        "Deposit asked for, per cent", _percent("deposit_percent"), _plain_decimal, _per_cent
    ),
    "hours": Asked("Hours free, Monday to Sunday (7 numbers)", _hours, _seven, _week),
    "ink": Asked(
        "Colour of lines to trace, that your pen shows on (blue, red or grey)",
        _one_of(Ink),
        words=lambda value, own: own.wording.own(value),
        later=True,
    ),
    "over_photo": Asked(
        "Lines to trace over the faint photo (yes or no)", _yes_or_no, _in_a_word, later=True
    ),
    "address": Asked("Address on letters (lines parted by ;)", _lines, _semicolons, later=True),
    "pay_to": Asked(
        "Where to pay, on invoices (lines parted by ;)", _lines, _semicolons, later=True
    ),
    "burning_hours": Asked(
        "Most hours of burning in a day (24: no limit)",
        _burning_hours,
        lambda value, _: f"{value:g}",
        _a_day,
        later=True,
    ),
    "holidays": Asked(
        "Public holidays kept, by country (like DE or DE-BY; none)",
        lambda text, _: country(text),
        lambda value, _: value or "none",
        later=True,
    ),
    "drying_days": Asked(
        "Days the finish dries after the last coat", _days, words=_in_days, later=True
    ),
    "delivery_days": Asked(
        "Days a piece is on its way to the client", _days, words=_in_days, later=True
    ),
    "mark": Asked(
        "Your mark on what clients read (an image; none)",
        _mark,
        words=lambda value, _: f"an image, {value[:8]}" if is_kept(value) else value,
        later=True,
    ),
    "line": Asked("Lines to trace (calm, usual or fine)", _one_of(Detail), later=True),
}


def first_guess() -> Settings:
    """Return settings guessed from the system's language and country."""
    from babel.core import Locale, UnknownLocaleError
    from babel.numbers import get_territory_currencies

    # Asked of the environment itself: Python takes the plain C locale for American.
    named = next(
        (os.environ[n] for n in ("LC_ALL", "LC_MONETARY", "LANG") if os.environ.get(n)), ""
    )
    try:
        known = Locale.parse(named.partition(".")[0].partition("@")[0])
    except (UnknownLocaleError, ValueError):
        return Settings()
    if not known.territory:
        return Settings()
    currencies = get_territory_currencies(known.territory)
    american = known.territory in ("US", "CA")
    currency = currencies[0] if currencies else "EUR"
    return Settings(
        units=UnitSystem.IMPERIAL if known.territory == "US" else UnitSystem.METRIC,
        currency=currency,
        hourly_target=STARTING_TARGETS.get(currency),
        locale=_spelled(str(known)),
        paper=Paper.LETTER if american else Paper.A4,
    )


def _spelled(locale: str) -> str:
    """Return the locale that money is written in: the plain C locale has no form of its own."""
    return locale.removesuffix("_POSIX")


def of_book(book: Session) -> Settings:
    """Return the settings on record in an open book, or the first guess."""
    row = book.get(Studio, 1)
    if row is None:
        return first_guess()
    plain = {name: getattr(row, name) for name in Settings.model_fields if name != "hours"}
    plain["locale"] = _spelled(plain["locale"])
    return Settings(**plain, hours={day: getattr(row, f"hours_{day}") for day in DAYS})
