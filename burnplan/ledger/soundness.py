"""What is wrong with a book that is a file, as far as SQLite and its own tables can say.

It is asked of whatever stands in the place of a book: another file, a folder, pages that
a failing disk has changed. Nothing is written, and every answer is in words.
"""

import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import cache
from pathlib import Path

from sqlalchemy import JSON, Boolean, Date, Enum, Float, Integer
from sqlalchemy.dialects import sqlite
from sqlalchemy.schema import CreateIndex, CreateTable
from sqlalchemy.types import TypeEngine

from burnplan.errors import OperationFailed
from burnplan.ledger import engines, migrate
from burnplan.ledger.tables import tables
from burnplan.ledger.types import Money, UtcDateTime

LOGS = ("-wal", "-shm", "-journal")
"""What the names of the files end in that SQLite keeps beside a book."""

# What keeps SQLite from looking (its documentation, "Result and Error Codes").
_OUT_OF_REACH = {
    sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_PERM, sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_NOMEM,
}  # fmt: skip
# What its integrity check says of a value rather than of the file.
_OF_A_VALUE = re.compile(r"(NULL|TEXT|NUMERIC|REAL|INTEGER|BLOB|non-\w+) value in ")
# Where the head of a file says how to read and write it: 1, or 2 for a book with a log
# (its documentation, "Database File Format", 1.3.3).
_MODES = slice(18, 20)


@contextmanager
def connected(path: Path) -> Iterator[sqlite3.Connection]:
    """Open a book that is there.

    Raises
    ------
    OperationFailed
        If SQLite cannot read or write it.
    """
    try:
        with _looking(path) as connection:
            yield connection
    except (sqlite3.Error, UnicodeError) as error:
        raise trouble(path, error) from error


@contextmanager
def _looking(path: Path) -> Iterator[sqlite3.Connection]:
    uri, patience = engines.opening(path), engines.BUSY_SECONDS
    with closing(sqlite3.connect(uri, uri=True, timeout=patience)) as connection:
        # What is damaged may be no text.
        connection.text_factory = lambda raw: raw.decode(errors="replace")
        yield connection


def trouble(path: Path, error: Exception) -> OperationFailed:
    """Return in words that a book cannot be read or written."""
    return OperationFailed(
        f"The book {path} cannot be read or written: {_said(error)}",
        "Check that no other program holds it, its folder and the free space",
    )


def _said(error: Exception) -> str:
    # The driver itself stumbles over what SQLite quotes from a damaged description of a table.
    return str(error) if isinstance(error, sqlite3.Error) else "its description is no text"


def damage(book: Path) -> list[str]:
    """Return what SQLite finds wrong with a file; nothing for a sound one, or none.

    A row that breaks a rule is not damage: see :mod:`burnplan.ledger.checking`.

    Raises
    ------
    OperationFailed
        If it cannot be looked at: in use, not allowed, no space left.
    """
    for end in ("", *LOGS):
        part = book.with_name(book.name + end)
        if part.exists() and not part.is_file():
            return [f"{part.name} is {'a folder' if part.is_dir() else 'not a file'}"]
    if not book.exists():
        return [f"{book.name} leads to a file that is not there"] if book.is_symlink() else []
    try:
        with book.open("rb") as file:
            head = file.read(100)
        with _looking(book) as opened:
            opened.execute("PRAGMA ignore_check_constraints=ON")
            found = [str(row[0]) for row in opened.execute("PRAGMA integrity_check")]
    except OSError as error:
        raise trouble(book, error) from error
    except (sqlite3.Error, UnicodeError) as error:
        if getattr(error, "sqlite_errorcode", 0) & 0xFF in _OUT_OF_REACH:
            raise trouble(book, error) from error
        return [_said(error)]
    if head and not set(head[_MODES]) <= {1, 2}:
        return ["its head is damaged"]
    lines = [line for text in found if text != "ok" for line in text.splitlines()]
    return [line for line in lines if not _OF_A_VALUE.match(line)]


def structural_faults(book: Path) -> Iterator[str]:
    """Look for what keeps a file from being used as a book."""
    found = damage(book)
    yield from found
    if not found:
        yield from form_faults(book)


def faults(book: Path) -> Iterator[str]:
    """Look for all that keeps a file from being a whole book of the newest form."""
    found = list(structural_faults(book))
    yield from found
    if not found and version(book) == migrate.newest_version():
        yield from (
            f"'{column}' of {table} cannot be read in {many(number, 'row')}"
            for table, column, number in unreadable(book)
        )
        yield from _orphans(book)


def many(number: int, noun: str) -> str:
    """Return a number of things in words."""
    return f"{number} {noun}{'' if number == 1 else 's'}"


def _orphans(book: Path) -> Iterator[str]:
    with connected(book) as opened:
        query = 'SELECT "table", count(*) FROM pragma_foreign_key_check GROUP BY 1'
        for table, number in opened.execute(query):
            yield f"{many(number, 'row')} of {table} without what they belong to"


