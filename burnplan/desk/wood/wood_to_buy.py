"""Wood for booked work: which blank in stock does for it, and what has to be bought."""

from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.codes import blank_code, commission_code
from burnplan.desk.derived import checklist_progress, hazards_found, piece, woods
from burnplan.desk.studio.studio import Studio
from burnplan.ledger.models import Blank, Commission
from burnplan.outline import Outline, OutlineKind
from burnplan.reckon.stages import Stage
from burnplan.view import View


class NeedView(View):
    """A booked job without a blank; lengths in mm."""

    code: str
    title: str
    due: date | None
    species: str
    species_name: str
    outline: OutlineKind | None
    size_mm: tuple[float, float] | None
    in_stock: str | None

    def shape(self) -> Outline | None:
        """Return the size as an outline; a live edge by its bounding box."""
        if self.outline is None or self.size_mm is None:
            return None
        live = self.outline is OutlineKind.LIVE_EDGE
        return Outline(OutlineKind.RECTANGLE if live else self.outline, *self.size_mm)


def needed(studio: Studio) -> list[NeedView]:
    """Return the booked jobs that have no blank yet, the earliest due first.

    Each gets the smallest blank in stock that does for it, until there is none.
    """
    with studio.reading() as book:
        open_ones = book.scalars(
            select(Commission).where(Commission.is_open, Commission.blank_id.is_(None))
        )
        booked = [one for one in open_ones if _stage(one) in _NEEDS_WOOD]
        booked.sort(key=lambda one: (one.due_on or date.max, one.id))
        free = _free(book)
        return [_need(book, one, free) for one in booked]


def _stage(commission: Commission) -> Stage:
    return checklist_progress.stage(commission, checklist_progress.of(commission))


# Once burning has begun without a blank on record, the wood is there already.
_NEEDS_WOOD = (Stage.BOOKED, Stage.PREPARED, Stage.TRANSFERRED)


def _free(book: Session) -> list[Blank]:
    """Return the blanks that could be taken, smallest first."""
    query = select(Blank).where(Blank.scrapped_on.is_(None)).order_by(Blank.id)
    free = [
        blank
        for blank in book.scalars(query)
        if blank.commission is None
        and not any(one.blocks for one in hazards_found.of_blank(book, blank))
    ]
    return sorted(free, key=lambda blank: blank.width_mm * blank.height_mm)


def _need(book: Session, job: Commission, free: list[Blank]) -> NeedView:
    key, size = piece.species_of(job), piece.size_of(job)
    fitting = next((blank for blank in free if _does(blank, key, size)), None)
    if fitting is not None:
        free.remove(fitting)
    return NeedView(
        code=commission_code(job.id),
        title=job.title,
        due=job.due_on,
        species=key,
        species_name=woods.on_record(book, key).name if key else "",
        outline=size.kind if size else None,
        size_mm=(size.width_mm, size.height_mm) if size else None,
        in_stock=blank_code(fitting.id) if fitting else None,
    )


def _does(blank: Blank, species: str, size: Outline | None) -> bool:
    """Whether a blank is of the wood, and at least of the size, in its outline or sawn to it."""
    if size is None or (species and blank.species != species):
        return False
    if blank.outline != size.kind and blank.outline != OutlineKind.RECTANGLE:
        return False
    sides, wanted = (
        sorted((blank.width_mm, blank.height_mm)),
        sorted((size.width_mm, size.height_mm)),
    )
    return all(has >= wants for has, wants in zip(sides, wanted, strict=True))
