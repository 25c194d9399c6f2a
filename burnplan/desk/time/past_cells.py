"""Cells of a table as people fill them in: days, hours, sizes, amounts, figures.

What a cell says by itself is read as it says. Where it could be two things its column
says which: the :class:`CellForm`.
"""

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cache
from importlib.resources import files
from typing import Any

from burnplan.cells import FORMULA
from burnplan.cleaned import cleaned
from burnplan.dates import add_months, parse_date
from burnplan.errors import BadInput
from burnplan.money import GROUPED, LARGEST, round_money
from burnplan.outline import Outline, OutlineKind
from burnplan.reckon.work import (
    UNKNOWN_DARKNESS,
    UNKNOWN_TEXTURE,
    Work,
    detail_by_eye,
    read_covered,
    read_covers,
    read_grade,
)
from burnplan.units import parse_length, parse_size, plainly
from burnplan.wood.species import nameable, species_on_record

# A day as some programs keep it, counted from the end of 1899: of this century's first half.
_SERIAL_FROM, _SERIALS = date(1899, 12, 30), range(36_526, 55_153)  # by definition
_ABOUT = re.compile(r"^(?:~|≈|ca\.?|c\.|about|approx\.?|around|etwa|env\.?|circa|±)\s*")
_NUMBER = r"\d+[\s-]+\d+/\d+|\d+/\d+|[\d.,][\d.,'’\s]*"
_HOUR = r"h|hrs?|hours?|std|stunden?|heures?|horas?|ore|ora|uren|uur|u"
_MINUTE = r"m|min|mins|minutes?|minuten|minuti|minutos"
_HOURS = re.compile(rf"^({_NUMBER})\s*(?:({_HOUR})\.?)?$")
_HOURS_MINUTES = re.compile(rf"^(\d+)\s*(?:{_HOUR})\.?\s*(\d{{1,2}})\s*(?:{_MINUTE})?\.?$")
_MINUTES = re.compile(rf"^({_NUMBER})\s*(?:{_MINUTE})\.?$")
_CLOCK = re.compile(r"^(\d{1,4}):([0-5]\d)(?::[0-5]\d)?$")
_ROUND = re.compile(
    r"\b(?:round|circle|circular|diameter|diam|dia|slice|disc|disk|rund|durchmesser|rond|ronde"
    r"|diametre|redonda|redondo|tondo|rotondo)\b\.?|[øØ⌀]"
)
_PAPER = {"a5": "148x210mm", "a4": "210x297mm", "a3": "297x420mm", "a2": "420x594mm"}  # ISO 216


@cache
def all_words() -> dict[str, Any]:
    """Return the words of headings and cells, as the table of them has them."""
    text = (files("burnplan.desk.time") / "past_words.toml").read_text("utf-8")
    return tomllib.loads(text)


@cache
def known_words(which: str) -> Any:
    """Return the words of a list of that table, as a set; of a section as a set each."""
    found = all_words()[which]
    if isinstance(found, str):
        return frozenset(found.split())
    return {name: frozenset(words.split()) for name, words in found.items()}


@dataclass(frozen=True, slots=True)
class CellForm:
    """What is meant in a column where a cell could be two things.

    Parameters
    ----------
    currency, locale : str
        The studio's; months may be named in its language.
    decimal : str
        The mark before the fraction, where ``1,200`` could be either.
    unit : str
        Of a length without one: ``mm``, ``cm`` or ``in``.
    order : str
        ``day-first`` or ``month-first``; nothing where neither is known.
    minutes : bool
        Whether a bare number of a column of hours is minutes.
    by_eye : bool
        Whether grades are from 1 to 5 by eye, and not measured from 0 to 1.
    """

    currency: str
    locale: str
    decimal: str = "."
    unit: str = "cm"
    order: str = ""
    minutes: bool = False
    by_eye: bool = False


def is_nothing(cell: str) -> bool:
    """Return whether a cell says that nothing is known."""
    return not cell or cell.lower() in known_words("nothing")


def spelled(text: str) -> str:
    """Return text in small letters without accents, as headings and words are compared."""
    import unicodedata

    bare = unicodedata.normalize("NFKD", text.casefold().replace("œ", "oe"))
    return " ".join("".join(c for c in bare if not unicodedata.combining(c)).split())


# --- figures -------------------------------------------------------------------------------


