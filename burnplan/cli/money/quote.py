"""burnplan quote: a price put to the client."""

from decimal import Decimal
from pathlib import Path
from typing import Annotated

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import (
    given_date,
    mind_wood,
    progress_bar,
    refuse_idle,
    the_settings,
    the_studio,
)
from burnplan.cli.money.letters import hand_out
from burnplan.cli.options import AsText, Into, WhichCommission, gathered_by, group
from burnplan.cli.writing import writes_files
from burnplan.desk.jobs import commissions
from burnplan.desk.money import accepting, proposals, quotes
from burnplan.files import make_folder
from burnplan.money import format_money, parse_number, typed_money
from burnplan.sheets.money import job_letters, proposal_files
from burnplan.show import console
from burnplan.show.money import quotes as shown
from burnplan.units import parse_hours

app = group()


def _mind_outdated(view: "quotes.QuoteView") -> None:
    """Say that a quote is of another size or wood than the piece has now."""
    if view.outdated:
        console.notice(f"{shown.OUTDATED}: burnplan quote issue {view.code}")


def _number(text: str, what: str) -> Decimal:
    return parse_number(text, what, least=0, most=2000)


def wanted(
    hours: Annotated[
        str | None, typer.Option(help="Hours as you judge them, where no reference was measured.")
    ] = None,
    sure: Annotated[
        str, typer.Option(help="The chance wanted of earning at least the hourly target, %.")
    ] = "80",
    packing: Annotated[str | None, typer.Option(help="Packing and delivery.")] = None,
    rush: Annotated[str, typer.Option(help="Rush, % of the work.")] = "0",
    margin: Annotated[str, typer.Option(help="Margin, % of everything.")] = "0",
    minimum: Annotated[str | None, typer.Option(help="The least to ask, before tax.")] = None,
    discount: Annotated[
        str | None, typer.Option(help="An amount taken off, before tax, or a share like 20%.")
    ] = None,
    because: Annotated[str, typer.Option("--because", help="Why there is a discount.")] = "",
    round_to: Annotated[
        str | None, typer.Option(help="Round the price up to a multiple of this.")
    ] = None,
    round_total: Annotated[
        bool,
        typer.Option(
            "--round-total/--round-net",
            help="What --round-to rounds: what the client pays, tax included, or the price before"
            " tax.",
        ),
    ] = True,
    price: Annotated[
        str | None,
        typer.Option(help="A price before tax you have in mind: how likely does it pay the hours?"),
    ] = None,
    along: Annotated[
        list[str] | None,
        typer.Option(
            "--instalment",
            "--installment",
            metavar="SHARE WHEN",
            help="A part due along the way, like '30% transferred': prepared, transferred or"
            " burned. May be given for each.",
        ),
    ] = None,
) -> "quotes.QuoteRequest":
    """Return what is wanted of a quote, of the options that draft and issue take."""
    return quotes.QuoteRequest(
        hours=None if hours is None else parse_hours(hours),
        sure=float(_number(sure, "--sure")) / 100,
        packing=packing,
        rush_percent=_number(rush, "--rush"),
        margin_percent=_number(margin, "--margin"),
        minimum=minimum,
        discount=discount,
        discount_reason=because,
        round_to=round_to,
        round_total=round_total,
        price=price,
        instalments=along or [],
    )


@app.command()
@answers
@gathered_by(wanted)
def draft(
    context: typer.Context, which: WhichCommission, wanted: "quotes.QuoteRequest"
) -> "Answer[quotes.QuoteView]":
    """Reckon a price without issuing it.

    Examples:
      burnplan quote draft C-0007
      burnplan quote draft C-0007 --sure 90 --packing 12 --round-to 5
      burnplan quote draft C-0007 --price 400
    """
    mind_wood(context, which)
    return _answer(context, quotes.draft(the_studio(context), which, wanted))


def _answer(context: typer.Context, found: "quotes.QuoteView") -> "Answer[quotes.QuoteView]":
    today = the_studio(context).today()
    return Answer(found, lambda view: shown.quote_card(view, the_settings(context), today))


@app.command()
@gathered_by(wanted)
def issue(
    context: typer.Context,
    which: WhichCommission,
    wanted: "quotes.QuoteRequest",
    note: Annotated[str, typer.Option(help="A note on the quote.")] = "",
    days: Annotated[int, typer.Option(help="How many days it is valid.")] = 30,
) -> None:
    """Issue a quote; it replaces an earlier one.

    Examples:
      burnplan quote issue C-0007 --round-to 5 --days 21
      burnplan quote issue C-0007 --discount 20 --because "second order"
      burnplan quote issue C-0007 --instalment "30% transferred"
    """
    studio = the_studio(context)
    wanted.note = note
    mind_wood(context, which)
    view = quotes.issue(studio, which, wanted, valid_days=days)
    console.show(shown.quote_card(view, the_settings(context), studio.today()))
    console.notice(f"When the client says yes: burnplan quote accept {view.code}")


