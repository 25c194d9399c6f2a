"""The clock, and the hours it puts on record."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, get_args

from burnplan.desk.jobs import checklists, sessions
from burnplan.desk.jobs.checklists import StepView
from burnplan.desk.jobs.sessions import Doing, SessionView
from burnplan.desk.studio import typed_dates
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import today
from burnplan.errors import BadInput
from burnplan.units import format_hours, parse_duration
from burnplan.wood.cautions import Moment
from burnplan.workbench.actions.action import Action, clock_open, closed, job_meant, unless_closed
from burnplan.workbench.forms import Answers, Field, Form, chosen_of

if TYPE_CHECKING:
    from datetime import datetime

    from burnplan.workbench.app import Workbench

# A sitting, and what to mind at a moment of it: as it is said now, and in short.
Minded = tuple[SessionView, list[str], list[str]]

WORK: tuple[sessions.WorkName, ...] = get_args(sessions.WorkName)


def start(bench: "Workbench") -> None:
    """Start the clock on the job that is meant, for its next open step or the one chosen."""
    code, step = bench.meant, bench.job_page.step if bench.job is not None else None
    if code is not None:
        start_for(bench, code, [step] if step is not None else None)


def start_for(bench: "Workbench", code: str, steps: list[StepView] | None) -> None:
    """Start the clock on a job, for the first open one of some steps, or of all."""

    def run() -> Minded:
        doing = _doing(checklists.of(bench.studio, code).steps if steps is None else steps)
        return _start(bench.studio, code, today.with_what(bench.studio, code, doing))

    bench.do(run, lambda done: _started(bench, *done))


def pause(bench: "Workbench") -> None:
    """Pause the clock."""
    _act(bench, sessions.pause, Moment.PAUSE)


def go_on(bench: "Workbench") -> None:
    """Let the paused clock run on."""
    _act(bench, sessions.resume, Moment.START)


def _act(bench: "Workbench", act: Callable[[Studio], SessionView], moment: Moment) -> None:
    bench.do(
        lambda: minded(bench.studio, act(bench.studio), moment), lambda done: bench.mind(done[1])
    )


def minded(studio: Studio, view: SessionView, moment: Moment) -> Minded:
    """Return a sitting with what to mind at this moment of it."""
    short = sessions.to_mind(studio, view, moment, short=True)
    return view, sessions.to_mind(studio, view, moment), short


def _doing(steps: Sequence[StepView]) -> Doing:
    """Return what the clock is started for: the first open one of some steps, else burning."""
    step = next((step for step in steps if step.state == "open"), steps[0] if steps else None)
    return Doing(work=sessions.work_of(step.phase), zone=step.zone) if step else Doing()


def _start(studio: Studio, code: str, doing: Doing) -> Minded:
    view = sessions.start(studio, code, doing)
    reminder = checklists.before_work(studio, code, doing.work)
    view, said, short = minded(studio, view, Moment.START)
    return view, [reminder, *said] if reminder else said, short


def _started(bench: "Workbench", view: SessionView, said: list[str], short: list[str]) -> None:
    bench.open_burning(view.code)
    bench.mind(said, short)


def start_with(bench: "Workbench") -> None:
    """Start the clock and say with what."""
    code = bench.meant
    if code is None:
        return

    def send(answers: Answers) -> Minded:
        return _start(bench.studio, code, _said(answers))

    def ask(doing: Doing) -> None:
        fields = _doing_fields(doing)
        form = Form(f"Begin a session on {code}", fields, send, send="Begin")
        bench.ask(form, lambda done: _started(bench, *done))

    _find_doing(bench, code, ask)


def _find_doing(bench: "Workbench", code: str, then: Callable[[Doing], None]) -> None:
    """Find what the clock would be started for, and with what: the cursor's step, or the next."""
    step = bench.job_page.step if bench.job is not None else None

    def found() -> Doing:
        steps = [step] if step is not None else checklists.of(bench.studio, code).steps
        return today.with_what(bench.studio, code, _doing(steps))

    bench.find(found, then)


def _doing_fields(doing: Doing) -> list[Field]:
    return [
        Field("work", "Work", ", ".join(WORK), doing.work, WORK),
        Field("zone", "Zone", "a number, 1 darkest", str(doing.zone or "")),
        Field("tip", "Tip", "round 2 mm", doing.tip),
        Field("heat", "Heat", "the dial's, or degrees", doing.heat),
        Field("note", "Note", "anything to remember"),
    ]


