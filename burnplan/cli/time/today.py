"""burnplan today: the day at the bench."""

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import the_settings, the_studio
from burnplan.desk.time import today
from burnplan.show.time import today as shown


@answers
def command(context: typer.Context) -> "Answer[today.TodayView]":
    """Show the day: the clock, planned sessions, next steps, coats, money due, what is at risk.

    Examples:
      burnplan today
    """
    studio, own = the_studio(context), the_settings(context)
    return Answer(today.look(studio), lambda view: shown.day(view, studio, own))
