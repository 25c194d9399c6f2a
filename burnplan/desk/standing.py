"""How far checklists have come: what stages and the hours left hang on.

A review of many jobs asks this of all of them; it reads the few columns it
needs, not every step with its words.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

from sqlalchemy import ColumnExpressionArgument, select
from sqlalchemy.orm import Session

from burnplan.ledger.models import Commission, Step
from burnplan.reckon.stages import Phase


class _Line(NamedTuple):
    phase: str
    key: str
    zone: int | None
    text: str
    settled: bool


@dataclass(frozen=True, slots=True)
class Standing:
    """How far one checklist has come; ``next_step`` is empty when all is settled."""

    phases: Mapping[str, Phase]
    # Only steps that burn something: others of the phase put no hours on the wood.
    burning: Phase
    zones_done: frozenset[int]
    zones_left: frozenset[int]
    next_step: str

    def phase(self, name: str) -> Phase:
        """Return how much of a phase is settled."""
        return self.phases.get(name, Phase(0, 0))

    @property
    def steps(self) -> int:
        """How many steps there are."""
        return self.settled + sum(phase.open for phase in self.phases.values())

    @property
    def settled(self) -> int:
        """How many steps are ticked or skipped."""
        return sum(phase.settled for phase in self.phases.values())


def _count(lines: Iterable[_Line]) -> Phase:
    settled = [line.settled for line in lines]
    return Phase(sum(settled), len(settled) - sum(settled))


def _standing(lines: list[_Line]) -> Standing:
    phases: dict[str, list[_Line]] = {}
    for line in lines:
        phases.setdefault(line.phase, []).append(line)
    zones = {line.zone: line.settled for line in lines if line.zone is not None}
    return Standing(
        phases={name: _count(some) for name, some in phases.items()},
        burning=_count(x for x in lines if x.zone is not None or x.key == "burn"),
        zones_done=frozenset(zone for zone, settled in zones.items() if settled),
        zones_left=frozenset(zone for zone, settled in zones.items() if not settled),
        next_step=next((line.text for line in lines if not line.settled), ""),
    )


def of(commission: Commission) -> Standing:
    """Return how far one commission's checklist has come."""
    return _standing([_Line(s.phase, s.key, s.zone, s.text, s.settled) for s in commission.steps])


def of_all(book: Session, *which: ColumnExpressionArgument[bool]) -> dict[int, Standing]:
    """Return how far the checklists of the commissions meant have come, by their numbers.

    Parameters
    ----------
    book : Session
    *which : conditions
        On :class:`Commission`.
    """
    wanted = select(Commission.id).where(*which)
    query = (
        select(Step.commission_id, Step.phase, Step.key, Step.zone, Step.text, Step.settled)
        .where(Step.commission_id.in_(wanted))
        .order_by(Step.commission_id, Step.position, Step.id)
    )
    found = dict.fromkeys(book.scalars(wanted), _standing([]))
    for number, rows in groupby(book.execute(query), key=lambda row: row.commission_id):
        found[number] = _standing([_Line(*row[1:]) for row in rows])
    return found
