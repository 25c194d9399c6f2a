"""Blanks at the workbench: in stock, held, and what must not be burned."""

from burnplan.desk.jobs import holding
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, hazards
from burnplan.workbench.forms import Choice, Form
from tests.workbench.hand import BASSWOOD, Hand, at_work, barn, states


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


def test_a_blank_is_released(studio: Studio) -> None:
    code, wood = barn(studio), blanks.add(studio, BASSWOOD).code
    holding.hold(studio, wood, code)

    async def desk(hand: Hand) -> None:
        await hand.press("3", "r")

    at_work(studio, desk)
    assert blanks.show(studio, wood).state == "in stock"


def test_the_first_blank_shown_takes_the_width_there_is(studio: Studio) -> None:
    blanks.add(studio, BASSWOOD)

    async def desk(hand: Hand) -> None:
        await hand.press("3")
        await hand.pilot.pause(0.1)  # laid out, then filled
        assert max(len(line) for line in hand.text("#blank").splitlines()) > 60

    at_work(studio, desk)
