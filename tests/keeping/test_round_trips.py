"""A book comes back row for row from a backup, an export or a copy of the day."""

import csv
import io
import json
import shutil
import sqlite3
import subprocess
import sys
import zipfile
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from sqlalchemy import select, update

from burnplan.desk.demo import DemoClock
from burnplan.desk.jobs import clients, commissions, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.layouts import LayoutChange
from burnplan.desk.keeping import backups, restoring, undo
from burnplan.desk.studio.studio import Studio, open_studio
from burnplan.errors import BadInput, NotAllowed, OperationFailed
from burnplan.files import replacing
from burnplan.ledger import backup, engines, migrate, soundness
from burnplan.ledger.models import Client, History
from burnplan.ledger.tables import tables, to_json
from burnplan.letter_kinds import OWN_LETTERS
from burnplan.progress import silent
from tests import books
from tests.cases import quick_first
from tests.keeping.conftest import NOW, every_original, every_row


def add_client(studio: Studio, name: str) -> None:
    clients.add(studio, name, clients.ClientDetails())


def restored(studio: Studio, source: Path) -> restoring.Restored:
    with restoring.of_backup(studio, source) as ready:
        return ready.put_in_place(silent)


def imported(studio: Studio, source: Path, *, replace: bool = False) -> restoring.Restored:
    with restoring.of_export(studio, source, replace=replace) as ready:
        return ready.put_in_place(silent)


def test_a_backup_restored_is_the_same_book(full: Studio, other: Studio, tmp_path: Path) -> None:
    done = backups.back_up(full, tmp_path / "b.zip")
    assert restored(other, tmp_path / "b.zip").aside is None or books.SERVER
    assert every_row(other) == every_row(full)
    assert every_original(other) == every_original(full)
    assert done.rows == {name: len(found) for name, found in every_row(full).items()}
    assert (done.originals, done.missing) == (1, [])


@pytest.mark.long
def test_letters_of_ones_own_come_along_and_those_there_stay(
    full: Studio, other: Studio, tmp_path: Path
) -> None:
    words = {"ready.de.txt": "Fertig", "thanks.txt": "Ours", "notes.md": "no template"}
    for home, named in ((full.home, words), (other.home, {"thanks.txt": "Theirs"})):
        (home / OWN_LETTERS).mkdir(parents=True)
        for name, text in named.items():
            (home / OWN_LETTERS / name).write_text(text)
    assert backups.back_up(full, tmp_path / "b.zip").letters == 2
    restored(other, tmp_path / "b.zip")
    there = {path.name: path.read_text() for path in (other.home / OWN_LETTERS).iterdir()}
    assert there == {"ready.de.txt": "Fertig", "thanks.txt": "Theirs"}
    assert backups.export(other, tmp_path / "e").letters == 2
    shutil.rmtree(full.home / "words")
    imported(full, tmp_path / "e", replace=True)
    assert (full.home / OWN_LETTERS / "thanks.txt").read_text() == "Theirs"


@pytest.mark.skipif(bool(books.SERVER), reason="of a book that is a file")
def test_a_copy_is_found_by_the_name_that_help_gives_it(full: Studio) -> None:
    (full.home / "copies").mkdir(exist_ok=True)
    backup.copy_as_it_is(full.home / "book.db", full.home / "copies" / "book-2027-03-16.db")
    assert restored(full, Path("copies/book-2027-03-16.db")).path.is_file()
    with pytest.raises(BadInput, match="none' cannot be read"):
        restored(full, Path("copies/none"))


@pytest.mark.long
def test_the_mask_of_a_layout_comes_along(
    full: Studio, other: Studio, photo: Path, tmp_path: Path
) -> None:
    """Without it the piece could not be planned again, nor its sheets be drawn."""
    keep = np.zeros((960, 1280), np.uint8)
    keep[:, :640] = 255
    Image.fromarray(keep).save(tmp_path / "mask.png")
    piece = commissions.add(full, Wishes(title="Masked", size="12x9cm", species="basswood"))
    wanted = LayoutChange(mask=tmp_path / "mask.png")
    references.add(full, piece.code, photo, zones=3, wanted=wanted)
    backups.back_up(full, tmp_path / "b.zip")
    restored(other, tmp_path / "b.zip")
    _, here = references.pictures(full, piece.code)
    _, there = references.pictures(other, piece.code)
    assert np.array_equal(here.placed.lightness, there.placed.lightness)


