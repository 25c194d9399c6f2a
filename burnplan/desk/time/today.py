"""Today: the clock, what is planned, what to do next, and what waits to be seen to."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import NamedTuple

from pydantic import Field

from burnplan.desk.jobs import checklists, review, sessions
from burnplan.desk.jobs.checklists import StepView
from burnplan.desk.jobs.review import JobView
from burnplan.desk.jobs.sessions import Doing, SessionView, WorkName
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import calendar, planned_sessions
from burnplan.desk.time.calendar import CalendarEntry
from burnplan.desk.time.planned_sessions import PlannedView
from burnplan.errors import NotFound
from burnplan.reckon.lateness import Course, course_of, days_late
from burnplan.reckon.stages import Stage
from burnplan.sentences import Do
from burnplan.view import View

# A session planned to begin so soon is taken up now.
_SOON = timedelta(hours=1)


class TodayView(View):
    """A day at the bench.

    ``blocked`` are jobs whose wood must not be burned, said before all else; ``next`` those
    that can be worked on, in the order in which they should be: the earliest due first, as
    promises reckon; ``enquiries`` those not booked yet; ``coats`` those that may be laid by now;
    ``photos`` are jobs that are booked though the use of their photo is not allowed yet.
    """

    blocked: list[JobView]
    clock: SessionView | None
    planned: list[PlannedView]
    next: list[JobView]
    enquiries: list[JobView]
    coats: list[CalendarEntry]
    money: list[JobView]
    risk: list[JobView]
    photos: list[JobView] = Field(default_factory=list)


def look(studio: Studio, reviewed: Sequence[JobView] | None = None) -> TodayView:
    """Return what the day has.

    Parameters
    ----------
    studio : Studio
    reviewed : sequence of JobView, optional
        The open jobs, where they have been looked at just now.
    """
    today, found = studio.today(), review.review(studio) if reviewed is None else reviewed
    waiting = [job for job in found if job.stage not in _CLOSED and not job.paused]
    booked = [job for job in waiting if job.stage not in _NOT_BOOKED]
    return TodayView(
        blocked=[job for job in found if job.blocked],
        clock=sessions.open_now(studio),
        planned=[
            one
            for one in planned_sessions.since(studio, studio.now())
            if studio.local(one.starts_at).date() == today
        ],
        next=_by_due(booked, today),
        enquiries=_by_due([job for job in waiting if job.stage in _NOT_BOOKED], today),
        coats=[one for one in calendar.next_coats(studio) if one.day <= today],
        money=[job for job in found if job.money_due],
        risk=[
            job
            for job in waiting
            if days_late(job.due, today)
            or (job.on_time is not None and course_of(job.on_time) is not Course.ON_COURSE)
        ],
        photos=[job for job in waiting if job.photo_open],
    )


_NOT_BOOKED = (Stage.ENQUIRY, Stage.PRICED)
_CLOSED = (Stage.DELIVERED, Stage.DROPPED)


def _by_due(jobs: list[JobView], today: date) -> list[JobView]:
    return sorted(jobs, key=lambda job: (job.due is None, job.due or today, job.code))


BY_STEP = "by the next open step"
"""Why a sitting counts as what it does, where nothing else says it."""


class TakenUp(NamedTuple):
    """What to go on with; ``work`` is None where the next open step says it.

    ``why`` is in words, after what it is counted as.
    """

    code: str
    work: WorkName | None
    zone: int | None = None
    why: str = BY_STEP


def taken_up(studio: Studio) -> TakenUp:
    """Return what to go on with: what is planned for now, else what was last worked on.

    The work is that planned, or of the last session, while steps of it are open, and so its
    zone; on a piece begun again, that of its next step. Of what was set aside nothing is taken up.

    Raises
    ------
    NotFound
        If nothing is planned for now, and no job that is open and not set aside has been
        worked on.
    """
    now = studio.now()
    for one in planned_sessions.since(studio, now):
        if one.starts_at <= now + _SOON:
            works = [sessions.work_of(step.phase) for step in _left(studio, one.code)]
            # What was planned may be done by now.
            if one.work not in works:
                return TakenUp(one.code, None)
            return TakenUp(one.code, one.work, why="as planned")
    looked = [job for job in review.review(studio) if job.stage not in _CLOSED and not job.paused]
    open_jobs = {job.code for job in looked}
    last = next((one for one in sessions.all_of(studio, None) if one.code in open_jobs), None)
    if last is None:
        said = "Nothing is planned for now, and there is no job to go on with"
        first = next(iter(look(studio, looked).next or looked), None)
        if first is None:
            raise NotFound(said, "Begin with a job: ", Do("commission.list"))
        raise NotFound(said, "Name the job: ", Do("session.start_on", job=first.code))
    left = _left(studio, last.code)
    if last.spoiled or all(sessions.work_of(step.phase) != last.work for step in left):
        return TakenUp(last.code, None)
    zone = last.zone if any(step.zone == last.zone for step in left) else None
    return TakenUp(last.code, last.work, zone, "as last time")


def _left(studio: Studio, code: str) -> list[StepView]:
    """Return the steps of a job that are open."""
    return [step for step in checklists.of(studio, code).steps if step.state == "open"]


def with_what(studio: Studio, which: str, doing: Doing) -> Doing:
    """Return what is burned in a session with tip and heat, where they are not said.

    As last used for it, else as a tone ladder on its wood has them for its zone.
    """
    if doing.tip or doing.heat or doing.work != "burn":
        return doing
    for one in sessions.all_of(studio, which):  # the newest first
        if one.work == "burn" and one.zone == doing.zone and (one.tip or one.heat):
            return doing.model_copy(update={"tip": one.tip, "heat": one.heat})
    if doing.zone is None:
        return doing
    from burnplan.desk.wood import zone_settings  # brings numpy

    try:
        found = zone_settings.settings_for(studio, which)
    except NotFound:
        return doing
    heat = {one.zone: _on_a_dial(one.setting) for one in found.zones if found.varies == "heat"}
    return doing.model_copy(update={"tip": found.tip, "heat": heat.get(doing.zone, "")})


def _on_a_dial(setting: float) -> str:
    """Return a setting as finely as a dial can be turned."""
    return f"{setting:.0f}" if setting >= 100 else f"{setting:.1f}".removesuffix(".0")
