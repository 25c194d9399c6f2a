"""Damaged and malicious backups and exports: one clear line each, and nothing changed."""

import hashlib
import io
import json
import random
import shutil
import sqlite3
import stat
import zipfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from PIL import Image

from burnplan.desk.jobs import commissions, photos
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import backups, restoring
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, BurnplanError
from burnplan.ledger import backup, migrate, package
from tests import books
from tests.keeping.conftest import JSON, NOW, read

Members = dict[str, bytes]


def forge(
    target: Path, members: Members, change: Callable[[dict[str, Any]], None] | None = None
) -> Path:
    """Write an archive whose manifest has the right hashes for whatever is in it."""
    manifest = json.loads(members["manifest.json"])
    manifest["members"] = {
        name: {"bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
        for name, data in members.items()
        if name != "manifest.json"
    }
    if change:
        change(manifest)
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            if name != "manifest.json":
                archive.writestr(name, data)
        archive.writestr("manifest.json", json.dumps(manifest))
    return target


def refusal(studio: Studio, source: Path) -> BurnplanError:
    """Return the error that a package is refused with; nothing was written anywhere."""
    before = set(studio.home.parent.rglob("*"))
    with pytest.raises(BurnplanError) as refused, restoring.of_backup(studio, source):
        pass
    made = set(studio.home.parent.rglob("*")) - before
    assert made <= {studio.home}, made
    message = str(refused.value)
    assert "\n" not in message
    assert message.isprintable()
    assert len(message) < 400
    return refused.value


# --- damage ----------------------------------------------------------------


@pytest.fixture(scope="session")
def small_packages(tmp_path_factory: pytest.TempPathFactory, empty_home: Path) -> Path:
    """A backup, b.zip, and an export, e.zip, of a book with a job and its photo."""
    folder = tmp_path_factory.mktemp("small_packages")
    books.copy(empty_home, folder / "home")
    studio = books.open_at(folder / "home", lambda: NOW)
    commissions.add(studio, Wishes(title="Fox", client="Ada Berg", size="12x9cm"))
    Image.effect_noise((60, 40), 80).save(folder / "noise.png")
    photos.add(studio, "Fox", folder / "noise.png")
    backups.back_up(studio, folder / "b.zip")
    backups.export(studio, folder / "e.zip")
    studio.close()
    return folder


@pytest.mark.long
@pytest.mark.parametrize("name", ["b.zip", "e.zip"])
def test_no_flipped_byte_goes_unnoticed(small_packages: Path, tmp_path: Path, name: str) -> None:
    """Only fields of the archive that mean nothing here (times, versions) may differ."""
    good = (small_packages / name).read_bytes()
    members = read(small_packages / name)
    assert [one for one in members if one.startswith("originals/")]
    chance = random.Random(8)  # noqa: S311 the same each time
    places = [chance.randrange(len(good)) for _ in range(150)]
    # The directory at the end and the first header, more densely.
    places += [len(good) - 1 - n * 7 for n in range(100)] + list(range(0, 60, 2))
    noticed = 0
    for place in places:
        bad = bytearray(good)
        bad[place] ^= 1 << chance.randrange(8)
        (tmp_path / "bad.zip").write_bytes(bad)
        try:
            with package.opened(tmp_path / "bad.zip") as found:
                found.verify()
                same = {m: b"".join(found.chunks(m)) for m in found.manifest.members}
        except BurnplanError:
            noticed += 1
        else:
            assert same == {n: data for n, data in members.items() if n != "manifest.json"}
    assert noticed > len(places) / 2


@pytest.mark.parametrize("name", ["b.zip", "e.zip"])
def test_a_truncated_archive_is_refused(packages: Path, tmp_path: Path, name: str) -> None:
    good = (packages / name).read_bytes()
    for length in (0, 1, 3, 30, 1000, len(good) // 2, len(good) - 30, len(good) - 1):
        (tmp_path / "bad.zip").write_bytes(good[:length])
        with pytest.raises(BadInput, match="damaged"), package.opened(tmp_path / "bad.zip"):
            pass


def test_a_member_that_is_another_than_its_manifest_says_is_refused(
    packages: Path, other: Studio, tmp_path: Path
) -> None:
    def lie(manifest: dict[str, Any]) -> None:
        manifest["members"]["book.db"]["sha256"] = "0" * 64

    forged = forge(tmp_path / "x.zip", read(packages / "b.zip"), lie)
    assert "'book.db' is damaged" in refusal(other, forged).message


@books.about_files
def test_a_damaged_copy_of_a_book_is_refused(full: Studio, other: Studio, tmp_path: Path) -> None:
    full.close()
    backup.copy_as_it_is(full.home / "book.db", tmp_path / "copy.db")
    with closing(sqlite3.connect(tmp_path / "copy.db")) as copy:
        query = "SELECT rootpage FROM sqlite_master WHERE tbl_name = 'step' AND type = 'table'"
        (page,) = copy.execute(query).fetchone()
        (size,) = copy.execute("PRAGMA page_size").fetchone()
    data = bytearray((tmp_path / "copy.db").read_bytes())
    data[(page - 1) * size : page * size] = bytes(size)
    (tmp_path / "copy.db").write_bytes(data)
    assert "is damaged" in refusal(other, tmp_path / "copy.db").message


class _Longer(io.RawIOBase):
    """A member that goes on behind its end."""

    reads = 0

    def read(self, size: int = -1) -> bytes:
        self.reads += 1
        assert self.reads < 3, "it is read on and on"
        return bytes(size)


def test_a_member_is_read_no_further_than_its_manifest_says() -> None:
    members = {"book.db": package.Member(10, "0" * 64)}
    manifest = package.Manifest("1", "0014", NOW, None, {}, [], members)

    def opened(_name: str) -> Any:
        return _Longer()

    found = package.Package(Path("x.zip"), manifest, opened)
    with pytest.raises(BadInput, match="is longer than its manifest says"):
        list(found.chunks("book.db"))


def test_a_manifest_that_would_take_all_memory_is_refused(
    packages: Path, other: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    members = read(packages / "b.zip")
    forged = forge(tmp_path / "x.zip", members, lambda said: said.update(missing=[[]] * 100))
    assert "its manifest is not of burnplan's making" in refusal(other, forged).message
    monkeypatch.setattr(package, "LARGEST_MANIFEST", 100)
    forged = forge(tmp_path / "y.zip", members)
    assert "its manifest is too large" in refusal(other, forged).message


@pytest.mark.parametrize(
    "content", [b"", b"hello", b"PK\x05\x06" + bytes(18), b"SQLite format 3\0", b"{}"]
)
def test_a_stranger_file_is_refused(other: Studio, tmp_path: Path, content: bytes) -> None:
    (tmp_path / "x.zip").write_bytes(content)
    refusal(other, tmp_path / "x.zip")


def test_a_file_that_is_not_there_or_a_folder_is_refused(other: Studio, tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    refusal(other, tmp_path / "none.zip")
    refusal(other, tmp_path / "folder")


# --- names and kinds of members --------------------------------------------

EVIL_NAMES = [
    "../evil", "../../evil", "/etc/evil", "originals/../../evil", "..\\evil", "C:\\evil",
    "originals/" + "A" * 64, "originals/" + "a" * 63, "tables/../evil.csv", "book.db ",
    "./book.json", "evil\x1b[31m", "tables/client.csv/x", "é", "originals/" + "a" * 64 + ".EXE",
    "manifest.json/../x", "con", "book.db-wal", "home/book.db",
]  # fmt: skip


@pytest.mark.parametrize("name", EVIL_NAMES)
def test_a_name_that_burnplan_does_not_give_is_refused(
    packages: Path, other: Studio, tmp_path: Path, name: str
) -> None:
    source = forge(tmp_path / "x.zip", {**read(packages / "b.zip"), name: b"evil"})
    refusal(other, source)


def _with_info(packages: Path, target: Path, change: Callable[[zipfile.ZipInfo], None]) -> Path:
    """Write the backup again with the header of its first photo changed."""
    with zipfile.ZipFile(packages / "b.zip") as old, zipfile.ZipFile(target, "w") as new:
        for info in old.infolist():
            data = old.read(info)
            if info.filename.startswith("originals/"):
                change(info)
            new.writestr(info, data)
    return target


def test_a_symbolic_link_is_refused(packages: Path, other: Studio, tmp_path: Path) -> None:
    def link(info: zipfile.ZipInfo) -> None:
        info.external_attr = (stat.S_IFLNK | 0o777) << 16

    source = _with_info(packages, tmp_path / "x.zip", link)
    assert "not a plain file" in refusal(other, source).message


def test_links_in_a_folder_are_refused(packages: Path, other: Studio, tmp_path: Path) -> None:
    with zipfile.ZipFile(packages / "e.zip") as archive:
        archive.extractall(tmp_path / "e")
    (tmp_path / "secret").write_text("secret")
    (photo,) = (tmp_path / "e" / "originals").iterdir()
    photo.unlink()
    photo.symlink_to(tmp_path / "secret")
    assert "not a plain file" in refusal(other, tmp_path / "e").message


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_member_twice_is_refused(packages: Path, other: Studio, tmp_path: Path) -> None:
    shutil.copy(packages / "b.zip", tmp_path / "x.zip")
    with zipfile.ZipFile(tmp_path / "x.zip", "a") as archive:
        archive.writestr("manifest.json", b"{}")
    assert "twice" in refusal(other, tmp_path / "x.zip").message


@pytest.mark.long
def test_members_missing_or_extra_are_refused(
    packages: Path, other: Studio, tmp_path: Path
) -> None:
    good = read(packages / "e.zip")
    photo = next(name for name in good if name.startswith("originals/"))

    def keep_listed(manifest: dict[str, Any]) -> None:
        data = good[photo]
        manifest["members"][photo] = {
            "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()
        }  # fmt: skip

    less = {name: data for name, data in good.items() if name != photo}
    assert "is missing" in refusal(other, forge(tmp_path / "1.zip", less, keep_listed)).message
    # Left out of the manifest too: but the book names it.
    assert "not the one" in refusal(other, forge(tmp_path / "2.zip", less)).message
    strange = hashlib.sha256(b"x").hexdigest()
    more = {**good, f"originals/{strange}": b"x"}
    assert "not the one" in refusal(other, forge(tmp_path / "3.zip", more)).message

    def unlisted(manifest: dict[str, Any]) -> None:
        del manifest["members"][f"originals/{strange}"]

    assert "not list" in refusal(other, forge(tmp_path / "4.zip", more, unlisted)).message
    for name in ("manifest.json", "book.json"):
        with zipfile.ZipFile(tmp_path / "5.zip", "w") as archive:
            for kept, data in good.items():
                if kept != name:
                    archive.writestr(kept, data)
        refusal(other, tmp_path / "5.zip")


def test_a_photo_under_another_hash_is_refused(
    packages: Path, other: Studio, tmp_path: Path
) -> None:
    good = read(packages / "e.zip")
    photo = next(name for name in good if name.startswith("originals/"))
    source = forge(tmp_path / "x.zip", {**good, photo: b"another photo"})
    assert "named by its hash" in refusal(other, source).message


# --- bombs -----------------------------------------------------------------


@pytest.mark.long
def test_a_bomb_that_says_so_is_refused_before_it_is_unpacked(
    packages: Path, other: Studio, tmp_path: Path
) -> None:
    """300 MB of zeros, a thousandth of that packed, with the right hash."""
    zeros = bytes(1 << 20)
    hashed = hashlib.sha256()
    target = tmp_path / "x.zip"
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        with archive.open("book.json", "w", force_zip64=True) as out:
            for _ in range(300):
                out.write(zeros)
                hashed.update(zeros)
        manifest = json.loads(read(packages / "e.zip")["manifest.json"])
        manifest["members"] = {"book.json": {"bytes": 300 << 20, "sha256": hashed.hexdigest()}}
        archive.writestr("manifest.json", json.dumps(manifest))
    assert "far more" in refusal(other, target).message


def test_a_bomb_that_lies_about_its_length_is_refused(
    packages: Path, other: Studio, tmp_path: Path
) -> None:
    good = read(packages / "e.zip")
    bomb = {**good, "book.json": bytes(3 << 20)}

    def lie(manifest: dict[str, Any]) -> None:
        manifest["members"]["book.json"]["bytes"] = 1000

    assert "not as long" in refusal(other, forge(tmp_path / "1.zip", bomb, lie)).message
    # And with the lie in the archive's directory as well: as many bytes as said are read.
    source = forge(tmp_path / "2.zip", bomb, lie)
    data = bytearray(source.read_bytes())
    directory = data.rindex(b"PK\x01\x02", 0, data.rindex(b"book.json"))
    data[directory + 24 : directory + 28] = (1000).to_bytes(4, "little")
    source.write_bytes(data)
    assert "damaged" in refusal(other, source).message


def test_more_than_the_disk_holds_is_refused(
    packages: Path, other: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Little:
        free = 1000

    monkeypatch.setattr(shutil, "disk_usage", lambda _path: Little)
    assert "free space" in refusal(other, packages / "b.zip").message


# --- manifests -------------------------------------------------------------

FIELDS = (
    "format", "version", "program", "schema", "made_at", "last_change", "rows", "missing",
    "members",
)  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [b"", b"[]", b"null", b"[" * 100_000, b'{"format": 1}', b"\xff\xfe", b'"' + b"x" * 1000 + b'"',
     b'{"version":' + b"9" * 10_000 + b"}", b"nan"],
    ids=range(9),
)  # fmt: skip
def test_a_manifest_that_is_none_is_refused(text: bytes) -> None:
    with pytest.raises(ValueError):  # noqa: PT011 what JSON raises differs
        package.Manifest.from_json(text)


@pytest.mark.long
@settings(max_examples=150)
@given(field=st.sampled_from(FIELDS), value=JSON)
@example("version", 2)
@example("version", True)
@example("members", {"book.db": {"bytes": -1, "sha256": ""}})
@example("made_at", "0001-01-01T00:00:00+14:00")
def test_any_manifest_is_read_or_refused(field: str, value: Any) -> None:
    manifest = package.Manifest("1", "0006", NOW, None, {"client": 1}, [], {})
    said = {**json.loads(manifest.to_json()), field: value}
    try:
        read_back = package.Manifest.from_json(json.dumps(said).encode())
    except (ValueError, BadInput):
        return
    assert json.loads(read_back.to_json()) == said or field == "made_at" or field == "last_change"


@pytest.mark.parametrize("revision", ["9999", "0", "", "../..", "0006'; DROP", "🪵"])
def test_a_schema_that_is_not_known_is_refused(
    packages: Path, other: Studio, tmp_path: Path, revision: str
) -> None:
    good = read(packages / "e.zip")
    head, _, rest = good["book.json"].partition(b"\n")
    forged = head.replace(
        json.dumps(migrate.newest_version()).encode(), json.dumps(revision).encode()
    )
    assert forged != head

    def say(manifest: dict[str, Any]) -> None:
        manifest["schema"] = revision

    members = {**good, "book.json": forged + b"\n" + rest}
    refusal(other, forge(tmp_path / "x.zip", members, say))


# --- a book with something else in it --------------------------------------


@books.about_files
@pytest.mark.parametrize(
    "script",
    [
        "CREATE TRIGGER evil AFTER INSERT ON client BEGIN DELETE FROM payment; END",
        "CREATE VIEW evil AS SELECT 1",
        "CREATE VIRTUAL TABLE evil USING fts5(x)",
        "DROP TABLE alembic_version",
        "UPDATE alembic_version SET version_num = '0042'",
        "UPDATE alembic_version SET version_num = '0004'",
        "DELETE FROM session_interval",
        "DROP TABLE session_interval",
        "CREATE TABLE evil (x)",
    ],
)
def test_a_forged_book_is_refused(
    packages: Path, other: Studio, tmp_path: Path, script: str
) -> None:
    good = read(packages / "b.zip")
    (tmp_path / "book.db").write_bytes(good["book.db"])
    with closing(sqlite3.connect(tmp_path / "book.db")) as raw, raw:
        raw.execute(script)
    (tmp_path / "studio").mkdir()
    source = forge(tmp_path / "x.zip", {**good, "book.db": (tmp_path / "book.db").read_bytes()})
    refusal(other, source)
