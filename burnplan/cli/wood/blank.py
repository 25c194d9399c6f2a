"""burnplan blank: the wood in stock."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli import completion
from burnplan.cli.common import (
    AsJson,
    AsSchema,
    PageNumber,
    Rows,
    WhichCommission,
    Yes,
    answer,
    answer_page,
    ask_about,
    given_moment,
    group,
    print_json,
    print_schema,
    sure,
    the_settings,
    the_studio,
)

app = group()

Which = Annotated[
    str,
    typer.Argument(
        metavar="BLANK", help="Its code (B-0012, 12).", autocompletion=completion.blanks
    ),
]


@app.command()
def add(
    context: typer.Context,
    species: Annotated[
        str,
        typer.Argument(
            help="Like basswood; see 'burnplan blank species'.", autocompletion=completion.species
        ),
    ],
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
    from burnplan.desk.wood import blanks
    from burnplan.show.console import show
    from burnplan.show.jobs.work import blank_card

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
    ask_about(context, species)
    show(blank_card(blanks.add(the_studio(context), new), the_settings(context)))


@app.command("list")
def list_(
    context: typer.Context,
    gone: Annotated[bool, typer.Option("--all", help="Used and scrapped ones too.")] = False,
    rows: Rows = 50,
    number: PageNumber = 1,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """List the blanks.

    Examples:

      burnplan blank list
    """
    from burnplan.desk.wood import blanks
    from burnplan.show.jobs.work import blank_table

    return answer_page(
        blanks.BlankView,
        as_json,
        as_schema,
        (number, rows),
        lambda page: blanks.everything(the_studio(context), gone=gone, page=page),
        lambda found: blank_table(found, the_settings(context)),
    )


@app.command("show")
def show_(
    context: typer.Context, which: Which, as_json: AsJson = False, as_schema: AsSchema = False
) -> None:
    """Show one blank, with the sanding left to do.

    Examples:

      burnplan blank show B-0012
    """
    from burnplan.desk.wood import blanks
    from burnplan.show.jobs.work import blank_card

    return answer(
        blanks.BlankView,
        as_json,
        as_schema,
        lambda: blanks.show(the_studio(context), which),
        lambda found: blank_card(found, the_settings(context)),
    )


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
    from burnplan.desk.wood import blanks
    from burnplan.errors import BadInput
    from burnplan.show.console import show
    from burnplan.show.jobs.work import blank_card

    if (grit is None) != water:
        raise BadInput("Give a grit or --water, one of them", "For example: blank sand B-0012 220")
    made = blanks.sand(the_studio(context), which, grit)
    show(blank_card(made, the_settings(context)))


@app.command()
def hold(
    context: typer.Context,
    which: Which,
    commission: WhichCommission,
    override: Annotated[
        str | None,
        typer.Option("--override", metavar="REASON", help="Why what blocks it is set aside."),
    ] = None,
) -> None:
    """Hold a blank for a commission, which takes its size and wood.

    A blank that must not be burned is refused, unless you say why it is safe; the
    reason stays on record.

    Examples:

      burnplan blank hold B-0012 C-0007

      burnplan blank hold B-0012 C-0007 --override "planed 3 mm off, bare oak on all sides"
    """
    from burnplan.desk.wood import blanks
    from burnplan.show.console import show
    from burnplan.show.wood.conditioning import hazard_list

    made = blanks.hold(the_studio(context), which, commission, override=override)
    show(f"[code]{made.code}[/] is held for [code]{made.held_for}[/]", hazard_list(made.hazards))


@app.command()
def release(context: typer.Context, which: Which) -> None:
    """Let a blank go back to stock.

    Examples:

      burnplan blank release B-0012
    """
    from burnplan.desk.wood import blanks
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
    from burnplan.desk.wood import blanks
    from burnplan.show.console import show

    found = blanks.show(the_studio(context), which)
    sure(f"Scrap {found.code} ({found.species_name.lower()})?", yes)
    blanks.scrap(the_studio(context), found.code, because)
    show(f"[code]{found.code}[/] is scrapped; take it back with: burnplan undo")


@app.command()
def species(context: typer.Context, as_json: AsJson = False, as_schema: AsSchema = False) -> None:
    """List the species table, with how well each figure is known.

    Examples:

      burnplan blank species
    """
    from burnplan.desk.wood import own_species
    from burnplan.show.console import show
    from burnplan.show.wood.species import SpeciesRow, species_rows, species_table

    if as_schema:
        return print_schema(list[SpeciesRow])
    studio = the_studio(context)
    own = own_species.known(studio) if studio.has_book else []
    if as_json:
        return print_json(species_rows(own), list[SpeciesRow])
    return show(species_table(own))


Shop = Annotated[
    str | None, typer.Option("--shop", help="Reckon with this air in the shop: '21C 45%'.")
]
Home = Annotated[
    str | None, typer.Option("--home", help="Reckon with this air at the client's: '70F 35%'.")
]


@app.command()
def climate(
    context: typer.Context,
    air: Annotated[str, typer.Argument(help="Temperature and humidity: '21C 45%', '70F 45%'.")],
    client: Annotated[str | None, typer.Option(help="At this client's home.")] = None,
) -> None:
    """Put on record the air in the shop, or at a client's home; the newest counts.

    Examples:

      burnplan blank climate "19C 48%"

      burnplan blank climate "70F 35%" --client Mara
    """
    from burnplan.desk.wood import conditioning
    from burnplan.show.console import show
    from burnplan.show.wood.conditioning import air_words

    noted = conditioning.note_air(the_studio(context), air, client)
    show(air_words(noted, the_settings(context).units))


@app.command()
def moisture(
    context: typer.Context,
    which: Which,
    reading: Annotated[
        str | None, typer.Argument(help="A reading to put on record, %: 9.5.")
    ] = None,
    at: Annotated[str | None, typer.Option("--at", help="When it was taken.")] = None,
    note: Annotated[str, typer.Option(help="Meter, place, depth.")] = "",
    shop: Shop = None,
    home: Home = None,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Log a moisture reading, and say whether to wait for the wood or go.

    Examples:

      burnplan blank moisture B-0012 9.5

      burnplan blank moisture B-0012 --shop "21C 45%"
    """
    from burnplan.desk.wood import conditioning
    from burnplan.errors import BadInput
    from burnplan.show.console import show
    from burnplan.show.wood.conditioning import moisture_card

    if as_schema:
        return print_schema(conditioning.MoistureView)
    studio = the_studio(context)
    if reading is None and (at or note):
        raise BadInput("Give the reading too", "For example: blank moisture B-0012 9.5")
    if reading is not None:
        if shop or home:
            conditioning.check_airs(shop, home, the_settings(context).units)
        conditioning.log_moisture(studio, which, reading, at=given_moment(context, at), note=note)
    found = conditioning.moisture_of(studio, which, shop=shop, home=home)
    if as_json:
        return print_json(found, conditioning.MoistureView)
    return show(moisture_card(found, the_settings(context), studio))


