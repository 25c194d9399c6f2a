"""The door to the book: engines and transactions, on SQLite and on PostgreSQL.

Whoever writes takes a turn before reading anything: ``BEGIN IMMEDIATE`` on
SQLite; on PostgreSQL a lock of the whole book for the transaction. One studio
writes a few rows at a time, so turns cost nothing, and what an action finds
cannot change before it is done: no retries, no lost ticks, no code given twice.
"""

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import (
    URL,
    Engine,
    NullPool,
    Table,
    create_engine,
    event,
    func,
    inspect,
    make_url,
    select,
)
from sqlalchemy.engine import Connection
from sqlalchemy.exc import ArgumentError, DatabaseError, DataError, OperationalError
from sqlalchemy.orm import Session

from burnplan.errors import BadInput, OperationFailed
from burnplan.sentences import Do

if TYPE_CHECKING:
    from sqlalchemy.pool import ConnectionPoolEntry

BUSY_SECONDS = 5.0
CONNECT_SECONDS = 10
# A reader on a server waits only for whoever changes its tables; and a command that writes
# may have looked before.
_LOOKING_SECONDS = 3.0
# The number of the lock that writers on one server database share.
_TURN = int.from_bytes(b"burnplan")


def sqlite_url(path: Path) -> str:
    """Return the URL of a SQLite book at a path, whatever is in its name.

    Examples
    --------
    >>> sqlite_url(Path("/studio?/100 %/book.db"))
    'sqlite:////studio%3F/100 %25/book.db'
    """
    return f"sqlite:///{str(path).replace('%', '%25').replace('?', '%3F')}"


def file_of(url: str) -> Path | None:
    """Return the file of a book by its URL; None for a book on a server.

    Raises
    ------
    BadInput
        If no book can be kept there.
    """
    return _file(_parsed(url))


def book_path(engine: Engine) -> Path | None:
    """Return the file of a SQLite book; None for a book on a server."""
    return _file(engine.url)


def _file(url: URL) -> Path | None:
    return Path(url.database) if url.drivername in _FILES and url.database else None


def may_write(path: Path) -> bool:
    """Return whether a book that is a file may be written in, and the log beside it."""
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def _is_there(path: Path) -> bool:
    # Path.is_file raises where a name is too long: opening it says so in words.
    return os.path.isfile(path)  # noqa: PTH113


def opening(path: Path) -> str:
    """Return the URI by which SQLite opens a book that is there: only to look, if need be."""
    mode = "rw"
    if not may_write(path):
        # Even to read, SQLite makes a log beside the book, unless told that nobody writes.
        # Where there is a log, somebody does or did, and it says itself whether it can be read.
        logged = path.with_name(f"{path.name}-wal").exists()
        mode = "ro" if logged else "ro&immutable=1"
    return f"{path.absolute().as_uri()}?mode={mode}"


def name_of(engine: Engine) -> str:
    """Return what to call a book in a sentence, never with a password."""
    path, url = book_path(engine), engine.url
    return f"the book {path}" if path else f"the book '{url.database}' on {_host(url)}"


def _host(url: URL) -> str:
    return f"{url.host or 'this machine'}{f':{url.port}' if url.port else ''}"


def open_engine(url: str) -> Engine:
    """Make the engine for a book; a server is first spoken to when it is used.

    Parameters
    ----------
    url : str
        An SQLAlchemy URL: ``sqlite:///…`` or ``postgresql+psycopg://…``.

    Raises
    ------
    BadInput
        If the URL is not one of these, or the driver is not installed.
    """
    parsed = _parsed(url)
    if parsed.drivername in _FILES:
        return _sqlite_engine(parsed)
    try:
        return _server_engine(parsed.set(drivername="postgresql+psycopg"))
    except ImportError:
        raise BadInput(
            "The driver for PostgreSQL is not installed", "Add it: pip install 'burnplan[postgres]'"
        ) from None
    except (ArgumentError, ValueError):  # a port among the options that is no number
        raise _unusable("The database URL cannot be read") from None


