"""A whole book copied into an empty one, on this or another engine, and compared row by row."""

from collections.abc import Callable, Generator, Iterator
from contextlib import closing
from itertools import zip_longest

from sqlalchemy import Connection, Engine, Table
from sqlalchemy.exc import DatabaseError

from burnplan.errors import NotAllowed, OperationFailed
from burnplan.ledger import tables
from burnplan.ledger.engines import is_trouble, name_of, plainly, transaction
from burnplan.ledger.tables import Row


def move(
    source: Engine, target: Engine, on_progress: Callable[[float, str], None]
) -> dict[str, int]:
    """Copy every row of a book into an empty book; both at the newest schema.

    The source is read as it stands at one moment. The target is written in one
    transaction, and read back and compared before that is committed.

    Returns
    -------
    dict
        The number of rows by table.

    Raises
    ------
    NotAllowed
        If the target has rows.
    OperationFailed
        If a row cannot be kept there or comes back different; the target is
        then empty.
    """
    with (
        transaction(source, writing=False) as old_book,
        transaction(target, writing=True) as new_book,
    ):
        old, new = old_book.connection(), new_book.connection()
        _refuse_rows(new, target)
        counts = {table.name: tables.count(old, table) for table in tables.tables()}
        whole, done = 2 * sum(counts.values()) or 1, 0
        for table in tables.tables():
            for number in _written(target, new, table, _read(source, old, table)):
                done += number
                on_progress(done / whole, f"copying {table.name}")
        for table in tables.tables():
            if tables.count(new, table) != counts[table.name]:
                raise _different(table)
            with (
                closing(_read(source, old, table)) as sent,
                closing(tables.rows(new, table)) as kept,
            ):
                for number, (was, now) in enumerate(zip_longest(sent, kept), 1):
                    if was != now:
                        raise _different(table)
                    if number % tables.CHUNK == 0:
                        on_progress((done + number) / whole, f"comparing {table.name}")
            done += counts[table.name]
            on_progress(done / whole, f"comparing {table.name}")
    return counts


def _refuse_rows(connection: Connection, engine: Engine) -> None:
    for table in tables.tables():
        if number := tables.count(connection, table):
            said = "1 row" if number == 1 else f"{number} rows"
            raise NotAllowed(
                f"Nothing can be moved into {name_of(engine)}: its table '{table.name}' has {said}",
                "Name a new file or an empty database",
            )


def _read(engine: Engine, connection: Connection, table: Table) -> Generator[Row]:
    """Read rows; trouble in reading is told of the book that is read."""
    try:
        yield from tables.rows(connection, table)
    except DatabaseError as error:
        raise plainly(error, engine) from error


def _written(
    engine: Engine, connection: Connection, table: Table, rows: Iterator[Row]
) -> Iterator[int]:
    try:
        yield from tables.put(connection, table, rows)
    except DatabaseError as error:
        if is_trouble(error):
            raise
        reason = str(error.orig).splitlines()[0]
        raise OperationFailed(
            f"A row of '{table.name}' cannot be kept in {name_of(engine)}: {reason}",
            "Nothing was moved",
        ) from error


def _different(table: Table) -> OperationFailed:
    return OperationFailed(
        f"The rows of '{table.name}' did not come back as they were",
        "Nothing was moved; please report this",
    )
