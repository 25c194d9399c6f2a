"""What goes wrong around the program ends in one clear line, and nothing is lost."""

import ctypes
import os
import random
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

import pytest
from sqlalchemy import select

from burnplan.desk.keeping import restoring
from burnplan.desk.studio.studio import open_studio
from burnplan.errors import OperationFailed
from burnplan.ledger import migrate
from burnplan.ledger.models import Client
from tests import books
from tests.faults.conftest import Say, Tell, one_line
from tests.faults.killing import OLD_SCHEMA, check_left, copied, state
from tests.started import started

pytestmark = books.about_files

LOOKING = (
    ["jobs"], ["commission", "list"], ["session", "list"], ["history"], ["client", "list"],
    ["blank", "list"], ["promise"], ["quote", "list", "Fox"], ["step", "list", "Fox"], ["pace"],
    ["reference", "show", "Fox"], ["payment", "list"],
)  # fmt: skip
WRITING = (["commission", "add", "Newt"], ["step", "tick", "C-0002", "2"], ["client", "add", "Zoe"])


# --- full ----------------------------------------------------------------------------------


@contextmanager
def small_disk(folder: Path, kilobytes: int) -> Iterator[Path]:
    """Give a disk of a few hundred kilobytes, if this system lets us mount one."""
    folder.mkdir()
    mounting = ["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k,mode=700", "none", str(folder)]
    if shutil.which("mount") is None or subprocess.run(mounting, capture_output=True).returncode:
        pytest.skip("needs the right to mount a small disk")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)


def _fill(path: Path) -> None:
    """Write a file until the disk is full."""
    with suppress(OSError), path.open("wb", buffering=0) as rest:
        while rest.write(b"x" * 4096):
            pass


def _give_back(path: Path, room: int) -> None:
    """Make room for so many bytes again."""
    with path.open("rb+") as rest:
        rest.truncate(rest.seek(0, os.SEEK_END) - room)


def _size(folder: Path) -> int:
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


