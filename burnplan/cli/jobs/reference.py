"""burnplan reference: the photo on the wood, its zones and trace lines."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from burnplan.cli.common import (
    AsJson,
    AsSchema,
    Into,
    WhichCommission,
    answer,
    group,
    progress_bar,
    the_settings,
    the_studio,
)
from burnplan.cli.options import gathered_by
from burnplan.files import make_folder

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from burnplan.desk.jobs.layouts import LayoutChange
    from burnplan.tone.analysis import PhotoAnalysis
    from burnplan.wood.species import Species

    Picture = npt.NDArray[np.uint8]

# A contact sheet is looked at, not laid on wood: the scale of a sharp print.
_SHEET_PX_PER_MM = 300 / 25.4
# Narrower than this a picture says little.
_PICTURE_COLUMNS = 40

app = group()

PhotoFile = Annotated[Path, typer.Argument(metavar="PHOTO", help="JPEG, PNG, TIFF, WebP, HEIC.")]
Zones = Annotated[int | None, typer.Option(help="Number of value zones, 3 to 9 (six if not said).")]
Thresholds = Annotated[
    str | None, typer.Option(help="Lightness L* between zones instead, like 20,40,60,80.")
]
MinArea = Annotated[
    float | None, typer.Option(help="Smallest area a pen can hold, mm² (9 if not said).")
]
SaveTo = Annotated[
    Path | None, typer.Option("--save", help="Write the pictures as PNG into this folder.")
]


def parsed_thresholds(text: str | None) -> tuple[float, ...] | None:
    """Return the thresholds typed, if any."""
    from burnplan.errors import BadInput

    if text is None:
        return None
    try:
        return tuple(float(part) for part in text.replace(",", " ").split())
    except ValueError:
        raise BadInput(f"'{text}' is not a list of lightness", "Write it like 20,40,60") from None


def all_pictures(reading: "PhotoAnalysis", wood: "Species") -> "dict[str, Picture]":
    """Return every picture of a reading: sepia, as the wood can hold it, zones, trace lines."""
    from burnplan.tone import render

    bare, burnt = wood.bare_lightness, wood.darkest_burn
    return {
        "sepia": render.sepia(reading.placed),
        "wood": render.wood_preview(reading.placed, bare, burnt),
        "zones": render.zone_map(reading.zones),
        "trace": render.trace_overlay(reading.lines, reading.placed),
    }


def save_pictures(pictures: "dict[str, Picture]", folder: Path, width_mm: float) -> list[Path]:
    """Write pictures as PNG that print at true size, given the width of the wood."""
    from burnplan.tone import render

    make_folder(folder)
    written = []
    for name, pixels in pictures.items():
        path = folder / f"{name}.png"
        # The trace is drawn finer than the rest: its own scale is what counts.
        render.save_png(pixels, path, pixels.shape[1] / width_mm)
        written.append(path)
    return written


def show_pictures(pictures: "dict[str, Picture]") -> None:
    """Show pictures with their names, as many side by side as the terminal has room for."""
    from rich.table import Table
    from rich.text import Text

    from burnplan.show.console import console, show
    from burnplan.show.picture import picture

    terminal = console()
    beside = min(len(pictures), max(1, terminal.width // _PICTURE_COLUMNS))
    room = ((terminal.width - 2 * beside) // beside, max(8, terminal.height - 7))
    named = list(pictures.items())
    for start in range(0, len(named), beside):
        row = named[start : start + beside]
        grid = Table.grid(padding=(0, 2))
        grid.add_row(*(picture(pixels, terminal, (min(room[0], 72), room[1])) for _, pixels in row))
        grid.add_row(*(Text(name, "soft") for name, _ in row))
        show(grid)


def seen_first(reading: "PhotoAnalysis") -> "dict[str, Picture]":
    """Return the two pictures that say most: sepia and zones."""
    from burnplan.tone import render

    return {"sepia": render.sepia(reading.placed), "zones": render.zone_map(reading.zones)}


Crop = Annotated[
    str | None, typer.Option(help="Left,top,right,bottom of the part to use, % of the photo.")
]
Turn = Annotated[float | None, typer.Option(help="Degrees to turn the photo clockwise.")]
Mirror = Annotated[
    bool | None, typer.Option("--mirror/--no-mirror", help="Left and right changed.")
]
Whole = Annotated[
    bool | None, typer.Option("--whole/--fill", help="Show the whole photo, or fill the blank.")
]
Scale = Annotated[float | None, typer.Option(help="Size beyond what fits, like 1.2.")]
Shift = Annotated[str | None, typer.Option(help="Move it right,down, like 5mm,-3mm.")]
Margin = Annotated[str | None, typer.Option(help="Bare strip inside the edge (bark), like 8mm.")]
Focal = Annotated[
    list[str] | None,
    typer.Option(help="Area that counts most: 'ellipse 30,20 60,70' in %, or in mm; 'none'."),
]
Drop = Annotated[
    list[str] | None, typer.Option(help="Area to leave bare, the background, written alike.")
]
Black = Annotated[float | None, typer.Option(help="Lightness L* taken as the darkest burn.")]
White = Annotated[float | None, typer.Option(help="Lightness L* taken as bare wood.")]
Midtone = Annotated[
    float | None, typer.Option(help="Above 1 lightens the middle tones, below darkens.")
]
Contrast = Annotated[float | None, typer.Option(help="Local contrast, 0 to 100.")]
Levels = Annotated[
    bool | None, typer.Option("--levels/--no-levels", help="Find black and white points.")
]
MaskFile = Annotated[
    Path | None, typer.Option("--mask", help="Image of what to keep, white, and drop out, black.")
]
Pictures = Annotated[
    bool, typer.Option("--pictures/--no-pictures", help="Show them in the terminal.")
]


def _wanted(
    crop: Crop = None,
    turn: Turn = None,
    mirror: Mirror = None,
    whole: Whole = None,
    scale: Scale = None,
    shift: Shift = None,
    margin: Margin = None,
    focal: Focal = None,
    drop: Drop = None,
    black: Black = None,
    white: White = None,
    midtone: Midtone = None,
    contrast: Contrast = None,
    levels: Levels = None,
    mask: MaskFile = None,
) -> "LayoutChange":
    """Return how a photo is to be laid on the wood, of the options that add and plan take."""
    from burnplan.desk.jobs.layouts import LayoutChange

    return LayoutChange(
        crop=crop,
        turn=turn,
        mirror=mirror,
        whole=whole,
        scale=scale,
        shift=shift,
        margin=margin,
        focal=focal,
        drop=drop,
        black=black,
        white=white,
        midtone=midtone,
        contrast=contrast,
        levels=levels,
        mask=mask,
    )


@app.command()
@gathered_by(_wanted)
def add(
    context: typer.Context,
    which: WhichCommission,
    photo: PhotoFile,
    *,
    zones: Zones = None,
    thresholds: Thresholds = None,
    min_area: MinArea = None,
    wanted: "LayoutChange",
    pictures: Pictures = True,
) -> None:
    """Keep a photo for a commission and plan the work from it.

    Examples:

      burnplan reference add C-0007 barn.jpg

      burnplan reference add C-0007 cat.heic --zones 5 --focal "ellipse 20,15 70,60" --levels
    """
    from burnplan.desk.jobs import references
    from burnplan.show.console import show
    from burnplan.show.money.reckoned import reference_card

    with progress_bar() as progress:
        view, reading = references.add(
            the_studio(context),
            which,
            photo,
            zones=zones or 6,
            thresholds=parsed_thresholds(thresholds),
            min_area_mm2=9.0 if min_area is None else min_area,
            wanted=wanted,
            on_progress=progress,
        )
    if pictures:
        show_pictures(seen_first(reading))
    show(reference_card(view, the_settings(context)))


@app.command()
@gathered_by(_wanted)
def plan(
    context: typer.Context,
    which: WhichCommission,
    *,
    zones: Zones = None,
    thresholds: Thresholds = None,
    min_area: MinArea = None,
    wanted: "LayoutChange",
    pictures: Pictures = True,
) -> None:
    """Plan again from the photo kept: another crop, tones, size, or number of zones.

    What is not given stays as it is.

    Examples:

      burnplan reference plan C-0007 --zones 4

      burnplan reference plan C-0007 --crop 10,0,90,100 --drop "rectangle 0,0 100,25"
    """
    from burnplan.desk.jobs import references
    from burnplan.show.console import show
    from burnplan.show.money.reckoned import reference_card

    with progress_bar() as progress:
        view, reading = references.replan(
            the_studio(context),
            which,
            zones=zones,
            thresholds=parsed_thresholds(thresholds),
            min_area_mm2=min_area,
            wanted=wanted,
            on_progress=progress,
        )
    if pictures:
        show_pictures(seen_first(reading))
    show(reference_card(view, the_settings(context)))


@app.command("show")
def show_(
    context: typer.Context,
    which: WhichCommission,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Show the reference in use: zones, lines, hours.

    Examples:

      burnplan reference show C-0007 --json
    """
    from burnplan.desk.jobs import references
    from burnplan.show.money.reckoned import reference_card

    return answer(
        references.ReferenceView,
        as_json,
        as_schema,
        lambda: references.show(the_studio(context), which),
        lambda view: reference_card(view, the_settings(context)),
    )


