"""The open jobs: what is due, what is next, what is late or at risk.

Closed ones of which money is open stay with them until that is settled.
"""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from sqlalchemy.orm import Session

from burnplan.dates import format_date, format_day
from burnplan.desk.derived import balances, hazards_found, job_status, piece, studio_settings
from burnplan.desk.derived.job_status import HoursLeft, JobStatus
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.studio import free_hours
from burnplan.desk.studio.lookup import client_number, find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from burnplan.reckon.lateness import Course, course_of, days_late
from burnplan.reckon.stages import Stage
from burnplan.sentences import Do
from burnplan.units import format_chance
from burnplan.view import View


class JobFilter(NamedTuple):
    """Which open jobs are asked for; None for all."""

    stage: Stage | None = None
    client: str | None = None
    due_from: date | None = None
    due_until: date | None = None
    owed: bool = False


_BLOCKED = "must not be burned"
PHOTO_OPEN = "the photo's use is not allowed yet"
"""What is said of a job that is booked before whoever took its photo allowed its use."""


class JobView(View):
    """A job, as reviewed; ``on_time`` is the chance to meet its due date."""

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
    # Whether money should be in by now, or given back.
    money_due: bool = False
    # Whether it is booked and planned from a photo whose use is not allowed yet.
    photo_open: bool = False

    @property
    def blocked(self) -> bool:
        """Whether its wood must not be burned."""
        return self.attention.startswith(_BLOCKED)

    @property
    def money_why(self) -> str:
        """Why money should be in by now or given back, whatever else needs attention."""
        return money_words(self.stage, self.balance)


def money_words(stage: Stage, owed: Decimal) -> str:
    """Return why money of a job is open, in words."""
    if stage is Stage.DELIVERED:
        return "delivered: balance due"
    if stage is Stage.DROPPED:
        return f"dropped: {'what was agreed is not paid' if owed > 0 else 'to be given back'}"
    if stage is Stage.READY:
        return "ready: balance due"
    return "deposit not in" if stage is Stage.PRICED else "instalment due"


def _next_step(looked: JobStatus) -> str:
    commission, stage = looked.commission, looked.stage
    if not commission.is_open:
        owed = balances.balance(commission) > 0
        return "collect what is owed, or write it off" if owed else "give it back"
    if commission.paused_on:
        return f"set aside: {commission.pause_reason}"
    if _blocked(looked):
        return "make sure of its wood before anything else"
    quote = balances.agreed_quote(commission)
    if stage is Stage.ENQUIRY:
        return "issue a quote" if commission.references else "add the reference photo"
    if stage is Stage.PRICED and quote is not None:
        return "collect the deposit" if quote.accepted_on else "get the quote accepted"
    return looked.standing.next_step or "hand it over"


def _blocked(looked: JobStatus) -> str:
    """Return the key of what keeps an open job's wood from being burned; empty if nothing does."""
    found = hazards_found.blocking(looked.commission) if looked.commission.is_open else []
    return found[0].key if found else ""


def _attention(
    looked: JobStatus, chance: float | None, owed: Decimal, today: date, *, photo_open: bool
) -> tuple[int, str]:
    """Return how urgent a job is (least first) and why, in words."""
    commission, stage = looked.commission, looked.stage
    due, quote = commission.due_on, balances.agreed_quote(commission)
    if stage in (Stage.DELIVERED, Stage.DROPPED):
        return 3, money_words(stage, owed)
    if blocked := _blocked(looked):
        return -1, f"{_BLOCKED}: {blocked}"
    if commission.paused_on:
        return 8, "set aside"
    if (days := days_late(due, today)) and stage is not Stage.READY:
        return 0, f"{days} day{'s' if days != 1 else ''} late"
    if stage is Stage.READY:
        return 3, money_words(stage, owed) if owed > 0 else "ready: hand it over"
    course = Course.ON_COURSE if chance is None else course_of(chance)
    if chance is not None and due and course is not Course.ON_COURSE:
        return (1 if course is Course.LIKELY_LATE else 2), (
            f"{course}: {format_chance(chance)} chance for {format_date(due, today)}"
        )
    if quote is not None and not piece.is_quoted(quote, commission):
        return 4, "quoted for another size or wood"
    if not piece.is_planned(commission):
        return 4, "planned for another size or wood"
    if stage is Stage.PRICED and quote is not None:
        if quote.accepted_on:
            return 4, money_words(stage, owed)
        if quote.valid_until < today:
            return 4, "quote expired"
        return 6, f"quote open until {format_date(quote.valid_until, today)}"
    if balances.overdue(commission, stage) > 0:
        return 4, money_words(stage, owed)
    if stage is Stage.ENQUIRY:
        return 5, "no quote yet"
    if looked.left is None:
        return 5, "no reference: hours unknown"
    if looked.judged:
        return 6, "hours as judged by eye"
    return 7, PHOTO_OPEN if photo_open else ""


