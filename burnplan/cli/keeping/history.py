"""burnplan history: what was done."""

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import the_studio
from burnplan.cli.options import gathered_by, page
from burnplan.desk.keeping import undo
from burnplan.desk.studio import paging
from burnplan.show.keeping import history as shown


@answers
@gathered_by(page)
def command(context: typer.Context, page: "paging.ListPage") -> "Answer[list[undo.Happening]]":
    """Look back over what was done, newest first.

    Examples:
      burnplan history --page 2
    """
    studio = the_studio(context)
    found = undo.happenings(studio, page=page)
    return Answer(found, lambda done: shown.history_table(done, studio), page)
