"""The piece a commission comes to: its size, its wood, and the work that it takes.

What was measured of the photo is on record; the wood's hardness, the sanding and the
coats are those of today, so that a plan never keeps what has changed since.
"""

from collections.abc import Callable, Sequence
from functools import cache
from itertools import groupby
from math import isclose
from operator import attrgetter

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from burnplan.desk.derived import woods
from burnplan.ledger.models import Blank, Commission, Original, Quote, Reference, Step
from burnplan.outline import Outline, OutlineKind
from burnplan.reckon import checklist
from burnplan.reckon.work import WorkPlan
from burnplan.units import parse_size
from burnplan.wood import grits
from burnplan.wood.species import UNKNOWN_WOOD, Species


def outline_of(blank: Blank) -> Outline:
    """Return the outline of a blank."""
    corners = tuple((x, y) for x, y in blank.points or ())
    return Outline(OutlineKind(blank.outline), blank.width_mm, blank.height_mm, corners)


def asked_for(commission: Commission) -> Outline | None:
    """Return the size that was asked for, whatever blank is held; None if not said."""
    if commission.outline is None or commission.width_mm is None or commission.height_mm is None:
        return None
    return Outline(OutlineKind(commission.outline), commission.width_mm, commission.height_mm)


def size_of(commission: Commission) -> Outline | None:
    """Return the size of a commission: that of its blank, else the one asked for."""
    return outline_of(commission.blank) if commission.blank else asked_for(commission)


def other_size(own: Outline | None, text: str, unit: str) -> Outline:
    """Read another size for a piece: it keeps the piece's shape unless one is named.

    A live edge keeps its outline, larger or smaller.

    Raises
    ------
    BadInput
        If it is not a size.
    """
    size = parse_size(text, default_unit=unit)
    if own is None or size.kind is not OutlineKind.RECTANGLE or "rectangle" in text.lower():
        return size
    if own.kind is OutlineKind.ROUND and size.width_mm != size.height_mm:
        return Outline(OutlineKind.OVAL, size.width_mm, size.height_mm)
    across, down = size.width_mm / own.width_mm, size.height_mm / own.height_mm
    points = tuple((x * across, y * down) for x, y in own.points)
    return Outline(own.kind, size.width_mm, size.height_mm, points)


def species_of(commission: Commission) -> str:
    """Return the species key of a commission: that of its blank, else the one asked for."""
    return commission.blank.species if commission.blank else commission.species or ""


def wood_of(book: Session, commission: Commission) -> Species:
    """Return the wood of a commission: that of its blank, else the species asked for."""
    if commission.blank is not None:
        return woods.of_blank(book, commission.blank)
    return woods.on_record(book, species_of(commission) or UNKNOWN_WOOD)


def bark_of(commission: Commission) -> float | None:
    """Return how deep bark reaches in from the edge of its blank, mm; None if nobody looked."""
    return commission.blank.bark_mm if commission.blank is not None else None


def sanding_left(blank: Blank | None) -> tuple[grits.Sanding, ...]:
    """Return the sanding left to do on a blank; all of it where none is chosen."""
    return grits.left_after([row.grit for row in blank.sandings] if blank else [])


def is_of(plan: WorkPlan, size: Outline, species: str) -> bool:
    """Return whether a plan is of a piece of some size and wood."""
    of_plan = (plan.width_mm, plan.height_mm, plan.area_cm2)
    of_piece = (size.width_mm, size.height_mm, size.area_cm2)
    alike = all(isclose(*pair, rel_tol=1e-6) for pair in zip(of_plan, of_piece, strict=True))
    return alike and plan.species == species


def is_planned(commission: Commission) -> bool:
    """Return whether the plan of a commission, if it has one, is of its size and wood of today."""
    size = size_of(commission)
    if not commission.references or size is None:
        return True
    plan = WorkPlan.from_dict(commission.references[-1].plan)
    return is_of(plan, size, species_of(commission) or UNKNOWN_WOOD)


def is_quoted(quote: Quote, commission: Commission) -> bool:
    """Return whether a quote is of a commission's size and wood of today, as far as it says."""
    size = size_of(commission)
    if (
        size
        and quote.width_mm
        and (quote.width_mm, quote.height_mm)
        != (
            size.width_mm,
            size.height_mm,
        )
    ):
        return False
    return quote.species in (None, species_of(commission) or None)


def work_plan(book: Session, commission: Commission) -> WorkPlan:
    """Return the work of a commission that has a reference.

    Sanding and coats are counted from its checklist, done and to do: what a blank was
    sanded before it came is not part of the job.
    """
    return _planned(commission, [step.key for step in commission.steps], _wood_in(book))


def work_plans(book: Session, commissions: Sequence[Commission]) -> dict[int, WorkPlan]:
    """Return the work of many commissions, by number; of those without a reference none."""
    planned = [one for one in commissions if one.references]
    numbers = [one.id for one in planned]
    lines = select(Step.commission_id, Step.key).where(Step.commission_id.in_(numbers))
    rows = book.execute(lines.order_by(Step.commission_id))
    keys = {
        number: [row.key for row in some]
        for number, some in groupby(rows, attrgetter("commission_id"))
    }
    wood_of_key = cache(_wood_in(book))
    return {one.id: _planned(one, keys.get(one.id, []), wood_of_key) for one in planned}


def _wood_in(book: Session) -> Callable[[str], Species]:
    return lambda key: woods.on_record(book, key)


def _planned(
    commission: Commission, keys: Sequence[str], wood_of_key: Callable[[str], Species]
) -> WorkPlan:
    measured = WorkPlan.from_dict(commission.references[-1].plan)
    wood = wood_of_key(species_of(commission) or measured.species)
    return measured._replace(
        hardness_lbf=wood.hardness_lbf,
        sandings=sum(map(checklist.is_sanding, keys)),
        coats=sum(map(checklist.is_coat, keys)),
    )


def photos_of(book: Session, reference: Reference) -> list[Original]:
    """Return the photos that a reference shows: those it is composed from, or its own."""
    if reference.together is None:
        return [reference.original]
    found = (book.get(Original, name) for name in reference.together["photos"])
    return [one for one in found if one is not None]


def may_be_burned(book: Session, reference: Reference) -> bool:
    """Whether the use of every photo that a reference shows is on record as allowed."""
    return all(one.allowed for one in photos_of(book, reference))


def not_allowed(book: Session) -> set[int]:
    """Return the open commissions that are planned from a photo whose use is not allowed yet."""
    newest = (
        select(func.max(Reference.id))
        .join(Commission, Commission.id == Reference.commission_id)
        .where(Commission.is_open)
        .group_by(Reference.commission_id)
    )
    rows = book.execute(
        select(Reference.commission_id, Reference.together, Original.allowed)
        .join(Original, Original.sha256 == Reference.original_sha256)
        .where(Reference.id.in_(newest))
    ).all()
    of_parts = {name for row in rows if row.together for name in row.together["photos"]}
    parts: dict[str, str] = {}
    if of_parts:
        query = select(Original.sha256, Original.allowed).where(Original.sha256.in_(of_parts))
        parts = {row.sha256: row.allowed for row in book.execute(query)}
    return {
        row.commission_id
        for row in rows
        if not (
            all(parts.get(name) for name in row.together["photos"]) if row.together else row.allowed
        )
    }
