"""Days to come: sessions planned, days off, and dates that can be promised."""

from typing import TYPE_CHECKING

from textual.content import Content

from burnplan.dates import format_day, format_moment, parse_time
from burnplan.desk.jobs import sessions
from burnplan.desk.studio import days_off, settings, typed_dates
from burnplan.desk.studio.days_off import DayOffView
from burnplan.desk.time import planned_sessions, promises
from burnplan.desk.time.planned_sessions import PlannedView
from burnplan.show.studio.days_off import off_no_more
from burnplan.show.time import promises as shown
from burnplan.show.time.planned_sessions import planned_table
from burnplan.units import format_hours, parse_duration, parse_hours
from burnplan.workbench.actions.action import Action, job_meant
from burnplan.workbench.actions.time.clock import WORK
from burnplan.workbench.drawing import SOFT, STRONG
from burnplan.workbench.forms import Answers, Field, Form, chosen_of, whole_number

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench

_MOST_DAYS = 60  # a limit by definition: farther nobody plans by the hour


def lay_out(bench: "Workbench") -> None:
    """Lay the queue into the free hours of the days to come."""
    fields = [
        Field("days", "Days", "how many", "7"),
        Field("starting", "From", "when a day's first session begins", "9:00"),
    ]

    def send(answers: Answers) -> list[PlannedView]:
        days = whole_number(answers["days"], "days", 1, _MOST_DAYS)
        return planned_sessions.lay_out(bench.studio, days, parse_time(answers["starting"]))

    def then(made: list[PlannedView]) -> None:
        if made:
            bench.read("Planned sessions", lambda: planned_table(made, bench.studio))
        else:
            bench.say("No free hours, or no booked work with known hours, in those days")

    bench.ask(Form("Lay out the days to come", fields, send, send="Lay out"), then)


def plan(bench: "Workbench") -> None:
    """Plan one session of the job that is meant."""
    code = bench.meant
    if code is None:
        return
    fields = [
        Field("when", "When", "friday 14:00"),
        Field("length", "How long", "2h; breaks on top"),
        Field("work", "Work", f"{', '.join(WORK)}; what comes next if empty", known=WORK),
        Field("note", "Note", "anything to remember"),
    ]

    def send(answers: Answers) -> PlannedView:
        work = answers["work"]
        return planned_sessions.add(
            bench.studio,
            code,
            typed_dates.moment(bench.studio, answers["when"]),
            parse_duration(answers["length"]),
            chosen_of(WORK, work, "work") if work else sessions.next_work(bench.studio, code),
            answers["note"],
        )

    bench.ask(
        Form(f"Plan a session of {code}", fields, send, send="Plan it"),
        lambda made: bench.say(f"Planned: {_when(bench, made)}"),
    )


def _when(bench: "Workbench", one: PlannedView) -> str:
    moment = format_moment(bench.studio.local(one.starts_at), bench.studio.today())
    return f"{moment}, {format_hours(one.minutes / 60)}"


def unplan(bench: "Workbench") -> None:
    """Take a planned session out."""

    def line(one: PlannedView) -> tuple[str, Content]:
        job = f"{one.code} {one.title}"
        return str(one.number), Content.assemble((f"{_when(bench, one)}  ", STRONG), (job, SOFT))

    def remove(number: str) -> None:
        bench.do(
            lambda: planned_sessions.remove(bench.studio, int(number)),
            lambda gone: bench.say(f"The session on {gone.code} is no longer planned"),
        )

    bench.choose_of(
        lambda: planned_sessions.since(bench.studio, bench.studio.now()),
        "Which session is off?", line, remove, nothing="No session is planned",
    )  # fmt: skip


def take_off(bench: "Workbench") -> None:
    """Take a day off, or all days from a first to a last."""
    fields = [
        Field("first", "The day", "friday; or the first of some"),
        Field("last", "The last", "empty where it is one"),
        Field("reason", "Why", "away"),
    ]

    def taken(answers: Answers) -> tuple[DayOffView, list[PlannedView]]:
        first = typed_dates.day(bench.studio, answers["first"])
        last = typed_dates.day(bench.studio, answers["last"]) if answers["last"] else None
        made = days_off.add(bench.studio, first, last, answers["reason"] or "away")
        return made, planned_sessions.on_days(bench.studio, made.starts_on, made.ends_on)

    def then(found: tuple[DayOffView, list[PlannedView]]) -> None:
        made, planned = found
        bench.say(f"Off from {format_day(made.starts_on)}; u takes it back")
        if len(planned) == 1:
            bench.say(f"Still planned: {_when(bench, planned[0])}, {planned[0].code}", mind=True)
        elif planned:
            bench.say(f"{len(planned)} sessions are still planned on these days", mind=True)

    bench.ask(Form("Days off", fields, taken, send="Take off"), then)


def work_on(bench: "Workbench") -> None:
    """Work on days that were off."""

    def own() -> list[DayOffView]:
        found = days_off.to_come(bench.studio, settings.current(bench.studio))
        return [one for one in found if one.number is not None]

    def line(one: DayOffView) -> tuple[str, Content]:
        days = f"{format_day(one.starts_on)} to {format_day(one.ends_on)}  "
        return str(one.number), Content.assemble((days, STRONG), (one.reason, SOFT))

    def remove(number: str) -> None:
        bench.do(
            lambda: days_off.remove(bench.studio, int(number)),
            lambda gone: bench.say(off_no_more(gone)),
        )

    bench.choose_of(
        own, "On which days is there work again?", line, remove,
        nothing="No day to come was taken off",
    )  # fmt: skip


def promise(bench: "Workbench") -> None:
    """Say what date can be promised: for the job that is meant, or for one not logged yet."""
    code = bench.meant
    fields = [Field("sure", "How sure, %", "50 to 99.5", "90")]
    if code is None:
        fields.append(Field("hours", "Hours of a new job", "12; empty for the queue alone"))

    def send(answers: Answers) -> promises.Promises:
        hours = answers.get("hours", "")
        return promises.look_ahead(
            bench.studio,
            code,
            hours=parse_hours(hours) if hours else None,
            confidence=promises.typed_chance(answers["sure"]),
        )

    bench.ask(
        Form(f"A date for {code}" if code else "Dates", fields, send, send="Look ahead"),
        lambda found: bench.read(
            "Dates that hold", lambda: shown.promises(found, bench.studio.today())
        ),
    )


ACTIONS = (
    Action("promise", "What date can be promised", "For the job meant, or for a new one", promise),
    Action("plan_days", "Lay out the days to come", "The queue, into the hours free", lay_out),
    Action("plan_session", "Plan a session", "Of the job meant", plan, job_meant),
    Action("unplan", "Take a planned session out", "One that will not be", unplan),
    Action("day_off", "Take days off", "No work is laid into them", take_off),
    Action("day_on", "Work on days that were off", "They count again", work_on),
)  # fmt: skip
