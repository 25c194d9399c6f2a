"""What is wrong with a book is found, and only what is safe is repaired."""

import os
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC
from pathlib import Path

import pytest

from burnplan.desk.jobs import review
from burnplan.desk.keeping import backups, checking
from burnplan.desk.keeping.checking import Checked
from burnplan.desk.studio.studio import Studio, open_studio
from burnplan.errors import BadInput, BurnplanError
from burnplan.sentences import Do
from tests import books
from tests.cases import quick_first
from tests.keeping.conftest import every_original, every_row


def problems(found: Checked) -> str:
    return "\n".join(f"{one.where}: {one.problem}" for one in found.findings if one.wrong)


def photo_of(studio: Studio) -> Path:
    (photo,) = studio.originals.glob("*/*")
    return photo


def test_a_sound_book_is_said_to_be(full: Studio) -> None:
    before = every_row(full)
    told: list[float] = []
    found = checking.check(full, on_progress=lambda share, _: told.append(share))
    assert found == Checked(sound=True, findings=[])
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert every_row(full) == before
    assert ["not copied by itself" in str(said) for said in full.notices] == [True] * bool(
        books.SERVER
    )


BREAKS = {
    "DELETE FROM client WHERE id = 1": "commission: 2 rows whose 'client_id' is not in client",
    "DELETE FROM burn_session WHERE id = 3":
        "session_interval: 1 row whose 'session_id' is not in burn_",
    "UPDATE blank SET width_mm = -1 WHERE id < 3": "blank: 2 rows against the rule width_mm > 0",
    "UPDATE payment SET amount = 0 WHERE id = 1": "1 row against the rule amount <> 0",
    "UPDATE payment SET kind = 'gift' WHERE id = 1": "payment: 'kind' cannot be read in 1 row",
    "UPDATE payment SET amount = 'lots' WHERE id < 4": "payment: 'amount' cannot be read in 3 rows",
    "UPDATE quote SET issued_on = 'soon'": "quote: 'issued_on' cannot be read in 9 rows",
    "UPDATE history SET at = 'once' WHERE id = 1": "history: 'at' cannot be read in 1 row",
    "UPDATE reference SET plan = '{' WHERE id = 1": "reference: 'plan' cannot be read in 1 row",
    "UPDATE step SET text = x'ff' WHERE id = 1": "step: 'text' cannot be read in 1 row",
    "UPDATE step SET own = 7 WHERE id = 1": "step: 'own' cannot be read in 1 row",
    "UPDATE client SET name = 'x' || char(27) || '[31m' WHERE id = 1":
        "client: 'name' has a control character in it in 1 row",
    "UPDATE client SET name = printf('%.*c', 300, 'x') WHERE id = 1":
        "client: 'name' is longer than 200 in 1 row",
    "UPDATE step SET phase = 'ginish' WHERE id = 1": "step: 'phase' cannot be read in 1 row",
    "UPDATE reference SET plan = '{}' WHERE id = 1": "the plan or the hours of number 1 are none",
    "UPDATE reference SET hours = '{\"burn\": 3}' WHERE id = 1":
        "the plan or the hours of number 1 are none",
    "UPDATE studio SET holidays = 'XX'": "No public holidays are known for 'XX'",
    "UPDATE quote SET total = total + 10000 WHERE id = 2":
        "quote: the lines of number 2 do not add up to its total",
    "UPDATE history SET changes = '[{\"table\": \"x\"}]' WHERE id = 1":
        "history: 'changes' is not a list of rows before and after",
    "UPDATE original SET bytes = 5": "is not the photo's length",
    "UPDATE original SET sha256 = 'x'": "original: 1 row against the rule length(sha256) = 64",
    "INSERT INTO client (id, name, added_at) SELECT 99, name, added_at FROM twin LIMIT 1":
        "book.db: client is not defined as it should be",
}  # fmt: skip


@books.about_files
@quick_first(("script", "says"), BREAKS.items(), ids=range(len(BREAKS)), quick=3, long=9)
def test_whatever_is_wrong_with_rows_is_found(full: Studio, script: str, says: str) -> None:
    full.close()
    with closing(sqlite3.connect(full.home / "book.db", isolation_level=None)) as raw:
        raw.execute("PRAGMA ignore_check_constraints=ON")
        if "twin" in script:  # the same table without its unique names
            raw.execute("ALTER TABLE client RENAME TO twin")
            raw.execute("CREATE TABLE client AS SELECT * FROM twin")
        raw.execute(script)
    found = checking.check(full)
    assert not found.sound
    assert says in problems(found)
    # A repair touches no row.
    again = checking.check(full, repair=True)
    assert problems(again) == problems(found)
    assert not again.sound


@books.about_files
@pytest.mark.parametrize("kind", ["header", "page", "truncated"])
def test_a_damaged_file_is_found_and_the_copy_to_restore_named(full: Studio, kind: str) -> None:
    full.close()
    book = full.home / "book.db"
    data = bytearray(book.read_bytes())
    if kind == "header":
        data[:20] = bytes(20)
    elif kind == "page":
        data[4096 * 4 : 4096 * 5] = os.urandom(4096)
    else:
        del data[4096 * 40 :]
    book.write_bytes(data)
    again = open_studio(full.home, clock=full.clock, zone=UTC)
    found = checking.check(again)
    assert not found.sound
    assert "book.db" in problems(found)
    copy = max((full.home / "copies").glob("*.db"), key=lambda path: path.stat().st_mtime)
    assert found.findings[-1].remedy.parts[-1] == Do("book.restore", file=copy)
    assert book.read_bytes() == data, "looking changes nothing"