@app.command()
def movement(
    context: typer.Context,
    which: Which,
    shop: Shop = None,
    home: Home = None,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Say how a blank moves across its grain when it comes to the client's home.

    Examples:

      burnplan blank movement B-0012 --home "22C 30%"
    """
    from burnplan.desk.wood import conditioning
    from burnplan.show.wood.conditioning import movement_card

    return answer(
        conditioning.MovementView,
        as_json,
        as_schema,
        lambda: conditioning.movement_of(the_studio(context), which, shop=shop, home=home),
        lambda found: movement_card(found, the_settings(context)),
    )


@app.command()
def grain(
    context: typer.Context,
    which: Which,
    runs: Annotated[str, typer.Argument(help="along-width, along-height or end-grain.")],
) -> None:
    """Put on record which way the grain runs on the face.

    Examples:

      burnplan blank grain B-0012 along-width
    """
    from burnplan.desk.wood import conditioning
    from burnplan.show.console import show

    code = conditioning.set_grain(the_studio(context), which, runs)
    show(f"The grain of [code]{code}[/] runs {runs}")


@app.command()
def photo(
    context: typer.Context,
    which: Which,
    path: Annotated[
        Path | None, typer.Argument(metavar="[PHOTO]", help="Of the blank itself; to keep it.")
    ] = None,
) -> None:
    """Keep a photo of a blank, or show the newest one.

    Examples:

      burnplan blank photo B-0012 board.jpg

      burnplan blank photo B-0012
    """
    from burnplan.desk.wood import conditioning
    from burnplan.show.console import show

    if path is None:
        from burnplan.cli.jobs.reference import show_pictures
        from burnplan.tone.photo import open_photo

        code, kept = conditioning.photo_of(the_studio(context), which)
        return show_pictures({code: open_photo(kept, at_least=(400, 400)).rgb})
    return show(
        f"Kept a photo of [code]{conditioning.add_photo(the_studio(context), which, path)}[/]"
    )


@app.command("species-add")
def species_add(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="A wood that is not in the table.")],
    botanical: Annotated[str, typer.Option(help="Its botanical name.")] = "",
    radial: Annotated[float | None, typer.Option(help="Shrinkage, green to oven-dry, %.")] = None,
    tangential: Annotated[float | None, typer.Option(help="The same along the rings, %.")] = None,
    hardness: Annotated[float | None, typer.Option(help="Side hardness, lbf.")] = None,
    density: Annotated[float | None, typer.Option(help="Specific gravity at 12 %.")] = None,
    bare: Annotated[float | None, typer.Option(help="L* of the fresh sanded face.")] = None,
    burnt: Annotated[float | None, typer.Option(help="L* of the darkest burn.")] = None,
    resinous: Annotated[str, typer.Option(help="What to mind of its resin.")] = "",
    irritant: Annotated[str, typer.Option(help="What to mind of its dust or smoke.")] = "",
    source: Annotated[str, typer.Option(help="Where the figures are from.")] = "",
) -> None:
    """Put a wood of your own among the species, with the figures you know.

    Examples:

      burnplan blank species-add plum --bare 68 --burnt 19 --hardness 1550
    """
    from burnplan.desk.wood import own_species
    from burnplan.show.console import show
    from burnplan.show.wood.conditioning import own_species_card

    new = own_species.NewSpecies(
        name=name,
        botanical=botanical,
        radial=radial,
        tangential=tangential,
        hardness=hardness,
        specific_gravity=density,
        bare=bare,
        burnt=burnt,
        resinous=resinous,
        irritant=irritant,
        source=source,
    )
    show(own_species_card(own_species.add(the_studio(context), new)))


@app.command()
def condition(
    context: typer.Context,
    which: Which,
    kinds: Annotated[
        list[str] | None, typer.Argument(metavar="[CONDITION]...", help="Like painted, plywood.")
    ] = None,
    note: Annotated[str, typer.Option(help="Anything worth remembering of it.")] = "",
    clear: Annotated[
        str | None, typer.Option("--clear", metavar="CONDITION", help="Take this one back.")
    ] = None,
    because: Annotated[str, typer.Option("--because", help="Why it is taken back.")] = "",
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Put on record what is the matter with a blank; without any, show its hazards.

    Conditions: treated, painted, stained, sealed, plastic, mdf, particle-board,
    reclaimed (these block); plywood, resinous, spalted (these caution).

    Examples:

      burnplan blank condition B-0012 spalted

      burnplan blank condition B-0012 --clear painted --because "planed to bare wood"
    """
    from burnplan.desk.derived import hazards_found
    from burnplan.desk.wood import blanks, hazards
    from burnplan.errors import BadInput
    from burnplan.show.console import show
    from burnplan.show.wood.conditioning import hazard_list

    if as_schema:
        return print_schema(list[hazards_found.HazardView])
    studio = the_studio(context)
    if clear is not None and kinds:
        raise BadInput("Note a condition or clear one, not both", "Run the command twice")
    if clear is not None:
        found = hazards.clear(studio, which, clear, because)
    elif kinds:
        found = hazards.note(studio, which, kinds, note)
    else:
        found = blanks.show(studio, which).hazards
    if as_json:
        return print_json(found, list[hazards_found.HazardView])
    return show(hazard_list(found, empty="No hazard of it is known; that does not mean safe"))


@app.command()
def override(
    context: typer.Context,
    which: Which,
    reason: Annotated[str, typer.Argument(help="Why what blocks it is set aside.")],
    yes: Yes = False,
) -> None:
    """Set aside what blocks a held blank, for the job it is held for; the reason is kept.

    Examples:

      burnplan blank override B-0012 "planed 3 mm off, bare oak on all sides" --yes
    """
    from burnplan.desk.wood import blanks, hazards
    from burnplan.show.console import show
    from burnplan.show.wood.conditioning import hazard_list

    studio = the_studio(context)
    found = blanks.show(studio, which)
    keys = ", ".join(one.key for one in found.hazards if one.blocks) or "nothing"
    sure(f"Set aside what blocks {found.code} ({keys})?", yes)
    show(hazard_list(hazards.override(studio, which, reason)))


@app.command()
def buy(context: typer.Context, as_json: AsJson = False, as_schema: AsSchema = False) -> None:
    """List the wood that booked work still needs: what is in stock for it, what to buy.

    Examples:

      burnplan blank buy
    """
    from burnplan.desk.wood import wood_to_buy
    from burnplan.show.wood.conditioning import buying_table

    studio = the_studio(context)
    return answer(
        list[wood_to_buy.NeedView],
        as_json,
        as_schema,
        lambda: wood_to_buy.needed(studio),
        lambda found: buying_table(found, the_settings(context), studio.today()),
    )


@app.command()
def fit(
    context: typer.Context,
    commission: WhichCommission,
    photo: Annotated[
        Path | None, typer.Option(help="Another photo than that of its reference.")
    ] = None,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """List the blanks in stock, and the one held, by how well they suit a commission's photo.

    Examples:

      burnplan blank fit C-0007

      burnplan blank fit C-0007 --photo barn.jpg
    """
    from burnplan.desk.wood import fitting
    from burnplan.show.wood.conditioning import fit_table

    return answer(
        list[fitting.FitView],
        as_json,
        as_schema,
        lambda: fitting.fitting(the_studio(context), commission, photo),
        lambda found: fit_table(found, the_settings(context)),
    )
