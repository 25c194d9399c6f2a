"""The laying-out table: a photo placed by eye; what is kept is what the command would keep."""

import shlex
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from textual.geometry import Offset
from typer.testing import CliRunner

from burnplan.desk.jobs import references, unkept
from burnplan.desk.jobs.layouts import Layout, LayoutChange
from burnplan.desk.jobs.references import ReferenceView
from burnplan.desk.keeping import undo
from burnplan.desk.studio.studio import Studio
from burnplan.workbench import laying, laying_panel
from burnplan.workbench.forms import Choice
from burnplan.workbench.laying import Table
from burnplan.workbench.laying_panel import Panel
from burnplan.workbench.pages.laying import Top
from tests.workbench.hand import Hand, at_work, barn, hold


@pytest.fixture(autouse=True)
def _no_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("burnplan.workbench.pages.laying.REST_SECONDS", 0.0)
    monkeypatch.setattr("textual.constants.COLOR_SYSTEM", "standard")  # tones are letters


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    """A photo of many tones: a dark disc and a square on a ground that grows lighter."""
    y, x = np.mgrid[:480, :640] + 0.5
    grey = 90 + 150 * x / 640
    grey[120:360, 360:580] -= 70 * y[120:360, 360:580] / 480
    grey[(x - 180) ** 2 + (y - 240) ** 2 < 110**2] = 25
    path = tmp_path / "tones.png"
    Image.fromarray(np.dstack([grey.astype(np.uint8)] * 3)).save(path)
    return path


@pytest.fixture
def job(studio: Studio, photo: Path) -> str:
    code = barn(studio)
    references.add(studio, code, photo)
    return code


async def laid_out(hand: Hand, code: str) -> Table:
    hand.app.open_job(code)
    await hand.settle()
    await hand.press("y")
    assert hand.app.page_name == "laying"
    table = hand.app.laying_page.table
    assert table is not None
    return table


def shown(hand: Hand) -> str:
    """Return the picture as letters: a test's terminal shows no colour."""
    return "\n".join(strip.text for strip in hand.app.query_one(Top)._strips)


def values(table: Table) -> dict[str, str]:
    return {row.name: row.text for row in table.rows()}


def plan_of(studio: Studio, code: str) -> dict[str, Any]:
    """Return all of a plan but when it was made and which it is."""
    view: ReferenceView = references.show(studio, code)
    return view.model_dump(exclude={"added_at", "number", "notes"})


def layout_of(studio: Studio, code: str) -> Layout:
    return Layout.from_dict(references.show(studio, code).layout)


