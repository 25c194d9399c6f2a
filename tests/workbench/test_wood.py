"""Blanks at the workbench: in stock, held, and what must not be burned."""

from datetime import timedelta

import pytest

from burnplan.desk.jobs import checklists, commissions, holding, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, conditioning, hazards
from burnplan.reckon.checklist import Phase
from burnplan.workbench.forms import Choice, Form
from burnplan.workbench.listing import Listing
from tests.cases import quick_first
from tests.workbench.hand import BASSWOOD, Hand, at_work, barn, settle_phases, states


@pytest.mark.long
def test_a_blank_is_held_from_the_jobs_side(studio: Studio) -> None:
    code, wood = barn(studio), blanks.add(studio, BASSWOOD).code

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "h")
        assert isinstance(hand.app.screen, Choice)
        await hand.press("enter")
        assert wood in hand.text("#head")
        assert "ticked" not in states(studio, code)
        await hand.press("3")
        assert "held C-0001" in hand.lines("#blanks-list")[0]

    at_work(studio, desk)
    assert blanks.show(studio, wood).held_for == code


@pytest.mark.long
def test_a_blank_is_put_in_stock_and_held_from_its_own_side(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("3", "b")
        await hand.fill(species="basswood", size="20x15cm", grit="rough")
        assert "not a number" in hand.question("#wrong")
        await hand.fill(grit="150")
        await hand.press("h", "enter")

    at_work(studio, desk)
    assert blanks.show(studio, "1").held_for == code


@pytest.mark.long
def test_a_blank_that_must_not_be_burned_is_held_only_with_a_reason(studio: Studio) -> None:
    code, wood = barn(studio), blanks.add(studio, BASSWOOD).code

    async def desk(hand: Hand) -> None:
        await hand.press("3", "m")
        await hand.fill(kind="painted", note="old door")
        assert "blocked" in hand.text("#blank")
        await hand.press("1", "enter", "h", "enter")
        form = hand.app.screen
        assert isinstance(form, Form)
        assert "paint" in hand.question(".warning").lower()
        await hand.fill(reason="")
        assert "empty" in hand.question("#wrong")
        await hand.press("escape")
        assert blanks.show(studio, wood).held_for is None
        await hand.press("h", "enter")
        await hand.fill(reason="planed to clean wood")

    at_work(studio, desk)
    held = blanks.show(studio, wood)
    assert held.held_for == code
    assert [hazard.override for hazard in held.hazards] == ["planed to clean wood"]


@pytest.mark.long
def test_a_hazard_found_later_blocks_burning_until_it_is_set_aside(studio: Studio) -> None:
    code, wood = barn(studio), blanks.add(studio, BASSWOOD).code
    holding.hold(studio, wood, code)
    hazards.note(studio, wood, ["treated"])

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "t")
        await hand.fill(work="burn")
        assert "must not be burned" in hand.question("#wrong")
        assert "Set a hazard aside" in hand.question("#wrong")
        await hand.press("escape")
        await hand.do("override")
        await hand.fill(reason="tested: bare")

    at_work(studio, desk)
    assert [hazard.override for hazard in blanks.show(studio, wood).hazards] == ["tested: bare"]


@pytest.mark.long
def test_a_blank_is_released(studio: Studio) -> None:
    code, wood = barn(studio), blanks.add(studio, BASSWOOD).code
    holding.hold(studio, wood, code)

    async def desk(hand: Hand) -> None:
        await hand.press("3", "r")

    at_work(studio, desk)
    assert blanks.show(studio, wood).state == "in stock"


def test_end_grain_that_may_check_says_so_on_its_page(studio: Studio) -> None:
    wood = blanks.add(studio, BASSWOOD).code
    conditioning.set_grain(studio, wood, "end-grain")

    async def desk(hand: Hand) -> None:
        await hand.press("3")
        assert "End grain can check" in hand.text("#blank")

    at_work(studio, desk)