@app.command()
def preview(context: typer.Context, which: WhichCommission, save: SaveTo = None) -> None:
    """Show the reference in sepia, as its wood can hold it, its zones and trace lines.

    Saved, they print at true size, with a contact sheet of all four.

    Examples:

      burnplan reference preview C-0007

      burnplan reference preview C-0007 --save pictures
    """
    from burnplan.desk.jobs import references
    from burnplan.show.console import notice
    from burnplan.tone import render
    from burnplan.wood.species import UNKNOWN_WOOD, species_on_record

    with progress_bar() as progress:
        view, reading = references.pictures(the_studio(context), which, progress)
    wood = species_on_record(view.species or UNKNOWN_WOOD)
    pictures = all_pictures(reading, wood)
    show_pictures(pictures)
    if save is not None:
        written = save_pictures(pictures, save, view.size_mm[0])
        sheet = render.contact_sheet(
            reading.placed,
            reading.zones,
            reading.lines,
            wood.bare_lightness,
            wood.darkest_burn,
            title=view.title,
            wood=wood.name.lower(),
            units=the_settings(context).units,
        )
        written.append(save / "contact-sheet.png")
        render.save_png(sheet, written[-1], _SHEET_PX_PER_MM)
        for path in written:
            notice(f"Wrote {path}")


