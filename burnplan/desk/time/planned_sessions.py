"""Planned sessions: sittings laid into the days to come, with breaks."""

import uuid
from datetime import date, datetime, time, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session, contains_eager

from burnplan.cleaned import cleaned_note
from burnplan.codes import commission_code
from burnplan.desk.derived import (
    checklist_progress,
    hazards_found,
    job_status,
    studio_settings,
)
from burnplan.desk.jobs.sessions import WorkName
from burnplan.desk.studio import free_hours
from burnplan.desk.studio.lookup import find_commission, refuse_closed
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.ledger.models import Commission, PlannedSession
from burnplan.reckon import day_plan
from burnplan.reckon.day_plan import Day, Sitting
from burnplan.reckon.free_hours import FreeHours
from burnplan.reckon.work import Work
from burnplan.sentences import Do
from burnplan.units import format_hours
from burnplan.view import View

_MINUTE = timedelta(minutes=1)


class PlannedView(View):
    """A planned session; times are UTC, ``breaks`` when each of its breaks begins.

    ``done`` says that no step of its work is open any more.
    """

    number: int
    code: str
    title: str
    work: WorkName
    done: bool
    starts_at: datetime
    ends_at: datetime
    minutes: int
    breaks: list[datetime]
    note: str

    @property
    def doing(self) -> str:
        """Its work, and whether that is done by now."""
        return f"{self.work}, done already" if self.done else self.work


def view(row: PlannedSession) -> PlannedView:
    """Return a planned session as shown."""
    pauses = day_plan.breaks_for(row.minutes) if row.break_minutes else []
    return PlannedView.of(
        row,
        number=row.id,
        code=commission_code(row.commission_id),
        title=row.commission.title,
        done=checklist_progress.of(row.commission).phase(row.work).complete,
        ends_at=_sitting(row).ends_at,
        breaks=[row.starts_at + pause for pause in pauses],
    )


def _row(one: Sitting, note: str = "") -> PlannedSession:
    return PlannedSession(
        commission_id=one.job,
        work=one.work.value,
        starts_at=one.starts_at,
        minutes=round(one.length / _MINUTE),
        break_minutes=round(one.breaks / _MINUTE),
        note=cleaned_note(note),
        uid=str(uuid.uuid4()),
    )


def _sitting(row: PlannedSession) -> Sitting:
    length, breaks = row.minutes * _MINUTE, row.break_minutes * _MINUTE
    return Sitting(row.commission_id, Work(row.work), row.starts_at, length, breaks)


def _to_come(book: Session, since: datetime) -> list[PlannedSession]:
    """Return the planned sessions that end after a moment, in order.

    Those of jobs that are closed or set aside are not among them.
    """
    # A session lasts a day and a half at most with its breaks.
    query = (
        select(PlannedSession)
        .join(PlannedSession.commission)
        .options(contains_eager(PlannedSession.commission).selectinload(Commission.steps))
        .where(
            Commission.is_open,
            Commission.paused_on.is_(None),
            PlannedSession.starts_at > since - timedelta(days=2),
        )
        .order_by(PlannedSession.starts_at, PlannedSession.id)
    )
    return [row for row in book.scalars(query) if _sitting(row).ends_at > since]


def add(
    studio: Studio,
    which: str,
    starts_at: datetime,
    length: timedelta,
    work: WorkName = "burn",
    note: str = "",
) -> PlannedView:
    """Plan one session of a commission.

    Parameters
    ----------
    studio : Studio
    which : str
    starts_at : datetime
        Aware.
    length : timedelta
        Of the work; breaks come on top.
    work, note : str

    Raises
    ------
    BadInput
        If it is past, or longer than a day.
    NotAllowed
        If the commission is closed or set aside, or another session is planned then.
    """
    if starts_at < studio.now():
        raise BadInput("That is past", "Log hours worked with: ", Do("session.log"))
    if length > timedelta(hours=12):
        raise BadInput("That is longer than a day at the bench", "Plan several sessions")
    with studio.writing("session.plan") as (book, entry):
        commission = find_commission(book, which)
        refuse_closed(commission, "Plan another one")
        if commission.paused_on is not None:
            raise NotAllowed(
                f"{commission_code(commission.id)} is set aside", "Take it up again first"
            )
        if work == "burn":
            hazards_found.refuse(commission)
        wanted = day_plan.sitting(commission.id, Work(work), starts_at, length)
        row = _row(wanted, note)
        for other in _to_come(book, starts_at):
            if other.starts_at < wanted.ends_at:
                raise NotAllowed(
                    f"Session {other.id} for '{other.commission.title}' is planned then",
                    "Choose another time, or take it out: ",
                    Do("session.unplan", session=other.id),
                )
        book.add(row)
        book.flush()
        hours = format_hours(row.minutes / 60)
        entry.says(f"Planned {hours} on '{commission.title}'", commission.id)
        return view(row)


