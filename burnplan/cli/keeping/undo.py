"""burnplan undo: one's own last action taken back."""

from typing import Annotated

import typer
from rich.text import Text

from burnplan.cli.common import the_studio
from burnplan.desk.keeping import undo
from burnplan.show import console

Anybody = Annotated[
    bool, typer.Option("--anybody", help="Whoever did it, not only what you did yourself.")
]


def command(context: typer.Context, anybody: Anybody = False) -> None:
    """Take back the last thing you did; says so where somebody else did something since.

    Examples:
      burnplan undo
      burnplan undo --anybody
    """
    taken = undo.undo_last(the_studio(context), anybody=anybody)
    console.show(Text(f"Undid: {taken.summary}"))
