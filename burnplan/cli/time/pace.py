"""burnplan pace: what the hours on record say of the forecasts."""

from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import the_settings, the_studio
from burnplan.desk.time import pace
from burnplan.show.time import pace as shown


@answers
def command(
    context: typer.Context,
    guess: Annotated[
        bool, typer.Option("--guess", help="Show the starting guess too, with where it is from.")
    ] = False,
) -> "Answer[pace.PaceView]":
    """Show what your hours say of your pace, how sure that is, and what looks wrong.

    Examples:
      burnplan pace
      burnplan pace --guess
    """
    found = pace.review(the_studio(context))
    return Answer(found, lambda view: shown.pace_report(view, the_settings(context), priors=guess))
