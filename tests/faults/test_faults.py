"""What goes wrong around the program ends in one clear line, and nothing is lost."""

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

from burnplan.desk.studio import open_studio
from tests import books
from tests.faults.conftest import Say, Tell, one_line
from tests.faults.killing import check_left, copied, state

pytestmark = books.about_files

LOOKING = (
    ["jobs"], ["commission", "list"], ["session", "list"], ["history"], ["client", "list"],
    ["blank", "list"], ["promise"], ["quote", "list", "Fox"], ["step", "list", "Fox"], ["pace"],
    ["reference", "show", "Fox"], ["payment", "list"],
)  # fmt: skip
WRITING = (["commission", "add", "Newt"], ["step", "tick", "Owl", "2"], ["client", "add", "Zoe"])


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
    command = [sys.executable, "-m", "burnplan", *arguments]
    if os.geteuid() == 0:
        without = "-dac_override,-dac_read_search,-fowner"
        limited = ["setpriv", f"--bounding-set={without}", f"--inh-caps={without}"]
        if not shutil.which("setpriv") or subprocess.run([*limited, "true"]).returncode:
            pytest.skip("root may write everywhere, and setpriv cannot forbid it here")
        command = [*limited, *command]
    done = subprocess.run(
        command,
        env={**os.environ, "BURNPLAN_HOME": str(home)},
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stderr


@pytest.mark.parametrize("arguments", [["jobs"], ["commission", "add", "Newt"]])
def test_read_only_folder(home: Path, arguments: list[str], fault: Tell) -> None:
    before = state(home)
    home.chmod(0o500)
    try:
        code, said = _as_an_ordinary_user(home, *arguments)
    finally:
        home.chmod(0o700)
    assert "Traceback" not in said
    assert state(home) == before
    if arguments == ["jobs"] and code == 0:
        fault("read-only folder: jobs", "the open jobs", "as it was")
        return
    said = one_line((code, said))
    assert "Cannot write" in said
    fault(f"read-only folder: {arguments[0]}", said, "as it was")


def test_read_only_folder_without_a_book(tmp_path: Path, fault: Tell) -> None:
    (tmp_path / "home").mkdir(mode=0o500)
    said = one_line(_as_an_ordinary_user(tmp_path / "home", "commission", "add", "Newt"))
    assert "Cannot make a book" in said
    fault("read-only folder: no book yet", said, "nothing made")


# --- in use --------------------------------------------------------------------------------


def test_locked_by_another_program(
    home: Path, say: Say, fault: Tell, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("burnplan.ledger.engine.BUSY_SECONDS", 0.1)
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


def test_what_is_said_done_is_on_the_disk(home: Path, fault: Tell) -> None:
    # A power cut cannot be tried here; SQLite promises it of this setting (its documentation,
    # "PRAGMA synchronous": FULL, in WAL mode, syncs the log after each transaction).
    with closing(open_studio(home)) as studio, studio.engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
    fault("power cut", "not tried; the log is synced at each change", "by SQLite's promise")
