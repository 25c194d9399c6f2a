"""burnplan past: jobs done before, and what they say of the forecasts."""

from pathlib import Path
from typing import Annotated

import typer
from rich.markup import escape

from burnplan.cli import asking
from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import ask_about, given_date, refuse_no_change, the_settings, the_studio
from burnplan.cli.options import (
    Because,
    Covered,
    Dark,
    Detail,
    Species,
    gathered_by,
    group,
    page,
)
from burnplan.cli.writing import writes_files
from burnplan.desk.studio import paging
from burnplan.desk.time import pace, past, past_import
from burnplan.errors import BadInput
from burnplan.show import console
from burnplan.show.time import pace as shown_pace
from burnplan.show.time import past as shown
from burnplan.units import parse_hours

app = group()

_IN_THE_TABLE = (
    "If it came from a table of yours, change it there too: as it stands there it would come in"
    " again with the next import"
)
CsvFile = Annotated[Path, typer.Argument(metavar="FILE", help="A CSV file.")]
Number = Annotated[int, typer.Argument(help="The past job's number in the list.")]
_SIZE = typer.Option(help="Like 30x40cm, 'round 25cm'.")
_HOURS = typer.Option(help="What it took, as one total, like 19 or 12h30.")
_COVERS = typer.Option(
    help="What the total covers: whole, or stages like 'burning' or 'tracing and burning'."
)
Finished = Annotated[str | None, typer.Option(help="The day or the month it was finished.")]
SoldFor = Annotated[str | None, typer.Option(help="What it was sold for.")]


@app.command()
def add(
    context: typer.Context,
    title: Annotated[str, typer.Argument(help="What was burned.")],
    size: Annotated[str, _SIZE],
    hours: Annotated[str, _HOURS],
    covers: Annotated[str, _COVERS] = "whole",
    species: Species = None,
    dark: Dark = None,
    detail: Detail = None,
    covered: Covered = None,
    finished: Finished = None,
    price: SoldFor = None,
) -> None:
    """Put one past job on record, with one total of hours: forecasts learn from it.

    Examples:
      burnplan past add "Barn owl" --size 28x35cm --species basswood --hours 19
      burnplan past add Bridge --size 120x45cm --hours 40 --covers burning --dark 3 --detail 3
      burnplan past add Vine --size 30x40cm --hours 6 --covered 30% --finished "may 2025"
    """
    ask_about(context, species)
    studio = the_studio(context)
    made = past.add(
        studio,
        past.NewPastJob(
            title=title,
            size=size,
            hours=parse_hours(hours),
            covers=covers,
            species=species,
            dark=dark,
            detail=detail,
            covered=covered,
            finished_on=given_date(context, finished, past=True),
            price=price,
        ),
    )
    console.show(shown.past_job_line(made, past.teaching(studio)))
    if finished is None:
        console.notice("Without --finished it counts as the oldest")


@app.command("list")
@answers
@gathered_by(page)
def list_(context: typer.Context, *, page: "paging.ListPage") -> "Answer[list[past.PastJobView]]":
    """List past jobs, the last finished first, with the numbers they are put right by.

    Examples:
      burnplan past list
      burnplan past list --json
    """
    studio, own = the_studio(context), the_settings(context)
    found = past.all_of(studio, page)
    return Answer(found, lambda jobs: shown.past_table(jobs, own, studio.today()), page)


@app.command()
def correct(
    context: typer.Context,
    number: Number,
    title: Annotated[str | None, typer.Option(help="What was burned.")] = None,
    size: Annotated[str | None, _SIZE] = None,
    hours: Annotated[str | None, _HOURS] = None,
    covers: Annotated[str | None, _COVERS] = None,
    species: Species = None,
    dark: Dark = None,
    detail: Detail = None,
    covered: Covered = None,
    finished: Finished = None,
    price: SoldFor = None,
) -> None:
    """Put right what is on record of a past job; what is not given stays as it is.

    Hours by stage, of a table, give way to the total that is given.

    Examples:
      burnplan past correct 12 --hours 19
      burnplan past correct 12 --hours 6 --covers burning --finished "may 2025"
    """
    ask_about(context, species)
    change = past.PastJobChange(
        title=title,
        size=size,
        hours=None if hours is None else parse_hours(hours),
        covers=covers,
        species=species,
        dark=dark,
        detail=detail,
        covered=covered,
        finished_on=given_date(context, finished, past=True),
        price=price,
    )
    refuse_no_change(change, "--hours 19")
    studio = the_studio(context)
    made = past.correct(studio, number, change)
    console.show(shown.past_job_line(made, past.teaching(studio)))
    console.notice(_IN_THE_TABLE)


