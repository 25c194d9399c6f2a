"""burnplan job-sheet: a job on one page for the bench."""

import typer

from burnplan.cli.common import progress_bar, the_settings, the_studio
from burnplan.cli.options import PdfFile, WhichCommission
from burnplan.cli.writing import say_notes, writes_files
from burnplan.desk.jobs import job_sheets, references
from burnplan.sheets.jobs import job_sheet
from burnplan.show import console
from burnplan.tone import render


@writes_files
def command(context: typer.Context, which: WhichCommission, path: PdfFile) -> None:
    """Write a job sheet: blank, picture, zones with settings, steps, cautions, sessions.

    Examples:
      burnplan job-sheet C-0007 barn.pdf
    """
    studio, own = the_studio(context), the_settings(context)
    job = job_sheets.gather(studio, which)
    picture = None
    if job.commission.references:
        with progress_bar() as progress:
            _, reading = references.pictures(studio, job.commission.code, progress)
        picture = render.sepia(reading.placed)
    made = job_sheet.job_sheet(path, job, own, picture)
    say_notes(made)
    console.show(f"Wrote the job sheet of [code]{job.commission.code}[/] to {made.path}")
