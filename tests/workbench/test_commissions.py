"""Commissions at the workbench, from the enquiry to the hand-over."""

from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from textual.widgets import Input

from burnplan.desk.jobs import checklists, clients, commissions, endings
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.reckon.checklist import Phase
from burnplan.reckon.stages import Stage
from burnplan.workbench.picture import Picture
from tests.cases import quick_first
from tests.workbench.hand import SIZES, Hand, at_work, barn, settle_phases, states


@quick_first("size", SIZES, long=1)
def test_a_new_commission_is_logged_and_opened(studio: Studio, size: tuple[int, int]) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("n")
        await hand.fill(title="Old barn", client="Mara", size="20x15cm", due="in 3 weeks")
        assert hand.app.page_name == "job"
        assert "Old barn" in hand.text("#head")
        assert any("Prepare the wood" in line for line in hand.lines("#steps"))
        await hand.press("escape", "2")
        assert any("Old barn" in line for line in hand.lines("#jobs-list"))
        await hand.press("4")
        assert any("Mara" in line for line in hand.lines("#clients-list"))

    at_work(studio, desk, size)
    made = commissions.show(studio, "1")
    assert (made.title, made.client, made.due) == (
        "Old barn", "Mara", studio.today() + timedelta(weeks=3),
    )  # fmt: skip


@pytest.mark.long
def test_what_may_be_misspelt_is_asked_about_and_dates_are_the_locales(studio: Studio) -> None:
    clients.add(studio, "Anna Berg", clients.ClientDetails())
    said: list[str] = []

    async def desk(hand: Hand) -> None:
        await hand.press("n")
        await hand.fill(title="Fox", client="Ana Berg", species="baswood", due="3/4/2027")
        said.extend(one.message for one in hand.app._notifications)

    at_work(studio, desk)
    assert "New client: Ana Berg. Did you mean Anna Berg?" in said
    assert "'baswood' is not in the species table. Did you mean basswood?" in said
    assert commissions.show(studio, "1").due == date(2027, 4, 3)  # en_GB: the day first


