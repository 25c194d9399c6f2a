"""Which blank a job is made on: held for it, released, given up for another.

A job takes the size and the wood of its blank: its plan is made again with it.
"""

from burnplan.codes import blank_code, commission_code
from burnplan.desk.derived import checklist, piece
from burnplan.desk.jobs import references
from burnplan.desk.jobs.estimates import OnProgress
from burnplan.desk.studio.lookup import find_blank, find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, hazards
from burnplan.desk.wood.blanks import BlankView
from burnplan.errors import NotAllowed
from burnplan.ledger.models import Blank, Commission
from burnplan.sentences import Do
from burnplan.view import View


class Undone(View):
    """What holding a blank for a job changes: its size before, and the steps it undoes."""

    size_before: tuple[float, float] | None
    size: tuple[float, float]
    steps: list[str]


def _refuse(blank: Blank, commission: Commission) -> None:
    code = blank_code(blank.id)
    state = blanks.state_of(blank)
    if state != "in stock":
        held = f" for {commission_code(blank.commission.id)}" if blank.commission else ""
        raise NotAllowed(f"{code} is {state}{held}", "Choose one that is in stock")
    if not commission.is_open:
        raise NotAllowed(f"{commission_code(commission.id)} is closed", "Choose an open one")
    if commission.blank is not None:
        raise NotAllowed(
            f"{commission_code(commission.id)} has {blank_code(commission.blank.id)} already",
            "Release that one first: ",
            Do("blank.release", blank=blank_code(commission.blank.id)),
        )


def beforehand(studio: Studio, which: str, commission_text: str) -> Undone:
    """Return what holding a blank for a job would change."""
    with studio.reading() as book:
        blank, commission = find_blank(book, which), find_commission(book, commission_text)
        size = piece.size_of(commission)
        other = size is not None and (size.width_mm, size.height_mm) != (
            blank.width_mm,
            blank.height_mm,
        )
        return Undone(
            size_before=(size.width_mm, size.height_mm) if size and other else None,
            size=(blank.width_mm, blank.height_mm),
            steps=[step.text for step in checklist.undone_by(commission, other_blank=True)],
        )


def hold(
    studio: Studio,
    which: str,
    commission_text: str,
    *,
    override: str | None = None,
    reopen: bool = False,
    on_progress: OnProgress | None = None,
) -> BlankView:
    """Hold a blank for a commission, which takes its size and species.

    Parameters
    ----------
    studio : Studio
    which, commission_text : str
    override : str, optional
        Why a hazard that blocks the blank is set aside for this job.
    reopen : bool
        Open the steps again that another blank undoes: sanding, transfer.
    on_progress : callable, optional
        Told of the plan that is made again.

    Raises
    ------
    NotAllowed
        If either is taken or closed, or the blank must not be burned.
    BadInput
        If there is nothing to override.
    """
    with studio.reading() as book:
        blank, commission = find_blank(book, which), find_commission(book, commission_text)
        _refuse(blank, commission)
        outline, species = piece.outline_of(blank), blank.species
        code = commission_code(commission.id)
    plan = references.plan_for(studio, code, outline, species, on_progress)
    with studio.writing("blank.hold") as (book, entry):
        blank, commission = find_blank(book, which), find_commission(book, code)
        _refuse(blank, commission)
        aside = hazards.pass_or_refuse(book, blank, commission, override, studio.now())
        if reopen:
            checklist.reopen(checklist.undone_by(commission, other_blank=True))
        commission.blank = blank
        if plan is not None:
            plan.put(studio, book, commission)
        said = f"Held {blank_code(blank.id)} for '{commission.title}'"
        entry.says(f"{said}; {aside}" if aside else said, commission.id)
    return blanks.show(studio, blank_code(blank.id))


def release(studio: Studio, which: str, on_progress: OnProgress | None = None) -> BlankView:
    """Let a blank go back to stock; the job is of the size and the wood asked for again.

    Raises
    ------
    NotAllowed
        If it is not held.
    """
    with studio.reading() as book:
        commission = _held_for(find_blank(book, which))
        asked_for = piece.asked_for(commission)
        code = commission_code(commission.id)
        species = commission.species
    plan = references.plan_for(studio, code, asked_for, species, on_progress)
    with studio.writing("blank.release") as (book, entry):
        blank = find_blank(book, which)
        commission = _held_for(blank)
        if commission.outline is None:
            commission.outline, commission.width_mm = blank.outline, blank.width_mm
            commission.height_mm = blank.height_mm
        if commission.species is None:
            commission.species = blank.species
        commission.blank = None
        if plan is not None:
            plan.put(studio, book, commission)
        entry.says(f"Released {blank_code(blank.id)} from '{commission.title}'", commission.id)
    return blanks.show(studio, blank_code(blank.id))


def _held_for(blank: Blank) -> Commission:
    state = blanks.state_of(blank)
    if blank.commission is None or state != "held":
        raise NotAllowed(f"{blank_code(blank.id)} is {state}, not held", "Nothing to do")
    return blank.commission