@quick_first("name", ["e.zip", "e"])
def test_an_export_imported_is_the_same_book(
    full: Studio, other: Studio, tmp_path: Path, name: str
) -> None:
    backups.export(full, tmp_path / name)
    imported(other, tmp_path / name)
    assert every_row(other) == every_row(full)
    assert every_original(other) == every_original(full)
    # And again, to the byte.
    backups.export(other, tmp_path / "again")
    backups.export(full, tmp_path / "first")
    for file in (tmp_path / "first").rglob("*"):
        if file.is_file():
            twin = tmp_path / "again" / file.relative_to(tmp_path / "first")
            assert twin.read_bytes() == file.read_bytes(), file.name


@pytest.mark.long
def test_work_goes_on_in_a_restored_book(full: Studio, other: Studio, tmp_path: Path) -> None:
    backups.export(full, tmp_path / "e.zip")
    imported(other, tmp_path / "e.zip")
    before = every_row(other)
    made = commissions.add(other, Wishes(title="After the import", client="Somebody new"))
    assert made.code == "C-0012"
    undo.undo_last(other)
    now = every_row(other)
    del before["history"], now["history"]
    assert now == before
    undo.undo_last(other)  # what was done before the export can be undone too


def test_a_restored_book_keeps_the_one_before_aside(full: Studio, tmp_path: Path) -> None:
    backups.back_up(full, tmp_path / "b.zip")
    old = every_row(full)
    full.clock.now += timedelta(hours=1)  # type: ignore[attr-defined]
    add_client(full, "Came later")
    newer = every_row(full)
    with restoring.of_backup(full, tmp_path / "b.zip") as ready:
        assert ready.about.goes_back
        assert every_row(full) == newer, "nothing happens before it is agreed"
        done = ready.put_in_place(silent)
    assert every_row(full) == old
    assert done.aside is not None
    assert done.aside.stat().st_mode & 0o077 == 0
    with restoring.of_backup(full, done.aside) as ready:
        assert not ready.about.goes_back
        second = ready.put_in_place(silent)
    assert every_row(full) == newer
    assert second.aside != done.aside, "each book replaced is kept under a name of its own"


@pytest.mark.long
def test_a_book_that_is_not_empty_is_not_imported_over(
    full: Studio, studio: Studio, tmp_path: Path
) -> None:
    backups.export(full, tmp_path / "e.zip")
    add_client(studio, "Mara")
    before = every_row(studio)
    with pytest.raises(NotAllowed, match="not empty"):
        imported(studio, tmp_path / "e.zip")
    assert every_row(studio) == before
    done = imported(studio, tmp_path / "e.zip", replace=True)
    assert every_row(studio) == every_row(full)
    assert done.aside is not None
    restored(studio, done.aside)
    assert every_row(studio) == before


def test_a_backup_is_not_imported(full: Studio, other: Studio, tmp_path: Path) -> None:
    if books.SERVER:
        pytest.skip("there a backup has the book as JSON")
    backups.back_up(full, tmp_path / "b.zip")
    with pytest.raises(BadInput, match="not an export"):
        imported(other, tmp_path / "b.zip")


def test_everything_written_is_private(full: Studio, tmp_path: Path) -> None:
    backups.back_up(full, tmp_path / "b.zip")
    backups.export(full, tmp_path / "e")
    backups.export(full, tmp_path / "e.zip")
    for path in (tmp_path / "b.zip", tmp_path / "e.zip", *(tmp_path / "e").rglob("*")):
        assert path.stat().st_mode & 0o077 == 0, path
    assert not list(tmp_path.glob(".*")), "nothing unfinished is left"


