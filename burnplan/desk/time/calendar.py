"""What goes into a calendar: due dates, next coats, planned sessions, quotes that expire."""

import uuid
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from itertools import groupby
from operator import attrgetter
from typing import Literal

from sqlalchemy import exists, select
from sqlalchemy.orm import Session, aliased, contains_eager

from burnplan.codes import commission_code
from burnplan.dates import format_day
from burnplan.desk.derived import balances, job_status, studio_settings
from burnplan.desk.derived.job_status import JobStatus
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import planned_sessions
from burnplan.ledger.models import Commission, FinishCoat, PlannedSession, Step
from burnplan.reckon.stages import Stage
from burnplan.view import View

Kind = Literal["due", "next coat", "session", "quote expires"]

# Names our own kind of identifier; drawn once, never to be changed.
_SPACE = uuid.UUID("4b3f6d1e-5b0c-4a59-9a53-0d9a2f1f6f0e")


class CalendarEntry(View):
    """An entry of a calendar: all day, or from a moment to another (UTC).

    ``uid`` is the same in every export of the same thing.
    """

    uid: str
    kind: Kind
    code: str
    title: str
    summary: str
    details: str
    day: date
    starts_at: datetime | None = None
    ends_at: datetime | None = None


def entries(studio: Studio) -> list[CalendarEntry]:
    """Return the entries of all open jobs, in order of time."""
    with studio.reading() as book:
        found = [*_next_coats(book, studio), *_sessions(book, studio)]
        for looked in job_status.open_statuses(book, studio.now()):
            found += [*_due(looked), *_quote(looked)]
    return sorted(found, key=_when)


def next_coats(studio: Studio) -> list[CalendarEntry]:
    """Return the coats that may follow on those laid, in order of time."""
    with studio.reading() as book:
        return sorted(_next_coats(book, studio), key=_when)


def _when(one: CalendarEntry) -> tuple[date, str, str]:
    return one.day, one.starts_at.isoformat() if one.starts_at else "", one.uid


def _uid(commission: Commission, what: str) -> str:
    """Return an identifier that no other book gives to anything.

    A commission's number is its book's own; the moment it was logged is not.
    """
    name = f"{commission.added_at.isoformat()} {commission.id} {what}"
    return f"{uuid.uuid5(_SPACE, name)}@burnplan"


def _for_whom(commission: Commission) -> str:
    return f" for {commission.client.name}" if commission.client else ""


def _due(looked: JobStatus) -> Iterator[CalendarEntry]:
    commission = looked.commission
    if commission.due_on is None:
        return
    yield CalendarEntry(
        uid=_uid(commission, "due"),
        kind="due",
        code=looked.key,
        title=commission.title,
        summary=f"Due: {commission.title}{_for_whom(commission)}",
        details=f"{looked.key}, {looked.stage.value}",
        day=commission.due_on,
    )


def _quote(looked: JobStatus) -> Iterator[CalendarEntry]:
    commission = looked.commission
    quote = balances.agreed_quote(commission)
    if looked.stage is not Stage.PRICED or quote is None or quote.accepted_on:
        return
    yield CalendarEntry(
        uid=_uid(commission, f"quote {quote.version}"),
        kind="quote expires",
        code=looked.key,
        title=commission.title,
        summary=f"Quote expires: {commission.title}{_for_whom(commission)}",
        details=f"{looked.key}, quote {quote.version} of {format_day(quote.issued_on)}",
        day=quote.valid_until,
    )


def _next_coats(book: Session, studio: Studio) -> Iterator[CalendarEntry]:
    drying_days, waits = studio_settings.of_book(book).drying_days, _waits(book)
    for commission, coats in _coats(book):
        wait = waits.get(commission.id, {})
        yield from _next_coat(commission, coats, wait, studio, drying_days)


def _coats(book: Session) -> Iterator[tuple[Commission, list[Step]]]:
    """Yield the open jobs with a coat laid, each with the steps that are coats, in order."""
    coat = aliased(Step)
    laid = exists().where(
        coat.commission_id == Commission.id,
        coat.key.startswith("coat-"),
        coat.ticked_at.is_not(None),
    )
    query = select(Step).join(Step.commission).where(Commission.is_open, laid)
    query = query.where(Step.key.startswith("coat-")).options(contains_eager(Step.commission))
    steps = book.scalars(query.order_by(Step.commission_id, Step.position, Step.id))
    for _, some in groupby(steps, attrgetter("commission_id")):
        coats = [*some]
        yield coats[0].commission, coats


def _waits(book: Session) -> dict[int, dict[str, timedelta]]:
    """Return by commission and step how long a coat is left alone, as its label says."""
    waits: dict[int, dict[str, timedelta]] = {}
    query = select(FinishCoat).join(FinishCoat.commission).where(Commission.is_open)
    for coat in book.scalars(query):
        steps = waits.setdefault(coat.commission_id, {})
        steps[f"coat-{coat.position}"] = timedelta(hours=coat.next_coat_hours)
    return waits


def _next_coat(
    commission: Commission,
    coats: list[Step],
    waits: dict[str, timedelta],
    studio: Studio,
    drying_days: int,
) -> Iterator[CalendarEntry]:
    """Give the coat that may follow the last one laid: by its label, else after the drying days."""
    if commission.paused_on is not None:
        return
    laid = [step for step in coats if step.ticked_at is not None]
    following = next((step for step in coats if not step.settled), None)
    if not laid or following is None:
        return
    number = following.key.removeprefix("coat-")
    last = max(laid, key=lambda step: step.ticked_at or commission.added_at)
    if last.ticked_at is None:  # only said for the type: it is among those laid
        return
    wait = waits.get(last.key, timedelta(days=drying_days))
    yield CalendarEntry(
        uid=_uid(commission, f"coat {number}"),
        kind="next coat",
        code=commission_code(commission.id),
        title=commission.title,
        summary=f"Coat {number} may be laid: {commission.title}",
        details=f"{commission_code(commission.id)}: only if the coat before is dry, "
        "as its label says",
        day=studio.local(last.ticked_at + wait).date(),
    )


def _sessions(book: Session, studio: Studio) -> Iterator[CalendarEntry]:
    # What was planned lately stays, so that a newer file does not look like a change of plan.
    lately = studio.now() - timedelta(days=31)
    query = select(PlannedSession).where(PlannedSession.starts_at > lately)
    for row in book.scalars(query.order_by(PlannedSession.starts_at, PlannedSession.id)):
        commission = row.commission
        if not commission.is_open or commission.paused_on is not None:
            continue
        one = planned_sessions.view(row)
        yield CalendarEntry(
            uid=f"{row.uid}@burnplan",
            kind="session",
            code=one.code,
            title=one.title,
            summary=f"{one.doing.capitalize()}: {one.title}",
            details=one.note,
            day=studio.local(one.starts_at).date(),
            starts_at=one.starts_at,
            ends_at=one.ends_at,
        )
