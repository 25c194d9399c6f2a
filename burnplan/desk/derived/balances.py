"""What is agreed, what has been paid, and what is still owed."""

from decimal import Decimal

from burnplan.ledger.models import Commission, Quote
from burnplan.reckon.stages import Stage, has_reached


def agreed_quote(commission: Commission) -> Quote | None:
    """Return the quote that holds: the newest accepted one, else the newest."""
    accepted = [quote for quote in commission.quotes if quote.accepted_on]
    return next(reversed(accepted or commission.quotes), None)


def currency_of(commission: Commission, own: str) -> str:
    """Return the currency of a commission's money; ``own`` is the studio's, where it has none."""
    quote = agreed_quote(commission)
    if quote is not None:
        return quote.currency
    return next((payment.currency for payment in commission.payments), own)


def received(commission: Commission) -> Decimal:
    """Return what has been paid, less what was given back."""
    return sum((payment.amount for payment in commission.payments), Decimal(0))


def to_pay(commission: Commission) -> Decimal:
    """Return what is to be paid in all: as quoted, or as was agreed when it was dropped.

    Where nothing was agreed then, or no price was ever named, what came in is kept and nothing
    more is owed.
    """
    if commission.dropped_on is not None:
        return received(commission) if commission.drop_amount is None else commission.drop_amount
    quote = agreed_quote(commission)
    return quote.total if quote else received(commission)


def balance(commission: Commission) -> Decimal:
    """Return what is still owed; below zero if overpaid.

    Of one written off nothing is owed, and what comes in all the same is not too much
    before all is paid.
    """
    rest = to_pay(commission) - received(commission)
    return rest if commission.written_off_on is None else min(rest, Decimal(0))


def is_unsettled(commission: Commission) -> bool:
    """Return whether money is open of a closed job.

    More than was asked for a piece delivered may be a gift; for one dropped it is due back.
    """
    if commission.is_open:
        return False
    rest = balance(commission)
    return rest > 0 or (rest < 0 and commission.dropped_on is not None)


# The stage that shows a milestone of the work to be behind.
_REACHED_AT = {
    "prepared": Stage.PREPARED,
    "transferred": Stage.TRANSFERRED,
    "burned": Stage.FINISHING,
}


def overdue(commission: Commission, stage: Stage) -> Decimal:
    """Return what of the deposit and the instalments reached has not been paid."""
    quote = agreed_quote(commission)
    if quote is None or quote.accepted_on is None:
        return Decimal(0)
    reached = (
        part.amount for part in quote.instalments if has_reached(stage, _REACHED_AT[part.milestone])
    )
    return max(Decimal(0), sum(reached, quote.deposit) - received(commission))
