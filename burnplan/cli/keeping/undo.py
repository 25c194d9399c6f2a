"""burnplan undo: the last thing taken back."""

import typer
from rich.text import Text

from burnplan.cli.common import the_studio
from burnplan.desk.keeping import undo
from burnplan.show import console


def command(context: typer.Context) -> None:
    """Take back the last thing done.

    Examples:
      burnplan undo
    """
    console.show(Text(f"Undid: {undo.undo_last(the_studio(context)).summary}"))
