"""burnplan blank: the wood in stock."""

from typing import Annotated

import typer

from burnplan.cli.common import (
    AsJson,
    AsSchema,
    WhichCommission,
    Yes,
    group,
    print_json,
    print_schema,
    sure,
    the_settings,
    the_studio,
)

app = group("Blanks: the wood in stock, how far it is sanded, what it is held for.")

Which = Annotated[str, typer.Argument(metavar="BLANK", help="Its code (B-0012, 12).")]


@app.command()
def add(
    context: typer.Context,
    species: Annotated[str, typer.Argument(help="Like basswood; see 'burnplan blank species'.")],
    size: Annotated[str, typer.Argument(help="Like 30x40cm, 'round 25cm', 'oval 20x30cm'.")],
    thickness: Annotated[str | None, typer.Option(help="Like 18mm or 3/4in.")] = None,
    cost: Annotated[str | None, typer.Option(help="What it cost.")] = None,
    grit: Annotated[int | None, typer.Option(help="The finest grit done, if any.")] = None,
    supplier: Annotated[str, typer.Option(help="Where it is from.")] = "",
    place: Annotated[str, typer.Option(help="Where it lies.")] = "",
    note: Annotated[str, typer.Option(help="Anything worth remembering.")] = "",
) -> None:
    """Put a blank in stock.

    Examples:

      burnplan blank add basswood 30x40cm --thickness 18mm --cost 14.50 --grit 150

      burnplan blank add cherry "round 10in" --place "shelf 2"
    """
    from burnplan.desk import blanks
    from burnplan.show.console import show
    from burnplan.show.work import blank_card

    new = blanks.NewBlank(
        species=species,
        size=size,
        thickness=thickness,
        cost=cost,
        grit=grit,
        supplier=supplier,
        location=place,
        note=note,
    )
    show(blank_card(blanks.add(the_studio(context), new), the_settings(context)))


@app.command("list")
def list_(
    context: typer.Context,
    gone: Annotated[bool, typer.Option("--all", help="Used and scrapped ones too.")] = False,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """List the blanks.

    Examples:

      burnplan blank list
    """
    from burnplan.desk import blanks
    from burnplan.show.console import show
    from burnplan.show.work import blank_table

    if as_schema:
        return print_schema(list[blanks.BlankView])
    found = blanks.everything(the_studio(context), gone=gone)
    if as_json:
        return print_json(found, list[blanks.BlankView])
    return show(blank_table(found, the_settings(context)))


@app.command("show")
def show_(
    context: typer.Context, which: Which, as_json: AsJson = False, as_schema: AsSchema = False
) -> None:
    """Show one blank, with the sanding left to do.

    Examples:

      burnplan blank show B-0012
    """
    from burnplan.desk import blanks
    from burnplan.show.console import show
    from burnplan.show.work import blank_card

    if as_schema:
        return print_schema(blanks.BlankView)
    found = blanks.show(the_studio(context), which)
    if as_json:
        return print_json(found, blanks.BlankView)
    return show(blank_card(found, the_settings(context)))


@app.command()
def sand(
    context: typer.Context,
    which: Which,
    grit: Annotated[int | None, typer.Argument(help="The grit done.")] = None,
    water: Annotated[bool, typer.Option("--water", help="The grain was raised.")] = False,
) -> None:
    """Put on record a grit done, or the grain raised with water.

    Examples:

      burnplan blank sand B-0012 220

      burnplan blank sand B-0012 --water
    """
    from burnplan.desk import blanks
    from burnplan.errors import BadInput
    from burnplan.show.console import show
    from burnplan.show.work import blank_card

    if (grit is None) != water:
        raise BadInput("Give a grit or --water, one of them", "For example: blank sand B-0012 220")
    made = blanks.sand(the_studio(context), which, grit)
    show(blank_card(made, the_settings(context)))


@app.command()
def hold(context: typer.Context, which: Which, commission: WhichCommission) -> None:
    """Hold a blank for a commission, which takes its size and wood.

    Examples:

      burnplan blank hold B-0012 C-0007
    """
    from burnplan.desk import blanks
    from burnplan.show.console import show

    made = blanks.hold(the_studio(context), which, commission)
    show(f"[code]{made.code}[/] is held for [code]{made.held_for}[/]")


@app.command()
def release(context: typer.Context, which: Which) -> None:
    """Let a blank go back to stock.

    Examples:

      burnplan blank release B-0012
    """
    from burnplan.desk import blanks
    from burnplan.show.console import show

    show(f"[code]{blanks.release(the_studio(context), which).code}[/] is in stock again")


@app.command()
def scrap(
    context: typer.Context,
    which: Which,
    because: Annotated[str, typer.Option("--because", help="Why.", prompt="Why")],
    yes: Yes = False,
) -> None:
    """Write a blank off.

    Examples:

      burnplan blank scrap B-0012 --because "checked at the end grain"
    """
    from burnplan.desk import blanks
    from burnplan.show.console import show

    found = blanks.show(the_studio(context), which)
    sure(f"Scrap {found.code} ({found.species_name.lower()})?", yes)
    blanks.scrap(the_studio(context), found.code, because)
    show(f"[code]{found.code}[/] is scrapped; take it back with: burnplan undo")


@app.command()
def species(as_json: AsJson = False, as_schema: AsSchema = False) -> None:
    """List the species table, with how well each figure is known.

    Examples:

      burnplan blank species
    """
    from burnplan.show.console import show
    from burnplan.show.species import SpeciesRow, species_rows, species_table

    if as_schema:
        return print_schema(list[SpeciesRow])
    if as_json:
        return print_json(species_rows(), list[SpeciesRow])
    return show(species_table())
