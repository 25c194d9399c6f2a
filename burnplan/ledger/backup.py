"""Copies of a SQLite book, and what only SQLite can say of one.

A copy is taken with SQLite's backup interface, so that it is whole and holds
exactly what was committed, whatever other programs are writing meanwhile. A
book on a server is copied row by row instead (:mod:`burnplan.ledger.json_book`).
"""

import re
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import date, datetime
from pathlib import Path

from sqlalchemy import JSON, Boolean, Connection, Date, Enum, Float, Integer, Table
from sqlalchemy.types import TypeEngine

from burnplan.errors import OperationFailed
from burnplan.files import make_folder, make_private, written_whole
from burnplan.ledger.engines import BUSY_SECONDS, may_write, opening
from burnplan.ledger.types import Money, UtcDateTime

DAYS_KEPT, WEEKS_KEPT = 7, 4
# What SQLite says of a file that it could not look at.
_OUT_OF_REACH = ("locked", "unable to open", "readonly", "full")
# What its integrity check says of a value rather than of the file.
_OF_A_VALUE = re.compile(r"(NULL|TEXT|NUMERIC|REAL|INTEGER|BLOB|non-\w+) value in ")


@contextmanager
def _connected(path: Path) -> Iterator[sqlite3.Connection]:
    """Open a book that is there."""
    try:
        with closing(sqlite3.connect(opening(path), uri=True, timeout=BUSY_SECONDS)) as connection:
            yield connection
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        raise _trouble(path, error) from error


def copies_folder(book: Path) -> Path:
    """Return the folder where the copies of a book are kept."""
    return book.parent / "copies"


def copy_book(book: Path, target: Path) -> None:
    """Copy a book while it may be in use, as one file that only its owner can read.

    Parameters
    ----------
    book : Path
    target : Path
        Its folder is made if it is not there.

    Raises
    ------
    OperationFailed
        If the book cannot be read or the copy not written; then there is none.
    """
    make_folder(target.parent, private=True)
    with _connected(book) as source, written_whole(target, private=True, own=True) as unfinished:
        _copy(source, unfinished)


def copy_as_seen(connection: Connection, target: Path) -> None:
    """Copy a SQLite book as a transaction sees it.

    Raises
    ------
    OperationFailed
        If the book cannot be read or the copy not written.
    """
    source = connection.connection.driver_connection
    assert isinstance(source, sqlite3.Connection)  # noqa: S101 the caller asked
    try:
        # A transaction sees the moment of its first look; until then there is none.
        source.execute("SELECT 1 FROM sqlite_master").fetchone()
        _copy(source, target)
    except sqlite3.DatabaseError as error:
        raise _trouble(target, error) from error


def _copy(source: sqlite3.Connection, target: Path) -> None:
    with closing(sqlite3.connect(target)) as copy:
        source.backup(copy)
        # One file, without a log beside it.
        copy.execute("PRAGMA journal_mode=DELETE")


def _trouble(path: Path, error: Exception) -> OperationFailed:
    return OperationFailed(
        f"The book {path} cannot be read or written: {error}",
        "Check that no other program holds it, its folder and the free space",
    )


def aside_name(book: Path, moment: datetime, why: str) -> Path:
    """Return where to keep a copy of a book: in its folder of copies, named after the moment."""
    folder, start = copies_folder(book), f"{book.stem}-{moment:%Y%m%dT%H%M%SZ}-{why}"
    names = (folder / f"{start}{again}{book.suffix}" for again in ("", *range(-2, -1000, -1)))
    return next(name for name in names if not name.exists())


def copy_of_the_day(book: Path, today: date) -> Path | None:
    """Copy a book unless that has been done today; keep the newest few such copies.

    A book in which nothing was done yet, or nothing may be, is not copied. Kept are
    those of the last seven days that have one, and the newest of each of the last
    four weeks. Copies made for another reason are left alone.

    Parameters
    ----------
    book : Path
    today : date
        By the wall clock of the studio.

    Returns
    -------
    Path or None
        The copy, if one was due.
    """
    folder = copies_folder(book)
    target = folder / f"{book.stem}-{today:%Y-%m-%d}{book.suffix}"
    if target.exists() or not may_write(book) or not _was_used(book):
        return None
    copy_book(book, target)
    of_days = {}
    for path in folder.glob(f"{book.stem}-????-??-??{book.suffix}"):
        with suppress(ValueError):
            of_days[date.fromisoformat(path.stem.removeprefix(f"{book.stem}-"))] = path
    # Today's stays whatever the clock says: else each change would make it again.
    for day in of_days.keys() - kept_days(set(of_days)) - {today}:
        of_days[day].unlink(missing_ok=True)
    return target


def _was_used(book: Path) -> bool:
    with _connected(book) as opened:
        return opened.execute("SELECT 1 FROM history LIMIT 1").fetchone() is not None


def newest_copy(book: Path) -> Path | None:
    """Return the newest sound copy of a book."""
    copies = sorted(
        (path for path in copies_folder(book).glob(f"{book.stem}-*{book.suffix}")),
        key=lambda path: path.stat().st_mtime,
        reverse=True,
    )
    return next((path for path in copies if not damage(path)), None)


