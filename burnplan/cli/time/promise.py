"""burnplan promise: dates that hold."""

from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import mind_wood, the_studio
from burnplan.cli.options import one_commission
from burnplan.desk.time import promises
from burnplan.show.time import promises as shown
from burnplan.units import parse_hours


@answers
def command(
    context: typer.Context,
    which: Annotated[
        str | None, one_commission("A job to find a date for; else the queue.")
    ] = None,
    hours: Annotated[
        str | None, typer.Option(help="Hours of a new job as you judge them, like 12.")
    ] = None,
    sure: Annotated[str, typer.Option(help="The chance wanted that the date is met, %.")] = "90",
    weeks: Annotated[
        int, typer.Option(help="Show so many weeks of the season: free, booked, due.")
    ] = 0,
) -> "Answer[promises.Promises]":
    """Say when the booked jobs will be done, and what date one more can be given.

    Works the queue earliest due date first in the hours free, with days off
    and public holidays taken out, a few thousand times over. Drying and
    delivery are days on top.

    Examples:
      burnplan promise
      burnplan promise C-0007
      burnplan promise --hours 12 --sure 95
      burnplan promise --weeks 12
    """
    studio = the_studio(context)
    if which is not None:
        mind_wood(context, which)
    found = promises.look_ahead(
        studio,
        which,
        hours=None if hours is None else parse_hours(hours),
        confidence=promises.typed_chance(sure),
        weeks=weeks,
    )
    return Answer(found, lambda dates: shown.promises(dates, studio.today()))
