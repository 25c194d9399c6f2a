"""What is owed for a job that will not be made, by what may be agreed for it."""

from datetime import datetime
from decimal import Decimal
from typing import Literal

from burnplan.desk.derived import balances, job_status
from burnplan.ledger.models import Commission
from burnplan.money import round_money

DropTerms = Literal["nothing", "deposit", "work"]

IN_WORDS: dict[DropTerms, str] = {
    "nothing": "nothing is owed",
    "deposit": "the deposit is kept",
    "work": "the work done so far is paid",
}


def amounts(commission: Commission, now: datetime) -> dict[DropTerms, Decimal]:
    """Return what each of the terms comes to; empty where nothing was agreed or paid.

    A deposit is kept as far as it came in. Work done so far is its share of the price,
    by the median hours of what is done of the whole.
    """
    quote, received = balances.agreed_quote(commission), balances.received(commission)
    if not received and (quote is None or quote.accepted_on is None):
        return {}
    found: dict[DropTerms, Decimal] = {"nothing": Decimal(0), "deposit": max(received, Decimal(0))}
    if quote is None:
        return found
    share = Decimal(repr(job_status.share_done(job_status.status_of(commission, now), now)))
    return found | {
        "deposit": min(found["deposit"], quote.deposit),
        "work": round_money(quote.total * share, quote.currency),
    }
