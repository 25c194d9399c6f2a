"""Burn sessions: a clock that runs on when the terminal is closed, or hours after the fact."""

from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned_line, cleaned_note
from burnplan.codes import commission_code
from burnplan.dates import format_moment
from burnplan.desk.derived import hazards_found, studio_settings
from burnplan.desk.studio.lookup import find_commission, refuse_closed
from burnplan.desk.studio.paging import ALL, ListPage
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.ledger.models import BurnSession, Commission, Interval
from burnplan.reckon.checklist import Phase
from burnplan.reckon.day_plan import STRETCH, stretch_began
from burnplan.sentences import Do
from burnplan.units import format_hours
from burnplan.view import View
from burnplan.wood import cautions
from burnplan.wood.cautions import Moment
from burnplan.zone_names import LETTERING, zone_name

WorkName = Literal["prepare", "transfer", "burn", "finish"]

WORK_ON = "Work on another one, or undo that"

# Longer is not one sitting.
LONGEST = timedelta(hours=24)  # a day, by definition

# A clock that ran longer without a pause was probably forgotten.
LONG_INTERVAL = timedelta(hours=6)  # a guess: nobody burns so long at a stretch


class Doing(View):
    """What is done in a session and with what."""

    work: WorkName = "burn"
    zone: int | None = None
    tip: str = ""
    heat: str = ""
    note: str = ""


class SessionView(View):
    """A session, as shown; times are UTC."""

    number: int
    code: str
    title: str
    work: WorkName
    zone: int | None
    tip: str
    heat: str
    note: str
    state: Literal["running", "paused", "done"]
    started_at: datetime
    ended_at: datetime | None
    hours: float
    replaced_by: int | None = None
    replace_reason: str | None = None
    # Why its hours teach the pace nothing; None if they do.
    set_aside: str | None = None
    # Why the piece that it was on is spoiled; None if it is on the piece as it is.
    spoiled: str | None = None


def view_of(session: BurnSession, now: datetime) -> SessionView:
    """Return a session on record as it is shown."""
    last = session.newest_interval()
    state = "done" if session.closed else "running" if last.ended_at is None else "paused"
    return SessionView(
        number=session.id,
        code=commission_code(session.commission_id),
        title=session.commission.title,
        work=session.work,
        zone=session.zone,
        tip=session.tip,
        heat=session.heat,
        note=session.note,
        state=state,
        started_at=session.intervals[0].started_at,
        ended_at=last.ended_at,
        hours=session.hours(now),
        replaced_by=session.replaced_by_id,
        replace_reason=session.replace_reason,
        set_aside=session.set_aside,
        spoiled=session.spoiled.reason if session.spoiled else None,
    )


def next_work(studio: Studio, which: str, zone: int | None = None) -> WorkName:
    """Return what a sitting counts as where nobody says: as its zone, or the next open step."""
    if zone is not None:
        return "burn"
    with studio.reading() as book:
        steps = find_commission(book, which).steps
        return work_of(next((step.phase for step in steps if not step.settled), Phase.BURN))


def work_of(phase: str) -> WorkName:
    """Return the work of a phase of the checklist; packing is of the finish."""
    works: dict[str, WorkName] = {
        Phase.PREPARE: "prepare",
        Phase.TRANSFER: "transfer",
        Phase.BURN: "burn",
        Phase.FINISH: "finish",
        Phase.HANDOVER: "finish",
    }
    return works[phase]


def times_of(studio: Studio, view: SessionView) -> str:
    """Return the day and the times of a session, here: 'Tue 24 Nov, 16:30 to 18:00'."""
    begun = studio.local(view.started_at)
    ended = studio.local(view.ended_at or studio.now())
    until = (
        f"{ended:%H:%M}" if ended.date() == begun.date() else format_moment(ended, studio.today())
    )
    return f"{format_moment(begun, studio.today())} to {until}"


