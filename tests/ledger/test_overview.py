"""The plain rows say what the mapped records say."""

import os
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Enum, TableClause, inspect, select
from sqlalchemy.orm import Session

from burnplan.desk.studio.studio import Studio
from burnplan.ledger import models, overview
from burnplan.ledger.models import BurnSession, Commission, DayOff, Interval, Record
from tests import books
from tests.conftest import FixedClock

NOW = datetime(2027, 3, 17, tzinfo=UTC)

LIGHT = [table for table in vars(overview).values() if isinstance(table, TableClause)]


@pytest.fixture
def book(filled: Path, tmp_path: Path) -> Iterator[Session]:
    """A book with a dropped and a delivered job, and one without anything."""
    books.copy(filled, tmp_path / "home")
    studio = books.open_at(tmp_path / "home", FixedClock())
    with studio.writing("mixture") as (book, _entry):
        book.add(Commission(title="Bare", added_at=NOW))
        dropped = book.scalars(select(Commission).where(Commission.is_open)).first()
        assert dropped is not None
        dropped.dropped_on, dropped.drop_reason = date(2027, 3, 1), "changed their mind"
        book.flush()
        yield book
    studio.close()


@pytest.mark.parametrize("light", LIGHT, ids=lambda table: table.name)
def test_tables_have_these_columns(light: TableClause) -> None:
    whole = Record.metadata.tables[light.name].c
    for column in light.c:
        theirs = whole[column.name].type
        assert isinstance(theirs, type(column.type)), column.name
        # What is read is checked against the same names, unless the rules that use it do so.
        if isinstance(theirs, Enum) and light is not overview.STUDIO:
            assert isinstance(column.type, Enum)
            assert column.type.enums == theirs.enums


def test_settings_are_all_of_a_studio() -> None:
    assert set(overview.STUDIO.c.keys()) == set(inspect(models.Studio).columns.keys())


def _same(plain: Any, mapped: Any) -> None:
    """Assert that a row has the fields of a record, and so on for what hangs on it."""
    if isinstance(plain, list):
        assert len(plain) == len(mapped)
        for one, other in zip(plain, mapped, strict=True):
            _same(one, other)
    elif type(plain).__module__ == overview.__name__:
        for name in plain._fields:
            _same(getattr(plain, name), getattr(mapped, name))
    else:
        assert plain == mapped


def test_rows_of_open_commissions_are_those_of_the_records(book: Session) -> None:
    records = book.scalars(select(Commission).where(Commission.is_open).order_by(Commission.id))
    rows = overview.open_commissions(book)
    assert {bool(row.client) for row in rows} == {True, False}
    for kind in ("references", "quotes", "payments", "sessions"):
        assert {bool(getattr(row, kind)) for row in rows} == {True, False}, kind
    assert any(quote.instalments for row in rows for quote in row.quotes)
    _same(rows, records.all())


def test_a_session_that_was_replaced_does_not_count(book: Session) -> None:
    before = {row.id: len(row.sessions) for row in overview.open_commissions(book)}
    number = max(before, key=lambda number: before[number])
    old = book.scalars(select(BurnSession).where(BurnSession.commission_id == number)).first()
    assert old is not None
    new = BurnSession(commission_id=number, work="burn", closed=True)
    book.add(new)
    book.flush()
    old.replaced_by_id, old.replace_reason = new.id, "logged on the wrong day"
    book.flush()
    after = {row.id: len(row.sessions) for row in overview.open_commissions(book)}
    assert after == before


def test_hours_run_on_with_the_clock(book: Session) -> None:
    number = overview.open_commissions(book)[0].id
    running = Interval(started_at=NOW, running=1)
    book.add(BurnSession(commission_id=number, work="burn", intervals=[running]))
    book.flush()
    session = overview.open_commissions(book)[0].sessions[-1]
    assert session.hours(NOW + timedelta(hours=2.5)) == pytest.approx(2.5)
    assert session.hours(NOW - timedelta(days=1)) == 0


def test_checklists_are_those_of_the_records(book: Session) -> None:
    found = dict(overview.steps(book, overview.open_numbers()))
    records = book.scalars(select(Commission).where(Commission.is_open)).all()
    assert set(found) == {one.id for one in records if one.steps}
    for one in records:
        _same(found.get(one.id, []), one.steps)
        settled = [step.settled for step in one.steps]
        assert [step.settled for step in found.get(one.id, [])] == settled


def test_intervals_since_a_moment_are_of_sessions_that_count(book: Session) -> None:
    ends = sorted(s.ended_at for s in book.scalars(select(Interval)) if s.ended_at is not None)
    moment = ends[len(ends) // 2]
    kept = {
        (interval.started_at, interval.ended_at)
        for interval in book.scalars(select(Interval))
        if interval.session.replaced_by_id is None
        and (interval.ended_at is None or interval.ended_at > moment)
    }
    found = overview.intervals_since(book, moment)
    assert len(found) > 1
    assert set(found) == kept


def test_days_off_are_those_not_over(book: Session) -> None:
    book.add_all(
        DayOff(starts_on=first, ends_on=last, reason="away")
        for first, last in (
            (date(2030, 1, 1), date(2030, 1, 5)), (date(2030, 1, 5), date(2030, 1, 6)),
        )
    )  # fmt: skip
    book.flush()
    both = [(date(2030, 1, 1), date(2030, 1, 5)), (date(2030, 1, 5), date(2030, 1, 6))]
    assert sorted(overview.days_off(book, date(2030, 1, 5))) == both
    assert overview.days_off(book, date(2030, 1, 6)) == both[1:]


def test_a_book_nobody_has_set_up_has_no_settings(studio: Studio) -> None:
    with studio.looking() as book:
        assert overview.studio(book) is None


@books.about_files
def test_a_review_does_without_the_mapper(demo_home: Path, tmp_path: Path) -> None:
    books.copy(demo_home, tmp_path / "home")
    code = (
        "import sys; from burnplan.desk.jobs import review; "
        "from burnplan.desk.studio import studio; "
        "found = review.review(studio.open_studio()); "
        "print(*{job.stage for job in found}, *sys.modules)"
    )
    environment = {**os.environ, "BURNPLAN_HOME": str(tmp_path / "home")}
    done = subprocess.run(
        [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True
    )
    said = set(done.stdout.split())
    assert {"enquiry", "burning", "burnplan.reckon.lateness"} <= said
    assert not {"sqlalchemy.orm", "burnplan.ledger.models"} & said
