"""Planned sessions: sittings laid into the days to come, with breaks."""

import uuid
from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from math import ceil

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.codes import commission_code
from burnplan.desk.derived import job_status, studio_settings
from burnplan.desk.jobs.sessions import WorkName
from burnplan.desk.studio import free_hours
from burnplan.desk.studio.lookup import cleaned_note, find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.ledger.models import Commission, PlannedSession
from burnplan.reckon.promise import Capacity
from burnplan.reckon.work import Work
from burnplan.units import format_hours
from burnplan.view import View

# Hands, eyes and air (common practice, no source): after so long at a stretch, so long a break.
STRETCH, BREAK = timedelta(minutes=50), timedelta(minutes=10)
# Shorter is not worth sitting down for.
_SHORTEST = timedelta(minutes=30)
_STEP = timedelta(minutes=5)


class PlannedView(View):
    """A planned session; times are UTC, ``breaks`` when each of its breaks begins."""

    number: int
    code: str
    title: str
    work: WorkName
    starts_at: datetime
    ends_at: datetime
    minutes: int
    breaks: list[datetime]
    note: str


def breaks_for(minutes: int) -> list[timedelta]:
    """Return when breaks are due in some minutes of work, counted from its beginning.

    A last stretch of up to half as long again is finished without one.

    Examples
    --------
    >>> [int(at.total_seconds() // 60) for at in breaks_for(150)]
    [50, 110]
    >>> breaks_for(75)
    []
    """
    length = timedelta(minutes=minutes)
    found: list[timedelta] = []
    worked = STRETCH
    while length - worked > STRETCH / 2:
        found.append(worked + len(found) * BREAK)
        worked += STRETCH
    return found


def _view(row: PlannedSession) -> PlannedView:
    pauses = breaks_for(row.minutes) if row.break_minutes else []
    return PlannedView(
        number=row.id,
        code=commission_code(row.commission_id),
        title=row.commission.title,
        work=row.work,
        starts_at=row.starts_at,
        ends_at=row.starts_at + timedelta(minutes=row.minutes + row.break_minutes),
        minutes=row.minutes,
        breaks=[row.starts_at + pause for pause in pauses],
        note=row.note,
    )


