"""Invoices and receipts: what was agreed, what came in and when, what is still owed.

An invoice shows the price as the quote does. What must stand on an invoice,
and how invoices are numbered, differs from country to country: local tax rules
come first.
"""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from burnplan.desk.derived import drop_terms
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.clients import ClientView
from burnplan.desk.jobs.commissions import CommissionView
from burnplan.desk.money.payments import PaymentView
from burnplan.desk.money.quotes import QuoteView
from burnplan.errors import BadInput, NotAllowed
from burnplan.sentences import Do
from burnplan.sheets.money.letter import (
    Figures,
    Letter,
    Prose,
    Row,
    Section,
    Signature,
    Spelling,
    Twins,
    Weight,
    letter_on,
)
from burnplan.sheets.money.quote_sheet import price_figures, quote_number

_KINDS = {"deposit": "Deposit", "payment": "Payment", "refund": "Refund"}


def _up_to(
    payments: Sequence[PaymentView], quote: QuoteView, on: date, last: int | None = None
) -> list[PaymentView]:
    """Return the payments for a quote's commission up to a day, oldest first.

    Those of that day count up to the number ``last``, if it is given.
    """
    own = [one for one in payments if one.code == quote.code]
    if other := next((one for one in own if one.currency != quote.currency), None):
        raise BadInput(
            f"Payment {other.number} is in {other.currency}, quote {quote_number(quote)}"
            f" in {quote.currency}",
            f"Issue the quote in {other.currency}, the two cannot be added up",
        )
    counted = (
        one for one in own if (one.paid_on, 0 if last is None else one.number) <= (on, last or 0)
    )
    return sorted(counted, key=lambda one: (one.paid_on, one.number))


def _sum(payments: Sequence[PaymentView]) -> Decimal:
    return sum((one.amount for one in payments), Decimal(0))


def _what(payment: PaymentView, spelling: Spelling) -> str:
    """Name a payment: its kind, day and method."""
    said = f"{_KINDS[payment.kind]}, {spelling.day(payment.paid_on, 'medium')}"
    return f"{said}, {payment.method}" if payment.method else said


def _balance_row(balance: Decimal, spelling: Spelling) -> Row:
    if balance < 0:
        return Row("To be given back to you", spelling.money(-balance), Weight.TOTAL)
    if balance == 0:
        return Row("Paid in full, nothing is due", spelling.money(balance), Weight.TOTAL)
    return Row("Balance due", spelling.money(balance), Weight.TOTAL)


def _to_pay(commission: CommissionView, quote: QuoteView) -> Decimal:
    """Return what is to be paid in all: as quoted, or as was agreed when the order ended."""
    return quote.total if commission.drop_terms is None else commission.to_pay


def _left(
    commission: CommissionView, quote: QuoteView, paid: Sequence[PaymentView], spelling: Spelling
) -> list[Row]:
    """Return what is left to pay after some payments, or that no more is asked for."""
    rest = _to_pay(commission, quote) - _sum(paid)
    if commission.written_off is None or rest <= 0:
        return [_balance_row(rest, spelling)]
    nothing = Row("Nothing more is due", spelling.money(Decimal(0)), Weight.TOTAL)
    return [Row("No longer asked for", spelling.money(-rest)), nothing]


def _ended_without_terms(commission: CommissionView) -> bool:
    """Return whether an order was dropped with nothing agreed: what came in is kept, no more."""
    return commission.dropped_on is not None and commission.drop_terms is None


def _account(
    commission: CommissionView, quote: QuoteView, paid: Sequence[PaymentView], spelling: Spelling
) -> Figures:
    """Return what came in, refunds as what went back, and what is left."""
    rows = [Row(_what(one, spelling), spelling.money(-one.amount)) for one in paid]
    rows += _left(commission, quote, paid, spelling)
    return Figures("Received so far" if paid else "To pay", tuple(rows))


def _price_of(commission: CommissionView, quote: QuoteView) -> str:
    """Name what is to be paid in all."""
    if commission.drop_terms is not None:
        return "Agreed as the order ended"
    said = "Quoted" if quote.accepted_on is None else "Agreed"
    return f"{said}, quote {quote_number(quote)}"


def _ended(commission: CommissionView, spelling: Spelling) -> tuple[Figures, ...]:
    """Return what was agreed when the order was ended before it was made; nothing if not."""
    if commission.drop_terms is None or commission.dropped_on is None:
        return ()
    terms = drop_terms.IN_WORDS[commission.drop_terms]
    row = Row(f"Agreed: {terms}", spelling.money(commission.to_pay), Weight.TOTAL)
    return (Figures(f"Order ended {spelling.day(commission.dropped_on)}", (row,)),)


