"""burnplan blank: the wood in stock."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from burnplan.cli import completion
from burnplan.cli.answers import Answer, answers
from burnplan.cli.asking import reopened, sure
from burnplan.cli.common import (
    ask_about,
    mind_wood,
    progress_bar,
    refuse_no_change,
    the_settings,
    the_studio,
)
from burnplan.cli.naming import which_wood
from burnplan.cli.options import (
    Because,
    NewNote,
    Note,
    Override,
    Reopen,
    Size,
    Species,
    WhichBlank,
    WhichCommission,
    Yes,
    ending,
    gathered_by,
    group,
    page,
)
from burnplan.cli.wood import blank_condition
from burnplan.cli.writing import writes_files
from burnplan.desk.jobs import holding
from burnplan.desk.studio import paging
from burnplan.desk.wood import blanks, conditioning, fitting, outlines, wood_to_buy
from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.show import console
from burnplan.show.jobs import pictures as drawn
from burnplan.show.wood import blanks as shown
from burnplan.tone import photo as photos
from burnplan.tone import render
from burnplan.units import format_size

app = group()


@app.command()
def add(
    context: typer.Context,
    species: Annotated[
        str,
        typer.Argument(
            help="Like basswood; see 'burnplan blank species'.",
            autocompletion=completion.species,
            callback=which_wood,
        ),
    ],
    size: Annotated[
        str,
        typer.Argument(help="Like 30x40cm, 'round 25cm', 'live-edge 35x55cm'; corners; an SVG."),
    ],
    thickness: Annotated[str | None, typer.Option(help="Like 18mm.")] = None,
    cost: Annotated[str | None, typer.Option(help="What it cost.")] = None,
    grit: Annotated[int | None, typer.Option(help="The finest grit done, if any.")] = None,
    supplier: Annotated[str, typer.Option(help="Where it is from.")] = "",
    place: Annotated[str, typer.Option(help="Where it lies.")] = "",
    note: Note = "",
) -> None:
    """Put a blank in stock.

    Examples:
      burnplan blank add basswood 30x40cm --thickness 18mm --cost 14.50 --grit 150
      burnplan blank add cherry "round 25cm" --place "shelf 2"
      burnplan blank add cherry "live-edge 35x55cm"
      burnplan blank add cherry "0,0 300,10 290,200 5,190 mm"
      burnplan blank add cherry slab.svg
    """
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
    console.show(shown.blank_card(blanks.add(the_studio(context), new), the_settings(context)))


@app.command()
def edit(
    context: typer.Context,
    which: WhichBlank,
    species: Species = None,
    size: Size = None,
    thickness: Annotated[str | None, typer.Option(help="Like 18mm.")] = None,
    cost: Annotated[str | None, typer.Option(help="What it cost.")] = None,
    supplier: Annotated[str | None, typer.Option(help="Where it is from.")] = None,
    place: Annotated[str | None, typer.Option(help="Where it lies.")] = None,
    note: NewNote = None,
) -> None:
    """Put right what is on record of a blank; an empty text clears it.

    Examples:
      burnplan blank edit B-0012 --cost 16.50 --place "shelf 2"
    """
    change = blanks.BlankChange(
        species=species,
        size=size,
        thickness=thickness,
        cost=cost,
        supplier=supplier,
        location=place,
        note=note,
    )
    refuse_no_change(change, "--cost 16.50")
    ask_about(context, species)
    made = blanks.edit(the_studio(context), which, change)
    console.show(shown.blank_card(made, the_settings(context)))


@app.command("list")
@answers
@gathered_by(page)
def list_(
    context: typer.Context,
    gone: Annotated[bool, typer.Option("--all", help="Used and scrapped ones too.")] = False,
    *,
    page: "paging.ListPage",
) -> "Answer[list[blanks.BlankView]]":
    """List the blanks.

    Examples:
      burnplan blank list
    """
    found = blanks.everything(the_studio(context), gone=gone, page=page)
    return Answer(found, lambda them: shown.blank_table(them, the_settings(context)), page)


@app.command("show")
@answers
def show_(context: typer.Context, which: WhichBlank) -> "Answer[blanks.BlankView]":
    """Show one blank, with the sanding left to do.

    Examples:
      burnplan blank show B-0012
    """
    found = blanks.show(the_studio(context), which)
    return Answer(found, lambda one: shown.blank_card(one, the_settings(context)))


@app.command()
def sand(
    context: typer.Context,
    which: WhichBlank,
    grit: Annotated[int | None, typer.Argument(help="The grit done.")] = None,
    water: Annotated[bool, typer.Option("--water", help="The grain was raised.")] = False,
    not_done: Annotated[
        bool, typer.Option("--not-done", help="It was not: take it off the record.")
    ] = False,
) -> None:
    """Put on record a grit done, or the grain raised with water.

    Examples:
      burnplan blank sand B-0012 220
      burnplan blank sand B-0012 --water
      burnplan blank sand B-0012 400 --not-done
    """
    if (grit is None) != water:
        raise BadInput("Give a grit or --water, one of them", "For example: blank sand B-0012 220")
    made = blanks.sand(the_studio(context), which, grit, not_done=not_done)
    for one in made.hazards:
        if one.said_first:
            console.caution(f"{one.in_words()}. Its dust can harm as well")
    console.show(shown.blank_card(made, the_settings(context)))


@app.command()
def hold(
    context: typer.Context,
    which: WhichBlank,
    commission: WhichCommission,
    override: Override = None,
    reopen: Reopen = None,
) -> None:
    """Hold a blank for a commission, which takes its size and wood.

    The work is planned again for these, if a photo is kept.

    A blank that must not be burned is refused, unless you say why it is safe; the
    reason stays on record.

    Examples:
      burnplan blank hold B-0012 C-0007
      burnplan blank hold B-0012 C-0007 --override "planed 3 mm off, bare oak on all sides"
    """
    studio, own = the_studio(context), the_settings(context)
    before = holding.beforehand(studio, which, commission)
    again = reopened(before.steps, reopen)
    with progress_bar() as progress:
        made = holding.hold(
            studio, which, commission, override=override, reopen=again, on_progress=progress
        )
    if before.size_before is not None:
        was, now = (
            format_size(Outline(OutlineKind.RECTANGLE, *size), own.units)
            for size in (before.size_before, before.size)
        )
        console.notice(f"{made.held_for} was of {was}; the blank makes it {now}")
    console.show(
        f"[code]{made.code}[/] is held for [code]{made.held_for}[/]",
        shown.hazard_list(made.hazards),
    )
    mind_wood(context, commission)


@app.command()
def release(context: typer.Context, which: WhichBlank) -> None:
    """Let a blank go back to stock.

    Examples:
      burnplan blank release B-0012
    """
    with progress_bar() as progress:
        made = holding.release(the_studio(context), which, progress)
    console.show(f"[code]{made.code}[/] is in stock again")


@app.command()
def scrap(context: typer.Context, which: WhichBlank, because: Because, yes: Yes = False) -> None:
    """Write a blank off.

    Examples:
      burnplan blank scrap B-0012 --because "checked at the end grain"
    """
    found = blanks.show(the_studio(context), which)
    sure(f"Scrap {found.code} ({found.species_name.lower()})?", yes)
    blanks.scrap(the_studio(context), found.code, because)
    console.show(f"[code]{found.code}[/] is scrapped; take it back with: burnplan undo")


@app.command()
def photo(
    context: typer.Context,
    which: WhichBlank,
    path: Annotated[
        Path | None, typer.Argument(metavar="[PHOTO]", help="Of the blank itself; to keep it.")
    ] = None,
) -> None:
    """Keep a photo of a blank, or show the newest one.

    Examples:
      burnplan blank photo B-0012 board.jpg
      burnplan blank photo B-0012
    """
    if path is None:
        code, kept = conditioning.photo_of(the_studio(context), which)
        seen = photos.open_photo(kept, at_least=(400, 400)).rgb
        console.show(
            drawn.side_by_side({code: seen}, {code: "the newest photo of the blank itself"})
        )
    else:
        code = conditioning.add_photo(the_studio(context), which, path)
        console.show(f"Kept a photo of [code]{code}[/]")


@app.command()
@answers
@writes_files
def outline(
    context: typer.Context,
    which: WhichBlank,
    path: Annotated[
        Path | None,
        typer.Argument(metavar="[PHOTO]", help="Of the whole blank from above; or an SVG."),
    ] = None,
    sheet: Annotated[
        Literal["a4", "a5", "letter", "half-letter", "card"] | None,
        typer.Option(help="What lies on the wood: its size is known."),
    ] = None,
    corners: Annotated[
        str | None,
        typer.Option(help="The sheet's corners in pixels, clockwise: 'x,y x,y x,y x,y'."),
    ] = None,
    between: Annotated[
        str | None, typer.Option(help="Instead of a sheet: two places in pixels, 'x,y x,y'.")
    ] = None,
    apart: Annotated[str | None, typer.Option(help="How far apart these lie, like 25cm.")] = None,
    points: Annotated[
        str | None, typer.Option(help="The outline itself: corners in order, '0,0 30,1 29,21 cm'.")
    ] = None,
    move: Annotated[
        str | None, typer.Option(help="The corner nearest here goes elsewhere: '120mm,35mm'.")
    ] = None,
    to: Annotated[str | None, typer.Option(help="Where that goes, like '122mm,30mm'.")] = None,
    picture: Annotated[
        Path | None,
        typer.Option(help="Save the photo with the outline as PNG.", callback=ending(".png")),
    ] = None,
    svg: Annotated[
        Path | None,
        typer.Option(help="Save the outline, to put it right by hand.", callback=ending(".svg")),
    ] = None,
) -> "Answer[outlines.OutlineView]":
    """Find a blank's outline in a photo with a sheet of known size on it; or show it.

    Lay the sheet flat on the wood, away from its edge, on a bench of another colour, and
    take the photo from above, all of the wood in it. What is found is drawn over the photo:
    look at it. Where it is wrong, move a corner, or save it with --svg, put it right in a
    drawing program and give the file instead of a photo.

    Examples:
      burnplan blank outline B-0012 slab.jpg --sheet a5
      burnplan blank outline B-0012 slab.jpg --sheet card --picture outline.png
      burnplan blank outline B-0012 slab.jpg --sheet a4 --corners "41,30 98,32 96,113 39,110"
      burnplan blank outline B-0012 slab.jpg --between "300,900 1800,920" --apart 40cm
      burnplan blank outline B-0012 --points "0,0 30,1 29,21 1,20 cm"
      burnplan blank outline B-0012 --move 120mm,35mm --to 122mm,30mm
      burnplan blank outline B-0012 --svg slab.svg
      burnplan blank outline B-0012 slab.svg
    """
    studio, own = the_studio(context), the_settings(context)
    drawing = path is not None and path.suffix.lower() == ".svg"
    ways = [points is not None, move is not None or to is not None, path is not None]
    if sum(ways) > 1:
        raise BadInput("A photo, --points or --move: one of them", "Give them one after the other")
    if (move is None) != (to is None):
        raise BadInput("Where a corner is, and where it goes", "Give both --move and --to")
    if (between is None) != (apart is None):
        raise BadInput("Two places, and how far apart", "Give both --between and --apart")
    if path is None and (sheet or corners or between):
        raise BadInput("There is no photo to look in", "Name it after the blank")
    if picture is not None and (points is not None or drawing):
        raise BadInput("No photo shows that outline", "Leave --picture out")
    if path is not None and not drawing:
        if sheet is None and between is None:
            raise BadInput("It is not said what lies on the wood", "Add for example --sheet a5")
        by = outlines.ByPhoto(sheet=sheet, corners=corners, points=between, apart=apart)
        with progress_bar() as progress:
            shown_over = outlines.find(studio, which, path, by, progress)
    else:
        if drawing and path is not None:
            outlines.draw(studio, which, path)
        elif points is not None:
            outlines.give(studio, which, points)
        elif move is not None and to is not None:
            outlines.move(studio, which, move, to)
        shown_over = outlines.show(studio, which)
    found, seen = shown_over.view, shown_over.picture
    if picture is not None:
        if seen is None:
            raise BadInput("No photo shows this outline", "Find it in one first, with --sheet")
        render.save_png(seen, picture, 10.0, title=f"{found.code} · outline")
        console.notice(f"Wrote {picture}")
    if svg is not None:
        outlines.write_drawing(found, svg)
        console.notice(f"Wrote {svg}")
    for note in found.notes:
        console.notice(note)
    return Answer(found, lambda view: shown.outline_card(view, seen, own))


@app.command()
@answers
def buy(context: typer.Context) -> "Answer[list[wood_to_buy.NeedView]]":
    """List the wood that booked work still needs: what is in stock for it, what to buy.

    Examples:
      burnplan blank buy
    """
    found, today = wood_to_buy.needed(the_studio(context)), the_studio(context).today()
    return Answer(found, lambda needs: shown.buying_table(needs, the_settings(context), today))


@app.command()
@answers
def fit(
    context: typer.Context,
    commission: WhichCommission,
    photo: Annotated[
        Path | None, typer.Option(help="Another photo than that of its reference.")
    ] = None,
) -> "Answer[list[fitting.FitView]]":
    """List the blanks in stock, and the one held, by how well they suit a commission's photo.

    Examples:
      burnplan blank fit C-0007
      burnplan blank fit C-0007 --photo barn.jpg
    """
    found = fitting.fitting(the_studio(context), commission, photo)
    return Answer(found, lambda them: shown.fit_table(them, the_settings(context)))


app.add_typer(blank_condition.app)
