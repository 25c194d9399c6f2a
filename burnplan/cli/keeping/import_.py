"""burnplan import: the book that an export holds."""

from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import the_studio
from burnplan.cli.keeping.restore import Source, put_in_place
from burnplan.cli.options import Yes
from burnplan.desk.keeping import restoring


@answers
def command(
    context: typer.Context,
    file: Source,
    replace: Annotated[
        bool, typer.Option("--replace", help="Also if this book is not empty; it is kept aside.")
    ] = False,
    yes: Yes = False,
) -> "Answer[restoring.Restored]":
    """Make an empty book what an export holds, row for row.

    Examples:
      burnplan import studio-2027.zip
      burnplan import studio-2027 --replace
    """
    studio = the_studio(context)
    return put_in_place(
        context,
        lambda tell: restoring.of_export(studio, file, replace=replace, on_progress=tell),
        yes or not replace,
    )
