"""Payments: deposits, payments and refunds; an amount is corrected by a further row."""

from datetime import date
from decimal import Decimal
from typing import Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned, cleaned_line, cleaned_note
from burnplan.codes import commission_code
from burnplan.dates import that_was
from burnplan.desk.derived import studio_settings
from burnplan.desk.derived.balances import balance, currency_of, received
from burnplan.desk.jobs import commissions
from burnplan.desk.jobs.commissions import CommissionView
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.paging import ALL, ListPage
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.ledger.models import Payment
from burnplan.money import format_money, parse_money
from burnplan.sentences import Do
from burnplan.view import View

Kind = Literal["deposit", "payment", "refund"]


class PaymentView(View):
    """A payment, as shown; a refund is below zero."""

    number: int
    code: str
    title: str
    kind: Kind
    amount: Decimal
    currency: str
    paid_on: date
    method: str
    note: str
    balance: Decimal


def _view(payment: Payment) -> PaymentView:
    commission = payment.commission
    return PaymentView.of(
        payment,
        number=payment.id,
        code=commission_code(commission.id),
        title=commission.title,
        balance=balance(commission),
    )


def take(
    studio: Studio,
    which: str,
    amount: str,
    kind: Kind,
    *,
    paid_on: date | None = None,
    method: str = "",
    note: str = "",
) -> PaymentView:
    """Put a payment or a refund on record.

    Parameters
    ----------
    studio : Studio
    which : str
        The commission.
    amount : str
        In the locale's form, above zero for a refund too.
    kind : str
    paid_on : date, optional
        Today if not given.
    method, note : str

    Raises
    ------
    BadInput
        If the amount or the date makes no sense.
    NotAllowed
        If more is refunded than was received.
    """
    with studio.writing(f"payment.{kind}") as (book, entry):
        own = studio_settings.of_book(book)
        commission = find_commission(book, which)
        currency = currency_of(commission, own.currency)
        value = parse_money(amount, currency, own.locale)
        if not value:
            raise BadInput("A payment of nothing is none", "Give the amount received")
        day = _day_paid(studio, paid_on or studio.today())
        if kind == "refund":
            if value > received(commission):
                held = format_money(received(commission), currency, own.locale)
                raise NotAllowed(f"Only {held} was received", "Refund at most that")
            value = -value
        payment = Payment(
            commission=commission,
            kind=kind,
            amount=value,
            currency=currency,
            paid_on=day,
            method=_method(method),
            note=cleaned_note(note),
        )
        book.add(payment)
        book.flush()
        shown = format_money(abs(value), currency, own.locale)
        entry.says(f"{kind.capitalize()} of {shown} for '{commission.title}'", commission.id)
        return _view(payment)


def correct(
    studio: Studio,
    number: int,
    *,
    paid_on: date | None = None,
    method: str | None = None,
    note: str | None = None,
) -> PaymentView:
    """Put right when and how a payment was made; its amount stays.

    Raises
    ------
    BadInput
        If that day is still to come.
    NotFound
        If there is none of that number.
    """
    with studio.writing("payment.correct") as (book, entry):
        payment = _find(book, number)
        if paid_on is not None:
            payment.paid_on = _day_paid(studio, paid_on)
        if method is not None:
            payment.method = _method(method)
        if note is not None:
            payment.note = cleaned_note(note)
        commission = payment.commission
        entry.says(f"Changed payment {number} for '{commission.title}'", commission.id)
        return _view(payment)


def _day_paid(studio: Studio, day: date) -> date:
    return that_was(day, studio.today(), "Give the day it was paid")


def _method(text: str) -> str:
    return cleaned_line(text)[:60]


def _find(book: Session, number: int) -> Payment:
    payment = book.get(Payment, number)
    if payment is None:
        raise NotFound(f"There is no payment {number}", "See ", Do("payment.list"))
    return payment


def show(studio: Studio, number: int) -> PaymentView:
    """Return one payment.

    Raises
    ------
    NotFound
        If there is none of that number.
    """
    with studio.reading() as book:
        return _view(_find(book, number))


def all_of(studio: Studio, which: str | None, page: ListPage = ALL) -> list[PaymentView]:
    """Return payments, oldest first, of one commission or of all."""
    with studio.reading() as book:
        query = select(Payment).order_by(Payment.paid_on, Payment.id)
        if which is not None:
            query = query.where(Payment.commission_id == find_commission(book, which).id)
        return [_view(payment) for payment in book.scalars(page.of(query))]


def write_off(studio: Studio, which: str, reason: str) -> CommissionView:
    """Give up what is still owed of a closed commission.

    Raises
    ------
    NotAllowed
        If it is still open, or nothing is owed.
    """
    with studio.writing("payment.write-off") as (book, entry):
        commission = find_commission(book, which)
        code = commission_code(commission.id)
        if commission.is_open:
            raise NotAllowed(f"{code} is open", "Hand it over or drop it first")
        if balance(commission) <= 0:
            raise NotAllowed(f"{code} owes nothing", "There is nothing to write off")
        commission.write_off_reason = cleaned(reason, "reason")
        commission.written_off_on = studio.today()
        entry.says(f"Wrote off what was owed for '{commission.title}'", commission.id)
        return commissions.view(commission, studio.now())
