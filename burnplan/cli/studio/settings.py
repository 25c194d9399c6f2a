"""burnplan settings: how this studio works."""

from typing import Annotated

import typer

from burnplan.cli import completion
from burnplan.cli.answers import Answer, answers
from burnplan.cli.asking import ask_settings
from burnplan.cli.common import the_studio
from burnplan.desk.derived import studio_settings
from burnplan.desk.studio import settings
from burnplan.errors import BadInput
from burnplan.show import console
from burnplan.show.studio import settings as shown


@answers
def command(
    context: typer.Context,
    changes: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[NAME=VALUE]...",
            help="What to change, for example paper=a3.",
            autocompletion=completion.setting_names,
        ),
    ] = None,
    ask_again: Annotated[
        bool, typer.Option("--ask", help="Ask every setting, one by one.")
    ] = False,
    sources: Annotated[
        bool, typer.Option("--sources", help="Say where the figures to begin with are from.")
    ] = False,
) -> "Answer[studio_settings.Settings]":
    """Show or change how this studio works: units, money, paper, hand, free hours.

    Examples:
      burnplan settings
      burnplan settings currency=EUR locale=de_DE hourly_target=35
      burnplan settings units=imperial paper=letter "hours=4 4 0 4 4 2 0"
      burnplan settings --sources
      burnplan settings burning_hours=3 holidays=DE-BY drying_days=2 delivery_days=3
    """
    studio = the_studio(context)
    seen = current = settings.current(studio)
    if ask_again:
        seen = current = settings.save(studio, ask_settings(seen), seen)
    # The currency first: amounts are read in it.
    for change in sorted(changes or [], key=lambda one: not one.startswith("currency")):
        name, equals, value = change.partition("=")
        if not equals:
            raise BadInput(f"'{change}' is not a change", "Write it like paper=a3")
        current = settings.parsed(current, name.strip().replace("-", "_"), value)
    if changes:
        given = {change.partition("=")[0].strip().replace("-", "_") for change in changes}
        if current.hourly_target != seen.hourly_target and "hourly_target" not in given:
            target = studio_settings.ASKED["hourly_target"]
            was, now = (target.said(one.hourly_target, one) for one in (seen, current))
            console.notice(f"hourly_target was {was}; in {current.currency} it is {now}")
        current = settings.save(studio, current, seen)
        if current.currency != seen.currency and (priced := settings.priced_blanks(studio)):
            console.notice(
                f"Costs of blanks have no currency of their own: those of {', '.join(priced)} are"
                f" {current.currency} from now on. Put each right: burnplan blank edit CODE"
                " --cost AMOUNT"
            )
    if sources:
        return Answer(current, lambda _: shown.figure_table(settings.figures()))
    return Answer(current, shown.settings_card)
