"""Long work at the workbench: planned from photos, written as PDF, and stopped."""

import asyncio
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader
from textual.widgets import Input

from burnplan.desk.jobs import commissions, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import ladders, zone_settings
from tests.workbench.hand import Hand, at_work, barn


@pytest.mark.long
def test_long_work_can_be_stopped(
    studio: Studio, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = barn(studio)

    def slowly(*_args: object, on_progress: Callable[[float, str], None], **_more: object) -> None:
        while True:  # ends only by being stopped
            on_progress(0.5, "measuring")
            time.sleep(0.01)

    monkeypatch.setattr(references, "add", slowly)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "r")
        form = hand.app.screen
        form.query_one("#photo", Input).value = str(photo)
        await hand.pilot.press("ctrl+s")
        while hand.app.long_work.stopper is None:
            await asyncio.sleep(0.01)
        await hand.pilot.pause()
        assert hand.app.screen.query_one("#busy").display
        await hand.press("escape")
        assert not hand.app.screen.query_one("#busy").display
        assert any("Stopped" in word for word in hand.said)

    at_work(studio, desk)
    assert commissions.show(studio, code).references == 0


def planned(studio: Studio, photo: Path) -> str:
    wishes = Wishes(title="Old barn", size="8x6cm", species="basswood")
    code = commissions.add(studio, wishes).code
    references.add(studio, code, photo, zones=3)
    return code


STRIP = ladders.NewLadder(
    species="basswood", tip="shader 4 mm", heat=[3, 4, 5, 6, 7], strokes=[1.0],
    lightness=[75, 66, 55, 41, 28], bare=81,
)  # fmt: skip


@pytest.mark.long
def test_settings_are_there_once_a_ladder_is_and_when_a_job_is_come_back_to(
    studio: Studio, photo: Path
) -> None:
    code, other = planned(studio, photo), barn(studio)

    async def desk(hand: Hand) -> None:
        hand.app.open_job(code)
        await hand.settle()
        assert "no tone ladder on basswood" in " ".join(hand.text("#zones").split())
        ladders.add(studio, STRIP)  # in another terminal
        hand.app.look()
        await hand.settle()
        assert "settings: heat, dial" in hand.text("#zones")
        for job in (other, code):
            hand.app.open_job(job)
            await hand.settle()
        assert "settings: heat, dial" in hand.text("#zones")

    at_work(studio, desk)


@pytest.mark.long
def test_the_settings_of_the_tone_ladder_stand_beside_the_zones(
    studio: Studio, photo: Path
) -> None:
    code = planned(studio, photo)
    ladders.add(studio, STRIP)
    found = zone_settings.settings_for(studio, code)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        heads, *shown = hand.text("#zones").splitlines()
        assert heads.split() == ["dark", "area", "set"]
        for line, zone in zip(shown, found.zones, strict=False):
            assert line.startswith(f"█ · Z{zone.zone} "), "its tone before it"
            assert f"{zone.setting:.3g}" in line.split("cm²")[1]
        assert any("shader 4 mm" in line for line in shown)

    at_work(studio, desk)


@pytest.mark.long
def test_sheets_are_written_and_read_as_pdf(studio: Studio, photo: Path, tmp_path: Path) -> None:
    code = planned(studio, photo)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "w", "enter")
        await hand.fill(folder=str(tmp_path / "job"))
        await hand.press("w", "down", "enter")
        await hand.fill(folder=str(tmp_path / "print"))
        await hand.press("escape", "w", "enter")
        await hand.fill(folder=str(tmp_path / "wall"))
        assert any(word.startswith("Wrote") for word in hand.said)

    at_work(studio, desk)
    assert "Old barn" in PdfReader(tmp_path / "job" / f"{code}-job.pdf").pages[0].extract_text()
    names = {path.name for path in (tmp_path / "print").iterdir()}
    sheets = ("reference.pdf", "values.pdf", "trace.pdf", "trace.svg")
    assert names == {f"{code}-{sheet}" for sheet in sheets}
    (week,) = (tmp_path / "wall").iterdir()
    assert week.name == "week-2027-03-15.pdf"  # the Monday of the fixed clock's week


@pytest.mark.long
def test_a_sheet_is_written_over_another_file_only_when_agreed(
    studio: Studio, photo: Path, tmp_path: Path
) -> None:
    mine = tmp_path / f"{planned(studio, photo)}-job.pdf"
    mine.write_text("mine")

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter", "w", "enter")
        await hand.fill(folder=str(tmp_path))
        assert "is there already" in hand.question(".heading")
        await hand.press("enter")
        assert mine.read_text() == "mine"
        await hand.press("w", "enter")
        await hand.fill(folder=str(tmp_path))
        await hand.press("down", "enter")
        assert mine.read_bytes().startswith(b"%PDF")
        await hand.press("w", "enter")
        await hand.fill(folder=str(tmp_path))
        assert [word for word in hand.said if word.startswith("Wrote")], "an earlier one of it"

    at_work(studio, desk)


@pytest.mark.long
def test_a_sheet_that_is_stopped_leaves_no_file(
    studio: Studio, photo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    planned(studio, photo)

    def slowly(*args: object) -> None:
        on_progress = args[-1]
        assert callable(on_progress)
        while True:  # ends only by being stopped
            on_progress(0.5, "measuring")
            time.sleep(0.01)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        monkeypatch.setattr(references, "pictures", slowly)
        await hand.press("w", "enter")
        form = hand.app.screen
        form.query_one("#folder", Input).value = str(tmp_path / "job")
        await hand.pilot.press("ctrl+s")
        while hand.app.long_work.stopper is None:
            await asyncio.sleep(0.01)
        await hand.press("escape")
        assert any("Stopped" in word for word in hand.said)

    at_work(studio, desk)
    assert list((tmp_path / "job").iterdir()) == []


@pytest.mark.long
def test_a_reference_is_planned_again(studio: Studio, photo: Path) -> None:
    code = planned(studio, photo)

    async def desk(hand: Hand) -> None:
        await hand.press("2", "enter")
        await hand.do("replan")
        await hand.fill(zones="12")
        assert "between 3 and 9 for zones" in hand.question("#wrong")
        assert commissions.show(studio, code).references == 1
        await hand.do("replan")
        await hand.fill(zones="3", line="wild")
        assert "Give calm, usual, fine" in hand.question("#wrong")
        await hand.do("replan")
        await hand.fill(zones="3", line="calm")

    at_work(studio, desk)
    assert commissions.show(studio, code).references == 2
    assert (references.show(studio, code).layout or {})["line"] == "calm"
