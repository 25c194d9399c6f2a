"""How far commissions and their checklists have come: what the hours left hang on."""

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby
from operator import attrgetter
from typing import Any, NamedTuple, TypeAlias

from sqlalchemy import Row, Select, select
from sqlalchemy.orm import Session, selectinload
from sqlalchemy.sql.base import ExecutableOption

from burnplan.desk.derived import balances
from burnplan.ledger.models import Blank, BurnSession, Commission, Quote, SpoiledPiece, Step
from burnplan.reckon.remaining import share_burned
from burnplan.reckon.stages import Facts, PhaseCount, Stage, stage_of
from burnplan.reckon.work import Work, WorkPlan

# A step, or what is asked of it where those of many commissions are read.
Line: TypeAlias = Step | Row[*tuple[Any, ...]]

# Commissions read at a time with their rows: thirty years of them are not held at once.
AT_A_TIME = 500  # a limit by definition


class ChecklistProgress(NamedTuple):
    """How far one checklist has come; ``next_step`` is empty when all is settled."""

    phases: Mapping[str, PhaseCount]
    # Only steps that burn something: others of the phase put no hours on the wood.
    burning: PhaseCount
    zones_done: frozenset[int]
    zones_left: frozenset[int]
    next_step: str

    def phase(self, name: str) -> PhaseCount:
        """Return how much of a phase is settled."""
        return self.phases.get(name, PhaseCount(0, 0))

    @property
    def steps(self) -> int:
        """How many steps there are."""
        return self.settled + sum(phase.open for phase in self.phases.values())

    @property
    def settled(self) -> int:
        """How many steps are ticked or skipped."""
        return sum(phase.settled for phase in self.phases.values())


def _count(lines: Iterable[Line]) -> PhaseCount:
    settled = [line.settled for line in lines]
    return PhaseCount(sum(settled), len(settled) - sum(settled))


def _standing(lines: Sequence[Line]) -> ChecklistProgress:
    phases: dict[str, list[Line]] = {}
    for line in lines:
        phases.setdefault(line.phase, []).append(line)
    zones = {line.zone: line.settled for line in lines if line.zone is not None}
    return ChecklistProgress(
        phases={name: _count(some) for name, some in phases.items()},
        burning=_count(x for x in lines if x.zone is not None or x.key == "burn"),
        zones_done=frozenset(zone for zone, settled in zones.items() if settled),
        zones_left=frozenset(zone for zone, settled in zones.items() if not settled),
        next_step=next((line.text for line in lines if not line.settled), ""),
    )


def of(commission: Commission) -> ChecklistProgress:
    """Return how far one commission's checklist has come."""
    return _standing(commission.steps)


def of_all(book: Session, numbers: Select[int]) -> dict[int, ChecklistProgress]:
    """Return how far the checklists of the commissions of some numbers have come, by number."""
    columns = (Step.commission_id, Step.phase, Step.key, Step.zone, Step.text, Step.settled)
    lines = select(*columns).where(Step.commission_id.in_(numbers))
    lines = lines.order_by(Step.commission_id, Step.position, Step.id)
    found = dict.fromkeys(book.scalars(numbers), _standing([]))
    for number, some in groupby(book.execute(lines), attrgetter("commission_id")):
        found[number] = _standing([*some])
    return found


def settled_shares(commission: Commission, stands: ChecklistProgress) -> dict[Work, float]:
    """Return the share done of each stage: by steps, and for burning by zone hours."""
    by_steps = (Work.PREPARE, Work.TRANSFER, Work.FINISH)
    shares = {work: stands.phase(work).share for work in by_steps}
    return {**shares, Work.BURN: _burned_share(commission, stands)}


def _burned_share(commission: Commission, stands: ChecklistProgress) -> float:
    """Return the share burned: zones count by their standard hours."""
    if not commission.references:
        return stands.burning.share
    plan = WorkPlan.from_dict(commission.references[-1].plan)
    return share_burned(plan, stands.zones_done)


def stage(commission: Commission, stands: ChecklistProgress) -> Stage:
    """Return the stage that the facts on record prove."""
    quote = balances.agreed_quote(commission)
    accepted = quote is not None and quote.accepted_on is not None
    return stage_of(
        Facts(
            quoted=quote is not None,
            accepted=accepted,
            deposit_met=quote is not None and balances.received(commission) >= quote.deposit,
            prepare=stands.phase("prepare"),
            transfer=stands.phase("transfer"),
            burn=stands.burning,
            finish=stands.phase("finish"),
            burned=any(session.work == "burn" for session in commission.sessions),
            delivered=commission.delivered_on is not None,
            dropped=commission.dropped_on is not None,
        )
    )


def with_rows() -> tuple[ExecutableOption, ...]:
    """Return loading options that fetch in a few queries what many views need.

    All but the steps: see :func:`of_all`.
    """
    return (
        selectinload(Commission.client),
        selectinload(Commission.blank).options(
            selectinload(Blank.conditions), selectinload(Blank.overrides)
        ),
        selectinload(Commission.references),
        selectinload(Commission.quotes).selectinload(Quote.instalments),
        selectinload(Commission.payments),
        selectinload(Commission.sessions).selectinload(BurnSession.intervals),
        selectinload(Commission.spoiled)
        .selectinload(SpoiledPiece.sessions)
        .selectinload(BurnSession.intervals),
    )
