"""The workbench driven by its keys, at two sizes, on a fixed clock."""

import asyncio
from collections.abc import Awaitable, Callable
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Digits, Input, Static

from burnplan.desk import (
    blanks,
    checklists,
    clients,
    commissions,
    jobs,
    payments,
    quotes,
    references,
    sessions,
    undo,
)
from burnplan.desk.commissions import Wishes
from burnplan.desk.studio import Studio
from burnplan.reckon.checklist import Phase
from burnplan.reckon.stages import Stage
from burnplan.workbench.app import Workbench
from burnplan.workbench.forms import Choice, Form
from burnplan.workbench.halfblocks import Picture
from burnplan.workbench.listing import Listing
from burnplan.workbench.palette import Everything
from tests import books
from tests.conftest import FixedClock

SIZES = ((80, 24), (120, 40))
BASSWOOD = blanks.NewBlank(species="basswood", size="20x15cm", cost="8.50", grit=150)

Desk = Callable[["Hand"], Awaitable[None]]


class Hand:
    """The artist's hand on the keys; waits until the workbench has done what was asked."""

    def __init__(self, app: Workbench, pilot: Pilot[None]) -> None:
        self.app, self.pilot = app, pilot

    async def settle(self) -> None:
        for _ in range(1000):
            await self.pilot.pause(0.01)
            if all(worker.is_finished for worker in self.app.workers):
                break
        await self.pilot.pause(0.01)

    async def press(self, *keys: str) -> None:
        for key in keys:
            await self.pilot.press(key)
            await self.settle()

    async def fill(self, **answers: str) -> None:
        """Fill a form in and send it."""
        await self.settle()
        form = self.app.screen
        assert isinstance(form, Form), form
        for name, text in answers.items():
            form.query_one(f"#{name}", Input).value = text
        await self.press("ctrl+s")

    def text(self, selector: str) -> str:
        return str(self.app.screen_stack[0].query_one(selector, Static).content)

    def lines(self, selector: str) -> list[str]:
        listing = self.app.screen_stack[0].query_one(selector, Listing)
        rows = listing.lines.rows
        return [rows.draw(row).plain for row in range(len(rows.keys))]

    @property
    def said(self) -> list[str]:
        return [notice.message for notice in self.app._notifications]


def at_work(studio: Studio, desk: Desk, size: tuple[int, int] = (80, 24)) -> None:
    """Open the workbench, let the hand do its work, and close it."""

    async def run() -> None:
        app = Workbench(studio)
        async with app.run_test(size=size, notifications=True) as pilot:
            hand = Hand(app, pilot)
            await hand.settle()
            await desk(hand)

    asyncio.run(run())


@pytest.fixture(params=SIZES, ids=["80x24", "120x40"])
def size(request: pytest.FixtureRequest) -> tuple[int, int]:
    found: tuple[int, int] = request.param
    return found


def barn(studio: Studio) -> str:
    wishes = Wishes(title="Old barn", client="Mara", size="20x15cm", species="basswood")
    return commissions.add(studio, wishes).code


def states(studio: Studio, code: str) -> list[str]:
    return [step.state for step in checklists.of(studio, code).steps]


def test_an_empty_book_says_what_to_do(studio: Studio, size: tuple[int, int]) -> None:
    async def desk(hand: Hand) -> None:
        for key, page, word in (
            ("1", "#next", "Press n"),
            ("2", "#jobs-list", "Press n"),
            ("3", "#blanks-list", "Press b"),
            ("4", "#clients-list", "first commission"),
        ):
            await hand.press(key)
            empty = hand.app.screen.query_one(f"{page} .empty", Static)
            assert empty.display
            assert word in str(empty.content)

    at_work(studio, desk, size)


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
        assert "someday" in str(hand.app.screen.query_one("#wrong", Static).content)
        assert hand.app.screen.query_one("#title", Input).value == "Old barn"
        await hand.fill(due="friday")
        assert hand.app.page_name == "job"

    at_work(studio, desk)
    assert len(commissions.everything(studio, closed=True)) == 1


