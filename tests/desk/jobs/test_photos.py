"""Photos of progress: kept once, by the day they show, on a contact sheet."""

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from PIL import ExifTags, Image

from burnplan.cli.app import run
from burnplan.desk.jobs import commissions, photos, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.sheets.jobs.contact_sheet import TILE, write_contact_sheet
from tests.cases import quick_first
from tests.desk.test_whole_line import contents


def taken(path: Path, moment: str, size: tuple[int, int] = (120, 80), grey: int = 90) -> Path:
    """A photo that says when it was taken."""
    image = Image.new("RGB", size, (grey, grey, grey))
    exif = Image.Exif()
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = moment
    image.save(path, exif=exif)
    return path


@pytest.fixture(autouse=True)
def _job(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Barn", size="20x15cm"))


def test_the_day_is_the_cameras_or_as_said(studio: Studio, tmp_path: Path) -> None:
    one = taken(tmp_path / "a.jpg", "2027:03:01 23:59:59")
    assert photos.add(studio, "Barn", one).taken_on == date(2027, 3, 1)
    two = taken(tmp_path / "b.jpg", "2027:03:01 10:00:00", grey=91)
    assert photos.add(studio, "Barn", two, date(2027, 2, 28)).taken_on == date(2027, 2, 28)
    assert [one.filename for one in photos.all_of(studio, "Barn")] == ["b.jpg", "a.jpg"]


@pytest.mark.parametrize("moment", ["0000:00:00 00:00:00", "2099:01:01 00:00:00", "soon", ""])
def test_a_camera_that_does_not_know_says_today(
    studio: Studio, tmp_path: Path, moment: str
) -> None:
    assert photos.add(studio, "Barn", taken(tmp_path / "a.jpg", moment)).taken_on == studio.today()


def test_it_is_kept_once_and_undone(studio: Studio, photo: Path) -> None:
    before = contents(studio)
    photos.add(studio, "Barn", photo, note="Eyes done")
    with pytest.raises(NotAllowed, match="already"):
        photos.add(studio, "Barn", photo)
    kept = contents(studio)
    photos.remove(studio, 1)
    assert photos.all_of(studio, None) == []
    undo.undo_last(studio)
    assert contents(studio) == kept
    undo.undo_last(studio)
    assert contents(studio) == before


def test_the_reference_itself_may_be_one(studio: Studio, photo: Path) -> None:
    references.add(studio, "Barn", photo, zones=3)
    assert photos.add(studio, "Barn", photo).size_px == (1280, 960)


def test_what_is_no_photo_changes_nothing(studio: Studio, tmp_path: Path, photo: Path) -> None:
    text = tmp_path / "a.jpg"
    text.write_text("no photo")
    before = contents(studio)
    with pytest.raises(BadInput):
        photos.add(studio, "Barn", text)
    with pytest.raises(BadInput, match="still to come"):
        photos.add(studio, "Barn", photo, studio.today() + timedelta(days=1))
    with pytest.raises(NotFound):
        photos.add(studio, "Mill", photo)
    with pytest.raises(NotFound):
        photos.remove(studio, 5)
    with pytest.raises(NotFound, match="no photos"):
        photos.files(studio, "Barn")
    assert contents(studio) == before
    assert not studio.originals.exists()


@quick_first("count", [1, 2, 5], quick=2)
def test_the_sheet_shows_every_photo_in_order(studio: Studio, tmp_path: Path, count: int) -> None:
    for n in range(count):
        size = (900, 600) if n % 2 else (600, 900)
        shown = taken(tmp_path / f"{n}.png", f"2027:03:{n + 1:02} 08:00:00", size, 40 + 30 * n)
        photos.add(studio, "Barn", shown, note="ñ 猫 " * 40)
    write_contact_sheet(photos.files(studio, "Barn"), tmp_path / "sheet.png")
    with Image.open(tmp_path / "sheet.png") as sheet:
        pixels = np.asarray(sheet.convert("RGB"))
    seen = []
    for n in range(count):
        grey = 40 + 30 * n
        y, x = np.nonzero((pixels == grey).all(axis=2))
        # Each as large as a tile allows, unbroken.
        assert len(y) == pytest.approx(TILE * TILE * 2 / 3, rel=0.02)
        seen.append((int(y.max()), int(x.min())))
    assert seen == sorted(seen)


@pytest.mark.long
def test_a_photo_of_very_many_pixels_is_kept(
    studio: Studio, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    large = tmp_path / "large.png"
    Image.new("L", (14_000, 13_000), 90).save(large, compress_level=1)
    assert run(["photo", "add", "1", str(large)], studio) == 0
    assert run(["photo", "sheet", "1", str(tmp_path / "sheet.png")], studio) == 0
    assert "14000 × 13000" in capsys.readouterr().out
