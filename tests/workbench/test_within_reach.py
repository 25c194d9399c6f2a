"""What the command line can do is done at the workbench as well."""

from datetime import date
from pathlib import Path

import pytest
from textual.content import Content
from textual.widgets import Input, Static

from burnplan.desk.jobs import (
    checklists,
    commissions,
    consents,
    endings,
    finishing,
    photos,
    references,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.studio import days_off, settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import planned_sessions
from burnplan.desk.wood import blanks, conditioning, ladders
from burnplan.letter_kinds import LetterKind
from burnplan.reckon.checklist import Phase
from burnplan.workbench.forms import Choice, Form, Reading
from burnplan.workbench.keyline import KeyLine
from burnplan.workbench.listing import Lines
from tests.workbench.hand import BASSWOOD, SIZES, Hand, at_work, barn, settle_phases


def read(hand: Hand) -> str:
    """Return what lies over the page to be read."""
    assert isinstance(hand.app.screen, Reading), hand.app.screen
    shown = hand.app.screen.query_one("#read", Static).content
    assert isinstance(shown, Content)
    return shown.plain


async def open_job(hand: Hand) -> None:
    await hand.press("2", "enter")
    assert hand.app.page_name == "job"


@pytest.mark.long
def test_a_blank_is_sanded_measured_and_scrapped(studio: Studio) -> None:
    code = blanks.add(studio, BASSWOOD).code

    async def desk(hand: Hand) -> None:
        await hand.press("3")
        await hand.do("sand")
        await hand.fill(grit="220")
        assert blanks.show(studio, code).grit == 220
        await hand.do("sand")
        await hand.fill(grit="fine")
        assert isinstance(hand.app.screen, Form)  # it says what is wrong, and waits
        await hand.press("escape")
        await hand.do("moisture")
        await hand.fill(reading="9.5")
        assert "9.5" in read(hand)
        await hand.press("escape")
        assert conditioning.moisture_of(studio, code).readings[0].moisture == 9.5
        await hand.do("scrap")
        await hand.fill(reason="checked")
        assert blanks.show(studio, code).state == "scrapped"
        await hand.press("u")
        assert blanks.show(studio, code).state == "in stock"

    at_work(studio, desk)


@pytest.mark.long
def test_a_test_strip_is_put_on_record_and_read(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.do("ladders")
        assert "no ladder yet" in hand.said[-1]
        await hand.do("new_ladder")
        await hand.fill(species="basswood", tip="shader", heat="2,3,4", lightness="70,55,40")
        assert "basswood" in read(hand).lower()
        await hand.press("escape")
        [one] = ladders.everything(studio, None)
        assert [patch.lightness for patch in one.patches] == [70, 55, 40]
        await hand.do("ladders")
        await hand.press("enter")
        assert one.tip in read(hand)

    at_work(studio, desk)


def test_of_a_closed_job_keys_say_that_it_is_closed(studio: Studio) -> None:
    code = barn(studio)
    endings.drop(studio, code, "no answer")

    async def desk(hand: Hand) -> None:
        hand.app.open_job(code)
        await hand.settle()
        assert "Begin" not in hand.text("KeyLine")
        for key in "crhiaodt":
            hand.app.clear_notifications()
            await hand.press(key)
            assert hand.said == ["It is closed"], key

    at_work(studio, desk)


@pytest.mark.long
def test_coats_are_planned_and_photos_kept(studio: Studio, photo: Path) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await open_job(hand)
        await hand.do("coats")
        await hand.fill(product="hard wax oil", coats="2", dry="8h")
        assert "hard wax oil" in read(hand)
        await hand.press("escape")
        assert len(finishing.show(studio, code).coats) == 2
        assert any("hard wax oil" in step.text for step in checklists.of(studio, code).steps)
        await hand.do("coats")
        await hand.fill(next="24h")  # the rest is as it was planned
        await hand.press("escape")
        now = finishing.show(studio, code).coats
        assert [(one.product, one.dry_hours, one.next_coat_hours) for one in now] == [
            ("hard wax oil", 8, 24)
        ] * 2
        await hand.do("progress_photo")
        await hand.fill(photo=str(photo), note="eyes done")
        [kept] = photos.all_of(studio, code)
        assert kept.note == "eyes done"
        await hand.do("remove_photo")
        await hand.press("enter")
        assert not photos.all_of(studio, code)

    at_work(studio, desk)


@pytest.mark.long
def test_a_yes_to_showing_a_piece_is_noted_and_taken_back(
    studio: Studio, photo: Path, tmp_path: Path
) -> None:
    code = barn(studio)
    photos.add(studio, code, photo)

    async def desk(hand: Hand) -> None:
        await open_job(hand)
        await hand.do("consent")
        await hand.fill(answer="yes")
        assert "not said how Mara agreed" in hand.question("#wrong")
        await hand.fill(how="in a mail", named="yes")
        assert "May be shown: yes, said Mara today, in a mail, may be named" in hand.text("#head")
        await hand.do("consent")
        await hand.fill(answer="no")
        assert consents.show(studio, code).answer == "no"
        await hand.press("u")
        assert consents.show(studio, code).answer == "yes"
        endings.deliver(studio, code)
        await hand.do("sheets")
        choice = hand.app.screen
        assert isinstance(choice, Choice)
        names = [words.plain.split("  ")[0] for _, words in choice.choices]
        await hand.press(*["down"] * names.index("Portfolio"), "enter")
        await hand.fill(folder=str(tmp_path / "out"))

    at_work(studio, desk)
    assert "Old barn" in (tmp_path / "out" / "portfolio.html").read_text(encoding="utf-8")


@pytest.mark.long
def test_days_are_planned_and_taken_off(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await open_job(hand)
        await hand.do("plan_session")
        await hand.fill(when="friday 14:00", length="2h")
        [one] = planned_sessions.since(studio, studio.now())
        assert (one.code, one.minutes, f"{one.starts_at:%a %H:%M}") == (code, 120, "Fri 14:00")
        await hand.do("unplan")
        await hand.press("enter")
        assert not planned_sessions.since(studio, studio.now())
        await hand.do("plan_days")
        await hand.fill()
        assert "No free hours" in hand.said[-1]
        await hand.do("day_off")
        await hand.fill(first="friday")
        own = settings.current(studio)
        assert [day.starts_on for day in days_off.to_come(studio, own)] == [date(2027, 3, 19)]
        await hand.do("day_on")
        await hand.press("enter")
        assert not days_off.to_come(studio, own)

    at_work(studio, desk)


@pytest.mark.long
def test_a_date_is_looked_for(studio: Studio) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        await hand.press("4")  # the clients: no job is meant
        await hand.do("promise")
        await hand.fill(hours="12", sure="90")
        assert "90 %" in read(hand)
        await hand.press("escape")
        await hand.do("promise")
        await hand.fill(sure="20")
        assert isinstance(hand.app.screen, Form)
        await hand.press("escape")
        assert not quotes.all_of(studio, code)

    at_work(studio, desk)


@pytest.mark.long
def test_other_sizes_stand_side_by_side(studio: Studio, photo: Path) -> None:
    code = barn(studio)
    before = references.add(studio, code, photo, zones=3)[0].number

    async def desk(hand: Hand) -> None:
        await open_job(hand)
        await hand.do("otherwise")
        await hand.fill(sizes="10x8cm; 30x24cm", zones="4")
        said = read(hand)
        assert all(size in said for size in ("10 × 8 cm", "30 × 24 cm"))
        assert references.show(studio, code).number == before

    at_work(studio, desk)


def test_settings_are_changed_and_taken_back(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.do("settings")
        choice = hand.app.screen
        assert isinstance(choice, Choice)
        names = [name for name, _ in choice.choices]
        await hand.press(*["down"] * names.index("hourly_target"), "enter")
        await hand.fill(value="44")
        assert settings.current(studio).hourly_target == 44
        await hand.press("u")
        assert settings.current(studio).hourly_target != 44

    at_work(studio, desk)


def test_the_book_is_backed_up_and_nothing_written_over(studio: Studio, tmp_path: Path) -> None:
    barn(studio)
    other = tmp_path / "other.zip"
    other.write_text("something else")

    async def desk(hand: Hand) -> None:
        await hand.do("backup")
        await hand.fill(folder=str(tmp_path))
        assert ".zip" in read(hand)
        await hand.press("escape")
        await hand.do("backup")
        await hand.fill(folder=str(other))
        assert other.read_text() == "something else"

    at_work(studio, desk)
    assert len([one for one in tmp_path.glob("*.zip") if one != other]) == 1


@pytest.mark.long
def test_what_was_done_is_looked_back_on(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.do("history")
        assert "Nothing" in hand.said[-1]
        code = barn(studio)
        blanks.add(studio, BASSWOOD)
        await hand.press("2", "enter")
        await hand.do("history")
        choice = hand.app.screen
        assert isinstance(choice, Choice)
        assert code in choice.heading
        assert ["Old barn" in line.plain for _, line in choice.choices] == [True]

    at_work(studio, desk)


@pytest.mark.long
def test_what_was_done_is_found_by_its_words(studio: Studio) -> None:
    code = barn(studio)
    settle_phases(studio, code, Phase.PREPARE, Phase.TRANSFER)
    blanks.add(studio, BASSWOOD)
    payments.take(studio, code, "100", "deposit")

    async def desk(hand: Hand) -> None:
        await hand.press("1")
        await hand.do("history")
        choice = hand.app.screen
        assert isinstance(choice, Choice)
        every = len(choice.choices)
        height = choice.lines.region.height
        await hand.press("slash", *"ticked")
        shown = [choice.lines.rows.draw(row).plain for row in range(len(choice.lines.rows.keys))]
        assert 0 < len(shown) < every
        assert all("Ticked" in one for one in shown)
        assert choice.lines.region.height == height, "nothing jumps while one types"
        await hand.press("down", "down")
        assert choice.lines.key == choice.lines.rows.keys[1], "the arrows leave the letters"
        await hand.press("slash", "x")
        assert [choice.lines.rows.draw(0).plain, choice.lines.key] == [
            "Nothing here has 'x'. esc shows all again.", None,
        ]  # fmt: skip
        await hand.press("escape")
        assert len(choice.lines.rows.keys) == every
        assert hand.app.screen is choice
        await hand.press("escape")
        assert hand.app.screen is not choice

    at_work(studio, desk)


@pytest.mark.long
def test_invoice_and_receipts_are_written(studio: Studio, tmp_path: Path) -> None:
    code = barn(studio)
    quotes.issue(studio, code, quotes.QuoteRequest(hours="10", price="300"))
    accepting.accept(studio, code)
    payments.take(studio, code, "100", "deposit")

    async def desk(hand: Hand) -> None:
        await open_job(hand)
        for name in ("Invoice", "Receipts"):
            await hand.do("sheets")
            choice = hand.app.screen
            assert isinstance(choice, Choice)
            names = [words.plain.split("  ")[0] for _, words in choice.choices]
            await hand.press(*["down"] * names.index(name), "enter")
            await hand.fill(folder=str(tmp_path / "out"))

    at_work(studio, desk)
    assert len(list((tmp_path / "out").glob("*.pdf"))) == 2


@pytest.mark.long
def test_a_letter_to_the_client_is_written_and_shown(studio: Studio, tmp_path: Path) -> None:
    code = barn(studio)
    commissions.edit(studio, code, Wishes(due="2027-04-30"))

    async def desk(hand: Hand) -> None:
        await open_job(hand)
        await hand.do("client_letter")
        assert isinstance(hand.app.screen, Choice)
        assert len(hand.app.screen.choices) == len(LetterKind)
        hand.app.screen.dismiss("deposit")
        await hand.fill(folder=str(tmp_path))
        assert "Nothing was paid" in hand.question("#wrong"), "the answers stay"
        await hand.press("escape")
        await hand.do("client_letter")
        hand.app.screen.dismiss("delay")
        await hand.settle()
        await hand.fill(
            because="The board has split.", until="14 May 2027", folder=str(tmp_path / "out")
        )
        assert "The board has split." in read(hand)
        assert "Instead of 30 April 2027 it will be ready by 14 May 2027." in read(hand)
        assert isinstance(hand.app.screen, Reading)
        assert f"{tmp_path / 'out' / code}-delay.txt" in hand.app.screen.heading
        await hand.press("escape")
        await hand.do("client_letter")
        hand.app.screen.dismiss("delay")
        await hand.settle()
        (tmp_path / "out" / f"{code}-delay.txt").write_text("my own notes")
        await hand.fill(until="15 May 2027", folder=str(tmp_path / "out"))
        assert isinstance(hand.app.screen, Choice), "it is not burnplan's any more"
        hand.app.screen.dismiss("keep")

    at_work(studio, desk, (120, 40))
    text = (tmp_path / "out" / f"{code}-delay.txt").read_text()
    assert text == "my own notes"
    assert "14 May 2027" in (tmp_path / "out" / f"{code}-delay.html").read_text()


@pytest.mark.long
@pytest.mark.parametrize("typed", ["pho", "./pho", "{here}/pho", "{here}/sub"])
def test_paths_are_completed_as_they_are_typed(
    typed: str, studio: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    barn(studio)
    here = tmp_path / "here"
    (here / "sub folder").mkdir(parents=True)
    (here / "photo of a cat.jpg").touch()
    monkeypatch.chdir(here)
    text = typed.format(here=here)

    async def desk(hand: Hand) -> None:
        await open_job(hand)
        await hand.do("progress_photo")
        field = hand.app.screen.query_one("#photo", Input)
        field.value = text
        await hand.settle()
        await hand.press("end", "right")
        assert Path(field.value).exists(), field.value
        assert field.value.endswith(("cat.jpg", "sub folder/"))

    at_work(studio, desk)


@pytest.mark.long
@pytest.mark.parametrize("size", SIZES)
def test_a_form_keeps_the_job_it_names_in_sight(studio: Studio, size: tuple[int, int]) -> None:
    title = 'Biscuit [the "cat"] on the sill, asleep in the last of the long summer light'
    wishes = Wishes(title=title, client="Mara", due=date(2027, 4, 2))
    code = commissions.add(studio, wishes).code

    def seen(hand: Hand) -> list[str]:
        return hand.question(".in-sight").splitlines()

    async def desk(hand: Hand) -> None:
        await hand.do("day_off")  # of the studio
        assert not hand.app.screen.query(".in-sight")
        await hand.press("escape", "2")
        for key in ("g", "t", "enter", "g", "t", "x"):  # of a list, then of the job's own page
            await hand.press(key)
            if key == "enter":
                continue
            assert code in hand.question(".heading")
            named, whose = seen(hand)
            assert named.startswith('Biscuit [the "cat"] on the sill'), "no heading hides it"
            assert code not in named, "the heading has it already"
            assert whose.startswith("Mara ")
            assert whose.endswith("due Fri 2 Apr")
            await hand.press("escape")
        await hand.press("n")  # of no job
        assert not hand.app.screen.query(".in-sight")

    at_work(studio, desk, size)


@pytest.mark.long
@pytest.mark.parametrize("size", [*SIZES, (80, 16)])
def test_no_end_of_a_choice_is_cut_off(studio: Studio, size: tuple[int, int]) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        for heading in ("Which?", f"Which one of {code}? {'A heading of many words. ' * 5}"):
            hand.app.choose(
                Choice(heading, [(str(n), Content(f"Row {n}")) for n in range(60)]), lambda _: None
            )
            await hand.settle()
            choice = hand.app.screen
            lines, keys = choice.query_one(Lines), choice.query_one(KeyLine)
            assert keys.region.bottom < choice.query_one(".paper").region.bottom <= size[1]
            await hand.press("end")
            assert lines.key == "59"
            assert lines.region.height > 3, "all the room there is"
            assert lines.scroll_offset.y + lines.region.height == 60
            await hand.press("escape")

    at_work(studio, desk, size)


@pytest.mark.long
def test_a_choice_about_a_job_keeps_it_in_sight(studio: Studio) -> None:
    code = barn(studio)
    commissions.add(studio, Wishes(title="Owl"))

    async def desk(hand: Hand) -> None:
        await open_job(hand)
        settle_phases(studio, code, *(phase for phase in Phase if phase is not Phase.HANDOVER))
        hand.app.look()
        await hand.settle()
        await hand.press("d")
        assert isinstance(hand.app.screen, Choice)
        assert "Old barn" in hand.question(".in-sight")

    at_work(studio, desk)
