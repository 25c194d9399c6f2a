"""Daily copies of a book on a server, row by row: what the server loses is here."""

from datetime import date, datetime
from pathlib import Path

from sqlalchemy import Engine, func, select

import burnplan
from burnplan.files import make_folder
from burnplan.ledger import backup, json_book, migrate, package
from burnplan.ledger.engines import plain_transaction
from burnplan.ledger.models import History, Original
from burnplan.ledger.tables import count, tables
from burnplan.progress import silent


def copy_of_the_day(engine: Engine, home: Path, today: date, now: datetime) -> Path | None:
    """Copy a server's book unless that has been done today; keep the newest few such copies.

    A copy is a backup without the photos, which stay in their folder; those kept are
    chosen as for a book that is a file.

    Parameters
    ----------
    engine : Engine
        Of a book on a server, of the newest form.
    home : Path
        The copies are in its folder of copies.
    today : date
        By the wall clock of the studio.
    now : datetime

    Returns
    -------
    Path or None
        The copy, if one was due.

    Raises
    ------
    OperationFailed
        If the book cannot be read or the copy not written; then there is none.
    """
    book = home / "book.zip"
    target = backup.copy_of(book, today)
    if target.exists():
        return None
    with plain_transaction(engine, writing=False) as connection:
        last_change = connection.scalar(select(func.max(History.at)))
        if last_change is None:
            return None
        make_folder(target.parent, private=True)
        with package.packed(target, moment=now, own=True) as packing:
            with packing.member(package.PLAIN_BOOK) as out:
                json_book.write_book(connection, migrate.newest_version(), out, silent)
            packing.finish(
                package.Manifest(
                    program=burnplan.__version__,
                    schema=migrate.newest_version(),
                    made_at=now,
                    last_change=last_change,
                    rows={table.name: count(connection, table) for table in tables()},
                    missing=list(connection.scalars(select(Original.sha256))),
                    members=packing.members,
                )
            )
    backup.thin_out(book, today)
    return target
