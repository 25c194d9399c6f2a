"""A blank's own face: read with its outline, kept, undone, and what it says wherever it counts."""

import json
import math
from pathlib import Path

import cv2
import numpy as np
import pytest

from burnplan.cli.app import run
from burnplan.desk.jobs import commissions, holding, planned, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.layouts import LayoutChange
from burnplan.desk.keeping import backups, restoring, undo
from burnplan.desk.studio.lookup import find_blank
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, faces, outlines
from burnplan.desk.wood.outlines import ByPhoto
from burnplan.progress import silent
from burnplan.tone.lightness import lightness
from burnplan.wood.species import species_on_record
from tests import books
from tests.conftest import FixedClock
from tests.tone.conftest import _photo_file
from tests.tone.scenes import Scene, scene


@pytest.fixture(scope="module")
def slab() -> Scene:
    """A slab with two knots beside the sheet."""
    return scene(255, photo=(1200, 900), kind="live-edge", wood="cherry", bench="light")


@pytest.fixture(scope="module")
def filled(slab: Scene, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The home of a book with that slab, found in its photo."""
    home = tmp_path_factory.mktemp("slab")
    path = home / "slab.jpg"
    cv2.imwrite(str(path), slab.rgb[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 92])
    studio = books.open_at(home / "book", FixedClock())
    blanks.add(studio, blanks.NewBlank(species="cherry", size="live-edge 33x33cm", grit=320))
    outlines.find(studio, "1", path, ByPhoto(sheet="a5"))
    studio.close()
    return home / "book"


@pytest.fixture
def studio(filled: Path, tmp_path: Path) -> Studio:
    books.copy(filled, tmp_path / "book")
    return books.open_at(tmp_path / "book", FixedClock())


def focal_on(studio: Studio, at: tuple[float, float]) -> None:
    """Plan a photo whose eyes come to lie at a place of the slab."""
    commissions.add(studio, Wishes(title="Cat"))
    holding.hold(studio, "1", "Cat")
    x, y = at
    area = f"ellipse {x - 12:.0f}mm,{y - 8:.0f}mm {x + 12:.0f}mm,{y + 8:.0f}mm"
    references.add(studio, "Cat", _photo_file("chelsea.png"), wanted=LayoutChange(focal=[area]))


@pytest.mark.long
def test_the_face_is_read_with_the_outline(studio: Studio, slab: Scene) -> None:
    shown = blanks.show(studio, "1")
    assert shown.bare == pytest.approx(slab.bare, abs=3)
    assert shown.grain_degrees is not None
    assert len(shown.marks) == len(slab.knots_mm) == 2
    true = slab.view.to_pixels(slab.knots_mm[:1, :2])
    knot = min(shown.marks, key=lambda mark: abs(mark.at_mm[0] - slab.knots_mm[0, 0]))
    with studio.reading() as book:
        photo = faces.photo_of(find_blank(book, "1"))
    assert photo is not None
    matrix = np.array(photo.view).reshape(3, 3)
    at = matrix @ (*knot.at_mm, 1)
    scale = float(slab.view.px_per_mm(slab.knots_mm[:1, :2])[0])
    assert math.dist(at[:2] / at[2], true[0]) < 4 * scale
    undo.undo_last(studio)
    before = blanks.show(studio, "1")
    assert (before.bare, before.marks, before.grain_degrees) == (None, [], None)


@pytest.mark.long
def test_a_backup_has_it_with_its_photo(studio: Studio, tmp_path: Path) -> None:
    before = blanks.show(studio, "1")
    backups.back_up(studio, tmp_path / "b.zip")
    other = books.open_at(tmp_path / "other", FixedClock())
    with restoring.of_backup(other, tmp_path / "b.zip") as ready:
        ready.put_in_place(silent)
    assert blanks.show(other, "1") == before
    with other.reading() as book:
        assert faces.flat(other, find_blank(book, "1"), 1.0) is not None
    other.close()


def test_marks_go_with_an_outline_put_right_and_go_away_with_another(studio: Studio) -> None:
    before = blanks.show(studio, "1")
    left = min(before.points_mm)
    outlines.move(studio, "1", f"{left[0]}mm,{left[1]}mm", f"-4mm,{left[1]}mm")
    after = blanks.show(studio, "1")
    assert after.size_mm[0] == pytest.approx(before.size_mm[0] + 4, abs=0.1)
    moved = after.marks[0].at_mm[0] - before.marks[0].at_mm[0]
    assert moved == pytest.approx(4, abs=0.1)
    assert after.bare == before.bare
    blanks.edit(studio, "1", blanks.BlankChange(size="live-edge 30x30cm"))
    assert blanks.show(studio, "1").marks == []
    assert outlines.show(studio, "1").picture is None


@pytest.mark.long
def test_a_focal_area_on_a_knot_is_said_wherever_the_plan_is(
    studio: Studio, capsys: pytest.CaptureFixture[str]
) -> None:
    knot = blanks.show(studio, "1").marks[0]
    focal_on(studio, knot.at_mm)
    view = references.show(studio, "Cat")
    assert [one.mark for one in view.knots.lying_on] == [knot]
    assert any("lies on a knot" in note for note in view.notes)
    for line in (["reference", "show", "Cat"], ["reference", "preview", "Cat"]):
        assert run(line, studio) == 0
        said = capsys.readouterr()
        assert "lies on a knot" in " ".join((said.out + said.err).split())


@pytest.mark.long
def test_the_placement_proposed_is_clear_of_it(
    studio: Studio, capsys: pytest.CaptureFixture[str]
) -> None:
    knot = blanks.show(studio, "1").marks[0]
    commissions.add(studio, Wishes(title="Cat"))
    holding.hold(studio, "1", "Cat")
    photo = _photo_file("chelsea.png")
    references.add(studio, "Cat", photo, wanted=LayoutChange(focal=["ellipse 45,20 60,40"]))
    placed = planned.planned(studio, "Cat", 1.0).placed.position
    eyes = placed.of(planned.planned(studio, "Cat", 1.0).focal[0]).mean(axis=0)
    by = [target - now for target, now in zip(knot.at_mm, eyes, strict=True)]
    offset = placed.placement.offset_mm or (0, 0)
    shift = ",".join(f"{one + more:.1f}mm" for one, more in zip(offset, by, strict=True))
    scale = placed.placement.scale
    view, _ = references.replan(
        studio, "Cat", wanted=LayoutChange(shift=shift, scale=scale, whole=True)
    )
    assert view.knots.lying_on
    clear = view.knots.clear
    assert clear is not None
    assert run(["reference", "show", "Cat"], studio) == 0
    words = " ".join(capsys.readouterr().out.split())
    assert f"burnplan reference plan C-0001 --shift={clear.shift}" in words
    then, _ = references.replan(
        studio, "Cat",
        wanted=LayoutChange(shift=clear.shift, scale=clear.scale, turn=clear.turn),
    )  # fmt: skip
    assert then.knots.lying_on == []
    assert not any("lies on" in note for note in then.notes)


@pytest.mark.long
def test_a_margin_as_deep_as_the_bark(studio: Studio, capsys: pytest.CaptureFixture[str]) -> None:
    commissions.add(studio, Wishes(title="Cat"))
    holding.hold(studio, "1", "Cat")
    photo = str(_photo_file("chelsea.png"))
    assert run(["reference", "add", "Cat", photo, "--margin", "bark"], studio) == 2
    assert "No bark is known" in capsys.readouterr().err
    with studio.writing("blank.edit") as (book, entry):
        find_blank(book, "1").bark_mm = 5.4
        entry.says("Measured its bark")
    view, _ = references.add(studio, "Cat", _photo_file("chelsea.png"))
    assert any("runs onto the bark, 5 mm deep" in note for note in view.notes)
    view, _ = references.replan(studio, "Cat", wanted=LayoutChange(margin="bark"))
    assert view.layout is not None
    assert view.layout["placement"]["margin_mm"] == 6
    assert not any("bark" in note for note in view.notes)
    for margin, kept_off in (
        ("left=60 right=60", False),
        ("left=150 right=90 top=90 bottom=90", True),
    ):
        wanted = LayoutChange(margin=f"0 {margin}")
        view, _ = references.replan(studio, "Cat", wanted=wanted)
        assert any("onto the bark" in note for note in view.notes) is not kept_off


@pytest.mark.long
def test_its_own_tone_takes_the_place_of_the_species(studio: Studio, slab: Scene) -> None:
    focal_on(studio, (180.0, 180.0))
    guess = species_on_record("cherry").bare_lightness
    read = blanks.show(studio, "1").bare
    assert read is not None
    assert abs(read - guess) > 2
    assert references.show(studio, "Cat").bare == read
    plan = planned.planned(studio, "Cat", 1.0)
    assert plan.wood.bare_lightness == read
    assert "photo of this blank" in plan.wood.source("bare")
    picture = faces.burned_on_own_wood(studio, "Cat", plan.placed)
    assert picture is not None
    assert picture.shape[:2] == plan.placed.inside.shape
    light, inside = lightness(picture), plan.placed.inside
    white = inside & (plan.placed.lightness > 92)
    if white.any():
        assert np.median(light[white]) == pytest.approx(read, abs=6)
    # As planned in the mean, with the wood's own grain on it.
    wanted = plan.wood.darkest_burn + plan.placed.lightness / 100 * (read - plan.wood.darkest_burn)
    assert light[inside].mean() == pytest.approx(float(wanted[inside].mean()), abs=2)
    assert picture[~inside].min() == 255


@pytest.mark.long
def test_without_a_photo_of_the_wood_there_is_no_such_preview(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Cat", size="24x18cm", species="basswood"))
    references.add(studio, "Cat", _photo_file("chelsea.png"))
    placed = planned.planned(studio, "Cat", 1.0).placed
    assert faces.burned_on_own_wood(studio, "Cat", placed) is None


@pytest.mark.whole
def test_on_the_command_line(
    studio: Studio, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["blank", "show", "1", "--json"], studio) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["bare"] > 20
    assert found["marks"][0]["kind"] == "knot"
    assert run(["blank", "show", "1"], studio) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "read from its photo" in said
    assert "knot of" in said
    focal_on(studio, (180.0, 180.0))
    assert run(["reference", "preview", "Cat", "--save", str(tmp_path / "p")], studio) == 0
    assert (tmp_path / "p" / "own-wood.png").stat().st_size > 10_000
