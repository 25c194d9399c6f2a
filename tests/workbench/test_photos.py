"""Lettering and photos of progress at the workbench."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from textual.widgets import Input

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import commissions, compared, lettering, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.units import UnitSystem
from burnplan.workbench.forms import Reading
from burnplan.zone_names import LETTERING
from tests.conftest import draw_photo
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


@pytest.mark.long
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


@pytest.mark.long
def test_lettering_is_asked_for_in_the_studio_s_units_and_changed_only_where_it_is(
    studio: Studio, job: str
) -> None:
    settings.save(studio, Settings(units=UnitSystem.IMPERIAL))
    words = lettering.LetteringWishes(lines=["Mia / Rex", "2014"], height="12mm")
    (made,) = lettering.put(studio, job, words).lettering

    async def desk(hand: Hand) -> None:
        hand.app.open_job(job)
        await hand.settle()
        await hand.do("change_lettering")
        await hand.press("enter")
        assert hand.app.screen.query_one("#height", Input).value == "1/2 in"
        await hand.fill(at="top")

    at_work(studio, desk)
    (changed,) = lettering.of(studio, job).lettering
    assert changed.at == "top"
    assert (changed.lines, changed.height_mm) == (made.lines, 12)


@pytest.mark.whole
def test_several_photos_are_put_on_the_piece_and_laid_anew(
    studio: Studio, job: str, photo: Path
) -> None:
    other = draw_photo(photo.with_name("other.png"))

    async def desk(hand: Hand) -> None:
        hand.app.open_job(job)
        await hand.settle()
        await hand.do("several_photos")
        await hand.fill(photos=f"{photo}; {other}", shares="60,40")
        made = references.show(studio, job)
        assert made.together is not None
        # 60 % of 160 mm, and half the seam: a tenth of 120 mm.
        assert made.together.photos[0].box[2] == pytest.approx(60 + 6 / 1.6, abs=0.1)
        assert made.together.shares == [60, 40]
        await hand.do("several_photos")
        await hand.fill(way="stacked", shares="", seam="hard", tones="own")
        again = references.show(studio, job)
        assert again.together is not None
        assert list(again.together.photos[0].box) == [0, 0, 100, 50]
        assert again.together.middles is None
        await hand.press("y")  # the table shows the composed picture, as it is planned
        table = hand.app.laying_page.table
        assert table is not None
        shown = table.taken.photo.photo.rgb
        assert shown.shape[1] / shown.shape[0] == pytest.approx(4 / 3, rel=0.01)
        half = shown.shape[0] // 2
        assert abs(shown[:half].mean() - shown[half:].mean()) < 3  # the same photo twice

    at_work(studio, desk)


@pytest.mark.long
def test_a_photo_that_was_compared_shows_how_it_was(studio: Studio, job: str, photo: Path) -> None:
    compared.keep(studio, against_plan(job), photo)

    async def desk(hand: Hand) -> None:
        hand.app.open_job(job)
        await hand.settle()
        await hand.do("progress_photos")
        await hand.press("enter")
        assert "Burned by this photo 40 %, by the ticks 20 %" in " ".join(read(hand).split())

    at_work(studio, desk)


@pytest.mark.long
def test_planned_again_as_the_form_has_it_the_picture_has_as_many_zones(
    studio: Studio, job: str, tmp_path: Path
) -> None:
    """Lettering is a zone of the piece, and none of the picture."""
    ramp = np.tile(np.linspace(0, 255, 240, dtype=np.uint8), (180, 1))
    Image.fromarray(ramp).save(tmp_path / "ramp.png")
    references.add(studio, job, tmp_path / "ramp.png", zones=3)
    words = lettering.LetteringWishes(lines=["Biscuit"], height="6mm")
    lettering.put(studio, job, words)

    async def desk(hand: Hand) -> None:
        hand.app.open_job(job)
        await hand.settle()
        await hand.do("replan")
        await hand.press("ctrl+s")

    before = references.show(studio, job)
    at_work(studio, desk)
    after = references.show(studio, job)
    assert after.number == before.number + 1
    assert len(after.thresholds) == len(before.thresholds) == 2
    assert [one.zone for one in after.zones] == [1, 2, 3, LETTERING]
