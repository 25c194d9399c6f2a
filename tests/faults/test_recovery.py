"""Whatever becomes of the book, one command that is named puts a sound one in its place."""

import hashlib
import json
import os
import random
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, timedelta
from functools import partial
from pathlib import Path

import pytest

from burnplan.desk.jobs import commissions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.studio import open_studio
from burnplan.ledger import backup, package, soundness
from burnplan.show.commands import in_words
from tests import books
from tests.cases import quick_first
from tests.conftest import FixedClock
from tests.faults import damaging
from tests.faults.conftest import Say, Tell, one_line
from tests.faults.damaging import Damage, command_in, said
from tests.faults.killing import copied, state

pytestmark = books.about_files

TRIES = 3  # of each way to damage a book
MORE = 12  # where those were harmless: one bit of many seldom is of the book's own pages


@pytest.fixture(scope="module")
def kept(furnished: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home whose newest copy is of the book as it is."""
    home = tmp_path_factory.mktemp("kept") / "home"
    damaging.furnished_with_a_copy(furnished, home)
    return home


@pytest.fixture
def home(kept: Path, tmp_path: Path) -> Path:
    copied(kept, tmp_path / "home")
    return tmp_path / "home"


@quick_first("damage", damaging.DAMAGES, ids=lambda damage: damage.__name__, quick=2)
def test_every_damage_has_a_way_out(
    kept: Path, tmp_path: Path, damage: Damage, fault: Tell
) -> None:
    good, outcomes = state(kept), []
    for seed in range(MORE):
        if seed >= TRIES and "restored" in outcomes:
            break
        home = tmp_path / str(seed)
        copied(kept, home)
        damage(random.Random(seed), home)  # noqa: S311
        outcomes.append(damaging.recover(home, good))
    assert "restored" in outcomes, "nothing was damaged: this shows nothing"
    words = ", ".join(f"{outcomes.count(kind)} {kind}" for kind in sorted(set(outcomes)))
    fault(
        f"{damage.__name__.replace('_', ' ')}: {len(outcomes)} books", words, "by the command named"
    )


BY_HAND = [
    *damaging._UPDATES, "DROP TABLE payment", "DROP TABLE original",
    "DROP INDEX ix_history_commission_id",
    "CREATE TRIGGER evil AFTER INSERT ON client BEGIN DELETE FROM payment; END",
]  # fmt: skip


@quick_first("script", BY_HAND, ids=range(len(BY_HAND)), quick=2)
def test_every_change_by_hand_has_a_way_out(home: Path, script: str) -> None:
    good = state(home)
    with closing(sqlite3.connect(home / "book.db", isolation_level=None)) as book:
        book.execute("PRAGMA ignore_check_constraints=ON")
        if "= NULL" in script:
            book.execute("PRAGMA writable_schema=ON")
            book.execute(damaging._NOTHING_NEEDED)
            book.execute("PRAGMA writable_schema=RESET")
        book.execute(script)
    assert damaging.recover(home, good) == "restored"


# --- gone, or empty ------------------------------------------------------------------------


def _gone(home: Path) -> None:
    (home / "book.db").unlink()


def _empty(home: Path) -> None:
    os.truncate(home / "book.db", 0)


def _without_tables(home: Path) -> None:
    (home / "book.db").unlink()
    with closing(sqlite3.connect(home / "book.db")) as book:
        book.execute("PRAGMA user_version=1")
        book.commit()


@pytest.mark.parametrize("lose", [_gone, _empty, _without_tables])
def test_a_book_that_is_gone_is_not_an_empty_studio(
    home: Path, lose: Callable[[Path], None], say: Say, fault: Tell
) -> None:
    good = state(home)
    lose(home)
    for arguments in (["jobs"], ["commission", "add", "Newt"], ["check"], ["settings"]):
        told = one_line(say(home, *arguments))
        assert "no book, or an empty one" in told
        assert command_in(told) is not None
    assert say(home, *(command_in(told) or []), "--yes")[0] == 0
    assert state(home) == good
    fault("a book that is gone or empty", told, "the copy is named, and put in place")


def test_photos_alone_are_what_is_left_of_a_studio(home: Path, say: Say) -> None:
    _gone(home)
    for copy in (home / "copies").iterdir():
        copy.unlink()
    told = one_line(say(home, "jobs"))
    assert str(home / "originals") in told
    assert "put a backup in its place: burnplan restore FILE" in told
    assert not (home / "book.db").exists()
    (home / "originals").rename(home / "moved away")
    assert say(home, "jobs")[0] == 0


def test_a_first_photo_is_not_what_is_left_of_a_studio(
    tmp_path: Path, photo: Path, say: Say
) -> None:
    home = tmp_path / "new"
    assert say(home, "photo", "add", "Fox", str(photo))[0] == 2  # no such job; the photo is kept
    assert say(home, "jobs")[0] == 0


# --- copies --------------------------------------------------------------------------------


def _break(home: Path) -> None:
    with closing(sqlite3.connect(home / "book.db", isolation_level=None)) as book:
        book.execute("UPDATE client SET name = CAST(x'4d61ff' AS TEXT) WHERE id = 1")


def _days(home: Path) -> set[str]:
    return {path.name for path in (home / "copies").glob("book-????-??-??.db")}


@pytest.mark.long
def test_good_copies_never_make_room_for_damaged_ones(home: Path, say: Say, fault: Tell) -> None:
    book = home / "book.db"
    first = date(2027, 4, 1)
    for day in range(30):
        assert backup.copy_of_the_day(book, first + timedelta(days=day)) is not None
    before = _days(home)
    assert len(before) < 20, "older ones are thinned out"
    _break(home)
    for day in range(30, 60):
        with pytest.raises(backup.Damaged) as refused:
            backup.copy_of_the_day(book, first + timedelta(days=day))
        # Once a day.
        assert backup.copy_of_the_day(book, first + timedelta(days=day)) is None
    assert _days(home) == before
    assert len(list((home / "copies").glob("*-damaged.db"))) == 1
    assert f"restore(file={home / 'copies' / 'book-2027-04-30.db'})" in str(refused.value)
    fault("30 days with a damaged book", str(refused.value), "every good copy stays")


def test_damage_is_said_at_the_next_change_once(home: Path, clock: FixedClock) -> None:
    _break(home)
    for notices in (1, 0):
        studio = open_studio(home, clock=clock, zone=UTC)
        commissions.add(studio, Wishes(title="Newt"))
        studio.close()
        told = [in_words(said) for said in studio.notices]
        assert len(told) == notices
        assert all(command_in(said) for said in told)


def test_a_backup_of_a_damaged_book_is_none(home: Path, tmp_path: Path, say: Say) -> None:
    assert say(home, "backup", str(tmp_path / "b.zip"))[0] == 0
    before = (tmp_path / "b.zip").read_bytes()
    with closing(sqlite3.connect(home / "book.db", isolation_level=None)) as book:
        book.execute("DROP TABLE payment")
    told = one_line(say(home, "backup", str(tmp_path / "b.zip"), "--replace"))
    assert command_in(told) is not None
    assert (tmp_path / "b.zip").read_bytes() == before
    assert {path.name for path in tmp_path.iterdir()} == {"b.zip", "home"}


@pytest.mark.parametrize(("command", "name"), [("backup", "b.zip"), ("export", "folder")])
def test_a_package_that_the_disk_did_not_keep_is_none(
    home: Path, tmp_path: Path, say: Say, monkeypatch: pytest.MonkeyPatch, command: str, name: str
) -> None:
    """What is read again must be what was written, or the earlier one stays."""
    target = tmp_path / name

    def rotten(self: package.Packing, name: str, path: Path) -> None:
        """Keep a photo with one bit turned over."""
        data = path.read_bytes()
        with self.member(name) as out:
            out.write(data[:-1] + bytes([data[-1] ^ 1]))
        self.members[name] = package.Member(len(data), hashlib.sha256(data).hexdigest())

    if name == "b.zip":
        assert say(home, "backup", str(target))[0] == 0
        before = target.read_bytes()
    monkeypatch.setattr(package.Packing, "add", rotten)
    told = one_line(say(home, command, str(target), "--replace"))
    assert "was not kept as it was written" in told
    if name == "b.zip":
        assert target.read_bytes() == before
    assert {path.name for path in tmp_path.iterdir()} <= {"b.zip", "home"}


def test_the_copy_named_is_a_whole_one(home: Path) -> None:
    """Newer copies that are damaged, or are no books, are passed over."""
    copies = home / "copies"
    (whole,) = (path for path in copies.iterdir() if path.name == "book-2027-03-22.db")
    for number, kind in enumerate(("noise", "empty", "cut", "strange", "values")):
        path = copies / f"book-2027-03-2{number + 3}.db"
        path.write_bytes(b"" if kind == "empty" else whole.read_bytes())
        if kind == "noise":
            path.write_bytes(os.urandom(50_000))
        elif kind == "cut":
            os.truncate(path, 60_000)
        elif kind == "strange":
            with closing(sqlite3.connect(path)) as other:
                other.execute("DROP TABLE history")
        elif kind == "values":
            with closing(sqlite3.connect(path)) as other, other:
                other.execute("UPDATE history SET at = 'once'")
        os.utime(path, (2e9 + number, 2e9 + number))
    assert backup.newest_copy(home / "book.db") == whole
    # One with values that cannot be read is better than none.
    for older in copies.iterdir():
        if older.stat().st_mtime < 2e9:
            older.unlink()
    assert backup.newest_copy(home / "book.db") == copies / "book-2027-03-27.db"


def test_a_head_that_lets_nobody_write_is_damage_to_a_backup_too(home: Path) -> None:
    """A way of writing that SQLite does not know is read, not written (its file format, 1.3.3)."""
    good, book = state(home), home / "book.db"
    head = bytearray(book.read_bytes())
    head[18] = 6
    book.write_bytes(head)
    assert damaging.recover(home, good) == "restored"


@quick_first("end", soundness.LOGS)
def test_a_folder_beside_the_book_is_put_aside(home: Path, end: str) -> None:
    good = state(home)
    (home / f"book.db{end}").mkdir()
    assert damaging.recover(home, good) == "restored"


@pytest.mark.parametrize("stands", ["a damaged book", "a folder", "nothing"])
def test_the_journal_of_what_stood_there_is_not_read_into_the_next_book(
    home: Path, tmp_path: Path, stands: str
) -> None:
    """SQLite takes back, by a journal it finds, what the book beside it never was."""
    book, other = home / "book.db", tmp_path / "other.db"
    good, copy = state(home), backup.newest_copy(book)
    assert copy is not None
    other.write_bytes(book.read_bytes())
    with closing(sqlite3.connect(other, isolation_level=None)) as writer:
        for line in ("journal_mode=DELETE", "cache_size=1"):
            writer.execute(f"PRAGMA {line}")
        writer.execute("UPDATE commission SET title = 'another'")
        writer.execute("BEGIN")
        writer.execute("UPDATE commission SET title = 'a third', note = ?", ("x" * 60_000,))
        journal = other.with_name("other.db-journal").read_bytes()
    assert journal.startswith(b"\xd9\xd5\x05\xf9"), "one that would be played back"
    book.unlink()
    if stands == "a folder":
        book.mkdir()
    elif stands == "a damaged book":
        book.write_bytes(b"SQLite format 3\0" + bytes(9000))
    book.with_name("book.db-journal").write_bytes(journal)
    assert said(home, "restore", str(copy), "--yes").code == 0
    assert not book.with_name("book.db-journal").exists()
    assert state(home) == good


# --- killed --------------------------------------------------------------------------------


@pytest.mark.whole
def test_killed_while_it_takes_the_place_of_a_damaged_book(
    home: Path, tmp_path: Path, fault: Tell
) -> None:
    """At each point one of the two is in place; from some the same command is seen to go on."""
    good, copy = state(home), backup.newest_copy(home / "book.db")
    assert copy is not None
    (home / "book.db").write_bytes(damaged := b"SQLite format 3\0" + bytes(9000))
    (home / "book.db-wal").write_bytes(b"a log")
    points = 0
    while True:
        points += 1
        place = tmp_path / f"killed{points}"
        copied(home, place)
        of_place = place / "copies" / copy.name
        killed = damaging.killed_at(points, partial(said, place, "restore", str(of_place), "--yes"))
        now = (place / "book.db").read_bytes()
        assert now == damaged or state(place) == good, "neither the one nor the other"
        if killed and points % 5:
            continue
        done = said(place, "restore", str(of_place), "--yes")
        assert done.code == 0, done
        assert state(place) == good
        aside = [path.read_bytes() for path in (place / "copies").glob("*-damaged*.db")]
        assert damaged in aside, "what stood there is lost"
        assert said(place, "check", "--repair").code == 0
        if not killed:
            break
    assert points > 10
    fault(f"killed at each of {points} points of a restore", "", "one of the two in place")


def test_check_says_what_was_found_in_json(home: Path) -> None:
    with closing(sqlite3.connect(home / "book.db")) as book:
        book.execute("DROP TABLE payment")
    found = json.loads(said(home, "check", "--json").out)
    assert found["sound"] is False
    assert [one["problem"] for one in found["findings"]][-1] == "payment is missing"
    assert soundness.damage(home / "book.db") == []
