"""burnplan move-book: from a file to a shared server, and back."""

from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import progress_bar, the_settings, the_studio
from burnplan.desk.keeping import moving
from burnplan.errors import BadInput
from burnplan.show.keeping import moving as shown


@answers
def command(
    context: typer.Context,
    to: Annotated[
        str, typer.Option("--to", metavar="BOOK", help="Where to: a URL, a new file or a folder.")
    ] = "",
    source: Annotated[
        str, typer.Option("--from", metavar="BOOK", help="Where from, if not your own book.")
    ] = "",
) -> "Answer[moving.Moved]":
    """Copy the whole book to another place, such as a server that a studio shares.

    Every row is read back and compared. The book it came from is not changed,
    and photos stay where they are.

    Examples:
      burnplan move-book --to postgresql+psycopg://mara@studio.lan/burnplan
      burnplan move-book --from postgresql+psycopg://mara@studio.lan/burnplan --to home.db
    """
    if not to:
        raise BadInput("No place to move the book to is named", "Name one with --to")
    with progress_bar() as tell:
        found = moving.move_book(the_studio(context), to, source or None, on_progress=tell)
    return Answer(found, lambda moved: shown.moved_text(moved, the_settings(context)))