def _sure_mark(token: str) -> str:
    """Return the mark before the fraction where a number leaves no doubt; or nothing."""
    marks = [c for c in token if c in ".,"]
    if not marks:
        return ""
    if len(set(marks)) == 2:
        return marks[-1]
    if len(marks) > 1:  # between thousands
        return "," if marks[0] == "." else "."
    whole, _, rest = token.partition(marks[0])
    if len(rest) == 3 and whole not in ("", "0") and len(whole) <= 3:
        return ""
    return marks[0]


def decimal_mark(cells: Iterable[str]) -> str:
    """Return the mark before fractions by what is sure in some cells; nothing if none is."""
    found = [
        mark
        for cell in cells
        for token in re.findall(r"\d[\d.,]*\d", GROUPED.sub(_ungrouped, cell))
        if (mark := _sure_mark(token))
    ]
    points, commas = found.count("."), found.count(",")
    return "" if points == commas else "." if points > commas else ","


def _ungrouped(found: re.Match[str]) -> str:
    return re.sub(r"\D", "", found[0])


def number(text: str, decimal: str) -> Decimal:
    """Return the number that is written in any of the usual ways.

    Parameters
    ----------
    text : str
        ``1,234.5``, ``1.234,5``, ``1 234,5``, ``12 1/2`` …
    decimal : str
        The mark before the fraction where it could be two things: ``1,200``.

    Raises
    ------
    BadInput
        If it is not a number.

    Examples
    --------
    >>> [str(number(text, ".")) for text in ("1,200", "1.200,50", "7,25", "12 1/2")]
    ['1200', '1200.50', '7.25', '12.5']
    >>> str(number("1,200", ","))
    '1.200'
    """
    bare = plainly(text)
    if fraction := re.fullmatch(r"(?:(\d+)[\s-]+)?(\d+)/([1-9]\d*)", bare):
        return Decimal(fraction[1] or 0) + Decimal(fraction[2]) / Decimal(fraction[3])
    bare = GROUPED.sub(_ungrouped, bare)
    mark = _sure_mark(bare) or decimal
    bare = bare.replace("," if mark == "." else ".", "").replace(mark, ".")
    if not re.fullmatch(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)", bare, re.ASCII):
        raise BadInput(f"'{text}' is not a number", "Write it like 12.5")
    return Decimal(bare)


def hours(text: str, form: CellForm) -> float:
    """Return hours: ``12.5``, ``12,5 h``, ``12h30``, ``12:30``, ``90 min``, ``12 1/2 hours``."""
    plain = _ABOUT.sub("", plainly(text))
    if found := _CLOCK.match(plain) or _HOURS_MINUTES.match(plain):
        value = int(found[1]) + int(found[2]) / 60
    elif found := _MINUTES.match(plain):
        value = float(number(found[1], form.decimal)) / 60
    elif found := _HOURS.match(plain):
        value = float(number(found[1], form.decimal))
        value = value / 60 if form.minutes and not found[2] else value
    else:
        raise BadInput(f"'{text}' is no hours", "Write them like 12.5 or 12:30")
    return value


def amount(text: str, form: CellForm) -> Decimal:
    """Return an amount in the studio's currency: ``$1,350.00``, ``1.350,- €``, ``350``."""
    from babel.numbers import get_currency_symbol

    bare = _ABOUT.sub("", plainly(text))
    own = {get_currency_symbol(form.currency, name).lower() for name in (form.locale, "en")}
    own |= {
        form.currency.lower(),
        f"{form.currency[:2].lower()}$",
        *(sign[-1] for sign in own if not sign[-1].isalnum()),
    }
    if form.currency == "CHF":
        own |= {"fr.", "sfr.", "fr"}
    for sign in sorted(own, key=len, reverse=True):
        bare = bare.removeprefix(sign).removesuffix(sign).strip()
    bare = re.sub(r"[.,][-–—]+$", "", bare)
    if other := re.search(r"[€$£¥₹₩₽₺₪]|\b(?:usd|eur|gbp|chf|cad|aud|nzd|jpy|sek|nok|dkk)\b", bare):
        raise BadInput(f"'{text}' is in {other[0].upper()}, not in {form.currency}", "Change it")
    try:
        value = number(bare, form.decimal)
    except BadInput:
        raise BadInput(f"'{text}' is not an amount", "Write it like 240.00") from None
    if value > LARGEST:
        raise BadInput(f"'{text}' is too much", "Check it")
    return round_money(value, form.currency)


# --- days ----------------------------------------------------------------------------------


