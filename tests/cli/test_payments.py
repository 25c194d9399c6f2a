"""Deposits, the balance and what was paid beyond it, as the commands say them."""

import re

import pytest

from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import commissions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.money import quotes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.reckon.stages import Stage
from tests.cli.conftest import Run


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
