"""What is said to be kept outlives a power cut: it is on the disk before it has its name.

The calls that write are recorded. Before a file takes its name all of it was made to go
to the disk, and after that the folder, which holds the name.
"""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from burnplan.desk.jobs import clients, commissions, photos
from burnplan.desk.jobs.clients import ClientDetails
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import backups, restoring
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import past
from burnplan.files import written_whole
from burnplan.ledger import backup
from burnplan.progress import silent
from tests import books
from tests.conftest import FixedClock

pytestmark = pytest.mark.skipif(
    not Path("/proc/self/fd").is_dir(), reason="what a handle is of cannot be asked here"
)


class Disk:
    """What was made to go to the disk, and what was named when."""

    def __init__(self) -> None:
        self.sizes: dict[str, int] = {}
        self.folders: set[str] = set()
        self.named: list[str] = []

    def synced(self, handle: int) -> None:
        path = Path(f"/proc/self/fd/{handle}").readlink()
        if path.is_dir():
            self.folders.add(str(path))
        else:
            self.sizes[str(path)] = os.fstat(handle).st_size

    def naming(self, source: Path, target: Path) -> None:
        for path in [source, *source.rglob("*")] if source.is_dir() else [source]:
            if path.is_file():
                on_disk = self.sizes.get(os.path.realpath(path))
                assert on_disk == path.stat().st_size, f"{target}: {path.name} is not on the disk"
        self.named.append(str(target))
        self.folders.discard(os.path.realpath(target.parent))

    def settled(self) -> None:
        """Check that every folder in which something was named went to the disk after that."""
        assert self.named
        for target in self.named:
            assert os.path.realpath(Path(target).parent) in self.folders, target


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> Iterator[Disk]:
    found, fsync, replace = Disk(), os.fsync, Path.replace

    def noted(handle: int) -> None:
        fsync(handle)
        found.synced(handle)

    def named(self: Path, target: str | Path) -> Path:
        found.naming(self, Path(target))
        return replace(self, target)

    monkeypatch.setattr(os, "fsync", noted)
    monkeypatch.setattr(Path, "replace", named)
    yield found
    monkeypatch.undo()


@pytest.fixture
def full(studio: Studio, photo: Path) -> Studio:
    commissions.add(studio, Wishes(title="Fox", size="12x9cm"))
    photos.add(studio, "Fox", photo)
    return studio


def _photo(studio: Studio, folder: Path) -> None:
    other = folder / "other.png"
    shutil.copyfile(folder / "drawn.png", other)
    with other.open("ab") as file:
        file.write(b"x")
    photos.add(studio, "Fox", other)


def _restored(studio: Studio, folder: Path) -> None:
    backups.back_up(studio, folder / "b.zip")
    for kept in studio.originals.glob("*/*"):
        kept.unlink()
    studio.close()
    if book := studio.book_file:
        book.write_bytes(b"damaged" * 1000)
    with restoring.of_backup(studio, folder / "b.zip") as ready:
        ready.put_in_place(silent)


def _copy(studio: Studio, folder: Path) -> None:
    if book := studio.book_file:
        backup.copy_book(book, folder / "copies" / "copy.db")


WRITES: dict[str, tuple[Callable[[Studio, Path], object], int]] = {
    "a photo": (_photo, 1),
    "a backup": (lambda s, f: backups.back_up(s, f / "b.zip"), 1),
    "an export": (lambda s, f: backups.export(s, f / "e.zip"), 1),
    "an export in a folder": (lambda s, f: backups.export(s, f / "e"), 1),
    "past jobs": (lambda s, f: past.give_out(s, f / "jobs.csv"), 1),
}


@pytest.mark.parametrize("what", WRITES)
def test_what_is_written_is_on_the_disk(
    what: str, full: Studio, tmp_path: Path, disk: Disk
) -> None:
    write, least = WRITES[what]
    write(full, tmp_path)
    assert len(disk.named) >= least
    disk.settled()


@books.about_files
def test_copies_and_what_is_restored_are_on_the_disk(
    full: Studio, clock: FixedClock, tmp_path: Path, disk: Disk
) -> None:
    clock.forward(days=1)
    clients.add(full, "Zoe", ClientDetails())
    assert any("copies" in name for name in disk.named)
    _copy(full, tmp_path)
    _restored(full, tmp_path)
    assert str(full.book_file) in disk.named
    assert any("originals" in name for name in disk.named)
    disk.settled()


@books.about_files
def test_the_book_itself_waits_for_the_disk(studio: Studio) -> None:
    with studio.writing("look") as (book, _):
        assert book.connection().exec_driver_sql("PRAGMA synchronous").scalar() == 2  # FULL
        assert book.connection().exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"


def test_a_disk_that_is_not_waited_for_would_be_found(
    tmp_path: Path, disk: Disk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("burnplan.files.to_disk", lambda _path: None)
    with (
        pytest.raises(AssertionError, match="not on the disk"),
        written_whole(tmp_path / "x") as unfinished,
    ):
        unfinished.write_bytes(b"x")
