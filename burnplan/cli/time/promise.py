"""burnplan promise: dates that hold. burnplan days-off: when there is no work."""

from typing import Annotated

import typer

from burnplan.cli import completion
from burnplan.cli.common import (
    AsJson,
    AsSchema,
    answer,
    given_date,
    group,
    the_settings,
    the_studio,
)
from burnplan.errors import BadInput

days_off = group()


def _confidence(text: str) -> float:
    try:
        value = float(text.strip().removesuffix("%").strip().replace(",", "."))
    except ValueError:
        value = 0.0
    if not 50 <= value <= 99.5:
        raise BadInput(
            f"'{text}' is no chance to promise a date at", "Give between 50 and 99.5, like 90"
        )
    return value / 100


def _hours(text: str) -> float:
    from burnplan.units import parse_duration

    try:
        plain = text.strip().lower().removesuffix("hours").removesuffix("h").strip()
        return float(plain.replace(",", "."))
    except ValueError:
        return parse_duration(text).total_seconds() / 3600


def promise(
    context: typer.Context,
    which: Annotated[
        str | None,
        typer.Argument(
            metavar="[COMMISSION]",
            help="A job to find a date for; else the queue.",
            autocompletion=completion.commissions,
        ),
    ] = None,
    hours: Annotated[
        str | None, typer.Option(help="Hours of a new job as you judge them, like 12.")
    ] = None,
    sure: Annotated[str, typer.Option(help="The chance wanted that the date is met, %.")] = "90",
    weeks: Annotated[
        int, typer.Option(help="Show so many weeks of the season: free, booked, due.")
    ] = 0,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
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
    from burnplan.desk.time import promises
    from burnplan.show.time import dates

    return answer(
        promises.Promises,
        as_json,
        as_schema,
        lambda: promises.look_ahead(
            the_studio(context),
            which,
            hours=None if hours is None else _hours(hours),
            confidence=_confidence(sure),
            weeks=weeks,
        ),
        lambda found: dates.promises(found, the_studio(context).today()),
    )


@days_off.command("add")
def add_days_off(
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
    from burnplan.desk.studio import days_off as desk
    from burnplan.show.console import show
    from burnplan.show.time import dates

    start, end = given_date(context, first), given_date(context, last)
    if start is None:  # only said for the type: the argument must be given
        raise BadInput("No day is given", "Write it like friday")
    made = desk.add(the_studio(context), start, end, because)
    show(dates.days_off_table([made], the_studio(context).today()))


@days_off.command("list")
def list_days_off(
    context: typer.Context, as_json: AsJson = False, as_schema: AsSchema = False
) -> None:
    """List the days off to come; public holidays are those of the setting ``holidays``.

    Examples:

      burnplan days-off list
    """
    from burnplan.desk.studio import days_off as desk
    from burnplan.show.time import dates

    studio = the_studio(context)
    return answer(
        list[desk.DayOffView],
        as_json,
        as_schema,
        lambda: desk.to_come(studio, the_settings(context)),
        lambda found: dates.days_off_table(found, studio.today()),
    )


@days_off.command("remove")
def remove_days_off(
    context: typer.Context,
    number: Annotated[int, typer.Argument(help="Their number in the list.")],
) -> None:
    """Work on days that were off.

    Examples:

      burnplan days-off remove 3
    """
    from burnplan.desk.studio import days_off as desk
    from burnplan.show.console import show

    gone = desk.remove(the_studio(context), number)
    show(f"{gone.starts_on} is a day of work again")
