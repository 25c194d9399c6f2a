"""burnplan jobs: review the open jobs."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from burnplan.cli.common import (
    AsJson,
    AsSchema,
    given_date,
    print_json,
    print_schema,
    the_settings,
    the_studio,
)

StageName = Literal[
    "enquiry", "priced", "booked", "prepared", "transferred", "burning", "finishing", "ready"
]


def command(
    context: typer.Context,
    stage: Annotated[StageName | None, typer.Option(help="Only at this stage.")] = None,
    client: Annotated[str | None, typer.Option(help="Only of this client.")] = None,
    due_from: Annotated[
        str | None, typer.Option(help="Only due on this day or later, like today.")
    ] = None,
    due_until: Annotated[
        str | None, typer.Option(help="Only due until this day, like 'in 2 weeks'.")
    ] = None,
    owed: Annotated[bool, typer.Option("--owed", help="Only with money owed.")] = False,
    csv: Annotated[
        Path | None, typer.Option(metavar="FILE.csv", help="Write the jobs; the name ends in .csv.")
    ] = None,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Review the open jobs: what needs attention first, and what is next.

    Examples:

      burnplan jobs

      burnplan jobs --stage burning --due-until "in 2 weeks"

      burnplan jobs --client Mara --owed --csv owed.csv

      burnplan jobs --json
    """
    from burnplan.desk.jobs import review
    from burnplan.reckon.stages import Stage
    from burnplan.show.console import notice, show
    from burnplan.show.jobs.review import job_table

    if as_schema:
        return print_schema(list[review.JobView])
    studio = the_studio(context)
    only = review.JobFilter(
        stage=Stage(stage) if stage else None,
        client=client,
        due_from=given_date(context, due_from),
        due_until=given_date(context, due_until),
        owed=owed,
    )
    if csv is not None:
        from burnplan.sheets.writing import check_ending

        check_ending(csv, ".csv")
    found = review.review(studio, only)
    if csv is not None:
        from burnplan.sheets.tables import write_jobs

        written = write_jobs(found, csv)
        notice(f"Wrote {written.path}")
    if as_json:
        return print_json(found, list[review.JobView])
    if not found and only != review.JobFilter():
        return show("[soft]No open job is like that; see them all with: burnplan jobs[/]")
    return show(job_table(found, the_settings(context), studio.today()))
