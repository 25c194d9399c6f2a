"""burnplan ladder: tone ladders, from test strips to the setting for each zone."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from burnplan.cli import completion
from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import ask_about, the_settings, the_studio
from burnplan.cli.naming import which_wood
from burnplan.cli.options import Note, PdfFile, WhichCommission, group
from burnplan.cli.writing import say_notes, writes_files
from burnplan.desk.wood import ladders, zone_settings
from burnplan.sheets import paper
from burnplan.sheets.wood import ladder_card
from burnplan.show import console
from burnplan.show.wood import ladder as shown
from burnplan.units import typed_numbers, typed_speeds

app = group()

Which = Annotated[
    str, typer.Argument(metavar="LADDER", help="Its code (L-0003, 3), or its wood: the newest.")
]


@app.command()
def add(
    context: typer.Context,
    species: Annotated[
        str,
        typer.Argument(
            help="The wood of the strip.",
            autocompletion=completion.species,
            callback=which_wood,
        ),
    ],
    tip: Annotated[str, typer.Option(help="The pen's tip, as you call it.")],
    heat: Annotated[str, typer.Option(help="Heat of each patch: 1,2,3; or one for all.")],
    strokes: Annotated[str, typer.Option(help="Strokes of each patch, or of all.")] = "1",
    speed: Annotated[str | None, typer.Option(help="Speed of each patch, mm/s, or of all.")] = None,
    unit: Annotated[str, typer.Option(help="Of the heat: dial, C or F.")] = "dial",
    lightness: Annotated[
        str | None, typer.Option(help="L* of each patch by eye, from the value key.")
    ] = None,
    photo: Annotated[
        Path | None, typer.Option(help="A photo cropped to the strip and its card.")
    ] = None,
    card: Annotated[
        Literal["first", "last"] | None,
        typer.Option(help="The end with the white card: first is left or top."),
    ] = None,
    grey: Annotated[
        bool, typer.Option("--grey", "--gray", help="The card is an 18 % grey card.")
    ] = False,
    bare: Annotated[float | None, typer.Option(help="L* of the bare wood, if known.")] = None,
    note: Note = "",
) -> None:
    """Put a test strip on record: one thing varied from patch to patch.

    Patches are in order along the strip. Leave bare wood between them where two
    could look alike.

    Examples:
      burnplan ladder add basswood --tip "shader 4 mm" --heat 2,3,4,5,6 --lightness 78,66,52,38,27
      burnplan ladder add cherry --tip "ball 2 mm" --heat 5 --strokes 1,2,3,4,6 --photo strip.jpg
      --card first
    """
    new = ladders.NewLadder(
        species=species,
        tip=tip,
        heat=typed_numbers(heat, "list of heats"),
        strokes=typed_numbers(strokes, "list of strokes"),
        speed=None if speed is None else typed_speeds(speed, the_settings(context).units),
        unit=unit,
        lightness=None if lightness is None else typed_numbers(lightness, "list of lightness"),
        photo=photo,
        card=card,
        grey_card=grey,
        bare=bare,
        note=note,
    )
    ask_about(context, species)
    made = ladders.add(the_studio(context), new)
    console.show(shown.ladder_card(made, the_settings(context)))


@app.command("list")
@answers
def list_(
    context: typer.Context,
    species: Annotated[
        str | None,
        typer.Option(
            help="Only on this wood.", autocompletion=completion.species, callback=which_wood
        ),
    ] = None,
) -> "Answer[list[ladders.LadderView]]":
    """List the tone ladders, the newest first.

    Examples:
      burnplan ladder list --species basswood
    """
    return Answer(ladders.everything(the_studio(context), species), shown.ladder_table)


@app.command("show")
@answers
def show_(context: typer.Context, which: Which) -> "Answer[ladders.LadderView]":
    """Show a tone ladder with a picture of its curve.

    Examples:
      burnplan ladder show L-0003
      burnplan ladder show basswood
    """
    own = the_settings(context)
    found = ladders.show(the_studio(context), which)
    return Answer(found, lambda ladder: shown.ladder_card(ladder, own))


@app.command("settings")
@answers
def settings_(
    context: typer.Context,
    which: WhichCommission,
    ladder: Annotated[
        str | None, typer.Option("--ladder", help="This ladder, not the newest on the wood.")
    ] = None,
    tip: Annotated[str | None, typer.Option(help="Only a ladder with this tip.")] = None,
) -> "Answer[zone_settings.LadderSettingsView]":
    """Say which setting burns each zone of a job, and what its wood cannot reach.

    Examples:
      burnplan ladder settings C-0007
      burnplan ladder settings C-0007 --tip shader
    """
    found = zone_settings.settings_for(the_studio(context), which, ladder=ladder, tip=tip)
    own = the_settings(context)
    return Answer(found, lambda view: shown.settings_card(view, own))


@app.command()
@writes_files
def card(context: typer.Context, which: Which, path: PdfFile) -> None:
    """Write a ladder as a card to print: its curve and the setting for each tone.

    Examples:
      burnplan ladder card L-0003 basswood.pdf
    """
    own = the_settings(context)
    view = ladders.show(the_studio(context), which)
    made = ladder_card.ladder_card(
        path, view, studio=own.name, paper=paper.paper_named(own.paper), locale=own.locale
    )
    say_notes(made)
    console.show(f"Wrote the card of [code]{view.code}[/] to {made.path}")
