"""Letters to a client: as plain text for a mail, or as PDF."""

from pathlib import Path

import typer

from burnplan.cli.writing import say_notes
from burnplan.files import make_folder
from burnplan.sheets.money import letter as letters
from burnplan.show import console


def hand_out(letter: "letters.Twins", as_text: bool, path: Path) -> None:
    """Print a letter here, or write it."""
    if as_text:
        typer.echo(letter.text())
        return
    make_folder(path.parent)
    written = letter.write(path)
    console.show(f"Wrote {written.path}")
    say_notes(written)
