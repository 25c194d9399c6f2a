"""burnplan finish: the coats of a piece, and when the next may go on."""

from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import the_studio
from burnplan.cli.options import WhichCommission, group
from burnplan.desk.jobs import finishing
from burnplan.show import console
from burnplan.show.jobs import finishing as shown
from burnplan.units import parse_duration
from burnplan.wood.finishes import USUAL_COATS

app = group()


@app.command()
def plan(
    context: typer.Context,
    which: WhichCommission,
    product: Annotated[str, typer.Argument(help="What the coats are of, as on the tin.")],
    dry: Annotated[str, typer.Option(help="Until dry, as the maker's label says: 8h.")],
    coats: Annotated[int, typer.Option(help="How many.")] = USUAL_COATS,
    next_: Annotated[
        str | None, typer.Option("--next", help="Until the next coat, as the label says: 24h.")
    ] = None,
) -> None:
    """Plan the coats of a piece; each becomes a step of its checklist.

    Examples:
      burnplan finish plan C-0007 "hard wax oil" --coats 2 --dry 8h --next 12h
    """
    studio = the_studio(context)
    made = finishing.plan(
        studio,
        which,
        product,
        coats=coats,
        dry=parse_duration(dry),
        next_coat=parse_duration(next_) if next_ else None,
    )
    console.show(shown.finish_card(made, studio))


@app.command("show")
@answers
def show_(context: typer.Context, which: WhichCommission) -> "Answer[finishing.FinishView]":
    """Show what finish a piece's use asks for, and when its next coat may go on.

    Examples:
      burnplan finish show C-0007
    """
    studio = the_studio(context)
    return Answer(finishing.show(studio, which), lambda found: shown.finish_card(found, studio))
