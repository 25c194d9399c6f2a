"""burnplan photo: photos of a piece on its way."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import given_date, the_settings, the_studio
from burnplan.cli.options import OneCommission, WhichCommission, ending, gathered_by, group, page
from burnplan.cli.writing import say_notes, writes_files
from burnplan.desk.jobs import photos
from burnplan.desk.studio import paging
from burnplan.sheets.jobs import contact_sheet
from burnplan.show import console
from burnplan.show.jobs import photos as shown

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
