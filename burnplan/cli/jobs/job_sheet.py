"""burnplan job-sheet: a job on one page for the bench."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli.common import WhichCommission, progress_bar, the_settings, the_studio


def command(
    context: typer.Context,
    which: WhichCommission,
    path: Annotated[
        Path, typer.Argument(metavar="FILE.pdf", help="The PDF to write; its name ends in .pdf.")
    ],
) -> None:
    """Write a job sheet: blank, picture, zones with settings, steps, cautions, sessions.

    Examples:

      burnplan job-sheet C-0007 barn.pdf
    """
    from burnplan.desk.jobs import job_sheets, references
    from burnplan.sheets.jobs.job_sheet import job_sheet
    from burnplan.sheets.writing import check_ending
    from burnplan.show.console import notice, show
    from burnplan.tone.render import sepia

    check_ending(path, ".pdf")
    studio, own = the_studio(context), the_settings(context)
    job = job_sheets.gather(studio, which)
    picture = None
    if job.commission.references:
        with progress_bar() as progress:
            _, reading = references.pictures(studio, job.commission.code, progress)
        picture = sepia(reading.placed)
    made = job_sheet(path, job, own, picture)
    for note in made.notes:
        notice(note)
    show(f"Wrote the job sheet of [code]{job.commission.code}[/] to {made.path}")