def test_a_form_that_is_left_changes_nothing(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("n", *"Owl", "escape")
        assert hand.app.page_name == "today"

    at_work(studio, desk)
    assert commissions.everything(studio, closed=True) == []


def test_steps_are_ticked_opened_again_and_skipped(studio: Studio, size: tuple[int, int]) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "space", "space")
        assert states(studio, code)[:3] == ["ticked", "ticked", "open"]
        assert "☑" in hand.lines("#steps")[1]
        await hand.press("up", "space")
        assert states(studio, code)[:3] == ["ticked", "open", "open"]
        await hand.press("x")
        await hand.fill(reason="")
        assert "empty" in str(hand.app.screen.query_one("#wrong", Static).content)
        await hand.fill(reason="offcut known")
        assert states(studio, code)[:3] == ["ticked", "skipped", "open"]
        assert any("offcut known" in line for line in hand.lines("#steps"))
        await hand.press("u")
        assert states(studio, code)[:3] == ["ticked", "open", "open"]

    at_work(studio, desk, size)


def test_every_tick_of_a_quick_hand_is_on_record(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        await hand.pilot.press("space", "down", "space", "down", "space")
        await hand.settle()

    at_work(studio, desk)
    assert states(studio, code).count("ticked") >= 2


def test_the_clock_starts_pauses_runs_on_and_stops(
    studio: Studio, clock: FixedClock, size: tuple[int, int]
) -> None:
    code = barn(studio)
    for phase in (Phase.PREPARE, Phase.TRANSFER):
        steps = checklists.of(studio, code).steps
        checklists.tick(studio, code, [s.key for s in steps if s.phase is phase])

    async def desk(hand: Hand) -> None:
        def digits() -> str:
            return hand.app.screen.query_one(Digits).value

        await hand.press("c")
        session = sessions.open_now(studio)
        assert session is not None
        assert (session.code, session.work, session.state) == (code, "burn", "running")
        assert any("smoke" in word for word in hand.said)
        clock.forward(minutes=25, seconds=7)
        hand.app._show_clock()
        assert digits() == "0:25:07"
        assert "0:25:07" in hand.text("#running")
        await hand.press("c")
        clock.forward(hours=1)
        hand.app._show_clock()
        assert digits() == "0:25:07"
        await hand.press("c")
        clock.forward(minutes=5)
        await hand.press("s")
        assert sessions.open_now(studio) is None
        assert digits() == "0:00:00"
        # No clock runs: its key is off the key line, and pressing it does no harm.
        await hand.press("s")

    at_work(studio, desk, size)
    (done,) = sessions.all_of(studio, code)
    assert done.state == "done"
    assert done.hours == pytest.approx((25 * 60 + 7 + 5 * 60) / 3600)


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


def test_a_killed_workbench_leaves_clock_and_ticks_in_the_book(
    studio: Studio, clock: FixedClock
) -> None:
    code = barn(studio)

    class Killed(Exception):
        pass

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "space", "c")
        raise Killed

    with pytest.raises(Killed):
        at_work(studio, desk)
    clock.forward(hours=2)
    again = books.open_at(studio.home, clock)
    session = sessions.open_now(again)
    assert session is not None
    assert session.state == "running"
    assert session.hours == pytest.approx(2.0)
    assert states(again, code)[0] == "ticked"
    again.close()


def test_a_blank_is_held_from_the_jobs_side(studio: Studio, size: tuple[int, int]) -> None:
    code, wood = barn(studio), blanks.add(studio, BASSWOOD).code

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "h")
        assert isinstance(hand.app.screen, Choice)
        await hand.press("enter")
        assert wood in hand.text("#head")
        assert "ticked" not in states(studio, code)
        await hand.press("3")
        assert "held C-0001" in hand.lines("#blanks-list")[0]

    at_work(studio, desk, size)
    assert blanks.show(studio, wood).held_for == code


