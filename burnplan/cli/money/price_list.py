"""burnplan price-list: prices by size and detail."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli import completion
from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import ask_about, the_settings, the_studio
from burnplan.cli.naming import which_wood
from burnplan.cli.options import AsText, Covered, ending
from burnplan.cli.writing import say_notes, writes_files
from burnplan.desk.money import what_ifs
from burnplan.sheets.money import price_list_sheet as sheet
from burnplan.show import console
from burnplan.show.money import what_ifs as shown
from burnplan.units import UnitSystem
from burnplan.wood import species as woods

# Sizes that blanks are sold in (common practice, no source).
_USUAL_SIZES = {
    UnitSystem.METRIC: ["15x20cm", "20x30cm", "30x40cm", "40x50cm"],
    UnitSystem.IMPERIAL: ["6x8in", "8x12in", "12x16in", "16x20in"],
}


@writes_files
@answers
def command(
    context: typer.Context,
    sizes: Annotated[
        list[str] | None, typer.Argument(metavar="[SIZE]...", help="Like 15x20cm 20x30cm.")
    ] = None,
    species: Annotated[
        str,
        typer.Option(help="The wood.", autocompletion=completion.species, callback=which_wood),
    ] = "basswood",
    darkness: Annotated[
        int, typer.Option(help="How dark the pieces are, by eye, 1 to 5.", min=1, max=5)
    ] = 3,
    covered: Covered = None,
    save: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE.pdf",
            help="Write it for clients; the name ends in .pdf.",
            callback=ending(".pdf"),
        ),
    ] = None,
    text: AsText = False,
) -> "Answer[what_ifs.PriceListView]":
    """List prices by size and detail (1 plain to 5 dense fur), at your own pace.

    Examples:
      burnplan price-list
      burnplan price-list 15x20cm 20x30cm 30x40cm --species cherry --save prices.pdf
      burnplan price-list --covered 50%
    """
    studio, own = the_studio(context), the_settings(context)
    ask_about(context, species)
    found = what_ifs.price_list(
        studio, sizes or _USUAL_SIZES[own.units], species, darkness=darkness, covered=covered or ""
    )

    if not text and save is None:
        return Answer(found, lambda prices: shown.price_list_table(prices, own))
    listed = sheet.PriceList(
        rows=list(zip(found.sizes, found.prices, strict=True)),
        wood=woods.species_on_record(found.species).name.lower(),
    )
    letter = sheet.price_list_letter(listed, own, on=studio.today())
    if save is not None:
        written = letter.write(save)
        console.notice(f"Wrote {written.path}")
        say_notes(written)

    def draw(_prices: "what_ifs.PriceListView") -> None:
        if text:
            typer.echo(letter.text())

    return Answer(found, draw)
