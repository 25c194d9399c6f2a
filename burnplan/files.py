"""Files and folders that are written whole or not at all, and over nothing unasked."""

import os
import re
import shutil
import stat
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from dataclasses import dataclass
from pathlib import Path

from burnplan.errors import BadInput, NotAllowed, OperationFailed
from burnplan.sentences import Do

UNFINISHED = ".part"


def given_path(text: str) -> Path:
    """Return the path that a person typed, with ``~`` for a home.

    Raises
    ------
    BadInput
        If nobody of that name is at home here.
    """
    try:
        return Path(text).expanduser()
    except RuntimeError:
        raise BadInput(f"There is no home of the name in '{text}'", "Write the path out") from None


def refuse_what_is_no_file(path: Path) -> None:
    """Refuse to read what never ends or never begins: a device, a pipe, a socket.

    Raises
    ------
    BadInput
        If it is there, and neither a file nor a folder.
    """
    if os.path.exists(path) and not (os.path.isfile(path) or os.path.isdir(path)):  # noqa: PTH110, PTH112, PTH113 a name too long is not there
        raise BadInput(f"'{path}' is not an ordinary file", "Name one")


# --- what is there already -----------------------------------------------------------------


class WouldReplace(NotAllowed):
    """Something else is where a file is to be written, and nobody said that it may go."""

    def __init__(self, path: Path) -> None:
        super().__init__(
            f"'{path}' is there already", "Name another file, or add ", Do("file.replace")
        )
        self.path = path


@dataclass(frozen=True, slots=True)
class _Rule:
    """What may be written over: ``may_go`` is asked, and what is ``kept`` never is."""

    may_go: Callable[[Path], bool] = lambda _path: False
    kept: Callable[[Path], bool] = lambda _path: False


_NOBODY_AGREES = _Rule()
# Who writes a sheet does not know who is there to be asked; until somebody says, nobody is.
_rule: ContextVar[_Rule] = ContextVar("_rule", default=_NOBODY_AGREES)


@contextmanager
def replacing(
    may_go: Callable[[Path], bool], kept: Callable[[Path], bool] = lambda _path: False
) -> Iterator[None]:
    """Say what the files written meanwhile may be written over.

    Parameters
    ----------
    may_go : callable
        Asked whether a file may be replaced that is not an earlier one of the same.
    kept : callable
        Whether a file may never be, whoever agrees.
    """
    before = _rule.set(_Rule(may_go, kept))
    try:
        yield
    finally:
        _rule.reset(before)


# What burnplan says of itself, and of what is in them, in files made anew as often as one
# likes: the facts of a PDF, the texts of a PNG, the heads of a drawing, a page and a calendar. A
# table has no place for it, and a backup is one of a kind.
_LABELS = tuple(
    re.compile(pattern, re.DOTALL)
    for pattern in (
        rb"/Author \(.{0,2000}?/Creator \(burnplan\).{0,4000}?/Trapped",
        rb"Title\0.{1,1000}?Software\0burnplan",
        rb"\A<\?xml [^>]*>\n<svg [^>\n]*>\n<title>[^<]*</title>\n<metadata>burnplan</metadata>",
        rb"\A<!DOCTYPE html>\n<!-- burnplan: [^>\n]* -->",
        rb"\ABEGIN:VCALENDAR\r\n.{0,100}?PRODID:-//burnplan//.{0,1000}?X-WR-CALNAME:[^\n]*",
    )
)
_LARGEST_LABELLED = 256 << 20


def label(path: Path) -> bytes | None:
    """Return what burnplan wrote into a file about what it is; None for any other file."""
    try:
        if not path.is_file() or path.stat().st_size > _LARGEST_LABELLED:
            return None
        data = path.read_bytes()
    except OSError:
        return None
    if data.count(b"%%EOF") > 1:  # somebody wrote on the page since
        return None
    found = (pattern.search(data) for pattern in _LABELS)
    return next((one[0] for one in found if one is not None), None)


def _settled(target: Path, new: Path | None = None) -> bool:
    """Return whether it is settled that what is there may go.

    It is not yet where nothing is there, or where that hangs on what the new one is.

    Raises
    ------
    WouldReplace
        If it may not.
    """
    if not os.path.lexists(target):
        return False
    there = label(target)
    if there is not None and (new is None or label(new) == there):
        return False
    if not _rule.get().may_go(target):
        raise WouldReplace(target)
    return True


# --- writing -------------------------------------------------------------------------------


