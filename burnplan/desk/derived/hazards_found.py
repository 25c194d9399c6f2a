"""The gate of a job: what of its wood can hurt, and whether it may be burned and promised.

Asked wherever wood is sanded or burned, or a promise is made. It goes by the blank that is
held, else by the wood asked for, by the order's own words, and by where the piece will live.
"""

from collections.abc import Sequence

from sqlalchemy.orm import Session, object_session

from burnplan.codes import blank_code, commission_code
from burnplan.desk.derived import woods
from burnplan.errors import NotAllowed
from burnplan.ledger.models import Blank, Commission
from burnplan.sentences import Do
from burnplan.view import View
from burnplan.wood import hazards
from burnplan.wood.hazards import Condition, Hazard, Level
from burnplan.wood.species import Species


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

    @property
    def said_first(self) -> bool:
        """Whether it is said wherever the job is: it must not be burned, or asks a question."""
        return self.level is Level.BLOCK or self.key in hazards.asked()

    def in_words(self) -> str:
        """Return it in a sentence or two, without the last full stop."""
        words = f"{self.reason} ({self.source}). {self.advice}"
        if self.blocks:
            words = f"Must not be burned ({self.key}): {words}"
        return f"{words}. Set aside by the artist: {self.override}" if self.override else words


def of_blank(book: Session, blank: Blank) -> list[HazardView]:
    """Return the hazards of a blank, those that block first."""
    return _of_blank(blank, woods.on_record(book, blank.species) if blank.species else None)


def of_job(book: Session, commission: Commission) -> list[HazardView]:
    """Return the hazards of a job, those that block first: its wood, its words, its use."""
    blank, words = commission.blank, f"{commission.title}\n{commission.note}"
    ordered = woods.on_record(book, commission.species) if commission.species else None
    if blank is None:
        return of_wishes(ordered, words, commission.use)
    wood = woods.on_record(book, blank.species) if blank.species else None
    found = _on_blank(blank, wood)
    asked_for = hazards.hazards_of(ordered) if ordered else ()
    named = [one for one in asked_for if one.level is Level.BLOCK]
    others = [one for one in named if one.key not in {known.key for known in found}]
    others += _others([*found, *named], words, commission.use)
    # The wood held is what will be burned; that the order names another is to be made sure of.
    doubt = f"The order names it, and {blank_code(blank.id)} is held: make sure which it is"
    mild = [hazards.in_doubt(one, doubt) if one.level is Level.BLOCK else one for one in others]
    return [*_of_blank(blank, wood), *(_view(one, None) for one in mild)]


def blocking(commission: Commission) -> list[HazardView]:
    """Return what keeps a job from being burned.

    No query is made but for a wood of the artist's own: its botanical name may say so.
    """
    book = object_session(commission)
    if book is None:
        raise ValueError("A job that is in no book cannot be asked about")
    return [one for one in of_job(book, commission) if one.blocks]


def refuse(commission: Commission) -> None:
    """Refuse to burn or to promise what must not be burned.

    Raises
    ------
    NotAllowed
        If a hazard blocks the job's wood and was not set aside.
    """
    found = blocking(commission)
    if not found:
        return
    because = f"must not be burned ({found[0].key}): {found[0].reason} ({found[0].source})"
    if commission.blank is None:
        raise NotAllowed(
            f"The wood of {commission_code(commission.id)} {because}",
            "Choose another one; if you know that it is safe, hold its blank and say why with ",
            Do("hold.override"),
        )
    code = blank_code(commission.blank.id)
    raise NotAllowed(
        f"{code} {because}",
        "Release it, or say why it is safe: ",
        Do("blank.override", blank=code),
    )


def refuse_wood(wood: Species) -> None:
    """Refuse to burn a strip of what must not be burned.

    Raises
    ------
    NotAllowed
        If its name says that it must not be.
    """
    first = next((one for one in hazards.hazards_of(wood) if one.level is Level.BLOCK), None)
    if first is not None:
        raise NotAllowed(
            f"{wood.name} must not be burned ({first.key}): {first.reason} ({first.source})",
            "Burn the strip on another wood",
        )


def of_wishes(wood: Species | None, words: str, use: str) -> list[HazardView]:
    """Return what is said of a job when it is logged, those that block first."""
    found = hazards.hazards_of(wood) if wood else ()
    return [_view(one, None) for one in _sorted([*found, *_others(found, words, use)])]


def _of_blank(blank: Blank, wood: Species | None) -> list[HazardView]:
    job = blank.commission
    aside = {
        row.hazard: row.reason for row in blank.overrides if job and row.commission_id == job.id
    }
    return [_view(one, aside.get(one.key)) for one in _on_blank(blank, wood)]


def _on_blank(blank: Blank, wood: Species | None) -> list[Hazard]:
    found = hazards.hazards_of(wood, [Condition(row.kind) for row in blank.conditions])
    known = {one.key for one in found}
    noted = [one for one in hazards.hazards_noted(blank.note) if one.key not in known]
    return _sorted([*found, *noted])


def _others(found: Sequence[Hazard], words: str, use: str) -> list[Hazard]:
    """Return the hazards that an order's words and its use add to those of its wood."""
    known = {one.key for one in found}
    said = [one for one in hazards.hazards_said(words) if one.key not in known]
    return [*said, *hazards.of_use(use)]


def _sorted(found: list[Hazard]) -> list[Hazard]:
    return sorted(found, key=lambda one: one.level is Level.CAUTION)


def _view(one: Hazard, override: str | None) -> HazardView:
    return HazardView(
        key=one.key,
        level=one.level,
        reason=one.reason,
        source=one.source,
        advice=one.advice,
        override=override,
    )
