"""Put a backup, a copy or an export in the place of the book, which is kept aside."""

import math
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Engine, delete, func, inspect, select

from burnplan.desk.keeping.backups import back_up, work_room
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, OperationFailed
from burnplan.files import make_folder, refuse_what_is_no_file, written_whole
from burnplan.ledger import (
    backup,
    checking,
    engines,
    json_book,
    migrate,
    originals,
    package,
    soundness,
)
from burnplan.ledger.models import Commission, History, Original
from burnplan.ledger.tables import count, put, rows, tables
from burnplan.letter_kinds import OWN_LETTERS
from burnplan.progress import Progress, part, silent
from burnplan.sentences import Do
from burnplan.view import View

# Set up at first use; a book with nothing else in it has nothing to lose.
_SET_UP = {"studio", "history"}
_SQLITE = b"SQLite format 3\0"


class BookState(View):
    """How far a book has come; ``last_change`` is None if nothing was ever done in it."""

    schema_revision: str
    last_change: datetime | None
    rows: int
    commissions: int


class Restoring(View):
    """A book about to take the place of the present one, which is None if there is none to read."""

    made_at: datetime
    new: BookState
    present: BookState | None
    # What is in the place of the present one cannot be read.
    damaged: bool
    # What is wrong with some of the new one's values.
    faults: list[str]

    @property
    def goes_back(self) -> bool:
        """Return whether the present book has changes later than the other's last."""
        if self.present is None or self.present.last_change is None:
            return False
        return self.new.last_change is None or self.present.last_change > self.new.last_change


class Restored(View):
    """What restoring did; ``aside`` is where the book from before is kept."""

    path: Path
    new: BookState
    aside: Path | None
    migrated_from: str | None
    missing_originals: list[str]


@dataclass(frozen=True, slots=True)
class Ready:
    """A verified book that waits to take the place of the present one.

    Parameters
    ----------
    about : Restoring
        What would happen, to be agreed to.
    put_in_place : callable
        Does it, telling its progress. The present book is kept aside, and others
        who have it open see either the one or the other. Raises OperationFailed
        if it cannot; the present book is then as it was.
    """

    about: Restoring
    put_in_place: Callable[[Progress], Restored]


@contextmanager
def of_backup(studio: Studio, source: Path, on_progress: Progress = silent) -> Iterator[Ready]:
    """Verify a backup, or a copy from the folder of copies, and make it ready.

    Parameters
    ----------
    studio : Studio
    source : Path
        A backup, an export, or a copy of a book; also as it is called in the home.
    on_progress : Progress

    Raises
    ------
    BadInput
        If it cannot be used.
    OperationFailed
        If it, or the present book, was written by a newer burnplan, or there is
        no room.
    """
    home = _home(studio)
    if not os.path.lexists(source) and os.path.lexists(home / source):
        source = home / source  # as the help names one of its own copies
    if _is_sqlite(source):
        made_at = datetime.fromtimestamp(source.stat().st_mtime).astimezone(UTC)
        with work_room(home) as room:
            staged = room / package.BOOK
            backup.copy_as_it_is(source, staged)
            _check_staged(staged, source.name)
            yield _ready(studio, source, staged, made_at, lambda _tell: None)
    else:
        with package.opened(source) as found, work_room(home) as room:
            yield _ready_package(studio, found, room / package.BOOK, on_progress)


@contextmanager
def of_export(
    studio: Studio, source: Path, *, replace: bool = False, on_progress: Progress = silent
) -> Iterator[Ready]:
    """Verify an export, made ready to be the book of an empty studio, row for row.

    Parameters
    ----------
    studio : Studio
    source : Path
        An archive or folder written by :func:`burnplan.desk.keeping.backups.export`.
    replace : bool
        Whether the present book may have something in it.
    on_progress : Progress

    Raises
    ------
    BadInput
        If it cannot be used.
    NotAllowed
        If the book is not empty, unless told.
    OperationFailed
        As :func:`of_backup`.
    """
    with package.opened(source) as found, work_room(_home(studio)) as room:
        if package.PLAIN_BOOK not in found.manifest.members:
            raise BadInput(
                f"'{source.name}' is not an export", "For a backup: ", Do("book.restore")
            )
        book_file = studio.book_file
        if not replace and (book_file is None or book_file.exists()):
            with studio.reading() as book:
                connection = book.connection()
                full = [t.name for t in tables() if t.name not in _SET_UP and count(connection, t)]
            if full:
                raise NotAllowed(
                    "This book is not empty",
                    "Add ",
                    Do("import.replace"),
                    " to keep it aside and import anyway",
                )
        yield _ready_package(studio, found, room / package.BOOK, on_progress)


