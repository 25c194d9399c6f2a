"""The checklist that the facts of a job ask for."""

from typing import Any

from sqlalchemy.orm import Session

from burnplan.codes import blank_code
from burnplan.desk.derived import air, hazards_found, piece, studio_settings, woods
from burnplan.desk.derived.studio_settings import Hand, Settings
from burnplan.ledger.models import Commission, Step
from burnplan.reckon import checklist
from burnplan.reckon.checklist import ChecklistJob, KeptStep, Phase, Use, ZoneToBurn
from burnplan.reckon.work import WorkPlan
from burnplan.units import format_size
from burnplan.wood.species import Species


def _job(book: Session, commission: Commission) -> ChecklistJob:
    own, size, key = (
        studio_settings.of_book(book),
        piece.size_of(commission),
        piece.species_of(commission),
    )
    wood = woods.on_record(book, key) if key else None
    zones: tuple[ZoneToBurn, ...] = ()
    strokes: tuple[int, ...] = ()
    lost = allowed = True
    if commission.references:
        plan = WorkPlan.from_dict(commission.references[-1].plan)
        zones = tuple(ZoneToBurn(z.zone, z.area_cm2, z.darkness) for z in plan.zones)
        strokes = tuple(one.strokes for one in plan.lines.passes)
        lost = plan.lines.lost_cm > 0
        allowed = piece.may_be_burned(book, commission.references[-1])
    return ChecklistJob(
        size=format_size(size, own.units) if size else "",
        blank=blank_code(commission.blank.id) if commission.blank else "",
        wood=wood.name if wood else "",
        wood_cautions=_wood_cautions(book, commission, wood),
        sanding=piece.sanding_left(commission.blank),
        left_handed=own.drawing_hand is Hand.LEFT,
        pen=own.ink.pen,
        zones=zones,
        strokes=strokes,
        lost_edges=lost,
        photo_allowed=allowed,
        words=", ".join(
            f"'{line}'" for one in commission.lettering for line in one.text.split("\n")
        ),
        use=Use(commission.use),
        wording=own.wording,
        **_coats(commission),
    )


def _coats(commission: Commission) -> dict[str, Any]:
    """Return what is planned of the finish, as a job takes it; nothing if nothing is."""
    if not commission.coats:
        return {}
    first = commission.coats[0]
    return {
        "coats": len(commission.coats),
        "finish": first.product,
        "next_coat_hours": first.next_coat_hours,
    }


def _wood_cautions(book: Session, commission: Commission, wood: Species | None) -> tuple[str, ...]:
    """Return what to mind of the wood: the species' own words, then every other hazard."""
    own = tuple(c for c in (wood.resinous, wood.irritant) if c) if wood else ()
    said = {
        "resinous" if wood and wood.resinous else "",
        "irritant" if wood and wood.irritant else "",
    }
    found = hazards_found.of_job(book, commission)
    checks = air.checking_words(book, commission.blank) if commission.blank else ""
    others = tuple(one.in_words() for one in found if one.key not in said)
    return own + others + ((checks,) if checks else ())


def words_of(step: Step, own: Settings) -> str:
    """Return what a step says; one that is done may be from when other units were set."""
    if step.own:
        return step.text
    said = own.wording.restated(step.text)
    return said if checklist.names_typed(step.key) else own.wording.own(said)


def touched(step: Step) -> bool:
    """Return whether a step is the artist's own, ticked or skipped: such a one stays."""
    return step.own or step.settled


def undone_by(commission: Commission, *, other_blank: bool) -> list[Step]:
    """Return the steps done that a piece of another size undoes: the transfer.

    Another blank has to be looked at and sanded too; what a strip on an offcut told stays known.
    The artist's own steps are theirs to judge.
    """
    return [
        step
        for step in commission.steps
        if step.settled
        and not step.own
        and (step.phase == Phase.TRANSFER or (other_blank and checklist.is_of_the_blank(step.key)))
    ]


def undone_words(book: Session, commission: Commission, *, other_blank: bool) -> list[str]:
    """Return what the steps say that are undone so; of what has left the studio none is."""
    if not commission.is_open:
        return []
    own = studio_settings.of_book(book)
    return [words_of(step, own) for step in undone_by(commission, other_blank=other_blank)]


def of_the_piece(commission: Commission) -> list[Step]:
    """Return the steps done that are on the piece itself: another one has to have them again.

    The artist's own steps are theirs to judge.
    """
    return [
        step
        for step in commission.steps
        if step.settled and not step.own and step.phase != Phase.HANDOVER
    ]


def reopen(steps: list[Step]) -> None:
    """Open steps again."""
    for step in steps:
        step.ticked_at = step.skipped_at = step.skip_reason = None


def refresh(book: Session, commission: Commission) -> None:
    """Bring a commission's checklist up to date with what is known of the job.

    What is ticked, skipped or the artist's own stays.
    """
    wanted = checklist.steps_for(_job(book, commission))
    by_key = {step.key: step for step in commission.steps}
    change = checklist.merge(
        [KeptStep(key, touched(step)) for key, step in by_key.items()],
        wanted,
    )
    for key in change.drop:
        commission.steps.remove(by_key[key])
        book.delete(by_key[key])
    for plan in change.update:
        step = by_key[plan.key]
        step.text, step.caution, step.zone = plan.text, plan.caution, plan.zone
    for plan in change.add:
        commission.steps.append(
            Step(
                phase=plan.phase,
                position=0,
                key=plan.key,
                text=plan.text,
                caution=plan.caution,
                zone=plan.zone,
                own=False,
            )
        )
    number(commission)


def number(commission: Commission) -> None:
    """Place steps by phase, in the order of work; the artist's own come last in theirs."""
    sequence = sorted(
        commission.steps,
        key=lambda step: (
            list(Phase).index(Phase(step.phase)),
            step.own,
            checklist.place_of(step.key),
            step.id or 0,
        ),
    )
    for place, step in enumerate(sequence, start=1):
        step.position = place
    commission.steps.sort(key=lambda step: step.position)
