"""The workbench does what was meant: once, where the cursor is, and on the job that is shown."""

import asyncio
from time import monotonic

import pytest
from textual.events import Key

from burnplan.desk.jobs import checklists, commissions, endings
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.reckon.checklist import Phase
from burnplan.workbench.actions import ALL
from burnplan.workbench.forms import Choice, Form
from burnplan.workbench.presses import GAP, SOON, Press, Presses
from tests import books
from tests.cases import quick_first
from tests.conftest import FixedClock
from tests.workbench.hand import BASSWOOD, Hand, again, at_work, barn, hold, settle_phases, states


def _pressed(*times: float) -> list[Press]:
    presses, found = Presses(), []
    for at in times:
        presses.note("space", at)
        found.append(presses.last)
    return found


def test_a_key_held_down_is_told_from_one_pressed_again() -> None:
    first, again, held = Press.FIRST, Press.AGAIN, Press.HELD
    assert _pressed(0, 1, 2) == [first] * 3
    assert _pressed(0, 0.4, 0.8) == [first, again, again]
    assert _pressed(0, 0.5, 0.53, 0.56, 0.59) == [first, again, held, held, held]
    presses = Presses()
    for key in ("space", "u", "space"):
        presses.note(key, 0.0)
        assert presses.last is first
    assert GAP < SOON


