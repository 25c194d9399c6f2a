"""burnplan session: the clock, and hours after the fact."""

from collections.abc import Callable
from typing import Annotated, Any, Literal

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import given_moment, refuse_idle, the_studio
from burnplan.cli.naming import whole_commission
from burnplan.cli.options import (
    Because,
    NewNote,
    Note,
    OneCommission,
    WhichCommission,
    gathered_by,
    group,
    one_commission,
    page,
)
from burnplan.dates import parse_time
from burnplan.desk.jobs import checklists, corrections, sessions
from burnplan.desk.studio import paging, typed_dates
from burnplan.desk.time import pace, planned_sessions, today
from burnplan.errors import BadInput
from burnplan.show import console
from burnplan.show.jobs import sessions as shown
from burnplan.show.time import planned_sessions as shown_plan
from burnplan.units import parse_duration
from burnplan.wood import cautions

app = group()

WorkOption = Annotated[
    Literal["prepare", "transfer", "burn", "finish"] | None,
    typer.Option(
        help="What is being done; if not said, what the next open step is, or burn with a zone."
    ),
]
Zone = Annotated[
    int | None, typer.Option(help="The value zone worked on, 1 darkest; 10 the lettering.")
]
Tip = Annotated[str, typer.Option(help="The tip or nib used.")]
Heat = Annotated[str, typer.Option(help="The heat, as your own dial has it.")]


def _mind(context: typer.Context, made: "sessions.SessionView", moment: "cautions.Moment") -> None:
    """Say what to mind at a moment of a sitting."""
    for words in sessions.to_mind(the_studio(context), made, moment):
        console.caution(words)


def _say_work(found: str, why: str) -> None:
    """Say what a sitting counts as where nobody said it."""
    console.notice(f"Counted as {found}, {why}; --work says otherwise")


@app.command()
def begin(
    context: typer.Context,
    which: Annotated[
        str | None, one_commission("The job; if not said, what is planned or was last worked on.")
    ] = None,
    work: WorkOption = None,
    zone: Zone = None,
    tip: Tip = "",
    heat: Heat = "",
    note: Note = "",
) -> None:
    """Start the clock on a commission; bare, on what is planned now or was last worked on.

    Tip and heat are those of the last time at that work, if they are not said.

    Examples:
      burnplan session begin
      burnplan session begin C-0007 --zone 1 --tip "round 2 mm" --heat 6.5
    """
    studio = the_studio(context)
    taken = today.TakenUp(which, None) if which else today.taken_up(studio)
    said = work is not None or zone is not None
    if said:
        taken = taken._replace(work=work, zone=zone)
    found = taken.work or sessions.next_work(studio, taken.code, taken.zone)
    doing = sessions.Doing(work=found, zone=taken.zone, tip=tip, heat=heat, note=note)
    made = sessions.start(studio, taken.code, today.with_what(studio, taken.code, doing))
    console.show(shown.session_line(made))
    if not said:
        _say_work(found, taken.why)
    if reminder := checklists.before_work(studio, made.code, made.work):
        console.caution(reminder)
    _mind(context, made, cautions.Moment.START)
    console.notice("Stop with: burnplan session end")


@app.command("break")
def break_(context: typer.Context) -> None:
    """Pause the clock.

    Examples:
      burnplan session break
    """
    made = sessions.pause(the_studio(context))
    console.show(shown.session_line(made))
    _mind(context, made, cautions.Moment.PAUSE)


@app.command("go-on")
def go_on(context: typer.Context) -> None:
    """Let the paused clock run on.

    Examples:
      burnplan session go-on
    """
    made = sessions.resume(the_studio(context))
    console.show(shown.session_line(made))
    _mind(context, made, cautions.Moment.START)


@app.command()
def end(
    context: typer.Context,
    at: Annotated[
        str | None, typer.Option(help="When it should have been stopped, like 18:30.")
    ] = None,
    note: Note = "",
    done: Annotated[bool, typer.Option("--done", help="Tick its zone as well.")] = False,
) -> None:
    """Stop the clock and close the session.

    Examples:
      burnplan session end --done --note "left eye too"
      burnplan session end --at 18:30
    """
    made = sessions.stop(the_studio(context), at=given_moment(context, at), note=note, done=done)
    console.show(shown.session_line(made))
    _mind(context, made, cautions.Moment.STOP)
    if made.hours * 3600 > sessions.LONG_INTERVAL.total_seconds() and at is None:
        console.notice(
            "That is long: if the clock was forgotten, take it back with 'burnplan undo'"
        )
        when = _time_on(context, made)
        console.notice(f"and stop it with the right time: burnplan session end --at {when}")


