"""burnplan backup: the book and its photos in one archive."""

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
    file: Annotated[
        Path,
        typer.Argument(
            metavar="[FILE]",
            help="A .zip archive, or a folder to put one in; the current one if not given.",
            show_default=False,
        ),
    ] = Path(),
) -> "Answer[backups.Packed]":
    """Write the book and its photos to one archive, whatever else is running.

    It holds your clients' data: only you can read it, keep it so. A backup is
    only one when it is on another disk.

    Templates of letters of your own are in it too.

    It fails, with exit code 1, where a photo is missing: what is there is written.

    The book is also copied by itself, each day it is used, into the folder
    'copies'; the photos are not.

    Examples:
      burnplan backup
      burnplan backup /media/stick/studio.zip --replace
      burnplan backup /srv/backups
    """
    studio = the_studio(context)
    target = file / backups.default_name(studio, "backup") if file.is_dir() else file
    with progress_bar() as progress:
        done = backups.back_up(studio, target, progress)
    return Answer(done, shown.packed, exit_code=1 if done.missing else 0)
