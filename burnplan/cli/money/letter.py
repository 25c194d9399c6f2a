"""burnplan letter: words to a client, ready to send."""

from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli import editing
from burnplan.cli.common import given_date, the_settings, the_studio
from burnplan.cli.options import WhichCommission
from burnplan.cli.writing import writes_files
from burnplan.desk.money import letter_facts
from burnplan.files import make_folder
from burnplan.letter_kinds import LetterKind
from burnplan.sheets.money import client_letters
from burnplan.show import console


@writes_files
def command(
    context: typer.Context,
    kind: Annotated[LetterKind, typer.Argument(help="What it is for.", metavar="KIND")],
    which: WhichCommission,
    edit: Annotated[
        bool, typer.Option("--edit", help="Open it in your editor (EDITOR) first.")
    ] = False,
    into: Annotated[
        Path | None,
        typer.Option(help="Write it into this folder, as text and HTML, rather than here."),
    ] = None,
    because: Annotated[
        str, typer.Option("--because", help="Words of your own: what is wrong, why it is late.")
    ] = "",
    lettering: Annotated[
        str, typer.Option(help="What is to be burned in letters, if it is not on record yet.")
    ] = "",
    until: Annotated[
        str | None, typer.Option(help="The new date, if not the one that holds at 90 %.")
    ] = None,
    template: Annotated[
        bool, typer.Option("--template", help="Show the template, to make one of your own of it.")
    ] = False,
) -> None:
    """Write a letter to a client in words, filled from the book, in their language.

    KIND is photos (better ones wanted), proposal, order (confirmed, with the lettering to check),
    deposit (received), progress, delay (a new date), ready, balance (a reminder) or thanks. A
    template of your own in the folder words/letters of burnplan's home comes before the
    program's: ready.txt, or ready.de.txt for one language.

    Examples:
      burnplan letter ready C-0007
      burnplan letter order C-0007 --lettering "Mara & Tobias, 12 June 2027" --edit
      burnplan letter delay C-0007 --because "The board has split." --into letters
      burnplan letter thanks C-0007 --template
    """
    studio, own = the_studio(context), the_settings(context)
    facts = letter_facts.gather(studio, which, kind)
    reader = client_letters.reader_of(facts, own)
    if template:
        typer.echo(client_letters.template(kind, reader.language, studio.home)[0])
        return
    letter = client_letters.letter_of(
        studio, kind, facts, own,
        because=because, lettering=lettering, new_date=given_date(context, until),
    )  # fmt: skip
    if edit:
        left = editing.edited(letter.text(), f"{kind.value}.txt")
        letter = client_letters.letter_of_text(left, reader, letter.about)
    if into is None:
        typer.echo(letter.text(), nl=False)
        return
    make_folder(into)
    for written in client_letters.write(letter, into, f"{facts.piece.code}-{kind.value}"):
        console.show(f"Wrote {written.path}")
