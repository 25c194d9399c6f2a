"""Which blank a job is made on: held for it, released, ruined and begun again on another.

A job takes the size and the wood of its blank: its plan is made again with it.
"""

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned
from burnplan.codes import blank_code, commission_code
from burnplan.desk.derived import checklist, checklist_progress, piece
from burnplan.desk.jobs import commissions, replanning
from burnplan.desk.jobs.commissions import CommissionView
from burnplan.desk.studio.lookup import find_blank, find_commission, refuse_closed
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, hazards
from burnplan.desk.wood.blanks import BlankView
from burnplan.errors import NotAllowed
from burnplan.ledger.models import Blank, Commission, PlannedSession, SpoiledPiece
from burnplan.progress import Progress
from burnplan.sentences import Do
from burnplan.view import View


class Undone(View):
    """What holding a blank for a job changes: its size before, and the steps it undoes."""

    size_before: tuple[float, float] | None
    size: tuple[float, float]
    steps: list[str]


def _refuse(blank: Blank, commission: Commission) -> None:
    _refuse_taken(blank, commission)
    if commission.blank is not None:
        raise NotAllowed(
            f"{commission_code(commission.id)} has {blank_code(commission.blank.id)} already",
            "Release that one first: ",
            Do("blank.release", blank=blank_code(commission.blank.id)),
        )


def _refuse_taken(blank: Blank, commission: Commission) -> None:
    code = blank_code(blank.id)
    state = blanks.state_of(blank)
    if state != "in stock":
        held = f" for {commission_code(blank.commission.id)}" if blank.commission else ""
        raise NotAllowed(f"{code} is {state}{held}", "Choose one that is in stock")
    refuse_closed(commission, "Choose an open one")


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
            steps=checklist.undone_words(book, commission, other_blank=True),
        )


def hold(
    studio: Studio,
    which: str,
    commission_text: str,
    *,
    override: str | None = None,
    reopen: bool = False,
    on_progress: Progress | None = None,
) -> BlankView:
    """Hold a blank for a commission, which takes its size and species.

    Parameters
    ----------
    studio : Studio
    which, commission_text : str
    override : str, optional
        Why a hazard that blocks the blank is set aside for this job.
    reopen : bool
        Open the steps again that another blank undoes: look at it, sanding, transfer.
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
    plan = replanning.plan_for(studio, code, outline, species, on_progress)
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


def release(studio: Studio, which: str, on_progress: Progress | None = None) -> BlankView:
    """Let a blank go back to stock; the job is of the size and the wood asked for again.

    It has no blank set aside any more; what else was done to it is asked about with the next.

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
    plan = replanning.plan_for(studio, code, asked_for, species, on_progress)
    with studio.writing("blank.release") as (book, entry):
        blank = find_blank(book, which)
        commission = _held_for(blank)
        if commission.outline is None:
            commission.outline, commission.width_mm = blank.outline, blank.width_mm
            commission.height_mm = blank.height_mm
        if commission.species is None:
            commission.species = blank.species
        commission.blank = None
        checklist.reopen([step for step in commission.steps if step.key == "choose"])
        if plan is not None:
            plan.put(studio, book, commission)
        entry.says(f"Released {blank_code(blank.id)} from '{commission.title}'", commission.id)
    return blanks.show(studio, blank_code(blank.id))


def _held_for(blank: Blank) -> Commission:
    state = blanks.state_of(blank)
    if blank.commission is None or state != "held":
        raise NotAllowed(f"{blank_code(blank.id)} is {state}, not held", "Nothing to do")
    return blank.commission


def restart(
    studio: Studio,
    which: str,
    blank_text: str,
    reason: str,
    *,
    override: str | None = None,
    on_progress: Progress | None = None,
) -> CommissionView:
    """Begin a ruined piece again on another blank.

    The old blank is scrapped, what was done to it is to do again, and sessions planned for it
    are taken out. The hours spent on it stay on record as such: they teach and cost, but are
    no progress of the job.

    Parameters
    ----------
    studio : Studio
    which, blank_text, reason : str
    override : str, optional
        Why a hazard that blocks the new blank is set aside for this job.
    on_progress : callable, optional
        Told of the plan that is made again, where the new blank is of another size or wood.

    Raises
    ------
    NotAllowed
        If the blank is taken or must not be burned, the job is closed, or a session is open.
    """
    with studio.reading() as book:
        commission, blank = find_commission(book, which), find_blank(book, blank_text)
        _refuse_taken(blank, commission)
        outline, species = piece.outline_of(blank), blank.species
        code = commission_code(commission.id)
    plan = replanning.plan_for(studio, code, outline, species, on_progress)
    with studio.writing("commission.restart") as (book, entry):
        commission, blank = find_commission(book, code), find_blank(book, blank_text)
        _refuse_taken(blank, commission)
        if any(not session.closed for session in commission.sessions):
            raise NotAllowed(
                "The clock is running, or a session is open", "Stop it: ", Do("session.stop")
            )
        aside = hazards.pass_or_refuse(book, blank, commission, override, studio.now())
        why = cleaned(reason, "reason")
        _spoil(book, commission, why, studio)
        off = _unplanned(book, commission, studio.now())
        checklist.reopen(checklist.of_the_piece(commission))
        commission.blank = blank
        if plan is not None:
            plan.put(studio, book, commission)
        said = f"Began '{commission.title}' again on {blank_code(blank.id)}: {why}"
        said += f"; {off} planned session{'s' if off != 1 else ''} taken out" if off else ""
        entry.says(f"{said}; {aside}" if aside else said, commission.id)
    return commissions.show(studio, code)


def _unplanned(book: Session, commission: Commission, now: datetime) -> int:
    """Take out what was planned for the piece before, as far as it is to come; return how many.

    It was laid for what was left of that one: burning would come before the sanding.
    """
    rows = book.scalars(
        select(PlannedSession)
        .where(PlannedSession.commission_id == commission.id, PlannedSession.starts_at >= now)
        .order_by(PlannedSession.id)
    ).all()
    for row in rows:
        book.delete(row)
    return len(rows)


def _spoil(book: Session, commission: Commission, why: str, studio: Studio) -> None:
    """Put on record what was done of a piece that is ruined, and scrap its blank."""
    stands = checklist_progress.of(commission)
    old, done = commission.blank, checklist_progress.settled_shares(commission, stands)
    spoiled = SpoiledPiece(
        commission=commission,
        blank=old,
        reason=why,
        spoiled_on=studio.today(),
        plan=piece.work_plan(book, commission).to_dict() if commission.references else None,
        done={
            **{work.value: share for work, share in done.items()},
            "zones": sorted(stands.zones_done),
        },
    )
    book.add(spoiled)
    book.flush()
    for session in commission.sessions:
        session.spoiled_id = spoiled.id
    if old is not None:
        commission.blank = None
        old.scrapped_on, old.scrap_reason = studio.today(), why
    book.flush()
    book.expire(commission, ["sessions"])
    book.expire(spoiled, ["sessions"])