def test_a_blank_is_put_in_stock_and_held_from_its_own_side(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("3", "b")
        await hand.fill(species="basswood", size="20x15cm", grit="rough")
        assert "not a number" in str(hand.app.screen.query_one("#wrong", Static).content)
        await hand.fill(grit="150")
        await hand.press("h", "enter")

    at_work(studio, desk)
    assert blanks.show(studio, "1").held_for == code


def test_from_photo_to_quote_to_payment_to_hand_over(
    studio: Studio, photo: Path, size: tuple[int, int]
) -> None:
    code = commissions.add(studio, Wishes(title="Old barn", size="8x6cm")).code

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "r")
        await hand.fill(photo=str(photo) + "x")
        assert "no photo" in str(hand.app.screen.query_one("#wrong", Static).content)
        await hand.fill(photo=f"'{photo}'", zones="3")
        assert "Z3" in hand.text("#zones")
        assert hand.app.screen.query_one(Picture).size.height > 4
        await hand.press("v")

        await hand.press("i")
        await hand.settle()
        before = str(hand.app.screen.query_one("#preview", Static).content)
        assert "chance to earn" in before
        hand.app.screen.query_one("#packing", Input).value = "12.50"
        await hand.settle()
        assert str(hand.app.screen.query_one("#preview", Static).content) != before
        await hand.fill()
        assert quotes.show(studio, code).state == "open"
        assert "until" in hand.text("#money")
        await hand.press("a")
        assert quotes.show(studio, code).state == "accepted"

        await hand.press("p")
        await hand.fill(kind="gift")
        assert "no kind" in str(hand.app.screen.query_one("#wrong", Static).content)
        await hand.fill(kind="deposit")
        assert commissions.show(studio, code).stage is Stage.BOOKED

        for phase in (Phase.PREPARE, Phase.TRANSFER, Phase.BURN, Phase.FINISH):
            steps = checklists.of(studio, code).steps
            checklists.tick(studio, code, [s.key for s in steps if s.phase is phase])
        hand.app.look()
        await hand.settle()
        await hand.press("p")
        await hand.fill()
        assert commissions.show(studio, code).balance == Decimal(0)
        await hand.press("d")

    at_work(studio, desk, size)
    assert commissions.show(studio, code).stage is Stage.DELIVERED
    assert [paid.kind for paid in payments.all_of(studio, code)] == ["deposit", "payment"]


def test_long_work_can_be_stopped(
    studio: Studio, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = barn(studio)

    def slowly(*_args: object, on_progress: Callable[[float, str], None], **_more: object) -> None:
        import time

        while True:  # ends only by being stopped
            on_progress(0.5, "measuring")
            time.sleep(0.01)

    monkeypatch.setattr(references, "add", slowly)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "r")
        form = hand.app.screen
        form.query_one("#photo", Input).value = str(photo)
        await hand.pilot.press("ctrl+s")
        while hand.app._stopper is None:
            await asyncio.sleep(0.01)
        await hand.pilot.pause()
        assert hand.app.screen.query_one("#busy").display
        await hand.press("escape")
        assert not hand.app.screen.query_one("#busy").display
        assert any("Stopped" in word for word in hand.said)

    at_work(studio, desk)
    assert commissions.show(studio, code).references == 0