@pytest.mark.long
def test_a_missing_photo_is_taken_from_a_backup(full: Studio, tmp_path: Path) -> None:
    backups.back_up(full, tmp_path / "b.zip")
    backups.export(full, tmp_path / "e")
    before = every_original(full)
    photo = photo_of(full)
    for spare in ("b.zip", "e"):
        photo.unlink()
        found = checking.check(full)
        assert "missing" in problems(found)
        assert not found.findings[0].repairable
        assert checking.check(full, repair=True).sound is False, "from nowhere, nothing comes"
        assert checking.check(full, spare=tmp_path / spare).findings[0].repairable
        assert checking.check(full, repair=True, spare=tmp_path / spare).sound
        assert every_original(full) == before
        assert checking.check(full).findings == []


def test_a_damaged_photo_is_taken_from_a_backup(full: Studio, tmp_path: Path) -> None:
    backups.back_up(full, tmp_path / "b.zip")
    before = every_original(full)
    photo = photo_of(full)
    data = bytearray(photo.read_bytes())
    data[len(data) // 2] ^= 1
    photo.write_bytes(data)
    assert "damaged" in problems(checking.check(full))
    assert checking.check(full, repair=True, spare=tmp_path / "b.zip").sound
    assert every_original(full) == before


def test_a_backup_that_is_damaged_itself_repairs_nothing(full: Studio, tmp_path: Path) -> None:
    backups.export(full, tmp_path / "e")
    (spare,) = (tmp_path / "e" / "originals").iterdir()
    data = bytearray(spare.read_bytes())
    data[100] ^= 1
    spare.write_bytes(data)
    photo = photo_of(full)
    photo.unlink()
    found = checking.check(full, repair=True, spare=tmp_path / "e")
    assert not found.sound
    assert "damaged" in problems(found)
    assert not photo.exists()
    with pytest.raises(BadInput):
        checking.check(full, spare=tmp_path / "none.zip")


@pytest.mark.long
def test_what_a_stopped_program_left_is_removed_when_old(full: Studio) -> None:
    folder = photo_of(full).parent
    old = [folder / "tmpabcd1234", full.home / ".book.db-x.part", full.home / "copies" / ".x.part"]
    (full.home / "copies").mkdir(exist_ok=True)
    for path in old:
        path.write_bytes(b"half")
        os.utime(path, (0, 0))
    room = full.home / ".burnplan-room.part"
    room.mkdir()
    (room / "book.db").write_bytes(b"half")
    os.utime(room, (0, 0))
    fresh = full.home / ".book.db-y.part"
    fresh.write_bytes(b"somebody writes")
    now = full.now().timestamp()
    os.utime(fresh, (now, now))
    stray = folder / "holiday.jpg"
    stray.write_bytes(b"the user's own")
    found = checking.check(full)
    assert problems(found).count("half written") == 4
    assert all(path.exists() for path in old)
    assert checking.check(full, repair=True).sound
    assert not any(path.exists() for path in (*old, room))
    assert fresh.exists()
    assert stray.read_bytes() == b"the user's own", "only told of"
    assert [one.wrong for one in checking.check(full).findings] == [False]


def test_a_photo_that_nothing_uses_is_kept(full: Studio) -> None:
    photo = photo_of(full)
    unused = full.originals / "ab" / ("ab" * 32)
    unused.parent.mkdir()
    shutil.copy(photo, unused)
    found = checking.check(full, repair=True)
    assert found.sound
    assert "used by nothing" in found.findings[0].problem
    assert unused.exists()


@pytest.mark.long
@books.about_files
def test_what_others_can_read_is_made_private(full: Studio) -> None:
    opened = [full.home / "book.db", full.originals, full.home / "copies"]
    for path in opened:
        path.chmod(0o755)
    found = checking.check(full)
    assert problems(found).count("others on this computer") == 3
    assert checking.check(full, repair=True).sound
    assert [path.stat().st_mode & 0o077 for path in opened] == [0, 0, 0]
    assert checking.check(full).findings == []


@books.about_files
@pytest.mark.parametrize(
    "script",
    [
        "UPDATE step SET phase = 'ginish'",
        "UPDATE reference SET plan = '{}'",
        "UPDATE studio SET holidays = 'XX'",
    ],
)
def test_what_a_review_stumbles_over_is_said_of_the_book(full: Studio, script: str) -> None:
    full.close()
    with closing(sqlite3.connect(full.home / "book.db", isolation_level=None)) as raw:
        raw.execute("PRAGMA ignore_check_constraints=ON")
        raw.execute(script)
    with pytest.raises(Exception) as stumbled:  # noqa: PT011 whatever it is
        review.review(full)
    assert not isinstance(stumbled.value, BurnplanError)
    assert "The book is damaged" in str(checking.damage(full))


@books.about_files
def test_a_book_that_others_can_read_is_not_called_damaged(
    full: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    (full.home / "book.db").chmod(0o644)
    assert not checking.check(full).sound
    assert checking.damage(full) is None

    def broken(*_: object) -> None:
        raise RuntimeError("no such thing")

    monkeypatch.setattr("burnplan.ledger.checking.of_rows", broken)
    assert checking.damage(full) is None