@pytest.mark.long
def test_typing_goes_into_the_form_and_enter_moves_on(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("n", *"Owl", "enter", *"Ines", "enter", *["enter"] * 5)

    at_work(studio, desk)
    made = commissions.show(studio, "1")
    assert (made.title, made.client) == ("Owl", "Ines")


def test_what_is_wrong_shows_in_the_form_and_the_answers_stay(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("n")
        await hand.fill(title="Old barn", due="someday")
        assert "someday" in hand.question("#wrong")
        assert hand.app.screen.query_one("#title", Input).value == "Old barn"
        await hand.fill(due="friday")
        assert hand.app.page_name == "job"

    at_work(studio, desk)
    assert len(commissions.everything(studio, closed=True)) == 1


@pytest.mark.parametrize(
    ("name", "what"), [("client", "client"), ("size", "size"), ("species", "wood")]
)
def test_what_cannot_be_taken_out_is_said_where_it_is_emptied(
    studio: Studio, name: str, what: str
) -> None:
    wishes = Wishes(title="Fox", client="Mara", size="20x15cm", species="basswood")
    before = commissions.add(studio, wishes)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "e")
        await hand.fill(**{name: ""})
        assert f"The {what} cannot be taken out" in hand.question("#wrong")

    at_work(studio, desk)
    assert commissions.show(studio, "1").model_dump() == before.model_dump()


def test_a_form_that_is_left_changes_nothing(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("n", *"Owl", "escape")
        assert hand.app.page_name == "today"

    at_work(studio, desk)
    assert commissions.everything(studio, closed=True) == []


@pytest.mark.long
def test_steps_are_ticked_opened_again_and_skipped(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "space", "space")
        assert states(studio, code)[:3] == ["ticked", "ticked", "open"]
        assert "☑" in hand.lines("#steps")[1]
        await hand.press("up", "space")
        assert states(studio, code)[:3] == ["ticked", "open", "open"]
        await hand.press("x")
        await hand.fill(reason="")
        assert "empty" in hand.question("#wrong")
        await hand.fill(reason="offcut known")
        assert states(studio, code)[:3] == ["ticked", "skipped", "open"]
        assert any("offcut known" in line for line in hand.lines("#steps"))
        await hand.press("u")
        assert states(studio, code)[:3] == ["ticked", "open", "open"]

    at_work(studio, desk)


@pytest.mark.long
def test_every_tick_of_a_quick_hand_is_on_record(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        await hand.pilot.press("space", "down", "space", "down", "space")
        await hand.settle()

    at_work(studio, desk)
    assert states(studio, code).count("ticked") >= 2


@quick_first("size", SIZES, long=1)
def test_from_photo_to_quote_to_payment_to_hand_over(
    studio: Studio, photo: Path, size: tuple[int, int]
) -> None:
    code = commissions.add(studio, Wishes(title="Old barn", size="8x6cm")).code

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "r")
        await hand.fill(photo=str(photo) + "x")
        assert "no photo" in hand.question("#wrong")
        await hand.fill(photo=f"'{photo}'", zones="3")
        assert "Z3" in hand.text("#zones")
        assert hand.app.screen.query_one("#picture", Picture).size.height > 4
        await hand.press("v")

        await hand.press("i")
        await hand.settle()
        before = hand.question("#preview")
        assert "chance by the starting guess to earn" in before
        hand.app.screen.query_one("#packing", Input).value = "12.50"
        await hand.settle()
        assert hand.question("#preview") != before
        await hand.fill()
        assert quotes.show(studio, code).state == "open"
        assert "until" in hand.text("#money")
        assert "by the starting guess" in hand.text("#money")
        await hand.press("a")
        assert quotes.show(studio, code).state == "accepted"

        await hand.press("p")
        await hand.fill(kind="gift")
        assert "no kind" in hand.question("#wrong")
        await hand.fill(kind="deposit")
        assert commissions.show(studio, code).stage is Stage.BOOKED

        settle_phases(studio, code, Phase.PREPARE, Phase.TRANSFER, Phase.BURN, Phase.FINISH)
        hand.app.look()
        await hand.settle()
        await hand.press("p")
        await hand.fill()
        assert commissions.show(studio, code).balance == Decimal(0)
        await hand.press("d")
        assert "Pack it" in hand.question(".heading")
        await hand.press("escape", "d")
        assert commissions.show(studio, code).stage is Stage.READY
        await hand.press("enter")
        assert "handed over today" in hand.text("#head")

    at_work(studio, desk, size)
    assert commissions.show(studio, code).stage is Stage.DELIVERED
    assert states(studio, code).count("open") == 1
    assert [paid.kind for paid in payments.all_of(studio, code)] == ["deposit", "payment"]


@pytest.mark.long
def test_what_is_packed_and_paid_is_handed_over_without_a_question(studio: Studio) -> None:
    code = barn(studio)
    settle_phases(studio, code, Phase.PREPARE, Phase.TRANSFER, Phase.BURN, Phase.FINISH)
    checklists.tick(studio, code, ["pack"])

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "d")
        assert "handed over today" in hand.text("#head")

    at_work(studio, desk)
    assert set(states(studio, code)) == {"ticked"}


@pytest.mark.long
def test_a_price_in_mind_is_called_what_it_is_before_tax(studio: Studio) -> None:
    code = barn(studio)
    own = settings.current(studio)
    settings.save(studio, own.model_copy(update={"tax_percent": Decimal(20)}))

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "i")
        await hand.settle()
        assert "before tax" in hand.app.screen.query_one("#price", Input).placeholder
        await hand.fill(hours="6", price="300")

    at_work(studio, desk)
    assert quotes.show(studio, code).total == 360


@pytest.mark.long
def test_a_quote_without_a_reference_says_what_is_missing(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "i")
        await hand.settle()
        assert "no reference" in hand.question("#preview")
        await hand.fill()
        assert "no reference" in hand.question("#wrong")
        await hand.fill(hours="-3")
        assert "not hours of work between 0.01 and 5000" in hand.question("#wrong")
        await hand.fill(hours="6")

    at_work(studio, desk)
    assert quotes.show(studio, "1").hours_p50 == pytest.approx(6.0)


