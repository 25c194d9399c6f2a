"""Completion as bash asks for it: a process with typer's environment."""

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from burnplan.cli.app import run
from burnplan.desk.studio.studio import Studio
from tests import books
from tests.started import started

pytestmark = books.about_files


def _asked(line: str) -> dict[str, str]:
    """Return what bash asks for the last word of a line with."""
    return {
        "_BURNPLAN_COMPLETE": "complete_bash",
        "COMP_WORDS": line,
        "COMP_CWORD": str(len(line.split(" ")) - 1),
    }


def _offered(line: str) -> list[str]:
    """Return what is offered for the last word of a line."""
    done = started([], _asked(line))
    assert (done.stderr, done.returncode) == ("", 0)
    return done.stdout.split()


def _offered_in_earnest(line: str) -> list[str]:
    """Return the same of a program that is started, as bash does."""
    done = subprocess.run(
        [sys.executable, "-m", "burnplan"],
        env=os.environ | _asked(line), capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.stderr, done.returncode) == ("", 0)
    return done.stdout.split()


@pytest.fixture
def _book(studio: Studio) -> None:
    for words in (
        ("commission", "add", "Old barn"),
        ("commission", "add", "Fox\x1b[2J"),
        ("commission", "add", "Gone"),
        ("commission", "drop", "3", "--because", "no photo", "--yes"),
        ("blank", "add", "cherry", "20x30cm"),
        ("blank", "species-add", "bay laurel"),
    ):
        assert run(list(words), studio) == 0
    studio.close()


@pytest.mark.usefixtures("_book")
def test_values_are_offered() -> None:
    assert _offered("burnplan commission show ") == ["C-0002", "C-0001"]
    assert _offered("burnplan payment list C-0001") == ["C-0001"]
    assert _offered("burnplan blank scrap B") == ["B-0001"]
    assert _offered("burnplan estimate --species ba") == ["basswood", "bay-laurel"]
    assert _offered("burnplan settings drying") == ["drying_days="]
    assert "burning" in _offered("burnplan jobs --stage ")


def test_without_a_book_none_is_made(tmp_path: Path) -> None:
    assert _offered("burnplan commission show ") == []
    assert "basswood" in _offered("burnplan blank add ")
    assert not (tmp_path / "home").exists()


@pytest.mark.long
@pytest.mark.usefixtures("_book")
def test_a_locked_book_offers_nothing(tmp_path: Path) -> None:
    book = sqlite3.connect(tmp_path / "home" / "book.db", isolation_level=None)
    book.execute("PRAGMA locking_mode=EXCLUSIVE")
    book.execute("BEGIN EXCLUSIVE")
    assert _offered_in_earnest("burnplan commission show ") == []
    book.close()
    assert _offered_in_earnest("burnplan commission show ") != []


def test_a_damaged_book_offers_nothing(tmp_path: Path) -> None:
    (tmp_path / "home").mkdir()
    (tmp_path / "home" / "book.db").write_bytes(b"SQLite format 3\x00" + bytes(range(256)) * 40)
    assert _offered("burnplan commission show ") == []


def test_a_home_that_is_a_file_offers_nothing(tmp_path: Path) -> None:
    (tmp_path / "home").write_text("no folder")
    assert _offered("burnplan commission show ") == []


def test_a_book_on_a_server_is_not_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BURNPLAN_DATABASE_URL", "postgresql+psycopg://studio@192.0.2.1/burnplan")
    assert _offered("burnplan commission show ") == []
