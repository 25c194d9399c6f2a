"""burnplan restore: a backup takes the place of the book."""

from collections.abc import Callable
from contextlib import AbstractContextManager, ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.asking import sure
from burnplan.cli.common import progress_bar, the_studio
from burnplan.cli.options import Yes
from burnplan.desk.keeping import restoring
from burnplan.progress import Progress
from burnplan.show import console
from burnplan.show.keeping import restoring as shown

if TYPE_CHECKING:
    from rich.console import RenderableType

Source = Annotated[Path, typer.Argument(metavar="FILE", help="What to take it from.")]


@answers
def command(context: typer.Context, file: Source, yes: Yes = False) -> "Answer[restoring.Restored]":
    """Put a backup, or a copy from the folder 'copies', in the place of the book.

    It is verified first, down to each photo. The book here is kept aside, and
    if it has later changes you are told. Templates of letters that are here stay.

    Examples:
      burnplan restore burnplan-backup-2027-03-17-090000.zip
      burnplan restore copies/book-2027-03-16.db
    """
    studio = the_studio(context)
    return put_in_place(context, lambda tell: restoring.of_backup(studio, file, tell), yes)


def put_in_place(
    context: typer.Context,
    prepare: "Callable[[Progress], AbstractContextManager[restoring.Ready]]",
    yes: bool,
) -> "Answer[restoring.Restored]":
    """Verify, ask, and replace the book; where nobody is asked, say so if it was newer."""
    studio = the_studio(context)

    def told(done: "restoring.Restored") -> "RenderableType":
        if done.aside:
            console.notice(f"The book from before is kept at {done.aside}")
        return shown.restored(done, studio)

    with ExitStack() as until_done:
        with progress_bar() as progress:
            ready = until_done.enter_context(prepare(progress))
        for warning in shown.warnings(ready.about, studio):
            console.notice(warning)
        if ready.about.present is not None or ready.about.damaged:
            sure(shown.question(ready.about, studio), yes)
        with progress_bar() as progress:
            return Answer(ready.put_in_place(progress), told)
