"""burnplan jobs: review the open jobs."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import given_date, the_settings, the_studio
from burnplan.cli.naming import whole_client
from burnplan.cli.options import ending
from burnplan.cli.writing import writes_files
from burnplan.desk.jobs import review
from burnplan.reckon.stages import Stage
from burnplan.sheets import tables
from burnplan.show import console
from burnplan.show.jobs import review as shown

StageName = Literal[
    "enquiry",
    "inquiry",
    "priced",
    "booked",
    "prepared",
    "transferred",
    "burning",
    "finishing",
    "ready",
    "delivered",
    "dropped",
]

_SPELT = {"inquiry": "enquiry"}


@writes_files
@answers
def command(
    context: typer.Context,
    stage: Annotated[StageName | None, typer.Option(help="Only at this stage.")] = None,
    client: Annotated[
        str | None, typer.Option(help="Only of this client.", callback=whole_client)
    ] = None,
    due_from: Annotated[
        str | None, typer.Option(help="Only due on this day or later, like today.")
    ] = None,
    due_until: Annotated[
        str | None, typer.Option(help="Only due until this day, like 'in 2 weeks'.")
    ] = None,
    owed: Annotated[bool, typer.Option("--owed", help="Only with money owed.")] = False,
    csv: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE.csv",
            help="Write the jobs; the name ends in .csv.",
            callback=ending(".csv"),
        ),
    ] = None,
) -> "Answer[list[review.JobView]]":
    """Review the open jobs: what needs attention first, and what is next.

    Those delivered or dropped stay here while money is open.

    Examples:
      burnplan jobs
      burnplan jobs --stage burning --due-until "in 2 weeks"
      burnplan jobs --client Mara --owed --csv owed.csv
      burnplan jobs --json
    """
    studio = the_studio(context)
    only = review.JobFilter(
        stage=Stage(_SPELT.get(stage, stage)) if stage else None,
        client=client,
        due_from=given_date(context, due_from),
        due_until=given_date(context, due_until),
        owed=owed,
    )
    found = review.review(studio, only)
    if csv is not None:
        console.notice(f"Wrote {tables.write_jobs(found, csv).path}")
    if not found and only != review.JobFilter():
        none = "[soft]No open job is like that; see them all with: burnplan jobs[/]"
        return Answer(found, lambda _: none)
    return Answer(found, lambda jobs: shown.job_table(jobs, the_settings(context), studio.today()))