_FILES = ("sqlite", "sqlite+pysqlite")
_SERVERS = ("postgresql", "postgresql+psycopg")


def _parsed(url: str) -> URL:
    """Read a URL, and refuse one under which no book can be kept, without repeating it.

    Raises
    ------
    BadInput
        If it is none of ours. There may be a password in any part of it.
    """
    try:
        parsed = make_url(url)
    except (ArgumentError, ValueError):  # a port that is no number
        raise _unusable("The database URL cannot be read") from None
    if parsed.drivername in _FILES:
        besides = parsed.query or parsed.host or parsed.username
        if besides or parsed.database in (None, "", ":memory:"):
            raise BadInput(
                "A book is kept in a file, and its URL names that and nothing else",
                "Write it like sqlite:////home/mara/studio/book.db",
            )
        return parsed
    if parsed.drivername not in _SERVERS:
        raise _unusable(f"A book cannot be kept in '{parsed.drivername}'")
    if url.partition("://")[2].count("@") > 1:
        # Part of a password would be taken for a host, and named when that is not found.
        raise BadInput(
            "There is more than one '@' in the database URL", "In a name or password write it %40"
        )
    try:
        url.encode()
    except UnicodeEncodeError:
        raise _unusable("The database URL is not in UTF-8") from None
    return parsed


def _unusable(why: str) -> BadInput:
    return BadInput(why, "Write BURNPLAN_DATABASE_URL like postgresql+psycopg://NAME@HOST/DATABASE")


def _sqlite_engine(url: URL) -> Engine:
    path = Path(url.database or "")
    looking = _is_there(path) and not may_write(path)
    engine = create_engine(
        url,
        connect_args={"timeout": BUSY_SECONDS},
        # Opened anew for each look: others may have begun to write.
        poolclass=NullPool if looking else None,
    )
    if looking:
        _only_look(engine, path)

    @event.listens_for(engine, "connect")
    def _prepare(connection: sqlite3.Connection, _record: Any) -> None:
        # The driver must not begin transactions itself: we do, in _begin.
        connection.isolation_level = None
        # FULL: what is said to be done outlives a power cut, for two milliseconds a change.
        pragmas = () if looking else ("foreign_keys=ON", "journal_mode=WAL", "synchronous=FULL")
        for pragma in pragmas:
            connection.execute(f"PRAGMA {pragma}")
        # SQLite's own knows only the letters of English; a server knows É and é.
        connection.create_function("lower", 1, _lower, deterministic=True)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        # A deferred transaction that reads and then writes fails at once when
        # somebody else wrote in between; a writer takes its turn up front.
        writing = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def _only_look(engine: Engine, path: Path) -> None:
    """Let an engine open a book where nothing may be written, and see that it stays as it is."""

    def state() -> tuple[int, int]:
        found = path.stat()
        return found.st_mtime_ns, found.st_size

    @event.listens_for(engine, "do_connect")
    def _open(_dialect: Any, record: "ConnectionPoolEntry", *_how: Any) -> sqlite3.Connection:
        uri = opening(path)
        # SQLite locks nothing in what nobody changes.
        record.info["unchanged"] = state() if uri.endswith("immutable=1") else None
        return sqlite3.connect(uri, uri=True, timeout=BUSY_SECONDS)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        if connection.get_execution_options().get("writing", False):
            raise _not_writable(name_of(engine))

    @event.listens_for(engine, "commit")
    def _commit(connection: Connection) -> None:
        if connection.info["unchanged"] not in (None, state()):
            raise OperationFailed(
                f"Another program wrote in {name_of(engine)} meanwhile", "Try again"
            )


def _lower(text: str | None) -> str | None:
    return None if text is None else text.lower()