@cache
def _month_names(locale: str) -> dict[str, str]:
    """Return the months of a language with what they are in English."""
    from babel.core import Locale

    english = Locale("en").months["format"]["wide"]
    return {
        spelled(name).rstrip("."): english[number].lower()
        for kind in ("format", "stand-alone")
        for width in ("wide", "abbreviated")
        for number, name in Locale.parse(locale).months[kind][width].items()
    }


def _in_english(text: str, locale: str) -> str:
    """Return a date with its month in English, and without the words around it."""
    bare = spelled(text)
    bare = re.sub(r"[ t]\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?: ?[ap]m)?z?$", "", bare)
    # Friday, March 14, 2025; what stands before a year alone is its month
    bare = re.sub(r"^[^\W\d]{2,}\.?,\s+(?!\d{4}$)", "", bare)
    bare = re.sub(r"(?<=\d)(?:st|nd|rd|th|er)\b", "", bare)
    months = _month_names(locale)
    # 14-Mar-25 and May-25, as programs show them
    if re.fullmatch(r"(?:\d{1,2}[-/])?[^\W\d]+\.?[-/](?:\d{2}|\d{4})", bare):
        bare = re.sub(r"^([^\W\d]+\.?)[-/](\d\d)$", r"\1 20\2", bare)
        bare = re.sub(r"[-/](\d\d)$", r" 20\1", bare).replace("-", " ").replace("/", " ")
    words = [months.get(word.rstrip(".,"), word) for word in bare.replace("'", "20").split()]
    return " ".join(word for word in words if word not in ("de", "del", "of", "le", "den"))


def _end_of_month(year: int, month: int) -> date:
    return add_months(date(year, month, 1), 1) - timedelta(days=1)


def day(text: str, today: date, form: CellForm) -> date:
    """Return the day of a cell; of a month or a year alone its last one.

    Raises
    ------
    BadInput
        If it is not a day with its year, or could be two.

    Examples
    --------
    >>> us = CellForm("USD", "en_US", order="month-first")
    >>> [str(day(text, date(2027, 3, 17), us)) for text in ("3/14/2025", "May 2025", "45730")]
    ['2025-03-14', '2025-05-31', '2025-03-14']
    """
    plain = _in_english(text, form.locale)
    try:
        if re.fullmatch(r"\d{5}(?:[.,]0+)?", plain) and int(plain[:5]) in _SERIALS:
            return _SERIAL_FROM + timedelta(days=int(plain[:5]))
        if found := re.fullmatch(r"((?:19|20)\d\d)", plain):
            return _end_of_month(int(found[1]), 12)
        if found := re.fullmatch(r"(\d{4})[-/.](\d{1,2})", plain):
            return _end_of_month(int(found[1]), int(found[2]))
        if found := re.fullmatch(r"(\d{1,2})[-/.](\d{4})", plain):
            return _end_of_month(int(found[2]), int(found[1]))
        if found := re.fullmatch(r"([a-z]{3,9})\.?,? (\d{4})", plain):
            return _end_of_month(int(found[2]), parse_date(f"1 {plain}", today).month)
    except (BadInput, ValueError, OverflowError):
        raise BadInput(f"'{text}' is not a day", "Write it like 2027-03-18") from None
    if not re.search(r"\d{4}|\d[./-] ?\d{1,2}[./-] ?\d\d$", plain):
        raise BadInput(f"'{text}' is not a day with its year", "Write it like 2027-03-18")
    try:
        return parse_date(plain, today, _ORDERS[form.order])
    except BadInput as error:
        raise BadInput(error.message.replace(plain, text), "Write it like 2027-03-18") from None


# Locales of which one has the month first and the other one the day.
_ORDERS = {"": "", "month-first": "en_US", "day-first": "en_GB"}


def date_order(cells: Iterable[str]) -> tuple[str, bool]:
    """Return the order of day and month in a column, and whether a cell needs it.

    Nothing where no cell shows it, or where two show either.
    """
    found = [
        (int(match[1]), int(match[2]))
        for cell in cells
        if (match := re.match(r"(\d{1,2})[/-](\d{1,2})[/-](?:\d{4}|\d{2})\b", cell))
    ]
    day_first = any(one > 12 for one, _ in found)
    month_first = any(other > 12 for _, other in found)
    open_ones = any(one <= 12 and other <= 12 and one != other for one, other in found)
    if day_first == month_first:
        return "", open_ones and not day_first
    return ("day-first" if day_first else "month-first"), False


# --- sizes ---------------------------------------------------------------------------------