def remove(studio: Studio, number: int) -> PlannedView:
    """Take a planned session out.

    Raises
    ------
    NotFound
        If there is none of that number.
    """
    with studio.writing("session.unplan") as (book, entry):
        row = book.get(PlannedSession, number)
        if row is None:
            raise NotFound(f"No session {number} is planned", "See ", Do("session.planned"))
        gone = view(row)
        entry.says(f"Took a session on '{row.commission.title}' out", row.commission_id)
        book.delete(row)
        return gone


def overlapping(studio: Studio, which: str) -> list[PlannedView]:
    """Return the planned sessions of a commission at whose time another's are planned too."""
    with studio.reading() as book:
        number, rows = find_commission(book, which).id, _to_come(book, studio.now())
        sittings = [_sitting(row) for row in rows]
        return [
            view(row)
            for row, own in zip(rows, sittings, strict=True)
            if row.commission_id == number
            and any(
                one.job != number and one.starts_at < own.ends_at and own.starts_at < one.ends_at
                for one in sittings
            )
        ]


def on_days(studio: Studio, first: date, last: date) -> list[PlannedView]:
    """Return the planned sessions to come that begin on one of some days, here."""
    return [
        one
        for one in since(studio, studio.now())
        if first <= studio.local(one.starts_at).date() <= last
    ]


def since(studio: Studio, moment: datetime) -> list[PlannedView]:
    """Return the planned sessions that end after a moment, in order."""
    with studio.reading() as book:
        return [view(row) for row in _to_come(book, moment)]


def lay_out(
    studio: Studio,
    days: int = 7,  # a week, by definition of the command
    starting: time = time(9),  # common practice, no source
) -> list[PlannedView]:
    """Lay the queue into the hours free of the days to come, earliest due date first.

    What is planned already stays, and counts. Of each job the median of its
    hours left is laid, stage by stage; a day's burning is limited as set.

    Parameters
    ----------
    studio : Studio
    days : int
        From today on.
    starting : time
        When a day's first session begins, here.

    Returns
    -------
    list of PlannedView
        Those added, in order.

    Raises
    ------
    BadInput
        If it is not between 1 and 60 days.
    """
    if not 1 <= days <= 60:
        raise BadInput(f"{days} days cannot be laid out", "Give between 1 and 60")
    with studio.writing("session.plan") as (book, entry):
        own, now = studio_settings.of_book(book), studio.now()
        ahead = free_hours.ahead(book, own, studio)
        planned = [_sitting(row) for row in _to_come(book, now)]
        waiting = sorted(
            (one for one in job_status.open_statuses(book, now) if one.in_queue),
            key=lambda one: (job_status.queued(one, own).work_due, one.commission.id),
        )
        pieces = day_plan.still_to_lay(
            (
                (one.commission.id, one.left.p50, job_status.median_left(one))
                for one in waiting
                if one.left is not None
            ),
            planned,
        )
        laid = day_plan.lay_out(
            (_day(studio, ahead, n, starting, planned) for n in range(days)), pieces
        )
        made = [_row(one) for one in laid]
        book.add_all(made)
        book.flush()
        hours = format_hours(sum(row.minutes for row in made) / 60)
        entry.says(f"Laid {hours} of work into {days} days")
        return [view(row) for row in sorted(made, key=lambda row: row.starts_at)]


def _day(
    studio: Studio, ahead: FreeHours, number: int, starting: time, planned: list[Sitting]
) -> Day:
    """Return a day of those to come, today the first, with its hours and what it holds."""
    day = studio.today() + timedelta(days=number)
    first = studio.moment(datetime.combine(day, starting))
    return Day(
        begins=day_plan.begins(first, studio.now()),
        ends=studio.midnight(day + timedelta(days=1)),
        free=timedelta(hours=ahead.until(day) - ahead.until(day - timedelta(days=1))),
        burning=timedelta(hours=ahead.burning_on(day)),
        busy=[one for one in planned if studio.local(one.starts_at).date() == day],
    )
