"""burnplan export: everything in forms that any program can read."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import progress_bar, the_studio
from burnplan.cli.writing import writes_files
from burnplan.desk.keeping import backups
from burnplan.show.keeping import backups as shown


@writes_files
@answers
def command(
    context: typer.Context,
    into: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="A new folder, or a .zip archive.")
    ],
) -> "Answer[backups.Packed]":
    """Write everything in forms that any program can read: JSON, CSV and the photos.

    book.json has every row, the history too, and book.schema.json describes it
    (JSON Schema). The tables are CSV for spreadsheets. 'burnplan import' makes
    the same book of it again.

    Examples:
      burnplan export studio-2027
      burnplan export studio-2027.zip
    """
    with progress_bar() as progress:
        done = backups.export(the_studio(context), into, progress)
    return Answer(done, shown.packed, exit_code=1 if done.missing else 0)