def kept_days(days: set[date]) -> set[date]:
    """Return the days whose copies are worth keeping.

    Examples
    --------
    >>> from datetime import timedelta
    >>> first = date(2027, 3, 1)
    >>> kept = kept_days({first + timedelta(days=n) for n in range(60)})
    >>> len(kept), min(kept).isoformat()
    (9, '2027-04-11')
    """
    newest_first = sorted(days, reverse=True)
    of_weeks: dict[tuple[int, int], date] = {}
    for day in newest_first:
        of_weeks.setdefault(day.isocalendar()[:2], day)
    return {*newest_first[:DAYS_KEPT], *list(of_weeks.values())[:WEEKS_KEPT]}


def put_in_place(new: Path, book: Path, aside: Path) -> None:
    """Make a book what another file is, in one transaction, having copied it aside.

    Programs that have the book open see either the old or the new one, and what
    they wrote until then is in the copy.

    Raises
    ------
    OperationFailed
        If another program is writing and does not end, or the disk is full;
        the book is then as it was.
    """
    give_up = time.monotonic() + BUSY_SECONDS
    kept = False

    def keep_first(status: int, _left: int, _whole: int) -> None:
        nonlocal kept
        if status == sqlite3.SQLITE_OK and not kept:
            # The first pages were written, so nobody else writes from now on.
            copy_book(book, aside)
            kept = True
        elif status == sqlite3.SQLITE_BUSY and time.monotonic() > give_up:
            raise OperationFailed(
                f"Another program is writing in the book {book}",
                "Wait for it to end and try again",
            )

    with _connected(new) as source, _connected(book) as target:
        # Fewer pages at a time than the emptiest book has.
        source.backup(target, pages=8, progress=keep_first, sleep=0.1)
    make_private(book)


def take_place(new: Path, book: Path) -> None:
    """Move a file to where no book is.

    Raises
    ------
    OperationFailed
        If it cannot be moved.
    """
    try:
        make_private(new)
        new.replace(book)
    except OSError as error:
        raise OperationFailed(
            f"Cannot make a book in {book.parent}: {error.strerror}",
            "Check the permissions of its folder",
        ) from error


def move_aside(book: Path, moment: datetime) -> Path | None:
    """Move a damaged book and its log out of the way, as they are.

    A log must not stay even without its book: it would be read into the next one.

    Returns
    -------
    Path or None
        Where the book is now, if there was anything.
    """
    folder = copies_folder(book)
    kept = aside_name(book, moment, "damaged")
    parts = [end for end in ("", "-wal", "-shm") if book.with_name(book.name + end).exists()]
    try:
        if parts:
            folder.mkdir(mode=0o700, exist_ok=True)
        for end in parts:
            book.with_name(book.name + end).rename(kept.with_name(kept.name + end))
    except OSError as error:
        raise OperationFailed(
            f"The damaged book {book} cannot be moved aside: {error.strerror}",
            "Check the permissions of its folder",
        ) from error
    return kept if parts else None


def damage(book: Path) -> list[str]:
    """Return what SQLite finds wrong with a file; nothing for a sound one.

    A row that breaks a rule is not damage: see :mod:`burnplan.ledger.checking`.

    Raises
    ------
    OperationFailed
        If it cannot be looked at: in use, not allowed.
    """
    try:
        with closing(sqlite3.connect(opening(book), uri=True)) as opened:
            opened.execute("PRAGMA ignore_check_constraints=ON")
            found = [str(row[0]) for row in opened.execute("PRAGMA integrity_check")]
    except UnicodeDecodeError:  # the driver's own, of words that SQLite quotes from damage
        return ["the description of its tables is not text"]
    except sqlite3.DatabaseError as error:
        if any(words in str(error) for words in _OUT_OF_REACH):
            raise _trouble(book, error) from error
        return [str(error)]
    lines = [line for text in found if text != "ok" for line in text.splitlines()]
    return [line for line in lines if not _OF_A_VALUE.match(line)]


def programs_inside(book: Path) -> list[str]:
    """Return the triggers, views and virtual tables in a file: a book has none."""
    with _connected(book) as opened:
        return [
            str(row[0])
            for row in opened.execute(
                "SELECT name FROM sqlite_master WHERE type IN ('trigger', 'view')"
                " OR sql LIKE 'create virtual%'"
            )
        ]


def unreadable(book: Path, tables: list[Table]) -> Iterator[tuple[str, str, int]]:
    """Look for values that are not of their column's type, which SQLite lets in.

    Yields
    ------
    tuple
        Table, column and number of such values.
    """
    with _connected(book) as opened:
        for table in tables:
            for column in table.columns:
                name = f'"{column.name}"'
                wrong = f"{name} IS NOT NULL AND NOT ({_is_of(column.type, name)})"
                count = opened.execute(
                    f'SELECT count(*) FROM "{table.name}" WHERE {wrong}'  # noqa: S608 ours
                ).fetchone()[0]
                if count:
                    yield table.name, column.name, count


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
    if isinstance(kind, UtcDateTime | Date):
        return f"typeof({name}) = 'text' AND julianday({name}) IS NOT NULL"
    if isinstance(kind, JSON):
        return f"typeof({name}) = 'text' AND json_valid({name})"
    return f"typeof({name}) = 'text'"
