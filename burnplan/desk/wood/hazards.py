"""Hazards of a blank: what is the matter with it, what that blocks, and overrides with a reason.

Nothing is set aside silently: a blank that must not be burned is held for a job
only with a reason, which stays on record.
"""

from datetime import datetime

from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned, cleaned_note
from burnplan.codes import blank_code, commission_code
from burnplan.desk.derived.hazards_found import HazardView, blocking, of_blank, of_job, of_wishes
from burnplan.desk.studio.lookup import find_blank, find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import own_species
from burnplan.errors import BadInput, NotAllowed
from burnplan.ledger.models import Blank, BlankCondition, Commission, HazardOverride
from burnplan.sentences import Do
from burnplan.view import View
from burnplan.wood import hazards

# Of a reason to set a hazard aside: one word says nothing of what was looked at (our own choice).
_FEWEST_WORDS = 2


class ConditionView(View):
    """Something that is the matter with a blank."""

    kind: str
    note: str
    noted_at: datetime


def for_job(studio: Studio, which: str) -> list[HazardView]:
    """Return the hazards of a commission: those of its blank, else of the wood asked for."""
    with studio.reading() as book:
        commission = find_commission(book, which)
        return of_job(book, commission)


def said_first(studio: Studio, which: str) -> list[str]:
    """Return what is said of a job's wood wherever it is worked on, promised or looked at.

    What must not be burned, set aside or not, and what is to be asked about.
    """
    return [one.in_words() for one in for_job(studio, which) if one.said_first]


def said_of_wood(studio: Studio, species: str) -> list[str]:
    """Return the same of a wood by its name."""
    wood = own_species.meant(studio, species)
    return [one.in_words() for one in of_wishes(wood, "", "indoor") if one.said_first]


def conditions_of(blank: Blank) -> list[ConditionView]:
    """Return what is the matter with a blank."""
    return [
        ConditionView(kind=row.kind, note=row.note, noted_at=row.noted_at)
        for row in blank.conditions
    ]


def _override(
    book: Session,
    blank: Blank,
    job: Commission,
    blocking: list[HazardView],
    why: str,
    now: datetime,
) -> str:
    reason = cleaned(why, "reason", longest=1000)
    if len(reason.split()) < _FEWEST_WORDS:
        raise BadInput(
            f"'{reason}' is not enough of a reason",
            "Say in a few words how you know that it is safe, like: planed to bare wood",
        )
    before = {row.hazard: row for row in blank.overrides if row.commission_id == job.id}
    for hazard in blocking:
        if (row := before.get(hazard.key)) is not None:
            row.reason, row.made_at = reason, now
            continue
        blank.overrides.append(
            HazardOverride(commission_id=job.id, hazard=hazard.key, reason=reason, made_at=now)
        )
    book.flush()
    names = ", ".join(hazard.key for hazard in blocking)
    return f"{names} set aside: {reason}"


def pass_or_refuse(
    book: Session, blank: Blank, job: Commission, why: str | None, now: datetime
) -> str:
    """Let a blank be held for a job, or refuse; return what was set aside, for the history.

    What was set aside for the same job before needs no reason again; one that is given counts.

    Parameters
    ----------
    book : Session
    blank : Blank
        Not yet held.
    job : Commission
    why : str or None
        Why what blocks it is set aside for this job.
    now : datetime

    Raises
    ------
    NotAllowed
        If a hazard blocks it and no reason is given.
    BadInput
        If a reason is given and nothing blocks it.
    """
    code = blank_code(blank.id)
    before = {row.hazard for row in blank.overrides if row.commission_id == job.id}
    blocking = [one for one in of_blank(book, blank) if one.blocks]
    if not blocking and why is not None:
        raise BadInput(f"Nothing blocks {code}", "Leave ", Do("hold.reason"), " out")
    new = [one for one in blocking if one.key not in before]
    if why is None:
        if not new:
            return ""
        first = new[0]
        raise NotAllowed(
            f"{code} must not be burned ({first.key}): {first.reason} ({first.source})",
            "Choose another blank and follow local rules; if you know it is safe, say why with ",
            Do("hold.override"),
        )
    return _override(book, blank, job, blocking, why, now)


