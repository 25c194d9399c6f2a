"""burnplan session: the clock, and hours after the fact."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from burnplan.cli import completion
from burnplan.cli.common import (
    AsJson,
    AsSchema,
    PageNumber,
    Rows,
    WhichCommission,
    answer,
    answer_page,
    given_moment,
    group,
    the_studio,
)

if TYPE_CHECKING:
    from datetime import time

    from burnplan.desk.jobs.sessions import SessionView

app = group()

WorkOption = Annotated[
    Literal["prepare", "transfer", "burn", "finish"] | None,
    typer.Option(
        help="What is being done; if not said, what the next open step is, or burn with a zone."
    ),
]
Zone = Annotated[int | None, typer.Option(help="The value zone worked on, 1 darkest.")]
Tip = Annotated[str, typer.Option(help="The tip or nib used.")]
Heat = Annotated[str, typer.Option(help="The heat, as your own dial has it.")]
Note = Annotated[str, typer.Option(help="Anything worth remembering.")]

# The caution nearest to each kind of work; their sources are in wood/cautions.py.
_MIND = {
    "prepare": "Collect the dust at the sander and wear a fitted dust mask",
    "transfer": "Graphite paper, never carbon",
    "burn": "Draw the smoke away at its source",
    "finish": "Air the room, and dry oily rags flat outdoors",
}


def _say_work(found: str, said: str | None, zone: int | None = None) -> None:
    """Say what a sitting counts as where that was found by the next open step."""
    from burnplan.show.console import notice

    if said is None and zone is None:
        notice(f"Counted as {found}, by the next open step; --work says otherwise")


@app.command()
def start(
    context: typer.Context,
    which: WhichCommission,
    work: WorkOption = None,
    zone: Zone = None,
    tip: Tip = "",
    heat: Heat = "",
    note: Note = "",
) -> None:
    """Start the clock on a commission.

    Examples:

      burnplan session start C-0007 --zone 1 --tip "round 2 mm" --heat 6.5
    """
    from burnplan.desk.jobs import checklists, sessions
    from burnplan.desk.time import planned_sessions
    from burnplan.show.console import notice, show
    from burnplan.show.jobs.work import session_line

    studio = the_studio(context)
    found = work or sessions.next_work(studio, which, zone)
    doing = sessions.Doing(work=found, zone=zone, tip=tip, heat=heat, note=note)
    made = sessions.start(studio, which, doing)
    show(session_line(made))
    _say_work(found, work, zone)
    if reminder := checklists.before_work(studio, made.code, made.work):
        notice(reminder)
    rest = studio.local(made.started_at + planned_sessions.STRETCH)
    notice(f"Take a break at {rest:%H:%M}: eyes, hands and air")
    notice(f"{_MIND[made.work]}; stop with: burnplan session stop")


@app.command()
def pause(context: typer.Context) -> None:
    """Pause the clock.

    Examples:

      burnplan session pause
    """
    from burnplan.desk.jobs import sessions
    from burnplan.show.console import show
    from burnplan.show.jobs.work import session_line

    show(session_line(sessions.pause(the_studio(context))))


@app.command()
def resume(context: typer.Context) -> None:
    """Let the paused clock run on.

    Examples:

      burnplan session resume
    """
    from burnplan.desk.jobs import sessions
    from burnplan.show.console import show
    from burnplan.show.jobs.work import session_line

    show(session_line(sessions.resume(the_studio(context))))


@app.command()
def stop(
    context: typer.Context,
    at: Annotated[
        str | None, typer.Option(help="When it should have been stopped, like 18:30.")
    ] = None,
    note: Note = "",
) -> None:
    """Stop the clock and close the session.

    Examples:

      burnplan session stop --note "left eye done"

      burnplan session stop --at 18:30
    """
    from burnplan.desk.jobs import sessions
    from burnplan.show.console import notice, show
    from burnplan.show.jobs.work import session_line

    studio = the_studio(context)
    moment = given_moment(context, at)
    made = sessions.stop(studio, at=moment, note=note)
    show(session_line(made))
    if made.hours * 3600 > sessions.LONG_SPELL.total_seconds() and at is None:
        notice("That is long: if the clock was forgotten, take it back with 'burnplan undo'")
        notice("and stop it with the right time: burnplan session stop --at HH:MM")


@app.command()
def log(
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

      burnplan session log C-0007 1h30 --zone 2 --ended "yesterday 18:30"

      burnplan session log C-0007 45min --work transfer
    """
    from burnplan.desk.jobs import sessions
    from burnplan.show.console import show
    from burnplan.show.jobs.work import session_line
    from burnplan.units import parse_duration

    studio = the_studio(context)
    moment = given_moment(context, ended)
    span = parse_duration(length)
    found = work or sessions.next_work(studio, which, zone)
    doing = sessions.Doing(work=found, zone=zone, tip=tip, heat=heat, note=note)
    made = sessions.log(studio, which, span, doing, ended=moment)
    show(session_line(made))
    _say_work(found, work, zone)
    _say_when(context, made)


def _say_when(context: typer.Context, made: "SessionView") -> None:
    """Say when a session on record was, and what else is on record for that time."""
    from burnplan.desk.jobs import sessions
    from burnplan.show.console import notice, show

    show(f"On record for {sessions.times_of(the_studio(context), made)}")
    if other := sessions.overlap(the_studio(context), made.number):
        notice(f"{other}; put one right with: burnplan session correct {made.number} --ended WHEN")


