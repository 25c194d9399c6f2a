"""Checklists: made for the job, ticked off, skipped with a reason, added to."""

import re
from datetime import datetime
from typing import Literal

from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned
from burnplan.codes import commission_code
from burnplan.dates import format_moment
from burnplan.desk.derived import checklist, hazards_found, studio_settings
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.studio.lookup import OnlyPart, by_name, find_commission, undecided
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import hazards
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.ledger.models import Commission, Sanding, Step
from burnplan.reckon.checklist import Phase, is_sanding
from burnplan.sentences import Do
from burnplan.view import View
from burnplan.wood import finishes

PHASES = tuple(Phase)

# Numbers of steps from one to another, like 4-7.
_RANGE = re.compile(r"\s*(\d{1,9})\s*[-–]\s*(\d{1,9})\s*")


class StepView(View):
    """A step, as shown."""

    number: int
    phase: Phase
    key: str
    text: str
    caution: str
    zone: int | None
    state: Literal["open", "ticked", "skipped"]
    settled_at: datetime | None
    skip_reason: str | None
    not_before: datetime | None = None


class ChecklistView(View):
    """A commission's checklist, as shown; steps are numbered from 1 through all phases."""

    code: str
    title: str
    steps: list[StepView]
    reminder: str = ""


def next_coat_from(commission: Commission, step: Step) -> datetime | None:
    """Return the earliest time for a step that lays a coat over another; None if not known."""
    number = step.key.removeprefix("coat-")
    if number == step.key or not number.isdigit():
        return None
    before = next((one for one in commission.steps if one.key == f"coat-{int(number) - 1}"), None)
    coat = next((one for one in commission.coats if one.position == int(number) - 1), None)
    if before is None or before.ticked_at is None or coat is None:
        return None
    return finishes.next_coat_at(before.ticked_at, coat.next_coat_hours)


def _coat_reminder(studio: Studio, commission: Commission, ticked: list[Step]) -> str:
    """Return what to mind where coats were laid before the ones under them may be covered."""
    early, today = [], studio.today()
    for step in ticked:
        earliest = next_coat_from(commission, step)
        if earliest is not None and studio.now() < earliest:
            number = step.key.removeprefix("coat-")
            when = format_moment(studio.local(earliest), today)
            early.append(f"coat {number} may go on from {when}")
    return f"Too early by the maker's label: {'; '.join(early)}" if early else ""


def _step_view(number: int, step: Step, commission: Commission, own: Settings) -> StepView:
    state = "ticked" if step.ticked_at else "skipped" if step.skipped_at else "open"
    return StepView(
        number=number,
        phase=Phase(step.phase),
        key=step.key,
        text=checklist.words_of(step, own),
        caution=step.caution,
        zone=step.zone,
        state=state,
        settled_at=step.ticked_at or step.skipped_at,
        skip_reason=step.skip_reason,
        not_before=next_coat_from(commission, step),
    )


def _view(commission: Commission, own: Settings, reminder: str = "") -> ChecklistView:
    return ChecklistView(
        code=commission_code(commission.id),
        title=commission.title,
        steps=[
            _step_view(number, step, commission, own)
            for number, step in enumerate(commission.steps, start=1)
        ],
        reminder=reminder,
    )


def of(studio: Studio, which: str, reminder: str = "") -> ChecklistView:
    """Return a commission's checklist, with what to mind."""
    with studio.reading() as book:
        own = studio_settings.of_book(book)
        return _view(find_commission(book, which), own, reminder)


def _chosen(commission: Commission, text: str) -> Step:
    """Return the step meant by its number, its key, its zone (Z3) or its text."""
    steps, wanted = commission.steps, text.strip().lower()
    if wanted.isdecimal() and 1 <= int(wanted) <= len(steps):
        return steps[int(wanted) - 1]
    keyed = [step for step in steps if wanted in (step.key, f"z{step.zone}")]
    if len(keyed) == 1:
        return keyed[0]
    whole, begun = by_name(((n, step.text) for n, step in enumerate(steps, start=1)), text)
    found = whole or begun
    code = commission_code(commission.id)
    if len(found) > 1:
        undecided(text, [f"step {number}" for number in found], f"Give one number of {code}")
    if begun:
        raise OnlyPart(
            text, str(begun[0]), f"step {begun[0]} of {code}, '{steps[begun[0] - 1].text}'"
        )
    if whole:
        return steps[whole[0] - 1]
    raise NotFound(f"{code} has no step '{text}'", "See: ", Do("step.list", job=code))


def _all_chosen(commission: Commission, texts: list[str]) -> list[Step]:
    """Return the steps meant, each once; also ranges of numbers, like 4-7."""
    found: dict[str, Step] = {}
    for text in texts:
        ends = _RANGE.fullmatch(text)
        some = _between(commission, *map(int, ends.groups())) if ends else None
        found |= {step.key: step for step in some or [_chosen(commission, text)]}
    return list(found.values())


def _between(commission: Commission, first: int, last: int) -> list[Step]:
    """Return the steps from one number to another."""
    if first > last:
        raise BadInput(f"'{first}-{last}' runs backwards", f"Write it like {last}-{first}")
    for number in (first, last):
        if not 1 <= number <= len(commission.steps):
            code = commission_code(commission.id)
            raise NotFound(f"{code} has no step {number}", "See: ", Do("step.list", job=code))
    return commission.steps[first - 1 : last]


