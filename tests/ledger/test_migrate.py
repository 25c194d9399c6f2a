"""Each migration goes up and down on a book with something in every table."""

from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import chain, pairwise
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from sqlalchemy import Engine, inspect, text
from sqlalchemy.orm import Session

from burnplan.desk.derived import pace_records
from burnplan.desk.jobs import clients, commissions, endings, holding
from burnplan.desk.keeping import undo
from burnplan.desk.money import payments, quotes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio, open_studio
from burnplan.desk.time import past
from burnplan.desk.wood import blanks
from burnplan.errors import OperationFailed
from burnplan.ledger import engines, migrate, soundness, tables
from burnplan.ledger.models import Record, Reference
from tests import books
from tests.cases import quick_first
from tests.conftest import FixedClock

NOW = datetime(2027, 3, 17, tzinfo=UTC)


@pytest.fixture
def home(filled: Path, tmp_path: Path) -> Path:
    """The home of a book of its own for each test, with rows in every table."""
    books.copy(filled, tmp_path / "book")
    return tmp_path / "book"


@pytest.fixture
def engine(home: Path) -> Iterator[Engine]:
    """That book, opened."""
    engine = engines.open_engine(books.url_at(home))
    yield engine
    engine.dispose()


def _rows(engine: Engine) -> dict[str, int]:
    with engine.connect() as connection:
        there = set(inspect(connection).get_table_names())
        known = [table for table in tables.tables() if table.name in there]
        return {table.name: tables.count(connection, table) for table in known}


def test_the_migrations_make_exactly_the_models(studio: Studio) -> None:
    with studio.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Record.metadata) == []


@books.about_files
@quick_first("kind", ["new", "migrated"])
def test_a_book_is_defined_as_the_models_are(studio: Studio, home: Path, kind: str) -> None:
    """Line by line: by that damage to what a book says of itself is known."""
    with studio.reading():
        pass
    path = studio.home / "book.db"
    if kind == "migrated":
        path = home / "book.db"
        engine = engines.open_engine(engines.sqlite_url(path))
        migrate.migrate_to(engine, migrate.versions()[0])
        migrate.migrate_to(engine, "head")
        engine.dispose()
    assert soundness.form_faults(path) == []


def test_checks_in_the_book_are_those_of_the_models(studio: Studio) -> None:
    found = inspect(studio.engine)
    for table in Record.metadata.sorted_tables:
        made = {check["name"] for check in found.get_check_constraints(table.name)}
        wanted = {c.name for c in table.constraints if str(c.name).startswith("ck_")}
        assert wanted <= made


@pytest.mark.long
def test_down_to_nothing_and_up_again(engine: Engine) -> None:
    migrate.migrate_to(engine, "base")
    assert set(inspect(engine).get_table_names()) == {"alembic_version"}
    migrate.migrate_to(engine, "head")
    assert {table.name for table in tables.tables()} <= set(inspect(engine).get_table_names())


REVISIONS = migrate.versions()
# Tables that a revision brought, if any: empty after going below it and up again.
BROUGHT: dict[str, set[str]] = {
    "0012": {"spoiled_piece"},
    "0018": {"lettering"},
    "0021": {"quote_choice"},
    "0026": {"consent"},
}
# Tables that had another name before.
RENAMED = {"0009": {"session_interval"}}


@pytest.mark.long
def test_each_migration_goes_down_and_up_again_and_keeps_every_other_row(engine: Engine) -> None:
    first = _rows(engine)
    for revision, older in pairwise(reversed(REVISIONS)):
        before, gone = _rows(engine), BROUGHT.get(revision, set())
        migrate.migrate_to(engine, older)
        hidden = RENAMED.get(revision, set())
        assert _rows(engine).keys() == before.keys() - gone - hidden, older
        migrate.migrate_to(engine, revision)
        assert _rows(engine) == {**before, **dict.fromkeys(gone, 0)}, revision
        migrate.migrate_to(engine, older)
    migrate.migrate_to(engine, "head")
    assert _rows(engine) == {**first, **dict.fromkeys(chain(*BROUGHT.values()), 0)}


