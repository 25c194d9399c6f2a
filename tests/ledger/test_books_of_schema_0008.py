"""Books and exports from before the first release are used as they were.

Those in schema_0008 were made by the burnplan of that schema: its demo on 17 March
2027, then a sitting with a break, stopped, and corrected since it was too long.
What it said of them is beside them.
"""

import gzip
import json
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select, text

from burnplan.desk.jobs import commissions, review, sessions
from burnplan.desk.keeping import checking, restoring, undo
from burnplan.desk.money import payments
from burnplan.desk.studio.studio import Studio
from burnplan.errors import OperationFailed
from burnplan.ledger import engines as doors
from burnplan.ledger import history, migrate, tables
from burnplan.ledger.models import History
from burnplan.progress import silent
from burnplan.view import View
from tests import books
from tests.keeping.conftest import read
from tests.keeping.test_bad_packages import forge, refusal

KEPT = Path(__file__).parent / "schema_0008"
NOW = datetime(2027, 3, 17, 10, 50, tzinfo=UTC)


def _make_book(home: Path) -> None:
    script = gzip.decompress((KEPT / "book.sql.gz").read_bytes()).decode()
    home.mkdir(0o700)
    (home / "book.db").touch(0o600)
    with closing(sqlite3.connect(home / "book.db")) as book:
        book.executescript(script)


@pytest.fixture(
    scope="module",
    params=[
        pytest.param("book", marks=books.about_files),
        pytest.param("export", marks=pytest.mark.long),
    ],
)
def then(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The studio of then, opened or brought in, for copying."""
    home = tmp_path_factory.mktemp("then") / "studio"
    if request.param == "book":
        _make_book(home)
    opened = books.open_at(home, lambda: NOW)
    if request.param == "export":
        with restoring.of_export(opened, KEPT / "export.zip", replace=False) as ready:
            assert ready.put_in_place(silent).migrated_from == "0008"
    opened.open()
    opened.close()
    return home


@pytest.fixture
def studio(then: Path, tmp_path: Path) -> Iterator[Studio]:
    """The studio of then."""
    books.copy(then, tmp_path / "studio")
    opened = books.open_at(tmp_path / "studio", lambda: NOW)
    yield opened
    opened.close()


def _said(studio: Studio) -> dict[str, Sequence[View]]:
    return {
        "jobs": review.review(studio),
        "commissions": commissions.everything(studio, closed=True),
        "sessions": sessions.all_of(studio, None, replaced=True),
        "payments": payments.all_of(studio, None),
        "history": undo.happenings(studio),
    }


def _as_asked_today(expected: dict[str, Any]) -> None:
    """Bring what was said up to the checklist of today, which it has at once.

    Where nothing was transferred yet there is a step more, a pass of its own for the edges
    of the darkest values, and the first names the trace sheet; areas are as on every screen.
    """
    for one in expected["commissions"]:
        one["steps"] += one["stage"] in ("enquiry", "priced", "booked", "prepared")
    for job in expected["jobs"]:
        for before, now in (
            ("Print the reference at 24 × 16 cm",
             "Print the trace sheet at 24 × 16 cm, and the reference"),
            ("21 cm², darkness 89%", "21 cm², darkness 89 %"),
            ("63 cm², darkness 58%", "62.8 cm², darkness 58 %"),
        ):  # fmt: skip
            job["next_step"] = job["next_step"].replace(before, now)


@pytest.mark.long
def test_it_says_the_same(studio: Studio) -> None:
    expected = json.loads((KEPT / "expected.json").read_text())
    _as_asked_today(expected)
    said = _said(studio)
    assert said.keys() == expected.keys()
    for name, views in said.items():
        found = [view.model_dump(mode="json") for view in views]
        assert len(found) == len(expected[name])
        for now, then in zip(found, expected[name], strict=True):
            assert {key: now[key] for key in then} == then


def test_it_is_sound_but_for_its_photo_which_is_not_kept_here(studio: Studio) -> None:
    wrong = [one.where for one in checking.check(studio).findings if one.wrong]
    assert wrong == ["originals"]


def test_what_was_done_then_can_be_undone(studio: Studio) -> None:
    def tomcat() -> list[tuple[int, str, int]]:
        newest = [one for one in sessions.all_of(studio, "Old tomcat") if one.number > 25]
        return [(one.number, one.state, round(60 * one.hours)) for one in newest]

    assert tomcat() == [(27, "done", 60)]
    undo.undo_last(studio)  # the correction
    assert tomcat() == [(26, "done", 90)]
    undo.undo_last(studio)  # that it was stopped
    assert tomcat() == [(26, "running", 90)]
    undo.undo_last(studio)  # that it went on, after the break
    assert tomcat() == [(26, "paused", 50)]
    undo.undo_last(studio)  # the break
    assert tomcat() == [(26, "running", 110)]
    assert undo.undo_last(studio).summary == "Started the clock on 'Old tomcat'"
    assert tomcat() == []


@pytest.mark.long
def test_all_that_was_done_can_be_undone(studio: Studio) -> None:
    with doors.transaction(studio.engine, writing=True) as book:
        for entry in book.scalars(select(History).order_by(History.id.desc())):
            history.reverse(book, entry)
        found = book.connection()
        left = [table.name for table in tables.tables() if tables.count(found, table)]
    assert left == ["history"]


def _changes(studio: Studio) -> list[Any]:
    with studio.engine.connect() as book:
        noted = book.execute(text("SELECT changes FROM history ORDER BY id")).scalars()
        return [json.loads(one) if isinstance(one, str) else one for one in noted]


@pytest.mark.long
def test_down_and_up_again_its_history_is_the_same(studio: Studio) -> None:
    before = _changes(studio)
    migrate.migrate_to(studio.engine, "0008")
    changed = {change["table"] for entry in _changes(studio) for change in entry}
    assert "spell" in changed
    assert "session_interval" not in changed
    migrate.migrate_to(studio.engine, "head")
    assert _changes(studio) == before
    assert {change["table"] for entry in before for change in entry} <= {
        table.name for table in tables.tables()
    }


@books.about_files
def test_a_book_older_still_is_refused_in_words(tmp_path: Path) -> None:
    _make_book(tmp_path / "studio")
    with closing(sqlite3.connect(tmp_path / "studio" / "book.db")) as book, book:
        book.execute("UPDATE alembic_version SET version_num = '0005'")
    with (
        closing(books.open_at(tmp_path / "studio", lambda: NOW)) as studio,
        pytest.raises(OperationFailed, match="before the first release"),
        studio.reading(),
    ):
        pass


def test_what_undo_would_write_is_looked_at_under_its_old_name_too(tmp_path: Path) -> None:
    members = read(KEPT / "export.zip")
    before, opening, rest = members["book.json"].partition(b'\n"history": [')
    noted, closing_line, after = rest.partition(b"\n]")
    good = b'"started_at": "2027-03-17T09:00:00+00:00"'
    assert good in noted
    noted = noted.replace(good, b'"started_at": "at nine"')
    members["book.json"] = before + opening + noted + closing_line + after
    with closing(books.open_at(tmp_path / "studio", lambda: NOW)) as studio:
        refused = refusal(studio, forge(tmp_path / "forged.zip", members))
    assert "rows before and after" in refused.message