def by_command(studio: Studio, code: str, command: str) -> dict[str, Any]:
    """Plan another time by the command that the table showed, and return that plan."""
    from burnplan.cli.app import app

    words = shlex.split(command)[1:]
    done = CliRunner().invoke(app, [*words, "--no-pictures"], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return plan_of(studio, code)


def test_help_that_has_no_room_says_that_there_is_more() -> None:
    rows = [laying.Row(name, "0", False) for name in (*laying.PLACE, *laying.TONES, *laying.DRAWN)]
    panel = Panel(rows, "shift", "", False, "", False)
    for height in range(len(rows) + 2, 22):
        drawn = [line.plain for _, line in laying_panel.lines(panel, 34, height)]
        assert len(drawn) <= height
        assert drawn[-1].rstrip().endswith(("…", "."))


@pytest.mark.long
def test_it_is_moved_sized_turned_and_mirrored(studio: Studio, job: str) -> None:
    commands = []

    async def desk(hand: Hand) -> None:
        table = await laid_out(hand, job)
        before = shown(hand)
        await hand.press("right", "right", "down", "shift+left")
        assert values(table)["shift"] == "-8mm,1mm"
        assert shown(hand) != before, "it is seen at once"
        await hand.press("plus", "plus")
        assert values(table)["scale"] == "1.04"
        await hand.press("t", "right", "right", "shift+left")
        assert values(table)["turn"] == "-4"
        moved = shown(hand)
        await hand.press("m")
        assert values(table)["mirror"] == "yes"
        assert shown(hand) != moved
        await hand.press("e", "right", "right", "right")
        assert values(table)["margin"] == "3mm"
        commands.append(table.command())
        await hand.press("ctrl+s")
        assert hand.app.page_name == "job"

    at_work(studio, desk, size=(120, 40))
    kept = plan_of(studio, job)
    placement = layout_of(studio, job).placement
    assert placement.scale == 1.04
    assert placement.turn_degrees == -4
    assert placement.mirrored
    assert placement.margin_mm == 3
    assert references.show(studio, job).number == 2
    undo.undo_last(studio)
    assert references.show(studio, job).number == 1, "one step takes all of it back"
    assert by_command(studio, job, commands[0]) == kept


@pytest.mark.long
def test_tones_zones_and_lines(studio: Studio, job: str) -> None:
    commands = []

    async def desk(hand: Hand) -> None:
        table = await laid_out(hand, job)
        before = shown(hand)
        await hand.press("b", "shift+right", "shift+right", "w", "left", "left")
        await hand.press(
            "g", "right", "right", "c", "shift+right", "z", "left", "left", "n", "right"
        )
        found = values(table)
        assert [found[name] for name in ("black", "white", "midtone", "contrast")] == [
            "10", "98", "1.1", "20"
        ]  # fmt: skip
        assert (found["zones"], found["line"]) == ("4", "fine")
        assert shown(hand) != before
        await hand.press("u")
        assert values(table)["line"] == "usual"
        await hand.press("U")
        assert values(table)["line"] == "fine"
        photo = shown(hand)
        await hand.press("v")
        assert shown(hand) != photo, "zones are shown"
        await hand.press("v", "o")
        assert hand.app.laying_page._lines, "lines are drawn once the hand rests"
        assert any("⠀" <= letter <= "⣿" for letter in shown(hand))
        commands.append(table.command())
        await hand.press("escape")
        assert isinstance(hand.app.screen, Choice)
        await hand.press("enter")
        assert hand.app.page_name == "job"

    at_work(studio, desk, size=(120, 40))
    kept = plan_of(studio, job)
    assert len(kept["zones"]) <= 4
    assert layout_of(studio, job).control.midtone == 1.1
    undo.undo_last(studio)
    assert by_command(studio, job, commands[0]) == kept


@pytest.mark.long
def test_marks_by_keys(studio: Studio, job: str) -> None:
    commands = []

    async def desk(hand: Hand) -> None:
        table = await laid_out(hand, job)
        before = shown(hand)
        await hand.press("S")
        assert values(table)["subject 0"] == "ellipse 30,30 70,70"
        await hand.press(*["left"] * 2, "plus", "shift+up")
        assert values(table)["subject 0"] == "ellipse 27,28 69,72"
        assert shown(hand) != before, "what is no subject is bare"
        await hand.press("F", "left", "i")
        assert values(table)["focal 0"] == "rectangle 29,30 69,70"
        assert "x Remove" in hand.text("KeyLine")
        await hand.press("D", "x")
        assert "drop 0" not in values(table)
        await hand.press("s")
        assert "x Remove" not in hand.text("KeyLine"), "no mark is in hand"
        await hand.press("D", "right", "K")
        await hand.press("enter")
        await hand.fill(value="ellipse 40,40 60,66")
        assert values(table)["keep 0"] == "ellipse 40,40 60,66"
        commands.append(table.command())
        await hand.press("ctrl+s")

    at_work(studio, desk, size=(120, 30))
    kept = plan_of(studio, job)
    control = layout_of(studio, job).control
    assert len(control.subject) == len(control.background) == len(control.keep) == 1
    undo.undo_last(studio)
    assert by_command(studio, job, commands[0]) == kept


@pytest.mark.long
def test_the_mouse_moves_the_photo_and_draws_marks(studio: Studio, job: str) -> None:
    async def drag(hand: Hand, one: tuple[int, int], other: tuple[int, int]) -> None:
        await hand.pilot.mouse_down(Top, offset=one)
        await hand.pilot.hover(Top, offset=other)
        await hand.pilot.mouse_up(Top, offset=other)
        await hand.settle()

    async def desk(hand: Hand) -> None:
        table = await laid_out(hand, job)
        await drag(hand, (20, 20), (26, 18))
        x, y = (float(one.removesuffix("mm")) for one in values(table)["shift"].split(","))
        window = hand.app.laying_page._window()
        assert x == pytest.approx(12 / window.px_per_mm, abs=0.1)
        assert y == pytest.approx(-8 / window.px_per_mm, abs=0.1)
        await hand.press("S")
        await drag(hand, (20, 12), (50, 26))
        (area,) = table.now.layout.control.subject
        position = table.taken.photo.lies(table.setting)
        corners = (position.to_mm(area.corners) - (window.left, window.top)) * window.px_per_mm
        assert corners.ravel().tolist() == pytest.approx([41, 50, 101, 106], abs=1)
        # A click on a value takes it in hand, and changes nothing.
        before = table.now
        await hand.pilot.click("Values", offset=(6, 9))
        await hand.settle()
        assert table.hand != "subject 0"
        assert table.now == before
        # The wheel looks closer at where it is turned.
        widget = hand.app.query_one(Top)
        at = hand.app.laying_page._window()
        widget.post_message(Top.Turned(True, (30, 20)))
        await hand.settle()
        closer = hand.app.laying_page._window()
        from burnplan.workbench import tabletop

        assert tabletop.at(closer, widget.size, 30, 20) == pytest.approx(
            tabletop.at(at, widget.size, 30, 20), abs=0.5
        )

    at_work(studio, desk, size=(120, 40))


@pytest.mark.long
def test_the_part_to_use_is_framed_by_keys_and_mouse(studio: Studio, job: str) -> None:
    commands = []

    async def desk(hand: Hand) -> None:
        table = await laid_out(hand, job)
        await hand.press("r", "right")
        assert values(table)["crop"] == "none", "no further than the photo"
        await hand.press("minus", "minus", "shift+left", "right", "down", "down")
        assert values(table)["crop"] == "4,4,98,100"
        await hand.press("u")
        assert values(table)["crop"] == "none", "one step takes it back"
        # A frame is drawn with the mouse; the photo lies still until the button is up.
        page = hand.app.laying_page
        position, window = table.taken.photo.lies(table.setting), page._window()
        await hand.pilot.mouse_down(Top, offset=(50, 24))
        await hand.pilot.hover(Top, offset=(24, 12))
        await hand.settle()
        assert values(table)["crop"] == "none"
        await hand.pilot.mouse_up(Top, offset=(24, 12))
        await hand.settle()
        corners = [
            (window.left + x / window.px_per_mm, window.top + y / window.px_per_mm)
            for x, y in ((49, 50), (101, 98))
        ]
        drawn = [float(one) / 100 for one in values(table)["crop"].split(",")]
        assert drawn == pytest.approx(position.to_photo(corners).ravel().tolist(), abs=0.001)
        # A click, or a frame that is hardly one, is none.
        await hand.pilot.click(Top, offset=(30, 20))
        await hand.settle()
        assert [float(one) / 100 for one in values(table)["crop"].split(",")] == drawn
        commands.append(table.command())
        framed = shown(hand)
        await hand.press("p")
        assert shown(hand) != framed, "all of the photo is seen while the part is in hand"
        await hand.press("ctrl+s")

    at_work(studio, desk, size=(120, 40))
    kept = plan_of(studio, job)
    undo.undo_last(studio)
    assert by_command(studio, job, commands[0]) == kept


@pytest.mark.long
def test_left_as_it_was(studio: Studio, job: str) -> None:
    before = plan_of(studio, job)

    async def desk(hand: Hand) -> None:
        table = await laid_out(hand, job)
        await hand.press("escape")
        assert hand.app.page_name == "job", "nothing to ask"
        table = await laid_out(hand, job)
        await hand.press("right", "escape", "escape")
        assert hand.app.page_name == "laying", "escape twice stays"
        await hand.press("backspace", "escape")
        assert hand.app.page_name == "job", "it is as it was"
        table = await laid_out(hand, job)
        await hand.press("right", "2")
        assert isinstance(hand.app.screen, Choice)
        await hand.press("down", "enter")
        assert hand.app.page_name == "jobs", "one goes where one wanted to"
        table = await laid_out(hand, job)
        assert not table.is_changed
        await hand.press("right", "ctrl+q")
        assert isinstance(hand.app.screen, Choice), "leaving the program asks as well"
        await hand.press("escape", "backspace")
        await hand.pilot.resize_terminal(60, 20)
        await hand.settle()
        assert len(hand.app.query_one(Top)._strips) == hand.app.query_one(Top).size.height

    at_work(studio, desk)
    assert plan_of(studio, job) == before
    assert references.show(studio, job).number == 1


@pytest.mark.long
def test_a_held_key_goes_on_and_a_switch_turns_once(studio: Studio, job: str) -> None:
    async def desk(hand: Hand) -> None:
        table = await laid_out(hand, job)
        for _ in range(9):
            await hand.pilot.press("right")
        await hand.settle()
        assert values(table)["shift"] == "9mm,0mm"
        await hold(hand, "m")
        assert values(table)["mirror"] == "yes"
        await hand.press("u", "u")
        assert not table.is_changed, "what was held is one thing to take back"

    at_work(studio, desk)


@pytest.mark.long
def test_it_says_that_another_planned_it_meanwhile(studio: Studio, job: str) -> None:
    async def desk(hand: Hand) -> None:
        table = await laid_out(hand, job)
        await hand.press("right")
        references.replan(studio, job, zones=3)
        hand.app.look()
        await hand.settle()
        assert "planned again elsewhere" in hand.app.laying_page._said
        await hand.press("ctrl+s")
        assert table.now.zones == 6

    at_work(studio, desk)
    assert references.show(studio, job).number == 3
    assert layout_of(studio, job).placement.offset_mm == (1, 0)


@pytest.mark.long
def test_what_cannot_be_is_said_and_changes_nothing(studio: Studio, job: str) -> None:
    async def desk(hand: Hand) -> None:
        table = await laid_out(hand, job)
        await hand.press("b", "enter")
        await hand.fill(value="120")
        assert "120" in hand.question("#wrong")
        await hand.press("escape", "c", "enter")
        await hand.fill(value="150")
        assert "must be between 0 and 100, not 150" in hand.question("#wrong"), "as it was typed"
        await hand.press("escape", "m", "u", "enter")
        await hand.fill(value="whole")
        assert hand.question("#wrong").endswith("Give no, yes.")
        await hand.press("escape")
        assert not table.is_changed
        await hand.press("e", "enter")
        await hand.fill(value="90mm")
        assert "leaves nothing" in hand.question("#wrong")
        await hand.press("escape")
        # Off the wood: it is said, and the way back is open.
        await hand.press("p", "enter")
        await hand.fill(value="900mm,0mm")
        assert hand.app.page_name == "laying"
        await hand.press("u")
        assert not table.is_changed

    at_work(studio, desk)


@pytest.mark.long
def test_where_the_hand_points(studio: Studio, job: str) -> None:
    """Every row can be taken by its letter, by tab, and be put back."""

    async def desk(hand: Hand) -> None:
        table = await laid_out(hand, job)
        names = [row.name for row in table.rows()]
        for name in names:
            assert table.hand == name
            await hand.press("tab")
        assert table.hand == names[0]
        await hand.press("shift+tab")
        assert table.hand == names[-1]
        assert isinstance(hand.app.query_one(Top).region.offset, Offset)

    at_work(studio, desk)


def test_a_first_photo_is_laid_out_and_planned(studio: Studio, photo: Path) -> None:
    code = barn(studio)

    async def desk(hand: Hand) -> None:
        hand.app.open_job(code)
        await hand.settle()
        await hand.press("y")
        await hand.fill(photo=str(photo.with_name("none.png")))
        assert "no photo" in hand.question("#wrong")
        await hand.fill(photo=str(photo))
        assert hand.app.page_name == "laying"
        await hand.press("escape", "escape")
        assert hand.app.page_name == "laying", "a new photo is asked about, moved or not"
        await hand.press("t", "right", "ctrl+s")
        assert hand.app.page_name == "job"

    at_work(studio, desk)
    kept = references.show(studio, code)
    assert kept.photo == "tones.png"
    assert layout_of(studio, code).placement.turn_degrees == 0.5
    undo.undo_last(studio)
    assert references.add(studio, code, photo, wanted=LayoutChange(turn=0.5))[0].zones == kept.zones


@pytest.mark.whole
def test_what_was_not_kept_lies_there_again_after_a_crash(studio: Studio, job: str) -> None:
    before = plan_of(studio, job)

    async def crashed(hand: Hand) -> None:
        await laid_out(hand, job)
        await hand.press("right", "right", "F")  # and the window is closed

    async def again(hand: Hand) -> None:
        table = await laid_out(hand, job)
        assert (values(table)["shift"], "focal 0" in values(table)) == ("2mm,0mm", True)
        assert "not kept" in hand.app.laying_page._said
        await hand.press("u")
        assert not table.is_changed, "one step takes it back"
        await hand.press("U", "escape", "down", "enter")  # left as it was planned
        table = await laid_out(hand, job)
        assert not table.is_changed, "what was left is not offered again"
        await hand.press("m", "ctrl+s")
        table = await laid_out(hand, job)
        assert not table.is_changed, "nor what was kept"

    at_work(studio, crashed, size=(80, 24))
    assert plan_of(studio, job) == before
    at_work(studio, again, size=(80, 24))
    assert [*(studio.home / "unkept").iterdir()] == []


@pytest.mark.long
def test_a_new_photo_that_was_not_kept_is_offered_again(studio: Studio, photo: Path) -> None:
    code = barn(studio)

    async def crashed(hand: Hand) -> None:
        hand.app.open_job(code)
        await hand.settle()
        await hand.press("y")
        await hand.fill(photo=str(photo))
        await hand.press("t", "right")

    async def again(hand: Hand) -> None:
        hand.app.open_job(code)
        await hand.settle()
        await hand.press("y", "ctrl+s")
        table = hand.app.laying_page.table
        assert table is not None
        assert values(table)["turn"] == "0.5"

    at_work(studio, crashed)
    at_work(studio, again)


def test_what_of_it_cannot_be_read_is_none(studio: Studio, job: str) -> None:
    layout = layout_of(studio, job)
    unkept.put(studio, job, layout, 5, None)
    found = unkept.of(studio, job)
    assert found is not None
    assert (found.layout, found.zones, found.new, found.at) == (layout, 5, None, studio.now())
    (path,) = (studio.home / "unkept").iterdir()
    for damaged in (b"", b"[]", b"{}", b"\xff", path.read_bytes().replace(b"placement", b"p")):
        path.write_bytes(damaged)
        assert unkept.of(studio, job) is None
    unkept.drop(studio, job)
    unkept.drop(studio, job)
