"""burnplan photo: photos of a piece on its way."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli import completion
from burnplan.cli.common import (
    AsJson,
    AsSchema,
    PageNumber,
    Rows,
    WhichCommission,
    answer_page,
    given_date,
    group,
    the_studio,
)

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
    from burnplan.desk.jobs import photos
    from burnplan.show.console import show
    from burnplan.show.time import dates

    studio, day = the_studio(context), given_date(context, on)
    made = [photos.add(studio, which, file, day, note) for file in files]
    show(dates.photo_table(made, studio.today()))


@app.command("list")
def list_(
    context: typer.Context,
    which: Annotated[
        str | None,
        typer.Argument(
            metavar="[COMMISSION]",
            help="Of one commission only.",
            autocompletion=completion.commissions,
        ),
    ] = None,
    rows: Rows = 50,
    number: PageNumber = 1,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """List photos of progress, oldest first.

    Examples:

      burnplan photo list C-0007
    """
    from burnplan.desk.jobs import photos
    from burnplan.show.time import dates

    studio = the_studio(context)
    return answer_page(
        photos.PhotoView,
        as_json,
        as_schema,
        (number, rows),
        lambda page: photos.all_of(studio, which, page),
        lambda found: dates.photo_table(found, studio.today()),
    )


@app.command()
def remove(
    context: typer.Context,
    number: Annotated[int, typer.Argument(help="Its number in the list.")],
) -> None:
    """Take a photo off its commission.

    Examples:

      burnplan photo remove 4
    """
    from burnplan.desk.jobs import photos
    from burnplan.show.console import show

    gone = photos.remove(the_studio(context), number)
    show(f"Photo {number} is off [code]{gone.code}[/]; take that back with: burnplan undo")


@app.command()
def sheet(
    context: typer.Context,
    which: WhichCommission,
    file: Annotated[
        Path, typer.Argument(metavar="FILE.png", help="The PNG to write; its name ends in .png.")
    ],
) -> None:
    """Write a contact sheet of a commission's photos, oldest first.

    Examples:

      burnplan photo sheet C-0007 progress.png
    """
    from burnplan.desk.jobs import photos
    from burnplan.sheets.jobs.contact_sheet import write_contact_sheet
    from burnplan.sheets.writing import check_ending
    from burnplan.show.console import notice

    check_ending(file, ".png")
    written = write_contact_sheet(photos.files(the_studio(context), which), file)
    notice(f"Wrote {written.path}")
