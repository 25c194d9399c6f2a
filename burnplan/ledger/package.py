"""Packages: files with a manifest of their hashes, in a zip archive or a folder.

A backup and an export are packages. What comes from elsewhere is not trusted:
a package is taken only if it holds exactly the members its manifest lists,
each as long as said and with the hash said, under names that burnplan gives.
"""

import hashlib
import json
import re
import stat
import zipfile
import zlib
from collections.abc import Callable, Generator, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager
from dataclasses import asdict, dataclass, field
from datetime import datetime
from pathlib import Path
from typing import IO, Any, Protocol

from burnplan.errors import BadInput, OperationFailed
from burnplan.files import not_written, refuse_what_is_no_file, written_whole
from burnplan.letter_kinds import OWN_LETTERS
from burnplan.progress import Progress, silent

FORMAT, FORMAT_VERSION = "burnplan-package", 1
MANIFEST = "manifest.json"
BOOK, PLAIN_BOOK = "book.db", "book.json"
ORIGINALS = "originals/"

CHUNK = 1 << 20
LARGEST_MANIFEST = 32 << 20
MOST_MEMBERS = 500_000
# Deflate reaches 1032:1 on nothing but zeros; a book of this program stays below 40:1.
MOST_INFLATED = 100
# The years that a zip archive can name, and those that a book is made in.
_YEARS_OF_ZIP = range(1980, 2108)
_YEARS = range(1970, 3000)

_NAMES = re.compile(
    r"book\.db|book\.json|book\.schema\.json|tables/[a-z_]{1,40}\.csv"
    r"|originals/[0-9a-f]{64}(\.[a-z0-9]{1,5})?"
    rf"|{OWN_LETTERS}/[a-z]{{1,20}}(\.[A-Za-z_]{{2,20}})?\.txt"
)


@dataclass(frozen=True, slots=True)
class Member:
    """A file of a package: its length and the SHA-256 of its bytes, in hexadecimal."""

    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a package holds.

    Parameters
    ----------
    program : str
        Version of the burnplan that made it.
    schema : str
        Revision of the book's schema.
    made_at : datetime
    last_change : datetime or None
        The newest entry of the book's history.
    rows : dict
        Number of rows by table.
    missing : list of str
        SHA-256 of originals the book names that could not be packed.
    members : dict
        By name.
    """

    program: str
    schema: str
    made_at: datetime
    last_change: datetime | None
    rows: dict[str, int]
    missing: list[str]
    members: dict[str, Member]

    def to_json(self) -> str:
        """Return it as the text of manifest.json."""
        said = asdict(self)
        said["made_at"] = self.made_at.isoformat()
        said["last_change"] = self.last_change and self.last_change.isoformat()
        return json.dumps({"format": FORMAT, "version": FORMAT_VERSION, **said}, indent=1)

    @classmethod
    def from_json(cls, text: bytes) -> "Manifest":
        """Read it.

        Raises
        ------
        ValueError
            If it is not a manifest.
        BadInput
            If its format is of a newer burnplan.
        """
        try:
            said = json.loads(text)
            if said.pop("format") != FORMAT:
                raise ValueError("another format")
            version = said.pop("version")
            if type(version) is not int or version < 1:
                raise ValueError("no version")
            if version > FORMAT_VERSION:
                raise BadInput("It was made by a newer burnplan", "Install the newest burnplan")
            made_at, last = said.pop("made_at"), said.pop("last_change")
            members = {
                name: Member(**_typed(one, bytes=int, sha256=str))
                for name, one in _typed_dict(said.pop("members"), dict).items()
            }
            _typed_dict(said["rows"], int)
            return cls(
                **_typed(said, program=str, schema=str, rows=dict, missing=list),
                made_at=_moment(made_at),
                last_change=None if last is None else _moment(last),
                members=members,
            )
        except (KeyError, TypeError, AttributeError, RecursionError) as error:
            raise ValueError("not a manifest") from error


def _typed(said: Any, **kinds: type) -> dict[str, Any]:
    """Return an object that has exactly these keys with values of these types."""
    if type(said) is not dict or set(said) != set(kinds):
        raise ValueError("other keys")
    if any(type(said[name]) is not kind for name, kind in kinds.items()):
        raise ValueError("another type")
    return said


def _typed_dict(said: Any, kind: type) -> dict[str, Any]:
    if type(said) is not dict or any(type(value) is not kind for value in said.values()):
        raise ValueError("another type")
    return said


def _moment(text: str) -> datetime:
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None or moment.year not in _YEARS:
        raise ValueError("a moment without a zone, or that nobody lives in")
    return moment


def own_letters(home: Path) -> dict[str, Path]:
    """Return the studio's own templates of letters, by what they are called in a package."""
    found = {f"{OWN_LETTERS}/{path.name}": path for path in (home / OWN_LETTERS).glob("*.txt")}
    return {name: found[name] for name in sorted(found) if _NAMES.fullmatch(name)}


# --- writing ---------------------------------------------------------------