@pytest.mark.long
def test_a_job_is_set_aside_taken_up_again_and_dropped(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "o")
        await hand.fill(reason="")
        assert "empty" in hand.question("#wrong")
        await hand.fill(reason="photo to come")
        assert "set aside" in hand.text("#head")
        assert "photo to come" in hand.text("#head")
        await hand.press("o")
        assert commissions.show(studio, code).paused is None
        await hand.do("drop")
        await hand.fill(reason="moved away")
        assert "dropped" in hand.text("#head")
        await hand.press("u")
        assert commissions.show(studio, code).dropped is None
        await hand.do("drop")
        await hand.fill(reason="moved away")

    at_work(studio, desk)
    assert commissions.show(studio, code).dropped == "moved away"


@pytest.mark.long
def test_a_drop_asks_what_is_owed_where_a_deposit_came_in(studio: Studio) -> None:
    code = barn(studio)
    quotes.issue(studio, code, quotes.QuoteRequest(hours=4, price="200"))
    accepting.accept(studio, code)
    payments.take(studio, code, "60", "deposit")

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        await hand.do("drop")
        await hand.press("down", "down", "enter")  # nothing, the deposit, the work
        await hand.fill(reason="moved away", amount="80")

    at_work(studio, desk)
    found = commissions.show(studio, code)
    assert found.drop_terms == "work"
    assert found.to_pay == 80
    assert found.balance == 20


@pytest.mark.long
def test_what_is_owed_for_a_piece_delivered_stays_in_sight_and_is_written_off(
    studio: Studio,
) -> None:
    code = barn(studio)
    quotes.issue(studio, code, quotes.QuoteRequest(hours=4, price="200"))
    accepting.accept(studio, code)
    endings.deliver(studio, code)

    async def desk(hand: Hand) -> None:
        await hand.press("2")
        assert "Old barn" in hand.lines("#jobs-list")[0]
        await hand.press("enter")
        await hand.do("write_off")
        await hand.fill(reason="not a word since")
        assert "written off" in hand.text("#money")
        await hand.press("2")
        assert hand.lines("#jobs-list") == []

    at_work(studio, desk)
    assert commissions.show(studio, code).balance == 0


@pytest.mark.long
def test_what_is_asked_for_is_changed_and_the_rest_left_alone(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "e")
        await hand.fill(use="bath")
        assert "indoor, outdoor, food" in hand.question("#wrong")
        await hand.fill(use="food", note="a bread board")
        assert "a bread board" in hand.text("#head")

    at_work(studio, desk)
    one = commissions.show(studio, code)
    assert (one.title, one.client, one.use, one.note) == (
        "Old barn",
        "Mara",
        "food",
        "a bread board",
    )


@pytest.mark.long
def test_a_step_of_ones_own_is_added(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        await hand.do("add_step")
        await hand.fill(text="Drill the hanging hole", phase="fin")

    at_work(studio, desk)
    own = [step for step in checklists.of(studio, code).steps if "Drill" in step.text]
    assert [step.phase for step in own] == [Phase.FINISH]


@pytest.mark.long
def test_a_price_in_mind_shows_what_it_would_earn_before_it_is_issued(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "i")
        form = hand.app.screen
        shown = []
        for hours, price in (("10", ""), ("10", "400"), ("10", "100")):
            form.query_one("#hours", Input).value = hours
            form.query_one("#price", Input).value = price
            await hand.settle()
            shown.append(hand.question("#preview"))
        assert len(set(shown)) == 3
        assert "400.00" in shown[1]
        await hand.press("escape")

    at_work(studio, desk)
    assert quotes.all_of(studio, code) == []


@pytest.mark.long
def test_a_key_that_can_do_nothing_says_why(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "a")
        assert any("No quote waits" in word for word in hand.said)
        await hand.press("d")
        assert any("not ready yet" in word for word in hand.said)

    at_work(studio, desk)


@pytest.mark.long
def test_the_name_of_a_client_is_completed(studio: Studio) -> None:
    clients.add(studio, "Mara Lindqvist", clients.ClientDetails())

    async def desk(hand: Hand) -> None:
        await hand.press("n", *"Owl", "enter", *"mara", "right")
        assert hand.app.screen.query_one("#client", Input).value == "Mara Lindqvist"

    at_work(studio, desk)
