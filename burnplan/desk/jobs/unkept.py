"""How a photo was laid out while it is not planned: beside the book, so that no crash loses it.

It is no fact of the book: nothing is reckoned by it, and it goes once the work is planned or
the photo is left as it was. What of it cannot be read is taken for none.
"""

import hashlib
import json
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from burnplan.desk.jobs.layouts import Layout
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BurnplanError
from burnplan.files import discard, make_folder, written_whole


@dataclass(frozen=True, slots=True)
class Unkept:
    """How a photo was laid out.

    Parameters
    ----------
    layout : Layout
    zones : int
    new : Path or None
        A photo that the commission does not have yet.
    at : datetime
        When, aware.
    """

    layout: Layout
    zones: int
    new: Path | None
    at: datetime


def _place(studio: Studio, code: str) -> Path:
    """Return the file of a commission: one for each who sits at a book that is shared."""
    who = hashlib.sha256(studio.author.encode()).hexdigest()[:8]
    return studio.home / "unkept" / f"{code}-{who}.json"


def put(studio: Studio, code: str, layout: Layout, zones: int, new: Path | None) -> None:
    """Put down how a commission's photo is laid out now.

    Raises
    ------
    OperationFailed
        If it cannot be written.
    """
    path = _place(studio, code)
    make_folder(path.parent, private=True)
    plain = {
        "layout": layout.to_dict(), "zones": zones, "new": new and str(new.absolute()),
        "at": studio.now().isoformat(),
    }  # fmt: skip
    with written_whole(path, private=True, own=True) as unfinished:
        unfinished.write_text(json.dumps(plain), encoding="utf-8")


def of(studio: Studio, code: str) -> Unkept | None:
    """Return how a commission's photo was laid out last, where that was never planned."""
    try:
        plain = json.loads(_place(studio, code).read_text(encoding="utf-8"))
        return Unkept(
            Layout.from_dict(plain["layout"]),
            int(plain["zones"]),
            Path(plain["new"]) if plain["new"] else None,
            datetime.fromisoformat(plain["at"]),
        )
    except (OSError, ValueError, LookupError, TypeError, AttributeError, BurnplanError):
        return None


def drop(studio: Studio, code: str) -> None:
    """Forget it: it was planned, or left."""
    with suppress(OSError):
        discard(_place(studio, code))
