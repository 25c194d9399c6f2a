"""Lettering and photos of progress at the workbench."""

from pathlib import Path

import pytest

from burnplan.desk.jobs import commissions, compared, lettering, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.studio import Studio
from burnplan.workbench.forms import Reading
from tests.desk.actions import against_plan
from tests.workbench.hand import Hand, at_work


@pytest.fixture
def job(studio: Studio, photo: Path) -> str:
    code = commissions.add(studio, Wishes(title="Biscuit", size="16x12cm", species="basswood")).code
    references.add(studio, code, photo, zones=3)
    return code


def read(hand: Hand) -> str:
    """Return what is shown to be read."""
    assert isinstance(hand.app.screen, Reading), hand.app.screen
    return hand.question("#read")


def test_words_are_lettered_changed_and_taken_off(studio: Studio, job: str) -> None:
    async def desk(hand: Hand) -> None:
        hand.app.open_job(job)
        await hand.settle()
        await hand.press("L")
        await hand.fill(words="Biscuit / 2014", height="6mm", at="top")
        assert "Biscuit / 2014" in read(hand)
        await hand.press("escape")
        (made,) = lettering.of(studio, job).lettering
        assert (made.lines, made.height_mm, made.at) == (["Biscuit", "2014"], 6, "top")
        await hand.do("change_lettering")
        await hand.press("enter")
        await hand.fill(words="Biskuit")
        await hand.press("escape")
        (made,) = lettering.of(studio, job).lettering
        assert (made.lines, made.height_mm, made.at) == (["Biskuit"], 6, "top")
        await hand.do("unletter")
        await hand.press("enter")
        assert "Nothing is lettered" in read(hand)
        assert lettering.of(studio, job).lettering == []

    at_work(studio, desk)


def test_a_photo_that_was_compared_shows_how_it_was(studio: Studio, job: str, photo: Path) -> None:
    compared.keep(studio, against_plan(job), photo)

    async def desk(hand: Hand) -> None:
        hand.app.open_job(job)
        await hand.settle()
        await hand.do("progress_photos")
        await hand.press("enter")
        assert "Burned by this photo 40 %, by the ticks 20 %" in " ".join(read(hand).split())

    at_work(studio, desk)