def invoice_letter(
    quote: QuoteView,
    payments: Sequence[PaymentView],
    commission: CommissionView,
    client: ClientView | None,
    settings: Settings,
    *,
    on: date,
    due: date | None = None,
    number: str = "",
) -> Twins:
    """Return an invoice.

    Parameters
    ----------
    quote : QuoteView
        The one that holds.
    payments : sequence of PaymentView
        Those of other commissions and of days after the invoice do not count.
    commission, client, settings
    on, due : date
        Of the invoice, and until when it is to be paid: if that is not said, before
        delivery, or now if that was before.
    number : str, optional
        From the studio's own sequence; without it, the number of the quote.

    Raises
    ------
    NotAllowed
        If the quote is a draft, or the order ended with nothing agreed to be owed.
    BadInput
        If a payment is in another currency than the quote.
    OperationFailed
        When it is set, if the quote's lines do not add up to its total.
    """
    if quote.state == "draft":
        raise NotAllowed(
            f"The quote for {quote.code} is a draft",
            "Issue it: ",
            Do("quote.issue", job=quote.code),
        )
    if _ended_without_terms(commission):
        raise NotAllowed(
            f"{quote.code} was dropped, and nothing was agreed to be owed for it",
            "There is nothing to invoice",
        )
    paid = _up_to(payments, quote, on)
    owed = commission.written_off is None and _to_pay(commission, quote) > _sum(paid)
    delivered = commission.delivered_on if (commission.delivered_on or on) <= on else None
    named = number.strip() or quote_number(quote)

    def letter(spelling: Spelling) -> Letter:
        sections: list[Section] = [
            price_figures(quote, spelling),
            *_ended(commission, spelling),
            _account(commission, quote, paid, spelling),
        ]
        if owed and settings.pay_to.strip():
            sections.append(Prose("How to pay", settings.pay_to))
        if owed:
            past = delivered or commission.dropped_on
            when = f"by {spelling.day(due)}" if due else "now" if past else "before delivery"
            sections.append(Prose("", f"Please pay the balance {when}, naming {named}. Thank you."))
        else:
            sections.append(Prose("", "Thank you."))
        facts = [("Date", spelling.day(on)), ("Quote", quote_number(quote))]
        if delivered:
            facts.append(("Delivered", spelling.day(delivered)))
        if due and owed:
            facts.append(("Due", spelling.day(due)))
        return letter_on(commission, client, settings, "Invoice", named, facts, sections)

    notes = []
    if not number.strip():
        notes.append(
            f"The invoice is numbered as its quote, {quote_number(quote)}: give one of your own"
            " sequence if your tax office asks for that"
        )
    if quote.accepted_on is None:
        notes.append(f"Quote {quote_number(quote)} is not on record as accepted")
    return Twins(letter, quote.currency, settings, tuple(notes))


def receipt_letter(
    payment: PaymentView,
    payments: Sequence[PaymentView],
    quote: QuoteView | None,
    commission: CommissionView,
    client: ClientView | None,
    settings: Settings,
) -> Twins:
    """Return a receipt for one payment of all of a commission, or a paper for a refund.

    The account is shown as it stood after this one, if there is a quote that holds and the
    order did not end with nothing agreed.

    Raises
    ------
    BadInput
        When it is set, if a payment is in another currency than the quote.
    """
    refund = payment.kind == "refund"

    def letter(spelling: Spelling) -> Letter:
        row = Row(_what(payment, spelling), spelling.money(abs(payment.amount)), Weight.TOTAL)
        head = "Given back" if refund else "Received with thanks"
        sections: list[Section] = [Figures(head, (row,))]
        stands = not _ended_without_terms(commission)
        if quote is not None and quote.state != "draft" and stands:
            known = {one.number: one for one in (*payments, payment)}
            paid = _up_to(list(known.values()), quote, payment.paid_on, payment.number)
            rows = (
                Row(_price_of(commission, quote), spelling.money(_to_pay(commission, quote))),
                Row("Received up to here", spelling.money(-_sum(paid))),
                *_left(commission, quote, paid, spelling),
            )
            sections += _ended(commission, spelling)
            sections.append(Figures("How the account stands", rows))
        said = "I have received this amount." if refund else f"For {settings.name}"
        sections.append(Signature(said))
        facts = [("Date", spelling.day(payment.paid_on)), ("Job", commission.code)]
        kind, number = "Refund" if refund else "Receipt", f"R-{payment.number:04d}"
        return letter_on(commission, client, settings, kind, number, facts, sections)

    return Twins(letter, payment.currency, settings)
