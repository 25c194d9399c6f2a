"""burnplan undo and burnplan history: take the last thing back, or look back."""

import typer

from burnplan.cli.common import AsJson, AsSchema, PageNumber, Rows, answer_page, the_studio


def undo(context: typer.Context) -> None:
    """Take back the last thing done.

    Examples:

      burnplan undo
    """
    from rich.text import Text

    from burnplan.desk.keeping import undo as desk
    from burnplan.show.console import show

    show(Text(f"Undid: {desk.undo_last(the_studio(context)).summary}"))


def history(
    context: typer.Context,
    rows: Rows = 50,
    number: PageNumber = 1,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Look back over what was done, newest first.

    Examples:

      burnplan history --page 2
    """
    from burnplan.desk.keeping import undo as desk
    from burnplan.show.keeping.history import history_table

    studio = the_studio(context)
    return answer_page(
        desk.Happening,
        as_json,
        as_schema,
        (number, rows),
        lambda page: desk.happenings(studio, page=page),
        lambda found: history_table(found, studio),
    )
