"""The whole line through the desk: from an enquiry to a delivered piece, and all of it undone."""

from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from sqlalchemy import text

from burnplan.desk import demo
from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import (
    checklists,
    clients,
    commissions,
    corrections,
    endings,
    finishing,
    holding,
    references,
    review,
    sessions,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import past
from burnplan.desk.wood import blanks
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.ledger import engines
from burnplan.ledger.models import Record
from burnplan.reckon.checklist import Phase
from burnplan.reckon.stages import Stage
from tests import books
from tests.conftest import FixedClock

BASSWOOD = blanks.NewBlank(species="basswood", size="20x15cm", cost="8.50", grit=150)


def contents(studio: Studio) -> dict[str, list[str]]:
    """Every row of every table but the history."""
    with studio.reading() as book:
        return {
            table.name: sorted(map(repr, book.execute(text(f'SELECT * FROM "{table.name}"'))))  # noqa: S608
            for table in Record.metadata.sorted_tables
            if table.name != "history"
        }


def tick_phase(studio: Studio, code: str, phase: Phase) -> None:
    view = checklists.of(studio, code)
    checklists.tick(studio, code, [s.key for s in view.steps if s.phase is phase])


def test_a_job_goes_through_every_stage_and_back(
    studio: Studio, clock: FixedClock, photo: Path
) -> None:
    books, stages = [contents(studio)], []

    def did(stage: Stage) -> None:
        assert commissions.show(studio, "C-1").stage is stage
        stages.append(stage)

    def note() -> None:
        books.append(contents(studio))

    blanks.add(studio, BASSWOOD)
    note()
    wishes = Wishes(title="Old barn", client="Mara", due=studio.today() + timedelta(days=30))
    commissions.add(studio, wishes)
    note()
    did(Stage.ENQUIRY)
    holding.hold(studio, "1", "C-1")
    note()
    references.add(studio, "C-1", photo, zones=3)
    note()
    quote = quotes.issue(studio, "C-1", quotes.QuoteRequest())
    note()
    did(Stage.PRICED)
    accepting.accept(studio, "C-1")
    note()
    did(Stage.PRICED)
    payments.take(studio, "C-1", str(quote.deposit), "deposit")
    note()
    did(Stage.BOOKED)
    tick_phase(studio, "C-1", Phase.PREPARE)
    note()
    did(Stage.PREPARED)
    tick_phase(studio, "C-1", Phase.TRANSFER)
    note()
    did(Stage.TRANSFERRED)
    sessions.start(studio, "C-1", sessions.Doing(zone=1))
    note()
    did(Stage.BURNING)
    clock.forward(minutes=50)
    sessions.pause(studio)
    note()
    clock.forward(hours=3)
    sessions.resume(studio)
    note()
    clock.forward(minutes=40)
    assert sessions.stop(studio).hours == pytest.approx(1.5)
    note()
    tick_phase(studio, "C-1", Phase.BURN)
    note()
    did(Stage.FINISHING)
    tick_phase(studio, "C-1", Phase.FINISH)
    note()
    did(Stage.READY)
    payments.take(studio, "C-1", str(payments_left(studio)), "payment")
    note()
    checklists.tick(studio, "C-1", ["pack"])
    note()
    assert endings.left_open(studio, "C-1") == []
    delivered = endings.deliver(studio, "C-1")
    assert delivered.steps_settled == delivered.steps
    note()
    did(Stage.DELIVERED)
    assert stages == sorted(stages, key=list(Stage).index)
    assert review.review(studio) == []

    while len(books) > 1:
        assert contents(studio) == books.pop()
        undo.undo_last(studio)
    assert contents(studio) == books[0]
    with pytest.raises(NotFound, match="nothing to undo"):
        undo.undo_last(studio)


def test_what_is_open_is_named_before_a_delivery(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Barn", size="20x15cm"))
    steps = commissions.show(studio, "Barn").steps
    checklists.tick(studio, "Barn", ["1-4"])
    assert endings.left_open(studio, "Barn") == [f"{steps - 6} steps are open"]
    total = quotes.issue(studio, "Barn", quotes.QuoteRequest(hours=5)).total
    payments.take(studio, "Barn", str(total - 10), "payment")
    assert endings.left_open(studio, "Barn")[1:] == [
        "its quote is not accepted",
        "€10.00 is owed",
    ]
    accepting.accept(studio, "Barn")
    assert endings.left_open(studio, "Barn")[1:] == ["€10.00 is owed"]
    before = contents(studio)
    endings.deliver(studio, "Barn")
    done = {step.key: step.state for step in checklists.of(studio, "Barn").steps}
    assert (done["balance"], done["pack"], done["hand-over"]) == ("open", "open", "ticked")
    with pytest.raises(NotAllowed, match="was delivered"):
        endings.left_open(studio, "Barn")
    undo.undo_last(studio)
    assert contents(studio) == before
    checklists.skip(studio, "Barn", "hand-over", "by post")
    payments.take(studio, "Barn", "10", "payment")
    endings.deliver(studio, "Barn")
    done = {step.key: step.state for step in checklists.of(studio, "Barn").steps}
    assert (done["balance"], done["hand-over"]) == ("ticked", "skipped")


def payments_left(studio: Studio) -> Decimal:
    return commissions.show(studio, "C-1").balance


def test_undo_refuses_what_has_changed_since(studio: Studio) -> None:
    clients.add(studio, "Mara", clients.ClientDetails())
    with engines.transaction(studio.engine, writing=True) as book:
        book.execute(text("UPDATE client SET note = 'from elsewhere'"))
    with pytest.raises(NotAllowed, match="changed again since"):
        undo.undo_last(studio)
    assert clients.show(studio, "Mara").note == "from elsewhere"


def test_history_says_what_was_undone(studio: Studio) -> None:
    clients.add(studio, "Mara", clients.ClientDetails())
    undo.undo_last(studio)
    newest, first = undo.happenings(studio)
    assert newest.summary == "Undid: Added client Mara"
    assert first.undone


class TestChecklist:
    def test_is_made_for_the_job(self, studio: Studio, photo: Path) -> None:
        settings.save(studio, studio_settings.Settings(drawing_hand=studio_settings.Hand.LEFT))
        pine = blanks.NewBlank(species="eastern-white-pine", size="20x15cm", grit=150)
        blanks.add(studio, pine)
        commissions.add(studio, Wishes(title="Barn"))
        holding.hold(studio, "1", "Barn")
        references.add(studio, "Barn", photo, zones=3)
        steps = {step.key: step for step in checklists.of(studio, "Barn").steps}
        assert "20 × 15 cm" in steps["print"].text
        assert "to the right" in steps["graphite"].text  # away from the drawing hand
        assert "resin" in steps["sound-wood"].caution
        assert [key for key in steps if key.startswith(("sand-", "raise"))] == [
            "sand-220", "raise-grain", "sand-320", "sand-back",
        ]  # fmt: skip
        assert [key for key in steps if key.startswith("zone-")] == ["zone-1", "zone-2", "zone-3"]

    @pytest.mark.long
    def test_what_was_ticked_survives_a_new_plan(self, studio: Studio) -> None:
        commissions.add(studio, Wishes(title="Barn", size="20x15cm"))
        references.add(studio, "Barn", demo.sample(demo.PHOTO), zones=4)
        checklists.tick(studio, "Barn", ["Z4", "cut"])
        checklists.add(studio, "Barn", "Drill the holes", "finish")
        references.replan(studio, "Barn", zones=3)
        steps = {step.key: step for step in checklists.of(studio, "Barn").steps}
        assert steps["zone-4"].state == steps["cut"].state == "ticked"
        assert steps["own-1"].text == "Drill the holes"
        phases = [list(Phase).index(step.phase) for step in checklists.of(studio, "Barn").steps]
        assert phases == sorted(phases)

    def test_a_step_is_skipped_with_a_reason_and_opened_again(self, studio: Studio) -> None:
        commissions.add(studio, Wishes(title="Barn"))
        with pytest.raises(BadInput, match="reason is empty"):
            checklists.skip(studio, "Barn", "cut", "  ")
        skipped = checklists.skip(studio, "Barn", "cut", "printed to size")
        assert [s.skip_reason for s in skipped.steps if s.key == "cut"] == ["printed to size"]
        opened = checklists.untick(studio, "Barn", ["cut"])
        assert [s.state for s in opened.steps if s.key == "cut"] == ["open"]

    def test_sanding_is_kept_on_the_blank(self, studio: Studio) -> None:
        blanks.add(studio, BASSWOOD)
        commissions.add(studio, Wishes(title="Barn"))
        holding.hold(studio, "1", "Barn")
        checklists.tick(studio, "Barn", ["sand-220"])
        assert blanks.show(studio, "1").grit == 220
        checklists.untick(studio, "Barn", ["sand-220"])
        assert blanks.show(studio, "1").grit == 150

    def test_a_step_that_was_skipped_takes_nothing_off_the_blank(self, studio: Studio) -> None:
        commissions.add(studio, Wishes(title="Barn"))
        checklists.skip(studio, "Barn", "sand-150", "sanded when it came")
        holding.hold(studio, blanks.add(studio, BASSWOOD).code, "Barn")
        checklists.untick(studio, "Barn", ["sand-150"])
        assert blanks.show(studio, "1").grit == 150

    def test_done_steps_keep_their_place_when_the_plan_changes(self, studio: Studio) -> None:
        blanks.add(studio, BASSWOOD)
        commissions.add(studio, Wishes(title="Barn"))
        holding.hold(studio, "1", "Barn")
        done = checklists.tick(studio, "Barn", ["1-3"])
        finishing.plan(studio, "Barn", "oil", coats=2, dry=timedelta(hours=8))
        steps = checklists.of(studio, "Barn").steps
        assert [step.key for step in steps[:5]] == [
            "choose", "sound-wood", "sand-220", "raise-grain", "sand-320",
        ]  # fmt: skip
        assert [step.state for step in steps] == [step.state for step in done.steps][:-1]

    def test_steps_are_named_by_ranges_too(self, studio: Studio) -> None:
        commissions.add(studio, Wishes(title="Barn"))
        ticked = checklists.tick(studio, "Barn", ["2 - 4", "3", "6–7", "cut"]).steps
        numbers = [step.number for step in ticked if step.state == "ticked" and step.key != "cut"]
        assert numbers == [2, 3, 4, 6, 7]
        assert {step.state for step in checklists.untick(studio, "Barn", ["1-20"]).steps} == {
            "open"
        }
        with pytest.raises(BadInput, match="runs backwards"):
            checklists.tick(studio, "Barn", ["4-2"])
        for beyond in ("3-900", "0-2", "1-999999999"):
            with pytest.raises(NotFound, match="has no step"):
                checklists.tick(studio, "Barn", [beyond])

    def test_burning_before_sanding_back_is_pointed_out(self, studio: Studio, photo: Path) -> None:
        commissions.add(studio, Wishes(title="Barn", size="20x15cm"))
        references.add(studio, "Barn", photo, zones=3)
        assert "graphite" in checklists.tick(studio, "Barn", ["Z1"]).reminder
        checklists.tick(studio, "Barn", ["sand-back"])
        assert checklists.tick(studio, "Barn", ["Z2"]).reminder == ""

    def test_one_unknown_step_ticks_none(self, studio: Studio) -> None:
        commissions.add(studio, Wishes(title="Barn"))
        with pytest.raises(NotFound):
            checklists.tick(studio, "Barn", ["1", "no such step"])
        assert all(step.state == "open" for step in checklists.of(studio, "Barn").steps)


class TestClock:
    def test_survives_closing_the_program(
        self, studio: Studio, clock: FixedClock, tmp_path: Path
    ) -> None:
        commissions.add(studio, Wishes(title="Barn"))
        sessions.start(studio, "Barn", sessions.Doing())
        studio.close()
        clock.forward(hours=2)
        again = books.open_at(tmp_path / "home", clock)
        running = sessions.open_now(again)
        assert running is not None
        assert (running.state, running.hours) == ("running", 2.0)
        again.close()

    def test_a_zone_is_done_by_burning_it_alone(self, studio: Studio, photo: Path) -> None:
        commissions.add(studio, Wishes(title="Barn", size="20x15cm"))
        references.add(studio, "Barn", photo, zones=3)
        sessions.start(studio, "Barn", sessions.Doing(work="transfer", zone=1))
        with pytest.raises(NotAllowed, match="burns no zone"):
            sessions.stop(studio, done=True)

    def test_one_at_a_time(self, studio: Studio) -> None:
        commissions.add(studio, Wishes(title="Barn"))
        commissions.add(studio, Wishes(title="Mill"))
        sessions.start(studio, "Barn", sessions.Doing())
        with pytest.raises(NotAllowed, match="C-0001 'Barn'"):
            sessions.start(studio, "Mill", sessions.Doing())
        with pytest.raises(NotAllowed, match="clock is running"):
            endings.deliver(studio, "Barn")

    def test_is_stopped_at_the_right_time_afterwards(
        self, studio: Studio, clock: FixedClock
    ) -> None:
        commissions.add(studio, Wishes(title="Barn"))
        started = sessions.start(studio, "Barn", sessions.Doing()).started_at
        clock.forward(hours=14)
        with pytest.raises(BadInput, match="not running then"):
            sessions.stop(studio, at=started - timedelta(minutes=1))
        with pytest.raises(BadInput, match="still to come"):
            sessions.stop(studio, at=studio.now() + timedelta(minutes=1))
        assert sessions.stop(studio, at=started + timedelta(hours=2)).hours == 2

    def test_set_back_it_makes_no_negative_time(self, studio: Studio, clock: FixedClock) -> None:
        commissions.add(studio, Wishes(title="Barn"))
        sessions.start(studio, "Barn", sessions.Doing())
        clock.forward(hours=-1)
        assert sessions.stop(studio).hours == 0

    def test_no_sitting_is_longer_than_a_day(self, studio: Studio) -> None:
        commissions.add(studio, Wishes(title="Barn"))
        minute = timedelta(minutes=1)
        with pytest.raises(BadInput, match="more than a day"):
            sessions.log(studio, "Barn", sessions.LONGEST + minute, sessions.Doing())
        made = sessions.log(studio, "Barn", sessions.LONGEST, sessions.Doing())
        longer = corrections.Correction(length=sessions.LONGEST + minute)
        with pytest.raises(BadInput, match="more than a day"):
            corrections.correct(studio, made.number, longer, "longer")

    @pytest.mark.long
    def test_two_sittings_at_once_are_named(self, studio: Studio, clock: FixedClock) -> None:
        for title in ("Barn", "Mill"):
            commissions.add(studio, Wishes(title=title))
        hour, now = timedelta(hours=1), studio.now()
        for title, ended in (("Barn", now - 3 * hour), ("Mill", now - 2 * hour)):
            alone = sessions.log(studio, title, hour, sessions.Doing(), ended=ended)
            assert sessions.overlap(studio, alone.number) == ""
        both = sessions.log(studio, "Barn", hour, sessions.Doing(), ended=now - 2.5 * hour)
        assert sessions.overlap(studio, both.number) == (
            "Overlaps session 1 on 'Barn', Wed 17 Mar, 05:00 to 06:00; "
            "session 2 on 'Mill', Wed 17 Mar, 06:00 to 07:00"
        )
        right = corrections.Correction(ended=now - 12 * hour)
        moved = corrections.correct(studio, both.number, right, "the day before")
        assert sessions.overlap(studio, moved.number) == ""
        assert sessions.overlap(studio, 1) == ""  # what was replaced counts no more
        sessions.start(studio, "Mill", sessions.Doing())
        clock.forward(hours=2)
        during = sessions.log(studio, "Barn", hour, sessions.Doing())
        assert "session 5 on 'Mill'" in sessions.overlap(studio, during.number)

    def test_counts_as_the_next_open_step_where_nobody_says(
        self, studio: Studio, photo: Path
    ) -> None:
        commissions.add(studio, Wishes(title="Barn", size="20x15cm"))
        references.add(studio, "Barn", photo, zones=3)
        assert sessions.next_work(studio, "Barn", zone=2) == "burn"
        for phase, work in (
            (Phase.PREPARE, "prepare"), (Phase.TRANSFER, "transfer"), (Phase.BURN, "burn"),
            (Phase.FINISH, "finish"), (Phase.HANDOVER, "finish"),
        ):  # fmt: skip
            assert sessions.next_work(studio, "Barn") == work
            tick_phase(studio, "Barn", phase)
        assert sessions.next_work(studio, "Barn") == "burn"

    def test_without_one_nothing_can_be_stopped(self, studio: Studio) -> None:
        for act in (sessions.pause, sessions.resume, sessions.stop):
            with pytest.raises(NotFound):
                act(studio)

    def test_a_zone_that_is_not_there_is_refused(self, studio: Studio, photo: Path) -> None:
        commissions.add(studio, Wishes(title="Barn", size="20x15cm"))
        references.add(studio, "Barn", photo, zones=3)
        with pytest.raises(BadInput, match="no zone 4"):
            sessions.start(studio, "Barn", sessions.Doing(zone=4))


class TestMoney:
    @pytest.fixture(autouse=True)
    def _priced(self, studio: Studio) -> None:
        own = studio_settings.Settings(hourly_target=Decimal(30), tax_percent=Decimal(19))
        settings.save(studio, own)
        commissions.add(studio, Wishes(title="Barn"))

    def test_instalments_fall_due_as_the_work_goes_on(self, studio: Studio) -> None:
        wanted = quotes.QuoteRequest(
            hours=10, price="100", instalments=["20% prepared", "25,5 % transferred"]
        )
        quote = quotes.issue(studio, "Barn", wanted)
        # 100 and 19 % tax: 119; 40 % deposit 47.60; to 60 % 71.40; to 85.5 % 101.745.
        along = [(part.at.value, str(part.amount)) for part in quote.instalments]
        assert (str(quote.deposit), along) == (
            "47.60", [("prepared", "23.80"), ("transferred", "30.35")],
        )  # fmt: skip
        accepting.accept(studio, "Barn")
        payments.take(studio, "Barn", "47.60", "deposit")
        assert review.review(studio)[0].attention != "instalment due"
        prepare = [s.key for s in checklists.of(studio, "Barn").steps if s.phase == "prepare"]
        checklists.tick(studio, "Barn", prepare)
        assert review.review(studio)[0].attention == "instalment due"
        payments.take(studio, "Barn", "23.80", "payment")
        assert review.review(studio)[0].attention != "instalment due"

    @pytest.mark.parametrize("text", ["", "30", "30% delivered", "x% burned", "0% burned"])
    def test_an_instalment_that_cannot_be(self, studio: Studio, text: str) -> None:
        with pytest.raises(BadInput):
            quotes.draft(studio, "Barn", quotes.QuoteRequest(hours=10, instalments=[text]))

    def test_what_the_client_pays_is_rounded_or_the_price_before_tax(self, studio: Studio) -> None:
        # 342 before 19 % tax, 406.98 with it
        total = quotes.draft(studio, "Barn", quotes.QuoteRequest(hours=10, round_to="10"))
        assert total.total == Decimal(410)
        wanted = quotes.QuoteRequest(hours=10, round_to="10", round_total=False)
        net = quotes.draft(studio, "Barn", wanted)
        assert net.total - net.tax == Decimal(350)

    def test_a_quote_says_the_hours_that_its_price_pays(self, studio: Studio) -> None:
        # 30 an hour and 14 % of that for consumables and workshop: 34.20
        assert quotes.draft(
            studio, "Barn", quotes.QuoteRequest(hours=10)
        ).hours_paid == pytest.approx(10)
        dearer = quotes.draft(studio, "Barn", quotes.QuoteRequest(hours=10, price="684"))
        assert dearer.hours_paid == pytest.approx(20)

    def test_a_quote_by_hours_is_the_hand_worked_one(self, studio: Studio) -> None:
        # 10 h × 30 = 300; 4 % = 12; 10 % = 30; 342 + 19 % (64.98) = 406.98; 40 % = 162.79
        quote = quotes.issue(studio, "Barn", quotes.QuoteRequest(hours=10))
        assert [(line.kind, line.amount) for line in quote.lines] == [
            ("labour", Decimal("300.00")),
            ("consumables", Decimal("12.00")),
            ("overhead", Decimal("30.00")),
            ("tax", Decimal("64.98")),
        ]
        assert (quote.total, quote.deposit) == (Decimal("406.98"), Decimal("162.79"))
        assert quote.chance is None

    def test_a_new_version_replaces_an_open_one(self, studio: Studio) -> None:
        quotes.issue(studio, "Barn", quotes.QuoteRequest(hours=10))
        quotes.issue(studio, "Barn", quotes.QuoteRequest(hours=12))
        assert [quote.state for quote in quotes.all_of(studio, "Barn")] == ["replaced", "open"]

    def test_an_expired_quote_is_not_accepted(self, studio: Studio, clock: FixedClock) -> None:
        quotes.issue(studio, "Barn", quotes.QuoteRequest(hours=10), valid_days=7)
        clock.forward(days=8)
        with pytest.raises(NotAllowed, match="expired"):
            accepting.accept(studio, "Barn")
        assert accepting.accept(studio, "Barn", studio.today() - timedelta(days=2)).accepted_on

    def test_the_day_of_a_yes_is_between_the_issue_and_today(
        self, studio: Studio, clock: FixedClock
    ) -> None:
        quotes.issue(studio, "Barn", quotes.QuoteRequest(hours=10))
        clock.forward(days=3)
        for days in (-4, 1):
            with pytest.raises(BadInput, match="is not between its issue and today"):
                accepting.accept(studio, "Barn", studio.today() + timedelta(days=days))
        for days in (-3, 0):
            assert accepting.accept(studio, "Barn", studio.today() + timedelta(days=days))

    def test_balance_counts_payments_and_refunds(self, studio: Studio) -> None:
        quotes.issue(studio, "Barn", quotes.QuoteRequest(hours=10))
        payments.take(studio, "Barn", "200", "deposit")
        payments.take(studio, "Barn", "50", "refund")
        assert commissions.show(studio, "Barn").balance == Decimal("256.98")
        with pytest.raises(NotAllowed, match=r"Only €150\.00"):
            payments.take(studio, "Barn", "150.01", "refund")

    def test_a_chance_that_rests_on_the_guess_alone_says_so(
        self, studio: Studio, photo: Path
    ) -> None:
        commissions.add(studio, Wishes(title="Vixen", size="20x15cm", species="basswood"))
        references.add(studio, "Vixen", photo, zones=3)
        wanted = quotes.QuoteRequest()
        first = quotes.issue(studio, "Vixen", wanted)
        assert (quotes.draft(studio, "Vixen", wanted).by_guess, first.by_guess) == (True, True)
        judged = quotes.draft(studio, "Vixen", quotes.QuoteRequest(hours=5))
        assert (judged.chance, judged.by_guess) == (None, False)
        past.add(studio, past.NewPastJob(title="Owl", size="20x30cm", hours=9))
        second = quotes.issue(studio, "Vixen", wanted)
        assert (quotes.draft(studio, "Vixen", wanted).by_guess, second.by_guess) == (False, False)
        # What was issued by the guess was.
        assert [one.by_guess for one in quotes.all_of(studio, "Vixen")] == [True, False]

    def test_the_chance_is_what_was_asked_for(self, studio: Studio, photo: Path) -> None:
        commissions.edit(studio, "Barn", Wishes(size="20x15cm"))
        references.add(studio, "Barn", photo, zones=3)
        for sure in (0.5, 0.8, 0.9):
            quote = quotes.draft(studio, "Barn", quotes.QuoteRequest(sure=sure))
            assert quote.chance == pytest.approx(sure, abs=0.005)

    def test_a_price_in_mind_says_how_likely_it_pays(self, studio: Studio, photo: Path) -> None:
        commissions.edit(studio, "Barn", Wishes(size="20x15cm"))
        references.add(studio, "Barn", photo, zones=3)
        usual = quotes.draft(studio, "Barn", quotes.QuoteRequest())
        net = usual.total - usual.tax
        low, same, high = (
            quotes.draft(studio, "Barn", quotes.QuoteRequest(price=str(round(net * share, 2))))
            for share in (Decimal("0.6"), Decimal(1), Decimal("1.5"))
        )
        assert same.total == usual.total
        assert same.chance == pytest.approx(usual.chance, abs=0.01)
        assert (low.chance or 0) < (same.chance or 0) < (high.chance or 0)
        assert sum(line.amount for line in low.lines) == low.total

    def test_nothing_to_reckon_from_is_said(self, studio: Studio) -> None:
        with pytest.raises(BadInput, match="no reference"):
            quotes.draft(studio, "Barn", quotes.QuoteRequest())


class TestBlanks:
    def test_is_held_by_one_job_only(self, studio: Studio) -> None:
        blanks.add(studio, BASSWOOD)
        for title in ("Barn", "Mill"):
            commissions.add(studio, Wishes(title=title))
        holding.hold(studio, "B-1", "Barn")
        with pytest.raises(NotAllowed, match="held for C-0001"):
            holding.hold(studio, "B-1", "Mill")
        with pytest.raises(NotAllowed, match="Release"):
            blanks.scrap(studio, "B-1", "cracked")
        holding.release(studio, "B-1")
        assert holding.hold(studio, "B-1", "Mill").held_for == "C-0002"

    def test_a_dropped_job_frees_it(self, studio: Studio) -> None:
        blanks.add(studio, BASSWOOD)
        commissions.add(studio, Wishes(title="Barn"))
        holding.hold(studio, "1", "Barn")
        endings.drop(studio, "Barn", "moved away")
        assert blanks.show(studio, "1").state == "in stock"

    def test_grits_go_one_way(self, studio: Studio) -> None:
        blanks.add(studio, BASSWOOD)
        assert blanks.sand(studio, "1", 220).grit == 220
        with pytest.raises(NotAllowed, match="reached 220"):
            blanks.sand(studio, "1", 120)
        assert len(blanks.sand(studio, "1", None).sanding_left) == 1


class TestFinding:
    def test_codes_numbers_and_titles(self, studio: Studio) -> None:
        for title in ("Old barn", "New barn", "Mill", "Barn"):
            commissions.add(studio, Wishes(title=title))
        for text_, code in (("C-0002", "C-0002"), ("c3", "C-0003"), ("4", "C-0004"),
                            ("mill", "C-0003"), ("barn", "C-0004"),
                            ("old BARN", "C-0001")):  # fmt: skip
            assert commissions.show(studio, text_).code == code
        with pytest.raises(NotFound, match="could be C-0001 'Old barn', C-0002 'New"):
            commissions.show(studio, "bar")
        with pytest.raises(NotFound, match="No commission"):
            commissions.show(studio, "C-0099")

    def test_control_characters_never_come_in(self, studio: Studio) -> None:
        made = commissions.add(studio, Wishes(title="Ba\x1b[31mrn\n\x07", client="M\x00a"))
        assert made.title == "Ba [31mrn"
        assert made.client == "M a"


class TestReview:
    def test_what_is_late_comes_first(self, studio: Studio, clock: FixedClock, photo: Path) -> None:
        for title, days in (("Later", 90), ("Soon", 5), ("Past", 1)):
            due = studio.today() + timedelta(days=days)
            commissions.add(studio, Wishes(title=title, size="20x15cm", due=due))
            references.add(studio, title, photo, zones=3)
            deposit = quotes.issue(studio, title, quotes.QuoteRequest()).deposit
            accepting.accept(studio, title)
            payments.take(studio, title, str(deposit), "deposit")
        clock.forward(days=3)
        found = review.review(studio)
        assert [job.title for job in found] == ["Past", "Soon", "Later"]
        assert found[0].attention == "2 days late"
        assert found[0].on_time == 0
        assert found[2].on_time is not None
        assert found[2].on_time > 0.9
        commissions.pause(studio, "Past", "waiting for a photo")
        assert review.review(studio)[-1].next_step == "set aside: waiting for a photo"


def test_the_history_says_which_settings_were_changed(studio: Studio) -> None:
    own = settings.save(studio, studio_settings.Settings(address="Mill Lane 1\nWoodham"))
    own = settings.parsed(own, "tax_percent", "19")
    settings.save(studio, settings.parsed(own, "hours", "4 4 4 4 4 0 2.5"))
    second, first = undo.happenings(studio)
    assert first.summary == "Changed the settings: address"
    assert second.summary == "Changed the settings: tax_percent 19, hours 4 4 4 4 4 0 2.5"
    settings.save(studio, settings.parsed(settings.current(studio), "address", ""))
    assert undo.undo_last(studio).summary == "Changed the settings: address none"


def test_the_history_says_settings_as_they_are_typed(studio: Studio, photo: Path) -> None:
    own = settings.save(studio, studio_settings.Settings())
    for name, value in (("currency", "GBP"), ("over_photo", "yes"), ("burning_hours", "3")):
        own = settings.parsed(own, name, value)
    settings.save(studio, own)
    said = "currency GBP, over_photo yes, hourly_target none, burning_hours 3"
    assert undo.undo_last(studio).summary == f"Changed the settings: {said}"
    settings.save(studio, settings.parsed(settings.current(studio), "mark", str(photo)))
    kept = settings.current(studio).mark
    said = undo.undo_last(studio).summary
    assert said == f"Changed the settings: mark an image, {kept[:8]}"
