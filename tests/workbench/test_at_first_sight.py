"""What a newcomer has to see where they are, without a page of instructions."""

import asyncio
import threading
from pathlib import Path
from typing import Any

import pytest
from textual.widgets import Input, Static

from burnplan.desk.jobs import checklists, commissions, references, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.sessions import Doing
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.money.quotes import QuoteRequest
from burnplan.desk.studio import searching
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.reckon.checklist import Phase
from burnplan.workbench.drawing import widths
from burnplan.workbench.forms import Choice, Form
from burnplan.workbench.gather import JobDetail
from burnplan.workbench.listing import Lines
from burnplan.workbench.pages.job import JobPage
from burnplan.workbench.pages.jobs import _COLUMNS
from burnplan.workbench.pages.laying import LayingPage
from burnplan.workbench.palette import Palette
from burnplan.workbench.presses import Presses
from tests.cases import quick_first
from tests.workbench.hand import BASSWOOD, Hand, at_work, barn, settle_phases


def zoned(studio: Studio, photo: Path, title: str = "Old barn") -> str:
    code = commissions.add(studio, Wishes(title=title, size="8x6cm", species="basswood")).code
    references.add(studio, code, photo, zones=3)
    return code


@pytest.mark.long
def test_the_darkness_of_a_zone_is_a_figure_under_its_name(studio: Studio, photo: Path) -> None:
    code = zoned(studio, photo)
    zones = references.show(studio, code).zones

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        heads, *lines = hand.text("#zones").splitlines()
        for line, zone in zip(lines, zones, strict=False):
            dark = f"{100 * zone.darkness:.0f} %"
            assert line.index(dark) + len(dark) == heads.index("dark") + len("dark")
            assert line.index("cm²") + len("cm²") == heads.index("area") + len("area")

    at_work(studio, desk)


@pytest.mark.long
def test_what_a_step_needs_of_the_workbench_stands_by_it(studio: Studio, photo: Path) -> None:
    code = zoned(studio, photo)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        assert "h Hold a blank" in hand.text("#caution")
        settle_phases(studio, code, Phase.PREPARE)
        hand.app.look()
        await hand.settle()
        assert hand.app.job_page.step is not None
        assert hand.app.job_page.step.key == "print"
        assert hand.text("#caution").startswith("w Write sheets")
        assert "Measure the check bar" in hand.text("#caution")
        await hand.press("down")
        assert not hand.app.job_page.query_one("#caution").display, "nothing helps cutting"

    at_work(studio, desk, (120, 40))


@pytest.mark.long
def test_a_step_settled_elsewhere_hands_the_cursor_on(studio: Studio, photo: Path) -> None:
    code = zoned(studio, photo)
    settle_phases(studio, code, Phase.PREPARE, Phase.TRANSFER)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        page = hand.app.job_page
        assert page.step is not None
        assert page.step.zone == 1
        await hand.press("c", "enter", "enter")  # burned, on the page for that
        await hand.press("escape")
        assert page.step.zone == 2
        await hand.press("t")
        assert hand.app.screen.query_one("#zone", Input).value == "2"
        await hand.press("escape", "u")
        assert page.step.zone == 2, "what is open again moves nobody"

    at_work(studio, desk)


@pytest.mark.long
def test_what_comes_then_is_what_comes_next_once_the_zone_is_done(
    studio: Studio, photo: Path
) -> None:
    code = zoned(studio, photo)  # nothing before the first zone is ticked
    sessions.start(studio, code, Doing(work="burn", zone=1))

    async def desk(hand: Hand) -> None:
        page = hand.app.burning_page
        assert page.shown is not None
        then = page.shown.after
        assert then.startswith("Burn Z2")
        await hand.press("enter", "enter")
        assert page.shown.state == "standing"
        assert page.shown.step == then

    at_work(studio, desk)


@pytest.mark.long
def test_a_deposit_is_asked_for_until_it_is_in(studio: Studio) -> None:
    code = barn(studio)
    quote = quotes.issue(studio, code, QuoteRequest(hours="4"))
    accepting.accept(studio, code)

    def of_deposit(hand: Hand) -> list[str]:
        return [line for line in hand.text("#money").splitlines() if line.startswith("deposit")]

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        assert [line.split()[-1] for line in of_deposit(hand)] == ["asked"]
        payments.take(studio, code, str(quote.deposit), "deposit")
        hand.app.look()
        await hand.settle()
        assert [line.split()[-1] for line in of_deposit(hand)] == ["today"]
        await hand.press("p", "ctrl+s")
        assert hand.said[-1].endswith("nothing is owed now")

    at_work(studio, desk)


@pytest.mark.long
def test_a_long_title_hides_nothing_at_the_laying_out_table(studio: Studio, photo: Path) -> None:
    zoned(studio, photo, "Biscuit on the sill, asleep in the last of the long summer light, twice")

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "y", "right")
        assert isinstance(hand.app.page, LayingPage)
        head = hand.text("#laying-head")
        assert head.startswith("Biscuit on the sill")
        assert head.endswith("• changed")
        assert len(head) <= 78

    at_work(studio, desk)