def _server_engine(url: URL) -> Engine:
    wishes = {"connect_timeout": CONNECT_SECONDS, "application_name": "burnplan"}
    engine = create_engine(
        url,
        connect_args={name: wish for name, wish in wishes.items() if name not in url.query},
        pool_pre_ping=True,
    )

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writing = connection.get_execution_options().get("writing", False)
        # Whatever somebody holds there: waiting ends with a sentence.
        seconds = BUSY_SECONDS if writing else _LOOKING_SECONDS
        lock_timeout = f"SET LOCAL lock_timeout = {int(seconds * 1000)}"
        if not writing:
            # Like a reader on SQLite: the book as it stands at the first look.
            connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            connection.exec_driver_sql(lock_timeout)
            return
        # Each statement sees what was committed before it. A snapshot for the whole
        # transaction would be taken before the turn has come, and miss the writer before.
        connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL READ COMMITTED")
        connection.exec_driver_sql(lock_timeout)
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_TURN})")

    return engine


@contextmanager
def plain_transaction(engine: Engine, *, writing: bool) -> Iterator[Connection]:
    """Open the book for one transaction, without the mapper; roll back on error.

    Raises
    ------
    BadInput
        If a value does not fit its column.
    OperationFailed
        If the database cannot do it: locked, unreadable, full, out of reach.
    """
    try:
        with engine.connect().execution_options(writing=writing) as opened, opened.begin():
            yield opened
    except (DataError, OverflowError) as error:  # the second from SQLite's driver itself
        raise BadInput(
            "Something given is larger than the book can hold",
            "Give a smaller number or a shorter text",
        ) from error
    except UnicodeDecodeError as error:  # SQLite's driver, of words that it quotes from damage
        raise plainly(error, engine) from error
    except DatabaseError as error:
        if not is_trouble(error):
            raise
        raise plainly(error, engine) from error


@contextmanager
def transaction(engine: Engine, *, writing: bool) -> Iterator[Session]:
    """Open the book with its mapper for one transaction; see :func:`plain_transaction`."""
    with plain_transaction(engine, writing=writing) as opened, mapped(opened) as book:
        yield book


@contextmanager
def mapped(opened: Connection) -> Iterator[Session]:
    """Use the mapper in an open transaction; what it changes is kept with the rest, or not."""
    with Session(opened, expire_on_commit=False) as book, book.begin():
        if opened.dialect.name != "sqlite":
            event.listen(book, "before_flush", _number)
        yield book


def _number(book: Session, *_flush: Any) -> None:
    """Give new rows the numbers after the highest, as SQLite does, so that codes are the same.

    A server's own sequence would leave out the numbers of what was refused or undone.
    Only one writes at a time, so nobody else takes the number meanwhile.
    """
    highest: dict[Table, int] = {}
    for record in book.new:
        table = inspect(type(record)).local_table
        key = table.autoincrement_column
        if key is None or getattr(record, key.name) is not None:
            continue
        if table not in highest:
            highest[table] = book.connection().scalar(select(func.max(key))) or 0
        highest[table] += 1
        setattr(record, key.name, highest[table])


def is_trouble(error: DatabaseError) -> bool:
    """Return whether an error is the database's trouble, rather than a rule broken by a row."""
    if isinstance(error.orig, sqlite3.Error):
        return not isinstance(error.orig, sqlite3.IntegrityError)
    said = _state(error)
    # Without a word from a server: a connection that the driver did not even try to make.
    never_asked = said is None and error.statement is None
    return isinstance(error, OperationalError) or never_asked or said in _SERVER_SAYS


def plainly(error: DatabaseError | UnicodeDecodeError, engine: Engine) -> OperationFailed:
    """Say in words what the database could not do."""
    where, path = name_of(engine), book_path(engine)
    if path is not None:
        return _file_plainly(getattr(error, "orig", None) or error, path, where)
    if isinstance(error, UnicodeDecodeError):
        raise error
    return _server_plainly(error, engine.url, where)


