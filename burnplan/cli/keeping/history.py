"""burnplan history: what was done."""

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import the_studio
from burnplan.cli.options import OneCommission, gathered_by, page
from burnplan.desk.keeping import undo
from burnplan.desk.studio import paging
from burnplan.show.keeping import history as shown


@answers
@gathered_by(page)
def command(
    context: typer.Context, page: "paging.ListPage", which: OneCommission = None
) -> "Answer[list[undo.Happening]]":
    """Look back over what was done, newest first.

    Examples:
      burnplan history --page 2
      burnplan history C-0007
    """
    studio = the_studio(context)
    found = undo.happenings(studio, which, page=page)
    return Answer(found, lambda done: shown.history_table(done, studio), page)
