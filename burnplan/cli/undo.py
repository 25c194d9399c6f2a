"""burnplan undo and burnplan history: take the last thing back, or look back."""

from typing import Annotated

import typer

from burnplan.cli.common import AsJson, AsSchema, answer, the_studio


def undo(context: typer.Context) -> None:
    """Take back the last thing done.

    Examples:

      burnplan undo
    """
    from rich.text import Text

    from burnplan.desk import undo as desk
    from burnplan.show.console import show

    show(Text(f"Undid: {desk.undo_last(the_studio(context)).summary}"))


def history(
    context: typer.Context,
    limit: Annotated[int, typer.Option(help="How many at most.", min=1, max=10_000)] = 20,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Look back over what was done, newest first.

    Examples:

      burnplan history --limit 50
    """
    from burnplan.desk import undo as desk
    from burnplan.show.history import history_table

    studio = the_studio(context)
    return answer(
        list[desk.Happening],
        as_json,
        as_schema,
        lambda: desk.happenings(studio, limit=limit),
        lambda found: history_table(found, studio),
    )
