"""The clock at the workbench, and the hours it puts on record."""

from datetime import timedelta

import pytest
from textual.widgets import Digits, Input
from textual.widgets._toast import Toast

from burnplan.desk.jobs import sessions
from burnplan.desk.studio.studio import Studio
from burnplan.reckon.checklist import Phase
from tests.conftest import FixedClock
from tests.workbench.hand import Hand, at_work, barn, settle_phases


def test_the_clock_starts_pauses_runs_on_and_stops(studio: Studio, clock: FixedClock) -> None:
    code = barn(studio)
    settle_phases(studio, code, Phase.PREPARE, Phase.TRANSFER)

    async def desk(hand: Hand) -> None:
        def digits() -> str:
            return hand.app.screen.query_one(Digits).value

        await hand.press("c")
        session = sessions.open_now(studio)
        assert session is not None
        assert (session.code, session.work, session.state) == (code, "burn", "running")
        assert "Draw the smoke away at its source" in hand.text("#mind")  # the first time in full
        assert "Take a break at" in hand.text("#mind")
        clock.forward(minutes=25, seconds=7)
        hand.app.show_clock()
        assert digits() == "0:25:07"
        assert "0:25:07" in hand.text("#running")
        await hand.press("c")
        clock.forward(hours=1)
        hand.app.show_clock()
        assert digits() == "0:25:07"
        await hand.press("c")
        clock.forward(minutes=5)
        await hand.press("s")
        assert sessions.open_now(studio) is None
        assert "the bench" in hand.text("#mind")
        mind = hand.app.screen.query_one("#mind")
        assert mind.display
        (told,) = hand.app.screen.query(Toast)
        assert not told.region.overlaps(mind.region), "what is said hides what to mind"
        assert digits() == "0:00:00"
        # No clock runs: its key is off the key line, and pressing it does no harm.
        await hand.press("s")

    at_work(studio, desk)
    (done,) = sessions.all_of(studio, code)
    assert done.state == "done"
    assert done.hours == pytest.approx((25 * 60 + 7 + 5 * 60) / 3600)


@pytest.mark.long
def test_the_clock_is_started_for_the_step_under_the_cursor(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "end", "up", "up", "up", "c")

    at_work(studio, desk)
    session = sessions.open_now(studio)
    assert session is not None
    assert session.work == "finish"


def test_from_a_list_the_clock_is_started_for_the_next_open_step(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("c")

    at_work(studio, desk)
    session = sessions.open_now(studio)
    assert session is not None
    assert session.work == "prepare"


@pytest.mark.usefixtures("looks_when_told")
def test_the_clock_of_another_terminal_is_not_started_twice(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        sessions.start(studio, "1", sessions.Doing(work="transfer"))
        # Pressed before the workbench has noticed.
        await hand.press("c")
        assert any("clock is running" in word for word in hand.said)

    at_work(studio, desk)
    assert len(sessions.all_of(studio, None)) == 1


@pytest.mark.long
def test_tip_heat_and_zone_are_said_at_the_start_and_a_note_at_the_stop(
    studio: Studio, clock: FixedClock
) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "t")
        assert hand.app.screen.query_one("#work", Input).value == "prepare"
        await hand.fill(work="burn", zone="dark")
        assert "no zone" in hand.question("#wrong")
        await hand.fill(work="burn", zone="Z2", tip="shader 4 mm", heat="6.5")
        await hand.press("1")
        assert "burn · Z2 · shader 4 mm · heat 6.5" in hand.text("#doing")
        clock.forward(hours=9)
        await hand.press("t")
        await hand.fill(at="11:30", note="left eye done")
        await hand.press("2", "enter")
        assert "shader 4 mm · heat 6.5 · left eye done" in hand.text("#hours")

    at_work(studio, desk)
    (done,) = sessions.all_of(studio, code)
    assert (done.zone, done.tip, done.heat, done.note) == (2, "shader 4 mm", "6.5", "left eye done")
    assert done.hours == pytest.approx(2.5)  # the fixed clock starts at 9:00


@pytest.mark.long
def test_a_clock_left_running_for_long_is_doubted(studio: Studio, clock: FixedClock) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "c")
        clock.forward(hours=7)
        await hand.press("s")
        assert any("If the clock was forgotten" in word for word in hand.said)

    at_work(studio, desk)


@pytest.mark.long
def test_hours_are_logged_after_the_fact(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "g")
        await hand.fill(length="two", ended="yesterday 18:30")
        assert "two" in hand.question("#wrong")
        await hand.fill(length="1h30")
        assert "Tue 16 Mar, 17:00 to 18:30" in hand.said[-1]
        await hand.press("g")
        await hand.fill(length="1h", ended="yesterday 18:00")
        assert "Overlaps session 1" in hand.said[-1]
        await hand.press("u")

    at_work(studio, desk)
    (logged,) = sessions.all_of(studio, code)
    assert logged.hours == pytest.approx(1.5)
    assert logged.ended_at is not None
    assert studio.local(logged.ended_at).hour == 18
    assert studio.local(logged.ended_at).date() == studio.today() - timedelta(days=1)