def _time_on(context: typer.Context, made: "sessions.SessionView") -> str:
    """Return how a time is typed on the day that a session began."""
    studio = the_studio(context)
    began, now = studio.local(made.started_at).date(), studio.today()
    if began == now:
        return "HH:MM"
    day = "yesterday" if (now - began).days == 1 else began.isoformat()
    return f'"{day} HH:MM"'


@app.command()
def enter(
    context: typer.Context,
    which: WhichCommission,
    length: Annotated[str, typer.Argument(help="How long, like 2h, 1h30 or 90min.")],
    work: WorkOption = None,
    ended: Annotated[
        str | None, typer.Option(help="When it ended, like 'yesterday 18:30'; now if not said.")
    ] = None,
    zone: Zone = None,
    tip: Tip = "",
    heat: Heat = "",
    note: Note = "",
) -> None:
    """Log hours after the fact.

    Examples:
      burnplan session enter C-0007 1h30 --zone 2 --ended "yesterday 18:30"
      burnplan session enter C-0007 45min --work transfer
    """
    studio = the_studio(context)
    moment = given_moment(context, ended)
    span = parse_duration(length)
    found = work or sessions.next_work(studio, which, zone)
    doing = sessions.Doing(work=found, zone=zone, tip=tip, heat=heat, note=note)
    made = sessions.log(studio, which, span, doing, ended=moment)
    console.show(shown.session_line(made))
    if work is None and zone is None:
        _say_work(found, today.BY_STEP)
    _say_when(context, made)


def _say_when(context: typer.Context, made: "sessions.SessionView") -> None:
    """Say when a session on record was, and what else is on record for that time."""
    console.show(f"On record for {sessions.times_of(the_studio(context), made)}")
    if other := sessions.overlap(the_studio(context), made.number):
        console.notice(
            f"{other}; put one right with: burnplan session correct {made.number} --ended WHEN"
        )


@app.command("set-aside")
def set_aside(
    context: typer.Context,
    number: Annotated[int, typer.Argument(help="The session's number in the list.")],
    because: Because,
) -> None:
    """Keep a session's hours from teaching the forecasts, with the reason.

    Examples:
      burnplan session set-aside 26 --because "clock left running overnight"
    """
    pace.set_aside(the_studio(context), number, because)
    console.show(
        f"Session {number} no longer teaches the forecasts; its hours still count as worked"
    )


@app.command()
def teach(
    context: typer.Context,
    number: Annotated[int, typer.Argument(help="The session's number in the list.")],
) -> None:
    """Let the hours of a session that was set aside teach the forecasts again.

    Examples:
      burnplan session teach 26
    """
    pace.teach_again(the_studio(context), number)
    console.show(f"Session {number} teaches the forecasts again")


@app.command()
def correct(
    context: typer.Context,
    number: Annotated[int, typer.Argument(help="The session's number in the list.")],
    because: Because,
    length: Annotated[str | None, typer.Option(help="How long it was, like 1h30.")] = None,
    ended: Annotated[
        str | None, typer.Option(help="When it ended, like 'yesterday 18:30'.")
    ] = None,
    work: Annotated[
        Literal["prepare", "transfer", "burn", "finish"] | None,
        typer.Option(help="What was being done."),
    ] = None,
    zone: Zone = None,
    tip: Annotated[str | None, typer.Option(help="The tip or nib used.")] = None,
    heat: Annotated[str | None, typer.Option(help="The heat, as your own dial has it.")] = None,
    job: Annotated[
        str | None, typer.Option(help="The job it was really on.", callback=whole_commission)
    ] = None,
    note: NewNote = None,
    no_zone: Annotated[bool, typer.Option("--no-zone", help="It was on no one zone.")] = False,
) -> None:
    """Put a wrong entry right: a new one counts in its place, the wrong one stays on record.

    Examples:
      burnplan session correct 26 --length 1h30 --because "clock left running"
      burnplan session correct 26 --zone 3 --because "wrong zone"
      burnplan session correct 26 --job C-0008 --because "wrong job"
    """
    if no_zone and zone is not None:
        raise BadInput("A zone and none cannot both be", "Give --zone or --no-zone")
    right = corrections.Correction(
        job=job,
        work=work,
        zone=zone,
        no_zone=no_zone,
        tip=tip,
        heat=heat,
        note=note,
        length=None if length is None else parse_duration(length),
        ended=given_moment(context, ended),
    )
    made = corrections.correct(the_studio(context), number, right, because)
    console.show(shown.session_line(made))
    _say_when(context, made)
    if made.set_aside is not None:
        console.notice(
            f"It was set aside and teaches nothing: {made.set_aside}; if that is put right:"
            f" burnplan session teach {made.number}"
        )
    console.show(f"Session {made.number} counts in place of {number}, which stays on record")


