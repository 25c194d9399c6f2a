"""Beside a list stands what is known of its row, where there is room."""

import asyncio
import threading
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from textual.widgets import Static

from burnplan.desk.jobs import checklists, commissions, endings, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.money.quotes import QuoteRequest
from burnplan.desk.studio.studio import Studio
from burnplan.workbench import gather
from burnplan.workbench.pages import job_facts
from burnplan.workbench.picture import Picture
from burnplan.workbench.slip import JobSlip
from tests.workbench.hand import Hand, at_work, barn


def _slip(hand: Hand, name: str) -> str:
    slip = hand.app.screen_stack[0].query_one(name, JobSlip)
    assert slip.display
    parts = slip.query(Static).results()
    return "\n".join([str(slip.border_title), *(str(part.content) for part in parts)])


def test_the_job_the_cursor_is_on_is_beside_the_list(studio: Studio) -> None:
    barn(studio)
    commissions.add(studio, Wishes(title="Wren", client="Ann", due=studio.today()))

    async def desk(hand: Hand) -> None:
        await hand.press("2")
        shown = {}
        for _ in range(2):
            await hand.settle()
            said = _slip(hand, "#jobs-slip")
            shown[said[:6]] = said
            await hand.press("down")
        assert "Old barn" in shown["C-0001"]
        assert "Mara" in shown["C-0001"]
        assert "Wren" in shown["C-0002"]
        assert all("Next\n☐ " in said for said in shown.values())
        assert all("No quote yet" in said for said in shown.values())

    at_work(studio, desk, (120, 40))


@pytest.mark.long
@pytest.mark.parametrize("size", [(120, 40), (200, 60)])
def test_list_and_slip_share_the_width(studio: Studio, size: tuple[int, int]) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        for key, page, name in (("1", "today", "#day-slip"), ("2", "jobs", "#jobs-slip")):
            await hand.press(key)
            slip = hand.app.screen_stack[0].query_one(name, JobSlip)
            listing = hand.app.page.listing
            assert hand.app.page_name == page
            assert listing.region.right == slip.region.x
            assert slip.region.right <= size[0]
            assert min(slip.region.width, listing.region.width) >= 44

    at_work(studio, desk, size)


def _account(studio: Studio, code: str) -> list[str]:
    said = job_facts.account(gather.now(studio), gather.job(studio, code)).plain
    return [" ".join(line.split()) for line in said.splitlines()]


def test_the_account_is_of_the_quote_that_holds_and_a_newer_one_stands_by_itself(
    studio: Studio,
) -> None:
    code = barn(studio)
    assert _account(studio, code) == ["No quote yet. Press i to reckon one."]
    payments.take(studio, code, "20", "deposit")
    assert _account(studio, code) == [
        "No quote yet. Press i to reckon one.", "deposit €20.00 today",
    ]  # fmt: skip
    for hours, price in ((10, "300"), (20, "555")):
        quotes.issue(studio, code, QuoteRequest(hours=hours, price=price))
        accepting.accept(studio, code)
    quotes.issue(studio, code, QuoteRequest(hours=30, price="700"))
    said = _account(studio, code)
    assert said[:2] == ["quote €555.00 accepted", "quote €700.00 open"]
    assert said[2].startswith("until ")
    assert "to pay €535.00" in said
    assert str(commissions.show(studio, code).balance) == "535.00"


def test_money_of_a_job_dropped_without_a_quote_is_shown(studio: Studio) -> None:
    code = barn(studio)
    payments.take(studio, code, "20", "deposit")
    endings.drop(studio, code, "gone", "nothing")
    said = _account(studio, code)
    assert said[0] == "It had no quote."
    assert "too much €20.00" in said


