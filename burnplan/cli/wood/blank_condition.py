"""burnplan blank: the wood itself, its species, moisture, movement and hazards."""

from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.asking import sure
from burnplan.cli.common import given_moment, refuse_idle, the_settings, the_studio
from burnplan.cli.naming import whole_client
from burnplan.cli.options import WhichBlank, Yes, group
from burnplan.desk.derived import hazards_found
from burnplan.desk.wood import blanks, conditioning, hazards, own_species
from burnplan.errors import BadInput
from burnplan.show import console
from burnplan.show.wood import blanks as shown_blanks
from burnplan.show.wood import conditioning as shown
from burnplan.show.wood import species as shown_species

app = group()

Shop = Annotated[
    str | None, typer.Option("--shop", help="Reckon with this air in the shop: '21C 45%'.")
]
Home = Annotated[
    str | None, typer.Option("--home", help="Reckon with this air at the client's: '21C 35%'.")
]


@app.command()
@answers
def species(context: typer.Context) -> "Answer[list[shown_species.SpeciesRow]]":
    """List the species table, with how well each figure is known.

    Examples:
      burnplan blank species
    """
    studio = the_studio(context)
    own = own_species.known(studio) if studio.has_book else []
    return Answer(shown_species.species_rows(own), lambda _: shown_species.species_table(own))


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
    console.show(shown_species.own_species_card(own_species.add(the_studio(context), new)))


@app.command(context_settings={"ignore_unknown_options": True})  # of air below zero
def climate(
    context: typer.Context,
    air: Annotated[str, typer.Argument(help="Temperature and humidity: '21C 45%'.")],
    client: Annotated[
        str | None, typer.Option(help="At this client's home.", callback=whole_client)
    ] = None,
) -> None:
    """Put on record the air in the shop, or at a client's home; the newest counts.

    Examples:
      burnplan blank climate "19C 48%"
      burnplan blank climate "21C 35%" --client Mara
    """
    noted = conditioning.note_air(the_studio(context), air, client)
    console.show(shown.air_words(noted, the_settings(context).units))


@app.command()
@answers
def moisture(
    context: typer.Context,
    which: WhichBlank,
    reading: Annotated[
        str | None, typer.Argument(help="A reading to put on record, %: 9.5.")
    ] = None,
    at: Annotated[str | None, typer.Option("--at", help="When it was taken.")] = None,
    note: Annotated[str, typer.Option(help="Meter, place, depth.")] = "",
    instead: Annotated[
        bool,
        typer.Option("--instead", help="In place of the newest reading, which was mistyped."),
    ] = False,
    shop: Shop = None,
    home: Home = None,
) -> "Answer[conditioning.MoistureView]":
    """Log a moisture reading, and say whether to wait for the wood or go.

    Examples:
      burnplan blank moisture B-0012 9.5
      burnplan blank moisture B-0012 --shop "21C 45%"
      burnplan blank moisture B-0012 9.5 --instead
    """
    studio = the_studio(context)
    if reading is None and (at or note or instead):
        raise BadInput("Give the reading too", "For example: blank moisture B-0012 9.5")
    if reading is not None:
        if shop or home:
            conditioning.check_airs(shop, home, the_settings(context).units)
        conditioning.log_moisture(
            studio, which, reading, at=given_moment(context, at), note=note, instead=instead
        )
    found = conditioning.moisture_of(studio, which, shop=shop, home=home)
    return Answer(found, lambda view: shown.moisture_card(view, the_settings(context), studio))


@app.command()
@answers
def movement(
    context: typer.Context, which: WhichBlank, shop: Shop = None, home: Home = None
) -> "Answer[conditioning.MovementView]":
    """Say how a blank moves across its grain when it comes to the client's home.

    Examples:
      burnplan blank movement B-0012 --home "22C 30%"
    """
    found = conditioning.movement_of(the_studio(context), which, shop=shop, home=home)
    return Answer(found, lambda view: shown.movement_card(view, the_settings(context)))


@app.command()
def grain(
    context: typer.Context,
    which: WhichBlank,
    runs: Annotated[str, typer.Argument(help="along-width, along-height or end-grain.")],
) -> None:
    """Put on record which way the grain runs on the face.

    Examples:
      burnplan blank grain B-0012 along-width
    """
    code = conditioning.set_grain(the_studio(context), which, runs)
    console.show(f"The grain of [code]{code}[/] runs {runs}")


@app.command()
@answers
def condition(
    context: typer.Context,
    which: WhichBlank,
    kinds: Annotated[
        list[str] | None, typer.Argument(metavar="[CONDITION]...", help="Like painted, plywood.")
    ] = None,
    note: Annotated[str, typer.Option(help="Anything worth remembering of it.")] = "",
    clear: Annotated[
        str | None, typer.Option("--clear", metavar="CONDITION", help="Take this one back.")
    ] = None,
    because: Annotated[str, typer.Option("--because", help="Why it is taken back.")] = "",
) -> "Answer[list[hazards_found.HazardView]]":
    """Put on record what is the matter with a blank; without any, show its hazards.

    Conditions: treated, painted, stained, sealed, plastic, mdf, particle-board,
    reclaimed (these block); glued, plywood, resinous, spalted (these caution).

    Examples:
      burnplan blank condition B-0012 spalted
      burnplan blank condition B-0012 --clear painted --because "planed to bare wood"
    """
    studio = the_studio(context)
    if clear is not None and kinds:
        raise BadInput("Note a condition or clear one, not both", "Run the command twice")
    if not kinds:
        refuse_idle(context, "without a condition that is noted", "note")
    if clear is None:
        refuse_idle(context, "without --clear", "because")
    if clear is not None:
        found = hazards.clear(studio, which, clear, because)
    elif kinds:
        found = hazards.note(studio, which, kinds, note)
    else:
        found = blanks.show(studio, which).hazards
    none = "No hazard of it is known; that does not mean safe"
    return Answer(found, lambda them: shown_blanks.hazard_list(them, empty=none))


@app.command()
def override(
    context: typer.Context,
    which: WhichBlank,
    reason: Annotated[str, typer.Argument(help="Why what blocks it is set aside.")],
    yes: Yes = False,
) -> None:
    """Set aside what blocks a held blank, for the job it is held for; the reason is kept.

    Examples:
      burnplan blank override B-0012 "planed 3 mm off, bare oak on all sides" --yes
    """
    studio = the_studio(context)
    found = blanks.show(studio, which)
    keys = ", ".join(one.key for one in found.hazards if one.blocks) or "nothing"
    sure(f"Set aside what blocks {found.code} ({keys})?", yes)
    console.show(shown_blanks.hazard_list(hazards.override(studio, which, reason)))
