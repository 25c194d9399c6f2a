"""Who reads what the program says of itself, before a book is opened or where there is none.

Help must not wait for a book and never fails: it takes one look at the file.
"""

import os
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

from burnplan.errors import BurnplanError
from burnplan.home import own_home
from burnplan.units import UnitSystem
from burnplan.wording import Wording

if TYPE_CHECKING:
    from burnplan.desk.studio.studio import Studio

_SECONDS = 0.2


def wording(studio: "Studio | None") -> Wording:
    """Return how the studio that is open, or else that the environment names, reads words."""
    if studio is None:
        return _seen() or guessed()
    from burnplan.desk.studio import settings

    try:
        return settings.current(studio).wording
    except Exception:  # noqa: BLE001  of a damaged book: what is wrong with it has to be said
        return guessed()


def _seen() -> Wording | None:
    """Return it from the book's file, whatever its form; None if that cannot be read."""
    if os.environ.get("BURNPLAN_DATABASE_URL", "").strip():
        return None
    try:
        uri = f"{(own_home() / 'book.db').absolute().as_uri()}?mode=ro"
        with closing(sqlite3.connect(uri, uri=True, timeout=_SECONDS)) as book:
            units, locale = book.execute("select units, locale from studio").fetchone()
            return Wording(UnitSystem(units), locale)
    except (sqlite3.Error, BurnplanError, OSError, TypeError, ValueError):
        return None


def guessed() -> Wording:
    """Return it by the system's language and country."""
    named = next(
        (os.environ[n] for n in ("LC_ALL", "LC_MONETARY", "LANG") if os.environ.get(n)), ""
    )
    locale = named.partition(".")[0].partition("@")[0]
    locale = "en_US" if locale in ("C", "POSIX") else locale  # as the settings take it
    units = UnitSystem.IMPERIAL if locale.endswith("_US") else UnitSystem.METRIC
    return Wording(units, locale)