@app.command("set-aside")
def set_aside(
    context: typer.Context,
    number: Annotated[int, typer.Argument(help="The session's number in the list.")],
    because: Annotated[str, typer.Option("--because", help="Why.", prompt="Why")],
) -> None:
    """Keep a session's hours from teaching the forecasts, with the reason.

    Examples:

      burnplan session set-aside 26 --because "clock left running overnight"
    """
    from burnplan.desk.time import pace
    from burnplan.show.console import show

    pace.set_aside(the_studio(context), number, because)
    show(f"Session {number} no longer teaches the forecasts; its hours still count as worked")


@app.command()
def correct(
    context: typer.Context,
    number: Annotated[int, typer.Argument(help="The session's number in the list.")],
    because: Annotated[str, typer.Option("--because", help="Why.", prompt="Why")],
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
    note: Annotated[str | None, typer.Option(help="Anything worth remembering.")] = None,
) -> None:
    """Put a wrong entry right: a new one counts in its place, the wrong one stays on record.

    Examples:

      burnplan session correct 26 --length 1h30 --because "clock left running"

      burnplan session correct 26 --zone 3 --because "wrong zone"
    """
    from burnplan.desk.jobs import sessions
    from burnplan.show.console import show
    from burnplan.show.jobs.work import session_line
    from burnplan.units import parse_duration

    right = sessions.Correction(
        work=work,
        zone=zone,
        tip=tip,
        heat=heat,
        note=note,
        length=None if length is None else parse_duration(length),
        ended=given_moment(context, ended),
    )
    made = sessions.correct(the_studio(context), number, right, because)
    show(session_line(made))
    _say_when(context, made)
    show(f"Session {made.number} counts in place of {number}, which stays on record")


@app.command()
def plan(
    context: typer.Context,
    which: Annotated[
        str | None,
        typer.Argument(
            metavar="[COMMISSION]",
            help="A job to plan one session of.",
            autocompletion=completion.commissions,
        ),
    ] = None,
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
        str, typer.Option(help="When a day's first session begins, like 9:00.")
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
    from burnplan.desk.jobs import sessions
    from burnplan.desk.time import planned_sessions
    from burnplan.errors import BadInput
    from burnplan.show.console import notice, show
    from burnplan.show.time import dates
    from burnplan.units import parse_duration

    studio = the_studio(context)
    if which is None:
        made = planned_sessions.lay_out(studio, days, _time_of_day(starting))
        if not made:
            return show("[soft]No free hours, or no booked work with known hours, in those days[/]")
    elif when is None or length is None:
        raise BadInput(
            "A planned session needs a time and a length",
            "Write it like: burnplan session plan C-0007 'friday 14:00' 2h",
        )
    else:
        moment = given_moment(context, when)
        if moment is None:  # only said for the type: it was given
            raise BadInput("No time is given", "Write it like 'friday 14:00'")
        span, found = parse_duration(length), work or sessions.next_work(studio, which)
        made = [planned_sessions.add(studio, which, moment, span, found, note)]
        _say_work(found, work)
    show(dates.planned_table(made, studio))
    notice("Draw the smoke away at its source; breaks rest eyes and hands")
    return None


def _time_of_day(text: str) -> "time":
    from datetime import time

    from burnplan.errors import BadInput

    hours, _, minutes = text.strip().partition(":")
    try:
        return time(int(hours), int(minutes or 0))
    except (ValueError, OverflowError):
        raise BadInput(f"'{text}' is not a time of day", "Write it like 9:00") from None


@app.command()
def planned(context: typer.Context, as_json: AsJson = False, as_schema: AsSchema = False) -> None:
    """List the planned sessions to come, with their breaks.

    Examples:

      burnplan session planned
    """
    from burnplan.desk.time import planned_sessions
    from burnplan.show.time import dates

    studio = the_studio(context)
    return answer(
        list[planned_sessions.PlannedView],
        as_json,
        as_schema,
        lambda: planned_sessions.since(studio, studio.now()),
        lambda found: dates.planned_table(found, studio),
    )


@app.command()
def unplan(
    context: typer.Context,
    number: Annotated[int, typer.Argument(help="Its number among the planned sessions.")],
) -> None:
    """Take a planned session out.

    Examples:

      burnplan session unplan 4
    """
    from burnplan.desk.time import planned_sessions
    from burnplan.show.console import show

    gone = planned_sessions.remove(the_studio(context), number)
    show(f"The session on [code]{gone.code}[/] is no longer planned")


@app.command()
def status(context: typer.Context, as_json: AsJson = False, as_schema: AsSchema = False) -> None:
    """Show whether the clock runs.

    Examples:

      burnplan session status
    """
    from burnplan.desk.jobs import sessions
    from burnplan.show.jobs.work import session_line

    return answer(
        sessions.SessionView | None,
        as_json,
        as_schema,
        lambda: sessions.open_now(the_studio(context)),
        lambda found: session_line(found) if found else "[soft]No clock is running[/]",
    )


@app.command("list")
def list_(
    context: typer.Context,
    which: Annotated[
        str | None,
        typer.Argument(
            metavar="[COMMISSION]",
            help="Of one commission only.",
            autocompletion=completion.commissions,
        ),
    ] = None,
    replaced: Annotated[
        bool, typer.Option("--replaced", help="Also those that a correction replaced.")
    ] = False,
    rows: Rows = 50,
    number: PageNumber = 1,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """List sessions, newest first.

    Examples:

      burnplan session list C-0007

      burnplan session list C-0007 --replaced
    """
    from burnplan.desk.jobs import sessions
    from burnplan.show.jobs.work import session_table

    studio = the_studio(context)
    return answer_page(
        sessions.SessionView,
        as_json,
        as_schema,
        (number, rows),
        lambda page: sessions.all_of(studio, which, page=page, replaced=replaced),
        lambda found: session_table(found, studio),
    )
