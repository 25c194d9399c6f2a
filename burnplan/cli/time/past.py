"""burnplan past: jobs done before, and what they say of the forecasts."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli.common import (
    AsJson,
    AsSchema,
    answer,
    group,
    print_json,
    print_schema,
    the_studio,
)

app = group()

CsvFile = Annotated[Path, typer.Argument(metavar="FILE", help="A CSV file in UTF-8.")]


@app.command("import")
def import_(
    context: typer.Context,
    file: CsvFile,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only say what would be done.")
    ] = False,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Bring in past jobs: all of the file, or with a fault in it none.

    The first line names the columns: title,finished_on,width_mm,height_mm,outline,
    species,darkness,texture,line_cm,prepare_h,transfer_h,burn_h,finish_h,price.
    Title and size are needed, an empty cell means unknown. Darkness and texture
    are 0 to 1 as measured, or 1 to 5 by eye, written eye:3.

    Examples:

      burnplan past import jobs.csv --dry-run

      burnplan past import jobs.csv
    """
    from burnplan.desk.time import past
    from burnplan.show.console import notice, show
    from burnplan.show.time.pace import import_report

    if as_schema:
        return print_schema(past.ImportView)
    report = past.bring_in(the_studio(context), file, dry_run=dry_run)
    if report.ignored_columns:
        notice(f"Left aside, not columns of past jobs: {', '.join(report.ignored_columns)}")
    if as_json:
        print_json(report, past.ImportView)
    else:
        show(import_report(report))
    if report.faults:
        raise typer.Exit(2)
    return None


@app.command()
def export(context: typer.Context, file: CsvFile) -> None:
    """Write past and delivered jobs as a CSV file that 'past import' reads.

    Examples:

      burnplan past export jobs.csv
    """
    from burnplan.desk.time import past
    from burnplan.show.console import show

    show(f"Wrote {past.give_out(the_studio(context), file)} jobs to {file.name}")


@app.command()
def backtest(context: typer.Context, as_json: AsJson = False, as_schema: AsSchema = False) -> None:
    """Forecast each past job from earlier ones only, and compare.

    Examples:

      burnplan past backtest

      burnplan past backtest --json
    """
    from burnplan.desk.time import pace
    from burnplan.show.time.pace import backtest_report

    return answer(
        pace.BacktestView,
        as_json,
        as_schema,
        lambda: pace.trial(the_studio(context)),
        backtest_report,
    )


def pace(
    context: typer.Context,
    guess: Annotated[
        bool, typer.Option("--guess", help="Show the starting guess too, with where it is from.")
    ] = False,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Show what your hours say of your pace, how sure that is, and what looks wrong.

    Examples:

      burnplan pace

      burnplan pace --guess
    """
    from burnplan.desk.time import pace as desk
    from burnplan.show.time.pace import pace_report

    return answer(
        desk.PaceView,
        as_json,
        as_schema,
        lambda: desk.review(the_studio(context)),
        lambda found: pace_report(found, priors=guess),
    )
