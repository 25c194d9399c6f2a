"""Rows that the history holds, brought to a new form by a migration.

What was done before can still be undone then: undo looks for every fact of a row by its name.
"""

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa

Change = Callable[[dict[str, Any]], dict[str, Any]]


def rewrite(book: sa.Connection, table: str, change: Change) -> None:
    """Change each row of a table that the history holds, as it was before and after.

    Parameters
    ----------
    book : Connection
    table : str
    change : callable
        Takes a row by column name and returns it in the other form.
    """
    history = sa.table("history", sa.column("id"), sa.column("changes", sa.JSON()))
    named = sa.cast(history.c.changes, sa.String()).contains(f'"{table}"', autoescape=True)
    for entry in book.execute(sa.select(history).where(named)).all():
        changes = [
            {
                name: change(row) if name != "table" and row and one["table"] == table else row
                for name, row in one.items()
            }
            for one in entry.changes
        ]
        book.execute(sa.update(history).where(history.c.id == entry.id).values(changes=changes))


def having(facts: dict[str, Any]) -> Change:
    """Return what gives a row columns more."""
    return lambda row: row | facts


def without(*names: str) -> Change:
    """Return what takes columns out of a row."""
    return lambda row: {name: row[name] for name in row if name not in names}
