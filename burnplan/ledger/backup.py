"""Copies of a SQLite book, and putting one in its place.

A copy is taken with SQLite's backup interface, so that it is whole and holds
exactly what was committed, whatever other programs are writing meanwhile. A
book on a server is copied row by row instead (:mod:`burnplan.ledger.json_book`).
"""

import os
import shutil
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import date, datetime
from pathlib import Path
from typing import Final

from sqlalchemy import Connection

from burnplan.errors import OperationFailed
from burnplan.files import discard, make_folder, make_private, make_way, to_disk, written_whole
from burnplan.ledger import engines, soundness
from burnplan.ledger.engines import BUSY_SECONDS, may_write
from burnplan.sentences import Do

DAYS_KEPT, WEEKS_KEPT = 7, 4
NO_COPY: Final = (
    "There is no sound copy of it here; put a backup in its place: ", Do("book.restore"),
)  # fmt: skip


class Damaged(OperationFailed):
    """A book that cannot be used; says which copy to put in its place."""

    def __init__(self, book: Path, what: str) -> None:
        super().__init__(
            f"The book {book} is damaged or is not a burnplan book: {what}", *way_out(book)
        )


def copies_folder(book: Path) -> Path:
    """Return the folder where the copies of a book are kept."""
    return book.parent / "copies"


# --- taking copies -------------------------------------------------------------------------


def copy_as_it_is(book: Path, target: Path) -> None:
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
    with _copied(book, target):
        pass


@contextmanager
def _copied(book: Path, target: Path) -> Iterator[Path]:
    """Give a copy that takes its name when all went well."""
    make_folder(target.parent, private=True)
    with written_whole(target, private=True, own=True) as unfinished:
        try:
            with soundness.connected(book) as source:
                _copy(source, unfinished)
            yield unfinished
        finally:
            for end in soundness.LOGS:  # where there was no room to end it in order
                discard(unfinished.with_name(unfinished.name + end))


def copy_book(book: Path, target: Path) -> None:
    """Copy a book as :func:`copy_as_it_is`, and look whether it is whole.

    Raises
    ------
    Damaged
        If the copy is none that could be put in the place of the book; it has then its
        name with "damaged" added.
    OperationFailed
        If the book cannot be read or the copy not written; then there is none.
    """
    with _copied(book, target) as copy:
        if fault := next(soundness.faults(copy), None):
            copy.replace(damaged_name(target))
            raise Damaged(book, fault)


def damaged_name(target: Path) -> Path:
    """Return what a copy is called that turns out to be damaged."""
    return target.with_name(f"{target.stem}-damaged{target.suffix}")


def copy_as_seen(connection: Connection, target: Path) -> None:
    """Copy a SQLite book as a transaction sees it.

    Raises
    ------
    Damaged
        If the copy cannot be written because the book is damaged.
    OperationFailed
        If the book cannot be read or the copy not written.
    """
    book = engines.book_path(connection.engine)
    source = connection.connection.driver_connection
    assert isinstance(source, sqlite3.Connection)  # noqa: S101 the caller asked
    assert book is not None  # noqa: S101 a file then
    try:
        # A transaction sees the moment of its first look; until then there is none.
        source.execute("SELECT 1 FROM sqlite_master").fetchone()
        _copy(source, target)
    except sqlite3.DatabaseError as error:
        if fault := next(iter(soundness.damage(book)), None):
            raise Damaged(book, fault) from error
        raise soundness.trouble(target, error) from error


def _copy(source: sqlite3.Connection, target: Path) -> None:
    with closing(sqlite3.connect(target)) as copy:
        source.backup(copy)
        # One file, without a log beside it.
        copy.execute("PRAGMA journal_mode=DELETE")


def aside_name(book: Path, moment: datetime, why: str) -> Path:
    """Return where to keep a copy of a book: in its folder of copies, named after the moment."""
    folder, start = copies_folder(book), f"{book.stem}-{moment:%Y%m%dT%H%M%SZ}-{why}"
    names = (folder / f"{start}{again}{book.suffix}" for again in ("", *range(-2, -1000, -1)))
    return next(name for name in names if not name.exists())


def copy_of_the_day(book: Path, today: date) -> Path | None:
    """Copy a book unless that has been done today; keep the newest few such copies.

    A book in which nothing was done yet, or nothing may be, is not copied. Kept are
    those of the last seven days that have one, and the newest of each of the last
    four weeks. Copies made for another reason are left alone. No copy goes before
    the new one has been looked over: good ones never make room for a damaged one.

    Parameters
    ----------
    book : Path
    today : date
        By the wall clock of the studio.

    Returns
    -------
    Path or None
        The copy, if one was due.

    Raises
    ------
    Damaged
        If the book turns out to be; once a day.
    """
    folder, target = copies_folder(book), copy_of(book, today)
    done = target.exists() or damaged_name(target).exists()
    if done or not may_write(book) or not _was_used(book):
        return None
    for older in folder.glob(f"{book.stem}-????-??-??-damaged{book.suffix}"):
        older.unlink(missing_ok=True)
    copy_book(book, target)
    thin_out(book, today)
    return target


def copy_of(book: Path, day: date) -> Path:
    """Return what the copy of a day is called."""
    return copies_folder(book) / f"{book.stem}-{day:%Y-%m-%d}{book.suffix}"


