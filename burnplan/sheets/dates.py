"""Dates on paper, as the studio's locale writes them."""

from datetime import date
from typing import Literal


def written_date(day: date, locale: str, length: Literal["long", "medium"] = "long") -> str:
    """Return a date as it is written in letters of a locale.

    Examples
    --------
    >>> written_date(date(2027, 3, 19), "en_US"), written_date(date(2027, 3, 19), "de", "medium")
    ('March 19, 2027', '19.03.2027')
    """
    from babel.dates import format_date  # heavy: only where something is printed

    return str(format_date(day, length, locale=locale))