@app.command()
def accept(
    context: typer.Context,
    which: WhichCommission,
    on: Annotated[str | None, typer.Option(help="The day of the yes, if not today.")] = None,
    size: Annotated[
        str | None,
        typer.Option(help="Which size of a proposal, by its letter or as 20x30cm."),
    ] = None,
) -> None:
    """Put on record that the client accepted the newest quote, or one size of a proposal.

    For one that is accepted, --on puts the day of the yes right.

    Examples:
      burnplan quote accept C-0007 --on yesterday
      burnplan quote accept C-0007 --size B
    """
    studio, locale = the_studio(context), the_settings(context).locale
    with progress_bar() as progress:
        view = accepting.accept(
            studio, which, given_date(context, on, past=True), size, on_progress=progress
        )
    console.show(f"Quote {view.version} for [code]{view.code}[/] is accepted")
    _mind_outdated(view)
    rest = view.deposit - commissions.show(studio, view.code).received
    if view.deposit and rest <= 0:
        console.notice("The deposit is in: it is booked")
    elif view.deposit:
        typed = typed_money(rest, view.currency, locale)
        rest_of = "the deposit" if rest == view.deposit else "the rest of the deposit"
        console.notice(
            f"It is booked once {rest_of}, {format_money(rest, view.currency, locale)}, is in: "
            f"burnplan payment add {view.code} {typed}"
        )


def _sizes(text: str | None) -> list[str]:
    return [one.strip() for one in (text or "").split(",") if one.strip()]


@app.command()
@writes_files
@gathered_by(wanted)
def proposal(
    context: typer.Context,
    which: WhichCommission,
    wanted: "quotes.QuoteRequest",
    into: Into = Path(),
    sizes: Annotated[
        str | None,
        typer.Option(help="Other sizes beside its own, up to two, like 20x25cm, 40x50cm."),
    ] = None,
    certain: Annotated[str, typer.Option(help="How sure the dates are to be, %.")] = "90",
    remark: Annotated[str, typer.Option(help="A sentence of your own for the client.")] = "",
    note: Annotated[str, typer.Option(help="A note on the quote, for yourself.")] = "",
    days: Annotated[int, typer.Option(help="How many days it is valid.")] = 30,
    again: Annotated[
        bool, typer.Option("--again", help="Write the newest one anew, as it was put on record.")
    ] = False,
) -> None:
    """Issue a quote with other sizes beside it, and write what the client looks at.

    A web page that needs nothing else, and the same as PDF: the picture on its wood, sizes in
    true relation, prices and dates. The client says yes to one size: burnplan quote accept
    --size.

    Examples:
      burnplan quote proposal C-0007 --into letters --sizes "20x25cm, 40x50cm"
      burnplan quote proposal C-0007 --round-to 5 --certain 95 --days 21
      burnplan quote proposal C-0007 --again --into letters
    """
    studio, own = the_studio(context), the_settings(context)
    if again:
        unsaid = {"context", "which", "into", "remark", "again", "replace"}
        named = (one.name or "" for one in context.command.params)
        refuse_idle(context, "beside --again", *(one for one in named if one not in unsaid))
        view = proposals.show(studio, which)
    else:
        wanted.note = note
        mind_wood(context, which)
        with progress_bar() as progress:
            view = proposals.issue(
                studio,
                which,
                wanted,
                sizes=_sizes(sizes),
                certainty=float(_number(certain, "--certain")) / 100,
                valid_days=days,
                on_progress=progress,
            )
        console.show(shown.proposal_table(view, own, studio.today()))
    make_folder(into)
    for written in proposal_files.write(studio, view, own, into, remark=remark):
        console.show(f"Wrote {written.path}")
        for said in written.notes:
            console.notice(said)
    if not again:
        accepting = f"burnplan quote accept {view.quote.code}"
        with_size = f"{accepting} --size {view.choices[0].letter}"
        console.notice(
            f"When the client says yes: {with_size if len(view.choices) > 1 else accepting}"
        )


@app.command("show")
@answers
def show_(context: typer.Context, which: WhichCommission) -> "Answer[quotes.QuoteView]":
    """Show the newest quote of a commission.

    Examples:
      burnplan quote show C-0007
    """
    return _answer(context, quotes.show(the_studio(context), which))


@app.command("list")
@answers
def list_(context: typer.Context, which: WhichCommission) -> "Answer[list[quotes.QuoteView]]":
    """List all versions of a commission's quote.

    Examples:
      burnplan quote list C-0007
    """
    studio, own = the_studio(context), the_settings(context)
    found = quotes.all_of(studio, which)
    return Answer(found, lambda versions: shown.quote_table(versions, own, studio.today()))


@app.command("print")
@writes_files
def print_(
    context: typer.Context,
    which: WhichCommission,
    into: Into = Path(),
    text: AsText = False,
    remark: Annotated[str, typer.Option(help="A sentence of your own for the client.")] = "",
) -> None:
    """Write the newest quote for the client, as PDF; no internal figures are in it.

    Examples:
      burnplan quote print C-0007 --into letters
      burnplan quote print C-0007 --text
    """
    studio, own = the_studio(context), the_settings(context)
    _mind_outdated(quotes.show(studio, which))
    letter, file = job_letters.quote(studio, which, own, remark=remark)
    hand_out(letter, text, into / file)
