"""Files and folders that are written whole or not at all."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from burnplan.errors import BadInput, OperationFailed

UNFINISHED = ".part"


@contextmanager
def written_whole(
    path: str | os.PathLike[str], *, folder: bool = False, private: bool = False
) -> Iterator[Path]:
    """Give a temporary name beside a file; it takes the file's place when all went well.

    Parameters
    ----------
    path : path
        What is there already is replaced if it is a file.
    folder : bool
        Whether to make a folder instead of a file.
    private : bool
        Whether only its owner may read it, from its first byte on.

    Yields
    ------
    Path
        Empty, and there already.

    Raises
    ------
    BadInput
        If it is a folder itself, or there is none to write in.
    OperationFailed
        If it cannot be written; what was there before stays.
    """
    target = Path(path)
    try:
        if target.is_dir() and not folder:
            raise BadInput(f"'{target}' is a folder", "Give the name of a file in it")
        if not target.parent.is_dir():
            raise BadInput(f"There is no folder '{target.parent}'", "Make it first")
        # Others may be writing the same; a long name must not become too long.
        unfinished = target.with_name(f".{target.name[:40]}-{os.urandom(4).hex()}{UNFINISHED}")
    except OSError as error:  # a name that is too long to be looked up
        raise _not_written(target, error) from error
    except ValueError:  # no name at all, like that of the root
        raise BadInput(f"'{target}' is no name", "Give it a name of its own") from None
    try:
        if folder:
            unfinished.mkdir(0o700 if private else 0o777)
        else:
            unfinished.touch(0o600 if private else 0o666, exist_ok=False)
        yield unfinished
        if not folder:
            _to_disk(unfinished)
        unfinished.replace(target)
        with suppress(OSError):  # it is in its place; not every file system can do more
            _to_disk(target.parent)
    except OSError as error:
        raise _not_written(target, error) from error
    finally:
        discard(unfinished)


def _not_written(target: Path, error: OSError) -> OperationFailed:
    return OperationFailed(
        f"'{target}' cannot be written: {error.strerror or error}",
        "Check its name, the folder's permissions and the free space",
    )


def _to_disk(path: Path) -> None:
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
        folder.mkdir(0o700 if private else 0o777, parents=True, exist_ok=True)
    except OSError as error:
        raise OperationFailed(
            f"Cannot make the folder '{folder}': {error.strerror}",
            "Check the folder it is to be in",
        ) from error


def make_private(path: Path) -> None:
    """Let only the owner read a file or folder: clients' addresses live here."""
    os.chmod(path, 0o700 if path.is_dir() else 0o600)  # noqa: PTH101 follows the name given
