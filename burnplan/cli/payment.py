"""burnplan payment: money received and given back."""

from typing import Annotated, Literal

import typer

from burnplan.cli.common import (
    AsJson,
    AsSchema,
    WhichCommission,
    given_date,
    group,
    print_json,
    print_schema,
    the_settings,
    the_studio,
)

app = group("Payments: money received and given back.")

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
    from burnplan.desk import payments
    from burnplan.money import format_money
    from burnplan.show.console import show

    day = given_date(context, on)
    made = payments.take(
        the_studio(context), which, amount, kind, paid_on=day, method=how, note=note
    )
    locale = the_settings(context).locale
    shown = format_money(abs(made.amount), made.currency, locale)
    owed = format_money(made.balance, made.currency, locale)
    show(f"{kind.capitalize()} of {shown} for [code]{made.code}[/]; {owed} owed")


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
        str | None, typer.Argument(metavar="[COMMISSION]", help="Of one commission only.")
    ] = None,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """List payments, oldest first.

    Examples:

      burnplan payment list
    """
    from burnplan.desk import payments
    from burnplan.show.console import show
    from burnplan.show.reckoned import payment_table

    if as_schema:
        return print_schema(list[payments.PaymentView])
    found = payments.all_of(the_studio(context), which)
    if as_json:
        return print_json(found, list[payments.PaymentView])
    return show(payment_table(found, the_settings(context)))
