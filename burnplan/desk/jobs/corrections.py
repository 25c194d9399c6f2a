"""Sessions on record put right: by a new entry beside the wrong one, or taken out."""

from datetime import datetime, timedelta

from sqlalchemy import select

from burnplan.cleaned import cleaned
from burnplan.desk.jobs.sessions import (
    WORK_ON,
    Doing,
    SessionView,
    WorkName,
    new_session,
    refuse_too_long,
    view_of,
)
from burnplan.desk.studio.lookup import find_commission, find_session, refuse_closed
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed
from burnplan.ledger.models import BurnSession, Interval
from burnplan.sentences import Do
from burnplan.view import View


class Correction(View):
    """What was wrong of a session on record; None for what was right.

    ``job`` is the commission that it was really on; ``no_zone`` says that it was on none.
    """

    job: str | None = None
    work: WorkName | None = None
    zone: int | None = None
    no_zone: bool = False
    tip: str | None = None
    heat: str | None = None
    note: str | None = None
    length: timedelta | None = None
    ended: datetime | None = None


def correct(studio: Studio, number: int, right: Correction, reason: str) -> SessionView:
    """Put a session right by a new entry; the wrong one stays on record, but counts no more.

    Raises
    ------
    NotFound
        If there is no such session.
    NotAllowed
        If it is still open, or was corrected already.
    BadInput
        If nothing is said that was wrong, it ends in the future, or is longer than a day.
    """
    said = right.model_dump(exclude_defaults=True)
    if not said:
        raise BadInput(
            "Nothing is said that was wrong",
            "Give for example ",
            Do("session.length", length="1h30"),
        )
    if right.length is not None:
        refuse_too_long(right.length)
    with studio.writing("session.correct") as (book, entry):
        wrong = find_session(book, number)
        if wrong.replaced_by_id is not None:
            raise NotAllowed(
                f"Session {number} was corrected already by session {wrong.replaced_by_id}",
                "Correct that one: ",
                Do("session.correct", session=wrong.replaced_by_id),
            )
        if not wrong.closed:
            raise NotAllowed(
                f"Session {number} is still open", "Stop it first: ", Do("session.stop")
            )
        commission = wrong.commission
        if right.job is not None:
            commission = find_commission(book, right.job)
            if commission.dropped_on:
                refuse_closed(commission, WORK_ON)
        as_it_was = {name: getattr(wrong, name) for name in Doing.model_fields}
        doing = {name: said[name] for name in Doing.model_fields if name in said}
        if right.no_zone or (right.zone is None and right.work not in (None, "burn", wrong.work)):
            as_it_was["zone"] = None  # it was of the burning, or of none
        intervals = _right_intervals(wrong, right, studio.now())
        on_it = wrong if commission is wrong.commission else None
        session = new_session(commission, Doing(**{**as_it_was, **doing}), on_it)
        session.closed, session.set_aside, session.intervals = True, wrong.set_aside, intervals
        session.spoiled_id = wrong.spoiled_id if commission is wrong.commission else None
        book.add(session)
        book.flush()
        wrong.replaced_by_id = session.id
        wrong.replace_reason = cleaned(reason, "reason")
        book.flush()
        book.expire(session.commission, ["sessions"])
        book.expire(wrong.commission, ["sessions"])
        entry.says(f"Corrected session {number}: {wrong.replace_reason}", session.commission_id)
        return view_of(session, studio.now())


def remove(studio: Studio, number: int, reason: str) -> SessionView:
    """Take out a session that never was, with those that it corrected; the history keeps them.

    Raises
    ------
    NotFound
        If there is no such session.
    NotAllowed
        If a correction has replaced it.
    """
    with studio.writing("session.remove") as (book, entry):
        session = find_session(book, number)
        if session.replaced_by_id is not None:
            raise NotAllowed(
                f"Session {number} was corrected by session {session.replaced_by_id}",
                "Take that one out",
            )
        said, view = cleaned(reason, "reason"), view_of(session, studio.now())
        title, commission_id = session.commission.title, session.commission_id
        chain = [session]
        while earlier := book.scalar(
            select(BurnSession).where(BurnSession.replaced_by_id == chain[-1].id)
        ):
            chain.append(earlier)
        for one in reversed(chain):  # each names the one after it
            book.delete(one)
            book.flush()
        entry.says(f"Took out session {number} on '{title}': {said}", commission_id)
        return view


def _right_intervals(wrong: BurnSession, right: Correction, now: datetime) -> list[Interval]:
    """Return the intervals of a correction: as they were, or one where times were wrong."""
    if right.length is None and right.ended is None:
        return [
            Interval(started_at=interval.started_at, ended_at=interval.ended_at)
            for interval in wrong.intervals
        ]
    ended = right.ended or wrong.intervals[-1].ended_at or now
    length = right.length or timedelta(hours=wrong.hours(now))
    if right.ended is None:
        # It began when it began: only how long it was is put right.
        ended = wrong.intervals[0].started_at + length
    if ended > now + timedelta(minutes=1):
        raise BadInput("A session cannot end in the future", "Give when it ended")
    return [Interval(started_at=ended - length, ended_at=ended)]
