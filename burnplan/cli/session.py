"""burnplan session: the clock, and hours after the fact."""

from typing import Annotated, Literal

import typer

from burnplan.cli.common import (
    AsJson,
    AsSchema,
    WhichCommission,
    group,
    print_json,
    print_schema,
    the_studio,
)

app = group("Sessions: a clock that runs on when the terminal is closed, or hours after the fact.")

WorkOption = Annotated[
    Literal["prepare", "transfer", "burn", "finish"], typer.Option(help="What is being done.")
]
Zone = Annotated[int | None, typer.Option(help="The value zone worked on, 1 darkest.")]
Tip = Annotated[str, typer.Option(help="The tip or nib used.")]
Heat = Annotated[str, typer.Option(help="The heat, as your own dial has it.")]
Note = Annotated[str, typer.Option(help="Anything worth remembering.")]


@app.command()
def start(
    context: typer.Context,
    which: WhichCommission,
    work: WorkOption = "burn",
    zone: Zone = None,
    tip: Tip = "",
    heat: Heat = "",
    note: Note = "",
) -> None:
    """Start the clock on a commission.

    Examples:

      burnplan session start C-0007 --zone 1 --tip "round 2 mm" --heat 6.5
    """
    from burnplan.desk import checklists, sessions
    from burnplan.show.console import notice, show
    from burnplan.show.work import session_line

    studio = the_studio(context)
    doing = sessions.Doing(work=work, zone=zone, tip=tip, heat=heat, note=note)
    made = sessions.start(studio, which, doing)
    show(session_line(made))
    if work == "burn" and (reminder := checklists.reminder_for(studio, made.code)):
        notice(reminder)
    notice("Draw the smoke away at its source; stop with: burnplan session stop")


@app.command()
def pause(context: typer.Context) -> None:
    """Pause the clock.

    Examples:

      burnplan session pause
    """
    from burnplan.desk import sessions
    from burnplan.show.console import show
    from burnplan.show.work import session_line

    show(session_line(sessions.pause(the_studio(context))))


@app.command()
def resume(context: typer.Context) -> None:
    """Let the paused clock run on.

    Examples:

      burnplan session resume
    """
    from burnplan.desk import sessions
    from burnplan.show.console import show
    from burnplan.show.work import session_line

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
    from burnplan.dates import parse_moment
    from burnplan.desk import sessions
    from burnplan.show.console import notice, show
    from burnplan.show.work import session_line

    studio = the_studio(context)
    moment = None
    if at is not None:
        moment = studio.moment(parse_moment(at, studio.local(studio.now())))
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
    work: WorkOption = "burn",
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
    from burnplan.dates import parse_moment
    from burnplan.desk import sessions
    from burnplan.show.console import show
    from burnplan.show.work import session_line
    from burnplan.units import parse_duration

    studio = the_studio(context)
    moment = None
    if ended is not None:
        moment = studio.moment(parse_moment(ended, studio.local(studio.now())))
    doing = sessions.Doing(work=work, zone=zone, tip=tip, heat=heat, note=note)
    made = sessions.log(studio, which, parse_duration(length), doing, ended=moment)
    show(session_line(made))


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
    from burnplan.desk import pace
    from burnplan.show.console import show

    pace.set_aside(the_studio(context), number, because)
    show(f"Session {number} no longer teaches the forecasts; its hours still count as worked")


@app.command()
def status(context: typer.Context, as_json: AsJson = False, as_schema: AsSchema = False) -> None:
    """Show whether the clock runs.

    Examples:

      burnplan session status
    """
    from burnplan.desk import sessions
    from burnplan.show.console import show
    from burnplan.show.work import session_line

    if as_schema:
        return print_schema(sessions.SessionView | None)
    found = sessions.open_now(the_studio(context))
    if as_json:
        return print_json(found, sessions.SessionView | None)
    return show(session_line(found) if found else "[soft]No clock is running[/]")


@app.command("list")
def list_(
    context: typer.Context,
    which: Annotated[
        str | None, typer.Argument(metavar="[COMMISSION]", help="Of one commission only.")
    ] = None,
    limit: Annotated[int, typer.Option(help="How many at most.", min=1, max=10_000)] = 50,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """List sessions, newest first.

    Examples:

      burnplan session list C-0007
    """
    from burnplan.desk import sessions
    from burnplan.show.console import show
    from burnplan.show.work import session_table

    if as_schema:
        return print_schema(list[sessions.SessionView])
    studio = the_studio(context)
    found = sessions.all_of(studio, which, limit=limit)
    if as_json:
        return print_json(found, list[sessions.SessionView])
    return show(session_table(found, studio))