@app.command()
def remove(context: typer.Context, number: Number) -> None:
    """Take a past job off the record: it was none, or is there twice.

    Examples:
      burnplan past remove 12
    """
    gone = past.remove(the_studio(context), number)
    console.show(f"Removed the past job '{escape(gone)}'; take it back with: burnplan undo")
    console.notice(_IN_THE_TABLE)


@app.command("set-aside")
def set_aside(context: typer.Context, number: Number, because: Because) -> None:
    """Keep a past job from teaching the forecasts, with the reason.

    Examples:
      burnplan past set-aside 12 --because "burned twice, the first board split"
    """
    made = past.set_aside(the_studio(context), number, because)
    console.show(f"'{escape(made.title)}' no longer teaches the forecasts")


@app.command()
def teach(context: typer.Context, number: Number) -> None:
    """Let a past job that was set aside teach the forecasts again.

    Examples:
      burnplan past teach 12
    """
    made = past.teach_again(the_studio(context), number)
    console.show(f"'{escape(made.title)}' teaches the forecasts again")


@app.command("import")
@answers
def import_(
    context: typer.Context,
    file: CsvFile,
    columns: Annotated[
        list[str] | None,
        typer.Option(
            "--columns",
            help="What columns are, like 'Finished=finished_on,Hours total=total_h,Notes=aside'.",
        ),
    ] = None,
    dry_run: Annotated[
        bool,
        typer.Option("--look", "--dry-run", help="Only show how it is understood; write nothing."),
    ] = False,
) -> "Answer[past_import.ImportView]":
    """Bring in past jobs from a table of your own: the rows that can be read.

    Save a spreadsheet as CSV. Its columns are shown as they are understood, by
    their headings and their cells; --columns says what cannot be told, by heading
    or by letter: title, finished_on, size, width, height, diameter, outline, species,
    prepare_h, transfer_h, burn_h, finish_h, total_h, price, darkness, texture, line_cm
    or aside; size:in, finished_on:day-first and total_h:min say how cells are meant.
    Title and size are needed. Rows that cannot be read are listed; the exit code is
    1 then, and 2 if no row can. 'past export' writes the program's own columns,
    which are exact:
    title,finished_on,width_mm,height_mm,outline,species,darkness,texture,line_cm,
    prepare_h,transfer_h,burn_h,finish_h,price,total_h,covers,covered.
    Darkness and texture are 0 to 1 as measured, or 1 to 5 by eye, written eye:3;
    texture eye:6 is a showpiece. A total covers the whole piece, or the stages named
    ('burn', 'transfer burn'). Covered is the share of the face that is burned, like 60%.

    Examples:
      burnplan past import jobs.csv --look
      burnplan past import jobs.csv
      burnplan past import jobs.csv --columns "Finished=finished_on,Toil=burn_h:min"
    """
    studio, told = the_studio(context), columns or []
    woods: dict[str, str] = {}
    if console.interactive():
        told, woods = _settled(context, file, told)
    seen = past_import.look(studio, file, told)
    drawn = [] if seen.own_form and not dry_run else [shown.table_look(seen)]
    if drawn and not dry_run and console.interactive():
        console.error_console().print(*drawn)
        if not asking.agreed("Is it meant so?", default=True):
            raise BadInput("Nothing was brought in", "Say what columns are with --columns")
        drawn = []
    report = past_import.bring_in(studio, file, told, woods=woods, dry_run=dry_run)
    if seen.own_form and report.ignored_columns and not dry_run:
        console.notice(f"Left aside, no columns of past jobs: {', '.join(report.ignored_columns)}")
    for note in report.notes:
        console.notice(note)
    some = report.added + report.known + report.twice > 0
    return Answer(
        report,
        lambda found: shown.import_report(found, *drawn),
        exit_code=0 if not report.faults else 1 if some else 2,
    )


def _settled(
    context: typer.Context, file: Path, told: list[str]
) -> tuple[list[str], dict[str, str]]:
    """Ask what could be two things, one after another; return what is told then."""
    the_settings(context)
    studio, told = the_studio(context), list(told)
    asked: set[str] = set()
    while doubt := next(
        (
            d
            for d in past_import.look(studio, file, told).doubts
            if d.choices and d.about not in asked
        ),
        None,
    ):
        asked.add(doubt.about)
        told.append(asking.choose(doubt.about, {one.words: one.told for one in doubt.choices}))
    woods = {}
    for wood, near in past_import.look(studio, file, told).woods.items():
        choices = {one: one for one in near} | {f"'{wood}', a wood of your own": wood}
        woods[wood] = asking.choose(f"Which wood '{wood}' is", choices)
    return told, woods


@app.command()
@writes_files
def export(context: typer.Context, file: CsvFile) -> None:
    """Write past and delivered jobs as a CSV file that 'past import' reads.

    Of delivered jobs the hours that teach your pace: of stages with no step open.

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
    return Answer(pace.trial(the_studio(context)), shown_pace.backtest_report)
