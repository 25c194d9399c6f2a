"""Files that are written whole or not at all."""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from burnplan.errors import BadInput, OperationFailed


@dataclass(frozen=True, slots=True)
class Written:
    """A sheet that was written.

    Parameters
    ----------
    path : Path
    pages : int
        0 for a file that has none, such as SVG.
    notes : tuple of str
        What may disappoint, a sentence each.
    """

    path: Path
    pages: int
    notes: tuple[str, ...] = ()


@contextmanager
def written_whole(path: str | os.PathLike[str]) -> Iterator[Path]:
    """Give a name to write to that takes the wanted name only when all went well.

    Raises
    ------
    BadInput
        If the folder does not exist or the path is a folder.
    OperationFailed
        If the file cannot be written; what was there before stays.
    """
    target = Path(path)
    if target.is_dir():
        raise BadInput(f"{target} is a folder", "Give the name of a file in it")
    if not target.parent.is_dir():
        raise BadInput(f"There is no folder {target.parent}", "Make it first")
    unfinished = target.with_name(f".{target.name}.part")
    try:
        yield unfinished
        unfinished.replace(target)
    except OSError as error:
        raise OperationFailed(
            f"{target} cannot be written ({error.strerror or 'disk error'})",
            "Check the folder's permissions and the free space",
        ) from error
    finally:
        with suppress(OSError):  # what went wrong before is what counts
            unfinished.unlink(missing_ok=True)


def make_folder(folder: Path) -> None:
    """Make a folder to write into, if it is not there.

    Raises
    ------
    OperationFailed
        If it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OperationFailed(
            f"Cannot make the folder '{folder}': {error.strerror}", "Choose another one"
        ) from error
