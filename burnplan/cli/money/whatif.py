"""burnplan whatif: what a piece would cost in another size, wood or number of zones."""

from typing import Annotated

import typer

from burnplan.cli import completion
from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import ask_about, mind_wood, progress_bar, the_settings, the_studio
from burnplan.cli.naming import which_wood
from burnplan.cli.options import WhichCommission
from burnplan.desk.money import what_ifs
from burnplan.show.money import what_ifs as shown


@answers
def command(
    context: typer.Context,
    which: WhichCommission,
    size: Annotated[list[str] | None, typer.Option(help="Another size; may be repeated.")] = None,
    zones: Annotated[
        list[int] | None, typer.Option(help="Another number of zones; may be repeated.")
    ] = None,
    species: Annotated[
        list[str] | None,
        typer.Option(
            help="Another species; may be repeated.",
            autocompletion=completion.species,
            callback=which_wood,
        ),
    ] = None,
    drop: Annotated[
        list[str] | None,
        typer.Option(help="Background left bare, like 'rectangle 0,0 100,30' in %."),
    ] = None,
) -> "Answer[list[what_ifs.VariantView]]":
    """Compare sizes, numbers of zones and species side by side; nothing is changed.

    Examples:
      burnplan whatif C-0007 --size 20x30cm --size 40x50cm
      burnplan whatif C-0007 --zones 4 --species cherry --drop "rectangle 0,0 100,30"
    """
    mind_wood(context, which)
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
    return Answer(found, lambda variants: shown.variant_table(variants, the_settings(context)))
