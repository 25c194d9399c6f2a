"""burnplan estimate: hours and a price from a photo, no book needed."""

from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from burnplan.cli import completion
from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import ask_about, progress_bar, refuse_idle, the_studio
from burnplan.cli.jobs.photo_options import (
    PHOTO,
    Drop,
    Keep,
    Line,
    MinArea,
    Pictures,
    SaveTo,
    Subject,
    Thresholds,
    Zones,
    parsed_thresholds,
    save_pictures,
    show_first,
)
from burnplan.cli.naming import which_wood
from burnplan.cli.options import Covered, Dark, Detail, Size
from burnplan.cli.writing import writes_files
from burnplan.desk.jobs import estimates, layouts, lettering, readings
from burnplan.desk.studio import settings
from burnplan.desk.time import pace
from burnplan.desk.wood import own_species
from burnplan.errors import BadInput
from burnplan.money import parse_money
from burnplan.show import console
from burnplan.show.jobs import estimates as shown
from burnplan.show.jobs import pictures as drawn
from burnplan.units import parse_size
from burnplan.zoning import DEFAULT_ZONES, MIN_AREA_MM2

if TYPE_CHECKING:
    from rich.console import RenderableType


@writes_files
@answers
def command(
    context: typer.Context,
    photo: Annotated[Path | None, PHOTO] = None,
    size: Size = None,
    species: Annotated[
        str,
        typer.Option(
            help="Like basswood, cherry, sugar-maple.",
            autocompletion=completion.species,
            callback=which_wood,
        ),
    ] = "basswood",
    zones: Zones = None,
    thresholds: Thresholds = None,
    min_area: MinArea = None,
    line: Line = None,
    subject: Subject = None,
    drop: Drop = None,
    keep: Keep = None,
    letter: Annotated[
        list[str] | None, typer.Option(help="A line to letter at the bottom, like 'Biscuit'.")
    ] = None,
    letter_height: Annotated[
        str | None, typer.Option(help="Height of its capitals, like 12mm (12 mm).")
    ] = None,
    letter_font: Annotated[
        str | None, typer.Option(help="serif, sans, bold, script, display ..., or a font file.")
    ] = None,
    rate: Annotated[
        str | None, typer.Option(help="What an hour should earn, if not as in the settings.")
    ] = None,
    wood_cost: Annotated[str | None, typer.Option(help="Cost of the blank.")] = None,
    dark: Dark = None,
    detail: Detail = None,
    covered: Covered = None,
    pictures: Pictures = True,
    save: SaveTo = None,
) -> "Answer[estimates.EstimateView]":
    """Estimate hours and a price: from a photo, by eye, or some of both.

    Nothing is kept: no book is needed, and none is made.

    Examples:
      burnplan estimate cat.jpg --size 30x40cm --species basswood
      burnplan estimate cat.jpg --size "round 25cm" --species cherry --zones 5 --json
      burnplan estimate cat.jpg --size 20x25cm --line calm --save pictures
      burnplan estimate cat.jpg --size 20x25cm --subject "ellipse 20,5 80,95"
      burnplan estimate cat.jpg --size 20x25cm --letter Biscuit --letter "2014 – 2026"
      burnplan estimate --size 30x40cm --dark 3 --detail 4
      burnplan estimate --size 30x100cm --dark 3 --detail 3 --covered 60%
    """
    given = any(grade is not None for grade in (dark, detail, covered))
    by_eye = estimates.ByEye(dark, detail, covered) if given else None
    if photo is None and by_eye is None:
        raise BadInput("No photo was given", "Give one, or judge by eye: --dark 3 --detail 4")
    if photo is None:
        refuse_idle(
            context, "without a photo", "zones", "thresholds", "min_area", "line", "subject",
            "drop", "keep", "letter", "letter_height", "letter_font", "save",
        )  # fmt: skip
    if not letter:
        refuse_idle(context, "without --letter", "letter_height", "letter_font")
    if size is None:
        raise BadInput("No size was given", "Add it, for example --size 30x40cm")
    own = settings.current(the_studio(context))
    asked = readings.EstimateRequest(
        outline=parse_size(size, default_unit=own.size_unit),
        species=own_species.meant(the_studio(context), species),
        zones=DEFAULT_ZONES if zones is None else zones,
        thresholds=parsed_thresholds(thresholds),
        min_area_mm2=MIN_AREA_MM2 if min_area is None else min_area,
    )
    ask_about(context, species)
    wanted = layouts.LayoutChange(line=line, subject=subject, drop=drop, keep=keep)
    layout = layouts.changed(layouts.Layout(line=own.line), wanted, lambda _mask: "")
    asked = replace(asked, layout=layout, seek_subject=True)
    if letter:
        wishes = lettering.LetteringWishes(letter, font=letter_font, height=letter_height)
        words = lettering.as_wished(wishes, own.thickness_unit)
        asked = replace(asked, lettering=(words,))
    if rate is not None:
        own = settings.parsed(own, "hourly_target", rate)
    wood = parse_money(wood_cost, own.currency, own.locale) if wood_cost else Decimal(0)
    learned = pace.of_studio(the_studio(context))
    if photo is None:
        judged = estimates.judge(asked, by_eye or estimates.ByEye(), own, wood=wood, pace=learned)
        return Answer(judged, lambda view: shown.estimate(view, asked.outline, own))
    with progress_bar() as progress:
        found, reading = estimates.estimate(
            photo, asked, own, wood=wood, pace=learned, by_eye=by_eye, on_progress=progress
        )
    if save is not None:
        everything = drawn.all_pictures(
            reading, asked.species.bare_lightness, asked.species.darkest_burn
        )
        for path in save_pictures(everything, save, asked.outline.width_mm, of=photo.name):
            console.notice(f"Wrote {path}")

    def draw(view: "estimates.EstimateView") -> "RenderableType":
        if pictures:
            show_first(reading, own)
        return shown.estimate(view, asked.outline, own)

    return Answer(found, draw)