def to_mind(studio: Studio, view: SessionView, moment: Moment, *, short: bool = False) -> list[str]:
    """Return what to mind as a sitting begins, pauses or ends; in full the first time.

    With ``short`` never in full. As burning or sanding begins, also what of the job's wood
    was set aside or is to be asked.
    """
    with studio.reading() as book:
        others = select(BurnSession.id).where(
            BurnSession.work == view.work, BurnSession.id != view.number
        )
        first = book.scalars(others.limit(1)).first() is None
        own = studio_settings.of_book(book).wording.own
        said = [*map(own, cautions.at(view.work, moment, in_full=first and not short))]
        if moment is Moment.START and view.work in ("burn", "prepare"):
            found = hazards_found.of_job(book, find_commission(book, view.code))
            said += [one.in_words() for one in found if one.said_first]
        if moment is Moment.START and (reason := find_commission(book, view.code).pause_reason):
            said.append(f"It was set aside: {reason}")
    if moment is Moment.START and (due := break_due(studio)) is not None:
        at = "now" if due <= studio.now() else f"at {studio.local(due):%H:%M}"
        said.append(f"Take a break {at}: eyes, hands and air")
    return said


def overlap(studio: Studio, number: int) -> str:
    """Return which other sittings of the studio were at the time of one, in words.

    Empty if none was: one pair of hands sits at one piece.
    """
    with studio.reading() as book:
        now, others = studio.now(), dict[int, SessionView]()
        for interval in book.scalars(select(Interval).where(Interval.session_id == number)):
            query = (
                select(BurnSession)
                .join(BurnSession.intervals)
                .where(
                    BurnSession.id != number,
                    BurnSession.replaced_by_id.is_(None),
                    Interval.started_at < (interval.ended_at or now),
                    Interval.ended_at.is_(None) | (Interval.ended_at > interval.started_at),
                )
                .order_by(BurnSession.id)
            )
            others |= {other.id: view_of(other, now) for other in book.scalars(query)}
        said = [
            f"{other.number} on '{other.title}', {times_of(studio, other)}"
            for other in others.values()
        ]
    return f"Overlaps session {'; session '.join(said[:3])}" if said else ""


def refuse_too_long(length: timedelta) -> None:
    """Refuse, by a BadInput, what is longer than one sitting can be."""
    if length > LONGEST:
        hours = format_hours(length / timedelta(hours=1))
        raise BadInput(f"{hours} is more than a day", "Log each sitting by itself, with its end")


def new_session(
    commission: Commission, doing: Doing, wrong: BurnSession | None = None
) -> BurnSession:
    """Make a session without its times; ``wrong`` is the one it corrects, on the same piece.

    What was not wrong of that one stays, though the piece would not have it today.

    Raises
    ------
    NotAllowed
        If it would burn what must not be burned.
    BadInput
        If the piece has no such zone.
    """
    before = wrong.work if wrong else ""
    if doing.work == "burn" != before:
        hazards_found.refuse(commission)
    zones = commission.references[-1].zones if commission.references else None
    lettering = doing.zone == LETTERING and bool(commission.lettering)
    known = lettering or (wrong is not None and doing.zone == wrong.zone)
    if doing.zone is not None and not known and not 1 <= doing.zone <= (zones or 9):
        raise BadInput(
            f"There is no zone {doing.zone}",
            f"{commission_code(commission.id)} has zones 1 to {zones or 9}, 1 darkest",
        )
    return BurnSession(
        commission=commission,
        work=doing.work,
        zone=doing.zone,
        tip=cleaned_line(doing.tip)[:80],
        heat=cleaned_line(doing.heat)[:40],
        note=cleaned_note(doing.note),
        closed=False,
        intervals=[],
    )


def _running(book: Session) -> Interval | None:
    return book.scalars(select(Interval).where(Interval.running == 1)).first()