def test_the_first_blank_shown_takes_the_width_there_is(studio: Studio) -> None:
    blanks.add(studio, BASSWOOD)

    async def desk(hand: Hand) -> None:
        await hand.press("3")
        await hand.pilot.pause(0.1)  # laid out, then filled
        assert max(len(line) for line in hand.text("#blank").splitlines()) > 60

    at_work(studio, desk)


@pytest.mark.long
def test_a_ruined_piece_begins_again_on_another_blank(studio: Studio) -> None:
    code = barn(studio)
    held, spare = (blanks.add(studio, BASSWOOD).code for _ in range(2))
    holding.hold(studio, held, code)
    settle_phases(studio, code, Phase.PREPARE)
    sessions.log(studio, code, timedelta(hours=2), sessions.Doing(work="prepare"))

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        await hand.do("restart")
        await hand.press("enter")
        await hand.fill(reason="scorched")
        assert "begun again: scorched" in hand.text("#head")
        assert "2 h spoiled" in hand.text("#hours")

    at_work(studio, desk)
    assert blanks.show(studio, held).state == "scrapped"
    assert commissions.show(studio, code).blank == spare
    assert set(states(studio, code)) == {"open"}


@pytest.mark.long
def test_holding_and_editing_ask_about_steps_that_they_undo(studio: Studio) -> None:
    code = barn(studio)
    blanks.add(studio, blanks.NewBlank(species="basswood", size="30x20cm"))
    settle_phases(studio, code, Phase.PREPARE, Phase.TRANSFER)

    def ticked(*keys: str) -> set[str]:
        return {s.state for s in checklists.of(studio, code).steps if s.key in keys}

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "e")
        await hand.fill(size="24x18cm")
        await hand.press("down", "enter")  # it stays ticked
        assert ticked("features", "sand-120") == {"ticked"}
        await hand.press("e")
        await hand.fill(size="25x18cm")
        await hand.press("enter")  # open it again
        assert ticked("features") == {"open"}
        assert ticked("sand-120") == {"ticked"}
        await hand.press("h", "enter", "enter")
        assert ticked("sand-120") == {"open"}

    at_work(studio, desk)
    assert commissions.show(studio, code).blank == "B-0001"


@pytest.mark.long
def test_a_job_of_what_must_not_be_burned_is_stopped_without_a_blank_too(studio: Studio) -> None:
    code = commissions.add(studio, Wishes(title="Fox", size="20x15cm", species="MDF")).code

    async def desk(hand: Hand) -> None:
        assert "must not be burned: mdf" in " ".join(hand.lines("#day"))
        await hand.press("2", "enter")
        assert "Must not be burned (mdf)" in hand.text("#head")
        await hand.press("t")
        await hand.fill(work="burn")
        assert "must not be burned" in hand.question("#wrong")
        await hand.press("escape", "g")
        await hand.fill(length="1h", work="burn")
        assert "must not be burned" in hand.question("#wrong")
        await hand.press("escape", "escape", "3", "b")
        await hand.fill(species="MDF", size="20x15cm")
        assert "blocked" in hand.lines("#blanks-list")[0]

    at_work(studio, desk)
    assert sessions.all_of(studio, code) == []


@quick_first("size", [(80, 24), (100, 30), (160, 40)])
def test_a_blocked_blank_is_so_in_words_however_wide(studio: Studio, size: tuple[int, int]) -> None:
    blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm", note="painted back"))
    holding.hold(
        studio,
        blanks.add(studio, blanks.NewBlank(species="western red cedar", size="oval 20x15cm")).code,
        commissions.add(studio, Wishes(title="Fox", size="20x15cm")).code,
    )

    async def desk(hand: Hand) -> None:
        await hand.press("3")
        seen = hand.app.screen.query_one("#blanks-list", Listing).lines.size.width
        blocked, held = (line[:seen] for line in hand.lines("#blanks-list"))
        assert "blocked" in blocked
        assert "held C-0001" in held

    at_work(studio, desk, size=size)