def thin_out(book: Path, today: date) -> None:
    """Remove the copies of days that are not worth keeping, all but today's."""
    folder, of_days = copies_folder(book), {}
    for path in folder.glob(f"{book.stem}-????-??-??{book.suffix}"):
        with suppress(ValueError):
            of_days[date.fromisoformat(path.stem.removeprefix(f"{book.stem}-"))] = path
    # Today's stays whatever the clock says: else each change would make it again.
    for day in of_days.keys() - kept_days(set(of_days)) - {today}:
        of_days[day].unlink(missing_ok=True)


def _was_used(book: Path) -> bool:
    with soundness.connected(book) as opened:
        return opened.execute("SELECT 1 FROM history LIMIT 1").fetchone() is not None


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


# --- finding the one to use ----------------------------------------------------------------


def copies(book: Path) -> list[Path]:
    """Return the copies of a book, newest first."""
    found = copies_folder(book).glob(f"{book.stem}-*{book.suffix}")
    return sorted((path for path in found if path.is_file()), key=_changed, reverse=True)


def _changed(path: Path) -> float:
    return path.stat().st_mtime


def newest_copy(book: Path) -> Path | None:
    """Return the newest copy of a book that can be put in its place, a whole one if there is."""
    usable = None
    for path in copies(book):
        with suppress(OperationFailed):
            if next(soundness.faults(path), None) is None:
                return path
            if usable is None and next(soundness.structural_faults(path), None) is None:
                usable = path
    return usable


def way_out(book: Path) -> tuple[str | Do, ...]:
    """Return what to do about a damaged book, as the end of an error or a note."""
    newest = newest_copy(book)
    if newest is None:
        return NO_COPY
    return ("Put its newest sound copy in its place: ", Do("book.restore", file=newest))


# --- putting one in place ------------------------------------------------------------------


def put_in_place(new: Path, book: Path, moment: datetime) -> Path | None:
    """Make a book what another file is, having kept aside whatever stands there.

    Nothing is asked of that: it may be damaged, another file or a folder. Where it is a
    sound database, programs that have it open see either the old or the new one, and what
    they wrote until then is in the copy. At every moment one of the two is in place.

    Parameters
    ----------
    new : Path
        A sound book, on the same disk.
    book : Path
    moment : datetime
        Names what is kept aside.

    Returns
    -------
    Path or None
        Where the one from before is kept, if there was anything.

    Raises
    ------
    OperationFailed
        If another program is writing and does not end, or the disk is full; what
        stood there still does.
    """
    if book.is_symlink() and book.exists():
        book = book.resolve()
    if book.is_file() and not soundness.damage(book):
        aside = None if soundness.is_empty(book) else aside_name(book, moment, "before-restore")
        _replace_contents(new, book, aside)
        return aside
    try:
        kept = _keep_aside(book, moment)
        with written_whole(book, private=True, own=True) as unfinished:
            shutil.copyfile(new, unfinished)
    except OSError as error:
        raise OperationFailed(
            f"What is in the place of the book {book} cannot be moved aside: {error.strerror}",
            "Check the permissions of its folder",
        ) from error
    return kept


def _replace_contents(new: Path, book: Path, aside: Path | None) -> None:
    """Make a book what another file is, in one transaction, having copied it aside."""
    give_up = time.monotonic() + BUSY_SECONDS
    kept = False

    def keep_first(status: int, _left: int, _whole: int) -> None:
        nonlocal kept
        if status == sqlite3.SQLITE_OK and not kept:
            # The first pages were written, so nobody else writes from now on.
            if aside is not None:
                make_way(aside.parent)
                copy_as_it_is(book, aside)
            kept = True
        elif status == sqlite3.SQLITE_BUSY and time.monotonic() > give_up:
            raise OperationFailed(
                f"Another program is writing in the book {book}",
                "Wait for it to end and try again",
            )

    with soundness.connected(new) as source, soundness.connected(book) as target:
        try:
            # Fewer pages at a time than the emptiest book has.
            source.backup(target, pages=8, progress=keep_first, sleep=0.1)
        except BaseException:
            if kept and aside is not None:  # the book still has all that is in it
                aside.unlink(missing_ok=True)
            raise
    make_private(book)


def _keep_aside(book: Path, moment: datetime) -> Path | None:
    """Give what stands in the place of a book another name, and a file keeps this one too.

    Its log or journal must not stay: it would be read into the next book.
    """
    ends = ("", *soundness.LOGS)
    there = [end for end in ends if os.path.lexists(book.with_name(book.name + end))]
    if not there:
        return None
    kept = aside_name(book, moment, "damaged")
    make_way(kept.parent)
    make_folder(kept.parent, private=True)
    for end in there:
        part, other = book.with_name(book.name + end), kept.with_name(kept.name + end)
        if end or not part.is_file():
            part.rename(other)
        else:
            _also_called(part, other)
        if not other.is_symlink():
            make_private(other)
    with suppress(OSError):
        to_disk(kept.parent)
        to_disk(book.parent)
    return kept


def _also_called(path: Path, other: Path) -> None:
    """Give a file a second name; where the disk knows no such thing, copy it."""
    try:
        other.hardlink_to(path)
    except OSError:
        with written_whole(other, private=True, own=True) as unfinished:
            shutil.copyfile(path, unfinished)


def left_of(book: Path | None, originals: Path) -> list[Path]:
    """Return the folders with copies or photos of a studio whose book is gone."""
    left = [copies_folder(book)] if book is not None and copies(book) else []
    if next(originals.glob(f"??/{'?' * 64}"), None):
        left.append(originals)
    return left
