"""How this studio works: asked, changed, and kept in its book, so that a shared book has it."""

from decimal import Decimal
from difflib import get_close_matches
from enum import StrEnum

from burnplan.desk.derived.studio_settings import DAYS, Hand, Paper, Settings, first_guess, of_book
from burnplan.desk.studio.lookup import cleaned, cleaned_note
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from burnplan.ledger import models
from burnplan.money import check_currency, check_locale, parse_money, parse_number
from burnplan.units import UnitSystem

QUESTIONS = {
    "name": "Name of the studio",
    "units": "Units (metric or imperial)",
    "currency": "Currency (ISO code)",
    "locale": "Language and country (like en_GB)",
    "paper": "Paper (a4, a3, letter or tabloid)",
    "drawing_hand": "Drawing hand (right or left)",
    "hourly_target": "What an hour should earn",
    "tax_percent": "Tax on sales, per cent",
    "deposit_percent": "Deposit asked for, per cent",
    "hours": "Hours free, Monday to Sunday (7 numbers)",
}

# With good defaults, so not among the first questions.
MORE_QUESTIONS = {
    "address": "Address on letters (lines parted by ;)",
    "pay_to": "Where to pay, on invoices (lines parted by ;)",
    "burning_hours": "Most hours of burning in a day (24: no limit)",
    "holidays": "Public holidays kept, by country (like DE or DE-BY; none)",
    "drying_days": "Days the finish dries after the last coat",
    "delivery_days": "Days a piece is on its way to the client",
}


def current(studio: Studio) -> Settings:
    """Return the studio's settings; the first guess where there is no book yet."""
    if not studio.has_book:
        return first_guess()
    with studio.reading() as book:
        return of_book(book)


def are_set(studio: Studio) -> bool:
    """Return whether the user has been asked already."""
    with studio.reading() as book:
        return book.get(models.Studio, 1) is not None


def _percent(text: str, name: str) -> Decimal:
    value = parse_number(text, name, least=0, most=100)
    if value != round(value, 4):
        raise BadInput(f"'{text}' is finer than the book can hold", "Write it like 19 or 7.5")
    return value


def _hours(text: str) -> dict[str, float]:
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


def _burning_hours(text: str) -> float:
    try:
        hours = float(text.strip().removesuffix("h").strip().replace(",", "."))
    except ValueError:
        hours = 0.0
    if not 0 < hours <= 24:
        raise BadInput(f"'{text}' is not hours in a day", "Write it like 3 or 2.5; 24 is no limit")
    return hours


def _days(text: str) -> int:
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


def _choice(kind: type[StrEnum], text: str) -> StrEnum:
    try:
        return kind(text.strip().lower())
    except ValueError:
        names = " or ".join(kind)
        raise BadInput(f"'{text}' is not a choice here", f"Choose {names}") from None


def _known_like(name: str) -> str:
    known = [*QUESTIONS, *MORE_QUESTIONS]
    near = [one for one in known if name and name in one] or get_close_matches(name, known, 2)
    return f"Did you mean {' or '.join(near)}?" if near else f"Settings are {', '.join(known)}"


def parsed(settings: Settings, name: str, text: str) -> Settings:
    """Return the settings with one changed, as the user typed it.

    Raises
    ------
    BadInput
        If there is no such setting, or it cannot have that value.
    """
    value: object
    if name in ("address", "pay_to"):
        value = "\n".join(line.strip() for line in cleaned_note(text).split(";")).strip()
    elif name == "name":
        value = cleaned(text, "name")
    elif name in ("units", "paper", "drawing_hand"):
        value = _choice({"units": UnitSystem, "paper": Paper, "drawing_hand": Hand}[name], text)
    elif name == "currency":
        value = check_currency(text)
    elif name == "locale":
        value = check_locale(text)
    elif name == "hourly_target":
        value = parse_money(text, settings.currency, settings.locale)
    elif name in ("tax_percent", "deposit_percent"):
        value = _percent(text, name)
    elif name == "hours":
        value = _hours(text)
    elif name == "burning_hours":
        value = _burning_hours(text)
    elif name in ("drying_days", "delivery_days"):
        value = _days(text)
    elif name == "holidays":
        value = country(text)
    else:
        raise BadInput(f"There is no setting '{name}'", _known_like(name))
    return settings.model_copy(update={name: value})


def _changed(before: Settings, after: Settings) -> str:
    """Return which settings differ, and what they are now; those of many lines by name alone."""
    found = []
    for name, value in after:
        if value == getattr(before, name):
            continue
        shown = " ".join(f"{h:g}" for h in value.values()) if name == "hours" else str(value)
        found.append(name if "\n" in shown else f"{name} {shown or 'none'}")
    return ", ".join(found)


def save(studio: Studio, settings: Settings) -> Settings:
    """Put the settings on record."""
    with studio.writing("settings") as (book, entry):
        changed = _changed(of_book(book), settings)
        row = book.get(models.Studio, 1)
        if row is None:
            row = models.Studio(id=1)
            book.add(row)
        for name, value in settings.model_dump(exclude={"hours"}).items():
            setattr(row, name, value)
        for day, hours in settings.hours.items():
            setattr(row, f"hours_{day}", hours)
        entry.says(
            f"Changed the settings: {changed}" if changed else "Kept the settings as guessed"
        )
    return settings
