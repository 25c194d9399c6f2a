"""Bring the book to the newest schema, with a copy made first.

Alembic is slow to import, so the schema version is read with one query and
Alembic is loaded only when a migration is due. The scripts are in top-level
migrations/, which a wheel carries as burnplan/migrations.
"""

import re
import sqlite3
from collections.abc import Callable
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from sqlalchemy import Connection, Engine, inspect, text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from burnplan.errors import OperationFailed
from burnplan.ledger.engines import book_path, mapped, may_write, name_of, plain_transaction
from burnplan.sentences import Do
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


def is_a_version(text: str) -> bool:
    """Return whether a text could be a revision, of this or another burnplan."""
    return re.fullmatch("[0-9]{4}", text) is not None


def refuse_unknown(version: str, named: str, *otherwise: str | Do) -> None:
    """Refuse a book of a form that this program cannot bring to its own.

    Parameters
    ----------
    version : str
    named : str
        What to call the book.
    *otherwise : str or Do
        What else to do, a sentence, in case its form was never that.

    Raises
    ------
    OperationFailed
        If a newer burnplan wrote it, or one from before the first release.
    """
    if version > newest_version():
        raise OperationFailed(
            f"{named} was written by a newer burnplan (schema {version[:8]})",
            f"Install the newest burnplan to open it{'. ' if otherwise else ''}",
            *otherwise,
        )
    if version not in versions():
        raise OperationFailed(
            f"{named} is of a form from before the first release (schema {version[:8]})",
            f"Bring it to schema {versions()[0]} first, with a burnplan of that time",
            *((". ", *otherwise) if otherwise else ()),
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


class Upgrade(NamedTuple):
    """A book was brought to the newest schema.

    Parameters
    ----------
    copy : Path or None
        The copy made first; None on a server.
    """

    copy: Path | None


def upgrade(
    engine: Engine,
    now: datetime,
    before_beginning: Callable[[], None] = lambda: None,
    then: Callable[[Session], None] = lambda _book: None,
) -> Upgrade | None:
    """Bring the book to the newest schema if it is not there yet.

    Parameters
    ----------
    engine : Engine
    now : datetime
        Aware; names the copy.
    before_beginning : callable
        Called before a book is made where nothing is; may refuse.
    then : callable
        Takes a book that was of an older form; what it changes is kept with the new form, or
        neither is.

    Returns
    -------
    Upgrade or None
        None if nothing was due, or the book is new.

    Raises
    ------
    OperationFailed
        If the book was written by a newer burnplan or one much older, nothing may
        be written beside it, or the migration fails (the book is then as it was).
    """
    with plain_transaction(engine, writing=False) as book:
        version = version_of(book)
        there = set(inspect(book).get_table_names())
    if version == newest_version():
        return None
    path, copy = book_path(engine), None
    if there and (version is None or not is_a_version(version)):
        _refuse_strange(path, name_of(engine), there)
    if version is None:
        before_beginning()
    else:
        refuse_unknown(version, "This book", *_or_a_copy(path))
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
    if version is None:
        migrate_to(engine, "head")
        return None
    migrate_to(engine, "head", then)
    return Upgrade(copy)


# What every book has had from the first on.
_ALWAYS = {"client", "commission", "history"}


def _refuse_strange(path: Path | None, name: str, there: set[str]) -> None:
    """Refuse tables that are no book, or one that does not say which form it has."""
    if path is not None and there >= _ALWAYS:
        from burnplan.ledger.backup import Damaged

        raise Damaged(path, "it does not say what form it has")
    raise OperationFailed(
        f"Other tables are kept in the place of {name}, such as '{min(there)}'",
        "Give the book a file or a database of its own",
        *((". ", *otherwise) if (otherwise := _or_a_copy(path)) else ()),
    )


def _or_a_copy(path: Path | None) -> tuple[str | Do, ...]:
    """Return what to do if the file in the place of a book is not what it was; nothing if new."""
    from burnplan.ledger import backup

    return backup.way_out(path) if path is not None and backup.copies(path) else ()


def is_another(version: str) -> bool:
    """Return whether a book is of the form of another burnplan than this."""
    return is_a_version(version) and version != newest_version()


def changed_meanwhile(version: str) -> OperationFailed:
    """Return that a book was brought to another form since this program opened it."""
    return OperationFailed(
        f"Another burnplan changed the form of the book meanwhile (schema {version})",
        "Close this one, install the newest burnplan and start again",
    )


def refuse_other_form(book: Session) -> None:
    """Keep a program that was open while another migrated the book from writing in it.

    Raises
    ------
    OperationFailed
        If the book is not of the newest schema that this program knows.
    """
    version = book.scalar(text("SELECT version_num FROM alembic_version"))
    if version != newest_version():
        raise changed_meanwhile(version)


def migrate_to(
    engine: Engine, revision: str, then: Callable[[Session], None] = lambda _book: None
) -> None:
    """Move the book up or down to a revision and do what comes then, all in one transaction.

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
                with mapped(connection) as book:
                    then(book)
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
                "Nothing was changed. ",
                *_or_a_copy(book_path(engine)),
            ) from error
        finally:
            if isinstance(raw, sqlite3.Connection):
                raw.execute("PRAGMA foreign_keys=ON")