def test_photos_keep_their_ending_in_an_export(full: Studio, tmp_path: Path) -> None:
    backups.export(full, tmp_path / "e")
    (photo,) = (tmp_path / "e" / "originals").iterdir()
    assert photo.suffix == ".png"
    assert photo.read_bytes().startswith(b"\x89PNG")


def test_the_tables_are_safe_in_a_spreadsheet(full: Studio, tmp_path: Path) -> None:
    name = '=HYPERLINK("http://x")'
    add_client(full, name)
    backups.export(full, tmp_path / "e")
    text = (tmp_path / "e" / "tables" / "client.csv").read_text("utf-8")
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert rows[-1]["name"] == "'" + name
    for path in (tmp_path / "e" / "tables").iterdir():
        for row in csv.reader(io.StringIO(path.read_text("utf-8"), newline="")):
            for cell in row:
                negative = cell.startswith("-") and cell[1:].replace(".", "").isdigit()
                assert negative or not cell.startswith(("=", "+", "-", "@", "\t", "\r")), cell


def test_every_table_is_in_the_tables(full: Studio, tmp_path: Path) -> None:
    backups.export(full, tmp_path / "e")
    for name, found in every_row(full).items():
        text = (tmp_path / "e" / "tables" / f"{name}.csv").read_text("utf-8")
        first, *cells = csv.reader(io.StringIO(text, newline=""))
        assert len(cells) == len(found)
        for row, written in zip(found, cells, strict=True):
            for column, cell in zip(first, written, strict=True):
                value = to_json(row[column])
                if isinstance(value, list | dict):
                    assert json.loads(cell) == value
                else:
                    assert cell.removeprefix("'") == ("" if value is None else str(value))


def test_a_missing_photo_does_not_stop_a_backup(
    full: Studio, other: Studio, tmp_path: Path
) -> None:
    (photo,) = full.originals.glob("*/*")
    photo.unlink()
    done = backups.back_up(full, tmp_path / "b.zip")
    assert done.missing == [photo.name]
    assert restored(other, tmp_path / "b.zip").missing_originals == [photo.name]
    assert every_row(other) == every_row(full)


def test_a_photo_that_is_damaged_here_comes_back_whole(full: Studio, tmp_path: Path) -> None:
    backups.back_up(full, tmp_path / "b.zip")
    before = every_original(full)
    (photo,) = full.originals.glob("*/*")
    photo.write_bytes(b"\0" * photo.stat().st_size)
    restored(full, tmp_path / "b.zip")
    assert every_original(full) == before


def test_a_backup_that_cannot_be_written_leaves_what_was_there(
    full: Studio, tmp_path: Path
) -> None:
    (tmp_path / "b.zip").write_bytes(b"the one from before")
    with pytest.raises(BadInput, match="no folder"):
        backups.back_up(full, tmp_path / "none" / "b.zip")

    class DiskFull(Exception):
        pass

    def stop(share: float, _label: str) -> None:
        if share > 0.4:
            raise DiskFull

    with replacing(lambda _path: True), pytest.raises(DiskFull):
        backups.back_up(full, tmp_path / "b.zip", stop)
    assert (tmp_path / "b.zip").read_bytes() == b"the one from before"
    assert not list(tmp_path.glob(".*"))


WRITER = """
import sys
from pathlib import Path
from burnplan.desk.jobs import clients
from burnplan.desk.studio.studio import Studio
studio = Studio(Path(sys.argv[1]), sys.argv[2])
for number in range(100000):
    clients.add(studio, f"Written meanwhile {number}", clients.ClientDetails())
    if number == 0:
        print("writing", flush=True)
"""