@pytest.mark.long
def test_a_book_from_before_knows_of_which_closed_jobs_money_is_open(
    engine: Engine, home: Path
) -> None:
    query = text("SELECT id, delivered_on, unsettled FROM commission ORDER BY id")

    def unsettled() -> dict[int, bool]:
        with engine.connect() as connection:
            return {row.id: bool(row.unsettled) for row in connection.execute(query)}

    studio = books.open_at(home, FixedClock())
    made = {}
    for title, paid in (("Wren", "120"), ("Stoat", None), ("Hare", "20")):
        code = made[title] = commissions.add(studio, commissions.Wishes(title=title)).code
        quotes.issue(studio, code, quotes.QuoteRequest(hours=4, price="120"))
        if paid:
            payments.take(studio, code, paid, "payment")
        endings.deliver(studio, code)
    endings.drop(studio, commissions.add(studio, commissions.Wishes(title="Owl")).code, "x")
    before = unsettled()
    assert [before[int(made[title][2:])] for title in made] == [False, True, True]
    studio.close()
    migrate.migrate_to(engine, "0010")
    migrate.migrate_to(engine, "head")
    assert unsettled() == before
    studio = books.open_at(home, FixedClock())
    undo.undo_last(studio)  # the row of before has the columns of now
    studio.close()


@pytest.mark.long
def test_hours_of_spoiled_pieces_stay_with_their_job_where_that_is_not_known(
    engine: Engine, home: Path
) -> None:
    studio = books.open_at(home, FixedClock())
    spare = blanks.add(studio, blanks.NewBlank(species="basswood", size="21x14cm")).code
    before = commissions.show(studio, "Old tomcat")
    assert before.hours_done > 0
    holding.restart(studio, "Old tomcat", spare, "scorched")
    assert commissions.show(studio, "Old tomcat").hours_done == 0
    studio.close()
    migrate.migrate_to(engine, "0011")
    migrate.migrate_to(engine, "head")
    studio = books.open_at(home, FixedClock())
    after = commissions.show(studio, "Old tomcat")
    studio.close()
    assert (after.hours_done, after.spoiled) == (before.hours_done, [])


@pytest.mark.long
def test_a_total_of_burning_alone_goes_down_and_others_are_not_known_there(
    engine: Engine, home: Path
) -> None:
    studio = books.open_at(home, FixedClock())
    for title, covers in (("Bridge", "burning"), ("Owl", "whole")):
        past.add(
            studio,
            past.NewPastJob(
                title=title, size="30x20cm", hours=9, covers=covers, detail=6, covered="60%"
            ),
        )
    studio.close()
    query = text("SELECT title, burn_h, texture FROM past_job ORDER BY id DESC LIMIT 2")
    migrate.migrate_to(engine, "0015")
    with engine.connect() as connection:
        rows = [tuple(row) for row in connection.execute(query)]
    assert rows == [("Owl", None, "eye:5"), ("Bridge", 9.0, "eye:5")]
    migrate.migrate_to(engine, "head")
    studio = books.open_at(home, FixedClock())
    undo.undo_last(studio)  # the row of before has the columns of now
    with studio.reading() as book:
        jobs = pace_records.records(book, studio.now()).finished
    studio.close()
    assert "Bridge" in {job.title for job in jobs}
    assert "Owl" not in {job.title for job in jobs}


@pytest.mark.long
def test_an_open_hourly_target_is_as_a_new_studio_had_it_in_the_older_form(
    engine: Engine, home: Path
) -> None:
    studio = books.open_at(home, FixedClock())
    own = settings.current(studio)
    quotes.issue(studio, "Old tomcat", quotes.QuoteRequest())
    settings.save(studio, own.model_copy(update={"hourly_target": None}))
    studio.close()
    query = text("SELECT hourly_target FROM studio")
    migrate.migrate_to(engine, "0016")
    with engine.connect() as connection:
        assert connection.execute(query).scalar_one() == 300_000
    studio = books.open_at(home, FixedClock())  # brings the book to the newest form
    with studio.reading() as book:
        kept = {row.commission_id: row.taught_by for row in book.query(Reference)}
    assert set(kept.values()) != {0}, "it is reckoned when an older book is opened"
    for _ in range(2):
        undo.undo_last(studio)  # rows of before have the columns of now
    assert settings.current(studio) == own
    studio.close()