def test_misuse_shows_a_line_and_nothing_breaks(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("u", "c", "s", "x", "space", "i", "p", "a", "d", "r", "v", "e", "h")
        assert any("nothing to undo" in word for word in hand.said)
        assert any("Choose a job" in word for word in hand.said)
        assert hand.app.is_running

    at_work(studio, desk)


def test_a_quote_without_a_reference_says_what_is_missing(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "i")
        await hand.settle()
        assert "no reference" in str(hand.app.screen.query_one("#preview", Static).content)
        await hand.fill()
        assert "no reference" in str(hand.app.screen.query_one("#wrong", Static).content)
        await hand.fill(hours="-3")
        assert "cannot be quoted" in str(hand.app.screen.query_one("#wrong", Static).content)
        await hand.fill(hours="6")

    at_work(studio, desk)
    assert quotes.show(studio, "1").hours_p50 == pytest.approx(6.0)


def test_what_another_terminal_writes_appears(studio: Studio) -> None:
    other = books.open_at(studio.home, studio.clock)

    async def desk(hand: Hand) -> None:
        await hand.press("2")
        assert hand.lines("#jobs-list") == []
        barn(other)
        hand.app._each_second()
        await hand.settle()
        assert any("Old barn" in line for line in hand.lines("#jobs-list"))
        sessions.start(other, "1", sessions.Doing(work="transfer"))
        hand.app._each_second()
        await hand.settle()
        assert "C-0001" in hand.text("#running")

    at_work(studio, desk)
    other.close()


def test_the_clock_of_another_terminal_is_not_started_twice(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        sessions.start(studio, "1", sessions.Doing(work="transfer"))
        # Pressed before the workbench has noticed.
        await hand.press("c")
        assert any("clock is running" in word for word in hand.said)

    at_work(studio, desk)
    assert len(sessions.all_of(studio, None)) == 1


def test_the_mouse_goes_to_pages_and_opens_jobs(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.pilot.click("#tab-jobs")
        await hand.settle()
        assert hand.app.page_name == "jobs"
        await hand.pilot.click("#jobs-list Lines", offset=(4, 0))
        await hand.settle()
        assert hand.app.page_name == "job"

    at_work(studio, desk)


def test_the_palette_knows_actions_and_jobs(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        palette = Everything(hand.app.screen)
        names = [hit.text or "" async for hit in palette.discover()]
        assert {"New commission", "Undo", "Start the clock", "Calendar"} <= set(names)
        assert "Tick step" not in names
        await hand.press("2", "enter")
        names = [hit.text or "" async for hit in palette.discover()]
        assert {"Tick step", "Skip step", "Quote: what if?"} <= set(names)
        await hand.press("escape", "ctrl+p", *"barn", "enter")
        assert "Old barn" in hand.text("#head")

    at_work(studio, desk)


def test_titles_are_shown_as_typed_not_as_markup(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="[red]Owl[/] [not", client="[b]"))

    async def desk(hand: Hand) -> None:
        await hand.press("2")
        assert any("[red]Owl[/] [not" in line for line in hand.lines("#jobs-list"))
        await hand.press("enter", "c")
        assert "[red]Owl[/] [not" in hand.text("#head")
        await hand.press("s")
        assert any("[red]Owl[/]" in word for word in hand.said)

    at_work(studio, desk, (120, 40))


def test_jobs_at_risk_are_on_the_day(studio: Studio, clock: FixedClock) -> None:
    commissions.add(studio, Wishes(title="Owl", due=studio.today() + timedelta(days=1)))
    clock.forward(days=3)

    async def desk(hand: Hand) -> None:
        (line,) = hand.lines("#risk")
        assert "Owl" in line
        assert "2 days late" in line

    at_work(studio, desk)
    assert jobs.review(studio)[0].attention == "2 days late"


@pytest.mark.parametrize("wide", [(80, 24), (120, 40), (200, 60)])
def test_every_page_draws_in_every_size_and_light(studio: Studio, wide: tuple[int, int]) -> None:
    barn(studio)
    blanks.add(studio, BASSWOOD)

    async def desk(hand: Hand) -> None:
        for keys, word in (
            (("1",), "Old barn"),
            (("2",), "enquiry"),
            (("enter",), "Sand"),
            (("escape", "3"), "Basswood"),
            (("4",), "Mara"),
        ):
            await hand.press(*keys)
            grounds = set()
            for _light in range(2):
                svg = hand.app.export_screenshot().lower()
                assert word.lower() in svg.replace("&#160;", " ")
                ground = hand.app.theme_variables["background"].lower()
                assert ground in svg
                grounds.add(ground)
                await hand.press("l")
            assert len(grounds) == 2

    at_work(studio, desk, wide)


def test_without_colour_everything_is_grey(studio: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    barn(studio)
    monkeypatch.setenv("NO_COLOR", "1")

    async def desk(hand: Hand) -> None:
        assert hand.app.no_color
        await hand.press("2")
        for strip in hand.app.screen._compositor.render_strips():
            for segment in strip:
                style = segment.style
                for colour in (style.color, style.bgcolor) if style else ():
                    if colour is not None and colour.triplet is not None:
                        assert len(set(colour.triplet)) == 1, segment

    at_work(studio, desk)


def test_clients_are_listed(studio: Studio) -> None:
    clients.add(studio, "Tobias Anand", clients.ClientDetails(email="tobias@example.org"))

    async def desk(hand: Hand) -> None:
        await hand.press("4")
        assert "tobias@example.org" in hand.lines("#clients-list")[0]

    at_work(studio, desk)
    assert undo.happenings(studio)[0].action == "client.add"