@quick_first("width", [80, 120])
def test_what_a_key_does_goes_on_beneath_its_words(studio: Studio, width: int) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "?")
        assert isinstance(hand.app.screen, Choice)
        rows = hand.app.screen.query_one("Lines").rows  # type: ignore[attr-defined]
        drawn = [rows.draw(row).plain.split("\n") for row in range(len(rows.keys))]
        assert all(line.startswith(" " * 10) for first in drawn for line in first[1:])
        assert all(len(line) <= width for first in drawn for line in first)
        assert width > 80 or any(len(first) > 1 for first in drawn)

    at_work(studio, desk, (width, 40))


@pytest.mark.long
def test_the_moisture_of_a_blank_is_judged_without_leaving(studio: Studio) -> None:
    blanks.add(studio, BASSWOOD)

    async def desk(hand: Hand) -> None:
        await hand.press("3", "d")
        await hand.fill(reading="9")
        assert "ctrl+p, The shop's air" in hand.question("#read"), "no command is named here"
        await hand.press("escape", "d")
        await hand.fill(reading="9", air="21C")
        assert "'21C' is not an air" in hand.question("#wrong")
        await hand.fill(air="21C 45%")
        assert "settle" in hand.question("#read")
        await hand.press("escape", "d")
        await hand.fill()
        assert hand.question("#read").count("9 %") == 2, "what was wrong first is not on record"

    at_work(studio, desk)


@pytest.mark.long
def test_a_session_ended_now_where_the_form_says_so(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "g")
        assert hand.app.screen.query_one("#ended", Input).placeholder.startswith("(now")
        await hand.fill(length="1h30", ended="now")
        assert sessions.all_of(studio, code)[0].hours == pytest.approx(1.5)
        await hand.press("c", "escape", "t")
        await hand.fill(at="now")
        assert all(one.state == "done" for one in sessions.all_of(studio, code))

    at_work(studio, desk)


@pytest.mark.long
def test_why_a_piece_cannot_be_handed_over_names_what_is_open(studio: Studio) -> None:
    code = barn(studio)
    settle_phases(studio, code, Phase.PREPARE, Phase.TRANSFER, Phase.FINISH)
    burning = next(s for s in checklists.of(studio, code).steps if s.phase is Phase.BURN)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "d")
        assert hand.said == [f"It is not ready yet. Open is: {burning.text}"]

    at_work(studio, desk)


@pytest.mark.long
def test_a_find_that_finds_nothing_says_so(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "/", *"zebra")
        empty = hand.app.page.query_one("#jobs-list .empty", Static)
        assert str(empty.content) == "Nothing here has 'zebra'. esc shows all again."
        shown = [empty.display]
        await hand.press("escape")
        assert [*shown, empty.display] == [True, False]
        assert any("Old barn" in line for line in hand.lines("#jobs-list"))

    at_work(studio, desk)


@pytest.mark.long
def test_whose_photo_it_is_is_noted_where_that_is_asked_for(studio: Studio, photo: Path) -> None:
    code = zoned(studio, photo)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        await hand.do("rights")
        await hand.fill(taken_by="Ada Ex", allowed="in a mail")
        found = references.show(studio, code)
        assert (found.taken_by, found.allowed) == ("Ada Ex", "in a mail")
        await hand.do("rights")
        await hand.fill(allowed="in a letter")
        assert references.show(studio, code).taken_by == "Ada Ex"
        await hand.press("u")
        assert references.show(studio, code).allowed == "in a mail"

    at_work(studio, desk)


@pytest.mark.long
def test_a_title_of_brackets_and_quotes_is_shown_as_typed(studio: Studio) -> None:
    title = "[bold]Rex[/bold] 'the \"dog\"' [/]"
    commissions.add(studio, Wishes(title=title, client="[Ada]"))

    async def desk(hand: Hand) -> None:
        assert any(title in line for line in hand.lines("#day"))
        await hand.press("2", "enter")
        assert title in hand.text("#head")
        await hand.press("c")
        await hand.press("escape", "s")
        assert any(title in said for said in hand.said)

    at_work(studio, desk, (120, 40))


@pytest.mark.long
def test_a_blank_says_of_which_job_it_is_held(studio: Studio) -> None:
    code = barn(studio)
    blanks.add(studio, BASSWOOD)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "h", "enter", "3")
        (held,) = (line for line in hand.text("#blank").splitlines() if line.startswith("held for"))
        assert held.split(maxsplit=2)[2] == f"{code} Old barn"

    at_work(studio, desk)


@pytest.mark.parametrize("columns", [80, 120, 150, 200])
def test_the_columns_of_the_jobs_fit_and_their_titles_come_first(columns: int) -> None:
    for room in range(columns - 16, columns):
        sizes = dict(zip((c.head for c in _COLUMNS), widths(_COLUMNS, room), strict=True))
        shown = [size for size in sizes.values() if size]
        assert sum(shown) + 2 * (len(shown) - 1) <= max(room, 71)
        assert sizes["title"] >= 24


