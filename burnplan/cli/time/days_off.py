"""burnplan days-off: when there is no work."""

from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import given_date, the_settings, the_studio
from burnplan.cli.options import group
from burnplan.dates import format_date
from burnplan.desk.studio import days_off, typed_dates
from burnplan.desk.time import planned_sessions
from burnplan.show import console
from burnplan.show.studio import days_off as shown

app = group()


@app.command()
def add(
    context: typer.Context,
    first: Annotated[str, typer.Argument(metavar="DAY", help="The day off, or the first.")],
    last: Annotated[
        str | None, typer.Argument(metavar="[LAST]", help="The last day off, if there are more.")
    ] = None,
    because: Annotated[str, typer.Option("--because", help="Why.")] = "away",
) -> None:
    """Take a day off, or all days from a first to a last.

    Examples:
      burnplan days-off add friday
      burnplan days-off add 2027-08-02 2027-08-20 --because "summer holiday"
    """
    studio = the_studio(context)
    start, end = typed_dates.day(studio, first), given_date(context, last)
    made = days_off.add(studio, start, end, because)
    console.show(shown.days_off_table([made], studio.today()))
    for one in planned_sessions.on_days(studio, made.starts_on, made.ends_on):
        day = format_date(studio.local(one.starts_at).date(), studio.today())
        console.notice(
            f"Session {one.number} of {one.code} is still planned, {day}; to take it out:"
            f" burnplan session unplan {one.number}"
        )


@app.command("list")
@answers
def list_(context: typer.Context) -> "Answer[list[days_off.DayOffView]]":
    """List the days off to come; public holidays are those of the setting ``holidays``.

    Examples:
      burnplan days-off list
    """
    studio = the_studio(context)
    found = days_off.to_come(studio, the_settings(context))
    return Answer(found, lambda days: shown.days_off_table(days, studio.today()))


@app.command()
def remove(
    context: typer.Context, number: Annotated[int, typer.Argument(help="Their number in the list.")]
) -> None:
    """Work on days that were off.

    Examples:
      burnplan days-off remove 3
    """
    gone = days_off.remove(the_studio(context), number)
    console.show(shown.off_no_more(gone))
