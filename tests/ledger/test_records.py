"""What records say of themselves, and what is asked of many at once, agree."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.desk.derived import checklist_progress, studio_settings
from burnplan.desk.studio import days_off
from burnplan.desk.studio.studio import Studio
from burnplan.ledger.models import BurnSession, Commission, DayOff, Interval, Step
from tests import books
from tests.conftest import FixedClock

NOW = datetime(2027, 3, 17, tzinfo=UTC)


@pytest.fixture
def book(filled: Path, tmp_path: Path) -> Iterator[Session]:
    """A book with jobs at every stage, and one without anything."""
    books.copy(filled, tmp_path / "home")
    studio = books.open_at(tmp_path / "home", FixedClock())
    with studio.writing("mixture") as (book, _entry):
        book.add(Commission(title="Bare", added_at=NOW))
        book.flush()
        yield book
    studio.close()


def test_hours_run_on_with_the_clock() -> None:
    done = Interval(started_at=NOW, ended_at=NOW + timedelta(hours=1))
    running = Interval(started_at=NOW + timedelta(hours=2), running=1)
    session = BurnSession(intervals=[done, running])
    assert session.newest_interval() is running
    assert session.hours(NOW + timedelta(hours=4.5)) == pytest.approx(1 + 2.5)
    # A clock set back takes no hours off what was done.
    assert session.hours(NOW - timedelta(days=1)) == pytest.approx(1)


def test_steps_are_settled_for_the_book_as_for_themselves(book: Session) -> None:
    skipped = book.scalars(select(Step).where(~Step.settled)).first()
    assert skipped is not None
    skipped.skipped_at, skipped.skip_reason = NOW, "done by the sawmill"
    book.flush()
    found = dict(book.execute(select(Step.id, Step.settled)).all())
    assert found == {step.id: step.settled for step in book.scalars(select(Step))}
    assert set(found.values()) == {True, False}


def test_checklists_of_all_are_those_of_each(book: Session) -> None:
    for open_ones in (True, False):
        whose = Commission.is_open if open_ones else ~Commission.is_open
        found = checklist_progress.of_all(book, select(Commission.id).where(whose))
        each = book.scalars(select(Commission).where(whose)).all()
        assert found == {one.id: checklist_progress.of(one) for one in each}
        assert any(progress.steps for progress in found.values())


def test_days_off_are_those_not_over(studio: Studio) -> None:
    own = studio_settings.Settings()
    with studio.writing("away") as (book, _):
        book.add_all(
            DayOff(starts_on=first, ends_on=last, reason="away")
            for first, last in (
                (date(2030, 1, 1), date(2030, 1, 5)), (date(2030, 1, 5), date(2030, 1, 6)),
            )
        )  # fmt: skip
        book.flush()
        fifth, sixth = date(2030, 1, 5), date(2030, 1, 6)
        assert days_off.from_day(book, own, fifth) == {fifth, sixth}
        assert days_off.from_day(book, own, sixth) == {sixth}
        assert days_off.from_day(book, own, date(2030, 1, 7)) == set()