def test_opening_a_current_book_changes_nothing(engine: Engine, home: Path) -> None:
    before, copies = _rows(engine), sorted(home.glob("copies/*"))
    assert migrate.upgrade(engine, NOW) is None
    assert _rows(engine) == before
    assert sorted(home.glob("copies/*")) == copies


def test_a_failing_migration_leaves_the_book_as_it_was(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = _rows(engine)

    def broken(config: Config, _target: object) -> None:
        connection = config.attributes["connection"]
        connection.execute(text("DROP TABLE payment"))
        connection.execute(text("DROP TABLE no_such_table"))

    monkeypatch.setattr(command, "downgrade", broken)
    with pytest.raises(OperationFailed, match="Nothing was changed"):
        migrate.migrate_to(engine, "base")
    assert _rows(engine) == before


@books.about_files
def test_an_older_book_is_copied_before_it_is_changed(
    engine: Engine, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = _rows(engine)
    monkeypatch.setattr(migrate, "newest_version", lambda: "9000")
    monkeypatch.setattr(migrate, "migrate_to", lambda _engine, _revision, _then: None)
    upgraded = migrate.upgrade(engine, NOW)
    assert upgraded is not None
    copy = upgraded.copy
    assert copy is not None
    assert copy.parent == home / "copies"
    assert copy.name == f"book-20270317T000000Z-schema-{REVISIONS[-1]}.db"
    assert copy.stat().st_mode & 0o077 == 0
    copied = engines.open_engine(engines.sqlite_url(copy))
    assert _rows(copied) == before
    copied.dispose()


@pytest.mark.long
@books.about_files
def test_a_book_is_brought_up_to_date_with_its_new_form_or_not_at_all(engine: Engine) -> None:
    def fail_at_last(book: Session) -> None:
        book.execute(text("UPDATE client SET name = name || ', half done'"))
        book.flush()
        raise OperationFailed("No more", "Stop")

    names = "SELECT name FROM client ORDER BY id"
    migrate.migrate_to(engine, REVISIONS[0])
    with engines.plain_transaction(engine, writing=False) as book:
        before = book.execute(text(names)).all()
    with pytest.raises(OperationFailed, match="No more"):
        migrate.upgrade(engine, NOW, then=fail_at_last)
    with engines.plain_transaction(engine, writing=False) as book:
        assert migrate.version_of(book) == REVISIONS[0]
        assert book.execute(text(names)).all() == before


@books.about_files
def test_a_migration_that_would_orphan_rows_is_refused(engine: Engine) -> None:
    def orphan(book: Session) -> None:
        book.execute(text("DELETE FROM client WHERE id IN (SELECT client_id FROM commission)"))

    migrate.migrate_to(engine, REVISIONS[-2])
    with pytest.raises(OperationFailed, match="would orphan some rows"):
        migrate.upgrade(engine, NOW, then=orphan)
    with engines.plain_transaction(engine, writing=False) as book:
        assert migrate.version_of(book) == REVISIONS[-2]


def test_a_newer_book_is_not_touched(engine: Engine, home: Path) -> None:
    with engines.transaction(engine, writing=True) as book:
        book.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    studio = books.open_at(home, FixedClock())
    with pytest.raises(OperationFailed, match="newer burnplan"), studio.reading():
        pass
    studio.close()


def test_a_book_migrated_under_an_open_program_is_not_written_in(
    engine: Engine, home: Path
) -> None:
    studio = books.open_at(home, FixedClock())
    known = clients.everyone(studio)
    with engines.transaction(engine, writing=True) as book:
        book.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(OperationFailed, match="meanwhile"):
        clients.add(studio, "Mara Late", clients.ClientDetails())
    assert clients.everyone(studio) == known
    studio.close()


def test_a_stranger_file_is_not_taken_for_a_book(tmp_path: Path) -> None:
    (tmp_path / "book.db").write_bytes(b"this is not a database, it only looks like one " * 50)
    studio = open_studio(tmp_path)
    with pytest.raises(OperationFailed, match="not a burnplan book"), studio.reading():
        pass
    studio.close()


@books.about_files
def test_the_book_is_private(studio: Studio) -> None:
    with studio.reading():
        pass
    assert (studio.home / "book.db").stat().st_mode & 0o077 == 0
