"""The door to the book: engines and transactions.

All that is particular to SQLite is here and in :mod:`burnplan.ledger.migrate`.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event, make_url
from sqlalchemy.engine import Connection
from sqlalchemy.exc import ArgumentError, DatabaseError, OperationalError
from sqlalchemy.orm import Session

from burnplan.errors import BadInput, OperationFailed

BUSY_SECONDS = 5.0


def sqlite_url(path: Path) -> str:
    """Return the URL of a SQLite book at a path."""
    return f"sqlite:///{path}"


def book_path(engine: Engine) -> Path | None:
    """Return the file of a SQLite book; None for a book on a server."""
    if engine.dialect.name != "sqlite" or not engine.url.database:
        return None
    return Path(engine.url.database)


def open_engine(url: str) -> Engine:
    """Make the engine for a book.

    Parameters
    ----------
    url : str
        An SQLAlchemy URL.

    Raises
    ------
    BadInput
        If the URL is not one, or its driver is not installed.
    """
    try:
        parsed = make_url(url)
        if parsed.get_backend_name() != "sqlite":
            return create_engine(parsed, pool_pre_ping=True)
        engine = create_engine(parsed, connect_args={"timeout": BUSY_SECONDS})
    except (ArgumentError, ModuleNotFoundError) as error:
        raise BadInput(
            "BURNPLAN_DATABASE_URL cannot be used: " + str(error).splitlines()[0],
            "Unset it to use the book in BURNPLAN_HOME",
        ) from None

    @event.listens_for(engine, "connect")
    def _prepare(connection: sqlite3.Connection, _record: Any) -> None:
        # The driver must not begin transactions itself: we do, in _begin.
        connection.isolation_level = None
        for pragma in ("foreign_keys=ON", "journal_mode=WAL", "synchronous=NORMAL"):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        # A deferred transaction that reads and then writes fails at once when
        # somebody else wrote in between; a writer takes its turn up front.
        writing = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


@contextmanager
def transaction(engine: Engine, *, writing: bool) -> Iterator[Session]:
    """Open the book for one transaction; commit on leaving, roll back on error.

    Raises
    ------
    OperationFailed
        If the database cannot do it: locked, unreadable, full.
    """
    try:
        with (
            engine.connect().execution_options(writing=writing) as connection,
            Session(connection, expire_on_commit=False) as book,
            book.begin(),
        ):
            yield book
    except OperationalError as error:
        raise _plainly(error, engine) from error
    except DatabaseError as error:
        if isinstance(error.orig, sqlite3.DatabaseError) and not isinstance(
            error.orig, sqlite3.IntegrityError
        ):
            raise _plainly(error, engine) from error
        raise


def _plainly(error: DatabaseError, engine: Engine) -> OperationFailed:
    """Say in words what the database could not do."""
    reason = str(error.orig).splitlines()[0]
    path = book_path(engine)
    where = f"the book {path}" if path else f"the book on {engine.url.host or 'its server'}"
    if "locked" in reason:
        return OperationFailed(
            f"Another program is writing in {where}", "Wait for it to end and try again"
        )
    if "readonly" in reason or "unable to open" in reason:
        return OperationFailed(
            f"Cannot write in {where}", "Check its folder and your permission to write there"
        )
    if "full" in reason:
        return OperationFailed(f"No space left for {where}", "Free some space and try again")
    if "malformed" in reason or "not a database" in reason:
        return OperationFailed(
            f"{where[0].upper()}{where[1:]} is damaged or is not a burnplan book",
            "Put the newest copy from its 'copies' folder in its place",
        )
    return OperationFailed(f"Cannot use {where}: {reason}", "Nothing was changed")


def make_private(path: Path) -> None:
    """Let only the owner read a file or folder: clients' addresses live here."""
    os.chmod(path, 0o700 if path.is_dir() else 0o600)  # noqa: PTH101 follows the name given
