"""burnplan past: jobs done before, and what they say of the forecasts."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import ask_about, given_date, the_studio
from burnplan.cli.options import Covered, Dark, Detail, Species, group
from burnplan.cli.writing import writes_files
from burnplan.desk.time import pace, past
from burnplan.money import parse_number
from burnplan.show import console
from burnplan.show.time import pace as shown

app = group()

CsvFile = Annotated[Path, typer.Argument(metavar="FILE", help="A CSV file in UTF-8.")]


@app.command()
def add(
    context: typer.Context,
    title: Annotated[str, typer.Argument(help="What was burned.")],
    size: Annotated[str, typer.Option(help="Like 30x40cm, 12x16in, 'round 25cm'.")],
    hours: Annotated[str, typer.Option(help="What it took, as one total.")],
    covers: Annotated[
        str,
        typer.Option(
            help="What the total covers: whole, or stages like 'burning' or 'tracing and burning'."
        ),
    ] = "whole",
    species: Species = None,
    dark: Dark = None,
    detail: Detail = None,
    covered: Covered = None,
    finished: Annotated[str | None, typer.Option(help="The day it was finished.")] = None,
    price: Annotated[str | None, typer.Option(help="What it was sold for.")] = None,
) -> None:
    """Put one past job on record, with one total of hours: forecasts learn from it.

    Examples:
      burnplan past add "Barn owl" --size 11x14in --species basswood --hours 19
      burnplan past add Bridge --size 120x45cm --hours 40 --covers burning --dark 3 --detail 3
      burnplan past add Vine --size 30x40cm --hours 6 --covered 30% --finished "3 weeks ago"
    """
    ask_about(context, species)
    made = past.add(
        the_studio(context),
        past.NewPastJob(
            title=title,
            size=size,
            hours=float(parse_number(hours.removesuffix("h"), "--hours", least=0, most=5000)),
            covers=covers,
            species=species,
            dark=dark,
            detail=detail,
            covered=covered or "",
            finished_on=given_date(context, finished, past=True),
            price=price,
        ),
    )
    console.show(shown.past_job_line(made))
    if finished is None:
        console.notice("Without --finished it counts as the oldest")


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
    species,darkness,texture,line_cm,prepare_h,transfer_h,burn_h,finish_h,price,
    total_h,covers,covered. Title and size are needed, an empty cell means unknown.
    Darkness and texture are 0 to 1 as measured, or 1 to 5 by eye, written eye:3;
    texture eye:6 is a showpiece. A total covers the whole piece, or the stages named
    ('burn', 'transfer burn'). Covered is the share of the face that is burned, like 60%.

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
