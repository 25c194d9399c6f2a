"""A photo of a piece against its plan, from the command to the book."""

import json
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pypdf
import pytest
from PIL import Image

from burnplan.cli.app import run
from burnplan.desk.jobs import (
    checklists,
    commissions,
    compared,
    comparisons,
    holding,
    lettering,
    photos,
    planned,
    references,
    sessions,
    teaching,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.compared import KeptComparison
from burnplan.desk.jobs.comparisons import CompareRequest, ComparisonView
from burnplan.desk.jobs.layouts import LayoutChange
from burnplan.desk.keeping import undo
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, ladders
from burnplan.desk.wood.ladders import NewLadder
from burnplan.errors import BadInput, NotFound
from burnplan.wood.species import species_on_record
from burnplan.zone_names import LETTERING
from tests.conftest import FixedClock
from tests.desk.actions import against_plan
from tests.tone.burned import Scene, scene
from tests.tone.conftest import _photo_file

Typed = Callable[..., tuple[int, str, str]]


@pytest.fixture
def typed(studio: Studio, capsys: pytest.CaptureFixture[str]) -> Typed:
    def typing(*arguments: str) -> tuple[int, str, str]:
        code = run(list(arguments), studio)
        return (code, *capsys.readouterr())

    return typing


@pytest.fixture
def cat(studio: Studio) -> str:
    """Plan a cat that is burned alone on bare wood, its face marked."""
    commissions.add(studio, Wishes(title="Cat", size="24x18cm", species="basswood"))
    marked = LayoutChange(
        subject=["ellipse 20,2 95,98"], focal=["ellipse 45,20 75,60"], levels=True
    )
    references.add(studio, "Cat", _photo_file("chelsea.png"), wanted=marked)
    return "C-0001"


def photographed(
    studio: Studio, code: str, folder: Path, state: str = "some"
) -> tuple[Path, Scene]:
    """Photograph a job's piece as far as it is burned."""
    plan = planned.planned(studio, code, 3.0)
    wood = species_on_record(plan.view.species)
    seen = scene(
        plan.placed,
        plan.zones,
        "some",
        9001,
        size=(1200, 900),
        bare=wood.bare_lightness,
        dark=wood.darkest_burn,
    )
    path = folder / "bench.jpg"
    path.write_bytes(seen.jpeg)
    return path, seen


def corners_of(seen: Scene) -> str:
    return " ".join(f"{x:.0f},{y:.0f}" for x, y in seen.corners)


@pytest.mark.long
def test_the_command_says_the_darkness_of_each_zone(
    studio: Studio, cat: str, typed: Typed, tmp_path: Path
) -> None:
    photo, seen = photographed(studio, cat, tmp_path)
    picture = tmp_path / "off.png"
    asked = ["photo", "compare", cat, str(photo), "--corners", corners_of(seen)]
    code, out, err = typed(*asked, "--json", "--picture", str(picture))
    assert code == 0, err
    found = json.loads(out)
    assert {"corners_mm_error", "zones", "too_light", "too_dark"} <= set(found)
    planned = {zone.zone: zone.darkness for zone in references.show(studio, cat).zones}
    for zone in found["zones"]:
        assert zone["wanted"] == planned[zone["zone"]]
        assert abs(zone["measured"] - seen.darkness[zone["zone"]]) < 0.06
        assert 0 <= zone["within"] <= 1
    areas = [one["area_cm2"] for one in found["too_light"]]
    assert areas == sorted(areas, reverse=True)
    assert all(len(one["at_mm"]) == 2 for one in found["too_light"])
    # The darker half is burned: the ticks know nothing of it.
    assert found["burning"]["by_ticks"] == 0
    assert 0.3 < found["burning"]["by_photo"] < 0.95
    with Image.open(picture) as drawn:
        assert drawn.width > drawn.height > 700
    _, text, _ = typed(*asked)
    assert "as a whole" in text
    assert "Burned by this photo" in text


@pytest.mark.long
def test_the_photo_is_kept_once_by_its_day_and_only_if_wanted(
    studio: Studio, cat: str, typed: Typed, tmp_path: Path
) -> None:
    photo, seen = photographed(studio, cat, tmp_path)
    asked = ["photo", "compare", cat, str(photo), "--corners", corners_of(seen)]
    typed(*asked, "--no-keep")
    assert photos.all_of(studio, cat) == []
    typed(*asked)
    typed(*asked)
    (kept,) = photos.all_of(studio, cat)
    assert kept.taken_on == studio.today()
    assert undo.undo_last(studio).action == "photo.compare"
    assert photos.all_of(studio, cat) == []


@pytest.mark.long
def test_how_it_was_is_kept_with_the_photo(
    studio: Studio, cat: str, typed: Typed, tmp_path: Path
) -> None:
    photo, seen = photographed(studio, cat, tmp_path)
    page = tmp_path / "off.pdf"
    asked = ["photo", "compare", cat, str(photo), "--corners", corners_of(seen)]
    code, out, err = typed(*asked, "--json", "--page", str(page))
    assert code == 0, err
    found = ComparisonView.model_validate_json(out)
    (kept,) = photos.all_of(studio, cat)
    assert kept.compared is not None
    assert kept.compared.burned == found.burning.by_photo
    _the_page_has_the_picture_and_the_places(page, found)
    # What is ticked and planned later changes nothing of it, but what is offered still.
    steps = checklists.of(studio, cat).steps
    checklists.tick(studio, cat, [str(step.number) for step in steps if step.zone])
    references.replan(studio, cat, zones=3)
    then, file = compared.show(studio, kept.number)
    found.burning.steps_offered = []
    assert then.comparison == found
    with Image.open(file) as drawn:
        assert max(drawn.size) >= 1100
    again = tmp_path / "again.pdf"
    code, out, _ = typed("photo", "show", str(kept.number), "--json", "--page", str(again))
    assert code == 0
    assert KeptComparison.model_validate_json(out) == then
    pages = [pypdf.PdfReader(one).pages[0].extract_text() for one in (page, again)]
    assert pages[0] == pages[1]
    assert commissions.show(studio, cat).by_photo == kept
    _, text, _ = typed("commission", "show", cat)
    assert f"{100 * kept.compared.burned:.0f} % burned" in " ".join(text.split())
    assert "burned" in typed("photo", "list", cat)[1]
    photos.add(studio, cat, _photo_file("chelsea.png"))
    code, _, err = typed("photo", "show", str(kept.number + 1))
    assert code == 2
    assert "photo compare" in err


def _the_page_has_the_picture_and_the_places(page: Path, found: ComparisonView) -> None:
    (only,) = pypdf.PdfReader(page).pages
    text = " ".join(only.extract_text().split())
    assert "Against its plan C-0001" in text
    for zone in found.zones:
        assert f"Z{zone.zone}" in text
    assert f"{found.burning.by_photo * 100:.0f} % burned by the photo" in text
    assert "too light" in text
    assert len(only.images) == 1


@pytest.mark.long
def test_steps_of_zones_that_are_as_wanted_are_offered_never_ticked(
    studio: Studio, cat: str, tmp_path: Path
) -> None:
    photo, seen = photographed(studio, cat, tmp_path)
    asked = CompareRequest(corners=[(x, y) for x, y in seen.corners.tolist()])
    before = checklists.of(studio, cat)
    view = comparisons.compare(studio, cat, photo, asked).view
    assert checklists.of(studio, cat) == before
    as_wanted = {one.zone for one in view.zones if one.within >= comparisons.AS_WANTED}
    offered = {before.steps[number - 1].zone for number in view.burning.steps_offered}
    assert offered == as_wanted
    assert as_wanted != {one.zone for one in view.zones}


@pytest.mark.long
def test_steps_are_offered_as_they_stand_today_and_of_this_piece(
    studio: Studio, clock: FixedClock, photo: Path
) -> None:
    code = commissions.add(studio, Wishes(title="Barn", size="20x15cm", species="basswood")).code
    references.add(studio, code, photo)
    made = against_plan(code)
    made.view.zones[0].within = 0.95
    made.view.taken_on = studio.today()
    number = compared.keep(studio, made, photo)

    def offered() -> list[str]:
        steps = checklists.of(studio, code).steps
        kept, _ = compared.show(studio, number)
        return [steps[one - 1].key for one in kept.comparison.burning.steps_offered]

    assert offered() == ["zone-1"]
    checklists.add(studio, code, "Ask about the ears", "prepare")
    assert offered() == ["zone-1"], "by another number now"
    checklists.tick(studio, code, ["zone-1"])
    assert offered() == []
    checklists.untick(studio, code, ["zone-1"])
    clock.forward(minutes=1)
    references.replan(studio, code, zones=4)
    assert offered() == [], "it was compared with another plan"
    undo.undo_last(studio)
    blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm"))
    assert offered() == ["zone-1"]
    assert commissions.show(studio, code).by_photo is not None
    holding.restart(studio, code, "B-1", "scorched")
    assert offered() == []
    assert commissions.show(studio, code).by_photo is None, "it shows the one that is ruined"


@pytest.mark.long
def test_lettering_is_burned_where_it_is_ticked(studio: Studio, cat: str, tmp_path: Path) -> None:
    """A photo tells nothing of it, and all that is burned must come to all of the burning."""
    words = lettering.LetteringWishes(lines=["Biscuit"], height="10mm")
    lettering.put(studio, cat, words, may_cover=lambda _: True)
    photo, seen = photographed(studio, cat, tmp_path)
    asked = CompareRequest(corners=[(x, y) for x, y in seen.corners.tolist()])
    before = comparisons.compare(studio, cat, photo, asked).view.burning
    checklists.tick(studio, cat, [f"zone-{LETTERING}"])
    after = comparisons.compare(studio, cat, photo, asked).view.burning
    assert before.by_ticks == 0 < after.by_ticks
    assert after.by_photo - before.by_photo == pytest.approx(after.by_ticks)


@pytest.mark.long
def test_a_ladder_learns_what_a_setting_really_gave(
    studio: Studio, cat: str, tmp_path: Path
) -> None:
    strip = NewLadder(
        species="basswood", tip="shader", heat=[2, 4, 6], lightness=[75, 50, 25], bare=82
    )
    ladder = ladders.add(studio, strip)
    for zone, heat in ((1, "6.5"), (2, "5"), (3, "4")):
        doing = sessions.Doing(work="burn", zone=zone, tip="Shader", heat=heat)
        sessions.log(studio, cat, timedelta(minutes=30), doing)
    steps = checklists.of(studio, cat).steps
    ticked = [str(step.number) for step in steps if step.zone in (1, 2)]
    checklists.tick(studio, cat, ticked)
    photo, seen = photographed(studio, cat, tmp_path)
    asked = CompareRequest(corners=[(x, y) for x, y in seen.corners.tolist()])
    number = compared.keep(studio, comparisons.compare(studio, cat, photo, asked), photo)
    made = teaching.teach(studio, number)
    assert [(one.zone, one.heat) for one in made.learned] == [(1, 6.5), (2, 5.0)]
    wood = species_on_record("basswood")
    for one in made.learned:
        true = seen.darkness[one.zone]
        lightness = wood.bare_lightness - true * (wood.bare_lightness - wood.darkest_burn)
        assert one.lightness == pytest.approx(lightness, abs=4)  # 0.06 of darkness
    assert any(why == "Z3: it is not ticked" for why in made.left_out)
    now = ladders.show(studio, ladder.code)
    assert [patch.heat for patch in now.patches] == [2, 4, 6, 6.5, 5]
    with pytest.raises(BadInput, match="already"):
        teaching.teach(studio, number)
    undo.undo_last(studio)
    assert ladders.show(studio, ladder.code).patches == ladder.patches
    more = sessions.Doing(work="burn", zone=1, heat="7")
    sessions.log(studio, cat, timedelta(minutes=9), more)
    checklists.untick(studio, cat, [ticked[1]])
    with pytest.raises(BadInput, match="No zone"):
        teaching.teach(studio, number)


def test_places_are_said_by_the_area_that_was_marked(
    studio: Studio, cat: str, tmp_path: Path
) -> None:
    photo, seen = photographed(studio, cat, tmp_path)
    asked = CompareRequest(corners=[(x, y) for x, y in seen.corners.tolist()])
    view = comparisons.compare(studio, cat, photo, asked).view
    assert all(one.where for one in (*view.too_light, *view.too_dark))


@pytest.mark.long
def test_what_is_missing_is_said(studio: Studio, cat: str, typed: Typed, tmp_path: Path) -> None:
    photo, seen = photographed(studio, cat, tmp_path)
    code, _, err = typed("photo", "compare", cat, str(photo), "--corners", "1,2 three")
    assert code == 2
    assert "pixels" in err
    turned = " ".join(reversed(corners_of(seen).split()))
    code, _, err = typed("photo", "compare", cat, str(photo), "--corners", turned)
    assert code == 2
    assert "clockwise" in err
    beside = " ".join(f"{x + 1000:.0f},{y:.0f}" for x, y in seen.corners)
    code, _, err = typed("photo", "compare", cat, str(photo), "--corners", beside)
    assert code == 2
    assert "outside the photo" in err
    code, _, err = typed("photo", "compare", cat, str(photo), "--tolerance", "3")
    assert code == 2
    commissions.add(studio, Wishes(title="Barn", size="20x15cm"))
    with pytest.raises(NotFound, match="no reference"):
        comparisons.compare(studio, "Barn", photo)
    empty = tmp_path / "empty.jpg"
    Image.new("RGB", (900, 700), (120, 110, 100)).save(empty)
    code, _, err = typed("photo", "compare", cat, str(empty))
    assert code == 2
    assert "with some of the bench around it" in err
    with pytest.raises(BadInput):
        comparisons.compare(studio, cat, tmp_path / "none.jpg")