def _refuse_running(book: Session) -> None:
    if interval := _running(book):
        commission = interval.session.commission
        raise NotAllowed(
            f"The clock is running for {commission_code(commission.id)} '{commission.title}'",
            "Stop or pause it first: ",
            Do("session.stop"),
        )


def start(studio: Studio, which: str, doing: Doing) -> SessionView:
    """Start the clock on a commission.

    Raises
    ------
    NotAllowed
        If the clock runs already, the commission is closed, or its blank must
        not be burned.
    """
    with studio.writing("session.start") as (book, entry):
        _refuse_running(book)
        commission = find_commission(book, which)
        refuse_closed(commission, WORK_ON)
        session = new_session(commission, doing)
        session.intervals.append(Interval(started_at=studio.now(), running=1))
        book.add(session)
        book.flush()
        entry.says(f"Started the clock on '{commission.title}'", commission.id)
        return view_of(session, studio.now())


def _end(interval: Interval, at: datetime, now: datetime) -> None:
    if at > now:
        raise BadInput("That is still to come", "Give a time up to now, like 'yesterday 18:30'")
    if at < interval.started_at:
        raise BadInput("The clock was not running then", "Give a time after it was started")
    interval.ended_at, interval.running = at, None


def pause(studio: Studio) -> SessionView:
    """Pause the running clock.

    Raises
    ------
    NotFound
        If no clock runs.
    """
    with studio.writing("session.pause") as (book, entry):
        interval = _running(book)
        if interval is None:
            raise NotFound("No clock is running", "Start one with: ", Do("session.start"))
        # A clock set back since the start must not make time negative.
        now = max(studio.now(), interval.started_at)
        _end(interval, now, now)
        entry.says(f"Paused '{interval.session.commission.title}'", interval.session.commission_id)
        return view_of(interval.session, studio.now())


def _open_session(book: Session) -> BurnSession:
    interval = _running(book)
    query = select(BurnSession).where(BurnSession.closed.is_(False)).order_by(BurnSession.id.desc())
    session = interval.session if interval else book.scalars(query).first()
    if session is None:
        raise NotFound("No session is open", "Start one with: ", Do("session.start"))
    return session


def resume(studio: Studio) -> SessionView:
    """Let the clock of the paused session run on.

    Raises
    ------
    NotFound
        If no session is paused.
    NotAllowed
        If its clock is running, or the commission is closed.
    """
    with studio.writing("session.resume") as (book, entry):
        _refuse_running(book)
        session = _open_session(book)
        refuse_closed(session.commission, WORK_ON)
        if session.work == "burn":
            hazards_found.refuse(session.commission)
        session.intervals.append(Interval(started_at=studio.now(), running=1))
        book.flush()
        entry.says(f"Went on with '{session.commission.title}'", session.commission_id)
        return view_of(session, studio.now())


def stop(
    studio: Studio, *, at: datetime | None = None, note: str = "", done: bool = False
) -> SessionView:
    """Close the open session, running or paused.

    Parameters
    ----------
    studio : Studio
    at : datetime, optional
        Aware; when the clock should have been stopped, if not now.
    note : str
        Added to the session's.
    done : bool
        Whether the zone it was for is done: its step is ticked as well.

    Raises
    ------
    NotFound
        If no session is open.
    BadInput
        If that time cannot be.
    NotAllowed
        If it is done, and was for no zone.
    """
    with studio.writing("session.stop") as (book, entry):
        session = _open_session(book)
        last = session.newest_interval()
        if last.ended_at is None:
            now = max(studio.now(), last.started_at)
            _end(last, at or now, now)
        elif at is not None:
            raise BadInput("The clock is paused", "Stop it without a time")
        session.closed = True
        if note := cleaned_note(note):
            session.note = f"{session.note}\n{note}".strip()
        zone = _tick_zone(session, studio.now()) if done else ""
        hours = session.hours(studio.now())
        entry.says(
            f"Stopped '{session.commission.title}' after {format_hours(hours)}{zone}",
            session.commission_id,
        )
        return view_of(session, studio.now())