@app.command()
def sheet(
    context: typer.Context,
    which: WhichCommission,
    into: Into = Path(),
    paper: Annotated[
        Literal["a4", "a3", "letter", "tabloid"] | None,
        typer.Option(help="The paper, if not as in the settings."),
    ] = None,
    mirrored: Annotated[
        bool, typer.Option("--mirrored", help="Mirror image, for heat-transfer prints.")
    ] = False,
) -> None:
    """Write the sheets to print at true size: reference, trace lines (PDF and SVG).

    Print at 100 %, never 'fit to page', and measure the check bars.

    Examples:

      burnplan reference sheet C-0007

      burnplan reference sheet C-0007 --paper a3 --into print
    """
    from burnplan.desk.jobs import references
    from burnplan.progress import part
    from burnplan.sheets.jobs.true_size import PRINT_HINT, write_true_size
    from burnplan.show.console import notice, show

    studio, own = the_studio(context), the_settings(context)
    with progress_bar() as progress:
        view, reading = references.pictures(studio, which, part(progress, 0.0, 0.6))
        make_folder(into)
        written = write_true_size(
            view,
            reading,
            own,
            studio.today(),
            into,
            paper=paper,
            mirrored=mirrored,
            on_progress=part(progress, 0.6, 1.0),
        )
    for one in written:
        pages = f", {one.pages} page{'s' if one.pages != 1 else ''}" if one.pages else ""
        show(f"Wrote {one.path}{pages}")
    for note in dict.fromkeys(note for one in written for note in one.notes):
        notice(note)
    notice(PRINT_HINT)