def _file_plainly(error: BaseException, path: Path, where: str) -> OperationFailed:
    from burnplan.ledger import backup, migrate, soundness  # rarely needed, and they need this

    code = getattr(error, "sqlite_errorcode", 0) & 0xFF  # without its extension
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return _busy(where)
    no_way = code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_IOERR)
    if code == sqlite3.SQLITE_FULL or (no_way and _no_space(path)):
        return OperationFailed(f"No space left for {where}", "Free some space and try again")
    if no_way and not (os.path.lexists(path) and may_write(path)):
        if not _is_there(path):
            return _not_writable(where)
        return OperationFailed(
            f"{where[0].upper()}{where[1:]} cannot be looked at here: its newest changes are"
            " in a log beside it, which is read only where something may be written",
            "Copy both to a folder of your own, and set BURNPLAN_HOME to that",
        )
    # What SQLite stumbled over says little of what is wrong: that is looked for.
    if fault := next(iter(soundness.damage(path)), None):
        return backup.Damaged(path, fault)
    version = soundness.version(path)
    if version and migrate.is_another(version):
        return migrate.changed_meanwhile(version)
    if fault := next(soundness.faults(path), None):
        return backup.Damaged(path, fault)
    return OperationFailed(f"Cannot use {where}: {error}", "Nothing was changed")


def _no_space(path: Path) -> bool:
    """Return whether there is no room for the log beside a book, which even reading needs."""
    return shutil.disk_usage(path.parent).free < 1 << 16


def _not_writable(where: str) -> OperationFailed:
    return OperationFailed(
        f"Cannot write in {where}", "Check its folder and your permission to write there"
    )


def _busy(where: str) -> OperationFailed:
    return OperationFailed(
        f"Another program is writing in {where}", "Wait for it to end and try again"
    )


# By SQLSTATE (PostgreSQL's documentation, appendix A): what it means, what to do.
_SERVER_SAYS = {
    "25006": ("takes no changes now: it is read-only", "Use the server that is written to"),
    "42501": ("does not let you do this", "Ask for the rights of the book's owner on the server"),
    "53100": ("has no space left", "Free some space on the server and try again"),
    "53300": ("has too many connections", "Wait a little and try again"),
}
_LOCK_NOT_AVAILABLE = "55P03"


def _state(error: DatabaseError) -> str | None:
    """Return the SQLSTATE; None where there was no server to give one."""
    return getattr(error.orig, "sqlstate", None)


def _without_password(reason: str, url: URL) -> str:
    for secret in (url.password, *url.normalized_query.get("password", ())):
        if secret:
            reason = reason.replace(str(secret), "…")
    return reason


def _server_plainly(error: DatabaseError, url: URL, where: str) -> OperationFailed:
    host, state, reason = _host(url), _state(error), _without_password(str(error.orig), url)
    if state == _LOCK_NOT_AVAILABLE:
        return _busy(where)
    if state in _SERVER_SAYS:
        said, hint = _SERVER_SAYS[state]
        return OperationFailed(f"{where[0].upper()}{where[1:]} {said}", hint)
    if error.connection_invalidated:
        return OperationFailed(
            f"The connection to {where} was lost",
            "See ",
            Do("book.history"),
            " for whether the change is there; it is whole or not at all",
        )
    if state is not None:
        return OperationFailed(f"Cannot use {where}: {reason.splitlines()[0]}", "Try again")
    # No connection was made; the driver has only words to say why.
    if f'database "{url.database}" does not exist' in reason:
        return OperationFailed(
            f"There is no database '{url.database}' on {host}", "Make one with: createdb"
        )
    if "password" in reason or "role" in reason or "authentication" in reason:
        return OperationFailed(
            f"The server {host} does not accept this name and password",
            "Check them in BURNPLAN_DATABASE_URL, or in PostgreSQL's password file",
        )
    why = reason.splitlines()[0].rpartition("failed: ")[2]
    return OperationFailed(
        f"Cannot reach the database server {host}: {why}",
        "Check that it runs, and the address in BURNPLAN_DATABASE_URL",
    )
