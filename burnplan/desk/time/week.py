"""The week at a glance: each day's hours, sessions and dates, and the open jobs."""

from datetime import date, time, timedelta

from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import review
from burnplan.desk.jobs.review import JobView
from burnplan.desk.studio import days_off, free_hours
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import calendar, planned_sessions
from burnplan.desk.time.calendar import CalendarEntry
from burnplan.view import View


class Sitting(View):
    """A planned session as the wall clock shows it."""

    starts: time
    ends: time
    code: str
    title: str
    work: str
    breaks: list[time]


class Day(View):
    """A day of the week: hours free, why it is off, what is due, what is planned."""

    day: date
    free: float
    off: str
    entries: list[CalendarEntry]
    sittings: list[Sitting]


class WeekPage(View):
    """A week, Monday first, and the open jobs, those that need attention first."""

    studio: str
    today: date
    days: list[Day]
    jobs: list[JobView]


def page(studio: Studio, *, following: bool = False) -> WeekPage:
    """Return the week's page; this week's, or that of the week after."""
    today = studio.today()
    monday = today - timedelta(days=today.weekday()) + timedelta(days=7 * following)
    with studio.reading() as book:
        own = studio_settings.of_book(book)
        capacity = free_hours.capacity(book, own, studio, monday)
    reasons = {
        day: row.reason
        for row in days_off.to_come(studio, own, monday)
        for day in (row.starts_on + timedelta(days=n) for n in range(_length(row)))
    }
    entries = [one for one in calendar.entries(studio) if one.kind != "session"]
    sittings = [
        _sitting(one, studio) for one in planned_sessions.since(studio, studio.midnight(monday))
    ]
    days = []
    for n in range(7):
        day = monday + timedelta(days=n)
        days.append(
            Day(
                day=day,
                free=capacity.on(day),
                off=reasons.get(day, ""),
                entries=[one for one in entries if one.day == day],
                sittings=[one for on, one in sittings if on == day],
            )
        )
    return WeekPage(studio=own.name, today=today, days=days, jobs=review.review(studio))


def _length(row: days_off.DayOffView) -> int:
    return (row.ends_on - row.starts_on).days + 1


def _sitting(one: planned_sessions.PlannedView, studio: Studio) -> tuple[date, Sitting]:
    start, end = studio.local(one.starts_at), studio.local(one.ends_at)
    return start.date(), Sitting(
        starts=start.time(),
        ends=end.time(),
        code=one.code,
        title=one.title,
        work=one.doing,
        breaks=[studio.local(at).time() for at in one.breaks],
    )
