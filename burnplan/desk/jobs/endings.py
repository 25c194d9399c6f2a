"""How a commission ends: dropped on terms agreed, or handed over."""

from datetime import date
from decimal import Decimal

from burnplan.cleaned import cleaned
from burnplan.codes import commission_code
from burnplan.dates import format_day, that_was
from burnplan.desk.derived import (
    balances,
    drop_terms,
    studio_settings,
)
from burnplan.desk.derived.drop_terms import DropTerms
from burnplan.desk.jobs import checklists, commissions
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed
from burnplan.ledger.models import Commission
from burnplan.money import format_money, parse_money
from burnplan.sentences import Do
from burnplan.view import View


def _no_clock(commission: Commission) -> None:
    if any(interval.running for session in commission.sessions for interval in session.intervals):
        raise NotAllowed("Its clock is running", "Stop it first: ", Do("session.stop"))


class DropOffer(View):
    """What may be agreed to be owed for a job that is dropped, and what it comes to."""

    terms: DropTerms
    words: str
    amount: Decimal
    currency: str
    # What would still be owed then; below zero what is to be given back.
    balance: Decimal


def drop_offers(studio: Studio, which: str) -> list[DropOffer]:
    """Return what may be agreed for a job that is to be dropped; empty where nothing is open."""
    with studio.reading() as book:
        commission = commissions.find_open(book, which)
        own = studio_settings.of_book(book).currency
        received = balances.received(commission)
        return [
            DropOffer(
                terms=terms,
                words=drop_terms.IN_WORDS[terms],
                amount=amount,
                currency=balances.currency_of(commission, own),
                balance=amount - received,
            )
            for terms, amount in drop_terms.amounts(commission, studio.now()).items()
        ]


def drop(
    studio: Studio,
    which: str,
    reason: str,
    terms: DropTerms | None = None,
    amount: str | None = None,
) -> commissions.CommissionView:
    """End a commission that will not be made; its blank is free again.

    Parameters
    ----------
    studio : Studio
    which, reason : str
    terms : str, optional
        What was agreed to be owed for it; needed where something was agreed or paid.
    amount : str, optional
        What the work done so far comes to, if not its share of the price.

    Raises
    ------
    BadInput
        If it is not said what is owed, or an amount is given for anything but work.
    """
    with studio.writing("commission.drop") as (book, entry):
        commission = commissions.find_open(book, which)
        _no_clock(commission)
        if amount is not None and terms != "work":
            raise BadInput("An amount is agreed for work done", "Say that it is owed for work")
        offers = drop_terms.amounts(commission, studio.now())
        if terms is None and offers:
            raise BadInput(
                "It is not said what is owed for it",
                "Nothing, the deposit, or the work done so far, like ",
                Do("drop.owed", owed="deposit"),
            )
        if terms is not None:
            own = studio_settings.of_book(book)
            currency = balances.currency_of(commission, own.currency)
            given = parse_money(amount, currency, own.locale) if amount is not None else None
            commission.drop_terms = terms
            commission.drop_amount = given if given is not None else offers.get(terms, Decimal(0))
        commission.drop_reason = cleaned(reason, "reason")
        commission.dropped_on = studio.today()
        commission.paused_on = commission.pause_reason = None
        commission.blank = None
        entry.says(f"Dropped '{commission.title}'", commission.id)
        return commissions.view(commission, studio.now())


# Steps that handing over is the doing of: the second only once all is paid.
_HAND_OVER, _BALANCE = "hand-over", "balance"


def left_open(studio: Studio, which: str, *, all_done: bool = False) -> list[str]:
    """Return what is still open of a commission that is to be handed over, in words.

    Steps are left out where all are said to be done.

    Raises
    ------
    NotAllowed
        If it is closed already.
    """
    with studio.reading() as book:
        commission = commissions.find_open(book, which)
        steps = [
            step
            for step in commission.steps
            if not (all_done or step.settled or step.key in (_HAND_OVER, _BALANCE))
        ]
        quote, owed = balances.agreed_quote(commission), balances.balance(commission)
        found = []
        if len(steps) == 1:
            found.append(f"one step is open, '{steps[0].text}'")
        elif steps:
            found.append(f"{len(steps)} steps are open")
        if quote is not None and quote.accepted_on is None:
            found.append("its quote is not accepted")
        if quote is not None and owed > 0:
            locale = studio_settings.of_book(book).locale
            found.append(f"{format_money(owed, quote.currency, locale)} is owed")
        return found


def deliver(
    studio: Studio, which: str, on: date | None = None, *, all_done: bool = False
) -> commissions.CommissionView:
    """Hand a commission over, whatever is open: see :func:`left_open`.

    Its last step is ticked with it; that of the balance too if nothing is owed.

    Parameters
    ----------
    studio : Studio
    which : str
    on : date, optional
    all_done : bool
        Tick all other steps that are open too: they were done, and their hours are on
        record. Hours of a stage with open steps teach no pace.

    Raises
    ------
    BadInput
        If that day is still to come.
    NotAllowed
        If it is closed, its clock is running, or a step to tick burns what must not be burned.
    """
    with studio.writing("commission.deliver") as (book, entry):
        commission = commissions.find_open(book, which)
        _no_clock(commission)
        commission.delivered_on = _day_handed_over(studio, on or studio.today())
        commission.paused_on = commission.pause_reason = None
        done = {_HAND_OVER} if balances.balance(commission) > 0 else {_HAND_OVER, _BALANCE}
        left = [
            step
            for step in commission.steps
            if not step.settled and (step.key in done or (all_done and step.key != _BALANCE))
        ]
        checklists.tick_off(book, commission, left, studio.now())
        entry.says(f"Delivered '{commission.title}'", commission.id)
        return commissions.view(commission, studio.now())


def correct_day(studio: Studio, which: str, on: date) -> commissions.CommissionView:
    """Put right the day on which a commission was handed over.

    Raises
    ------
    BadInput
        If that day is still to come.
    NotAllowed
        If it is not delivered.
    """
    with studio.writing("commission.correct_day") as (book, entry):
        commission = find_commission(book, which)
        if commission.delivered_on is None:
            raise NotAllowed(f"{commission_code(commission.id)} is not delivered", "Deliver it")
        commission.delivered_on = _day_handed_over(studio, on)
        entry.says(f"'{commission.title}' was delivered {format_day(on)}", commission.id)
        return commissions.view(commission, studio.now())


def _day_handed_over(studio: Studio, day: date) -> date:
    return that_was(day, studio.today(), "Give the day it was handed over")
