"""burnplan payment: money received and given back."""

from pathlib import Path
from typing import Annotated, Any, Literal

import typer

from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import given_date, the_settings, the_studio
from burnplan.cli.money.letters import hand_out
from burnplan.cli.options import (
    AsText,
    Because,
    Into,
    NewNote,
    Note,
    On,
    OneCommission,
    WhichCommission,
    gathered_by,
    group,
    page,
)
from burnplan.cli.writing import writes_files
from burnplan.desk.jobs import commissions
from burnplan.desk.money import payments
from burnplan.desk.studio import paging
from burnplan.errors import BadInput
from burnplan.money import format_balance, format_money
from burnplan.sheets.money import job_letters
from burnplan.show import console
from burnplan.show.money import payments as shown

app = group()

Amount = Annotated[str, typer.Argument(help="In your locale's form, like 120 or 1,250.50.")]


def details(
    context: typer.Context,
    on: On = None,
    how: Annotated[str, typer.Option(help="Cash, transfer, card …")] = "",
    note: Note = "",
) -> dict[str, Any]:
    """Return what is known of money that changed hands, of the options that add and refund take."""
    return {"paid_on": given_date(context, on, past=True), "method": how, "note": note}


def _take(
    context: typer.Context,
    which: str,
    amount: str,
    kind: Literal["deposit", "payment", "refund"],
    details: dict[str, Any],
) -> "commissions.CommissionView":
    made = payments.take(the_studio(context), which, amount, kind, **details)
    locale = the_settings(context).locale
    taken = format_money(abs(made.amount), made.currency, locale)
    job = commissions.show(the_studio(context), made.code)
    rest = format_balance(made.balance, made.currency, locale)
    owed = f"{rest} owed" if made.balance >= 0 else rest
    if job.quoted is None and not job.dropped:
        owed = "no price is named yet"
    console.show(f"{kind.capitalize()} of {taken} for [code]{made.code}[/]; {owed}")
    return job


@app.command()
@gathered_by(details)
def add(
    context: typer.Context,
    which: WhichCommission,
    amount: Amount,
    deposit: Annotated[bool, typer.Option("--deposit", help="It is the deposit.")] = False,
    *,
    details: dict[str, Any],
) -> None:
    """Put a payment on record.

    Examples:
      burnplan payment add C-0007 120 --deposit --how transfer
    """
    _take(context, which, amount, "deposit" if deposit else "payment", details)


@app.command()
@gathered_by(details)
def refund(
    context: typer.Context, which: WhichCommission, amount: Amount, *, details: dict[str, Any]
) -> None:
    """Put money given back on record.

    Examples:
      burnplan payment refund C-0007 20 --note "paid twice"
    """
    job = _take(context, which, amount, "refund", details)
    if job.balance > 0:
        open_job = not (job.delivered_on or job.dropped)
        less = (
            f"burnplan quote issue {job.code} --price LESS"
            if open_job
            else f"burnplan payment write-off {job.code} --because WHY"
        )
        console.notice(f"What is to be paid stands as it was; if it is to be less: {less}")


@app.command()
def correct(
    context: typer.Context,
    number: Annotated[int, typer.Argument(help="The payment's number in the list.")],
    on: Annotated[str | None, typer.Option(help="The day it was made.")] = None,
    how: Annotated[str | None, typer.Option(help="Cash, transfer, card …")] = None,
    note: NewNote = None,
) -> None:
    """Put right when and how a payment was made.

    An amount stays as it was noted: put what is missing, or too much, on record with
    'payment add' or 'payment refund'.

    Examples:
      burnplan payment correct 12 --on friday --how transfer
    """
    if on is None and how is None and note is None:
        raise BadInput("Nothing is said that changes", "Give --on, --how or --note")
    studio, own = the_studio(context), the_settings(context)
    day = given_date(context, on, past=True)
    made = payments.correct(studio, number, paid_on=day, method=how, note=note)
    console.show(shown.payment_table([made], own, studio.today()))


@app.command("write-off")
def write_off(context: typer.Context, which: WhichCommission, because: Because) -> None:
    """Give up what is still owed of a commission that is delivered or dropped.

    Examples:
      burnplan payment write-off C-0007 --because "moved away without a word"
    """
    made = payments.write_off(the_studio(context), which, because)
    console.show(f"What was owed for [code]{made.code}[/] is written off")


@app.command("list")
@answers
@gathered_by(page)
def list_(
    context: typer.Context, which: OneCommission = None, *, page: "paging.ListPage"
) -> "Answer[list[payments.PaymentView]]":
    """List payments, oldest first.

    Examples:
      burnplan payment list
    """
    studio, own = the_studio(context), the_settings(context)
    found = payments.all_of(studio, which, page)
    return Answer(found, lambda paid: shown.payment_table(paid, own, studio.today()), page)


@app.command()
@writes_files
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
    studio, own = the_studio(context), the_settings(context)
    letter, file = job_letters.invoice(studio, which, own, due=given_date(context, due))
    hand_out(letter, text, into / file)


@app.command()
@writes_files
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
    studio, own = the_studio(context), the_settings(context)
    letter, file = job_letters.receipt(studio, number, own)
    hand_out(letter, text, into / file)
