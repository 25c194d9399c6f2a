"""Photos kept as they came: their bytes once, and one record of each in the book."""

import io
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned_line
from burnplan.desk.studio.studio import Studio
from burnplan.ledger import originals
from burnplan.ledger.models import Original

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt


def keep(studio: Studio, path: Path) -> Original:
    """Store a photo's bytes, and return a record of it that is in no book yet.

    Raises
    ------
    BadInput
        If it is missing or not a photo.
    """
    from burnplan.tone.photo import look  # brings numpy

    width, height = look(path).size
    data = path.read_bytes()
    return Original(
        sha256=keep_bytes(studio, data),
        filename=cleaned_line(path.name)[:255],
        bytes=len(data),
        width_px=width,
        height_px=height,
        added_at=studio.now(),
    )


def keep_picture(
    studio: Studio, pixels: "npt.NDArray[np.uint8]", name: str, quality: int
) -> Original:
    """Store a picture of shape (H, W, 3) as JPEG; its record is in no book yet."""
    from PIL import Image

    file = io.BytesIO()
    Image.fromarray(pixels).save(file, "JPEG", quality=quality, subsampling=0)
    height, width = pixels.shape[:2]
    return Original(
        sha256=keep_bytes(studio, file.getvalue()),
        filename=cleaned_line(f"{name}.jpg")[-255:],
        bytes=len(file.getvalue()),
        width_px=int(width),
        height_px=int(height),
        added_at=studio.now(),
    )


def path_of(studio: Studio, kept: Original) -> Path:
    """Return the file of what is kept, verified."""
    return originals.fetch(studio.originals, kept.sha256)


def keep_font(studio: Studio, name: str, data: bytes) -> Original:
    """Store a font's bytes, and return a record of it that is in no book yet."""
    return Original(
        sha256=keep_bytes(studio, data),
        filename=cleaned_line(name)[:255],
        bytes=len(data),
        width_px=0,
        height_px=0,
        added_at=studio.now(),
    )


def keep_bytes(studio: Studio, data: bytes) -> str:
    """Store bytes and return their name; not before there is a book.

    Photos without one are what is left of a studio that has lost it.
    """
    studio.open()
    return originals.keep(studio.originals, data)


def record_mask(studio: Studio, book: Session, sha256: str) -> None:
    """Put a kept mask on record: backups, exports and checks then have it, as they have photos."""
    from burnplan.tone.photo import look  # brings numpy

    if book.get(Original, sha256) is not None:
        return
    path = originals.fetch(studio.originals, sha256)
    width, height = look(path).size
    book.add(
        Original(
            sha256=sha256,
            filename="mask.png",
            bytes=path.stat().st_size,
            width_px=width,
            height_px=height,
            added_at=studio.now(),
        )
    )
    book.flush()


def recorded(book: Session, photo: Original) -> Original:
    """Return the book's record of a photo, which may have come before under another name."""
    found = book.get(Original, photo.sha256)
    if found is None:
        book.add(photo)
        book.flush()
    return found or photo
