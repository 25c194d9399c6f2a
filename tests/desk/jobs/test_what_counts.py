"""Which hours and which money count, for what: worked by hand, or against the pure reckoning."""

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from rich.console import Console

from burnplan.desk.derived import job_status, pace_records
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import (
    checklists,
    commissions,
    corrections,
    endings,
    holding,
    references,
    review,
    sessions,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.money import accepting, earnings, payments, quotes
from burnplan.desk.studio import free_hours, settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import pace, promises
from burnplan.desk.wood import blanks
from burnplan.reckon.checklist import Phase
from burnplan.reckon.remaining import RemainingHours, left_of_job
from burnplan.reckon.work import Work
from burnplan.show.money.earnings import earnings_report
from tests.conftest import FixedClock
from tests.desk import surfaces
from tests.desk.test_whole_line import tick_phase


def hours(number: float) -> timedelta:
    return timedelta(hours=number)


@pytest.fixture
def barn(studio: Studio, photo: Path) -> str:
    """A booked job of three zones, its wood prepared and its lines traced."""
    blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm", cost="8.50"))
    wishes = Wishes(title="Barn", client="Mara", due=studio.today() + timedelta(days=30))
    code = commissions.add(studio, wishes).code
    holding.hold(studio, "1", code)
    references.add(studio, code, photo, zones=3)
    deposit = quotes.issue(studio, code, quotes.QuoteRequest(hours=10, packing="5")).deposit
    accepting.accept(studio, code)
    payments.take(studio, code, str(deposit), "deposit")
    for phase in (Phase.PREPARE, Phase.TRANSFER):
        tick_phase(studio, code, phase)
    return code


def left_of(studio: Studio, code: str) -> RemainingHours:
    """The hours left, which the review and the page of one job must find alike."""
    with studio.reading() as book:
        (looked,) = (one for one in job_status.open_statuses(book, studio.now()) if one.key == code)
    assert looked.left is not None
    shown = review.review(studio)[0].hours_left
    assert shown.p50 == pytest.approx(looked.left.p50)
    return looked.left


def reckoned(
    studio: Studio, code: str, burned: float, spent: Mapping[Work, float], begun: float = 0.0
) -> RemainingHours:
    forecast = references.show(studio, code).hours.model_dump()
    settled = {Work.PREPARE: 1.0, Work.TRANSFER: 1.0, Work.BURN: burned}
    return left_of_job(forecast, settled, spent, {Work.BURN: begun})


@pytest.mark.long
def test_hours_set_aside_say_nothing_of_what_is_left(studio: Studio, barn: str) -> None:
    before = left_of(studio, barn)
    assert before == reckoned(studio, barn, 0, {})
    slow = sessions.log(studio, barn, hours(9), sessions.Doing(work="prepare"))
    assert left_of(studio, barn) == reckoned(studio, barn, 0, {Work.PREPARE: 9})
    assert left_of(studio, barn).p50 > 1.2 * before.p50
    pace.set_aside(studio, slow.number, "clock left running")
    assert left_of(studio, barn) == before


@pytest.mark.long
def test_a_zone_under_way_is_not_finished(studio: Studio, barn: str) -> None:
    checklists.tick(studio, barn, ["Z1"])
    with studio.reading() as book:
        burned = job_status.open_statuses(book, studio.now())[0].settled[Work.BURN]
    assert 0 < burned < 1
    sessions.log(studio, barn, hours(2), sessions.Doing(zone=1))
    sessions.log(studio, barn, hours(3), sessions.Doing(zone=2))
    found = left_of(studio, barn)
    assert found == reckoned(studio, barn, burned, {Work.BURN: 2}, begun=3)
    assert found != reckoned(studio, barn, burned, {Work.BURN: 5})


@pytest.mark.long
def test_what_a_correction_replaced_counts_nowhere(
    studio: Studio, barn: str, clock: FixedClock
) -> None:
    checklists.tick(studio, barn, ["Z1", "Z2", "Z3"])
    wrong = sessions.log(studio, barn, hours(9), sessions.Doing())
    corrections.correct(
        studio, wrong.number, corrections.Correction(length=hours(1)), "left running"
    )
    assert left_of(studio, barn) == reckoned(studio, barn, 1, {Work.BURN: 1})
    with studio.reading() as book:
        assert free_hours.worked_today(book, studio) == pytest.approx(1)
        assert pace_records.records(book, studio.now()).jobs()[0].total_h == pytest.approx(1)
    assert review.review(studio)[0].hours_done == pytest.approx(1)
    assert commissions.show(studio, barn).hours_done == pytest.approx(1)
    endings.deliver(studio, barn)
    assert earnings.review(studio).total.hours == pytest.approx(1)
    with studio.reading() as book:
        assert pace_records.records(book, studio.now()).jobs()[0].total_h == pytest.approx(1)


def test_only_what_was_worked_today_is_gone_from_today(studio: Studio, clock: FixedClock) -> None:
    commissions.add(studio, Wishes(title="Barn"))
    # Nine in the morning: of ten hours that ended at eight, eight are of today.
    sessions.log(studio, "Barn", hours(10), sessions.Doing(), ended=studio.now() - hours(1))
    sessions.start(studio, "Barn", sessions.Doing())
    clock.forward(hours=2)
    with studio.reading() as book:
        assert free_hours.worked_today(book, studio) == pytest.approx(8 + 2)


@pytest.mark.long
def test_wood_packing_and_tax_are_not_earned(studio: Studio, barn: str) -> None:
    # 10 h × 30 = 300, 4 % of it 12, 10 % of it 30, wood 8.50, packing 5: 355.50.
    quote = quotes.all_of(studio, barn)[-1]
    assert quote.total == Decimal("355.50")
    sessions.log(studio, barn, hours(12), sessions.Doing())
    owed = commissions.show(studio, barn).balance
    payments.take(studio, barn, str(owed), "payment")
    endings.deliver(studio, barn)
    found = earnings.review(studio)
    assert found.total.earned == Decimal("342.00")
    assert found.total.an_hour == Decimal("28.50")
    assert found.total.by_work == {"prepare": 0, "transfer": 0, "burn": 12, "finish": 0}
    (kind,) = found.kinds
    assert kind.name == "medium, to 600 cm², basswood"


def test_what_was_paid_in_other_money_is_not_added_up(studio: Studio) -> None:
    own = settings.current(studio)
    code = commissions.add(studio, Wishes(title="Owl")).code
    payments.take(studio, code, "50", "payment")  # sold without a quote
    endings.deliver(studio, code)
    assert earnings.review(studio).total.earned == 50
    settings.save(studio, own.model_copy(update={"currency": "USD"}))
    found = earnings.review(studio)
    assert (found.total.jobs, found.left_out) == (0, [code])
    drawn = Console(width=90)
    with drawn.capture() as said_so:
        drawn.print(earnings_report(found, settings.current(studio)))
    said = said_so.get()
    assert "No job in USD was delivered" in said
    assert f"not in USD: {code}" in said


@pytest.mark.long
def test_tax_is_taken_off_in_the_share_that_was_paid(studio: Studio, barn: str) -> None:
    settings.save(studio, Settings(tax_percent=Decimal(25)))
    quotes.issue(studio, barn, quotes.QuoteRequest(hours=10, packing="5"))
    quote = accepting.accept(studio, barn)
    assert (quote.total, quote.tax) == (Decimal("444.38"), Decimal("88.88"))
    sessions.log(studio, barn, hours(4), sessions.Doing())
    half = Decimal("222.19") - (quote.total - commissions.show(studio, barn).balance)
    payments.take(studio, barn, str(half), "payment")
    endings.deliver(studio, barn)
    # A fifth of the half is tax: 177.75; less 5 for packing and 8.50 for the wood.
    assert earnings.review(studio).total.earned == Decimal("164.25")


def test_a_judgement_holds_within_a_third_nine_times_in_ten(studio: Studio) -> None:
    found = promises.look_ahead(studio, hours=12).offer
    assert found is not None
    assert found.hours_p50 == pytest.approx(12)
    # Log-normal with the 90 % quantile at 16: 12 × (4/3) ^ (z80 / z90).
    assert found.hours_p80 == pytest.approx(12 * (4 / 3) ** (0.8416212 / 1.2815516))


def _median_of(studio: Studio, code: str) -> float:
    return references.show(studio, code).hours.total.p50


@pytest.fixture
def kite(studio: Studio, barn: str, photo: Path) -> str:
    """A second job, planned, with five minutes of it on record and all its steps open."""
    kite = commissions.add(studio, Wishes(title="Kite", size="20x15cm", species="basswood")).code
    references.add(studio, kite, photo, zones=3)
    sessions.log(studio, kite, timedelta(minutes=5), sessions.Doing(work="burn", zone=1))
    return kite


@pytest.mark.long
def test_a_job_delivered_with_open_steps_teaches_nothing(
    studio: Studio, barn: str, kite: str
) -> None:
    before = _median_of(studio, barn)
    endings.deliver(studio, kite)
    assert _median_of(studio, barn) == before
    (found,) = pace.review(studio).unsettled
    assert (found.code, found.stages) == (kite, ["burn"])
    assert found.hours == pytest.approx(5 / 60)
    burning = [s.number for s in checklists.of(studio, kite).steps if s.zone is not None]
    assert found.steps == burning
    assert pace.unsettled(studio, kite) == found
    # Once its burning is settled it teaches, delivered or not.
    checklists.tick(studio, kite, list(map(str, burning)))
    assert _median_of(studio, barn) < before
    assert pace.unsettled(studio, kite) is None
    assert pace.review(studio).unsettled == []


@pytest.mark.long
def test_of_a_delivered_job_the_zones_that_are_done_teach(
    studio: Studio, barn: str, kite: str
) -> None:
    checklists.tick(studio, kite, ["Z1"])
    sessions.log(studio, kite, hours(1), sessions.Doing(work="burn", zone=2))
    endings.deliver(studio, kite)
    with studio.reading() as book:
        (taught,) = pace_records.records(book, studio.now()).jobs()
    assert taught.hours == {Work.BURN: pytest.approx(5 / 60)}
    assert 0 < taught.share[Work.BURN] < 1
    (found,) = pace.review(studio).unsettled
    left = [s.number for s in checklists.of(studio, kite).steps if s.zone in (2, 3)]
    assert found.hours == pytest.approx(1)
    assert found.steps == left


@pytest.mark.long
def test_who_never_ticks_says_once_that_all_was_done(studio: Studio, barn: str, kite: str) -> None:
    before = _median_of(studio, barn)
    endings.deliver(studio, kite, all_done=True)
    assert _median_of(studio, barn) < before
    left = [step.key for step in checklists.of(studio, kite).steps if step.state == "open"]
    assert left == []
    surfaces.agree(studio, ["deliver"])
