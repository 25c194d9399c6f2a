"""Photos kept as they came, named by the SHA-256 of their bytes.

The file is written before the row that names it, under its final name only
when complete, and never changed: a crash can leave an unused file, never a
row without its photo.
"""

import hashlib
from pathlib import Path

from burnplan.errors import OperationFailed
from burnplan.files import make_folder, written_whole


def digest(data: bytes) -> str:
    """Return the name a photo's bytes are kept under."""
    return hashlib.sha256(data).hexdigest()


def place(folder: Path, name: str) -> Path:
    """Return where a photo is kept."""
    return folder / name[:2] / name


def keep(folder: Path, data: bytes) -> str:
    """Store bytes, once.

    Returns
    -------
    str
        The SHA-256 in hexadecimal.

    Raises
    ------
    OperationFailed
        If they cannot be written.
    """
    name = digest(data)
    target = place(folder, name)
    if target.exists() and digest(target.read_bytes()) == name:
        return name
    for kept_in in (folder, target.parent):
        make_folder(kept_in, private=True)
    with written_whole(target, private=True, own=True) as unfinished:
        unfinished.write_bytes(data)
    return name


def fetch(folder: Path, name: str) -> Path:
    """Return the path of a photo kept earlier, verified.

    Raises
    ------
    OperationFailed
        If it is missing or no longer what it was.
    """
    path = place(folder, name)
    try:
        intact = digest(path.read_bytes()) == name
    except OSError:
        raise OperationFailed(
            f"The photo {path} is missing or unreadable", "Add the reference again from your photo"
        ) from None
    if not intact:
        raise OperationFailed(
            f"The photo {path} is damaged", "Add the reference again from your photo"
        )
    return path
