"""A book with something in every table, in a file, and on the server where one is named."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from burnplan.desk import demo
from burnplan.ledger import moving, tables
from burnplan.progress import silent
from tests import books
from tests.conftest import FixedClock

NOW = datetime(2027, 3, 17, tzinfo=UTC)


@pytest.fixture(scope="session")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The home of a book with rows in every table, for copying."""
    home = tmp_path_factory.mktemp("filled")
    studio, clock = demo.open_demo(home, NOW)
    demo.fill(studio, clock)
    with studio.engine.connect() as connection:
        for table in tables.tables():
            assert tables.count(connection, table) > 0, table.name
    if books.SERVER:
        there = books.open_at(home, FixedClock())
        moving.move(studio.engine, there.engine, silent)
        there.close()
    studio.close()
    return home
