"""burnplan quote: a price put to the client."""

from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from burnplan.cli.common import (
    AsJson,
    AsSchema,
    AsText,
    Into,
    WhichCommission,
    answer,
    given_date,
    group,
    the_settings,
    the_studio,
)
from burnplan.cli.options import gathered_by
from burnplan.files import make_folder

if TYPE_CHECKING:
    from burnplan.desk.money.quotes import QuoteRequest

app = group()

Hours = Annotated[
    str | None, typer.Option(help="Hours as you judge them, where no reference was measured.")
]
Sure = Annotated[
    str, typer.Option(help="The chance wanted of earning at least the hourly target, %.")
]
Packing = Annotated[str | None, typer.Option(help="Packing and delivery.")]
Rush = Annotated[str, typer.Option(help="Rush, % of the work.")]
Margin = Annotated[str, typer.Option(help="Margin, % of everything.")]
Minimum = Annotated[str | None, typer.Option(help="The least to ask, before tax.")]
Discount = Annotated[str | None, typer.Option(help="An amount taken off, before tax.")]
Because = Annotated[str, typer.Option("--because", help="Why there is a discount.")]
RoundTo = Annotated[str | None, typer.Option(help="Round the price up to a multiple of this.")]
RoundTotal = Annotated[
    bool,
    typer.Option(
        "--round-total/--round-net",
        help="What --round-to rounds: what the client pays, tax included, or the price before tax.",
    ),
]
Along = Annotated[
    list[str] | None,
    typer.Option(
        "--instalment",
        metavar="SHARE WHEN",
        help="A part due along the way, like '30% transferred': prepared, transferred or burned."
        " May be given for each.",
    ),
]
Price = Annotated[
    str | None,
    typer.Option(help="A price before tax you have in mind: how likely does it pay the hours?"),
]
Note = Annotated[str, typer.Option(help="A note on the quote.")]
Days = Annotated[int, typer.Option(help="How many days it is valid.")]


def _number(text: str, what: str) -> Decimal:
    from burnplan.money import parse_number

    return parse_number(text, what, least=0, most=2000)


def _wanted(
    hours: Hours = None,
    sure: Sure = "80",
    packing: Packing = None,
    rush: Rush = "0",
    margin: Margin = "0",
    minimum: Minimum = None,
    discount: Discount = None,
    because: Because = "",
    round_to: RoundTo = None,
    round_total: RoundTotal = True,
    price: Price = None,
    along: Along = None,
) -> "QuoteRequest":
    """Return what is wanted of a quote, of the options that draft and issue take."""
    from burnplan.desk.money.quotes import QuoteRequest
    from burnplan.errors import BadInput

    judged = None if hours is None else float(_number(hours.strip().removesuffix("h"), "--hours"))
    if judged == 0:
        raise BadInput("No work takes no hours", "Give the hours, for example --hours 12")
    return QuoteRequest(
        hours=judged,
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
@gathered_by(_wanted)
def draft(
    context: typer.Context,
    which: WhichCommission,
    wanted: "QuoteRequest",
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Reckon a price without issuing it.

    Examples:

      burnplan quote draft C-0007

      burnplan quote draft C-0007 --sure 90 --packing 12 --round-to 5

      burnplan quote draft C-0007 --price 400
    """
    from burnplan.desk.money import quotes
    from burnplan.show.money.reckoned import quote_card

    studio = the_studio(context)
    return answer(
        quotes.QuoteView,
        as_json,
        as_schema,
        lambda: quotes.draft(studio, which, wanted),
        lambda view: quote_card(view, the_settings(context), studio.today()),
    )


@app.command()
@gathered_by(_wanted)
def issue(
    context: typer.Context,
    which: WhichCommission,
    wanted: "QuoteRequest",
    note: Note = "",
    days: Days = 30,
) -> None:
    """Issue a quote; it replaces an earlier one.

    Examples:

      burnplan quote issue C-0007 --round-to 5 --days 21

      burnplan quote issue C-0007 --discount 20 --because "second order"

      burnplan quote issue C-0007 --instalment "30% transferred"
    """
    from burnplan.desk.money import quotes
    from burnplan.show.console import notice, show
    from burnplan.show.money.reckoned import quote_card

    studio = the_studio(context)
    wanted.note = note
    view = quotes.issue(studio, which, wanted, valid_days=days)
    show(quote_card(view, the_settings(context), studio.today()))
    notice(f"When the client says yes: burnplan quote accept {view.code}")


@app.command()
def accept(
    context: typer.Context,
    which: WhichCommission,
    on: Annotated[str | None, typer.Option(help="The day of the yes, if not today.")] = None,
) -> None:
    """Put on record that the client accepted the newest quote.

    Examples:

      burnplan quote accept C-0007 --on yesterday
    """
    from burnplan.desk.jobs import commissions
    from burnplan.desk.money import quotes
    from burnplan.money import format_money, typed_money
    from burnplan.show.console import notice, show

    studio, locale = the_studio(context), the_settings(context).locale
    view = quotes.accept(studio, which, given_date(context, on))
    show(f"Quote {view.version} for [code]{view.code}[/] is accepted")
    rest = view.deposit - commissions.show(studio, view.code).received
    if view.deposit and rest <= 0:
        notice("The deposit is in: it is booked")
    elif view.deposit:
        typed = typed_money(rest, view.currency, locale)
        rest_of = "the deposit" if rest == view.deposit else "the rest of the deposit"
        notice(
            f"It is booked once {rest_of}, {format_money(rest, view.currency, locale)}, is in: "
            f"burnplan payment add {view.code} {typed}"
        )


@app.command("show")
def show_(
    context: typer.Context,
    which: WhichCommission,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Show the newest quote of a commission.

    Examples:

      burnplan quote show C-0007
    """
    from burnplan.desk.money import quotes
    from burnplan.show.money.reckoned import quote_card

    studio = the_studio(context)
    return answer(
        quotes.QuoteView,
        as_json,
        as_schema,
        lambda: quotes.show(studio, which),
        lambda view: quote_card(view, the_settings(context), studio.today()),
    )


@app.command("list")
def list_(
    context: typer.Context,
    which: WhichCommission,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """List all versions of a commission's quote.

    Examples:

      burnplan quote list C-0007
    """
    from burnplan.desk.money import quotes
    from burnplan.show.money.reckoned import quote_table

    return answer(
        list[quotes.QuoteView],
        as_json,
        as_schema,
        lambda: quotes.all_of(the_studio(context), which),
        lambda found: quote_table(found, the_settings(context)),
    )


@app.command("print")
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
    from burnplan.desk.jobs import clients, commissions
    from burnplan.desk.money import quotes
    from burnplan.sheets.money.quote_sheet import quote_text, write_quote
    from burnplan.show.console import show

    studio, own = the_studio(context), the_settings(context)
    view = quotes.show(studio, which)
    piece = commissions.show(studio, view.code)
    client = clients.named(studio, piece.client)
    if text:
        typer.echo(quote_text(view, piece, client, own, sender=own.address, remark=remark))
        return
    make_folder(into)
    path = into / f"{view.code}-quote-{view.version}.pdf"
    made = write_quote(view, piece, client, own, path, sender=own.address, remark=remark)
    show(f"Wrote {made.path}")