def version(book: Path) -> str | None:
    """Return which form an undamaged file says it has; None if it says none."""
    with connected(book) as opened:
        named = "SELECT 1 FROM sqlite_master WHERE name = 'alembic_version'"
        if not opened.execute(named).fetchone():
            return None
        row = opened.execute("SELECT version_num FROM alembic_version").fetchone()
    return str(row[0]) if row and row[0] is not None else None


def is_empty(book: Path) -> bool:
    """Return whether nothing is in an undamaged file."""
    with connected(book) as opened:
        return not opened.execute("SELECT 1 FROM sqlite_master").fetchone()


def form_faults(book: Path) -> list[str]:
    """Return in what an undamaged file is not a book of the newest form, or of an older one.

    Of an older form only its number is known.
    """
    number = version(book)
    if number is None:
        return ["it does not say what form it has" if not is_empty(book) else "nothing is in it"]
    if number not in migrate.versions():
        return [f"its form '{number[:8]}' is none that is known"]
    if number != migrate.newest_version():
        return []
    with connected(book) as opened:
        query = "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL"
        found = {name: _without_order(sql) for name, sql in opened.execute(query)}
    del found["alembic_version"]
    wanted = _definitions()
    return [
        *(f"{name} is missing" for name in sorted(wanted.keys() - found.keys())),
        *(f"{name[:40]!a} is no part of one" for name in sorted(found.keys() - wanted.keys())),
        *(
            f"{name} is not defined as it should be"
            for name in sorted(wanted.keys() & found.keys())
            if wanted[name] != found[name]
        ),
    ]


@cache
def _definitions() -> dict[str, list[str]]:
    """Return how each table and index of a book is defined."""
    made: dict[str, CreateTable | CreateIndex] = {}
    for table in tables():
        made[table.name] = CreateTable(table)
        made |= {str(index.name): CreateIndex(index) for index in table.indexes}
    dialect = sqlite.dialect()
    return {name: _without_order(str(one.compile(dialect=dialect))) for name, one in made.items()}


def _without_order(statement: str) -> list[str]:
    """Return the columns and rules of a definition, sorted.

    Where columns were added later, they stand elsewhere and are written another way.

    Examples
    --------
    >>> _without_order('CREATE TABLE "a" (x INT, y INT, CHECK (x in (1, 2)))')
    ['CHECK (x in (1, 2))', 'CREATE TABLE a', 'x INT', 'y INT']
    """
    head, _, body = statement.replace('"', "").rpartition(")")[0].partition("(")
    parts, depth = [head, ""], 0
    for mark in body:
        depth += (mark == "(") - (mark == ")")
        if mark == "," and not depth:
            parts.append("")
        else:
            parts[-1] += mark
    return sorted(" ".join(part.split()) for part in parts)


def unreadable(book: Path) -> Iterator[tuple[str, str, int]]:
    """Look for values that are not of their column's type, which SQLite lets in.

    Yields
    ------
    tuple
        Table, column and number of such values.
    """
    with connected(book) as opened:
        opened.create_function("is_utf8", 1, _is_utf8, deterministic=True)
        for table in tables():
            names = [f'"{column.name}"' for column in table.columns]
            wrong = (
                f"count(*) FILTER (WHERE {name} IS NOT NULL AND NOT ({_is_of(column.type, name)}))"
                for name, column in zip(names, table.columns, strict=True)
            )
            counts = opened.execute(f'SELECT {", ".join(wrong)} FROM "{table.name}"')  # noqa: S608 ours
            for column, number in zip(table.columns, counts.fetchone(), strict=True):
                if number:
                    yield table.name, column.name, number


def _is_of(kind: TypeEngine[object], name: str) -> str:
    """Return SQL that says whether a value can be read as a type."""
    if isinstance(kind, Enum):
        return f"{name} IN ({', '.join(repr(one) for one in kind.enums)})"
    if isinstance(kind, Boolean):
        return f"{name} IN (0, 1)"
    if isinstance(kind, Money | Integer):
        return f"typeof({name}) = 'integer'"
    if isinstance(kind, Float):
        return f"typeof({name}) IN ('real', 'integer')"
    if isinstance(kind, UtcDateTime):
        second = f"substr({name}, 1, 19)"  # '+0 days' makes the 31st of February one of March
        good = f"{name} > '0001' AND datetime({second}, '+0 days') IS {second}"
        return f"{good} AND substr({name}, 20) GLOB '.{'[0-9]' * 6}'"
    if isinstance(kind, Date):
        return f"{name} > '0001' AND date({name}, '+0 days') IS {name}"
    text = f"typeof({name}) = 'text' AND is_utf8(CAST({name} AS BLOB))"
    return f"{text} AND json_valid({name})" if isinstance(kind, JSON) else text


def _is_utf8(data: bytes) -> bool:
    """Return whether bytes are the text they are said to be; SQLite does not look."""
    try:
        data.decode()
    except UnicodeDecodeError:
        return False
    return True
