"""How a job ends: what is owed after a drop, and money that stays in sight until it is settled."""

import re
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from burnplan.desk.jobs import (
    checklists,
    clients,
    commissions,
    endings,
    lettering,
    references,
    review,
    sessions,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.lettering import LetteringWishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed
from burnplan.sheets.money import invoice_sheet
from tests.cases import quick_first
from tests.desk import surfaces


@pytest.fixture
def fox(studio: Studio, tmp_path: Path) -> str:
    """A job for 200, accepted; its deposit of 60 is in."""
    ramp = np.tile(np.linspace(0, 255, 240, dtype=np.uint8), (180, 1))
    Image.fromarray(ramp).save(tmp_path / "ramp.png")
    wishes = Wishes(title="Fox", client="Mara", size="12x9cm", species="basswood")
    code = commissions.add(studio, wishes).code
    references.add(studio, code, tmp_path / "ramp.png", zones=3)
    quotes.issue(studio, code, quotes.QuoteRequest(price="200"))
    accepting.accept(studio, code)
    payments.take(studio, code, "60", "deposit")
    return code


def _balance(studio: Studio, code: str) -> Decimal:
    return commissions.show(studio, code).balance


def _in_sight(studio: Studio, code: str) -> review.JobView | None:
    return next((one for one in review.review(studio) if one.code == code), None)


def _invoice(studio: Studio, code: str) -> str:
    view = commissions.show(studio, code)
    return invoice_sheet.invoice_letter(
        quotes.agreed(studio, code),
        payments.all_of(studio, code),
        view,
        clients.named(studio, view.client),
        settings.current(studio),
        on=studio.today(),
    ).text()


def _receipt(studio: Studio, number: int, code: str) -> str:
    view = commissions.show(studio, code)
    return invoice_sheet.receipt_letter(
        payments.show(studio, number),
        payments.all_of(studio, code),
        quotes.agreed(studio, code),
        view,
        clients.named(studio, view.client),
        settings.current(studio),
    ).text()


def test_what_is_owed_after_a_drop_has_to_be_said(studio: Studio, fox: str) -> None:
    with pytest.raises(BadInput, match="owed"):
        endings.drop(studio, fox, "moved away")
    assert commissions.show(studio, fox).dropped is None


def test_nothing_is_asked_where_nothing_was_agreed_or_paid(studio: Studio) -> None:
    code = commissions.add(studio, Wishes(title="Owl")).code
    assert endings.drop_offers(studio, code) == []
    assert endings.drop(studio, code, "no answer").balance == 0


def test_nothing_owed_gives_back_what_came_in(studio: Studio, fox: str) -> None:
    assert endings.drop(studio, fox, "moved away", "nothing").balance == -60
    seen = _in_sight(studio, fox)
    assert seen is not None
    assert seen.attention == "dropped: to be given back"
    number = payments.take(studio, fox, "60", "refund").number
    assert _balance(studio, fox) == 0
    assert _in_sight(studio, fox) is None
    said = _receipt(studio, number, fox)
    assert "nothing is owed" in said
    assert "Balance due" not in said


def test_a_deposit_kept_is_all_that_is_owed(studio: Studio, fox: str) -> None:
    dropped = endings.drop(studio, fox, "moved away", "deposit")
    assert dropped.to_pay == 60
    assert dropped.balance == 0
    assert _in_sight(studio, fox) is None
    said = _invoice(studio, fox)
    assert "the deposit is kept" in said
    assert "Paid in full" in said
    assert "Please pay" not in said


def test_the_deposit_kept_is_no_more_than_came_in_of_it(studio: Studio, fox: str) -> None:
    payments.take(studio, fox, "40", "refund")
    assert endings.drop(studio, fox, "moved away", "deposit").to_pay == 20


def test_work_done_so_far_is_its_share_of_the_price(studio: Studio, fox: str) -> None:
    offers = {one.terms: one.amount for one in endings.drop_offers(studio, fox)}
    assert offers == {"nothing": 0, "deposit": 60, "work": 0}
    keys = [s.key for s in checklists.of(studio, fox).steps if s.phase in ("prepare", "transfer")]
    checklists.tick(studio, fox, keys)
    hours = references.show(studio, fox).hours
    share = (hours.prepare.p50 + hours.transfer.p50) / (
        hours.prepare.p50 + hours.transfer.p50 + hours.burn.p50 + hours.finish.p50
    )
    dropped = endings.drop(studio, fox, "moved away", "work")
    assert float(dropped.to_pay) == pytest.approx(200 * share, abs=0.006)
    said = _invoice(studio, fox)
    assert "the work done so far" in said


def test_another_amount_for_the_work_can_be_agreed(studio: Studio, fox: str) -> None:
    with pytest.raises(BadInput, match="work"):
        endings.drop(studio, fox, "moved away", "nothing", "10")
    assert endings.drop(studio, fox, "moved away", "work", "95.50").balance == Decimal("35.50")
    seen = _in_sight(studio, fox)
    assert seen is not None
    assert seen.stage == "dropped"
    assert seen.attention == "dropped: what was agreed is not paid"
    assert "Please pay the balance now" in _invoice(studio, fox)


def test_hours_judged_by_eye_are_the_share_done(studio: Studio) -> None:
    code = commissions.add(studio, Wishes(title="Owl", client="Mara")).code
    quotes.issue(studio, code, quotes.QuoteRequest(hours=10, price="300"))
    accepting.accept(studio, code)
    sessions.log(studio, code, timedelta(hours=4), sessions.Doing())
    offers = {one.terms: one.amount for one in endings.drop_offers(studio, code)}
    assert offers == {"nothing": 0, "deposit": 0, "work": 120}


def test_nobody_is_asked_about_the_steps_of_what_has_left_the_studio(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Barn", size="20x15cm"))
    checklists.tick(studio, "Barn", ["1-12"])
    larger = Wishes(size="40x30cm")
    assert commissions.undone_by(studio, "Barn", larger)
    endings.deliver(studio, "Barn", None)
    assert commissions.undone_by(studio, "Barn", larger) == []


def test_a_piece_that_is_ready_is_all_done(studio: Studio) -> None:
    code = commissions.add(studio, Wishes(title="Owl", client="Mara")).code
    quotes.issue(studio, code, quotes.QuoteRequest(hours=10, price="300"))
    accepting.accept(studio, code)
    sessions.log(studio, code, timedelta(hours=4), sessions.Doing())
    steps = checklists.of(studio, code).steps
    checklists.tick(studio, code, [one.key for one in steps if one.phase in ("burn", "finish")])
    assert commissions.show(studio, code).stage == "ready"
    offers = {one.terms: one.amount for one in endings.drop_offers(studio, code)}
    assert offers["work"] == 300


@pytest.mark.long
def test_one_delivered_stays_in_sight_until_it_is_paid(studio: Studio, fox: str) -> None:
    endings.deliver(studio, fox)
    seen = _in_sight(studio, fox)
    assert seen is not None
    assert seen.stage == "delivered"
    assert seen.attention == "delivered: balance due"
    assert seen.balance == 140
    assert seen.hours_left.p50 == 0
    assert seen.on_time is None
    assert _in_sight(studio, fox) in review.review(studio, review.JobFilter(owed=True))
    payments.take(studio, fox, "140", "payment")
    assert _in_sight(studio, fox) is None
    undo.undo_last(studio)
    assert _in_sight(studio, fox) == seen
    surfaces.agree(studio, ["deliver", "payment", "undo"])


def test_or_until_it_is_written_off(studio: Studio, fox: str) -> None:
    with pytest.raises(NotAllowed, match="open"):
        payments.write_off(studio, fox, "gone")
    endings.deliver(studio, fox)
    written_off = payments.write_off(studio, fox, "gone without a word")
    assert written_off.balance == 0
    assert written_off.written_off == "gone without a word"
    assert _in_sight(studio, fox) is None
    assert "Please pay" not in _invoice(studio, fox)
    with pytest.raises(NotAllowed, match="nothing"):
        payments.write_off(studio, fox, "twice")
    # Paid after all: it is on record, and nothing is to be given back for it.
    assert payments.take(studio, fox, "140", "payment").balance == 0
    undo.undo_last(studio)
    undo.undo_last(studio)
    assert _in_sight(studio, fox) is not None


def _rows(said: str, heading: str) -> list[tuple[str, Decimal]]:
    """The labels and amounts of a block of a letter's plain text."""
    block = said.split(f"\n{heading}\n")[1].split("\n\n")[0]
    found = [re.split(r"\s{2,}", line) for line in block.splitlines() if line[:1].strip()]
    return [(label, _amount(amount)) for label, amount in found]


def _amount(text: str) -> Decimal:
    return Decimal(text.replace("\N{MINUS SIGN}", "-").replace("€", ""))


def test_of_a_drop_on_which_nothing_was_agreed_no_paper_asks_for_the_price(
    studio: Studio,
) -> None:
    code = commissions.add(studio, Wishes(title="Owl", client="Mara")).code
    quotes.issue(studio, code, quotes.QuoteRequest(hours=10, price="300"))
    endings.drop(studio, code, "no answer")
    assert _balance(studio, code) == 0
    with pytest.raises(NotAllowed, match="nothing was agreed"):
        _invoice(studio, code)
    # Given all the same: it is kept, and the book asks for no more.
    number = payments.take(studio, code, "50", "payment").number
    assert _balance(studio, code) == 0
    said = _receipt(studio, number, code)
    assert _rows(said, "Received with thanks")[0][1] == 50
    assert "Balance due" not in said
    assert "300" not in said


def test_the_account_on_a_receipt_adds_up_after_a_drop(studio: Studio, fox: str) -> None:
    endings.drop(studio, fox, "moved away", "work", "95.50")
    number = payments.take(studio, fox, "20", "payment").number
    agreed, came_in, due = _rows(_receipt(studio, number, fox), "How the account stands")
    assert agreed == ("Agreed as the order ended", Decimal("95.50"))
    assert came_in[1] == -80
    assert due == ("Balance due", Decimal("15.50"))
    assert due[1] == agreed[1] + came_in[1] == _balance(studio, fox)


def test_a_job_that_was_dropped_takes_no_yes_and_is_not_set_aside(studio: Studio) -> None:
    code = commissions.add(studio, Wishes(title="Owl", client="Mara")).code
    quotes.issue(studio, code, quotes.QuoteRequest(hours=10, price="300"))
    commissions.pause(studio, code, "the wood is late")
    assert endings.drop(studio, code, "no answer").paused is None
    with pytest.raises(NotAllowed, match="was dropped"):
        accepting.accept(studio, code)
    undo.undo_last(studio)
    assert commissions.show(studio, code).paused == "the wood is late"
    accepting.accept(studio, code)


def test_a_price_in_other_money_than_was_paid_takes_no_yes(studio: Studio) -> None:
    code = commissions.add(studio, Wishes(title="Owl", client="Mara")).code
    quotes.issue(studio, code, quotes.QuoteRequest(hours=10, price="300"))
    accepting.accept(studio, code)
    own = settings.current(studio)
    settings.save(studio, own.model_copy(update={"currency": "USD"}))
    quotes.issue(studio, code, quotes.QuoteRequest(hours=10, price="400"))
    payments.take(studio, code, "60", "deposit")  # of what was agreed: in euros
    with pytest.raises(NotAllowed, match="Payment 1 is in EUR, the price in USD"):
        accepting.accept(studio, code)
    with pytest.raises(NotAllowed, match="the price in USD"):
        quotes.issue(studio, code, quotes.QuoteRequest(hours=10, price="400"))
    assert _balance(studio, code) == 240
    settings.save(studio, own)
    quotes.issue(studio, code, quotes.QuoteRequest(hours=10, price="350"))
    accepting.accept(studio, code)
    assert _balance(studio, code) == 290


def test_a_receipt_calls_a_price_agreed_once_it_is(studio: Studio) -> None:
    code = commissions.add(studio, Wishes(title="Owl", client="Mara")).code
    quotes.issue(studio, code, quotes.QuoteRequest(hours=10, price="300"))
    number = payments.take(studio, code, "50", "deposit").number
    rows = _rows(_receipt(studio, number, code), "How the account stands")
    assert rows[0] == (f"Quoted, quote {code}/1", Decimal(300))
    accepting.accept(studio, code)
    rows = _rows(_receipt(studio, number, code), "How the account stands")
    assert rows[0] == (f"Agreed, quote {code}/1", Decimal(300))


def test_what_was_written_off_is_not_called_paid(studio: Studio, fox: str) -> None:
    endings.deliver(studio, fox)
    payments.write_off(studio, fox, "gone without a word")
    said = _invoice(studio, fox)
    assert "Paid in full" not in said
    *came_in, given_up, left = _rows(said, "Received so far")
    assert [amount for _, amount in came_in] == [-60]
    assert given_up == ("No longer asked for", Decimal(-140))
    assert left == ("Nothing more is due", Decimal(0))
    payments.take(studio, fox, "140", "payment")  # paid after all
    assert "Paid in full" in _invoice(studio, fox)


@pytest.mark.long
def test_a_closed_job_is_not_queued_though_it_is_in_sight(studio: Studio, fox: str) -> None:
    endings.deliver(studio, fox)
    surfaces.agree(studio, ["deliver"])
    assert [one.code for one in review.review(studio)] == [fox]


@quick_first("end", ["deliver", "drop"])
def test_what_has_left_the_studio_is_not_planned_again(
    studio: Studio, photo: Path, end: str
) -> None:
    code = commissions.add(studio, Wishes(title="Fox", size="16x12cm", species="basswood")).code
    references.add(studio, code, photo, zones=3)
    lettering.put(studio, code, LetteringWishes(lines=["Fox"], height="8mm"))
    if end == "deliver":
        endings.deliver(studio, code)
    else:
        endings.drop(studio, code, "they moved")
    before = references.show(studio, code)
    for again in (
        lambda: references.replan(studio, code, zones=4),
        lambda: references.add(studio, code, photo),
        lambda: lettering.put(studio, code, LetteringWishes(lines=["Owl"], height="8mm")),
        lambda: lettering.remove(studio, code, 1),
        lambda: commissions.edit(studio, code, Wishes(size="8x6cm")),
    ):
        with pytest.raises(NotAllowed, match=r"was (delivered|dropped)"):
            again()
    assert references.show(studio, code) == before
