"""A book moved to another place, there and back, is the same row by row."""

import json
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import func, inspect, select, text

from burnplan.cli.app import run
from burnplan.desk.jobs import clients, commissions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import moving, undo
from burnplan.desk.studio.studio import Studio
from burnplan.errors import NotAllowed, NotFound, OperationFailed
from burnplan.ledger import engines, migrate, tables
from burnplan.ledger.models import Commission
from tests import books
from tests.conftest import FixedClock


@pytest.fixture
def source(demo_home: Path, tmp_path: Path) -> Path:
    """The file of a book with rows in every table."""
    path = tmp_path / "source.db"
    with (
        closing(sqlite3.connect(f"file:{demo_home}/book.db?immutable=1", uri=True)) as filled,
        closing(sqlite3.connect(path)) as copy,
    ):
        filled.backup(copy)
    return path


@pytest.fixture
def place(tmp_path: Path, clock: FixedClock) -> Iterator[Studio]:
    """An empty place to move to: a new file, or an empty database of the tests' server."""
    studio = books.open_at(tmp_path / "place", clock)
    yield studio
    studio.close()


def dump(path: Path) -> list[str]:
    """Every row in a file, as the database's own tool writes it."""
    with closing(sqlite3.connect(path)) as book:
        return sorted(line for line in book.iterdump() if line.startswith("INSERT"))


def rows_in(studio: Studio) -> int:
    with studio.engine.connect() as connection:
        return sum(tables.count(connection, table) for table in tables.tables())


def test_there_and_back(studio: Studio, source: Path, place: Studio, tmp_path: Path) -> None:
    before, told = dump(source), list[float]()
    there = moving.move_book(
        studio, place.database_url, str(source), on_progress=lambda done, _: told.append(done)
    )
    assert told == sorted(told)
    assert 0 < told[0] < told[-1] == 1.0
    assert all(there.rows.values())
    assert rows_in(place) == sum(there.rows.values())
    back = moving.move_book(studio, str(tmp_path / "back.db"), place.database_url)
    assert back.rows == there.rows
    assert dump(tmp_path / "back.db") == before
    assert dump(source) == before
    assert (tmp_path / "back.db").stat().st_mode & 0o077 == 0


@pytest.mark.long
def test_numbers_go_on_and_undo_reaches_back(studio: Studio, source: Path, place: Studio) -> None:
    moving.move_book(studio, place.database_url, str(source))
    last = undo.happenings(place)[0]
    with place.reading() as book:
        highest = book.scalar(select(func.max(Commission.id))) or 0
    assert commissions.add(place, Wishes(title="After")).code == f"C-{highest + 1:04d}"
    assert undo.undo_last(place).summary.endswith("'After'")
    assert undo.undo_last(place).number == last.number


def test_only_into_an_empty_place(studio: Studio, source: Path, place: Studio) -> None:
    clients.add(place, "Mara", clients.ClientDetails())
    with pytest.raises(NotAllowed, match="'client' has 1 row"):
        moving.move_book(studio, place.database_url, str(source))
    assert rows_in(place) == 2  # Mara and the history of her


@pytest.mark.long
def test_an_older_book_is_left_as_it_is(studio: Studio, source: Path, place: Studio) -> None:
    migrate.migrate_to(place.engine, "0008")
    with pytest.raises(NotAllowed, match="kept already"):
        moving.move_book(studio, place.database_url, str(source))
    with pytest.raises(NotAllowed, match="schema 0008"):
        moving.move_book(studio, str(source.parent / "new.db"), place.database_url)
    with place.engine.connect() as connection:
        assert migrate.version_of(connection) == "0008"
    assert not (source.parent / "new.db").exists()


def test_tables_of_others_are_left_alone(studio: Studio, source: Path, tmp_path: Path) -> None:
    url = books.url_at(tmp_path / "theirs")
    (tmp_path / "theirs").mkdir()
    engine = engines.open_engine(url)
    with engines.transaction(engine, writing=True) as book:
        book.execute(text("CREATE TABLE parcel (id INTEGER PRIMARY KEY)"))
    with pytest.raises(OperationFailed, match=r"Other tables are kept .* such as 'parcel'"):
        moving.move_book(studio, url, str(source))
    assert inspect(engine).get_table_names() == ["parcel"]
    engine.dispose()


def test_what_does_not_come_back_the_same_is_not_kept(
    studio: Studio, source: Path, place: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    put = tables.put

    def careless(connection, table, new):  # type: ignore[no-untyped-def]
        changed = ({**row, "note": "x"} if table.name == "payment" else row for row in new)
        return put(connection, table, changed)

    monkeypatch.setattr(tables, "put", careless)
    with pytest.raises(OperationFailed, match="rows of 'payment' did not come back"):
        moving.move_book(studio, place.database_url, str(source))
    monkeypatch.undo()
    assert rows_in(place) == 0
    moving.move_book(studio, place.database_url, str(source))


def test_a_row_that_cannot_be_kept_is_named(studio: Studio, source: Path, place: Studio) -> None:
    with closing(sqlite3.connect(source)) as book:
        book.execute("PRAGMA ignore_check_constraints=ON")
        book.execute("UPDATE payment SET amount = 0")
        book.commit()
    with pytest.raises(OperationFailed, match="A row of 'payment' cannot be kept"):
        moving.move_book(studio, place.database_url, str(source))
    assert rows_in(place) == 0


@books.about_servers
def test_what_only_sqlite_lets_pass_is_told(studio: Studio, source: Path, place: Studio) -> None:
    with closing(sqlite3.connect(source)) as book:
        book.execute("UPDATE client SET name = printf('%0250d', id)")
        book.commit()
    with pytest.raises(OperationFailed, match=r"A row of 'client' cannot be kept .* too long"):
        moving.move_book(studio, place.database_url, str(source))
    assert rows_in(place) == 0


def test_no_book_is_no_source(studio: Studio, place: Studio, tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="no book"):
        moving.move_book(studio, place.database_url, str(tmp_path / "none.db"))
    assert not (tmp_path / "none.db").exists()


def test_the_command(
    demo_home: Path, place: Studio, clock: FixedClock, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    shutil.copytree(demo_home, tmp_path / "full")
    home = Studio(tmp_path / "full", engines.sqlite_url(tmp_path / "full" / "book.db"), clock)
    assert run(["move-book", "--to", place.database_url], home) == 0
    out = capsys.readouterr().out
    assert "all, each compared" in out
    assert str(tmp_path / "full" / "originals") in "".join(out.split("\n"))
    target = tmp_path / "back.db"
    command = ["move-book", "--from", place.database_url, "--to", str(target), "--json"]
    assert run(command, home) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["on_server"], found["target"]) == (False, f"the book {target}")
    assert run(["move-book"], home) == 2
    assert "--to" in capsys.readouterr().err
    home.close()