@pytest.mark.long
def test_a_key_held_down_writes_once(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("enter")
        await hold(hand, "space")
        assert states(studio, code).count("ticked") == 1
        await hand.press("space", "space")
        assert states(studio, code).count("ticked") == 3
        await hold(hand, "u")
        assert states(studio, code).count("ticked") == 2

    at_work(studio, desk)


@pytest.mark.long
def test_a_key_that_may_be_held_down_shows_at_once_that_it_was_pressed(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = barn(studio)
    monkeypatch.setattr("burnplan.workbench.app.GAP", 1.0)  # time to look, on a busy machine too

    async def desk(hand: Hand) -> None:
        await hand.press("enter", "space")
        assert not hand.text("#running").startswith("…")
        hand.app.presses._at = monotonic() - 0.4
        hand.app.post_message(Key("space", " "))
        await hand.pilot.pause()
        assert hand.text("#running").startswith("…")
        assert states(studio, code).count("ticked") == 1, "it may be held down yet"
        await hand.settle()
        assert not hand.text("#running").startswith("…")
        assert states(studio, code).count("ticked") == 2

    at_work(studio, desk)


@pytest.mark.long
def test_a_key_pressed_again_soon_is_done_before_the_next_one(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("enter", "space")
        await again(hand, "space")
        assert states(studio, code)[:3] == ["ticked", "ticked", "open"]
        await again(hand, "space", "k", "k", "k")
        step = hand.app.job_page.step
        assert step is not None
        assert (states(studio, code)[2], step.number) == ("ticked", 1), "in the order pressed"

    at_work(studio, desk)


@pytest.mark.long
def test_the_cursor_stays_on_its_step_when_others_come_and_go(studio: Studio) -> None:
    code = barn(studio)
    other = books.open_at(studio.home, studio.clock)

    async def desk(hand: Hand) -> None:
        await hand.press("enter", *["down"] * 12)
        step = hand.app.job_page.step
        assert step is not None
        commissions.edit(other, code, Wishes(use="food"))  # another step before it, or one less
        checklists.add(other, code, "Ask about the frame", "prepare")
        await hand.app._each_second()
        await hand.settle()
        now = hand.app.job_page.step
        assert now is not None
        assert now.key == step.key
        assert now.number != step.number, "else this says nothing"
        await hand.pilot.resize_terminal(130, 30)
        await hand.settle()
        after = hand.app.job_page.step
        assert after is not None
        assert after.key == step.key

    at_work(studio, desk)
    other.close()


def test_after_a_tick_the_next_open_step_is_under_the_cursor(studio: Studio) -> None:
    code = barn(studio)
    checklists.tick(studio, code, ["2", "3"])

    async def desk(hand: Hand) -> None:
        await hand.press("enter", "space")
        step = hand.app.job_page.step
        assert step is not None
        assert step.number == 4

    at_work(studio, desk)


@pytest.mark.long
def test_as_a_phase_folds_the_cursor_goes_to_the_first_step_after(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("enter")
        page = hand.app.job_page
        steps = checklists.of(studio, code).steps
        prepare = [step for step in steps if step.phase is Phase.PREPARE]
        await hand.press(*["space"] * len(prepare))
        assert page.step is not None
        assert page.step.key == steps[len(prepare)].key, "none is passed over"
        assert page.listing.border_title == "Checklist: Transfer the picture"
        await hand.press("x")
        await hand.fill(reason="printed elsewhere")
        assert page.step.key == steps[len(prepare) + 1].key, "after a skip too"

    at_work(studio, desk, size=(120, 40))


@quick_first("key", ["enter", "escape"])
def test_what_was_done_before_this_sitting_is_asked_about(
    studio: Studio, clock: FixedClock, key: str
) -> None:
    code = barn(studio)
    checklists.tick(studio, code, ["1"])
    clock.forward(days=1)

    async def desk(hand: Hand) -> None:
        await hand.press("u")
        assert "before this sitting" in hand.question(".warning")
        assert "Ticked" in hand.question(".warning")
        await hand.press(key)
        taken = key == "enter"
        assert states(studio, code).count("ticked") == (0 if taken else 1)
        assert any("Undid: Ticked" in said for said in hand.said) is taken

    at_work(studio, desk)


@pytest.mark.long
def test_what_is_of_another_job_than_the_one_shown_is_asked_about(
    studio: Studio, clock: FixedClock
) -> None:
    fox = barn(studio)
    other = commissions.add(studio, Wishes(title="Wren")).code

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        shown = hand.app.job_page.code
        elsewhere = other if shown == fox else fox
        clock.forward(minutes=1)
        await asyncio.to_thread(checklists.tick, studio, elsewhere, ["1"])
        await hand.press("u")
        assert isinstance(hand.app.screen, Form)
        assert f"done to {elsewhere}, not to {shown}" in hand.question(".warning")
        # Meanwhile something else is done: not that is taken back.
        await asyncio.to_thread(checklists.tick, studio, elsewhere, ["2"])
        await hand.press("enter")
        assert "Something else was done meanwhile" in hand.question("#wrong")
        await hand.press("escape", "u", "enter")
        assert states(studio, elsewhere).count("ticked") == 1
        await hand.press("space", "u")
        assert hand.app.screen is hand.app.screen_stack[0], "this one is of the job shown"

    at_work(studio, desk)


@pytest.mark.long
def test_what_is_finished_folds_to_a_line_and_unfolds(studio: Studio) -> None:
    code = barn(studio)
    settle_phases(studio, code, Phase.PREPARE)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        page = hand.app.job_page
        step = page.step
        assert step is not None
        assert step.phase is Phase.TRANSFER
        assert page.listing.border_title == "Checklist: Transfer the picture"
        assert "▸ Prepare the wood" in hand.lines("#steps")[0]
        folded = len(hand.lines("#steps"))
        await hand.press("home", "space")
        assert len(hand.lines("#steps")) > folded
        await hand.press("down", "space")  # its first step is open again: so it is unfolded
        assert states(studio, code)[0] == "open"
        assert page.step is not None
        assert page.step.number == 1
        await hand.press("space")
        assert states(studio, code)[0] == "ticked"

    at_work(studio, desk)


@pytest.mark.long
def test_a_caution_takes_a_line_where_there_is_little_room_and_a_key_has_it_whole(
    studio: Studio,
) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "down")
        step = hand.app.job_page.step
        assert step is not None
        assert hand.text("#caution") == f"! m {step.caution}"
        assert hand.app.screen.query_one("#caution").size.height == 1
        await hand.press("m")
        assert step.caution in hand.said

    at_work(studio, desk)


@pytest.mark.long
def test_a_list_is_searched_and_shown_whole_again(studio: Studio) -> None:
    barn(studio)
    commissions.add(studio, Wishes(title="Wren", client="Ödön"))

    async def desk(hand: Hand) -> None:
        await hand.press("2", "slash", *"öd")
        assert [line.split()[1] for line in hand.lines("#jobs-list")] == ["Wren"]
        await hand.press("enter", "enter")
        assert hand.app.job_page.code == "C-0002"
        await hand.press("escape")
        assert hand.app.page_name == "jobs"
        assert len(hand.lines("#jobs-list")) == 1
        await hand.press("escape")
        assert len(hand.lines("#jobs-list")) == 2

    at_work(studio, desk)


@pytest.mark.long
def test_every_key_of_a_page_is_listed_and_can_be_chosen(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "question_mark")
        choice = hand.app.screen
        assert isinstance(choice, Choice)
        frame = {"page 1", "back", "all"}
        listed = {name for name, _ in choice.choices}
        assert frame <= listed
        working = {
            action.name
            for action in ALL.values()
            if action.key and action.page in ("", "job") and action.can(hand.app)
        }
        assert listed - frame == working
        await hand.press("escape", "f1", "enter")
        assert states(studio, "C-0001").count("ticked") == 1, "the first is ticking"

    at_work(studio, desk)


@pytest.mark.long
def test_the_palette_finds_closed_jobs_clients_and_blanks(studio: Studio) -> None:
    barn(studio)
    wren = commissions.add(studio, Wishes(title="Wren")).code
    endings.drop(studio, wren, "no time", None)
    blanks.add(studio, BASSWOOD)

    async def desk(hand: Hand) -> None:
        await hand.press("ctrl+p", *"wren", "enter")
        assert hand.app.job_page.code == wren
        await hand.press("ctrl+p", *"B-0001", "enter")
        assert hand.app.page_name == "blanks"
        for _ in range(200):  # a page made just now is laid out in a moment of its own
            if hand.app.page.listing.key is not None:
                break
            await asyncio.sleep(0.01)
            await hand.settle()
        assert hand.app.page.listing.key == "B-0001"
        await hand.press("ctrl+p", *"P-0001", "enter")
        assert hand.app.page_name == "clients"

    at_work(studio, desk)
