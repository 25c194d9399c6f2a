"""burnplan finish: the coats of a piece, and when the next may go on."""

from typing import Annotated

import typer

from burnplan.cli.common import AsJson, AsSchema, WhichCommission, answer, group, the_studio

app = group()


@app.command()
def plan(
    context: typer.Context,
    which: WhichCommission,
    product: Annotated[str, typer.Argument(help="What the coats are of, as on the tin.")],
    dry: Annotated[str, typer.Option(help="Until dry, as the maker's label says: 8h.")],
    coats: Annotated[int, typer.Option(help="How many.")] = 3,
    next_: Annotated[
        str | None, typer.Option("--next", help="Until the next coat, as the label says: 24h.")
    ] = None,
) -> None:
    """Plan the coats of a piece; each becomes a step of its checklist.

    Examples:

      burnplan finish plan C-0007 "hard wax oil" --coats 2 --dry 8h --next 12h
    """
    from burnplan.desk.jobs import finishing
    from burnplan.show.console import show
    from burnplan.show.wood.conditioning import finish_card
    from burnplan.units import parse_duration

    studio = the_studio(context)
    made = finishing.plan(
        studio,
        which,
        product,
        coats=coats,
        dry=parse_duration(dry),
        next_coat=parse_duration(next_) if next_ else None,
    )
    show(finish_card(made, studio))


@app.command("show")
def show_(
    context: typer.Context,
    which: WhichCommission,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Show what finish a piece's use asks for, and when its next coat may go on.

    Examples:

      burnplan finish show C-0007
    """
    from burnplan.desk.jobs import finishing
    from burnplan.show.wood.conditioning import finish_card

    studio = the_studio(context)
    return answer(
        finishing.FinishView,
        as_json,
        as_schema,
        lambda: finishing.show(studio, which),
        lambda found: finish_card(found, studio),
    )
