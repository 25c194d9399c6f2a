"""Bring the book to the newest schema, with a copy made first.

Alembic is slow to import, so the schema version is read with one query and
Alembic is loaded only when a migration is due. The scripts are in top-level
migrations/, which a wheel carries as burnplan/migrations.
"""

import sqlite3
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, Engine, inspect, text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from burnplan.errors import OperationFailed
from burnplan.ledger.engines import book_path, may_write, name_of, plain_transaction
from burnplan.shipped import shipped

if TYPE_CHECKING:
    from alembic.config import Config


@cache
def scripts_folder() -> Path:
    """Return the folder with the migration scripts."""
    return shipped("migrations")


@cache
def versions() -> list[str]:
    """Return the revisions that are known, oldest first: file names begin with them."""
    scripts = (scripts_folder() / "versions").glob("[0-9]*_*.py")
    return sorted(path.name.partition("_")[0] for path in scripts)


def newest_version() -> str:
    """Return the newest revision."""
    return versions()[-1]


def refuse_unknown(version: str, named: str) -> None:
    """Refuse a book of a form that this program cannot bring to its own.

    Raises
    ------
    OperationFailed
        If a newer burnplan wrote it, or one from before the first release.
    """
    if version > newest_version():
        raise OperationFailed(
            f"{named} was written by a newer burnplan (schema {version[:8]})",
            "Install the newest burnplan to open it",
        )
    if version not in versions():
        raise OperationFailed(
            f"{named} is of a form from before the first release (schema {version[:8]})",
            f"Bring it to schema {versions()[0]} first, with a burnplan of that time",
        )


def version_of(connection: Connection) -> str | None:
    """Return the revision of an open book; None if it is new."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return str(found) if found else None


def configuration(connection: Connection | None = None) -> "Config":
    """Return Alembic's configuration, made at run time since a wheel has no ini."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(scripts_folder()).replace("%", "%%"))
    if connection is not None:
        config.attributes["connection"] = connection
    return config


def upgrade(engine: Engine, now: datetime) -> Path | None:
    """Bring the book to the newest schema if it is not there yet.

    Parameters
    ----------
    engine : Engine
    now : datetime
        Aware; names the copy.

    Returns
    -------
    Path or None
        The copy made first; None if nothing was due, or the book is new or on
        a server.

    Raises
    ------
    OperationFailed
        If the book was written by a newer burnplan or one much older, nothing may
        be written beside it, or the migration fails (the book is then as it was).
    """
    with plain_transaction(engine, writing=False) as book:
        version = version_of(book)
        others = version is None and inspect(book).get_table_names()
    if version == newest_version():
        return None
    if others:
        raise OperationFailed(
            f"Other tables are kept in the place of {name_of(engine)}, such as '{others[0]}'",
            "Give the book a file or a database of its own",
        )
    if version is not None:
        refuse_unknown(version, "This book")
    path, copy = book_path(engine), None
    if path is not None and version is not None:
        if not may_write(path):
            raise OperationFailed(
                f"The book {path} is of an older form (schema {version}), and cannot be"
                " brought to the newest where nothing may be written",
                "Copy it to a folder you can write in, and set BURNPLAN_HOME to that",
            )
        from burnplan.ledger.backup import aside_name, copy_book

        copy = aside_name(path, now, f"schema-{version}")
        copy_book(path, copy)
    migrate_to(engine, "head")
    return copy


def refuse_other_form(book: Session) -> None:
    """Keep a program that was open while another migrated the book from writing in it.

    Raises
    ------
    OperationFailed
        If the book is not of the newest schema that this program knows.
    """
    version = book.scalar(text("SELECT version_num FROM alembic_version"))
    if version != newest_version():
        raise OperationFailed(
            f"Another burnplan changed the form of the book meanwhile (schema {version})",
            "Close this one, install the newest burnplan and start again",
        )


def migrate_to(engine: Engine, revision: str) -> None:
    """Move the book up or down to a revision, all in one transaction.

    On SQLite foreign keys are off meanwhile, since rebuilding a parent table
    with them on would delete its children; they are checked before committing.

    Raises
    ------
    OperationFailed
        If a script fails or would leave a row without its parent.
    """
    from alembic import command
    from alembic.script import ScriptDirectory

    with engine.connect() as connection:
        raw = connection.connection.driver_connection
        if isinstance(raw, sqlite3.Connection):
            raw.execute("PRAGMA foreign_keys=OFF")
        try:
            with connection.execution_options(writing=True).begin():
                config = configuration(connection)
                at = version_of(connection)
                order = [s.revision for s in ScriptDirectory.from_config(config).walk_revisions()]
                target = order[0] if revision == "head" else revision
                down = at is not None and (
                    target == "base" or order.index(target) > order.index(at)
                )
                (command.downgrade if down else command.upgrade)(config, target)
                if (
                    isinstance(raw, sqlite3.Connection)
                    and connection.exec_driver_sql("PRAGMA foreign_key_check").first()
                ):
                    raise OperationFailed(
                        "Changing the book's schema would orphan some rows",
                        "Nothing was changed; please report this",
                    )
        except DatabaseError as error:
            raise OperationFailed(
                f"Cannot change the book's schema: {str(error.orig).splitlines()[0]}",
                "Nothing was changed",
            ) from error
        finally:
            if isinstance(raw, sqlite3.Connection):
                raw.execute("PRAGMA foreign_keys=ON")
