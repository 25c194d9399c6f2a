"""burnplan jobs: review the open jobs."""

import typer

from burnplan.cli.common import (
    AsJson,
    AsSchema,
    print_json,
    print_schema,
    the_settings,
    the_studio,
)


def command(context: typer.Context, as_json: AsJson = False, as_schema: AsSchema = False) -> None:
    """Review the open jobs: what needs attention first, and what is next.

    Examples:

      burnplan jobs

      burnplan jobs --json
    """
    from burnplan.desk import jobs
    from burnplan.show.console import console, show
    from burnplan.show.work import job_table

    if as_schema:
        return print_schema(list[jobs.JobView])
    studio = the_studio(context)
    found = jobs.review(studio)
    if as_json:
        return print_json(found, list[jobs.JobView])
    return show(job_table(found, the_settings(context), studio.today(), console().width))