def zone_of(text: str) -> int | None:
    """Return the number of the zone typed in; None for none."""
    zone = text.upper().removeprefix("Z")
    if zone and not zone.isdecimal():
        raise BadInput(f"'{text}' is no zone", "Give its number, 1 darkest")
    return int(zone) if zone else None


def _said(answers: Answers) -> Doing:
    return Doing.model_validate(
        {
            "work": chosen_of(WORK, answers["work"], "work"),
            "zone": zone_of(answers["zone"]),
            **{name: answers[name] for name in ("tip", "heat", "note")},
        }
    )


def moment(studio: Studio, text: str) -> "datetime | None":
    """Return the moment of what was that is typed in; None for nothing."""
    return typed_dates.moment(studio, text, past=True) if text else None


def on_clock(bench: "Workbench") -> str:
    """Return on which job the clock is, for a heading."""
    clock = bench.now.clock if bench.now else None
    return f" on {clock.code}" if clock else ""


def stop_with(bench: "Workbench") -> None:
    """Stop the clock, earlier than now or with a note."""

    def send(answers: Answers) -> Minded:
        at = moment(bench.studio, answers["at"])
        stopped = sessions.stop(bench.studio, at=at, note=answers["note"])
        return minded(bench.studio, stopped, Moment.STOP)

    fields = [
        Field("note", "Note", "what was done, what to remember"),
        Field("at", "Stopped at", "now; or when it should have been: 18:30"),
    ]
    form = Form(f"End the session{on_clock(bench)}", fields, send, send="End")
    bench.ask(form, lambda done: _on_record(bench, *done))


def stop(bench: "Workbench") -> None:
    """Stop the clock."""
    bench.do(
        lambda: minded(bench.studio, sessions.stop(bench.studio), Moment.STOP),
        lambda done: _on_record(bench, *done),
    )


def _on_record(bench: "Workbench", view: SessionView, said: list[str], short: list[str]) -> None:
    bench.mind(said, short)
    bench.say(f"{format_hours(view.hours)} on '{view.title}' are on record")
    if view.hours * 3600 > sessions.LONG_INTERVAL.total_seconds():
        bench.say(
            "That is long. If the clock was forgotten: u, then t with the right time", mind=True
        )


def log(bench: "Workbench") -> None:
    """Put hours on record after the fact."""
    code = bench.meant
    if code is None:
        return

    def send(answers: Answers) -> tuple[SessionView, str]:
        length = parse_duration(answers["length"])
        ended = moment(bench.studio, answers["ended"])
        view = sessions.log(bench.studio, code, length, _said(answers), ended=ended)
        return view, sessions.overlap(bench.studio, view.number)

    def then(logged: tuple[SessionView, str]) -> None:
        view, other = logged
        times = sessions.times_of(bench.studio, view)
        bench.say(f"{format_hours(view.hours)} on '{view.title}' are on record: {times}")
        if other:
            bench.say(other, mind=True)

    def ask(doing: Doing) -> None:
        fields = [
            Field("length", "How long", "1h30, 45min"),
            Field("ended", "Ended", "now; or yesterday 18:30"),
            *_doing_fields(doing),
        ]
        bench.ask(Form(f"Enter hours on {code}", fields, send, send="Enter them"), then)

    _find_doing(bench, code, ask)


def _startable(bench: "Workbench") -> bool:
    return not clock_open(bench) and job_meant(bench) and not closed(bench)


def clock_is(state: str) -> Callable[["Workbench"], bool]:
    """Return what tells whether the clock is running, or is paused."""

    def can(bench: "Workbench") -> bool:
        return (
            bench.now is not None and bench.now.clock is not None and bench.now.clock.state == state
        )

    return can


ACTIONS = (
    Action("pause", "Take a break", "It runs on with the same key", pause,
           clock_is("running"), key="c", short="Break"),
    Action("go_on", "Let the clock run on", "The paused session goes on", go_on,
           clock_is("paused"), key="c", short="Go on"),
    Action("start", "Begin a session", "On the job and the step the cursor is on", start,
           _startable, key="c", short="Begin",
           why=unless_closed("Choose a job first, then press c")),
    Action("stop", "End the session", "The hours go on record", stop, clock_open,
           key="s", short="End", why="No clock is running"),
    Action("stop_with", "End the session with a note", "Or earlier, where it was forgotten",
           stop_with, clock_open, key="t", short="Note…"),
    Action("start_with", "Begin a session with tip and heat", "And zone, work, a note",
           start_with, _startable, key="t", short="Tip…",
           why=unless_closed("Choose a job first, then press t")),
    Action("log", "Enter hours", "A session after the fact", log, job_meant, key="g",
           why="Choose a job first, then press g"),
)  # fmt: skip
