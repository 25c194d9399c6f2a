"""Who reads a page: their language, and how amounts, dates and sizes are written for them.

What clients read is written once, in English, and translated by the catalogues in
``burnplan/words/languages``: a gettext file (``de.po``) for each language, read as it is.
Another one is a language more.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from burnplan.desk.derived.studio_settings import Settings
from burnplan.outline import Outline, OutlineKind
from burnplan.sheets.money.letter import Spelling
from burnplan.shipped import shipped
from burnplan.units import MM_PER_INCH, UnitSystem, format_size
from burnplan.wording import Wording

if TYPE_CHECKING:
    from babel.messages.catalog import Catalog

Spelled = Callable[[str, str], Spelling]
"""How amounts and dates are written, by currency and locale."""

SOURCE_LANGUAGE = "en"
"""What the program's own words are written in."""

_OF_THE_WORLD = "en_001"
"""The locale of those words where the reader's country has another language (CLDR)."""


def languages() -> list[str]:
    """Return the languages that what clients read is written in."""
    found = shipped("words/languages").glob("*.po")
    return sorted([SOURCE_LANGUAGE, *(path.stem for path in found)])


@cache
def catalogue(language: str) -> "Catalog":
    """Return the catalogue of a language; an empty one of the source language."""
    from babel.messages.catalog import Catalog
    from babel.messages.pofile import read_po

    if language == SOURCE_LANGUAGE:
        return Catalog(SOURCE_LANGUAGE)
    path: Path = shipped(f"words/languages/{language}.po")
    with path.open("rb") as file:
        return read_po(file, locale=language)


def _language(locale: str) -> str:
    return locale.replace("-", "_").partition("_")[0].lower()


def language_of(*locales: str) -> tuple[str, str]:
    """Return the first of some locales that there is a translation for, and its language.

    Examples
    --------
    >>> language_of("xx", "de_AT", "en_GB")
    ('de_AT', 'de')
    >>> language_of("en", "en_US")
    ('en_US', 'en')
    """
    known = languages()
    for locale in filter(None, locales):
        language = _language(locale)
        if language in known:
            # Of a language alone the studio's own country is meant, if it speaks that.
            own = next((one for one in locales if _language(one) == language and "_" in one), "")
            return (locale if "_" in locale else own or locale), language
    return next(filter(None, reversed(locales)), SOURCE_LANGUAGE), SOURCE_LANGUAGE


_ABOUT = {UnitSystem.METRIC: 5.0, UnitSystem.IMPERIAL: MM_PER_INCH / 4}
"""To how many millimetres the size of a live edge is told (our own choice)."""


@dataclass(frozen=True)
class Reader:
    """Somebody who reads a page.

    Parameters
    ----------
    language : str
        Of the words: one that there is a catalogue for.
    spelling : Spelling
        How amounts and dates are written.
    units : UnitSystem
        The studio's.
    """

    language: str
    spelling: Spelling
    units: UnitSystem

    @classmethod
    def of(
        cls, settings: Settings, language: str, currency: str, spelled: Spelled = Spelling
    ) -> "Reader":
        """Return a client's reader, or the studio's own where no translation is theirs."""
        locale, known = language_of(language, settings.locale)
        return cls(known, spelled(currency, locale), settings.units)

    @property
    def locale(self) -> str:
        """CLDR."""
        return self.spelling.locale

    @property
    def direction(self) -> Literal["ltr", "rtl"]:
        """Which way the words run."""
        from babel import Locale

        return "rtl" if Locale.parse(self.language).text_direction == "rtl" else "ltr"

    def say(self, text: str) -> str:
        """Return the program's own words in this language."""
        message = catalogue(self.language).get(text)
        if message is not None and message.string and not message.fuzzy:
            said = message.string
            return said if isinstance(said, str) else str(said[0])
        return Wording(self.units, self.locale).own(text)

    def fill(self, text: str, /, **figures: str) -> str:
        """Return the program's own words with figures of this reader's own form in them."""
        said = self.say(text).format(
            **{name: self.figures(figure) for name, figure in figures.items()}
        )
        english = self.language == SOURCE_LANGUAGE
        return Wording(self.units, self.locale).own(said) if english else said

    def say_of(self, one: str, many: str, number: int) -> str:
        """Return words that differ by a number."""
        found = catalogue(self.language)
        message = found.get(one)
        if message is not None and isinstance(message.string, tuple) and all(message.string):
            return str(message.string[_plural(found, number)])
        return self.say(one if number == 1 else many)

    def money(self, amount: Decimal) -> str:
        """Return an amount."""
        return self.spelling.money(amount)

    def day(self, day: date) -> str:
        """Return a date, in the language of the words that it stands among."""
        if _language(self.locale) == self.language:
            return self.spelling.day(day)
        return replace(self.spelling, locale=_OF_THE_WORLD).day(day)

    def wood(self, name: str) -> str:
        """Return the name of a wood as it stands in a sentence."""
        said = self.say(name)
        return said.lower() if self.language == SOURCE_LANGUAGE else said

    def size(self, outline: Outline) -> str:
        """Return a size and its shape, in words."""
        sides = (outline.width_mm, outline.height_mm)
        if outline.kind is OutlineKind.LIVE_EDGE:  # it is said to be about that
            step = _ABOUT[self.units]
            sides = (max(1, round(sides[0] / step)) * step, max(1, round(sides[1] / step)) * step)
        plain = Outline(OutlineKind.RECTANGLE, *sides)
        written = format_size(plain, self.units)
        size = self.figures(written)
        match outline.kind:
            case OutlineKind.ROUND:
                across = f"{written.partition(' ×')[0]} {written.rpartition(' ')[2]}"
                return self.say("round, {size}").format(size=self.figures(across))
            case OutlineKind.OVAL:
                return self.say("oval, {size}").format(size=size)
            case OutlineKind.LIVE_EDGE:
                return self.say("live edge, about {size}").format(size=size)
        return size

    def figures(self, size: str) -> str:
        """Return a size or another figure with the locale's decimal mark, in one piece."""
        from babel.numbers import get_decimal_symbol

        marked = size.replace(".", get_decimal_symbol(self.locale))
        return marked.replace(" ", "\N{NO-BREAK SPACE}")


def _plural(found: "Catalog", number: int) -> int:
    """Return which of a language's plural forms a number takes, as its catalogue says."""
    from gettext import c2py

    return int(c2py(found.plural_expr)(number))