def _is_sqlite(path: Path) -> bool:
    refuse_what_is_no_file(path)
    try:
        with path.open("rb") as file:
            return file.read(len(_SQLITE)) == _SQLITE
    except IsADirectoryError:
        return False
    except OSError as error:
        raise BadInput(f"'{path}' cannot be read: {error.strerror}", "Check its name") from None


def _ready_package(
    studio: Studio, found: package.Package, staged: Path, on_progress: Progress
) -> Ready:
    manifest = found.manifest
    _check_space(studio.home, found)
    found.verify(part(on_progress, 0.0, 0.5))
    if package.BOOK in manifest.members:
        found.extract(package.BOOK, staged)
        _check_staged(staged, found.path.name)
    elif package.PLAIN_BOOK in manifest.members:
        _load_plain(found, staged, part(on_progress, 0.5, 1.0))
    else:
        raise BadInput(f"'{found.path.name}' has no book in it", "Use another backup")
    _check_contents(staged, found)

    def keep_files(tell: Progress) -> None:
        kept = found.originals()
        for number, (sha256, member) in enumerate(kept.items(), start=1):
            try:
                originals.fetch(studio.originals, sha256)
            except OperationFailed:
                checking.put_back(studio.originals, sha256, found, member)
            tell(number / len(kept), "putting photos back")
        for name in manifest.members:
            target = studio.home / name
            if name.startswith(OWN_LETTERS) and not target.exists():
                make_folder(target.parent)
                with written_whole(target, private=True, own=True) as unfinished:
                    found.extract(name, unfinished)

    return _ready(studio, found.path, staged, manifest.made_at, keep_files)


def _home(studio: Studio) -> Path:
    """Return the studio's folder, made if it is not there."""
    try:
        studio.home.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OperationFailed(
            f"Cannot make the folder '{studio.home}': {error.strerror}",
            "Set BURNPLAN_HOME to a folder you can write in",
        ) from error
    return studio.home


def _check_space(home: Path, found: package.Package) -> None:
    """Refuse a package that would not fit: the book in three places for a while."""
    needed = sum(
        member.bytes * (1 if name.startswith(package.ORIGINALS) else 3)
        for name, member in found.manifest.members.items()
    )
    if needed > shutil.disk_usage(home).free:
        raise OperationFailed(
            f"Using '{found.path.name}' needs {math.ceil(needed / 1e6):,} MB of free space",
            "Free some space and try again",
        )


@contextmanager
def _open(path: Path) -> Iterator[Engine]:
    engine = engines.open_engine(engines.sqlite_url(path))
    try:
        yield engine
    finally:
        engine.dispose()


def _check_staged(staged: Path, name: str) -> None:
    """Refuse a SQLite file that is damaged, is not a book, or has programs in it."""
    hint = "Nothing was changed; use another backup"
    if damage := soundness.damage(staged):
        raise BadInput(f"The book in '{name}' is damaged: {damage[0]}", hint)
    if not soundness.is_empty(staged):
        _check_revision(str(soundness.version(staged)), name)
    if faults := soundness.form_faults(staged):
        raise BadInput(f"There is no burnplan book in '{name}': {faults[0]}", hint)


def _check_revision(revision: str, name: str) -> None:
    """Refuse a schema that this program does not know."""
    if not migrate.is_a_version(revision):
        raise BadInput(f"There is no burnplan book in '{name}'", "Nothing was changed")
    migrate.refuse_unknown(revision, f"'{name}'")