def _row(
    commission: int, work: str, starts_at: datetime, length: timedelta, note: str = ""
) -> PlannedSession:
    minutes = round(length.total_seconds() / 60)
    return PlannedSession(
        commission_id=commission,
        work=work,
        starts_at=starts_at,
        minutes=minutes,
        break_minutes=len(breaks_for(minutes)) * int(BREAK.total_seconds() // 60),
        note=cleaned_note(note),
        uid=str(uuid.uuid4()),
    )


def _end(row: PlannedSession) -> datetime:
    return row.starts_at + timedelta(minutes=row.minutes + row.break_minutes)


def _to_come(book: Session, since: datetime) -> list[PlannedSession]:
    """Return the planned sessions of open jobs that end after a moment, in order."""
    # A session lasts a day and a half at most with its breaks.
    query = (
        select(PlannedSession)
        .join(PlannedSession.commission)
        .where(Commission.is_open, PlannedSession.starts_at > since - timedelta(days=2))
        .order_by(PlannedSession.starts_at, PlannedSession.id)
    )
    return [row for row in book.scalars(query) if _end(row) > since]


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
        If the commission is closed, or another session is planned then.
    """
    if starts_at < studio.now():
        raise BadInput("That is past", "Log hours worked with: burnplan session log")
    if length > timedelta(hours=12):
        raise BadInput("That is longer than a day at the bench", "Plan several sessions")
    with studio.writing("session.plan") as (book, entry):
        commission = find_commission(book, which)
        if not commission.is_open:
            raise NotAllowed(f"{commission_code(commission.id)} is closed", "Plan another one")
        row = _row(commission.id, work, starts_at, length, note)
        for other in _to_come(book, starts_at):
            if other.starts_at < _end(row):
                raise NotAllowed(
                    f"Session {other.id} for '{other.commission.title}' is planned then",
                    f"Choose another time, or take it out: burnplan session unplan {other.id}",
                )
        book.add(row)
        book.flush()
        hours = format_hours(row.minutes / 60)
        entry.says(f"Planned {hours} on '{commission.title}'", commission.id)
        return _view(row)


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
            raise NotFound(f"No session {number} is planned", "See 'burnplan session planned'")
        view = _view(row)
        entry.says(f"Took a session on '{row.commission.title}' out", row.commission_id)
        book.delete(row)
        return view


def since(studio: Studio, moment: datetime) -> list[PlannedView]:
    """Return the planned sessions that end after a moment, in order."""
    with studio.reading() as book:
        return [_view(row) for row in _to_come(book, moment)]


def lay_out(studio: Studio, days: int = 7, starting: time = time(9)) -> list[PlannedView]:
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
        planned = _to_come(book, now)
        looked = job_status.open_statuses(book, studio.now())
        waiting = sorted(
            (one for one in looked if one.in_queue and one.left is not None),
            key=lambda one: (job_status.queued(one, own).work_due, one.commission.id),
        )
        parts = _Parts(waiting, planned)
        made: list[PlannedSession] = []
        for n in range(days):
            day = studio.today() + timedelta(days=n)
            busy = [row for row in planned if studio.local(row.starts_at).date() == day]
            free = timedelta(hours=ahead.until(day) - ahead.until(day - timedelta(days=1)))
            made += _lay_day(studio, ahead.capacity, day, starting, free, busy, parts)
        book.add_all(made)
        book.flush()
        hours = format_hours(sum(row.minutes for row in made) / 60)
        entry.says(f"Laid {hours} of work into {days} days")
        return [_view(row) for row in sorted(made, key=lambda row: row.starts_at)]


class _Parts:
    """The stages of the jobs waiting, in the order worked, and what is left to lay of each."""

    def __init__(
        self, waiting: Iterable[job_status.JobStatus], planned: Iterable[PlannedSession]
    ) -> None:
        self.left: list[tuple[int, Work, timedelta]] = []
        laid: dict[tuple[int, str], timedelta] = {}
        for row in planned:
            key = row.commission_id, row.work
            laid[key] = laid.get(key, timedelta()) + timedelta(minutes=row.minutes)
        for one in waiting:
            rest = job_status.median_left(one)
            whole = sum(rest.values())
            hours = one.left.p50 if one.left else 0.0
            for work in Work:
                share = rest[work] / whole if whole else 0.0
                length = timedelta(hours=hours * share)
                length -= laid.get((one.commission.id, work.value), timedelta())
                if length >= _STEP:
                    self.left.append((one.commission.id, work, length))

    def take(self, most: timedelta, burning: timedelta) -> tuple[int, Work, timedelta] | None:
        """Take the next piece of work that fits; burning only as long as that may be.

        Within a job nothing is done before what comes first.
        """
        held: set[int] = set()
        for n, (commission, work, length) in enumerate(self.left):
            room = min(most, burning) if work is Work.BURN else most
            if commission in held:
                continue
            if room < max(_STEP, min(_SHORTEST, length)):
                held.add(commission)
                continue
            taken = _rounded(min(length, room))
            if taken > room:
                taken -= _STEP
            rest = length - taken
            if rest >= _STEP:
                self.left[n] = commission, work, rest
            else:
                del self.left[n]
            return commission, work, taken
        return None


def _rounded(length: timedelta) -> timedelta:
    return max(1, ceil(length / _STEP)) * _STEP


def _lay_day(
    studio: Studio,
    capacity: Capacity,
    day: date,
    starting: time,
    free: timedelta,
    busy: list[PlannedSession],
    parts: _Parts,
) -> list[PlannedSession]:
    """Return sessions for one day, around those that are planned already."""
    at = studio.moment(datetime.combine(day, starting))
    if at < studio.now():
        # From the next full five minutes on.
        at = studio.now()
        at += timedelta(seconds=-(at.minute * 60 + at.second) % 300, microseconds=-at.microsecond)
    free -= sum((timedelta(minutes=row.minutes) for row in busy), timedelta())
    burning = timedelta(hours=capacity.burning) - sum(
        (timedelta(minutes=row.minutes) for row in busy if row.work == "burn"), timedelta()
    )
    end = studio.moment(datetime.combine(day + timedelta(days=1), time()))
    made: list[PlannedSession] = []
    gaps = _gaps(at, end, busy)
    for begin, until in gaps:
        begin_at = begin
        while free >= _STEP and until - begin_at >= _SHORTEST:
            # Breaks take a sixth of a session at most.
            room = min(free, (until - begin_at) * 5 / 6)
            piece = parts.take(room, burning)
            if piece is None:
                break
            commission, work, length = piece
            row = _row(commission, work.value, begin_at, length)
            made.append(row)
            free -= length
            burning -= length if work is Work.BURN else timedelta()
            begin_at = _end(row) + (BREAK if row.break_minutes or length >= STRETCH else _STEP)
    return made


def _gaps(
    at: datetime, end: datetime, busy: list[PlannedSession]
) -> list[tuple[datetime, datetime]]:
    """Return the stretches between planned sessions."""
    found = []
    for row in sorted(busy, key=lambda row: row.starts_at):
        if row.starts_at > at:
            found.append((at, row.starts_at))
        at = max(at, _end(row))
    return [*found, (at, end)] if at < end else found