def _length_words(text: str) -> str:
    """Return a size with its marks and words as lengths are read."""
    plain = plainly(re.sub("[“”″]|''|’’", '"', text))
    plain = _PAPER.get(plain, plain)
    plain = re.sub(r"\b(?:zoll|pouces?|pulgadas?|pollici|inch(?:es)?|ins)\b\.?", "in", plain)
    plain = re.sub(r"(?<=[a-z])\.(?=\s|$|x)", "", plain)
    # 11" W x 14" H, 11 in W x 14 in H
    plain = re.sub(r'(?:(?<=[\d"])\s*|(?<=in|cm|mm)\s+)[whbdl]\b', "", plain)
    # What comes third is how thick it is; its unit is that of all where they have none.
    thick = re.match(r'([^x×*]+[x×*][^x×*]*[^x×*\s])\s*[x×*]\s*[\d.,/ ]+([a-z"]*)', plain)
    if thick is None:
        return plain
    unit = "" if re.search(r'[a-z"]$', thick[1]) else thick[2]
    return f"{thick[1]} {unit} {plain[thick.end() :]}".strip()


def is_one_length(text: str) -> bool:
    """Return whether a cell has one length, and no second one."""
    return re.fullmatch(r"[\d.,/\s-]+(?:[a-z\"]+\.?)?", _length_words(text)) is not None


def diameter(text: str, form: CellForm) -> Outline:
    """Return the outline of a round piece."""
    return size(f"round {text}", form)


def size(text: str, form: CellForm) -> Outline:
    """Return the outline of a piece: ``11x14 in``, ``8" round``, ``30 × 40 × 2 cm``, ``A4``."""
    plain = _length_words(text)
    if _ROUND.search(spelled(plain)):
        plain = f"round {_ROUND.sub('', spelled(plain)).strip(' ()')}"
    plain = re.sub(r"\s*\bsquare\b\s*", "", plain)
    try:
        return parse_size(plain, default_unit=form.unit)
    except BadInput as error:
        if is_one_length(plain):
            raise BadInput(f"'{text}' is one length, not a size", "Give both") from None
        raise BadInput(error.message.replace(plain, text), "Write it like 30x40cm") from None


def length(text: str, form: CellForm) -> float:
    """Return one side of a piece in mm."""
    return parse_length(_length_words(text), default_unit=form.unit)


def shape(text: str, _form: CellForm) -> str:
    """Return the kind of outline that a word names."""
    word = spelled(text).replace(" ", "-")
    for kind, words in known_words("outlines").items():
        if word in words:
            return str(kind)
    kinds = ", ".join(OutlineKind)
    raise BadInput(f"'{text}' is not an outline", f"It is one of {kinds}")


# --- words ---------------------------------------------------------------------------------


def title(text: str) -> str:
    """Return a title, without the mark that keeps a spreadsheet from running it."""
    return cleaned(text.removeprefix("'") if text[:2].rstrip()[1:] in FORMULA else text, "title")


def wood(text: str, _form: CellForm) -> str:
    """Return the key of a wood by its name; any other name is a wood of the studio's own."""
    if not re.search(r"[^\W\d_]", text):
        raise BadInput(f"'{text}' is no wood", "Name it")
    return species_on_record(nameable(text)).key


def darkness(text: str, form: CellForm) -> str:
    """Return darkness as records have it: measured, or ``eye:3``."""
    said = _grade(text, form)
    read_grade(said, UNKNOWN_DARKNESS)
    return said


def texture(text: str, form: CellForm) -> str:
    """Return detail as records have it: measured, or ``eye:3``; 6 is a showpiece."""
    said = _grade(text, form)
    read_grade(said, UNKNOWN_TEXTURE, detail_by_eye)
    return said


def _grade(text: str, form: CellForm) -> str:
    if form.by_eye and text.isdigit():
        return f"eye:{text}"
    return text.lower().replace(",", ".")


def covers(cell: str, _form: CellForm | None = None) -> str:
    """Return the stages that a total covers, as they are kept: nothing for the whole piece."""
    stages = read_covers(cell)
    return "" if stages == tuple(Work) else " ".join(stages)


def covered(cell: str, _form: CellForm | None = None) -> str:
    """Return a burned share as it is kept, by eye or measured: nothing for all of it."""
    share = read_covered(cell)
    return "" if share.value == 1 else f"{'eye:' if share.doubt else ''}{share.value:g}"


def figure(text: str, form: CellForm) -> float:
    """Return a plain number."""
    return float(number(text, form.decimal))