@pytest.mark.whole
def test_a_backup_while_another_process_writes_is_of_one_moment(
    full: Studio, tmp_path: Path
) -> None:
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(full.home), full.database_url],
        stdout=subprocess.PIPE,
    )
    try:
        assert writer.stdout is not None
        writer.stdout.readline()
        counts = []
        for number in range(5):
            source = tmp_path / f"{number}.zip"
            backups.back_up(full, source)
            target = books.open_at(tmp_path / f"r{number}", full.clock)
            restored(target, source)
            rows = every_row(target)
            target.close()
            written = [c["name"] for c in rows["client"] if c["name"].startswith("Written")]
            assert written == [f"Written meanwhile {n}" for n in range(len(written))]
            entries = [h for h in rows["history"] if "Written meanwhile" in h["summary"]]
            assert len(entries) == len(written), "a row and its history are one moment"
            counts.append(len(written))
        assert counts[-1] > counts[0], "the writer wrote between backups"
    finally:
        writer.kill()
        writer.wait()
        writer.stdout.close()  # type: ignore[union-attr]


@pytest.mark.long
@books.about_files
def test_a_book_is_replaced_while_another_process_writes(full: Studio, tmp_path: Path) -> None:
    backups.back_up(full, tmp_path / "b.zip")
    old = len(every_row(full)["client"])
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(full.home), full.database_url],
        stdout=subprocess.PIPE,
    )
    try:
        assert writer.stdout is not None
        writer.stdout.readline()
        done = restored(full, tmp_path / "b.zip")
    finally:
        writer.kill()
        writer.wait()
        writer.stdout.close()  # type: ignore[union-attr]
    assert soundness.damage(full.home / "book.db") == []
    assert done.aside is not None
    kept = [c["name"] for c in _of_copy(done.aside, tmp_path)["client"][old:]]
    later = [c["name"] for c in every_row(full)["client"][old:]]
    # Every row written is in the copy kept aside or in the book, none twice.
    assert kept + later == [f"Written meanwhile {n}" for n in range(len(kept) + len(later))]
    assert kept


def _of_copy(copy: Path, tmp_path: Path) -> dict[str, list[dict[str, object]]]:
    backup.copy_book(copy, tmp_path / "looked at" / "book.db")
    studio = open_studio(tmp_path / "looked at")
    found = every_row(studio)
    studio.close()
    return found


@pytest.mark.long
@books.about_files
def test_an_older_book_is_migrated(full: Studio, other: Studio, tmp_path: Path) -> None:
    revision = migrate.versions()[-2]
    migrate.migrate_to(full.engine, revision)
    full.close()
    backup.copy_book(full.home / "book.db", tmp_path / "old.db")
    done = restored(other, tmp_path / "old.db")
    assert done.migrated_from == revision
    assert done.new.schema_revision == migrate.newest_version()
    assert len(every_row(other)["commission"]) == 11
    assert done.missing_originals, "a copy of a book has no photos with it"


def test_what_was_done_in_an_older_form_of_the_book_is_not_undone(full: Studio) -> None:
    add_client(full, "Mara the second")
    with full.writing("test") as (book, _):
        entry = book.scalars(select(History).order_by(History.id.desc()).limit(1)).one()
        (change,) = entry.changes
        del change["after"]["note"]
        book.execute(update(History).values(changes=[change]).where(History.id == entry.id))
    before = every_row(full)
    with pytest.raises(NotAllowed, match="older form"):
        undo.undo_last(full)
    assert every_row(full) == before


@books.about_files
def test_a_newer_book_is_refused(full: Studio, other: Studio, tmp_path: Path) -> None:
    full.close()
    backup.copy_book(full.home / "book.db", tmp_path / "new.db")
    with closing(sqlite3.connect(tmp_path / "new.db")) as raw, raw:
        raw.execute("UPDATE alembic_version SET version_num = '9000'")
    with pytest.raises(OperationFailed, match="newer burnplan"):
        restored(other, tmp_path / "new.db")
    assert not other.has_book


@books.about_files
def test_a_book_of_a_newer_program_is_kept_aside(full: Studio, tmp_path: Path) -> None:
    backups.back_up(full, tmp_path / "b.zip")
    full.close()
    book = full.home / "book.db"
    with closing(sqlite3.connect(book)) as raw, raw:
        raw.execute("UPDATE alembic_version SET version_num = '9000'")
    again = open_studio(full.home, clock=full.clock, zone=UTC)
    with pytest.raises(OperationFailed, match="newer burnplan"), again.reading():
        pass
    done = restored(again, tmp_path / "b.zip")
    assert done.aside is not None
    for path, number in ((done.aside, "9000"), (book, migrate.newest_version())):
        assert soundness.version(path) == number