@contextmanager
def written_whole(
    path: str | os.PathLike[str], *, folder: bool = False, private: bool = False, own: bool = False
) -> Iterator[Path]:
    """Give a temporary name beside a file; it takes the file's place when all went well.

    An earlier one of the same that burnplan wrote is replaced; any other file only
    if those who were named by :func:`replacing` agree.

    Parameters
    ----------
    path : path
    folder : bool
        Whether to make a folder instead of a file.
    private : bool
        Whether only its owner may read it, from its first byte on.
    own : bool
        Whether it is one of the studio's own files, which nobody else names.

    Yields
    ------
    Path
        Empty, and there already.

    Raises
    ------
    BadInput
        If it is no file itself, or there is no folder to write in.
    WouldReplace, NotAllowed
        If something else is there that must stay.
    OperationFailed
        If it cannot be written; what was there before stays.
    """
    target = Path(path)
    try:
        if target.is_dir() and not folder:
            raise BadInput(f"'{target}' is a folder", "Give the name of a file in it")
        if not target.parent.is_dir():
            raise BadInput(f"There is no folder '{target.parent}'", "Make it first")
        if not own:
            _refuse_place(target, folder)
        settled = own or folder or _settled(target)
        # Others may be writing the same; a long name must not become too long.
        unfinished = target.with_name(f".{target.name[:40]}-{os.urandom(4).hex()}{UNFINISHED}")
    except OSError as error:  # a name that is too long to be looked up
        raise not_written(target, error) from error
    except ValueError:  # no name at all, like that of the root
        raise BadInput(f"'{target}' is no name", "Give it a name of its own") from None
    try:
        if folder:
            unfinished.mkdir(0o700 if private else 0o777)
        else:
            unfinished.touch(0o600 if private else 0o666, exist_ok=False)
        if own and private:
            make_private(unfinished)
        yield unfinished
        for part in unfinished.rglob("*") if folder else [unfinished]:
            if part.is_file():
                to_disk(part)
        if not settled:
            _settled(target, unfinished)
        unfinished.replace(target)
        with suppress(OSError):  # it is in its place; not every file system can do more
            to_disk(target.parent)
    except OSError as error:
        raise not_written(target, error) from error
    finally:
        discard(unfinished)


def _refuse_place(target: Path, folder: bool) -> None:
    """Refuse to write where the studio keeps its own, or where no file can be."""
    if os.path.lexists(target) and not (target.is_file() or target.is_symlink() or folder):
        raise BadInput(f"'{target}' is not a file", "Name one")
    if _rule.get().kept(target):
        raise NotAllowed(
            f"'{target}' is where burnplan keeps its own", "Name a file in another folder"
        )


def not_written(target: Path, error: OSError) -> OperationFailed:
    """Return in words that a file cannot be written."""
    return OperationFailed(
        f"'{target}' cannot be written: {error.strerror or error}",
        "Check its name, the folder's permissions and the free space",
    )


def to_disk(path: Path) -> None:
    """Wait until a file, or the names in a folder, would survive a power cut."""
    # Windows wants the right to write, and opens no folder.
    handle = os.open(path, os.O_RDWR if path.is_file() else os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def discard(path: Path) -> None:
    """Remove a temporary file or folder if it is still there, without complaint."""
    if path.is_dir():
        shutil.rmtree(path, ignore_errors=True)
    else:
        with suppress(OSError):
            path.unlink(missing_ok=True)


def make_folder(folder: Path, *, private: bool = False) -> None:
    """Make a folder to write into, and those around it, if it is not there.

    Private is the folder itself, if it is made here.

    Raises
    ------
    OperationFailed
        If it cannot be made.
    """
    try:
        new = not folder.exists()
        folder.mkdir(0o700 if private else 0o777, parents=True, exist_ok=True)
        if new and private:
            make_private(folder)
    except OSError as error:
        raise OperationFailed(
            f"Cannot make the folder '{folder}': {error.strerror}",
            "Check the folder it is to be in",
        ) from error


def make_way(folder: Path) -> None:
    """Give whatever is in the place of a folder another name, unless it is one."""
    if os.path.lexists(folder) and not folder.is_dir():
        folder.rename(folder.with_name(f"{folder.name}-aside-{os.urandom(4).hex()}"))


def make_private(path: Path) -> None:
    """Let only the owner, or those whose folder it is in, read a file or folder.

    Clients' addresses live here. A folder is its group's where the group may do all in
    it and what is made in it is the group's too (``chmod 2770``): so a studio that shares
    a machine sets up its home.
    """
    shared = _is_the_groups(path.parent)
    mode = (0o2770 if shared else 0o700) if path.is_dir() else (0o660 if shared else 0o600)
    if stat.S_IMODE(path.stat().st_mode) != mode:  # else it may be somebody else's
        os.chmod(path, mode)  # noqa: PTH101 follows the name given


def _is_the_groups(folder: Path) -> bool:
    return folder.stat().st_mode & 0o2070 == 0o2070


def is_private(path: Path) -> bool:
    """Return whether nobody can read a file or folder but those of :func:`make_private`."""
    meant = 0o070 if _is_the_groups(path.parent) else 0
    return not path.stat().st_mode & 0o077 & ~meant