@app.command()
def remove(
    context: typer.Context,
    number: Annotated[int, typer.Argument(help="The session's number in the list.")],
    because: Because,
) -> None:
    """Take out a session that never was; the history keeps it.

    Examples:
      burnplan session remove 26 --because "started on the wrong day"
    """
    gone = corrections.remove(the_studio(context), number, because)
    console.show(f"Session {number} on [code]{gone.code}[/] is taken out")
    console.notice("Take it back with: burnplan undo")


@app.command()
def plan(
    context: typer.Context,
    which: Annotated[str | None, one_commission("A job to plan one session of.")] = None,
    when: Annotated[
        str | None, typer.Argument(metavar="[WHEN]", help="When, like 'friday 14:00'.")
    ] = None,
    length: Annotated[
        str | None, typer.Argument(metavar="[LENGTH]", help="How long, like 2h; breaks on top.")
    ] = None,
    work: WorkOption = None,
    note: Note = "",
    days: Annotated[int, typer.Option(help="Lay the queue into so many days.")] = 7,
    starting: Annotated[
        str, typer.Option(help="When a day's first session begins, like 9:00 or 8:30pm.")
    ] = "9:00",
) -> None:
    """Plan sessions: the whole queue laid into the days to come, or one of a job.

    Called bare it fills the free hours of the days to come, earliest due date
    first, with a break after each 50 minutes; what is planned already stays.

    Examples:
      burnplan session plan
      burnplan session plan --days 14 --starting 18:30
      burnplan session plan C-0007 "friday 14:00" 2h
    """
    studio = the_studio(context)
    if which is None:
        refuse_idle(context, "of the whole queue", "work", "note")
        made = planned_sessions.lay_out(studio, days, parse_time(starting))
        if not made:
            return console.show(
                "[soft]No free hours, or no booked work with known hours, in those days[/]"
            )
    elif when is None or length is None:
        raise BadInput(
            "A planned session needs a time and a length",
            "Write it like: burnplan session plan C-0007 'friday 14:00' 2h",
        )
    else:
        refuse_idle(context, "of one session", "days", "starting")
        moment = typed_dates.moment(studio, when)
        span, found = parse_duration(length), work or sessions.next_work(studio, which)
        made = [planned_sessions.add(studio, which, moment, span, found, note)]
        if work is None:
            _say_work(found, today.BY_STEP)
    console.show(shown_plan.planned_table(made, studio))
    console.caution("Draw the smoke away at its source; breaks rest eyes and hands")
    return None


@app.command()
@answers
def planned(context: typer.Context) -> "Answer[list[planned_sessions.PlannedView]]":
    """List the planned sessions to come, with their breaks.

    Examples:
      burnplan session planned
    """
    studio = the_studio(context)
    found = planned_sessions.since(studio, studio.now())
    return Answer(found, lambda them: shown_plan.planned_table(them, studio))


@app.command()
def unplan(
    context: typer.Context,
    number: Annotated[int, typer.Argument(help="Its number among the planned sessions.")],
) -> None:
    """Take a planned session out.

    Examples:
      burnplan session unplan 4
    """
    gone = planned_sessions.remove(the_studio(context), number)
    console.show(f"The session on [code]{gone.code}[/] is no longer planned")


@app.command("now")
@answers
def now(context: typer.Context) -> "Answer[sessions.SessionView | None]":
    """Show whether the clock runs.

    Examples:
      burnplan session now
    """
    return Answer(
        sessions.open_now(the_studio(context)),
        lambda found: shown.session_line(found) if found else "[soft]No clock is running[/]",
    )


@app.command("list")
@answers
@gathered_by(page)
def list_(
    context: typer.Context,
    which: OneCommission = None,
    replaced: Annotated[
        bool, typer.Option("--replaced", help="Also those that a correction replaced.")
    ] = False,
    *,
    page: "paging.ListPage",
) -> "Answer[list[sessions.SessionView]]":
    """List sessions, newest first.

    Examples:
      burnplan session list C-0007
      burnplan session list C-0007 --replaced
    """
    studio = the_studio(context)
    found = sessions.all_of(studio, which, page=page, replaced=replaced)
    return Answer(found, lambda them: shown.session_table(them, studio), page)


# As these were called before; for one version more (see CHANGELOG.md).
_BEFORE: dict[str, Callable[..., Any]] = {
    "start": begin, "pause": break_, "resume": go_on, "stop": end, "log": enter, "status": now,
}  # fmt: skip
for _name, _command in _BEFORE.items():
    app.command(_name, hidden=True)(_command)
