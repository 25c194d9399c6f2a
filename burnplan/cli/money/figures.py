"""burnplan whatif, price-list and earnings: what it would cost, costs, and did earn."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli import completion
from burnplan.cli.common import (
    AsJson,
    AsSchema,
    AsText,
    WhichCommission,
    answer,
    ask_about,
    given_date,
    print_json,
    print_schema,
    progress_bar,
    the_settings,
    the_studio,
)
from burnplan.units import UnitSystem

# Sizes that blanks are sold in (common practice, no source).
_USUAL_SIZES = {
    UnitSystem.METRIC: ["15x20cm", "20x30cm", "30x40cm", "40x50cm"],
    UnitSystem.IMPERIAL: ["6x8in", "8x12in", "12x16in", "16x20in"],
}


def whatif(
    context: typer.Context,
    which: WhichCommission,
    size: Annotated[list[str] | None, typer.Option(help="Another size; may be repeated.")] = None,
    zones: Annotated[
        list[int] | None, typer.Option(help="Another number of zones; may be repeated.")
    ] = None,
    species: Annotated[
        list[str] | None,
        typer.Option(help="Another species; may be repeated.", autocompletion=completion.species),
    ] = None,
    drop: Annotated[
        list[str] | None,
        typer.Option(help="Background left bare, like 'rectangle 0,0 100,30' in %."),
    ] = None,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Compare sizes, numbers of zones and species side by side; nothing is changed.

    Examples:

      burnplan whatif C-0007 --size 20x30cm --size 40x50cm

      burnplan whatif C-0007 --zones 4 --species cherry --drop "rectangle 0,0 100,30"
    """
    from burnplan.desk.money import what_ifs
    from burnplan.show.console import show
    from burnplan.show.money.reckoned import variant_table

    if as_schema:
        return print_schema(list[what_ifs.VariantView])
    ask_about(context, *(species or []))
    with progress_bar() as progress:
        found = what_ifs.compare(
            the_studio(context),
            which,
            sizes=size or [],
            zones=zones or [],
            species=species or [],
            drop=drop,
            on_progress=progress,
        )
    if as_json:
        return print_json(found, list[what_ifs.VariantView])
    return show(variant_table(found, the_settings(context)))


def price_list(
    context: typer.Context,
    sizes: Annotated[
        list[str] | None, typer.Argument(metavar="[SIZE]...", help="Like 15x20cm 20x30cm.")
    ] = None,
    species: Annotated[
        str, typer.Option(help="The wood.", autocompletion=completion.species)
    ] = "basswood",
    darkness: Annotated[
        int, typer.Option(help="How dark the pieces are, by eye, 1 to 5.", min=1, max=5)
    ] = 3,
    save: Annotated[
        Path | None,
        typer.Option(metavar="FILE.pdf", help="Write it for clients; the name ends in .pdf."),
    ] = None,
    text: AsText = False,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """List prices by size and detail (1 plain to 5 dense fur), at your own pace.

    Examples:

      burnplan price-list

      burnplan price-list 15x20cm 20x30cm 30x40cm --species cherry --save prices.pdf
    """
    from burnplan.desk.money import what_ifs
    from burnplan.sheets.writing import check_ending
    from burnplan.show.console import show
    from burnplan.show.money.reckoned import price_list_table

    if as_schema:
        return print_schema(what_ifs.PriceListView)
    if save is not None:
        check_ending(save, ".pdf")
    studio, own = the_studio(context), the_settings(context)
    usual = _USUAL_SIZES[own.units]
    ask_about(context, species)
    found = what_ifs.price_list(studio, sizes or usual, species, darkness=darkness)
    if as_json:
        return print_json(found, what_ifs.PriceListView)
    if not text and save is None:
        return show(price_list_table(found, own))
    from burnplan.sheets.money.price_list_sheet import PriceList, price_list_text, write_price_list
    from burnplan.wood.species import species_on_record

    listed = PriceList(
        rows=list(zip(found.sizes, found.prices, strict=True)),
        wood=species_on_record(found.species).name.lower(),
    )
    if save is not None:
        made = write_price_list(listed, own, save, on=studio.today(), sender=own.address)
        show(f"Wrote {made.path}")
    if text:
        typer.echo(price_list_text(listed, own, on=studio.today(), sender=own.address))
    return None


def earnings(
    context: typer.Context,
    since: Annotated[
        str | None, typer.Option(help="Jobs delivered from this day on, if not of a year.")
    ] = None,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Review what delivered jobs earned an hour, against the target, and where hours went.

    Examples:

      burnplan earnings

      burnplan earnings --since 2024-01-01
    """
    from burnplan.desk.money import earnings as desk
    from burnplan.show.money.reckoned import earnings_report

    return answer(
        desk.EarningsView,
        as_json,
        as_schema,
        lambda: desk.review(the_studio(context), given_date(context, since)),
        lambda found: earnings_report(found, the_settings(context)),
    )