def _graphite_reminder(commission: Commission) -> str:
    """Return what to mind when burning begins before the lines were sanded back."""
    left = [s for s in commission.steps if s.key == "sand-back" and not checklist.touched(s)]
    if not left:
        return ""
    return "Sand the lines back first: graphite that is burned over is hard to remove"


def before_work(studio: Studio, which: str, work: str) -> str:
    """Return what to mind as work on a job begins; empty where nothing of its own is."""
    about = {"burn": reminder_for, "prepare": hazards.before_sanding}.get(work)
    return about(studio, which) if about else ""


def reminder_for(studio: Studio, which: str) -> str:
    """Return what to mind when burning begins; nothing if all is well."""
    with studio.reading() as book:
        return _graphite_reminder(find_commission(book, which))


def _sand_blank(book: Session, commission: Commission, step: Step, at: datetime | None) -> None:
    """Put a ticked sanding step on the blank's own record, or take it off again."""
    blank = commission.blank
    if blank is None or not (step.key == "raise-grain" or step.key.startswith("sand-")):
        return
    grit = None if step.key == "raise-grain" else step.key.removeprefix("sand-")
    if grit is not None and not grit.isdigit():
        return
    number = int(grit) if grit else None
    there = [row for row in blank.sandings if row.grit == number]
    if at is not None and not there:
        blank.sandings.append(Sanding(grit=number, water=number is None, done_at=at))
    elif at is None and there:
        blank.sandings.remove(there[-1])
        book.delete(there[-1])


def tick_off(book: Session, commission: Commission, steps: list[Step], at: datetime) -> None:
    """Tick steps of a commission off, in a transaction that is open; those that are stay so.

    Raises
    ------
    NotAllowed
        If one burns what must not be burned.
    """
    for step in (one for one in steps if one.ticked_at is None):
        step.ticked_at, step.skipped_at, step.skip_reason = at, None, None
        _sand_blank(book, commission, step, at)
    if any(step.phase == Phase.BURN or step.key == "try-tones" for step in steps):
        hazards_found.refuse(commission)


def tick(studio: Studio, which: str, steps: list[str]) -> ChecklistView:
    """Tick steps off.

    Parameters
    ----------
    studio : Studio
    which : str
        The commission.
    steps : list of str
        Numbers, ranges of them (4-7), zones (Z3), keys or parts of their text.

    Raises
    ------
    NotFound
        If a step is not there; then none is ticked.
    """
    with studio.writing("step.tick") as (book, entry):
        commission = find_commission(book, which)
        chosen = _all_chosen(commission, steps)
        tick_off(book, commission, chosen, studio.now())
        burning = any(step.phase == Phase.BURN for step in chosen)
        early = _coat_reminder(studio, commission, chosen)
        names = "; ".join(_named(step) for step in chosen)
        entry.says(f"Ticked for '{commission.title}': {names}", commission.id)
        reminder = early or (_graphite_reminder(commission) if burning else "")
        sanding = any(is_sanding(step.key) for step in chosen)
    reminder = reminder or (hazards.before_sanding(studio, which) if sanding else "")
    return of(studio, commission_code(commission.id), reminder)


def untick(studio: Studio, which: str, steps: list[str]) -> ChecklistView:
    """Open steps again that were ticked or skipped."""
    with studio.writing("step.untick") as (book, entry):
        commission = find_commission(book, which)
        chosen = _all_chosen(commission, steps)
        for step in chosen:
            if step.ticked_at is not None:  # one skipped put nothing on record
                _sand_blank(book, commission, step, None)
            step.ticked_at = step.skipped_at = step.skip_reason = None
        names = "; ".join(_named(step) for step in chosen)
        entry.says(f"Opened again for '{commission.title}': {names}", commission.id)
    return of(studio, commission_code(commission.id))


def skip(studio: Studio, which: str, step_text: str, reason: str) -> ChecklistView:
    """Skip a step, with the reason.

    Raises
    ------
    BadInput
        If no reason is given.
    NotAllowed
        If the step is ticked.
    """
    with studio.writing("step.skip") as (book, entry):
        commission = find_commission(book, which)
        step = _chosen(commission, step_text)
        if step.ticked_at:
            job, number = commission_code(commission.id), commission.steps.index(step) + 1
            raise NotAllowed(
                f"'{step.text}' is ticked",
                "Untick it first: ",
                Do("step.untick", job=job, step=number),
            )
        step.skip_reason = cleaned(reason, "reason")
        step.skipped_at = studio.now()
        entry.says(f"Skipped for '{commission.title}': {_named(step)}", commission.id)
    return of(studio, commission_code(commission.id))


def _named(step: Step) -> str:
    """Return a step as the history names it: what was typed is in quotes."""
    return f"'{step.text}'" if step.own else step.text


def add(studio: Studio, which: str, text: str, phase: str) -> ChecklistView:
    """Add a step of the artist's own at the end of a phase.

    Raises
    ------
    BadInput
        If the text is empty or there is no such phase.
    """
    if phase not in PHASES:
        raise BadInput(f"There is no phase '{phase}'", f"Phases are {', '.join(PHASES)}")
    with studio.writing("step.add") as (book, entry):
        commission = find_commission(book, which)
        own = sum(step.own for step in commission.steps)
        step = Step(
            phase=phase,
            position=0,
            key=f"own-{own + 1}",
            text=cleaned(text, "step"),
            caution="",
            own=True,
        )
        commission.steps.append(step)
        book.flush()
        checklist.number(commission)
        entry.says(f"Added to '{commission.title}': {step.text}", commission.id)
    return of(studio, commission_code(commission.id))
