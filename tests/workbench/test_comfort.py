"""What a newcomer stumbled over: few keys, nothing lost, nothing hidden, nothing cut."""

from pathlib import Path

import pytest
from textual.content import Content
from textual.widgets import Input

from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.workbench.forms import Choice, Form
from burnplan.workbench.keyline import KeyLine
from burnplan.workbench.listing import Lines, Rows
from burnplan.workbench.palette import Everything
from burnplan.workbench.slip import JobSlip
from tests.workbench.hand import Hand, at_work, barn


def _drawn(hand: Hand) -> list[str]:
    """Return the lines of the choice over the page, as they are drawn."""
    lines = hand.app.screen.query_one(Lines)
    return [lines.render_line(y).text.rstrip() for y in range(lines.size.height)]


@pytest.mark.long
@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_the_keys_of_a_page_are_said_whole_in_the_room_there_is(
    studio: Studio, size: tuple[int, int]
) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "question_mark")
        choice = hand.app.screen
        assert isinstance(choice, Choice)
        wanted = " ".join(" ".join(shown.plain.split()) for _, shown in choice.choices)
        lines = choice.query_one(Lines)
        tall = lines.rows.tall
        assert not isinstance(tall, int)
        assert lines.size.height == min(sum(tall), int(size[1] * 0.94) - 6), "all the room"
        seen = _drawn(hand)
        while lines.scroll_offset.y < lines.max_scroll_y:
            lines.scroll_to(y=lines.scroll_offset.y + 1, animate=False, immediate=True)
            seen.append(_drawn(hand)[-1])
        assert " ".join(" ".join(seen).split()) == wanted, "nothing is cut"
        await hand.press("end", "enter")
        assert not isinstance(hand.app.screen, Choice)

    at_work(studio, desk, size=size)


@pytest.mark.long
def test_keys_and_all_stay_on_the_key_line(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2")
        line = hand.app.query_one(KeyLine)
        assert "↵ Open" in str(line.content)
        await hand.press("enter", "c", "escape")
        assert "? Keys" in str(line.content)
        assert str(line.content).endswith("^p All")
        assert len(str(line.content)) <= 78

    at_work(studio, desk, size=(80, 24))


def test_the_key_line_follows_the_rows(studio: Studio) -> None:
    """Rows that are laid out after they were looked up bring their keys along."""
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2")
        line, listing = hand.app.query_one(KeyLine), hand.app.page.listing
        rows = listing._rows
        assert rows is not None
        listing.give(lambda _width: Rows((), lambda _row: Content()))
        await hand.settle()
        assert "↵ Open" not in str(line.content)
        listing.give(rows)
        await hand.settle()
        assert "↵ Open" in str(line.content)

    at_work(studio, desk, size=(80, 24))


@pytest.mark.long
def test_more_facts_are_offered_where_there_are_more(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        offered = "f More" in str(hand.app.query_one(KeyLine).content)
        assert offered == hand.app.job_page.has_more_facts
        assert not offered, "all of a bare job is seen"

    at_work(studio, desk, size=(120, 40))


@pytest.mark.long
def test_the_palette_finds_by_what_an_action_is_about(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        palette = Everything(hand.app.screen)
        for query, words in (
            ("invoice", "Write sheets"),
            ("settings", "Settings of this studio"),
            ("money", "Settings of this studio"),
        ):
            assert words in [hit.text async for hit in palette.search(query)]
        helps = " ".join([str(hit.help) async for hit in palette.discover()])
        assert "question_mark" not in helps
        assert "(?)" in helps

    at_work(studio, desk)


@pytest.mark.long
def test_what_was_said_of_an_earlier_key_makes_room(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "space", "space", "space", "u", "u", "u")
        assert len(hand.said) == 1
        assert hand.said[0].startswith("Undid")

    at_work(studio, desk)


@pytest.mark.long
def test_wood_is_put_in_stock_where_it_is_wanted(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "h")
        assert isinstance(hand.app.screen, Form), "none is in stock: one key less"
        species = hand.app.screen.query_one("#species", Input).value
        assert species == "basswood"
        await hand.fill(grit="150")
        assert "B-0001" in hand.text("#head")

    at_work(studio, desk)
    (blank,) = blanks.everything(studio)
    assert (blank.held_for, blank.size_mm) == (code, (200, 150))


def test_the_cursor_goes_to_what_is_wrong_or_missing(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("3", "b")
        await hand.fill(species="basswood", cost="14,5x")
        assert hand.app.focused is not None
        assert hand.app.focused.id == "size", "missing"
        await hand.fill(size="20x15cm")
        assert hand.app.focused.id == "cost"

    at_work(studio, desk)


def test_what_took_long_to_type_goes_at_a_second_escape(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("n", *"Owl", "enter", *"Ida", "escape")
        assert isinstance(hand.app.screen, Form)
        assert "once more" in hand.question("#wrong")
        await hand.press("x")
        assert hand.question("#wrong") == "", "it goes on"
        await hand.press("escape", "escape")
        assert not isinstance(hand.app.screen, Form)

    at_work(studio, desk)


@pytest.mark.long
def test_tab_completes_a_path(studio: Studio, tmp_path: Path) -> None:
    barn(studio)
    (tmp_path / "cat.jpg").touch()
    (tmp_path / "cats").mkdir()

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "r")
        field = hand.app.screen.query_one("#photo", Input)
        field.value = f"{tmp_path}/ca"
        await hand.settle()
        await hand.press("tab")
        assert field.value == f"{tmp_path}/cat.jpg"
        assert hand.app.focused is field
        await hand.press("tab")
        assert hand.app.focused is not field, "then it goes on"
        await hand.press("escape", "w", "enter")
        folder = hand.app.screen.query_one("#folder", Input)
        folder.value = f"{tmp_path}/ca"
        await hand.settle()
        await hand.press("tab")
        assert folder.value == f"{tmp_path}/cats/", "where a folder is wanted no file is proposed"

    at_work(studio, desk)


def test_an_empty_bench_says_how_a_job_goes_and_has_no_empty_box(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        said = hand.text("#day .empty")
        assert "lay that out" in said
        slip = hand.app.query_one("#day-slip", JobSlip)
        assert str(slip.styles.border_top[0]) == ""
        barn(studio)
        await hand.app._each_second()
        await hand.settle()
        assert str(slip.styles.border_top[0]) == "round"

    at_work(studio, desk, size=(120, 40))
