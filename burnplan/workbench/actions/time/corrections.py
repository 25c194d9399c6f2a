"""Sessions on record that are wrong: put right, moved to another job, taken out."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from textual.content import Content

from burnplan.desk.jobs import corrections, sessions
from burnplan.desk.jobs.corrections import Correction
from burnplan.desk.jobs.sessions import SessionView
from burnplan.units import format_hours, parse_duration
from burnplan.workbench import drawing
from burnplan.workbench.actions.action import Action, of_job
from burnplan.workbench.actions.time.clock import WORK, moment, zone_of
from burnplan.workbench.drawing import SOFT, STRONG
from burnplan.workbench.forms import Answers, Choice, Field, Form, chosen_of
from burnplan.zone_names import zone_name

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench


def _choose(bench: "Workbench", title: str, then: Callable[[SessionView], None]) -> None:
    """Let one of the sessions of the job shown be chosen."""
    job, now = bench.job, bench.now
    if job is None or now is None:
        return
    known = {str(one.number): one for one in job.sessions if one.state == "done"}
    choices = [(number, _line(bench, one)) for number, one in known.items()]
    bench.choose(Choice(title, choices), lambda number: then(known[number]))


def _line(bench: "Workbench", one: SessionView) -> Content:
    zone = f" {zone_name(one.zone)}" if one.zone else ""
    return Content.assemble(
        (f"{one.number:>4}  ", SOFT), (drawing.fitted(f"{one.work}{zone}", 12), STRONG),
        drawing.fitted(format_hours(one.hours), 10), (sessions.times_of(bench.studio, one), SOFT),
    )  # fmt: skip


def correct(bench: "Workbench") -> None:
    """Put a session of the job shown right; the wrong one stays on record, but counts no more."""
    _choose(bench, "Which session is wrong?", lambda one: _correct(bench, one))


def _correct(bench: "Workbench", one: SessionView) -> None:
    before = {
        "job": one.code,
        "work": one.work,
        "zone": str(one.zone or ""),
        "tip": one.tip,
        "heat": one.heat,
        "note": one.note,
    }

    def codes() -> tuple[str, ...]:
        return tuple(job.code for job in bench.open_jobs().jobs)

    fields = [
        Field("length", "How long", f"{format_hours(one.hours)}; or 1h30, 45min"),
        Field("ended", "Ended", "as it is; or yesterday 18:30"),
        Field("job", "Job", "the one it was really on", one.code, codes),
        Field("work", "Work", ", ".join(WORK), before["work"], WORK),
        Field("zone", "Zone", "a number, 1 darkest", before["zone"]),
        Field("tip", "Tip", "round 2 mm", before["tip"]),
        Field("heat", "Heat", "the dial's, or degrees", before["heat"]),
        Field("note", "Note", "anything to remember", before["note"]),
        Field("reason", "What was wrong", "clock left running, wrong job, …"),
    ]

    def send(answers: Answers) -> SessionView:
        said = {name: text for name, text in answers.items() if text != before.get(name, "")}
        reason = said.pop("reason", "")
        changed: dict[str, object] = dict(said)
        if "length" in said:
            changed["length"] = parse_duration(said["length"])
        if "ended" in said:
            changed["ended"] = moment(bench.studio, said["ended"])
        if "work" in said:
            changed["work"] = chosen_of(WORK, said["work"], "work")
        if "zone" in said:
            changed["zone"] = zone_of(said["zone"])
            changed["no_zone"] = changed["zone"] is None
        return corrections.correct(
            bench.studio, one.number, Correction.model_validate(changed), reason
        )

    bench.ask(
        Form(f"Put session {one.number} of {one.code} right", fields, send, send="Put right"),
        lambda made: bench.say(
            f"Session {made.number}, {format_hours(made.hours)} on '{made.title}', counts now;"
            " u takes it back"
        ),
    )


def remove(bench: "Workbench") -> None:
    """Take out a session of the job shown that never was; the history keeps it."""

    def ask(one: SessionView) -> None:
        form = Form(
            f"Take session {one.number} of {one.code} out, {format_hours(one.hours)}",
            [Field("reason", "Why", "it never was, entered twice, …")],
            lambda answers: corrections.remove(bench.studio, one.number, answers["reason"]),
            send="Take it out",
        )
        bench.ask(form, lambda gone: bench.say(f"Session {gone.number} is out; u takes it back"))

    _choose(bench, "Which session never was?", ask)


_has_sessions = of_job(lambda job: any(one.state == "done" for one in job.sessions))

ACTIONS = (
    Action("correct_session", "Put a session right",
           "Its length, its time, its work, the job it was on", correct, _has_sessions),
    Action("remove_session", "Take a session out", "One that never was; the history keeps it",
           remove, _has_sessions),
)  # fmt: skip
