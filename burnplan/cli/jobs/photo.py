"""burnplan photo: photos of a piece on its way."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import given_date, progress_bar, the_settings, the_studio
from burnplan.cli.options import OneCommission, WhichCommission, ending, gathered_by, group, page
from burnplan.cli.writing import say_notes, writes_files
from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import compared, comparisons, photos, teaching
from burnplan.desk.studio import paging
from burnplan.sheets.jobs import compared_page, contact_sheet
from burnplan.show import console
from burnplan.show.jobs import comparisons as compared_shown
from burnplan.show.jobs import photos as shown
from burnplan.show.wood import ladder as ladder_shown
from burnplan.tone import render

if TYPE_CHECKING:
    from datetime import date

    from rich.console import RenderableType

    from burnplan.show.jobs.pictures import Picture as Pixels

app = group()


@app.command()
def add(
    context: typer.Context,
    which: WhichCommission,
    files: Annotated[list[Path], typer.Argument(metavar="PHOTO...", help="Photos to keep.")],
    on: Annotated[
        str | None, typer.Option(help="The day they show; as the photo says, else today.")
    ] = None,
    note: Annotated[str, typer.Option(help="What they show.")] = "",
) -> None:
    """Keep photos of a commission's progress.

    Examples:
      burnplan photo add C-0007 eyes.jpg --note "eyes done"
      burnplan photo add C-0007 a.jpg b.jpg --on yesterday
    """
    studio, day = the_studio(context), given_date(context, on, past=True)
    made = [photos.add(studio, which, file, day, note) for file in files]
    console.show(shown.photo_table(made, studio.today()))


@app.command("list")
@answers
@gathered_by(page)
def list_(
    context: typer.Context, which: OneCommission = None, *, page: "paging.ListPage"
) -> "Answer[list[photos.PhotoView]]":
    """List photos of progress, oldest first.

    Examples:
      burnplan photo list C-0007
    """
    studio = the_studio(context)
    found = photos.all_of(studio, which, page)
    return Answer(found, lambda them: shown.photo_table(them, studio.today()), page)


@app.command()
def remove(
    context: typer.Context, number: Annotated[int, typer.Argument(help="Its number in the list.")]
) -> None:
    """Take a photo off its commission.

    Examples:
      burnplan photo remove 4
    """
    gone = photos.remove(the_studio(context), number)
    console.show(f"Photo {number} is off [code]{gone.code}[/]; take that back with: burnplan undo")


@app.command()
@writes_files
def sheet(
    context: typer.Context,
    which: WhichCommission,
    file: Annotated[
        Path,
        typer.Argument(
            metavar="FILE.png",
            help="The PNG to write; its name ends in .png.",
            callback=ending(".png"),
        ),
    ],
) -> None:
    """Write a contact sheet of a commission's photos, oldest first.

    Examples:
      burnplan photo sheet C-0007 progress.png
    """
    locale = the_settings(context).locale
    shown = photos.files(the_studio(context), which)
    written = contact_sheet.write_contact_sheet(shown, file, locale)
    console.notice(f"Wrote {written.path}")
    say_notes(written)


OffPage = Annotated[
    Path | None,
    typer.Option(
        "--page",
        metavar="FILE.pdf",
        help="Write it as a page to print; its name ends in .pdf.",
        callback=ending(".pdf"),
    ),
]


def _write_page(
    path: Path,
    view: "comparisons.ComparisonView",
    picture: "Pixels",
    own: "studio_settings.Settings",
    on: "date",
) -> None:
    say_notes(compared_page.compared_page(path, view, picture, own, on))
    console.notice(f"Wrote {path}")


@app.command("show")
@writes_files
@answers
def show_(
    context: typer.Context,
    number: Annotated[int, typer.Argument(help="The photo's number in the list.")],
    page: OffPage = None,
) -> "Answer[compared.KeptComparison]":
    """Show what a photo that was compared with the plan came to on its day.

    Examples:
      burnplan photo show 4
      burnplan photo show 4 --page off.pdf
    """
    studio, own = the_studio(context), the_settings(context)
    kept, file = compared.show(studio, number)
    if page is not None:
        day = studio.local(kept.compared_at).date()
        _write_page(page, kept.comparison, compared.picture(file), own, day)

    def drawn(view: "compared.KeptComparison") -> "RenderableType":
        console.show(compared_shown.picture_kept(compared.picture(file), view.comparison))
        return compared_shown.comparison_card(view.comparison, own, studio.today())

    return Answer(kept, drawn)


@app.command()
def teach(
    context: typer.Context,
    number: Annotated[int, typer.Argument(help="The photo's number in the list.")],
    ladder: Annotated[
        str | None, typer.Option(help="The tone ladder, L-0003; the newest on the wood.")
    ] = None,
) -> None:
    """Teach a tone ladder what each zone's setting really gave, by a photo that was compared.

    Zones that are ticked, burned with the ladder's tip at one heat on record, count.

    Examples:
      burnplan photo teach 4
      burnplan photo teach 4 --ladder L-0003
    """
    made = teaching.teach(the_studio(context), number, ladder)
    console.show(ladder_shown.ladder_card(made.ladder, the_settings(context)))
    for one in made.learned:
        console.show(f"Z{one.zone}: heat {one.heat:g} gave L* {one.lightness:.0f}")
    for why in made.left_out:
        console.notice(f"Left out {why}")


@app.command()
@writes_files
@answers
def compare(
    context: typer.Context,
    which: WhichCommission,
    photo: Annotated[Path, typer.Argument(metavar="PHOTO", help="The piece whole, from above.")],
    corners: Annotated[
        str | None,
        typer.Option(
            help="Its corners in pixels of the photo, 'x,y x,y x,y x,y', clockwise from its top"
            " left (of a round or live edge, those of the box around it); found if not given."
        ),
    ] = None,
    card: Annotated[
        str | None,
        typer.Option(help="Points on white cards or paper in the photo, 'x,y' or several."),
    ] = None,
    grey_card: Annotated[
        bool, typer.Option("--grey-card", help="The cards are 18 % grey ones.")
    ] = False,
    tolerance: Annotated[
        float | None,
        typer.Option(help="Darkness, 0 to 1, that a place may be off by (0.1 if not said)."),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE.png",
            help="Write what is too light and too dark as a picture; its name ends in .png.",
            callback=ending(".png"),
        ),
    ] = None,
    page: OffPage = None,
    keep: Annotated[
        bool,
        typer.Option(help="Keep the photo and what it came to with the job, by the day it shows."),
    ] = True,
) -> "Answer[comparisons.ComparisonView]":
    """Compare a photo of the piece with its plan: darkness by zone, too light, too dark.

    Photograph the piece whole, from above, with some bench round it, in even light.
    What is left bare tells the light; where all is burned, lay white cards at its edges.

    Examples:
      burnplan photo compare C-0007 bench.jpg
      burnplan photo compare C-0007 bench.jpg --corners "412,300 3610,280 3650,2700 390,2730"
      burnplan photo compare C-0007 bench.jpg --card "200,1500 3900,1500" --picture off.png
      burnplan photo compare C-0007 bench.jpg --page off.pdf
    """
    studio = the_studio(context)
    four = "412,300 3610,280 3650,2700 390,2730"
    asked = comparisons.CompareRequest(
        corners=None
        if corners is None
        else comparisons.points(corners, what="corners", example=four),
        cards=[] if card is None else comparisons.points(card, what="points", example="200,1500"),
        grey=grey_card,
        tolerance=tolerance,
    )
    with progress_bar() as progress:
        found = comparisons.compare(studio, which, photo, asked, progress)
    if keep:
        compared.keep(studio, found, photo)
    if page is not None:
        _write_page(page, found.view, found.picture(), the_settings(context), studio.today())
    if picture is not None:
        drawn = found.picture()
        scale = drawn.shape[1] / found.off.shape[1]
        title = f"{found.view.code} {found.view.title} · against its plan"
        render.save_png(drawn, picture, found.px_per_mm * scale, title=title)
        console.notice(f"Wrote {picture}")

    def drawn_card(view: "comparisons.ComparisonView") -> "RenderableType":
        console.show(compared_shown.pictures(found.piece.rgb, found.picture(), view))
        return compared_shown.comparison_card(view, the_settings(context), studio.today())

    return Answer(found.view, drawn_card)
