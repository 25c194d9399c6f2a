"""Lettering on record, as it is set and laid: with the fonts that it is set in."""

from collections.abc import Iterable
from pathlib import Path

from burnplan.errors import OperationFailed
from burnplan.ledger import originals
from burnplan.ledger.models import Lettering
from burnplan.lettering.laying import At, Course, Inscription
from burnplan.lettering.typefaces import STAND_INS, Typeface, opened, shipped


def of_rows(rows: Iterable[Lettering], folder: Path) -> tuple[Inscription, ...]:
    """Return lettering on record, ready to be laid.

    Parameters
    ----------
    rows : iterable of Lettering
    folder : Path
        Of the originals.

    Raises
    ------
    OperationFailed
        If a font kept is missing or damaged.
    """
    return tuple(_of_row(row, folder) for row in rows)


def _of_row(row: Lettering, folder: Path) -> Inscription:
    return Inscription(
        lines=tuple(row.text.split("\n")),
        typefaces=with_stand_ins(_typeface(row, folder)),
        height_mm=row.height_mm,
        at=At(row.at),
        middle_mm=None if row.x_mm is None or row.y_mm is None else (row.x_mm, row.y_mm),
        course=Course(row.course),
        radius_mm=row.radius_mm,
        filled=row.filled,
        darkness=row.darkness,
        clear_mm=row.clear_mm,
    )


def _typeface(row: Lettering, folder: Path) -> Typeface:
    if row.font is None:
        return shipped(row.face)
    try:
        kept = originals.fetch(folder, row.font.sha256)
    except OperationFailed:
        raise OperationFailed(
            f"The font {row.font.filename} of '{row.text.splitlines()[0]}' is missing or damaged",
            "Change that lettering, and give its font again",
        ) from None
    return opened(kept, row.font.filename)


def with_stand_ins(chosen: Typeface) -> tuple[Typeface, ...]:
    """Return a typeface, and those that stand in for scripts that it lacks."""
    return (chosen, *(shipped(name) for name in STAND_INS if name != chosen.name))