def _tick_zone(session: BurnSession, now: datetime) -> str:
    """Tick the steps of the zone that a session was for; return what that adds to its summary."""
    steps = [
        step for step in session.commission.steps
        if session.work == step.phase == Phase.BURN
        and step.zone is not None and step.zone == session.zone
    ]  # fmt: skip
    if not steps:
        code = commission_code(session.commission_id)
        raise NotAllowed(
            f"The session on {code} burns no zone of its checklist", "See its steps: ",
            Do("step.list", job=code),
        )  # fmt: skip
    for step in steps:
        if not step.settled:
            step.ticked_at = now
    return f", and ticked {zone_name(session.zone or 0)}"


def break_due(studio: Studio) -> datetime | None:
    """Return when a break is due, by all work since the last one; None while no clock runs."""
    with studio.reading() as book:
        if _running(book) is None:
            return None
        now = studio.now()
        query = (
            select(Interval.started_at, Interval.ended_at)
            .join(Interval.session)
            .where(
                BurnSession.replaced_by_id.is_(None),
                # A clock that was set back has left intervals that are still to come.
                Interval.started_at.between(now - LONGEST, now),
            )
        )
        return stretch_began((start, end or now) for start, end in book.execute(query)) + STRETCH


def add_note(studio: Studio, note: str) -> SessionView:
    """Add a note to the open session.

    Raises
    ------
    NotFound
        If no session is open.
    BadInput
        If nothing is said.
    """
    if not (note := cleaned_note(note)):
        raise BadInput("There is nothing in the note", "Write what to remember")
    with studio.writing("session.note") as (book, entry):
        session = _open_session(book)
        session.note = f"{session.note}\n{note}".strip()
        entry.says(f"Noted for '{session.commission.title}': {note}", session.commission_id)
        return view_of(session, studio.now())


def log(
    studio: Studio, which: str, length: timedelta, doing: Doing, *, ended: datetime | None = None
) -> SessionView:
    """Put a session on record after the fact.

    Parameters
    ----------
    studio : Studio
    which : str
        The commission.
    length : timedelta
    doing : Doing
    ended : datetime, optional
        Aware; now if not given.

    Raises
    ------
    BadInput
        If it ends in the future, or is longer than a day.
    NotAllowed
        If it burned what must not be burned.
    """
    refuse_too_long(length)
    with studio.writing("session.log") as (book, entry):
        commission = find_commission(book, which)
        if commission.dropped_on:
            refuse_closed(commission, WORK_ON)
        ended = ended or studio.now()
        if ended > studio.now() + timedelta(minutes=1):
            raise BadInput("A session cannot end in the future", "Give when it ended")
        session = new_session(commission, doing)
        session.intervals.append(Interval(started_at=ended - length, ended_at=ended))
        session.closed = True
        book.add(session)
        book.flush()
        hours = format_hours(length.total_seconds() / 3600)
        entry.says(f"Logged {hours} on '{commission.title}'", commission.id)
        return view_of(session, studio.now())


def all_of(
    studio: Studio, which: str | None, *, page: ListPage = ALL, replaced: bool = False
) -> list[SessionView]:
    """Return the newest sessions first, of one commission or of all; also replaced ones."""
    with studio.reading() as book:
        query = select(BurnSession).order_by(BurnSession.id.desc())
        if not replaced:
            query = query.where(BurnSession.replaced_by_id.is_(None))
        if which is not None:
            query = query.where(BurnSession.commission_id == find_commission(book, which).id)
        return [view_of(session, studio.now()) for session in book.scalars(page.of(query))]


def open_now(studio: Studio) -> SessionView | None:
    """Return the session whose clock runs or is paused, if there is one."""
    with studio.reading() as book:
        try:
            return view_of(_open_session(book), studio.now())
        except NotFound:
            return None
