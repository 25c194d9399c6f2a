"""Write the whole book out: as a backup to restore, or in forms any program can read."""

import json
import re
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, func, select

import burnplan
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, OperationFailed
from burnplan.files import UNFINISHED
from burnplan.ledger import (
    backup,
    engines,
    json_book,
    json_book_schema,
    migrate,
    originals,
    package,
)
from burnplan.ledger.models import History, Original
from burnplan.ledger.tables import count, tables
from burnplan.progress import Progress, part, silent
from burnplan.view import View


class Packed(View):
    """A backup or an export that was written.

    ``missing`` has the SHA-256 of each photo that could not be put in, and ``missing_photos``
    what their files were called. ``letters`` are templates of the studio's own.
    """

    path: Path
    bytes: int
    schema_revision: str
    rows: dict[str, int]
    originals: int
    letters: int
    missing: list[str]
    missing_photos: list[str]


def default_name(studio: Studio, purpose: str) -> str:
    """Return a name for a backup or export made now."""
    return f"burnplan-{purpose}-{studio.local(studio.now()):%Y-%m-%d-%H%M%S}.zip"


def back_up(studio: Studio, target: Path, on_progress: Progress = silent) -> Packed:
    """Write the book and its originals to one archive, while others may be writing.

    Parameters
    ----------
    studio : Studio
    target : Path
        A zip archive; one that is there is replaced.
    on_progress : Progress

    Raises
    ------
    BadInput
        If the name does not end in .zip, or its folder is not there.
    OperationFailed
        If it cannot be written.
    """
    if target.suffix.lower() != ".zip":
        raise BadInput(f"'{target.name}' does not end in .zip", "A backup is a zip archive")

    def add_book(connection: Connection, packing: package.Packing, tell: Progress) -> None:
        if engines.book_path(studio.engine) is None:
            _add_plain_book(connection, packing, tell)
            return
        with work_room(target.parent) as room:
            copy = room / package.BOOK
            backup.copy_as_seen(connection, copy)
            packing.add(package.BOOK, copy)

    return _pack(studio, target, add_book, False, on_progress)


def export(studio: Studio, target: Path, on_progress: Progress = silent) -> Packed:
    """Write everything in open forms: JSON with its schema, CSV, and the photos.

    Parameters
    ----------
    studio : Studio
    target : Path
        A zip archive if its name ends so, else a new folder.
    on_progress : Progress

    Raises
    ------
    BadInput
        If the folder is there already, or its parent is not.
    OperationFailed
        If it cannot be written.
    """
    if target.suffix.lower() != ".zip" and target.exists():
        raise BadInput(f"'{target}' is there already", "Name a new folder, or a .zip archive")

    def add_book(connection: Connection, packing: package.Packing, tell: Progress) -> None:
        _add_plain_book(connection, packing, part(tell, 0.0, 0.6))
        schema = json_book_schema.json_schema(migrate.newest_version())
        with packing.member("book.schema.json") as out:
            out.write(json.dumps(schema, indent=1).encode())
        for number, table in enumerate(tables(), start=1):
            with packing.member(f"tables/{table.name}.csv") as out:
                json_book.write_csv(connection, table, out)
            tell(0.6 + 0.4 * number / len(tables()), "writing tables")

    return _pack(studio, target, add_book, True, on_progress)


def _add_plain_book(connection: Connection, packing: package.Packing, tell: Progress) -> None:
    with packing.member(package.PLAIN_BOOK) as out:
        json_book.write_book(connection, migrate.newest_version(), out, tell)


def _pack(
    studio: Studio,
    target: Path,
    add_book: Callable[[Connection, package.Packing, Progress], None],
    endings: bool,
    on_progress: Progress,
) -> Packed:
    """Write a package; ``endings`` lets the photos keep the ending of their file names."""
    now = studio.now()
    with package.packed(target, moment=now) as packing, studio.reading() as book:
        connection = book.connection()
        add_book(connection, packing, part(on_progress, 0.0, 0.5))
        kept = list(book.scalars(select(Original).order_by(Original.sha256)))
        missing, names = [], []
        for number, original in enumerate(kept, start=1):
            try:
                path = originals.fetch(studio.originals, original.sha256)
            except OperationFailed:
                missing.append(original.sha256)
                names.append(original.filename)
            else:
                ending = re.search(r"\.[a-z0-9]{1,5}$", original.filename.lower())
                shown = ending[0] if ending and endings else ""
                packing.add(f"{package.ORIGINALS}{original.sha256}{shown}", path)
            on_progress(0.5 + number / len(kept) / 2, "adding photos")
        letters = package.own_letters(studio.home)
        for name, path in letters.items():
            packing.add(name, path)
        manifest = package.Manifest(
            program=burnplan.__version__,
            schema=migrate.newest_version(),
            made_at=now,
            last_change=book.scalar(select(func.max(History.at))),
            rows={table.name: count(connection, table) for table in tables()},
            missing=missing,
            members=packing.members,
        )
        packing.finish(manifest)
    return Packed(
        path=target,
        bytes=sum(member.bytes for member in packing.members.values()),
        schema_revision=manifest.schema,
        rows=manifest.rows,
        originals=len(kept) - len(missing),
        letters=len(letters),
        missing=missing,
        missing_photos=names,
    )


@contextmanager
def work_room(folder: Path) -> Iterator[Path]:
    """Give a private folder to work in, which is gone afterwards."""
    try:
        made = tempfile.TemporaryDirectory(
            suffix=UNFINISHED, prefix=".burnplan-", dir=folder, ignore_cleanup_errors=True
        )
    except FileNotFoundError:
        raise BadInput(f"There is no folder '{folder}'", "Make it first") from None
    except OSError as error:
        raise OperationFailed(
            f"Cannot write in '{folder}': {error.strerror}", "Check its permissions and its space"
        ) from error
    with made as name:
        yield Path(name)
