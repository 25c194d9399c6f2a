"""burnplan calendar: a file for calendar programs. burnplan week: a page for the wall."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli.common import (
    AsJson,
    AsSchema,
    answer,
    the_settings,
    the_studio,
)


def calendar(
    context: typer.Context,
    file: Annotated[
        Path | None,
        typer.Argument(metavar="[FILE.ics]", help="The file to write; its name ends in .ics."),
    ] = None,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Write due dates, next coats, planned sessions and expiring quotes as an iCalendar file.

    An entry keeps its identifier from one file to the next, so importing a
    newer file moves it instead of doubling it. Without a file the entries are
    listed.

    Examples:

      burnplan calendar burnplan.ics

      burnplan calendar
    """
    from burnplan.desk.time import calendar as desk
    from burnplan.show.console import notice
    from burnplan.show.time import dates

    studio = the_studio(context)
    if file is not None and not as_schema:
        from burnplan.sheets.time.calendar_file import write_calendar
        from burnplan.sheets.writing import check_ending

        check_ending(file, ".ics")
        found = desk.entries(studio)
        written = write_calendar(found, file, the_settings(context).name, studio.now())
        notice(f"Wrote {len(found)} entries to {written.path}")
        if not as_json:
            return None
    return answer(
        list[desk.CalendarEntry],
        as_json,
        as_schema,
        lambda: desk.entries(studio),
        lambda found: dates.entry_table(found, studio),
    )


def week(
    context: typer.Context,
    file: Annotated[
        Path, typer.Argument(metavar="FILE.pdf", help="The PDF to write; its name ends in .pdf.")
    ],
    following: Annotated[
        bool, typer.Option("--next", help="Next week's, beginning on Monday.")
    ] = False,
) -> None:
    """Write the week's page for the wall: each day's hours and sessions, and the open jobs.

    Examples:

      burnplan week week.pdf

      burnplan week week.pdf --next
    """
    from burnplan.desk.time import week
    from burnplan.sheets.time.week_page import write_week
    from burnplan.sheets.writing import check_ending
    from burnplan.show.console import notice

    check_ending(file, ".pdf")
    settings = the_settings(context)
    written = write_week(week.page(the_studio(context), following=following), file, settings)
    notice(f"Wrote {written.path}")
    for note in written.notes:
        notice(note)
