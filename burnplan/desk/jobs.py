"""The open jobs: what is due, what is next, what is late or at risk."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from pydantic import BaseModel
from sqlalchemy import select

from burnplan.dates import format_date
from burnplan.desk import commissions, payments, settings
from burnplan.desk.finding import commission_code
from burnplan.desk.sessions import hours_of
from burnplan.desk.settings import Settings
from burnplan.desk.studio import Studio
from burnplan.ledger.models import Commission
from burnplan.reckon.progress import NOTHING, Left, Waiting, chances_on_time, hours_left
from burnplan.reckon.stages import Stage

# Below the first a job is at risk, below the second it is likely late.
AT_RISK, LIKELY_LATE = 0.8, 0.5
_IN_QUEUE = (
    Stage.BOOKED, Stage.PREPARED, Stage.TRANSFERRED, Stage.BURNING, Stage.FINISHING,
)  # fmt: skip


class HoursLeft(BaseModel):
    """Hours that are enough in half and in four fifths of cases; None if not known."""

    p50: float | None
    p80: float | None


class JobView(BaseModel):
    """An open job, as reviewed; ``on_time`` is the chance to meet its due date."""

    code: str
    title: str
    client: str | None
    stage: Stage
    due: date | None
    hours_done: float
    hours_left: HoursLeft
    on_time: float | None
    balance: Decimal
    currency: str
    next_step: str
    attention: str
    paused: bool


@dataclass(frozen=True, slots=True)
class _Looked:
    """A commission with what was found out about it."""

    commission: Commission
    stage: Stage
    left: Left | None


def _left(commission: Commission, stage: Stage) -> Left | None:
    if stage in (Stage.READY, Stage.DELIVERED):
        return NOTHING
    if not commission.references:
        return None
    return hours_left(commission.references[-1].hours, commissions.settled_shares(commission))


def free_hours(own: Settings, today: date, until: date) -> float:
    """Return the hours free from today to the end of a day."""
    days = (until - today).days + 1
    weeks, rest = divmod(max(0, days), 7)
    weekly = sum(own.hours.values())
    return weeks * weekly + sum(own.free_hours(today + timedelta(days=n)) for n in range(rest))


def _next_step(commission: Commission, stage: Stage) -> str:
    if commission.paused_on:
        return f"set aside: {commission.pause_reason}"
    quote = payments.agreed_quote(commission)
    if stage is Stage.ENQUIRY:
        return "issue a quote" if commission.references else "add the reference photo"
    if stage is Stage.PRICED and quote is not None:
        return "collect the deposit" if quote.accepted_on else "get the quote accepted"
    step = next((s for s in commission.steps if not (s.ticked_at or s.skipped_at)), None)
    return step.text if step else "hand it over"


def _attention(
    looked: _Looked, chance: float | None, owed: Decimal, today: date
) -> tuple[int, str]:
    """Return how urgent a job is (0 most) and why, in words."""
    commission, stage = looked.commission, looked.stage
    due, quote = commission.due_on, payments.agreed_quote(commission)
    if commission.paused_on:
        return 8, "set aside"
    if due and due < today and stage is not Stage.READY:
        days = (today - due).days
        return 0, f"{days} day{'s' if days != 1 else ''} late"
    if stage is Stage.READY:
        return 3, "ready: balance due" if owed > 0 else "ready: hand it over"
    if chance is not None and due and chance < AT_RISK:
        words = "likely late" if chance < LIKELY_LATE else "at risk"
        return (1 if chance < LIKELY_LATE else 2), (
            f"{words}: {chance:.0%} chance for {format_date(due, today)}"
        )
    if stage is Stage.PRICED and quote is not None:
        if quote.accepted_on:
            return 4, "deposit not in"
        if quote.valid_until < today:
            return 4, "quote expired"
        return 6, f"quote open until {format_date(quote.valid_until, today)}"
    if stage is Stage.ENQUIRY:
        return 5, "no quote yet"
    if looked.left is None:
        return 5, "no reference: hours unknown"
    return 7, ""


def review(studio: Studio) -> list[JobView]:
    """Return the open jobs, those that need attention first.

    Booked jobs are worked earliest due date first, in the hours free on each
    weekday; a job's chance to be on time counts those before it.
    """
    query = (
        select(Commission)
        .options(*commissions.with_everything())  # type: ignore[arg-type]
        .where(Commission.delivered_on.is_(None), Commission.dropped_on.is_(None))
    )
    with studio.reading() as book:
        own, today, now = settings.of_book(book), studio.today(), studio.now()
        looked = []
        for commission in book.scalars(query):
            stage = commissions.stage(commission)
            looked.append(_Looked(commission, stage, _left(commission, stage)))
        queue = sorted(
            (one for one in looked if one.stage in _IN_QUEUE and not one.commission.paused_on),
            key=lambda one: (one.commission.due_on or date.max, one.commission.id),
        )
        waiting = [
            Waiting(
                one.left or NOTHING,
                free_hours(own, today, one.commission.due_on) if one.commission.due_on else None,
            )
            for one in queue
        ]
        chances = {
            one.commission.id: chance if one.left is not None else None
            for one, chance in zip(queue, chances_on_time(waiting), strict=True)
        }
        ranked = []
        for one in looked:
            commission = one.commission
            chance, owed = chances.get(commission.id), payments.balance(commission)
            urgency, attention = _attention(one, chance, owed, today)
            quote = payments.agreed_quote(commission)
            view = JobView(
                code=commission_code(commission.id),
                title=commission.title,
                client=commission.client.name if commission.client else None,
                stage=one.stage,
                due=commission.due_on,
                hours_done=sum(hours_of(session, now) for session in commission.sessions),
                hours_left=HoursLeft(
                    p50=one.left.p50 if one.left else None, p80=one.left.p80 if one.left else None
                ),
                on_time=chance,
                balance=owed,
                currency=quote.currency if quote else own.currency,
                next_step=_next_step(commission, one.stage),
                attention=attention,
                paused=commission.paused_on is not None,
            )
            ranked.append((urgency, commission.due_on or date.max, commission.id, view))
    return [view for *_, view in sorted(ranked, key=lambda row: row[:3])]
