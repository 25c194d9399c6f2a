"""Files and folders that are written whole or not at all, for their owner's eyes only."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from burnplan.errors import BadInput, OperationFailed
from burnplan.ledger.engine import make_private

UNFINISHED = ".part"


@contextmanager
def written_whole(target: Path, *, folder: bool = False) -> Iterator[Path]:
    """Give a temporary name beside a file; it takes the file's place when all went well.

    Parameters
    ----------
    target : Path
        What is there already is replaced if it is a file.
    folder : bool
        Whether to make a folder instead of a file.

    Raises
    ------
    BadInput
        If it is a folder itself, or there is none to write in.
    OperationFailed
        If it cannot be written; what was there before stays.
    """
    if target.is_dir() and not folder:
        raise BadInput(f"'{target}' is a folder", "Give the name of a file in it")
    if not target.parent.is_dir():
        raise BadInput(f"There is no folder '{target.parent}'", "Make it first")
    unfinished: Path | None = None
    try:
        unfinished = _temporary(target, folder)
        yield unfinished
        if not folder:
            make_private(unfinished)
            _to_disk(unfinished)
        unfinished.replace(target)
        _to_disk(target.parent)
    except OSError as error:
        raise OperationFailed(
            f"'{target}' cannot be written: {error.strerror or error}",
            "Check the folder's permissions and the free space",
        ) from error
    finally:
        if unfinished is not None:
            discard(unfinished)


def _temporary(target: Path, folder: bool) -> Path:
    prefix = f".{target.name[:40]}-"
    if folder:
        return Path(tempfile.mkdtemp(UNFINISHED, prefix, target.parent))
    handle, name = tempfile.mkstemp(UNFINISHED, prefix, target.parent)
    os.close(handle)
    return Path(name)


def _to_disk(path: Path) -> None:
    """Wait until a file, or the names in a folder, would survive a power cut."""
    if os.name == "nt" and path.is_dir():
        return  # Windows cannot open a folder
    handle = os.open(path, os.O_RDONLY)
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
