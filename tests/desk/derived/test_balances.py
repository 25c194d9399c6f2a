"""What is agreed, paid and owed: worked by hand on rows in memory."""

from datetime import date
from decimal import Decimal

import pytest

from burnplan.desk.derived import balances
from burnplan.ledger.models import Commission, Payment, Quote, QuoteInstalment
from burnplan.reckon.stages import Stage

DAY = date(2027, 3, 17)


def _job(*quotes: Quote, paid: tuple[str, ...] = (), **more: object) -> Commission:
    return Commission(
        title="Barn", quotes=list(quotes), payments=[Payment(amount=Decimal(one)) for one in paid],
        **more,
    )  # fmt: skip


def _quote(total: str = "400", deposit: str = "100", *, accepted: bool = True) -> Quote:
    return Quote(
        total=Decimal(total), deposit=Decimal(deposit), accepted_on=DAY if accepted else None
    )


def test_the_newest_accepted_quote_holds_else_the_newest() -> None:
    first, second, third = _quote("1"), _quote("2"), _quote("3", accepted=False)
    assert balances.agreed_quote(_job()) is None
    assert balances.agreed_quote(_job(first, second, third)) is second
    assert balances.agreed_quote(_job(third)) is third
    old, new = _quote("4", accepted=False), _quote("5", accepted=False)
    assert balances.agreed_quote(_job(old, new)) is new


@pytest.mark.parametrize(
    ("job", "asked", "rest"),
    [
        (_job(), "0", "0"),
        # No price was ever named: what came in is neither owed nor too much.
        (_job(paid=("30", "12.50")), "42.50", "0"),
        (_job(_quote()), "400", "400"),
        (_job(_quote(), paid=("100", "250.25", "-50")), "400", "99.75"),
        # Dropped: what was agreed then; where nothing was, what came in is kept.
        (_job(_quote(), paid=("100",), dropped_on=DAY, drop_amount=Decimal(150)), "150", "50"),
        (_job(_quote(), paid=("100",), dropped_on=DAY, drop_amount=Decimal(0)), "0", "-100"),
        (_job(_quote(), paid=("100",), dropped_on=DAY), "100", "0"),
        # Written off: nothing more is owed, and only what is over all is too much.
        (_job(_quote(), paid=("100",), written_off_on=DAY), "400", "0"),
        (_job(_quote(), paid=("100", "320"), written_off_on=DAY), "400", "-20"),
    ],
)
def test_what_is_asked_and_owed(job: Commission, asked: str, rest: str) -> None:
    assert balances.to_pay(job) == Decimal(asked)
    assert balances.balance(job) == Decimal(rest)


def test_money_is_in_the_currency_it_was_quoted_or_paid_in() -> None:
    paid = Payment(amount=Decimal(30), currency="USD")
    assert balances.currency_of(_job(), "EUR") == "EUR"
    job = _job()
    job.payments.append(paid)
    assert balances.currency_of(job, "EUR") == "USD"
    quoted = Quote(total=Decimal(400), deposit=Decimal(0), currency="GBP")
    assert balances.currency_of(_job(quoted), "EUR") == "GBP"


@pytest.mark.parametrize(
    ("job", "open_money"),
    [
        (_job(_quote()), False),  # still open: its money is asked for by its milestones
        (_job(_quote(), delivered_on=DAY), True),
        (_job(_quote(), paid=("399.50",), delivered_on=DAY), True),
        (_job(_quote(), paid=("400",), delivered_on=DAY), False),
        (_job(_quote(), paid=("420",), delivered_on=DAY), False),  # a gift
        (_job(_quote(), delivered_on=DAY, written_off_on=DAY), False),
        (_job(_quote(), paid=("100",), dropped_on=DAY, drop_amount=Decimal("100.50")), True),
        (_job(_quote(), paid=("100",), dropped_on=DAY, drop_amount=Decimal("99.50")), True),
        (_job(_quote(), paid=("100",), dropped_on=DAY, drop_amount=Decimal(100)), False),
    ],
)
def test_which_closed_jobs_are_unsettled(job: Commission, open_money: bool) -> None:
    assert balances.is_unsettled(job) is open_money


def test_deposit_and_instalments_are_due_as_the_work_gets_there() -> None:
    quote = _quote("400", "100")
    quote.instalments = [
        QuoteInstalment(milestone="transferred", amount=Decimal(80)),
        QuoteInstalment(milestone="burned", amount=Decimal(60)),
    ]
    job = _job(quote, paid=("30",))
    assert balances.overdue(job, Stage.BOOKED) == 70
    assert balances.overdue(job, Stage.PREPARED) == 70
    assert balances.overdue(job, Stage.TRANSFERRED) == 150
    assert balances.overdue(job, Stage.BURNING) == 150
    assert balances.overdue(job, Stage.FINISHING) == 210
    assert balances.overdue(_job(quote, paid=("250",)), Stage.READY) == 0
    assert balances.overdue(_job(quote, paid=("240",)), Stage.READY) == 0
    assert balances.overdue(_job(), Stage.READY) == 0
    assert balances.overdue(_job(_quote(accepted=False)), Stage.READY) == 0
