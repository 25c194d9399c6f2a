"""How this studio works: as its book says, or guessed where it says nothing."""

import os
from decimal import Decimal
from enum import StrEnum

from pydantic import Field
from sqlalchemy.orm import Session

from burnplan.ledger.models import Studio
from burnplan.money import minor_digits
from burnplan.units import UnitSystem
from burnplan.view import View

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
    hourly_target: Decimal = Decimal(30)
    tax_percent: Decimal = Decimal(0)
    deposit_percent: Decimal = Decimal(40)
    hours: dict[str, float] = Field(
        default_factory=lambda: dict(zip(DAYS, (4.0, 4.0, 4.0, 4.0, 4.0, 0.0, 0.0), strict=True))
    )
    burning_hours: float = 24.0
    holidays: str = ""
    # A night for the last coat (common practice, no source; its label has the last word).
    drying_days: int = 1
    delivery_days: int = 0

    @property
    def digits(self) -> int:
        """Decimals of the currency's minor unit."""
        return minor_digits(self.currency)


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
    return Settings(
        units=UnitSystem.IMPERIAL if known.territory == "US" else UnitSystem.METRIC,
        currency=currencies[0] if currencies else "EUR",
        locale=str(known),
        paper=Paper.LETTER if american else Paper.A4,
    )


def of_book(book: Session) -> Settings:
    """Return the settings on record in an open book, or the first guess."""
    row = book.get(Studio, 1)
    if row is None:
        return first_guess()
    plain = {name: getattr(row, name) for name in Settings.model_fields if name != "hours"}
    return Settings(**plain, hours={day: getattr(row, f"hours_{day}") for day in DAYS})
