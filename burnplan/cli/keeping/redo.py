"""burnplan redo: what was undone, done again."""

import typer
from rich.text import Text

from burnplan.cli.common import the_studio
from burnplan.cli.keeping.undo import Anybody
from burnplan.desk.keeping import undo
from burnplan.show import console


def command(context: typer.Context, anybody: Anybody = False) -> None:
    """Do again what you undid last, if you did nothing else since.

    Examples:
      burnplan redo
    """
    done = undo.redo_last(the_studio(context), anybody=anybody)
    console.show(Text(f"Did again: {done.summary}"))
