"""A book with something in every table."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from burnplan.desk import demo
from burnplan.ledger import tables

NOW = datetime(2027, 3, 17, tzinfo=UTC)


@pytest.fixture(scope="session")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of a book with rows in every table, for copying."""
    home = tmp_path_factory.mktemp("filled")
    studio, clock = demo.open_demo(home, NOW)
    demo.fill(studio, clock)
    with studio.engine.connect() as connection:
        for table in tables.tables():
            assert tables.count(connection, table) > 0, table.name
    studio.close()
    return home / "book.db"
