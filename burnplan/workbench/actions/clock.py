"""The clock, and the hours it puts on record."""

from typing import TYPE_CHECKING

from burnplan.dates import parse_moment
from burnplan.desk import checklists, plans, sessions
from burnplan.desk.sessions import Doing, SessionView
from burnplan.desk.studio import Studio
from burnplan.errors import BadInput
from burnplan.reckon.checklist import Phase
from burnplan.reckon.work import Work
from burnplan.units import format_hours, parse_duration
from burnplan.wood.cautions import HOT_TIP, SMOKE
from burnplan.workbench.actions.action import Action, clock_open, job_meant
from burnplan.workbench.forms import Answers, Field, Form, chosen_of

if TYPE_CHECKING:
    from datetime import datetime

    from burnplan.workbench.app import Workbench

_WORK = tuple(work.value for work in Work)


def clock(bench: "Workbench") -> None:
    """Start the clock, pause it, or let it run on."""
    open_now = bench.now.clock if bench.now else None
    if open_now is not None:
        change = sessions.pause if open_now.state == "running" else sessions.resume
        bench.do(lambda: change(bench.studio))
    elif bench.meant is None:
        bench.say("Choose a job first, then press c")
    else:
        code, doing = bench.meant, _doing(bench)
        bench.do(lambda: _start(bench.studio, code, doing), lambda words: _started(bench, *words))


def _doing(bench: "Workbench") -> Doing:
    """Return what the clock is started for: the step the cursor is on, else burning."""
    step = bench.job_page.step if bench.job is not None else None
    if step is None or step.phase is Phase.HANDOVER:
        return Doing()
    return Doing(work=step.phase.value, zone=step.zone)


def _start(studio: Studio, code: str, doing: Doing) -> tuple[SessionView, str]:
    view = sessions.start(studio, code, doing)
    return view, checklists.reminder_for(studio, code) if doing.work == "burn" else ""


def _started(bench: "Workbench", view: SessionView, reminder: str) -> None:
    rest = bench.studio.local(view.started_at + plans.STRETCH)
    if view.work == "burn":
        bench.say(f"{SMOKE}. {HOT_TIP}. Take a break at {rest:%H:%M}", mind=True)
    if reminder:
        bench.say(reminder, mind=True)


def clock_with(bench: "Workbench") -> None:
    """Start the clock and say with what; or stop it and say what is worth remembering."""
    if clock_open(bench):
        _stop_with(bench)
    elif bench.meant is None:
        bench.say("Choose a job first, then press t")
    else:
        _start_with(bench, bench.meant)


def _start_with(bench: "Workbench", code: str) -> None:
    def send(answers: Answers) -> tuple[SessionView, str]:
        return _start(bench.studio, code, _said(answers))

    form = Form(f"Start the clock on {code}", _doing_fields(bench), send, send="Start")
    bench.ask(form, lambda words: _started(bench, *words))


def _doing_fields(bench: "Workbench") -> list[Field]:
    doing = _doing(bench)
    before = bench.job.sessions[0] if bench.job is not None and bench.job.sessions else None
    return [
        Field("work", "Work", ", ".join(_WORK), doing.work, _WORK),
        Field("zone", "Zone", "a number, 1 darkest", str(doing.zone or "")),
        Field("tip", "Tip", "as at the last session" if before else "round 2 mm",
              known=(before.tip,) if before and before.tip else ()),
        Field("heat", "Heat", "the dial's, or degrees",
              known=(before.heat,) if before and before.heat else ()),
        Field("note", "Note", "anything to remember"),
    ]  # fmt: skip


def _said(answers: Answers) -> Doing:
    zone = answers["zone"].upper().removeprefix("Z")
    if zone and not zone.isdecimal():
        raise BadInput(f"'{answers['zone']}' is no zone", "Give its number, 1 darkest")
    return Doing.model_validate(
        {
            "work": chosen_of(_WORK, answers["work"], "work"),
            "zone": int(zone) if zone else None,
            **{name: answers[name] for name in ("tip", "heat", "note")},
        }
    )


def _moment(studio: Studio, text: str) -> "datetime | None":
    if not text:
        return None
    return studio.moment(parse_moment(text, studio.local(studio.now())))


def _stop_with(bench: "Workbench") -> None:
    def send(answers: Answers) -> SessionView:
        at = _moment(bench.studio, answers["at"])
        return sessions.stop(bench.studio, at=at, note=answers["note"])

    fields = [
        Field("at", "At", "now; or when it should have been stopped: 18:30"),
        Field("note", "Note", "what was done, what to remember"),
    ]
    bench.ask(
        Form("Stop the clock", fields, send, send="Stop"), lambda view: _on_record(bench, view)
    )


def stop(bench: "Workbench") -> None:
    """Stop the clock."""
    bench.do(lambda: sessions.stop(bench.studio), lambda view: _on_record(bench, view))


def _on_record(bench: "Workbench", view: SessionView) -> None:
    bench.say(f"{format_hours(view.hours)} on '{view.title}' are on record")
    if view.hours * 3600 > sessions.LONG_SPELL.total_seconds():
        bench.say(
            "That is long. If the clock was forgotten: u, then t with the right time", mind=True
        )


def log(bench: "Workbench") -> None:
    """Put hours on record after the fact."""
    code = bench.meant
    if code is None:
        return

    def send(answers: Answers) -> SessionView:
        length = parse_duration(answers["length"])
        ended = _moment(bench.studio, answers["ended"])
        return sessions.log(bench.studio, code, length, _said(answers), ended=ended)

    fields = [
        Field("length", "How long", "1h30, 45min"),
        Field("ended", "Ended", "now; or yesterday 18:30"),
        *_doing_fields(bench),
    ]
    bench.ask(
        Form(f"Log hours on {code}", fields, send, send="Log them"),
        lambda view: _on_record(bench, view),
    )


ACTIONS = (
    Action("clock", "Clock", "Start the clock, pause it, let it run on", clock,
           key="c", short="Clock"),
    Action("clock_with", "Clock, with its details", "Tip, heat and zone at the start; a note, or"
           " an earlier time, at the stop", clock_with, key="t", short="Tip…"),
    Action("stop", "Stop the clock", "The hours go on record", stop, clock_open,
           key="s", short="Stop"),
    Action("log", "Log hours", "A session after the fact", log, job_meant, key="g"),
)  # fmt: skip
