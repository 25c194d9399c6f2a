"""The piece a commission comes to: its size, its wood, and the work that it takes.

What was measured of the photo is on record; the wood's hardness, the sanding and the
coats are those of today, so that a plan never keeps what has changed since.
"""

from sqlalchemy.orm import Session

from burnplan.desk.derived import woods
from burnplan.ledger.models import Blank, Commission
from burnplan.outline import Outline, OutlineKind
from burnplan.reckon import checklist
from burnplan.reckon.work import WorkPlan
from burnplan.wood import grits


def size_of(commission: Commission) -> Outline | None:
    """Return the size of a commission: that of its blank, else the one asked for."""
    source: Blank | Commission = commission.blank or commission
    if source.outline is None or source.width_mm is None or source.height_mm is None:
        return None
    corners = tuple((x, y) for x, y in commission.blank.points or ()) if commission.blank else ()
    return Outline(OutlineKind(source.outline), source.width_mm, source.height_mm, corners)


def species_of(commission: Commission) -> str:
    """Return the species key of a commission: that of its blank, else the one asked for."""
    return commission.blank.species if commission.blank else commission.species or ""


def sanding_left(blank: Blank | None) -> tuple[grits.Sanding, ...]:
    """Return the sanding left to do on a blank; all of it where none is chosen."""
    return grits.left_after([row.grit for row in blank.sandings] if blank else [])


def work_plan(book: Session, commission: Commission) -> WorkPlan:
    """Return the work of a commission that has a reference.

    Sanding and coats are counted from its checklist, done and to do: what a blank was
    sanded before it came is not part of the job.
    """
    measured = WorkPlan.from_dict(commission.references[-1].plan)
    wood = woods.on_record(book, species_of(commission) or measured.species)
    keys = [step.key for step in commission.steps]
    return measured._replace(
        hardness_lbf=wood.hardness_lbf,
        sandings=sum(map(checklist.is_sanding, keys)),
        coats=sum(map(checklist.is_coat, keys)),
    )