@books.about_files
@quick_first("kind", ["header", "middle", "truncated", "empty", "log alone"], quick=2)
def test_a_damaged_book_is_moved_aside_and_replaced(
    full: Studio, tmp_path: Path, kind: str
) -> None:
    backups.back_up(full, tmp_path / "b.zip")
    good = every_row(full)
    full.close()
    book = full.home / "book.db"
    data = bytearray(book.read_bytes())
    if kind == "header":
        data[:100] = b"\xff" * 100
    elif kind == "middle":
        data[4096 * 3 : 4096 * 60] = b"\xff" * 4096 * 57
    elif kind == "truncated":
        del data[len(data) // 2 :]
    elif kind == "empty":
        data.clear()
    if kind == "log alone":
        book.rename(book.with_name("book.db-wal"))
    else:
        book.write_bytes(data)
    again = open_studio(full.home, clock=full.clock, zone=UTC)
    done = restored(again, tmp_path / "b.zip")
    assert every_row(again) == good
    again.close()
    if kind in ("header", "middle", "truncated"):
        assert done.aside is not None
        assert done.aside.read_bytes() == bytes(data), "what is left of it is kept"


@books.about_files
class TestCopiesOfTheDay:
    def test_the_first_change_of_a_day_leaves_one(self, full: Studio, other: Studio) -> None:
        copies = full.home / "copies"
        clock = full.clock
        assert isinstance(clock, DemoClock)
        clock.now += timedelta(days=1)
        before = every_row(full)
        add_client(full, "First of the day")
        made = copies / "book-2027-03-18.db"
        assert made.stat().st_mode & 0o077 == 0
        stamp = made.stat().st_mtime_ns
        add_client(full, "Second of the day")
        assert made.stat().st_mtime_ns == stamp
        restored(other, made)
        assert every_row(other) == before, "as it was before the day's first change"

    @pytest.mark.long
    def test_the_newest_are_kept(self, full: Studio) -> None:
        clock = full.clock
        assert isinstance(clock, DemoClock)
        for _ in range(40):
            clock.now += timedelta(days=1)
            add_client(full, f"On {clock.now:%d %b}")
        kept = sorted(path.stem[5:] for path in (full.home / "copies").glob("book-????-??-??.db"))
        assert kept == [
            "2027-04-11", "2027-04-18", "2027-04-20", "2027-04-21", "2027-04-22",
            "2027-04-23", "2027-04-24", "2027-04-25", "2027-04-26",
        ]  # fmt: skip

    def test_looking_makes_none_and_a_new_book_has_none(self, studio: Studio) -> None:
        shutil.rmtree(studio.home / "copies")  # the one that spares the tests theirs
        assert every_row(studio)["client"] == []
        add_client(studio, "The very first")
        assert not (studio.home / "copies").exists()

    def test_work_goes_on_without_one(self, full: Studio) -> None:
        for path in (full.home / "copies").glob("*"):
            path.unlink()
        (full.home / "copies").rmdir()
        (full.home / "copies").write_text("a file is in its place")
        assert isinstance(full.clock, DemoClock)
        full.clock.now += timedelta(days=1)
        add_client(full, "Still added")
        assert "copy of the book was not made" in str(full.notices[0])


@books.about_files
def test_a_book_that_another_program_holds_is_not_taken_for_damaged(
    full: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("burnplan.ledger.engines.BUSY_SECONDS", 0.1)
    monkeypatch.setattr("burnplan.ledger.backup.BUSY_SECONDS", 0.1)
    backups.back_up(full, tmp_path / "b.zip")
    full.close()
    with closing(sqlite3.connect(full.home / "book.db", isolation_level=None)) as holder:
        holder.execute("PRAGMA locking_mode=EXCLUSIVE")
        holder.execute("BEGIN EXCLUSIVE")
        holder.execute("UPDATE client SET note = 'held'")
        with pytest.raises(OperationFailed, match="locked"):
            restored(full, tmp_path / "b.zip")
        holder.execute("COMMIT")
    assert soundness.damage(full.home / "book.db") == []
    assert {c["note"] for c in every_row(full)["client"]} == {"held"}


KILLED = """
import os, sqlite3, sys
from datetime import datetime
from pathlib import Path
from burnplan.ledger import backup

pages = int(sys.argv[3])
real = backup.sqlite3.connect

class Dying(sqlite3.Connection):
    def backup(self, target, *, pages=-1, progress=None, **others):
        done = 0
        def look(status, left, whole):
            nonlocal done
            progress(status, left, whole)
            done += 1
            if done == int(sys.argv[3]):
                os.kill(os.getpid(), 9)
        if progress is None:
            return super().backup(target, pages=pages, **others)
        return super().backup(target, pages=pages, progress=look, **others)

backup.sqlite3.connect = lambda *words, **named: real(*words, factory=Dying, **named)
backup.put_in_place(Path(sys.argv[1]), Path(sys.argv[2]), datetime(2027, 3, 17))
"""


@books.about_files
@quick_first("step", [1, 2, 10, 25])
def test_killed_while_replacing_leaves_the_old_book(
    full: Studio, studio: Studio, step: int
) -> None:
    add_client(studio, "Mara")
    before = every_row(studio)
    full.close()
    studio.close()
    book = studio.home / "book.db"
    killed = subprocess.run(
        [sys.executable, "-c", KILLED, str(full.home / "book.db"), str(book), str(step)],
        check=False,
    )
    assert killed.returncode == -9
    assert every_row(studio) == before
    assert soundness.damage(book) == []


@pytest.mark.long
def test_a_large_book_is_written_a_piece_at_a_time(
    full: Studio, other: Studio, tmp_path: Path
) -> None:
    """More rows than are held at once, with everything text can be."""
    names = [f"{n} ¼ × 'ß\" 木 \u2028 {{}},\\" for n in range(2500)]
    with full.writing("test") as (book, _):
        book.add_all(Client(name=name, added_at=NOW, note="two\nlines\t,") for name in names)
    backups.export(full, tmp_path / "e.zip")
    imported(other, tmp_path / "e.zip")
    assert every_row(other) == every_row(full)


def test_the_manifest_says_what_is_in_it(full: Studio, tmp_path: Path) -> None:
    import hashlib

    backups.back_up(full, tmp_path / "b.zip")
    with zipfile.ZipFile(tmp_path / "b.zip") as archive:
        manifest = json.loads(archive.read("manifest.json"))
        assert set(archive.namelist()) == {"manifest.json", *manifest["members"]}
        for name, said in manifest["members"].items():
            data = archive.read(name)
            assert said == {"bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
    assert manifest["schema"] == migrate.newest_version()
    assert manifest["made_at"] == NOW.isoformat()
    assert set(manifest["rows"]) == {table.name for table in tables()}
    assert datetime.fromisoformat(manifest["last_change"]) == NOW


@books.about_servers
def test_a_backup_goes_from_a_file_to_a_server_and_back(full: Studio, tmp_path: Path) -> None:
    """The one is SQLite's file in a zip, the other the book as JSON; both serve both."""
    backups.back_up(full, tmp_path / "server.zip")
    file = Studio(tmp_path / "file", engines.sqlite_url(tmp_path / "file" / "book.db"), full.clock)
    restored(file, tmp_path / "server.zip")
    assert every_row(file) == every_row(full)
    backups.back_up(file, tmp_path / "file.zip")
    before = every_row(full)
    add_client(full, "Came later")
    later = every_row(full)
    done = restored(full, tmp_path / "file.zip")
    assert every_row(full) == before
    add_client(full, "New numbers go on")
    assert done.aside is not None
    restored(full, done.aside)
    assert every_row(full) == later
    file.close()