class _Counted:
    """Passes bytes on, with their length and hash."""

    def __init__(self, out: IO[bytes]) -> None:
        self._out, self._hash, self._length = out, hashlib.sha256(), 0

    def write(self, data: bytes) -> None:
        """Write bytes."""
        self._out.write(data)
        self._hash.update(data)
        self._length += len(data)

    def member(self) -> Member:
        """Return what has been written so far."""
        return Member(self._length, self._hash.hexdigest())


class Writes(Protocol):
    """What takes bytes."""

    def write(self, data: bytes) -> None:
        """Write bytes."""


@dataclass(slots=True)
class Packing:
    """A package being written; its manifest goes in last."""

    create: Callable[[str], AbstractContextManager[IO[bytes]]]
    members: dict[str, Member] = field(default_factory=dict)

    @contextmanager
    def member(self, name: str) -> Iterator[Writes]:
        """Open a new member to write in."""
        with self.create(name) as out:
            counted = _Counted(out)
            yield counted
        self.members[name] = counted.member()

    def add(self, name: str, path: Path) -> None:
        """Put a file in as it is."""
        with path.open("rb") as source, self.member(name) as out:
            while chunk := source.read(CHUNK):
                out.write(chunk)

    def finish(self, manifest: Manifest) -> None:
        """Write the manifest, with the members written so far."""
        with self.create(MANIFEST) as out:
            out.write(manifest.to_json().encode())


@contextmanager
def packed(target: Path, *, moment: datetime, own: bool = False) -> Iterator[Packing]:
    """Write a package, and read it again: a zip archive if its name ends so, else a folder.

    Parameters
    ----------
    target : Path
        A folder must not be there, or be empty.
    moment : datetime
        Given to the members of an archive.
    own : bool
        Whether an archive is one of the studio's own files, which nobody else names.

    Raises
    ------
    BadInput, OperationFailed
        As :func:`burnplan.files.written_whole`; the second also if the disk keeps it otherwise.
    """
    if target.suffix.lower() == ".zip":
        stamp = _stamp(moment)
        with written_whole(target, private=True, own=own) as unfinished:
            with zipfile.ZipFile(unfinished, "w", allowZip64=True) as archive:

                def create(name: str) -> AbstractContextManager[IO[bytes]]:
                    info = zipfile.ZipInfo(name, stamp)
                    info.external_attr = (stat.S_IFREG | 0o600) << 16
                    # Photos are compressed already.
                    photo = name.startswith(ORIGINALS)
                    info.compress_type = zipfile.ZIP_STORED if photo else zipfile.ZIP_DEFLATED
                    return archive.open(info, "w", force_zip64=True)

                yield Packing(create)
            _read_back(unfinished, target)
    else:
        with written_whole(target, folder=True, private=True) as unfinished:

            def create(name: str) -> AbstractContextManager[IO[bytes]]:
                path = unfinished / name
                path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
                path.touch(0o600)
                return path.open("wb")

            yield Packing(create)
            _read_back(unfinished, target)


def _stamp(moment: datetime) -> tuple[int, int, int, int, int, int]:
    """Return a moment as an archive can have it, whatever the computer's clock says."""
    year = min(max(moment.year, _YEARS_OF_ZIP[0]), _YEARS_OF_ZIP[-1])
    return year, moment.month, moment.day, moment.hour, moment.minute, moment.second


def _read_back(written: Path, target: Path) -> None:
    """Refuse to call done what a disk did not keep as it was written."""
    try:
        with opened(written) as whole:
            whole.verify()
    except BadInput as error:
        raise OperationFailed(
            f"'{target}' was not kept as it was written, when read again",
            "Nothing was replaced; write it to another disk",
        ) from error


# --- reading ---------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Package:
    """A package whose manifest and members agree; see :func:`opened`."""

    path: Path
    manifest: Manifest
    open_member: Callable[[str], AbstractContextManager[IO[bytes]]]

    def chunks(self, name: str) -> Generator[bytes]:
        """Read a member, a chunk at a time; what has been read is right only at the end.

        Raises
        ------
        BadInput
            If it is not as the manifest says.
        """
        said, seen, found = self.manifest.members[name], 0, hashlib.sha256()
        with _damage_told(self.path), self.open_member(name) as source:
            while chunk := source.read(CHUNK):
                seen += len(chunk)
                if seen > said.bytes:
                    raise _refused(self.path, f"'{name}' is longer than its manifest says")
                found.update(chunk)
                yield chunk
        if seen != said.bytes or found.hexdigest() != said.sha256:
            raise _refused(self.path, f"'{name}' is damaged")

    def verify(self, on_progress: Progress = silent) -> None:
        """Read every member and compare it with the manifest.

        Raises
        ------
        BadInput
            If one is not as the manifest says.
        """
        whole = sum(member.bytes for member in self.manifest.members.values()) or 1
        done = 0
        for name in self.manifest.members:
            for chunk in self.chunks(name):
                done += len(chunk)
                on_progress(done / whole, "verifying")

    def extract(self, name: str, target: Path) -> None:
        """Write a member to a file, verified.

        Raises
        ------
        BadInput
            If it is not as the manifest says.
        OperationFailed
            If it cannot be written.
        """
        try:
            with target.open("wb") as out:
                for chunk in self.chunks(name):
                    out.write(chunk)
        except OSError as error:
            raise not_written(target, error) from error

    def originals(self) -> dict[str, str]:
        """Return the members that are originals, by SHA-256."""
        return {
            name.removeprefix(ORIGINALS)[:64]: name
            for name in self.manifest.members
            if name.startswith(ORIGINALS)
        }