@pytest.mark.long
def test_it_follows_what_is_done(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2")
        first = checklists.of(studio, code).steps[0].text
        assert first[:20] in _slip(hand, "#jobs-slip")
        await hand.press("enter", "space", "escape")
        await hand.settle()
        assert first[:20] not in _slip(hand, "#jobs-slip")

    at_work(studio, desk, (120, 40))


@pytest.mark.long
def test_where_there_is_no_room_nothing_is_looked_up_until_there_is(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2")
        slip = hand.app.screen.query_one("#jobs-slip", JobSlip)
        assert not slip.display
        assert slip.job is None
        await hand.pilot.resize_terminal(120, 40)
        while not hand.app.screen.query_one(
            "#jobs-slip", JobSlip
        ).job:  # Textual lays out anew in a moment of its own
            await asyncio.sleep(0.01)
            await hand.settle()
        assert "Old barn" in _slip(hand, "#jobs-slip")

    at_work(studio, desk)


def test_the_day_is_in_order_and_the_cursor_on_what_is_next(studio: Studio) -> None:
    later = commissions.add(studio, Wishes(title="Wren", due=studio.today() + timedelta(9))).code
    barn(studio)

    async def desk(hand: Hand) -> None:
        assert hand.app.meant == later, "what is due comes first"
        lines = hand.lines("#day")
        assert "Not booked yet" in lines[0]
        assert "Wren" in lines[1]
        assert "Old barn" in lines[2]
        assert "Wren" in _slip(hand, "#day-slip")
        await hand.press("enter")
        assert hand.app.job_page.code == later

    at_work(studio, desk, (120, 40))


@pytest.mark.long
@pytest.mark.parametrize("asked", ["", "no"])
def test_words_say_what_a_picture_shows_and_stand_alone_where_none_are_wanted(
    studio: Studio, photo: Path, monkeypatch: pytest.MonkeyPatch, asked: str
) -> None:
    monkeypatch.setenv("BURNPLAN_PICTURES", asked)
    code = barn(studio)
    references.add(studio, code, photo)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        picture = hand.app.screen.query_one("#picture", Picture)
        lines = [picture.render_line(y).text for y in range(picture.size.height)]
        words = "the photo as it lies on the wood, in browns"
        said = [line for line in lines if line.strip() and line.strip() in words]
        assert " ".join(line.strip() for line in said) == words
        assert (len(lines) > len(said)) is (asked == "")
        await hand.press("v")
        lines = [picture.render_line(y).text for y in range(picture.size.height)]
        assert "flat tones, darkest first: Z1" in " ".join(lines)

    at_work(studio, desk, (120, 40))


@pytest.mark.long
@pytest.mark.parametrize("another", [False, True])
def test_a_job_opened_while_the_slip_has_a_picture_drawn_has_its_own_after(
    studio: Studio, photo: Path, monkeypatch: pytest.MonkeyPatch, *, another: bool
) -> None:
    begun, go_on, pictures = threading.Event(), threading.Event(), gather.pictures

    def slowly(*args: Any) -> gather.Pictures:
        begun.set()
        go_on.wait(20)
        return pictures(*args)

    monkeypatch.setattr(gather, "pictures", slowly)

    async def desk(hand: Hand) -> None:
        for _ in range(2):
            references.add(studio, barn(studio), photo)
        await hand.pilot.press("2")
        while not begun.is_set():
            await asyncio.sleep(0.01)
        # The slip's is under way; nothing settles before it is done.
        await hand.pilot.press(*["down"] * another, "enter")
        while not (hand.app.page_name == "job" and hand.app.job_page.job):
            await asyncio.sleep(0.01)
        for _ in range(10):
            await hand.pilot.pause()
        assert hand.app.job_page.query_one(Picture)._pixels is None
        go_on.set()
        await hand.settle()
        assert hand.app.job_page.query_one(Picture)._pixels is not None

    at_work(studio, desk, (120, 40))


@pytest.mark.long
def test_a_plan_made_anew_is_not_shown_by_the_picture_of_one_undone(
    studio: Studio, photo: Path
) -> None:
    code = barn(studio)
    references.add(studio, code, photo)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        first = dict(hand.app.pictures)
        studio.clock.forward(minutes=1)  # type: ignore[attr-defined]
        references.replan(studio, code, zones=3)
        await hand.app._each_second()
        await hand.settle()
        plan = hand.app.job_page.job.plan if hand.app.job_page.job else None
        assert plan is not None
        assert plan not in first
        assert plan in hand.app.pictures

    at_work(studio, desk)
