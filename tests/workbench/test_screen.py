"""The screen of the workbench: sizes, light, colour, mouse, palette, other terminals."""

import asyncio
import sqlite3
import threading
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
from rich.text import Text
from textual.color import Color
from textual.css.stylesheet import Stylesheet
from textual.layouts.horizontal import HorizontalLayout
from textual.widgets import Static
from textual.worker import WorkerFailed

from burnplan.desk.jobs import clients, commissions, references, review, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import quotes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.errors import OperationFailed
from burnplan.workbench.app import Workbench
from burnplan.workbench.colours import DAY, LAMP
from burnplan.workbench.keyline import KeyLine
from burnplan.workbench.palette import Everything
from burnplan.workbench.picture import Picture
from tests import books
from tests.cases import quick_first
from tests.conftest import FixedClock
from tests.workbench.hand import BASSWOOD, SIZES, Hand, at_work, barn


def test_an_empty_book_says_what_to_do(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        for key, page, word in (
            ("1", "#day", "Press n"),
            ("2", "#jobs-list", "Press n"),
            ("3", "#blanks-list", "Press b"),
            ("4", "#clients-list", "first commission"),
        ):
            await hand.press(key)
            empty = hand.app.screen.query_one(f"{page} .empty", Static)
            assert empty.display
            assert word in str(empty.content)

    at_work(studio, desk)


def test_misuse_shows_a_line_and_nothing_breaks(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("u")
        assert any("nothing to undo" in word for word in hand.said)
        await hand.press("c")
        assert any("Choose a job" in word for word in hand.said)
        await hand.press("s", "x", "space", "i", "p", "a", "d", "r", "v", "e", "h")
        assert hand.app.is_running

    at_work(studio, desk)


def test_what_another_terminal_writes_appears(studio: Studio) -> None:
    other = books.open_at(studio.home, studio.clock)

    async def desk(hand: Hand) -> None:
        await hand.press("2")
        assert hand.lines("#jobs-list") == []
        barn(other)
        await hand.app._each_second()
        await hand.settle()
        assert any("Old barn" in line for line in hand.lines("#jobs-list"))
        sessions.start(other, "1", sessions.Doing(work="transfer"))
        await hand.app._each_second()
        await hand.settle()
        assert "C-0001" in hand.text("#running")

    at_work(studio, desk)
    other.close()


def test_an_answer_that_is_missing_is_asked_for_where_it_is(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "g")
        await hand.press("down", "down", "ctrl+s")
        assert hand.question("#wrong").startswith("An empty answer is not a length of time.")
        assert hand.app.screen.focused is hand.app.screen.query_one("#length")

    at_work(studio, desk)


def test_what_is_read_never_pushes_the_keys_out_of_sight(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        hand.app.read("Long", lambda: Text("\n".join("line" for _ in range(60))))
        await hand.settle()
        keys, paper = (hand.app.screen.query_one(one).region for one in ("KeyLine", ".paper"))
        assert keys.bottom < paper.bottom <= 24
        await hand.press("end")
        assert hand.app.screen.query_one(".reading").is_vertical_scroll_end

    at_work(studio, desk)


def test_a_job_that_is_undone_is_left(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("2", "n")
        await hand.fill(title="Owl")
        assert hand.app.page_name == "job"
        await hand.press("u")
        assert hand.app.page_name == "jobs"
        assert hand.lines("#jobs-list") == []

    at_work(studio, desk)


def test_a_day_without_a_job_opens_none(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("6", "enter", "tab", "enter")
        assert (hand.app.page_name, hand.said) == ("calendar", [])
        assert "Open" not in hand.text("KeyLine")

    at_work(studio, desk)


@pytest.mark.long
def test_the_mouse_goes_to_pages_and_opens_jobs(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.pilot.click("#tab-jobs")
        await hand.settle()
        assert hand.app.page_name == "jobs"
        for page in ("jobs", "job"):  # selected, and opened when clicked again
            await hand.pilot.click("#jobs-list Lines", offset=(4, 0))
            await hand.settle()
            assert hand.app.page_name == page

    at_work(studio, desk)


@quick_first(
    "title", ["Fox [/] in", "Fox [[/]] \\[/b]", "Fox [bold]", "Fox [", "Fox ]"], quick=0, long=2
)
def test_a_title_with_brackets_is_no_markup(studio: Studio, title: str) -> None:
    wishes = Wishes(title=title, client=f"Ann {title[4:]}", size="20x15cm")
    commissions.add(studio, wishes)

    async def desk(hand: Hand) -> None:
        await hand.press("ctrl+p", *"fox", "enter")
        assert title in hand.text("#head")
        await hand.press("escape", "2", "4", "5", "6", "1", "u")
        assert any(title in word for word in hand.said)

    at_work(studio, desk)


@pytest.mark.long
def test_the_palette_knows_actions_and_jobs(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        palette = Everything(hand.app.screen)
        names = [hit.text or "" async for hit in palette.discover()]
        assert {"New commission", "Undo", "Begin a session", "Calendar"} <= set(names)
        assert "Tick step" not in names
        await hand.press("2", "enter")
        names = [hit.text or "" async for hit in palette.discover()]
        assert {"Tick step", "Skip step", "Quote: what if?"} <= set(names)
        await hand.press("escape", "ctrl+p", *"barn", "enter")
        assert "Old barn" in hand.text("#head")

    at_work(studio, desk)


@pytest.mark.long
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
        lines = hand.lines("#day")
        found = lines[lines.index(next(one for one in lines if "To look after" in one)) + 1 :]
        assert [("Owl" in line, "2 days late" in line) for line in found] == [(True, True)]

    at_work(studio, desk)
    assert review.review(studio)[0].attention == "2 days late"


@quick_first("wide", SIZES)
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
            (("5",), "Forecast and hours taken"),
            (("6",), "Week of 15 March"),
        ):
            await hand.press(*keys)
            grounds = set()
            for other_light in ((), ("l",)):
                await hand.press(*other_light)
                svg = hand.app.export_screenshot().lower()
                assert word.lower() in svg.replace("&#160;", " ")
                ground = hand.app.theme_variables["background"].lower()
                assert ground in svg
                grounds.add(ground)
            assert len(grounds) == 2

    at_work(studio, desk, wide)


@pytest.mark.long
def test_pages_out_of_sight_follow_the_light_and_the_width(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "3", "l")
        await hand.pilot.resize_terminal(120, 40)
        for key in ("1", "2", "3"):
            await hand.press(key)
            svg = hand.app.export_screenshot().lower()
            assert str(DAY.background) in svg
            for colour in (LAMP.background, LAMP.foreground, LAMP.primary):
                assert str(colour) not in svg
        assert isinstance(hand.app.page.query_one(".sides").styles.layout, HorizontalLayout)

    at_work(studio, desk)


@pytest.mark.long
@pytest.mark.usefixtures("looks_when_told")
def test_the_other_light_is_ready_before_it_is_asked_for(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    barn(studio)
    read: list[Stylesheet] = []
    parse = Stylesheet.parse

    def noted(styles: Stylesheet) -> None:
        read.append(styles)
        parse(styles)

    async def desk(hand: Hand) -> None:
        for _ in range(7):
            await hand.app._each_second()
        monkeypatch.setattr(Stylesheet, "parse", noted)
        for ground in (DAY.background, LAMP.background, DAY.background):
            await hand.press("l")
            assert str(ground) in hand.app.export_screenshot().lower()
        assert read == []
        await hand.press("n")  # a form brings styles of its own
        await hand.press("escape", "l", "n")
        assert read
        inked = hand.app.screen.query_one("Input").styles.color
        assert inked == Color.parse(str(LAMP.foreground))

    at_work(studio, desk)


@pytest.mark.long
@pytest.mark.usefixtures("looks_when_told")
def test_pages_are_made_while_nobody_presses_a_key(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        pages = hand.app.query_one("#pages")
        for made in range(1, 9):
            assert len(pages.children) == made
            await hand.app._each_second()
        assert len(pages.children) == 8  # and no more
        assert hand.app.page_name == "today"
        await hand.press("2", "enter")
        assert "Old barn" in hand.text("#head")

    at_work(studio, desk)


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


@pytest.mark.long
def test_every_line_has_a_style(studio: Studio, photo: Path) -> None:
    """Without colour, Textual takes the colours out of the style of each piece: none may lack."""
    references.add(studio, barn(studio), photo, zones=3)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        picture, lines = hand.app.page.query_one("#picture", Picture), hand.app.page.listing.lines
        assert picture.size.height > 4
        drawn = [picture.render_line(y) for y in range(picture.size.height + 1)]
        picture.give(None)
        drawn += [picture.render_line(0), *(lines.render_line(y) for y in range(99))]
        assert all(segment.style is not None for strip in drawn for segment in strip)

    at_work(studio, desk)


def test_clients_are_listed(studio: Studio) -> None:
    clients.add(studio, "Tobias Anand", clients.ClientDetails(email="tobias@example.org"))

    async def desk(hand: Hand) -> None:
        await hand.press("4")
        assert "tobias@example.org" in hand.lines("#clients-list")[0]

    at_work(studio, desk)
    assert undo.happenings(studio)[0].action == "client.add"


@pytest.mark.long
def test_the_mouse_presses_the_key_line(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        line = hand.app.screen.query_one(KeyLine)
        assert str(line.content).startswith("↵ Open  c Begin")
        await hand.pilot.click(KeyLine, offset=(11, 0))
        await hand.settle()
        assert sessions.open_now(studio) is not None
        assert "space Break" in str(line.content)

    at_work(studio, desk)


@pytest.mark.long
def test_what_nobody_foresaw_is_a_line_and_no_crash(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = barn(studio)

    def broken(*_: object) -> None:
        raise RuntimeError("disk on fire")

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        monkeypatch.setattr("burnplan.desk.jobs.checklists.tick", broken)
        await hand.press("space")
        assert any("disk on fire" in word for word in hand.said)
        await hand.press("c")
        assert hand.app.is_running

    at_work(studio, desk)
    assert sessions.all_of(studio, code)


def test_a_book_that_fails_is_a_line(studio: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise OperationFailed("The book cannot be read", "Check the disk")

    async def desk(hand: Hand) -> None:
        monkeypatch.setattr("burnplan.workbench.gather.stock", broken)
        await hand.press("3")
        assert any("cannot be read" in word for word in hand.said)

    at_work(studio, desk)


def _break_a_value(studio: Studio) -> None:
    """Let a quote's total be no number, as a changed byte may."""
    code = barn(studio)
    quotes.issue(studio, code, quotes.QuoteRequest(hours="5"))
    with closing(sqlite3.connect(studio.home / "book.db")) as book:
        book.execute("PRAGMA ignore_check_constraints = 1")
        book.execute("UPDATE quote SET total = 'abc'")
        book.commit()


def test_a_change_under_way_is_shown_at_once(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        written = threading.Event()
        hand.app.do(written.wait)
        await hand.pilot.pause()
        assert hand.text("#running").startswith("… ")
        written.set()
        await hand.settle()
        assert not hand.text("#running").startswith("… ")

    at_work(studio, desk)


@pytest.mark.long
@books.about_files
def test_a_damaged_value_is_a_line(studio: Studio) -> None:
    _break_a_value(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2")
        assert any("The book is damaged: quote, 'total'" in word for word in hand.said)
        assert any("burnplan restore" in word for word in hand.said)
        await hand.press("4")
        assert any("Mara" in line for line in hand.lines("#clients-list"))

    at_work(studio, desk)


@pytest.mark.long
@books.about_files
@pytest.mark.parametrize("damaged", [True, False])
def test_what_cannot_be_drawn_ends_in_a_line_only_where_the_book_is_damaged(
    studio: Studio,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    damaged: bool,
) -> None:
    if damaged:
        _break_a_value(studio)

    def broken(*_: object) -> None:
        raise ValueError("no such thing")

    app = Workbench(studio)

    async def run() -> None:
        async with app.run_test() as pilot:
            monkeypatch.setattr("burnplan.workbench.pages.clients.ClientsPage.give", broken)
            await pilot.press("4")
            await Hand(app, pilot).settle()

    if damaged:
        asyncio.run(run())
        assert app.return_code == 1
        assert not capsys.readouterr().err
        assert str(app.ended_by).startswith("The book is damaged: quote, 'total' cannot be read")
    else:
        with pytest.raises(WorkerFailed, match="no such thing"):
            asyncio.run(run())