def before_sanding(studio: Studio, which: str) -> str:
    """Return what to mind before a job's wood is sanded; empty where nothing blocks it.

    What must not be burned can harm as dust as well; sanding it is left to who knows why.
    """
    with studio.reading() as book:
        commission = find_commission(book, which)
        found = blocking(commission)
        if not found:
            return ""
        first, blank = found[0], commission.blank
        name = blank_code(blank.id) if blank else f"The wood of {commission_code(commission.id)}"
        return (
            f"{name} is {first.key}: {first.reason}. Its dust can harm as well:"
            f" do not sand it before you know. {first.advice}"
        )


def override(studio: Studio, which: str, reason: str) -> list[HazardView]:
    """Set aside what blocks a held blank, for the job it is held for, with the reason.

    Raises
    ------
    NotAllowed
        If it is not held, or nothing blocks it.
    """
    with studio.writing("blank.override") as (book, entry):
        blank = find_blank(book, which)
        job, code = blank.commission, blank_code(blank.id)
        if job is None:
            raise NotAllowed(f"{code} is not held for a job", "Hold it with ", Do("hold.override"))
        blocking = [one for one in of_blank(book, blank) if one.blocks]
        if not blocking:
            raise NotAllowed(f"Nothing blocks {code}", "Nothing to do")
        said = _override(book, blank, job, blocking, reason, studio.now())
        entry.says(f"{code} for '{job.title}': {said}", job.id)
        return of_blank(book, blank)


def note(studio: Studio, which: str, kinds: list[str], words: str = "") -> list[HazardView]:
    """Put on record what is the matter with a blank.

    Parameters
    ----------
    studio : Studio
    which : str
    kinds : list of str
        Conditions, or other words for them (chipboard, varnished).
    words : str
        Anything worth remembering of it.

    Returns
    -------
    list of HazardView
        All its hazards now.

    Raises
    ------
    BadInput
        If there is no such condition.
    NotAllowed
        If it is on record already.
    """
    wanted = [hazards.read_condition(kind) for kind in kinds]
    with studio.writing("blank.condition") as (book, entry):
        blank = find_blank(book, which)
        code = blank_code(blank.id)
        known = {row.kind for row in blank.conditions}
        for condition in dict.fromkeys(wanted):
            if condition in known:
                raise NotAllowed(f"{code} is {condition} already", "Nothing to do")
            blank.conditions.append(
                BlankCondition(kind=str(condition), note=cleaned_note(words), noted_at=studio.now())
            )
        book.flush()
        names = ", ".join(dict.fromkeys(wanted))
        job = blank.commission
        entry.says(f"Noted that {code} is {names}", job.id if job else None)
        return of_blank(book, blank)


def clear(studio: Studio, which: str, kind: str, reason: str) -> list[HazardView]:
    """Take back what was the matter with a blank, with the reason.

    With it goes why it was set aside: found again, it needs a reason of its own.

    Raises
    ------
    BadInput
        If there is no such condition, or no reason.
    NotAllowed
        If the blank does not have it.
    """
    condition, why = hazards.read_condition(kind), cleaned(reason, "reason")
    with studio.writing("blank.clear") as (book, entry):
        blank = find_blank(book, which)
        code = blank_code(blank.id)
        row = next((row for row in blank.conditions if row.kind == condition), None)
        if row is None:
            raise NotAllowed(f"{code} is not on record as {condition}", "Nothing to do")
        blank.conditions.remove(row)
        still = {one.key for one in of_blank(book, blank)}
        for aside in [one for one in blank.overrides if one.hazard == condition]:
            if aside.hazard not in still:
                blank.overrides.remove(aside)
        book.flush()
        job = blank.commission
        entry.says(f"{code} is no longer {condition}: {why}", job.id if job else None)
        return of_blank(book, blank)
