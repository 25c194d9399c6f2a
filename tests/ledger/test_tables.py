"""Rows read are the rows that were written, also by way of JSON."""

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine

from burnplan.desk.studio.studio import Studio
from burnplan.ledger import engines, tables


@pytest.fixture
def source(demo_home: Path, tmp_path: Path) -> Iterator[Engine]:
    shutil.copytree(demo_home, tmp_path / "source")
    engine = engines.open_engine(engines.sqlite_url(tmp_path / "source" / "book.db"))
    yield engine
    engine.dispose()


def test_parents_come_before_children() -> None:
    seen: set[str] = set()
    for table in tables.tables():
        parents = {key.column.table.name for key in table.foreign_keys} - {table.name}
        assert parents <= seen
        seen.add(table.name)
    assert seen >= tables.NEWEST_FIRST


@pytest.mark.parametrize("chunk", [1, 1000])
def test_a_book_copied_by_way_of_json_is_the_same(
    source: Engine, studio: Studio, monkeypatch: pytest.MonkeyPatch, chunk: int
) -> None:
    monkeypatch.setattr(tables, "CHUNK", chunk)
    with source.connect() as old, engines.transaction(studio.engine, writing=True) as book:
        new = book.connection()
        for table in tables.tables():
            noted = [
                json.dumps({name: tables.to_json(value) for name, value in row.items()})
                for row in tables.rows(old, table)
            ]
            back = (tables.from_json(table, json.loads(line)) for line in noted)
            assert sum(tables.put(new, table, back)) == len(noted) == tables.count(new, table)
    with source.connect() as old, studio.engine.connect() as new:
        for table in tables.tables():
            assert list(tables.rows(old, table)) == list(tables.rows(new, table))
