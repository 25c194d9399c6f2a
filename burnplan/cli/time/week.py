"""burnplan week: a page for the wall."""

from typing import Annotated

import typer

from burnplan.cli.common import the_settings, the_studio
from burnplan.cli.options import PdfFile
from burnplan.cli.writing import say_notes, writes_files
from burnplan.desk.time import week
from burnplan.sheets.time import week_page
from burnplan.show import console


@writes_files
def command(
    context: typer.Context,
    file: PdfFile,
    following: Annotated[
        bool, typer.Option("--next", help="Next week's, beginning on Monday.")
    ] = False,
) -> None:
    """Write the week's page for the wall: each day's hours and sessions, and the open jobs.

    Examples:
      burnplan week week.pdf
      burnplan week week.pdf --next
    """
    settings = the_settings(context)
    found = week.page(the_studio(context), following=following)
    written = week_page.write_week(found, file, settings)
    console.notice(f"Wrote {written.path}")
    say_notes(written)