def _money_due(looked: JobStatus, owed: Decimal) -> bool:
    """Return whether something should be paid by now: deposit, instalment, balance, what is due.

    Nothing is, of a price that nobody has agreed to.
    """
    commission, stage = looked.commission, looked.stage
    if stage in (Stage.DELIVERED, Stage.DROPPED):
        return owed != 0
    return balances.overdue(commission, stage) > 0 or (stage is Stage.READY and owed > 0)


def _chances(
    book: Session, looked: list[JobStatus], own: Settings, studio: Studio
) -> Mapping[str, float | None]:
    """Return the chance of each job in the queue to be on time; None if its hours are unknown."""
    waiting = [one for one in looked if one.in_queue]
    if not waiting:
        return {}
    from burnplan.reckon.job_queue import chances

    found = chances(
        [job_status.queued(one, own) for one in waiting], free_hours.ahead(book, own, studio)
    )
    return {one.key: found[one.key] if one.left is not None else None for one in waiting}


def review(studio: Studio, only: JobFilter | None = None) -> list[JobView]:
    """Return the open jobs, those that need attention first.

    Closed ones of which money is open are among them.
    Booked jobs are worked earliest due date first, in the hours free on each
    day; a job's chance to be on time counts those before it, whether asked for
    or not.

    Raises
    ------
    BadInput
        If the window of due dates ends before it begins.
    NotFound
        If no client is called that.
    """
    only = only or JobFilter()
    if only.due_from and only.due_until and only.due_until < only.due_from:
        raise BadInput(
            f"{format_day(only.due_until)} is before {format_day(only.due_from)}",
            "Give the earlier date to ",
            Do("review.due_from"),
        )
    with studio.reading() as book:
        own, today, now = studio_settings.of_book(book), studio.today(), studio.now()
        client = None if only.client is None else client_number(book, only.client)
        looked = job_status.open_statuses(book, now)
        on_time = _chances(book, looked, own, studio)
        unallowed = piece.not_allowed(book)
        ranked = []
        for one in (*looked, *job_status.unsettled_statuses(book, now)):
            commission = one.commission
            chance, owed = on_time.get(one.key), balances.balance(commission)
            if not _asked_for(one, only, client, owed):
                continue
            photo_open = commission.id in unallowed and one.stage in job_status.IN_QUEUE
            urgency, attention = _attention(one, chance, owed, today, photo_open=photo_open)
            view = JobView(
                code=one.key,
                title=commission.title,
                client=commission.client.name if commission.client else None,
                stage=one.stage,
                due=commission.due_on if commission.is_open else None,
                hours_done=sum(session.hours(now) for session in commission.sessions),
                hours_left=one.hours_left,
                on_time=chance,
                balance=owed,
                currency=balances.currency_of(commission, own.currency),
                next_step=_next_step(one),
                attention=attention,
                paused=commission.paused_on is not None,
                money_due=_money_due(one, owed),
                photo_open=photo_open,
            )
            ranked.append((urgency, commission.due_on or date.max, commission.id, view))
    return [view for *_, view in sorted(ranked, key=lambda row: row[:3])]


def _asked_for(one: JobStatus, only: JobFilter, client: int | None, owed: Decimal) -> bool:
    commission = one.commission
    due = commission.due_on
    return (
        (only.stage is None or one.stage == only.stage)
        and (client is None or (commission.client is not None and commission.client.id == client))
        and (only.due_from is None or (due is not None and due >= only.due_from))
        and (only.due_until is None or (due is not None and due <= only.due_until))
        and (not only.owed or owed > 0)
    )


def progress(studio: Studio, which: str) -> str:
    """Return an open job's progress as a sentence; empty where its hours are not known."""
    with studio.reading() as book:
        wanted = find_commission(book, which)
        now = studio.now()
        looked = job_status.status_of(wanted, now)
        if looked.stage in (Stage.DELIVERED, Stage.DROPPED):
            return ""
        chance = None
        if looked.in_queue and wanted.due_on is not None:
            own, everybody = studio_settings.of_book(book), job_status.open_statuses(book, now)
            on_time = _chances(book, everybody, own, studio)
            chance = on_time.get(looked.key)
        return job_status.progress_words(looked, chance, now, studio.today())
