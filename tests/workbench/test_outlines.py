"""The outline of a blank at the workbench: over its photo, put right by hand."""

import gc
from pathlib import Path

import cv2
import numpy as np
import pytest

from burnplan.desk.studio import photo_store
from burnplan.desk.studio.lookup import find_blank
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, outlines
from burnplan.ledger.models import BlankPhoto
from burnplan.workbench.forms import Form
from burnplan.workbench.outline_table import OutlineTable
from burnplan.workbench.picture import Picture
from tests.workbench.hand import Hand, at_work
from tests.workbench.kitty_screen import shows, sits_at

CORNERS = "10,0 150,0 150,100 0,100 0,8 mm"


@pytest.fixture
def slab(studio: Studio, tmp_path: Path) -> str:
    """A blank of five corners and a photo that shows it at 4 px/mm."""
    photo = np.full((500, 700, 3), 60, np.uint8)
    cv2.fillPoly(
        photo, [np.array([(90, 50), (650, 50), (650, 450), (50, 450), (50, 82)])], (90, 150, 190)
    )
    cv2.imwrite(str(tmp_path / "slab.png"), photo)
    code = blanks.add(studio, blanks.NewBlank(species="cherry", size=CORNERS)).code
    kept = photo_store.keep(studio, tmp_path / "slab.png")
    with studio.writing("blank.photo") as (book, entry):
        original = photo_store.recorded(book, kept)
        view = [4.0, 0.0, 50.0, 0.0, 4.0, 50.0, 0.0, 0.0, 1.0]
        blank = find_blank(book, code)
        blank.photos.append(
            BlankPhoto(original_sha256=original.sha256, view=view, added_at=studio.now())
        )
        entry.says("Kept a photo")
    return code


@pytest.mark.long
def test_a_corner_is_moved_over_the_photo_and_kept(studio: Studio, slab: str) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("3")
        await hand.do("put_right")
        table = hand.app.screen
        assert isinstance(table, OutlineTable)
        picture = table.query_one(Picture)
        assert picture._pixels is not None
        assert picture._pixels.shape[:2] == (500, 700)
        await hand.press("p", "shift+left", "left", "z")
        assert picture._pixels.shape[0] < 450
        assert "from the left" in hand.question("#place")
        await hand.press("enter")

    at_work(studio, desk)
    after = outlines.show(studio, slab).view
    # The corner at 0, 8 went 5.5 mm out, that at 10, 0 follows it a little.
    assert after.width_mm == pytest.approx(155.5, abs=0.01)
    assert min(after.points_mm) == pytest.approx((0, 8), abs=0.01)
    shown = outlines.in_photo(studio, slab)
    assert shown is not None
    at = shown.seen.to_pixels([(5.5, 100)])[0]
    assert at == pytest.approx(np.array([50, 450]), abs=0.5)


@pytest.mark.long
def test_the_photo_is_shown_in_dots_as_long_as_it_is_asked_about(studio: Studio, slab: str) -> None:
    async def desk(hand: Hand) -> None:
        screen = sits_at(hand)
        await hand.press("3")
        await hand.do("put_right")
        picture: Picture | None = hand.app.screen.query_one(Picture)
        assert picture is not None
        assert shows(screen, picture)
        await hand.press("z")
        assert shows(screen, picture)
        picture = None
        await hand.press("escape")
        assert screen.shown == {}
        # A widget that is no more has none in the terminal's keeping.
        gc.collect()
        await hand.press("2")
        assert screen.images == {}

    at_work(studio, desk)


@pytest.mark.long
def test_what_was_moved_can_be_left(studio: Studio, slab: str) -> None:
    before = outlines.show(studio, slab).view

    async def desk(hand: Hand) -> None:
        await hand.press("3")
        await hand.do("put_right")
        await hand.press("shift+down", "escape")

    at_work(studio, desk)
    assert outlines.show(studio, slab).view == before


@pytest.mark.long
def test_an_outline_by_photo_asks_for_the_photo_and_the_sheet(studio: Studio, slab: str) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("3", "o")
        assert isinstance(hand.app.screen, Form)
        await hand.fill(photo="nowhere.jpg", sheet="b5")
        assert "is no sheet" in hand.question("#wrong")
        await hand.fill(sheet="a5")
        assert "no photo" in hand.question("#wrong")

    at_work(studio, desk)
