"""burnplan past: jobs done before, and what they say of the forecasts."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import the_studio
from burnplan.cli.options import group
from burnplan.cli.writing import writes_files
from burnplan.desk.time import pace, past
from burnplan.show import console
from burnplan.show.time import pace as shown

app = group()

CsvFile = Annotated[Path, typer.Argument(metavar="FILE", help="A CSV file in UTF-8.")]


@app.command("import")
@answers
def import_(
    context: typer.Context,
    file: CsvFile,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only say what would be done.")
    ] = False,
) -> "Answer[past.ImportView]":
    """Bring in past jobs: all of the file, or with a fault in it none.

    The first line names the columns: title,finished_on,width_mm,height_mm,outline,
    species,darkness,texture,line_cm,prepare_h,transfer_h,burn_h,finish_h,price.
    Title and size are needed, an empty cell means unknown. Darkness and texture
    are 0 to 1 as measured, or 1 to 5 by eye, written eye:3.

    Examples:
      burnplan past import jobs.csv --dry-run
      burnplan past import jobs.csv
    """
    report = past.bring_in(the_studio(context), file, dry_run=dry_run)
    if report.ignored_columns:
        ignored = ", ".join(report.ignored_columns)
        console.notice(f"Left aside, not columns of past jobs: {ignored}")
    return Answer(report, shown.import_report, exit_code=2 if report.faults else 0)


@app.command()
@writes_files
def export(context: typer.Context, file: CsvFile) -> None:
    """Write past and delivered jobs as a CSV file that 'past import' reads.

    Examples:
      burnplan past export jobs.csv
    """
    console.show(f"Wrote {past.give_out(the_studio(context), file)} jobs to {file.name}")


@app.command()
@answers
def backtest(context: typer.Context) -> "Answer[pace.BacktestView]":
    """Forecast each past job from earlier ones only, and compare.

    Examples:
      burnplan past backtest
      burnplan past backtest --json
    """
    return Answer(pace.trial(the_studio(context)), shown.backtest_report)
