"""Letters to a client: as plain text for a mail, or as PDF."""

from collections.abc import Callable
from pathlib import Path
from typing import ParamSpec

import typer

from burnplan.files import make_folder
from burnplan.sheets.writing import Written
from burnplan.show import console

Letter = ParamSpec("Letter")


def hand_out(
    as_text: bool,
    path: Path,
    text: Callable[Letter, str],
    write: Callable[..., Written],
    *said: Letter.args,
    **details: Letter.kwargs,
) -> None:
    """Print a letter here, or write it; both ways take what it says, one the path after it."""
    if as_text:
        typer.echo(text(*said, **details))
        return
    make_folder(path.parent)
    console.show(f"Wrote {write(*said, path, **details).path}")