def _refused(path: Path, why: str) -> BadInput:
    return BadInput(
        f"'{path.name or path}' is not used: {why}",
        "Nothing was changed; use another backup or export",
    )


@contextmanager
def _damage_told(path: Path) -> Iterator[None]:
    """Turn whatever a broken archive makes zipfile raise into one clear line."""
    try:
        yield
    except (
        zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, ValueError, OverflowError,
    ) as error:  # fmt: skip
        raise _refused(path, "it is damaged, or not of burnplan's making") from error
    except OSError as error:
        raise BadInput(
            f"'{path}' cannot be read: {error.strerror or error}", "Check its name"
        ) from error


@contextmanager
def opened(path: Path) -> Iterator[Package]:
    """Open a package, in an archive or a folder, and check what it says it holds.

    The members themselves are verified as they are read.

    Raises
    ------
    BadInput
        If it is not a package that can be used.
    """
    with ExitStack() as open_until_done:
        refuse_what_is_no_file(path)
        with _damage_told(path):
            if path.is_dir():
                sizes, open_member = _of_folder(path)
            else:
                archive = open_until_done.enter_context(zipfile.ZipFile(path))
                sizes, open_member = _of_archive(path, archive), archive.open
            if MANIFEST not in sizes:
                raise _refused(path, "it has no manifest")
            if sizes[MANIFEST] > LARGEST_MANIFEST:
                raise _refused(path, "its manifest is too large")
            with open_member(MANIFEST) as source:
                text = source.read(LARGEST_MANIFEST)
            # One object a member, and a few more: else reading it would take all memory.
            if text.count(b"{") + text.count(b"[") > len(sizes) + 8:
                raise _refused(path, "its manifest is not of burnplan's making")
            manifest = Manifest.from_json(text)
        sizes.pop(MANIFEST)
        _check_members(path, manifest, sizes)
        yield Package(path, manifest, open_member)


def _of_archive(path: Path, archive: zipfile.ZipFile) -> dict[str, int]:
    """Return the members' declared lengths, having refused what is not a plain file."""
    sizes: dict[str, int] = {}
    for info in archive.infolist():
        kind = stat.S_IFMT(info.external_attr >> 16)
        if info.filename.endswith("/") or kind not in (0, stat.S_IFREG):
            raise _refused(path, f"{info.filename!a} is not a plain file")
        if info.filename in sizes:
            raise _refused(path, f"{info.filename!a} is in it twice")
        if info.flag_bits & 1:
            raise _refused(path, f"{info.filename!a} is encrypted")
        sizes[info.filename] = info.file_size
    return sizes


def _of_folder(
    folder: Path,
) -> tuple[dict[str, int], Callable[[str], AbstractContextManager[IO[bytes]]]]:
    sizes = {}
    for found in sorted(folder.rglob("*")):
        name = found.relative_to(folder).as_posix()
        if found.is_symlink() or not (found.is_dir() or found.is_file()):
            raise _refused(folder, f"{name!a} is not a plain file")
        if found.is_file():
            sizes[name] = found.stat().st_size
    return sizes, lambda name: (folder / name).open("rb")


def _check_members(path: Path, manifest: Manifest, sizes: dict[str, int]) -> None:
    """Refuse members that are not burnplan's, missing, extra, or of impossible length."""
    if len(sizes) > MOST_MEMBERS:
        raise _refused(path, "it has too many members")
    for name in (*sizes, *manifest.members):
        if not _NAMES.fullmatch(name):
            raise _refused(path, f"{name[:80]!a} is no name that burnplan gives")
    if extra := sizes.keys() - manifest.members.keys():
        raise _refused(path, f"its manifest does not list '{min(extra)}'")
    if lacking := manifest.members.keys() - sizes.keys():
        raise _refused(path, f"'{min(lacking)}' is missing")
    for name, said in manifest.members.items():
        if said.bytes != sizes[name]:
            raise _refused(path, f"'{name}' is not as long as its manifest says")
        if name.startswith(ORIGINALS) and not name[len(ORIGINALS) :].startswith(said.sha256):
            raise _refused(path, f"'{name}' is not named by its hash")
    whole = sum(sizes.values())
    if path.is_file() and whole > MOST_INFLATED * path.stat().st_size:
        raise _refused(path, "it would unpack to far more than a book can hold")
