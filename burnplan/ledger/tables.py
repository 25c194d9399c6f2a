"""Every row of every table, read and written as plain values.

For what handles a book as a whole (moving it, exporting it), and for the
history, which notes rows as JSON.
"""

from collections.abc import Callable, Generator, Iterable, Iterator
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import lru_cache
from itertools import islice
from typing import Any

from sqlalchemy import Connection, Table, func, insert, select
from sqlalchemy.types import TypeEngine

from burnplan.ledger.models import Record
from burnplan.ledger.types import Money, UtcDateTime

Row = dict[str, Any]

CHUNK = 1000
# A corrected session names the newer one that replaced it, which must be there before it.
NEWEST_FIRST = {"burn_session"}


def tables() -> list[Table]:
    """Return the book's tables, parents before children."""
    return Record.metadata.sorted_tables


def count(connection: Connection, table: Table) -> int:
    """Return how many rows a table has."""
    return connection.execute(select(func.count()).select_from(table)).scalar_one()


def rows(connection: Connection, table: Table) -> Generator[Row]:
    """Read a table, a chunk at a time.

    Yields
    ------
    dict
        A row by column names, as Python values; rows come in an order in which
        :func:`put` can write them.
    """
    keys = table.primary_key.columns
    order = [key.desc() if table.name in NEWEST_FIRST else key for key in keys]
    query = select(table).order_by(*order)
    with connection.execute(query, execution_options={"yield_per": CHUNK}) as found:
        for row in found.mappings():
            yield dict(row)


def put(connection: Connection, table: Table, new: Iterable[Row]) -> Iterator[int]:
    """Write rows, all columns of each given, a chunk at a time.

    Yields
    ------
    int
        How many rows were written since the last.
    """
    waiting = iter(new)
    while chunk := list(islice(waiting, CHUNK)):
        connection.execute(insert(table), chunk)
        yield len(chunk)


def to_json(value: Any) -> Any:
    """Return a value of a row as JSON can hold it, the same for equal values."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"  # 5, 5.0 and 5.00 are the same money
    return value


def from_json(table: Table, row: Row) -> Row:
    """Return a row noted with :func:`to_json` as Python values, by the column types."""
    readers = _readers(table)
    return {
        name: value if value is None or (read := readers[name]) is None else read(value)
        for name, value in row.items()
    }


@lru_cache(maxsize=128)
def _readers(table: Table) -> dict[str, Callable[[Any], Any] | None]:
    """Return what makes a column's value of its JSON, by name; None where they are the same."""
    return {column.name: _reader(column.type) for column in table.columns}


def _reader(kind: TypeEngine[Any]) -> Callable[[Any], Any] | None:
    if isinstance(kind, UtcDateTime):
        return datetime.fromisoformat
    if isinstance(kind, Money):
        return Decimal
    return date.fromisoformat if kind.python_type is date else None
