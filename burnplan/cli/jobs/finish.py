"""burnplan finish: the coats of a piece, and when the next may go on."""

from enum import StrEnum
from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import the_settings, the_studio
from burnplan.cli.options import PdfFile, WhichCommission, group
from burnplan.cli.writing import say_notes, writes_files
from burnplan.desk.jobs import clients, commissions, finishing
from burnplan.sheets import reader as readers
from burnplan.sheets.money import letter_pdf
from burnplan.sheets.wood import care_card
from burnplan.show import console
from burnplan.show.jobs import finishing as shown
from burnplan.units import parse_duration
from burnplan.wood.finishes import USUAL_COATS

app = group()


@app.command()
def plan(
    context: typer.Context,
    which: WhichCommission,
    product: Annotated[str, typer.Argument(help="What the coats are of, as on the tin.")],
    dry: Annotated[str, typer.Option(help="Until dry, as the maker's label says: 8h.")],
    coats: Annotated[int, typer.Option(help="How many.")] = USUAL_COATS,
    next_: Annotated[
        str | None, typer.Option("--next", help="Until the next coat, as the label says: 24h.")
    ] = None,
) -> None:
    """Plan the coats of a piece; each becomes a step of its checklist.

    Examples:
      burnplan finish plan C-0007 "hard wax oil" --coats 2 --dry 8h --next 12h
    """
    studio = the_studio(context)
    made = finishing.plan(
        studio,
        which,
        product,
        coats=coats,
        dry=parse_duration(dry),
        next_coat=parse_duration(next_) if next_ else None,
    )
    console.show(shown.finish_card(made, studio))


@app.command("show")
@answers
def show_(context: typer.Context, which: WhichCommission) -> "Answer[finishing.FinishView]":
    """Show what finish a piece's use asks for, and when its next coat may go on.

    Examples:
      burnplan finish show C-0007
    """
    studio = the_studio(context)
    return Answer(finishing.show(studio, which), lambda found: shown.finish_card(found, studio))


class Form(StrEnum):
    """The form of a care card."""

    A6 = "a6"
    BUSINESS = "business"


@app.command()
@writes_files
def card(
    context: typer.Context,
    which: WhichCommission,
    file: PdfFile,
    form: Annotated[Form, typer.Option(help="A6, or a business card of two sides.")] = Form.A6,
) -> None:
    """Write the care card that goes with a piece: its wood and finish, and how to look after it.

    In the client's language where there is a translation.

    Examples:
      burnplan finish card C-0007 care.pdf
      burnplan finish card C-0007 care.pdf --form business
    """
    studio, own = the_studio(context), the_settings(context)
    job = commissions.show(studio, which)
    client = clients.named(studio, job.client)
    language = client.language if client else ""
    reader = readers.Reader.of(own, language, own.currency, letter_pdf.print_spelling)
    said = care_card.care(job, finishing.show(studio, job.code), own, reader)
    made = care_card.CardForm(form.value)
    written = care_card.write_care_card(said, made, file, reader.language)
    console.show(f"Wrote {written.path}")
    say_notes(written)
