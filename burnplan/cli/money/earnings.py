"""burnplan earnings: what delivered jobs earned."""

from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import given_date, the_settings, the_studio
from burnplan.desk.money import earnings
from burnplan.show.money import earnings as shown


@answers
def command(
    context: typer.Context,
    since: Annotated[
        str | None, typer.Option(help="Jobs delivered from this day on, if not of a year.")
    ] = None,
) -> "Answer[earnings.EarningsView]":
    """Review what delivered jobs earned an hour, against the target, and where hours went.

    Examples:
      burnplan earnings
      burnplan earnings --since 2024-01-01
    """
    found = earnings.review(the_studio(context), given_date(context, since, past=True))
    return Answer(found, lambda view: shown.earnings_report(view, the_settings(context)))
