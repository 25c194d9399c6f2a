"""Where the tests keep their books: in files, or on a server that is named.

With BURNPLAN_TEST_DATABASE (the URL of a PostgreSQL server's own database, like
postgresql+psycopg://burnplan@127.0.0.1:5433/postgres) every home's book is a
database of that server, and the same tests run on it.
"""

import fcntl
import os
import shutil
from collections.abc import Callable
from datetime import UTC, datetime, tzinfo
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import make_url

from burnplan.desk.studio.studio import Studio
from burnplan.ledger.engines import sqlite_url

if TYPE_CHECKING:
    import psycopg

SERVER = os.environ.get("BURNPLAN_TEST_DATABASE", "")

about_files = pytest.mark.skipif(bool(SERVER), reason="about the file of a SQLite book")
about_servers = pytest.mark.skipif(not SERVER, reason="needs BURNPLAN_TEST_DATABASE")

# Each home with a database on the server.
_made: dict[Path, str] = {}


@cache
def server() -> "psycopg.Connection":
    """Return a connection that makes and drops databases."""
    import psycopg

    url = make_url(SERVER).set(drivername="postgresql")
    return psycopg.connect(url.render_as_string(hide_password=False), autocommit=True)


def _database(home: Path) -> str:
    return "test_" + sha256(str(home).encode()).hexdigest()[:24]


def url_at(home: Path) -> str:
    """Return the URL of a home's book; on a server an empty database is made for it."""
    if not SERVER:
        return sqlite_url(home / "book.db")
    if home not in _made:
        server().execute(f"CREATE DATABASE {_database(home)}")
        _made[home] = _database(home)
    return make_url(SERVER).set(database=_made[home]).render_as_string(hide_password=False)


def open_at(home: Path, clock: Callable[[], datetime], zone: tzinfo = UTC) -> Studio:
    """Open the studio of a home."""
    return Studio(home, url_at(home), clock, zone)


def copy(source: Path, target: Path) -> None:
    """Copy a home that nobody has open, book and photos, in place of another."""
    if target.exists():
        shutil.rmtree(target)
    if SERVER:
        drop(target)
        server().execute(f"CREATE DATABASE {_database(target)} TEMPLATE {_made[source]}")
        _made[target] = _database(target)
    if source.exists():
        shutil.copytree(source, target)
    else:
        target.mkdir(parents=True)  # of a server's book there may be no files


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], None]) -> Path:
    """Return a folder for copying: whichever process of the tests needs it first makes it."""
    folder = factory.getbasetemp()
    target = (folder.parent if "PYTEST_XDIST_WORKER" in os.environ else folder) / name
    with target.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)  # another process may be at it
        if not target.exists():
            made = factory.mktemp(name) / name
            make(made)
            made.rename(target)
    return target


def drop(under: Path) -> None:
    """Drop the databases of a home or of all homes in a folder; files go with their folders."""
    for home in [home for home in _made if home.is_relative_to(under)]:
        server().execute(f"DROP DATABASE {_made.pop(home)} WITH (FORCE)")


def leave() -> None:
    """Leave the server, at the end of all tests."""
    if SERVER:
        server().close()
