"""burnplan calendar: a file for calendar programs."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import the_settings, the_studio
from burnplan.cli.options import ending
from burnplan.cli.writing import writes_files
from burnplan.desk.time import calendar
from burnplan.sheets.time import calendar_file
from burnplan.show import console
from burnplan.show.time import calendar as shown


@writes_files
@answers
def command(
    context: typer.Context,
    file: Annotated[
        Path | None,
        typer.Argument(
            metavar="[FILE.ics]",
            help="The file to write; its name ends in .ics.",
            callback=ending(".ics"),
        ),
    ] = None,
) -> "Answer[list[calendar.CalendarEntry]]":
    """Write due dates, next coats, planned sessions and expiring quotes as an iCalendar file.

    An entry keeps its identifier from one file to the next, so importing a
    newer file moves it instead of doubling it. Without a file the entries are
    listed.

    Examples:
      burnplan calendar burnplan.ics
      burnplan calendar
    """
    studio = the_studio(context)
    found = calendar.entries(studio)
    if file is not None:
        name = the_settings(context).name
        written = calendar_file.write_calendar(found, file, name, studio.now())
        entries = "1 entry" if len(found) == 1 else f"{len(found)} entries"
        console.notice(f"Wrote {entries} to {written.path}")
    return Answer(found, lambda them: None if file else shown.entry_table(them, studio))
