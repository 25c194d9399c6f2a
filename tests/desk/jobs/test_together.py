"""Several photos on one piece: planned as one, and every surface says the same of it."""

import zipfile
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from burnplan.desk.jobs import (
    checklists,
    commissions,
    job_sheets,
    laying,
    lettering,
    references,
    together,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.layouts import LayoutChange
from burnplan.desk.jobs.lettering import LetteringWishes
from burnplan.desk.jobs.references import ReferenceView
from burnplan.desk.jobs.together import TogetherWishes
from burnplan.desk.keeping import backups, checking, undo
from burnplan.desk.money import letter_facts, quotes, what_ifs
from burnplan.desk.money.quotes import QuoteRequest
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotFound

PLAIN = TogetherWishes()


@pytest.fixture
def pets(tmp_path: Path) -> list[Path]:
    """A dark round animal and a light one, on grounds of their own."""
    found = []
    for number, (ground, fur, wide) in enumerate(((200, 70, 900), (120, 210, 600))):
        y, x = np.mgrid[:600, :wide]
        grey = np.full((600, wide), ground, np.float64)
        grey[(x - wide / 2) ** 2 + (y - 300) ** 2 < 200**2] = fur
        grey[(x - wide / 2 + 70) ** 2 + (y - 250) ** 2 < 30**2] = 15
        grey += np.random.default_rng(number).normal(0, 5, grey.shape)
        path = tmp_path / f"pet{number}.png"
        Image.fromarray(np.dstack([np.clip(grey, 0, 255).astype(np.uint8)] * 3)).save(path)
        found.append(path)
    return found


@pytest.fixture
def job(studio: Studio, pets: list[Path]) -> str:
    code = commissions.add(studio, Wishes(title="Pets", size="125x100mm", species="basswood")).code
    together.put(studio, code, pets, PLAIN, zones=4)
    return code


def hours(view: ReferenceView) -> tuple[float, float]:
    return view.hours.total.p50, view.hours.total.p80


@pytest.mark.long
def test_several_photos_make_one_plan_that_every_surface_shows(studio: Studio, job: str) -> None:
    view = references.show(studio, job)
    assert view.photo == "pet0 + pet1.jpg"
    assert view.photo_px[0] / view.photo_px[1] == pytest.approx(1.25, rel=0.01)
    assert view.together is not None
    assert [one.photo for one in view.together.photos] == ["pet0.png", "pet1.png"]
    assert view.together.photos[0].photo_px == (900, 600)
    assert len(view.zones) == 4
    assert sum(zone.area_cm2 for zone in view.zones) == pytest.approx(125, rel=0.01)
    draft = quotes.draft(studio, job, QuoteRequest(price="300"))
    assert (draft.hours_p50, draft.hours_p80) == pytest.approx(hours(view))
    left = commissions.show(studio, job).hours_left
    assert left is not None
    assert (left.p50, left.p80) == pytest.approx(hours(view))
    assert job_sheets.gather(studio, job).zones == view.zones
    zones = [step.zone for step in checklists.of(studio, job).steps if step.zone]
    assert sorted(set(zones)) == [1, 2, 3, 4]
    _, reading = references.pictures(studio, job)
    assert [one.zone for one in reading.measures] == [1, 2, 3, 4]
    assert laying.take(studio, job).filename == view.photo


@pytest.mark.long
def test_it_is_undone_and_done_again(studio: Studio, job: str) -> None:
    before = references.show(studio, job)
    assert undo.undo_last(studio).action == "reference.together"
    assert commissions.show(studio, job).references == 0
    undo.redo_last(studio)
    assert references.show(studio, job) == before
    assert references.pictures(studio, job)[0] == before


@pytest.mark.long
def test_another_size_composes_the_photos_anew(studio: Studio, job: str) -> None:
    [_, tried] = what_ifs.compare(studio, job, sizes=["10x15cm"], zones=[], species=[])
    commissions.edit(studio, job, Wishes(size="10x15cm"))
    view = references.show(studio, job)
    assert list(view.size_mm) == [100, 150]
    assert view.photo_px[0] / view.photo_px[1] == pytest.approx(2 / 3, rel=0.01)
    assert hours(view) == pytest.approx((tried.hours_p50, tried.hours_p80))
    undo.undo_last(studio)
    assert list(references.show(studio, job).size_mm) == [125, 100]


@pytest.mark.long
def test_areas_marked_on_it_stay_on_their_photo(studio: Studio, job: str) -> None:
    mark = "ellipse 70,35 80,65"  # in the middle of the second animal
    references.replan(studio, job, wanted=LayoutChange(focal=[mark]))
    commissions.edit(studio, job, Wishes(size="10x15cm"))
    stacked, _ = together.put(studio, job, [], TogetherWishes(stacked=True))
    assert stacked.layout is not None
    (left, top), (right, bottom) = stacked.layout["focal"][0]["corners"]
    assert (left + right) / 2 == pytest.approx(0.5, abs=0.06)
    assert (top + bottom) / 2 == pytest.approx(0.75, abs=0.06)


@pytest.mark.long
def test_lettering_and_another_plan_keep_the_photos(studio: Studio, job: str) -> None:
    lettering.put(studio, job, LetteringWishes(["Rex & Mia"], height="5mm"))
    references.replan(studio, job, zones=3)
    view = references.show(studio, job)
    assert view.together is not None
    assert len([zone for zone in view.zones if zone.zone]) >= 3
    assert len(view.together.photos) == 2


@pytest.mark.long
def test_they_are_laid_anew_without_the_files(studio: Studio, job: str, pets: list[Path]) -> None:
    for path in pets:
        path.unlink()
    view, _ = together.put(
        studio, job, [],
        TogetherWishes(
            seam="hard", shares="60,40", crop=["1: 10,0,90,100"], mirror=[2], own_tones=True
        ),
    )  # fmt: skip
    assert view.together is not None
    first, second = view.together.photos
    assert list(first.box) == [0, 0, 60, 100]
    assert second.mirrored
    assert view.together.middles is None
    assert first.photographed == first.composed
    assert view.together.seam == "hard"


@pytest.mark.long
def test_wood_that_no_photo_covers_is_left_bare(studio: Studio, job: str) -> None:
    wishes = TogetherWishes(place=["1: 0,0 50,100", "2: 50,50 100,100"], seam="hard")
    view, reading = together.put(studio, job, [], wishes)
    assert view.covered == pytest.approx(0.75, abs=0.01)
    assert reading.placed.bare is not None
    assert reading.placed.bare.mean() == pytest.approx(0.25, abs=0.01)
    again, _ = together.put(studio, job, [], TogetherWishes(place=["1: none", "2: none"]))
    assert again.covered == pytest.approx(1.0)


@pytest.mark.long
def test_each_photo_is_its_makers_own(studio: Studio, job: str) -> None:
    def asks() -> bool:
        return any("allow its use" in step.caution for step in checklists.of(studio, job).steps)

    assert asks()
    references.note_rights(studio, job, number=1, taken_by="Ada", allowed="in a mail")
    half = references.show(studio, job)
    assert half.allowed == ""
    assert half.together is not None
    assert [one.allowed for one in half.together.photos] == ["in a mail", ""]
    assert asks()
    references.note_rights(studio, job, number=2, taken_by="Bo", allowed="by telephone")
    whole = references.show(studio, job)
    assert (whole.taken_by, whole.allowed) == ("Ada, Bo", "in a mail, by telephone")
    assert not asks()
    with pytest.raises(NotFound):
        references.note_rights(studio, job, number=3, allowed="x")


@pytest.mark.long
def test_the_photos_and_the_picture_are_in_backups(
    studio: Studio, job: str, pets: list[Path], tmp_path: Path
) -> None:
    backups.back_up(studio, tmp_path / "b.zip")
    with zipfile.ZipFile(tmp_path / "b.zip") as package:
        sizes = [one.file_size for one in package.infolist()]
    assert {path.stat().st_size for path in pets} <= set(sizes)
    assert checking.check(studio).sound


@pytest.mark.long
def test_few_pixels_are_said_of_the_photo_that_has_them(studio: Studio, pets: list[Path]) -> None:
    code = commissions.add(studio, Wishes(title="Wall", size="60x45cm", species="basswood")).code
    view, _ = together.put(studio, code, pets, PLAIN, zones=3)
    assert any("'pet0.png' has only" in note for note in view.notes)
    ranked = letter_facts.photos_ranked(studio, code)
    assert view.together is not None
    lie = {one.photo: one.px_per_mm for one in view.together.photos}
    assert set(lie) == {one.photo for one in ranked} == {"pet0.png", "pet1.png"}
    for one in ranked:
        assert one.px_per_mm == pytest.approx(lie[one.photo], rel=0.01)
        assert "few pixels" in one.faults


MEANINGLESS: list[dict[str, object]] = [
    {"place": ["2 0,0 50,50"]}, {"place": ["2: 0,0 50"]}, {"crop": ["3: 0,0,50,50"]},
    {"crop": ["1: 50,0,50,50"]}, {"shares": "60"}, {"shares": "a,b"}, {"middles": 200.0},
    {"mirror": [0]},
]  # fmt: skip


@pytest.mark.long
def test_what_cannot_be_is_refused(studio: Studio, job: str) -> None:
    before = references.show(studio, job)
    for wishes in MEANINGLESS:
        with pytest.raises(BadInput) as refused:
            together.put(studio, job, [], TogetherWishes(**wishes))  # type: ignore[arg-type]
        assert "\n" not in str(refused.value)
    assert references.show(studio, job) == before


def test_one_photo_is_not_several(studio: Studio, pets: list[Path]) -> None:
    code = commissions.add(studio, Wishes(title="One", size="125x100mm", species="basswood")).code
    with pytest.raises(BadInput):
        together.put(studio, code, pets[:1], PLAIN)
    with pytest.raises(BadInput):
        together.put(studio, code, [], PLAIN)
