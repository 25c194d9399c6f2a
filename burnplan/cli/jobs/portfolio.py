"""burnplan portfolio: pieces handed over, shown to others where their clients agree."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from burnplan.cli import completion
from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import given_date, the_settings, the_studio
from burnplan.cli.options import Into, WhichCommission, gathered_by, group, page
from burnplan.cli.writing import say_notes, writes_files
from burnplan.desk.jobs import consents, portfolio
from burnplan.desk.studio import paging
from burnplan.errors import BadInput
from burnplan.files import make_folder
from burnplan.sheets.jobs import portfolio as sheet
from burnplan.sheets.jobs import portfolio_files
from burnplan.show import console
from burnplan.show.jobs import portfolio as shown

app = group()


@app.command("list")
@answers
@gathered_by(page)
def list_(
    context: typer.Context, *, page: "paging.ListPage"
) -> "Answer[list[portfolio.PortfolioPiece]]":
    """List the pieces handed over, newest first: which are shown, and why others are not.

    Examples:
      burnplan portfolio list
    """
    studio = the_studio(context)
    found = portfolio.pieces(studio, page)
    own = the_settings(context)
    return Answer(found, lambda them: shown.portfolio_table(them, own, studio.today()), page)


@app.command()
def consent(
    context: typer.Context,
    which: WhichCommission,
    answer: Annotated[
        Literal["yes", "no", "not-asked"],
        typer.Argument(help="What was said; not-asked takes what is on record off again."),
    ],
    how: Annotated[
        str | None, typer.Option(help="How it was said, like 'in a mail'; a yes needs it.")
    ] = None,
    by: Annotated[str | None, typer.Option(help="Who said it, if not the client.")] = None,
    on: Annotated[str | None, typer.Option(help="The day it was said, if not today.")] = None,
    with_name: Annotated[
        bool | None,
        typer.Option(
            "--with-name/--without-name",
            help="Whether the client may be named beside it; not, where nothing is said.",
            show_default=False,
        ),
    ] = None,
    shown_as: Annotated[
        str | None, typer.Option(help="What it is called there, if not by its title; '' for that.")
    ] = None,
) -> None:
    """Note what a client said of showing their piece to others. Nothing is shown without a yes.

    Examples:
      burnplan portfolio consent C-0007 yes --how "in a mail"
      burnplan portfolio consent C-0007 yes --how "by word of mouth" --on yesterday --with-name
      burnplan portfolio consent C-0007 yes --how "on the order" --shown-as "A dog asleep"
      burnplan portfolio consent C-0007 no
      burnplan portfolio consent C-0007 not-asked
    """
    studio = the_studio(context)
    given = consents.ConsentGiven(
        answer="not asked" if answer == "not-asked" else answer,
        said_by=by,
        said_on=given_date(context, on, past=True),
        how=how,
        with_name=with_name,
        shown_as=shown_as,
    )
    made = consents.note(studio, which, given)
    console.show(shown.consent_line(made, studio.today()))


@app.command()
def choose(
    context: typer.Context,
    which: WhichCommission,
    numbers: Annotated[
        list[int] | None, typer.Argument(metavar="PHOTO...", help="Their numbers in the list.")
    ] = None,
    newest: Annotated[
        bool, typer.Option("--newest", help="The newest photo again, whichever that is.")
    ] = False,
) -> None:
    """Choose which photos of a piece are shown, up to three; else it is the newest.

    Examples:
      burnplan portfolio choose C-0007 12 14
      burnplan portfolio choose C-0007 --newest
    """
    if bool(numbers) == newest:
        raise BadInput("It is not said which photos", "Give their numbers, or --newest")
    portfolio.choose(the_studio(context), which, numbers or [])
    console.show("The newest photo shows it" if newest else "These photos show it")


@app.command()
@writes_files
def write(
    context: typer.Context,
    which: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[COMMISSION]...",
            help="Which pieces, in this order; all that may be shown if none is named.",
            autocompletion=completion.commissions,
        ),
    ] = None,
    into: Into = Path(),
    hours: Annotated[bool, typer.Option("--hours", help="With the hours each took.")] = False,
    price: Annotated[bool, typer.Option("--price", help="With what each cost.")] = False,
    heading: Annotated[str, typer.Option(help="What stands above it.")] = "",
    remark: Annotated[str, typer.Option(help="A sentence of your own below that.")] = "",
    language: Annotated[
        str, typer.Option(help="What its readers read, like de; your own if not said.")
    ] = "",
) -> None:
    """Write the portfolio: a web page that needs nothing else, and a contact sheet as PDF.

    Pieces handed over whose clients said yes, each with its photos, size and wood. No client is
    named who did not agree to that; hours and prices only where asked for.

    Examples:
      burnplan portfolio write --into portfolio
      burnplan portfolio write C-0007 C-0003 --heading "Dogs and cats" --price
      burnplan portfolio write --language de --hours
    """
    studio, own = the_studio(context), the_settings(context)
    pieces = portfolio.shown(studio, which or [])
    wanted = sheet.PortfolioWanted(
        heading=heading, remark=remark, language=language, hours=hours, price=price
    )
    make_folder(into)
    for written in portfolio_files.write(studio, pieces, own, wanted, into):
        console.show(f"Wrote {written.path}")
        say_notes(written)