@pytest.mark.long
def test_disk_full(home: Path, tmp_path: Path, say: Say, fault: Tell) -> None:
    with small_disk(tmp_path / "disk", _size(home) // 1024 + 300) as disk:
        place = disk / "home"
        copied(home, place)
        kept = {path.name: path.read_bytes() for path in place.glob("book.db*")}
        _fill(disk / "rest")
        # Without room for a log the book cannot even be read.
        for arguments in (*LOOKING, *WRITING):
            said = one_line(say(place, *arguments))
            assert "No space left" in said
        assert {name: (place / name).read_bytes() for name in kept} == kept
        # With a little room some changes are made, until one is refused.
        _give_back(disk / "rest", 200_000)
        code, before = 0, state(place)
        while not code:
            code, said = say(place, "commission", "add", "Newt")
            before = before if code else state(place)
        assert "No space left" in one_line((code, said))
        (disk / "rest").unlink()
        assert state(place) == before
        assert say(place, "commission", "add", "Newt again")[0] == 0
        check_left(place, "disk full")
    fault("disk full: a change", said, "as it was; goes on with space")


@pytest.mark.long
def test_disk_full_while_a_backup_is_put_in_place(
    home: Path, photo: Path, tmp_path: Path, say: Say, fault: Tell,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """At whatever moment the disk is full, the book is as it was, or the backup is in its place."""
    # Else it is refused beforehand: somebody may fill the disk after that.
    monkeypatch.setattr(restoring, "_check_space", lambda *_asked: None)
    large = tmp_path / "large.png"
    large.write_bytes(photo.read_bytes() + bytes(400_000))
    with small_disk(tmp_path / "disk", _size(home) // 1024 + 5000) as disk:
        place = disk / "home"
        copied(home, place)
        assert say(place, "photo", "add", "Fox", str(large))[0] == 0
        assert say(place, "backup", str(tmp_path / "kept.zip"))[0] == 0
        for added in place.glob("originals/*/*"):
            added.unlink()
        assert say(place, "commission", "add", "Newt")[0] == 0
        before = state(place)
        _fill(disk / "rest")
        refused = []
        for room in range(30):
            _give_back(disk / "rest", 120_000 if room else 0)
            code, said = say(place, "restore", str(tmp_path / "kept.zip"), "--yes")
            if code == 0:
                break
            refused.append(one_line((code, said)))
            copied(place, tmp_path / "looked at")  # even to read a book takes room
            assert state(tmp_path / "looked at") == before
            assert not [*disk.rglob("*.part"), *disk.rglob("*before-restore*")]
        assert code == 0, refused
        assert len(refused) > 3
        assert "Newt" not in _titles(place)
        check_left(place, "disk full: a restore")
    fault("disk full: a restore", refused[-1], "as it was; done with space")


def _titles(place: Path) -> list[str]:
    with closing(sqlite3.connect(place / "book.db")) as book:
        return [row[0] for row in book.execute("SELECT title FROM commission")]


def test_disk_full_for_a_photo_or_a_backup(
    home: Path, photo: Path, tmp_path: Path, say: Say, fault: Tell
) -> None:
    with small_disk(tmp_path / "disk", _size(home) // 1024 + 300) as disk:
        place = disk / "home"
        copied(home, place)
        big = tmp_path / "big.png"
        big.write_bytes(photo.read_bytes() + b"\0" * 400_000)
        before = state(place)
        _fill(disk / "rest")
        _give_back(disk / "rest", 100_000)
        for what, arguments in (
            ("a photo", ("photo", "add", "Fox", str(big))),
            ("a backup", ("backup", str(disk / "kept.zip"))),
            ("an export", ("export", str(disk / "all"))),
        ):
            said = one_line(say(place, *arguments))
            assert "No space left" in said or "disk is full" in said
            assert state(place) == before
            assert {path.name for path in disk.iterdir()} == {"home", "rest"}
            check_left(place, what)
            fault(f"disk full: {what}", said, "as it was, no half file")


# --- not allowed ---------------------------------------------------------------------------


def _as_an_ordinary_user(home: Path, *arguments: str) -> tuple[int, str]:
    """Run the program without the superuser's right to write anywhere."""
    if os.geteuid() == 0 and not sys.platform.startswith("linux"):
        pytest.skip("root may write everywhere, and cannot forbid it itself here")
    done = started(arguments, {"BURNPLAN_HOME": str(home)}, first=_no_rights_over_files)
    return done.returncode, done.stderr


def _no_rights_over_files() -> None:
    """Give up the superuser's rights to read and write whatever a file's mode says."""
    if os.geteuid() != 0:
        return
    # linux/capability.h: CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH, CAP_FOWNER; the third version of
    # the structures has effective, permitted and inheritable rights, twice 32 of each.
    unwanted = 1 << 1 | 1 << 2 | 1 << 3
    libc = ctypes.CDLL(None, use_errno=True)
    whose = (ctypes.c_uint32 * 2)(0x20080522, 0)
    rights = (ctypes.c_uint32 * 6)()
    assert libc.capget(whose, rights) == 0, os.strerror(ctypes.get_errno())
    for place in range(3):
        rights[place] &= ~unwanted
    assert libc.capset(whose, rights) == 0, os.strerror(ctypes.get_errno())


@contextmanager
def _read_only(home: Path) -> Iterator[None]:
    """Let nothing be written in a folder; only who has no superuser's rights minds."""
    home.chmod(0o500)
    try:
        yield
    finally:
        home.chmod(0o700)


@pytest.fixture
def nowhere_to_write(monkeypatch: pytest.MonkeyPatch) -> None:
    """Answer as for a read-only folder; root, who runs tests in a container, may write anywhere."""
    monkeypatch.setattr(os, "access", lambda _path, mode: mode != os.W_OK)


@pytest.mark.long
def test_read_only_folder(home: Path, tmp_path: Path, fault: Tell) -> None:
    """For real: the program without the right to write in the book's folder."""
    before, names = state(home), {path.name for path in home.iterdir()}
    with _read_only(home):
        backup = ["backup", str(tmp_path / "kept.zip")]
        for arguments in (["jobs"], ["reference", "show", "Fox"], ["check"], backup):
            code, said = _as_an_ordinary_user(home, *arguments)
            assert (code, "Traceback" in said) == (0, False), said
        assert (tmp_path / "kept.zip").exists()
        refused = one_line(_as_an_ordinary_user(home, "commission", "add", "Newt"))
        assert "Cannot write in the book" in refused
    assert {path.name for path in home.iterdir()} == names
    assert state(home) == before
    fault("read-only folder: jobs, check, a backup", "what was asked", "as it was")
    fault("read-only folder: a change", refused, "as it was")


# Ends, and closes the book, when there is no more to read.
ANOTHER_PROGRAM = """
import sqlite3, sys
book = sqlite3.connect(sys.argv[1])
book.execute("UPDATE client SET name = 'Zoe' WHERE id = 1")
book.commit()
print("written", flush=True)
sys.stdin.read()
book.close()
"""


def test_read_only_folder_with_changes_in_the_log(home: Path, fault: Tell) -> None:
    """For real: as another program has the book open, and as it left it when it was killed."""
    command = [sys.executable, "-c", ANOTHER_PROGRAM, str(home / "book.db")]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == b"written\n"
        with _read_only(home):
            code, said = _as_an_ordinary_user(home, "client", "list")
            assert (code, said) == (0, "")
            log = (home / "book.db-wal").read_bytes()
    (home / "book.db-wal").write_bytes(log)
    with _read_only(home):
        said = one_line(_as_an_ordinary_user(home, "client", "list"))
    assert "newest changes are in a log beside it" in said
    assert (home / "book.db-wal").read_bytes() == log
    fault("read-only folder: a log of a killed program", said, "as it was, the log too")


@pytest.mark.long
@pytest.mark.usefixtures("nowhere_to_write")
def test_every_look_where_nothing_may_be_written(home: Path, say: Say) -> None:
    """What the program does when the system says so; here it could write, and must not."""
    before = state(home)
    files = {path: path.stat().st_mtime_ns for path in (home, *home.iterdir())}
    for arguments in LOOKING:
        assert say(home, *arguments) == (0, "")
    for arguments in WRITING:
        assert "Cannot write in the book" in one_line(say(home, *arguments))
    assert {path: path.stat().st_mtime_ns for path in (home, *home.iterdir())} == files
    assert state(home) == before


@pytest.mark.usefixtures("nowhere_to_write")
def test_a_book_that_changes_while_it_is_only_looked_at(home: Path, fault: Tell) -> None:
    with closing(open_studio(home)) as studio:
        with (  # noqa: PT012 the block is the transaction
            pytest.raises(OperationFailed, match="Another program wrote in the book") as refused,
            studio.reading() as book,
        ):
            names = book.scalars(select(Client.name)).all()
            with closing(sqlite3.connect(home / "book.db")) as other:
                other.execute("UPDATE client SET name = 'Zoe' WHERE id = 1")
                other.commit()
        with studio.reading() as book:
            assert book.scalars(select(Client.name)).all() != names
    fault("read-only folder: changed by its owner", str(refused.value), "the next look is right")


@pytest.mark.long
def test_read_only_folder_with_an_older_book(home: Path, fault: Tell) -> None:
    """For real: a look would have to bring the book to the newest form first."""
    with closing(open_studio(home)) as studio:
        migrate.migrate_to(studio.engine, OLD_SCHEMA)
    before = state(home)
    with _read_only(home):
        said = one_line(_as_an_ordinary_user(home, "jobs"))
    assert "older form" in said
    assert state(home) == before
    fault("read-only folder: an older book", said, "as it was")


def test_read_only_folder_without_a_book(tmp_path: Path, fault: Tell) -> None:
    (tmp_path / "home").mkdir(mode=0o500)
    said = one_line(_as_an_ordinary_user(tmp_path / "home", "commission", "add", "Newt"))
    assert "Cannot make a book" in said
    fault("read-only folder: no book yet", said, "nothing made")


# --- in use --------------------------------------------------------------------------------


def test_locked_by_another_program(
    home: Path, say: Say, fault: Tell, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("burnplan.ledger.engines.BUSY_SECONDS", 0.1)
    monkeypatch.setattr("burnplan.ledger.backup.BUSY_SECONDS", 0.1)
    before = state(home)
    with closing(sqlite3.connect(home / "book.db", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        for arguments in WRITING:
            said = one_line(say(home, *arguments))
            assert "Another program is writing" in said
        assert say(home, "commission", "list") == (0, "")
        other.execute("ROLLBACK")
    assert state(home) == before
    fault("locked by another program", said, "as it was; can be read")


# --- damaged -------------------------------------------------------------------------------


@pytest.mark.whole
def test_damaged_pages_and_bytes(home: Path, tmp_path: Path, say: Say, fault: Tell) -> None:
    whole = (home / "book.db").read_bytes()
    failed = []
    for seed in range(8):
        dice = random.Random(seed)  # noqa: S311
        data = bytearray(whole)
        if seed % 2:
            page = dice.randrange(1, len(data) // 4096)
            data[page * 4096 : (page + 1) * 4096] = dice.randbytes(4096)
        else:
            for _ in range(20):
                data[dice.randrange(len(data))] = dice.randrange(256)
        copied(home, tmp_path / "damaged")
        (tmp_path / "damaged" / "book.db").write_bytes(data)
        failed += [
            one_line(told)
            for told in (say(tmp_path / "damaged", *one) for one in LOOKING)
            if told[0]
        ]
        assert say(tmp_path / "damaged", "check")[0] == 1
    assert len(failed) > 8
    assert all("damaged" in said for said in failed)
    fault("8 books with damaged pages or bytes", failed[0], "found by check; copies to restore")


@pytest.mark.long
def test_nothing_readable_at_all(home: Path, say: Say, fault: Tell) -> None:
    (home / "book.db").write_bytes(b"SQLite format 3\0" + b"\0" * 5000)
    for arguments in (*LOOKING, *WRITING):
        said = one_line(say(home, *arguments))
        assert "damaged" in said
    assert (home / "book.db").read_bytes() == b"SQLite format 3\0" + b"\0" * 5000
    fault("a book of zeros", said, "left as it is")


@pytest.mark.parametrize("keep", [0, 1, 0.5])
def test_truncated_original(home: Path, keep: float, say: Say, fault: Tell) -> None:
    with closing(sqlite3.connect(home / "book.db")) as book:
        (name,) = book.execute("SELECT original_sha256 FROM reference LIMIT 1").fetchone()
    path = home / "originals" / name[:2] / name
    length = int(keep) if keep in (0, 1) else path.stat().st_size // 2
    with path.open("rb+") as cut:
        cut.truncate(length)
    before = state(home)
    for arguments in (("reference", "plan", "Fox"), ("reference", "preview", "Fox")):
        said = one_line(say(home, *arguments))
        assert "damaged" in said
    assert say(home, "check")[0] == 1
    assert say(home, "reference", "show", "Fox")[0] == 0
    assert state(home) == before
    fault(
        f"original cut to {length} bytes", "The photo … is damaged", "the plan stays; check tells"
    )


# --- power ---------------------------------------------------------------------------------


@pytest.mark.long
def test_what_is_said_done_is_on_the_disk(home: Path, fault: Tell) -> None:
    # A power cut cannot be tried here; SQLite promises it of this setting (its documentation,
    # "PRAGMA synchronous": FULL, in WAL mode, syncs the log after each transaction).
    with closing(open_studio(home)) as studio, studio.engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
    fault("power cut", "not tried; the log is synced at each change", "by SQLite's promise")
