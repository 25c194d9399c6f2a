"""The invented studio's book, with rows in every table, made once and copied."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from burnplan.desk import demo
from burnplan.desk.demo import DemoClock
from burnplan.desk.studio import Studio
from burnplan.ledger.tables import Row, rows, tables
from tests import books

NOW = datetime(2027, 3, 17, 9, 0, tzinfo=UTC)


def every_row(studio: Studio) -> dict[str, list[Row]]:
    """Return the whole book, the history too."""
    with studio.reading() as book:
        return {table.name: list(rows(book.connection(), table)) for table in tables()}


def every_original(studio: Studio) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in studio.originals.glob("*/*")}


@pytest.fixture(scope="session")
def demo_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("demo") / "home"
    clock = DemoClock(NOW)
    filled = books.open_at(home, clock)
    demo.fill(filled, clock)
    assert all(every_row(filled).values()), "a table of the demo is empty"
    filled.close()
    return home


@pytest.fixture
def full(demo_home: Path, tmp_path: Path) -> Iterator[Studio]:
    """The invented studio."""
    books.copy(demo_home, tmp_path / "full")
    opened = books.open_at(tmp_path / "full", DemoClock(NOW))
    yield opened
    opened.close()


@pytest.fixture
def other(tmp_path: Path) -> Iterator[Studio]:
    """A studio without a book."""
    opened = books.open_at(tmp_path / "other", DemoClock(NOW))
    yield opened
    opened.close()
