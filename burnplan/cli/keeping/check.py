"""burnplan check: whether the book and its photos are whole."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import progress_bar, the_studio
from burnplan.desk.keeping import checking
from burnplan.show.keeping import checking as shown


@answers
def command(
    context: typer.Context,
    repair: Annotated[
        bool, typer.Option("--repair", help="Put right what is safe to put right.")
    ] = False,
    spare: Annotated[
        Path | None,
        typer.Option("--from", metavar="FILE", help="A backup to take missing photos from."),
    ] = None,
) -> "Answer[checking.Checked]":
    """Look whether the book and its photos are whole.

    Looked at are the file, each row and the rules for it, the hash of each photo,
    and what others could read. A repair removes what a stopped program left half
    written, makes files private, and takes missing photos from a backup. The exit
    code is 1 if something is wrong.

    Examples:
      burnplan check
      burnplan check --repair --from burnplan-backup-2027-03-17-090000.zip
    """
    with progress_bar() as tell:
        found = checking.check(the_studio(context), repair=repair, spare=spare, on_progress=tell)
    return Answer(found, shown.findings, exit_code=0 if found.sound else 1)
