"""Letters to a client: as plain text for a mail, or as PDF."""

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from burnplan.files import make_folder
from burnplan.show import console

if TYPE_CHECKING:
    from burnplan.sheets.money.letter import Twins


def hand_out(letter: "Twins", as_text: bool, path: Path) -> None:
    """Print a letter here, or write it."""
    if as_text:
        typer.echo(letter.text())
        return
    make_folder(path.parent)
    console.show(f"Wrote {letter.write(path).path}")
