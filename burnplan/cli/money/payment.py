"""burnplan payment: money received and given back."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from burnplan.cli import completion
from burnplan.cli.common import (
    AsJson,
    AsSchema,
    AsText,
    Into,
    PageNumber,
    Rows,
    WhichCommission,
    answer_page,
    given_date,
    group,
    the_settings,
    the_studio,
)
from burnplan.files import make_folder

app = group()

Amount = Annotated[str, typer.Argument(help="In your locale's form, like 120 or 1,250.50.")]
On = Annotated[str | None, typer.Option(help="The day, if not today.")]
How = Annotated[str, typer.Option(help="Cash, transfer, card …")]
Note = Annotated[str, typer.Option(help="Anything worth remembering.")]


def _take(
    context: typer.Context,
    which: str,
    amount: str,
    kind: Literal["deposit", "payment", "refund"],
    on: str | None,
    how: str,
    note: str,
) -> None:
    from burnplan.desk.money import payments
    from burnplan.money import format_balance, format_money
    from burnplan.show.console import show

    day = given_date(context, on)
    made = payments.take(
        the_studio(context), which, amount, kind, paid_on=day, method=how, note=note
    )
    locale = the_settings(context).locale
    shown = format_money(abs(made.amount), made.currency, locale)
    rest = format_balance(made.balance, made.currency, locale)
    owed = f"{rest} owed" if made.balance >= 0 else rest
    show(f"{kind.capitalize()} of {shown} for [code]{made.code}[/]; {owed}")


@app.command()
def add(
    context: typer.Context,
    which: WhichCommission,
    amount: Amount,
    deposit: Annotated[bool, typer.Option("--deposit", help="It is the deposit.")] = False,
    on: On = None,
    how: How = "",
    note: Note = "",
) -> None:
    """Put a payment on record.

    Examples:

      burnplan payment add C-0007 120 --deposit --how transfer
    """
    _take(context, which, amount, "deposit" if deposit else "payment", on, how, note)


@app.command()
def refund(
    context: typer.Context,
    which: WhichCommission,
    amount: Amount,
    on: On = None,
    how: How = "",
    note: Note = "",
) -> None:
    """Put money given back on record.

    Examples:

      burnplan payment refund C-0007 20 --note "late by a week"
    """
    _take(context, which, amount, "refund", on, how, note)


@app.command("list")
def list_(
    context: typer.Context,
    which: Annotated[
        str | None,
        typer.Argument(
            metavar="[COMMISSION]",
            help="Of one commission only.",
            autocompletion=completion.commissions,
        ),
    ] = None,
    rows: Rows = 50,
    number: PageNumber = 1,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """List payments, oldest first.

    Examples:

      burnplan payment list
    """
    from burnplan.desk.money import payments
    from burnplan.show.money.reckoned import payment_table

    return answer_page(
        payments.PaymentView,
        as_json,
        as_schema,
        (number, rows),
        lambda page: payments.all_of(the_studio(context), which, page),
        lambda found: payment_table(found, the_settings(context)),
    )


@app.command()
def invoice(
    context: typer.Context,
    which: WhichCommission,
    into: Into = Path(),
    due: Annotated[
        str | None, typer.Option(help="When it is to be paid, like 'in 2 weeks'.")
    ] = None,
    text: AsText = False,
) -> None:
    """Write the invoice of the quote that holds, with what has been paid, as PDF.

    Examples:

      burnplan payment invoice C-0007 --due "in 2 weeks"
    """
    from burnplan.desk.jobs import clients, commissions
    from burnplan.desk.money import payments, quotes
    from burnplan.sheets.money.invoice_sheet import invoice_text, write_invoice
    from burnplan.show.console import show

    studio, own = the_studio(context), the_settings(context)
    piece = commissions.show(studio, which)
    view, paid = quotes.agreed(studio, piece.code), payments.all_of(studio, piece.code)
    client = clients.named(studio, piece.client)
    today, day = studio.today(), given_date(context, due)
    letterhead = {"sender": own.address, "pay_to": own.pay_to}
    if text:
        typer.echo(invoice_text(view, paid, piece, client, own, on=today, due=day, **letterhead))
        return
    make_folder(into)
    path = into / f"{piece.code}-invoice.pdf"
    made = write_invoice(view, paid, piece, client, own, path, on=today, due=day, **letterhead)
    show(f"Wrote {made.path}")


@app.command()
def receipt(
    context: typer.Context,
    number: Annotated[int, typer.Argument(help="The payment's number in the list.")],
    into: Into = Path(),
    text: AsText = False,
) -> None:
    """Write the receipt of a payment or refund, as PDF.

    Examples:

      burnplan payment receipt 12
    """
    from burnplan.desk.jobs import clients, commissions
    from burnplan.desk.money import payments, quotes
    from burnplan.sheets.money.invoice_sheet import receipt_text, write_receipt
    from burnplan.show.console import show

    studio, own = the_studio(context), the_settings(context)
    payment = payments.show(studio, number)
    piece, paid = commissions.show(studio, payment.code), payments.all_of(studio, payment.code)
    view = quotes.agreed(studio, piece.code) if piece.quoted is not None else None
    client = clients.named(studio, piece.client)
    if text:
        typer.echo(receipt_text(payment, paid, view, piece, client, own, sender=own.address))
        return
    make_folder(into)
    path = into / f"{piece.code}-receipt-{payment.number}.pdf"
    made = write_receipt(payment, paid, view, piece, client, own, path, sender=own.address)
    show(f"Wrote {made.path}")
