"""A glance into a book that is a file: for completion, which must not wait, write or migrate."""

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

from burnplan.ledger.engines import opening

_SECONDS = 0.2
COMMISSIONS = (
    "select id, title from commission where delivered_on is null and dropped_on is null "
    "order by id desc limit 200"
)
BLANKS = "select id, species from blank where scrapped_on is null order by id desc limit 200"
OWN_SPECIES = "select key, name from own_species order by key"


def glance(path: Path | None, query: str) -> list[tuple[Any, str]]:
    """Return rows of two columns from a book in whatever form it is; none if that fails."""
    if path is None or not path.is_file():
        return []
    try:
        with closing(sqlite3.connect(opening(path), uri=True, timeout=_SECONDS)) as book:
            book.execute("PRAGMA query_only=ON")
            return book.execute(query).fetchall()
    except sqlite3.Error:
        return []
