"""What a quote is reckoned from, where nothing more is said, and what it may be."""

from datetime import timedelta
from pathlib import Path

import pytest
from pydantic import ValidationError

from burnplan.desk.jobs import commissions, holding, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.money import accepting, quotes
from burnplan.desk.money.quotes import QuoteRequest
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.errors import BadInput


@pytest.fixture
def job(studio: Studio, photo: Path) -> str:
    code = commissions.add(studio, Wishes(title="Barn", size="16x12cm", species="basswood")).code
    references.add(studio, code, photo, zones=3)
    return code


def test_it_pays_for_hours_that_are_enough_four_times_in_five(studio: Studio, job: str) -> None:
    found = quotes.draft(studio, job, QuoteRequest())
    hours = references.show(studio, job).hours
    assert found.hours_p80 == pytest.approx(hours.total.p80)
    assert found.hours_paid == pytest.approx(found.hours_p80, rel=0.01)
    assert quotes.draft(studio, job, QuoteRequest(sure=0.5)).hours_paid == pytest.approx(
        found.hours_p50, rel=0.01
    )


@pytest.mark.long
def test_it_is_of_the_newest_plan_and_known_to_be_of_another_piece(
    studio: Studio, job: str
) -> None:
    small = quotes.issue(studio, job, QuoteRequest())
    assert not small.outdated
    assert (small.width_mm, small.height_mm) == (160, 120)
    commissions.edit(studio, job, Wishes(size="32x24cm"))
    assert quotes.show(studio, job).outdated
    large = quotes.issue(studio, job, QuoteRequest())
    assert not large.outdated
    assert large.hours_p50 == pytest.approx(references.show(studio, job).hours.total.p50)
    assert large.hours_p50 > 1.5 * small.hours_p50
    assert [one.version for one in quotes.all_of(studio, job)] == [1, 2]


def test_hours_that_are_said_rest_on_no_guess(studio: Studio, job: str) -> None:
    said = quotes.draft(studio, job, QuoteRequest(hours=0.5))
    assert (said.hours_p50, said.hours_p80, said.by_guess) == (0.5, 0.5, False)
    assert quotes.draft(studio, job, QuoteRequest()).by_guess


@pytest.mark.parametrize("hours", [0, -1, 2000.5])
def test_hours_that_no_piece_takes(hours: float) -> None:
    with pytest.raises(ValidationError):
        QuoteRequest(hours=hours)


@pytest.mark.parametrize("days", [1, 365])
def test_it_is_valid_for_so_long(studio: Studio, job: str, days: int) -> None:
    found = quotes.draft(studio, job, QuoteRequest(), valid_days=days)
    assert found.valid_until == studio.today() + timedelta(days=days)


@pytest.mark.parametrize("days", [0, 366])
def test_it_is_not_valid_for_so_long(studio: Studio, job: str, days: int) -> None:
    with pytest.raises(BadInput, match="1 to 365 days"):
        quotes.draft(studio, job, QuoteRequest(), valid_days=days)


def test_instalments_fall_due_in_the_order_of_the_work(studio: Studio, job: str) -> None:
    asked = ["30% transferred", "20% burned"]
    found = quotes.issue(studio, job, QuoteRequest(instalments=asked))
    assert [one.at.value for one in found.instalments] == ["transferred", "burned"]
    shares = [float(one.amount / found.total) for one in found.instalments]
    assert shares == pytest.approx([0.3, 0.2], abs=0.01)


def test_a_quote_is_of_the_shape_that_the_piece_has(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Crest"))
    board = blanks.NewBlank(species="basswood", size="live-edge 0,0 12,1 11,9 1,8cm")
    holding.hold(studio, blanks.add(studio, board).code, "Crest")
    quotes.issue(studio, "Crest", QuoteRequest(hours=10))
    with studio.reading() as book:
        commission = find_commission(book, "Crest")
        quote = quotes.newest(commission)
        whole = accepting.own_size(quote, commission)
        assert whole is not None
        assert len(whole.points) == 4
        quote.width_mm = 60.0  # as if for another board
        other = accepting.own_size(quote, commission)
        assert other is not None
        assert (other.width_mm, other.height_mm) == (60, whole.height_mm)
        book.rollback()


@pytest.mark.parametrize("other", [{"round_to": "50"}, {"minimum": "300"}])
def test_a_price_in_mind_is_not_changed_without_a_word(
    studio: Studio, other: dict[str, str]
) -> None:
    commissions.add(studio, Wishes(title="Crest"))
    with pytest.raises(BadInput, match="neither rounded nor raised"):
        quotes.draft(studio, "Crest", QuoteRequest(hours=10, price="233", **other))
