"""burnplan reference: the photo on the wood, its zones and trace lines."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import mind_wood, progress_bar, the_settings, the_studio
from burnplan.cli.jobs import reference_lettering
from burnplan.cli.jobs.photo_options import (
    PHOTO,
    Allowed,
    MinArea,
    Pictures,
    SaveTo,
    TakenBy,
    Thresholds,
    Zones,
    parsed_thresholds,
    save_pictures,
    show_first,
    wanted,
)
from burnplan.cli.options import Into, WhichCommission, gathered_by, group
from burnplan.cli.writing import say_notes, writes_files
from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import comparing, layouts, references, together
from burnplan.desk.wood import faces
from burnplan.files import make_folder
from burnplan.progress import part
from burnplan.sheets.jobs import true_size
from burnplan.show import console
from burnplan.show.jobs import comparing as compared
from burnplan.show.jobs import pictures as drawn
from burnplan.show.jobs import references as shown
from burnplan.tone import contact_sheet, render
from burnplan.units import MM_PER_INCH, parse_size
from burnplan.wood import species as woods
from burnplan.zoning import DEFAULT_ZONES, MIN_AREA_MM2

# A contact sheet is looked at, not laid on wood: the scale of a sharp print.
_SHEET_PX_PER_MM = 300 / MM_PER_INCH

app = group()


@app.command()
@gathered_by(wanted)
def add(
    context: typer.Context,
    which: WhichCommission,
    photo: Annotated[Path, PHOTO],
    *,
    zones: Zones = None,
    thresholds: Thresholds = None,
    min_area: MinArea = None,
    wanted: "layouts.LayoutChange",
    taken_by: TakenBy = None,
    allowed: Allowed = None,
    pictures: Pictures = True,
) -> None:
    """Keep a photo for a commission and plan the work from it.

    Examples:
      burnplan reference add C-0007 barn.jpg
      burnplan reference add C-0007 cat.heic --zones 5 --focal "ellipse 20,15 70,60" --levels
      burnplan reference add C-0007 cat.jpg --subject "ellipse 20,5 80,95"
    """
    mind_wood(context, which)
    with progress_bar() as progress:
        view, reading = references.add(
            the_studio(context),
            which,
            photo,
            zones=zones or DEFAULT_ZONES,
            thresholds=parsed_thresholds(thresholds),
            min_area_mm2=MIN_AREA_MM2 if min_area is None else min_area,
            wanted=wanted,
            taken_by=taken_by,
            allowed=allowed,
            on_progress=progress,
        )
    if pictures:
        show_first(reading, the_settings(context))
    console.show(shown.reference_card(view, the_settings(context)))


@app.command()
@gathered_by(wanted)
def plan(
    context: typer.Context,
    which: WhichCommission,
    *,
    zones: Zones = None,
    thresholds: Thresholds = None,
    min_area: MinArea = None,
    wanted: "layouts.LayoutChange",
    pictures: Pictures = True,
) -> None:
    """Plan again from the photo kept: another crop, tones, size, or number of zones.

    What is not given stays as it is.

    Examples:
      burnplan reference plan C-0007 --zones 4
      burnplan reference plan C-0007 --crop 10,0,90,100 --drop "rectangle 0,0 100,25"
      burnplan reference plan C-0007 --subject "ellipse 20,5 80,95" --line calm
    """
    mind_wood(context, which)
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
        show_first(reading, the_settings(context))
    console.show(shown.reference_card(view, the_settings(context)))


@app.command("together")
def together_(
    context: typer.Context,
    which: WhichCommission,
    photos: Annotated[
        list[Path] | None,
        typer.Argument(metavar="[PHOTO]...", help="Two or more; none to lay those it has anew."),
    ] = None,
    *,
    stacked: Annotated[
        bool | None,
        typer.Option("--stacked/--beside", help="One above the other, or side by side."),
    ] = None,
    shares: Annotated[
        str | None, typer.Option(help="What each takes of the piece, like 60,40; 'alike'.")
    ] = None,
    place: Annotated[
        list[str] | None,
        typer.Option(
            help="Where a photo lies: its number, two corners in % of the piece,"
            " '2: 45,20 100,100'; '2: none' for its share."
        ),
    ] = None,
    crop: Annotated[
        list[str] | None,
        typer.Option(help="Its part to use: number, left,top,right,bottom in %, '1: 10,0,80,100'."),
    ] = None,
    mirror: Annotated[
        list[int] | None, typer.Option(help="Number of a photo to mirror, or mirror back.")
    ] = None,
    seam: Annotated[
        Literal["soft", "hard"] | None, typer.Option(help="How they meet (soft).")
    ] = None,
    middles: Annotated[
        float | None,
        typer.Option(help="How far their middle tones are drawn together, 0 to 100 % (50)."),
    ] = None,
    own_tones: Annotated[
        bool | None,
        typer.Option("--own-tones/--match-tones", help="Leave the tones as photographed."),
    ] = None,
    zones: Zones = None,
    taken_by: TakenBy = None,
    allowed: Allowed = None,
    pictures: Pictures = True,
) -> None:
    """Put several photos on one piece, two pets or a couple, and plan it as one.

    Side by side unless said otherwise. The darkest and lightest of each subject are matched,
    and the middles drawn nearer. Later photos lie over earlier ones; each is kept as it came.

    Examples:
      burnplan reference together C-0007 rex.jpg mia.jpg
      burnplan reference together C-0007 rex.jpg mia.jpg --shares 60,40 --seam hard
      burnplan reference together C-0007 --place "1: 0,0 65,100" --place "2: 50,30 100,100"
      burnplan reference together C-0007 --crop "2: 20,0,80,90" --middles 80
    """
    mind_wood(context, which)
    wishes = together.TogetherWishes(
        stacked, shares, seam, middles, own_tones, place or (), crop or (), mirror or ()
    )
    with progress_bar() as progress:
        view, reading = together.put(
            the_studio(context), which, photos or (), wishes,
            zones=zones, taken_by=taken_by, allowed=allowed, on_progress=progress,
        )  # fmt: skip
    if pictures:
        show_first(reading, the_settings(context))
    console.show(shown.reference_card(view, the_settings(context)))


@app.command()
def rights(
    context: typer.Context,
    which: WhichCommission,
    taken_by: TakenBy = None,
    allowed: Allowed = None,
    number: Annotated[
        int | None, typer.Option(help="Which of several photos on the piece; all if not said.")
    ] = None,
) -> None:
    """Note who took the photo, and how they allowed its use.

    A photo is its maker's own: ask before it is burned, and for leave to show the piece.

    Examples:
      burnplan reference rights C-0007 --taken-by "Mara Lindqvist" --allowed "in a mail"
    """
    made = references.note_rights(
        the_studio(context), which, taken_by=taken_by, allowed=allowed, number=number
    )
    console.show(shown.reference_card(made, the_settings(context)))


@app.command()
@answers
def compare(
    context: typer.Context,
    photos: Annotated[
        list[Path], typer.Argument(metavar="PHOTO...", help="Those the client sent.")
    ],
    size: Annotated[str, typer.Option(help="Of the piece, like 20x25cm or 'round 25cm'.")],
) -> "Answer[comparing.ComparisonView]":
    """Rank the client's photos for burning, with reasons and a text to send to the client.

    Measured where the subject is likely to be: pixels, sharpness, tones lost, range of
    values, light from the front or a side, what is cut off; and how large each can go.

    Examples:
      burnplan reference compare a.jpg b.jpg c.jpg --size 20x25cm
      burnplan reference compare a.jpg b.jpg --size "round 25cm" --json
    """
    own = the_settings(context)
    with progress_bar() as progress:
        outline = parse_size(size, default_unit=own.size_unit)
        found = comparing.compare(photos, outline, progress)
    return Answer(found, lambda view: compared.comparison(view, own))


@app.command("show")
@answers
def show_(context: typer.Context, which: WhichCommission) -> "Answer[references.ReferenceView]":
    """Show the reference in use: zones, lines, hours.

    Examples:
      burnplan reference show C-0007 --json
    """
    found = references.show(the_studio(context), which)
    return Answer(found, lambda view: shown.reference_card(view, the_settings(context)))


def _mind_knots(context: typer.Context, view: "references.ReferenceView") -> None:
    """Say which focal areas lie on knots of the blank."""
    for note in view.knots.notes(the_settings(context).units):
        console.notice(note)


@app.command()
@writes_files
def preview(context: typer.Context, which: WhichCommission, save: SaveTo = None) -> None:
    """Show the reference in sepia, as its wood can hold it, its zones and trace lines.

    Where a photo of the blank shows its outline, it is burned into that photo too. Saved,
    they print at true size, with a contact sheet of the first four.

    Examples:
      burnplan reference preview C-0007
      burnplan reference preview C-0007 --save pictures
    """
    with progress_bar() as progress:
        view, reading = references.pictures(the_studio(context), which, progress)
    wood = woods.species_on_record(view.species or woods.UNKNOWN_WOOD)
    own = faces.burned_on_own_wood(the_studio(context), which, reading.placed)
    pictures = drawn.all_pictures(reading, view.bare, view.darkest, own)
    words = drawn.in_words(reading, the_settings(context).units)
    console.show(drawn.side_by_side(pictures, words))
    _mind_knots(context, view)
    if save is not None:
        of = f"{view.code} {view.title}"
        written = save_pictures(pictures, save, view.size_mm[0], of=of)
        sheet = contact_sheet.contact_sheet(
            reading.placed,
            reading.zones,
            reading.lines,
            view.bare,
            view.darkest,
            title=view.title,
            wood=wood.name.lower(),
            units=the_settings(context).units,
        )
        written.append(save / "contact-sheet.png")
        render.save_png(sheet, written[-1], _SHEET_PX_PER_MM, title=f"{of} · contact sheet")
        for path in written:
            console.notice(f"Wrote {path}")


@app.command()
@writes_files
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
    ink: Annotated[
        Literal["blue", "red", "grey", "gray"] | None,
        typer.Option(
            help="Colour of the lines, if not as in the settings: one that your pen shows on."
        ),
    ] = None,
    over_photo: Annotated[
        bool | None,
        typer.Option(help="Lines over the faint photo, or alone, if not as in the settings."),
    ] = None,
    direction: Annotated[
        bool, typer.Option(help="Thin ticks that show how to lay burn strokes.")
    ] = True,
    marks: Annotated[bool, typer.Option("--marks", help="Zones on the trace sheets too.")] = False,
) -> None:
    """Write the sheets to print at true size: reference, value map, lines (PDF and SVG).

    Print at 100 %, never 'fit to page', and measure the check bars.

    Examples:
      burnplan reference sheet C-0007
      burnplan reference sheet C-0007 --paper a3 --into print
      burnplan reference sheet C-0007 --over-photo --ink red --no-direction
    """
    studio, own = the_studio(context), the_settings(context)
    with progress_bar() as progress:
        view, reading = references.pictures(studio, which, part(progress, 0.0, 0.6))
        make_folder(into)
        written = true_size.write_true_size(
            view,
            reading,
            own,
            studio.today(),
            into,
            paper=paper,
            mirrored=mirrored,
            ink=ink,
            over_photo=over_photo,
            direction=direction,
            marks=marks,
            on_progress=part(progress, 0.6, 1.0),
        )
    for one in written:
        pages = f", {one.pages} page{'s' if one.pages != 1 else ''}" if one.pages else ""
        console.show(f"Wrote {one.path}{pages}")
    say_notes(*written)
    _mind_knots(context, view)
    if ink and ink != own.ink:
        pen = studio_settings.Ink(ink).pen
        console.notice(f"Trace {ink} lines with a {pen} pen: it shows on them")
    console.notice(true_size.PRINT_HINT)


app.add_typer(reference_lettering.app)
