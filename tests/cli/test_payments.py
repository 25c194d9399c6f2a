"""Deposits, the balance and what was paid beyond it, as the commands say them."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest

from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import commissions, endings
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.reckon.stages import Stage
from burnplan.show import console
from tests.cli.conftest import Run
from tests.conftest import FixedClock


@pytest.fixture
def quote(studio: Studio) -> quotes.QuoteView:
    """A quote that asks for half as deposit, in a studio that writes money as in Germany."""
    own = studio_settings.Settings(currency="EUR", locale="de_DE", deposit_percent=50)
    settings.save(studio, own)
    commissions.add(studio, Wishes(title="Barn"))
    view = quotes.issue(studio, "Barn", quotes.QuoteRequest(hours=10))
    assert view.deposit > 120
    return view


def _in_german(amount: object) -> str:
    return f"{amount:.2f}".replace(".", ",")


def test_what_is_still_to_come_of_a_deposit_can_be_typed_as_it_is_said(
    burnplan: Run, studio: Studio, quote: quotes.QuoteView
) -> None:
    assert burnplan("payment", "add", "C-0001", "120", "--deposit")[0] == 0
    said = burnplan("quote", "accept", "C-0001")[2]
    assert f"the rest of the deposit, {_in_german(quote.deposit - 120)} €" in said.replace(
        "\xa0", " "
    )
    (command,) = re.findall("burnplan (payment add .*)", said)
    assert command == f"payment add C-0001 {_in_german(quote.deposit - 120)}"
    assert burnplan(*command.split())[0] == 0
    assert commissions.show(studio, "C-0001").stage is Stage.BOOKED


def test_a_deposit_paid_before_the_yes_is_not_asked_for(
    burnplan: Run, quote: quotes.QuoteView
) -> None:
    assert burnplan("payment", "add", "C-0001", _in_german(quote.deposit))[0] == 0
    said = burnplan("quote", "accept", "C-0001")[2]
    assert "The deposit is in" in said
    assert "payment add" not in said


def test_what_was_paid_beyond_the_price_is_said_in_words(
    burnplan: Run, quote: quotes.QuoteView
) -> None:
    said = burnplan("payment", "add", "C-0001", _in_german(quote.total - 10))[1]
    assert "10,00 € owed" in said.replace("\xa0", " ")
    said = burnplan("payment", "add", "C-0001", "20")[1]
    for words in (said, burnplan("commission", "show", "C-0001")[1], burnplan("jobs")[1]):
        assert "10,00 € too much" in words.replace("\xa0", " ")
        assert "-10" not in words
    assert "owed" not in said


def test_a_deposit_before_any_price_is_not_too_much(burnplan: Run, studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Barn"))
    assert "no price is named yet" in burnplan("payment", "add", "C-0001", "60", "--deposit")[1]
    assert "too much" not in burnplan("jobs")[1]
    own = settings.current(studio).model_copy(update={"currency": "GBP", "locale": "en_GB"})
    settings.save(studio, own)
    assert burnplan("payment", "add", "C-0001", "10")[1].startswith("Payment of €10.00")
    assert "€70.00" in burnplan("commission", "show", "C-0001")[1]
    code, _, err = burnplan("quote", "issue", "C-0001", "--hours", "4", "--price", "200")
    assert code == 2
    assert "Payment 1 is in EUR, the price in GBP" in err
    burnplan("commission", "drop", "C-0001", "--because", "x", "--owed", "nothing", "--yes")
    for words in (burnplan("commission", "show", "C-0001")[1], burnplan("jobs")[1]):
        assert "€70.00" in words


def test_what_is_given_back_is_owed_again_unless_the_price_is_less(
    burnplan: Run, studio: Studio, quote: quotes.QuoteView
) -> None:
    accepting.accept(studio, "C-0001")
    burnplan("payment", "add", "C-0001", _in_german(quote.total))
    _, out, err = burnplan("payment", "refund", "C-0001", "20")
    assert "20,00 € owed" in out.replace("\xa0", " ")
    assert "quote issue C-0001 --price LESS" in err
    endings.deliver(studio, "C-0001")
    err = burnplan("payment", "refund", "C-0001", "5")[2]
    (command,) = re.findall("burnplan (payment write-off .*)", err)
    assert burnplan(*command.split())[0] == 0
    assert commissions.show(studio, "C-0001").balance == 0


def test_a_drop_says_what_is_owed_or_asks(
    burnplan: Run, studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.save(studio, studio_settings.Settings(currency="EUR", locale="en_IE"))
    commissions.add(studio, Wishes(title="Barn"))
    quotes.issue(studio, "Barn", quotes.QuoteRequest(hours=4, price="200"))
    accepting.accept(studio, "Barn")
    burnplan("payment", "add", "C-0001", "60", "--deposit")
    drop = ("commission", "drop", "C-0001", "--because", "moved away", "--yes")
    code, _, err = burnplan(*drop)
    assert (code, commissions.show(studio, "C-0001").dropped) == (2, None)
    assert "burnplan" in err
    assert "--owed" in err
    said = burnplan(*drop, "--owed", "nothing")[2]
    assert "Nothing is owed: €60.00 is to be given back" in said
    assert "dropped: to be given back" in burnplan("jobs")[1]
    assert burnplan("undo")[0] == 0
    monkeypatch.setattr(console, "interactive", lambda: True)
    typed = iter(["dep", "work", "95"])
    monkeypatch.setattr("typer.prompt", lambda *_args, **_more: next(typed))
    said = burnplan(*drop)[2]
    assert "deposit: the deposit is kept, €60.00; nothing is left to pay" in said
    assert commissions.show(studio, "C-0001").drop_terms == "deposit"
    burnplan("undo")
    assert "€35.00 is left to pay" in burnplan(*drop)[2]
    assert burnplan("payment", "write-off", "C-0001", "--because", "no word")[0] == 0
    assert "No open jobs" in burnplan("jobs")[1]


def test_a_quote_of_another_size_is_said_to_be_so_as_it_is_printed_and_accepted(
    burnplan: Run, studio: Studio
) -> None:
    commissions.add(studio, Wishes(title="Fox", size="20x15cm"))
    quotes.issue(studio, "Fox", quotes.QuoteRequest(hours=10))
    said = "Reckoned for another size or wood than the piece has now"
    assert said not in burnplan("quote", "print", "Fox", "--text")[2]
    commissions.edit(studio, "Fox", Wishes(size="30x40cm"))
    code, out, err = burnplan("quote", "print", "Fox", "--text")
    assert (code, said in err, "20 × 15 cm" in out) == (0, True, True), (out, err)
    code, _, err = burnplan("quote", "accept", "Fox")
    assert (code, said in err, "burnplan quote issue C-0001" in err) == (0, True, True), err


def test_the_day_of_a_payment_and_of_a_yes_is_put_right(
    burnplan: Run, studio: Studio, clock: FixedClock, quote: quotes.QuoteView
) -> None:
    clock.forward(days=3)
    burnplan("payment", "add", "C-0001", "120", "--how", "cash")
    burnplan("quote", "accept", "C-0001")
    burnplan("commission", "edit", "C-0001", "--note", "by post")  # undo would take this back
    assert burnplan("payment", "correct", "1", "--on", "yesterday", "--how", "card")[0] == 0
    (paid,) = payments.all_of(studio, None)
    yesterday = studio.today() - timedelta(days=1)
    assert (paid.paid_on, paid.method, paid.amount) == (yesterday, "card", Decimal(120))
    assert burnplan("payment", "correct", "1")[0] == 2
    assert burnplan("payment", "correct", "7", "--how", "card")[0] == 2
    assert burnplan("quote", "accept", "C-0001")[0] == 2
    assert burnplan("quote", "accept", "C-0001", "--on", "yesterday")[0] == 0
    assert quotes.agreed(studio, "C-0001").accepted_on == yesterday