def _load_plain(found: package.Package, staged: Path, on_progress: Progress) -> None:
    """Make a book of what book.json says, with every rule of the tables enforced."""
    with closing(found.chunks(package.PLAIN_BOOK)) as chunks, _open(staged) as engine:
        book = json_book.JsonBook(chunks)
        _check_revision(book.revision, found.path.name)
        migrate.migrate_to(engine, book.revision)
        json_book.load(book, engine, found.manifest.rows, on_progress)


def _check_contents(staged: Path, found: package.Package) -> None:
    """Refuse a book that has not what its manifest says, before it is migrated."""
    manifest = found.manifest
    with _open(staged) as engine, engines.transaction(engine, writing=False) as book:
        connection = book.connection()
        there = json_book.tables_at(connection, manifest.schema)
        names = {"alembic_version", *(table.name for table in there)}
        same = (
            migrate.version_of(connection) == manifest.schema
            and set(inspect(connection).get_table_names()) == names
            and {table.name: count(connection, table) for table in there} == manifest.rows
            and set(connection.scalars(select(Original.sha256)))
            == found.originals().keys() | set(manifest.missing)
        )
    if not same:
        raise BadInput(
            f"The book in '{found.path.name}' is not the one its manifest describes",
            "Nothing was changed; use another backup or export",
        )


def _state(engine: Engine) -> BookState:
    """Return how far a book has come, whatever its form; what cannot be read is left out."""
    with engines.plain_transaction(engine, writing=False) as book:
        there = [table for table in tables() if inspect(book).has_table(table.name)]
        try:
            last = book.scalar(select(func.max(History.at)))
        except ValueError:  # no moment at all
            last = None
        return BookState(
            schema_revision=str(migrate.version_of(book)),
            last_change=last,
            rows=sum(count(book, table) for table in there),
            commissions=book.scalar(select(func.count()).select_from(Commission)) or 0,
        )


def _present(studio: Studio, path: Path | None) -> BookState | None:
    """Return how far the present book has come; None if it cannot be read, or is not there."""
    if path is None:
        return _state(studio.engine)
    try:
        with _open(path) as engine:
            return _state(engine) if path.exists() else None
    except Exception:  # noqa: BLE001 whatever stands there, it will be set aside
        return None


def _ready(
    studio: Studio,
    source: Path,
    staged: Path,
    made_at: datetime,
    keep_files: Callable[[Progress], None],
) -> Ready:
    """Bring a staged and verified book to the newest schema, and look at the present one."""
    with _open(staged) as engine:
        with engines.transaction(engine, writing=False) as book:
            revision = str(migrate.version_of(book.connection()))
        if revision != migrate.newest_version():
            migrate.migrate_to(engine, "head", studio.renew_all)
        new = _state(engine)
        with engines.transaction(engine, writing=False) as book:
            named = list(book.scalars(select(Original.sha256)))
    faults = list(soundness.faults(staged))
    path = engines.book_path(engines.open_engine(studio.database_url))
    present = _present(studio, path)

    def put_in_place(tell: Progress) -> Restored:
        keep_files(tell)
        if path is None:
            aside: Path | None = _replace_rows(studio, staged)
        else:
            studio.close()
            aside = backup.put_in_place(staged, path, studio.now())
        return Restored(
            path=source,
            new=new,
            aside=aside,
            migrated_from=None if revision == migrate.newest_version() else revision,
            missing_originals=[
                sha256 for sha256 in named if not originals.place(studio.originals, sha256).exists()
            ],
        )

    damaged = path is not None and os.path.lexists(path) and present is None
    about = Restoring(made_at=made_at, new=new, present=present, damaged=damaged, faults=faults)
    return Ready(about, put_in_place)


def _replace_rows(studio: Studio, staged: Path) -> Path:
    """Make a book on a server what a staged one is, and return the backup made first.

    Nobody writes from before the backup until the new rows are there.
    """
    aside = backup.aside_name(studio.home / "book.zip", studio.now(), "before-restore")
    make_folder(aside.parent, private=True)
    with (
        _open(staged) as source,
        engines.transaction(source, writing=False) as new,
        engines.transaction(studio.engine, writing=True) as book,
    ):
        back_up(studio, aside)
        connection = book.connection()
        for table in reversed(tables()):
            connection.execute(delete(table))
        for table in tables():
            for _ in put(connection, table, rows(new.connection(), table)):
                pass
    return aside
