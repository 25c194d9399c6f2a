"""The invented studio's book, with rows in every table, made once and copied."""

import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import strategies as st

from burnplan.desk.demo import DemoClock
from burnplan.desk.keeping import backups
from burnplan.desk.studio.studio import Studio
from burnplan.ledger.tables import Row, rows, tables
from tests import books

# Whatever JSON can say.
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=12,
)
NOW = datetime(2027, 3, 17, 9, 0, tzinfo=UTC)


def every_row(studio: Studio) -> dict[str, list[Row]]:
    """Return the whole book, the history too."""
    with studio.reading() as book:
        return {table.name: list(rows(book.connection(), table)) for table in tables()}


def every_original(studio: Studio) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in studio.originals.glob("*/*")}


@pytest.fixture
def full(filled: Path, tmp_path: Path) -> Iterator[Studio]:
    """The invented studio."""
    books.copy(filled, tmp_path / "full")
    opened = books.open_at(tmp_path / "full", DemoClock(NOW))
    yield opened
    opened.close()


@pytest.fixture
def other(tmp_path: Path) -> Iterator[Studio]:
    """A studio without a book."""
    opened = books.open_at(tmp_path / "other", DemoClock(NOW))
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def packages(tmp_path_factory: pytest.TempPathFactory, filled: Path) -> Path:
    """A folder with a backup, b.zip, and an export, e.zip."""
    folder = tmp_path_factory.mktemp("packages")
    books.copy(filled, folder / "home")
    studio = books.open_at(folder / "home", lambda: NOW)
    backups.back_up(studio, folder / "b.zip")
    backups.export(studio, folder / "e.zip")
    studio.close()
    return folder


def read(archive: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(archive) as opened:
        return {name: opened.read(name) for name in opened.namelist()}
