"""Hazards of a blank, or of a job before it has one, with what was set aside for it."""

from sqlalchemy.orm import Session

from burnplan.desk.derived import woods
from burnplan.ledger.models import Blank, Commission
from burnplan.view import View
from burnplan.wood import hazards
from burnplan.wood.hazards import Condition, Hazard, Level


class HazardView(View):
    """A hazard of a blank; ``override`` is why it was set aside for the job it is held for."""

    key: str
    level: Level
    reason: str
    source: str
    advice: str
    override: str | None

    @property
    def blocks(self) -> bool:
        """Whether it keeps the blank from being burned."""
        return self.level is Level.BLOCK and self.override is None

    def in_words(self) -> str:
        """Return it in a sentence or two, without the last full stop."""
        words = f"{self.reason} ({self.source}). {self.advice}"
        return f"{words}. Set aside by the artist: {self.override}" if self.override else words


def of_wood(book: Session, species: str, conditions: list[str]) -> tuple[Hazard, ...]:
    """Return the hazards of a species on record under some conditions."""
    wood = woods.on_record(book, species) if species else None
    return hazards.hazards_of(wood, [Condition(kind) for kind in conditions])


def of_blank(book: Session, blank: Blank) -> list[HazardView]:
    """Return the hazards of a blank, those that block first."""
    job = blank.commission
    aside = {
        row.hazard: row.reason for row in blank.overrides if job and row.commission_id == job.id
    }
    found = of_wood(book, blank.species, [row.kind for row in blank.conditions])
    return [_view(one, aside.get(one.key)) for one in found]


def of_job(book: Session, commission: Commission, species: str) -> list[HazardView]:
    """Return the hazards of a job: those of its blank, else of the wood asked for."""
    if commission.blank is not None:
        return of_blank(book, commission.blank)
    return [_view(one, None) for one in of_wood(book, species, [])] if species else []


def _view(one: Hazard, override: str | None) -> HazardView:
    return HazardView(
        key=one.key,
        level=one.level,
        reason=one.reason,
        source=one.source,
        advice=one.advice,
        override=override,
    )