@pytest.mark.long
def test_a_form_says_that_tab_completes_where_it_does(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("n")
        assert "tab complete" in hand.question("KeyLine")
        await hand.press("escape", "2", "enter", "x")
        assert "tab" not in hand.question("KeyLine")

    at_work(studio, desk)


@pytest.mark.long
def test_enter_in_the_palette_waits_for_what_the_letters_find(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    code, looked = barn(studio), threading.Event()
    searched = searching.search

    def slowly(*args: Any) -> Any:
        looked.wait(10)
        return searched(*args)

    monkeypatch.setattr(searching, "search", slowly)

    async def desk(hand: Hand) -> None:
        hand.app.action_command_palette()
        while not isinstance(hand.app.screen, Palette):
            await hand.pilot.pause()
        await hand.pilot.press(*"old b", "enter")  # nothing else has these letters
        assert isinstance(hand.app.screen, Palette), "what is listed yet was not meant"
        looked.set()
        await hand.settle()
        assert hand.app.page_name == "job"
        assert hand.app.job_page.code == code

    at_work(studio, desk)


@pytest.mark.long
def test_what_is_left_to_do_with_a_ready_piece_stands_first(studio: Studio) -> None:
    code = barn(studio)
    settle_phases(studio, code, *(phase for phase in Phase if phase is not Phase.HANDOVER))

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        assert hand.text("KeyLine").startswith("esc Back d Hand over space Tick")

    at_work(studio, desk)


@pytest.mark.long
@pytest.mark.parametrize("key", ["t", "g"])
def test_a_form_begins_with_what_the_clock_would_begin(studio: Studio, key: str) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        for phase, work in ((None, "prepare"), (Phase.PREPARE, "transfer")):
            if phase is not None:
                settle_phases(studio, code, phase)
            await hand.press("2", key)
            assert hand.app.screen.query_one("#work", Input).value == work
            await hand.press("escape")

    at_work(studio, desk)


@pytest.mark.long
def test_where_no_ladder_is_the_way_to_one_is_said(studio: Studio, photo: Path) -> None:
    zoned(studio, photo)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        assert "ctrl+p, New tone ladder" in " ".join(hand.text("#zones").split())

    at_work(studio, desk)


@pytest.mark.long
def test_the_settings_are_called_as_they_are_asked(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.do("settings")
        rows = hand.app.screen.query_one(Lines).rows
        drawn = [rows.draw(row).plain for row in range(len(rows.keys))]
        assert not any("_" in line[:42] for line in drawn)
        assert any(line.startswith("Drawing hand  ") for line in drawn)
        assert all(len(line) <= 66 for one in drawn for line in one.split("\n"))
        await hand.press(*["down"] * rows.keys.index("drawing_hand"), "enter")
        await hand.fill(value="left")
        assert hand.said[-1] == "Drawing hand: left; u takes it back"

    at_work(studio, desk)


@pytest.mark.long
@pytest.mark.parametrize("size", [(80, 24), (120, 40), (80, 16)])
def test_no_end_of_a_form_is_cut_off(studio: Studio, photo: Path, size: tuple[int, int]) -> None:
    zoned(studio, photo)

    def held(hand: Hand) -> None:
        form = hand.app.screen
        paper, keys = form.query_one(".paper").region, form.query_one("KeyLine").region
        assert paper.bottom <= size[1]
        assert keys.height == 1
        assert keys.bottom < paper.bottom, "the keys are within the frame"
        preview = form.query_one("#preview").region
        assert preview.bottom <= keys.y
        assert form.query_one("#preview", Static).content_size.height >= 5
        focused, fields = form.focused, form.query_one(".fields").region
        assert focused is not None
        assert fields.contains_region(focused.region)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "i")
        held(hand)
        await hand.press(*["down"] * 8)
        assert hand.app.screen.focused is hand.app.screen.query(Input).last()
        held(hand)
        await hand.press(*"12 euro")  # refused in the line of what it comes to
        await hand.press(*["backspace"] * 5)
        held(hand)
        await hand.pilot.resize_terminal(size[0] + 10, size[1])
        await hand.settle()
        held(hand)

    at_work(studio, desk, size)


@pytest.mark.long
def test_a_key_pressed_before_the_job_is_there_is_meant_for_it(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    barn(studio)
    there, look_up = threading.Event(), JobPage.look_up

    def slowly(page: JobPage) -> JobDetail:
        there.wait(10)
        return look_up(page)

    monkeypatch.setattr(JobPage, "look_up", slowly)

    async def desk(hand: Hand) -> None:
        await hand.press("2")
        hand.app.presses = Presses()
        await hand.pilot.press("enter")
        while hand.app.page_name != "job":
            await asyncio.sleep(0.01)
        hand.app.presses = Presses()
        await hand.pilot.press("i")
        assert not hand.said, "nothing is claimed of a job that nobody looked at yet"
        there.set()
        await hand.settle()
        assert isinstance(hand.app.screen, Form)
        assert "Quote for C-0001" in hand.question(".heading")

    at_work(studio, desk)
