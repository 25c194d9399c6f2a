"""Lettering: what it changes of a job, and that it can be taken back."""

from pathlib import Path

import pytest

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import (
    checklists,
    commissions,
    estimates,
    lettering,
    references,
    sessions,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.layouts import LayoutChange
from burnplan.desk.jobs.lettering import LetteringWishes
from burnplan.desk.jobs.readings import EstimateRequest
from burnplan.desk.keeping import undo
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.lettering.typefaces import shipped
from burnplan.units import parse_size
from burnplan.wood.species import species_or_own
from burnplan.zone_names import LETTERING


@pytest.fixture
def job(studio: Studio, photo: Path) -> str:
    code = commissions.add(studio, Wishes(title="Barn", size="24x18cm", species="basswood")).code
    references.add(studio, code, photo, zones=3)
    return code


def letter(studio: Studio, job: str, *lines: str, **how: object) -> lettering.LetteringListView:
    return lettering.put(studio, job, LetteringWishes(lines or ("Biscuit",), **how))  # type: ignore[arg-type]


def keys(studio: Studio, job: str) -> dict[str, str]:
    return {step.key: step.state for step in checklists.of(studio, job).steps}


@pytest.mark.long
def test_hours_length_and_area_of_lettering_are_the_jobs(studio: Studio, job: str) -> None:
    before = references.show(studio, job)
    (made,) = letter(studio, job, "Biscuit", "2014 – 2026").lettering
    after = references.show(studio, job)
    zone = after.zones[-1]
    assert zone.zone == LETTERING
    assert (zone.area_cm2, zone.line_cm) == pytest.approx((made.area_cm2, made.line_cm))
    assert after.thresholds == before.thresholds
    for stage in ("transfer", "burn", "total"):
        assert getattr(after.hours, stage).p50 > getattr(before.hours, stage).p50
    left = commissions.show(studio, job).hours_left
    assert left
    assert left.p50 == pytest.approx(after.hours.total.p50)
    assert f"zone-{LETTERING}" in keys(studio, job)
    assert "'Biscuit', '2014 – 2026'" in next(
        step.text for step in checklists.of(studio, job).steps if step.key == "spelling"
    )


@pytest.mark.long
def test_it_is_undone_as_a_whole(studio: Studio, job: str) -> None:
    before = references.show(studio, job), keys(studio, job)
    letter(studio, job)
    undo.undo_last(studio)
    assert (references.show(studio, job), keys(studio, job)) == before
    assert lettering.of(studio, job).lettering == []


@pytest.mark.long
def test_it_is_changed_in_part_and_taken_off(studio: Studio, job: str) -> None:
    letter(studio, job, height="10mm")
    letter(studio, job, "2014", at="top")
    changed = lettering.put(studio, job, LetteringWishes(height="8mm", filled=False), number=1)
    first, second = changed.lettering
    assert (first.lines, first.height_mm, first.filled) == (["Biscuit"], 8.0, False)
    assert (second.lines, second.at) == (["2014"], "top")
    left = lettering.remove(studio, job, 1)
    assert [one.lines for one in left.lettering] == [["2014"]]
    lettering.remove(studio, job, 1)
    assert all(zone.zone != LETTERING for zone in references.show(studio, job).zones)
    assert "spelling" not in keys(studio, job)
    with pytest.raises(NotFound, match="no lettering 1"):
        lettering.remove(studio, job, 1)


@pytest.mark.long
def test_other_words_are_to_be_confirmed_again(studio: Studio, job: str) -> None:
    letter(studio, job)
    checklists.tick(studio, job, ["spelling"])
    lettering.put(studio, job, LetteringWishes(height="9mm"), number=1)
    assert keys(studio, job)["spelling"] == "ticked"
    lettering.put(studio, job, LetteringWishes(["Biskuit"]), number=1)
    assert keys(studio, job)["spelling"] == "open"


@pytest.mark.long
def test_a_new_photo_or_crop_keeps_it(studio: Studio, job: str, photo: Path) -> None:
    letter(studio, job)
    references.replan(studio, job, zones=4)
    assert references.show(studio, job).zones[-1].zone == LETTERING
    references.add(studio, job, photo, zones=3)
    assert references.show(studio, job).zones[-1].zone == LETTERING
    commissions.edit(studio, job, Wishes(size="26x20cm"))
    (zone,) = [one for one in references.show(studio, job).zones if one.zone == LETTERING]
    (made,) = lettering.of(studio, job).lettering
    assert made.box_mm
    assert made.box_mm[3] == pytest.approx(200 - 7.2, abs=0.05)
    assert zone.area_cm2 == pytest.approx(made.area_cm2)


@pytest.mark.long
def test_before_there_is_a_photo_it_is_kept_for_it(studio: Studio, photo: Path) -> None:
    code = commissions.add(studio, Wishes(title="Sign")).code
    (made,) = letter(studio, code).lettering
    assert made.box_mm is None
    with pytest.raises(BadInput, match="U\\+5B57"):
        letter(studio, code, "字")
    commissions.edit(studio, code, Wishes(size="24x18cm"))
    references.add(studio, code, photo, zones=3)
    assert references.show(studio, code).zones[-1].zone == LETTERING


@pytest.mark.long
def test_never_over_the_focal_area_unasked(studio: Studio, job: str) -> None:
    references.replan(studio, job, wanted=LayoutChange(focal=["rectangle 20mm,20mm 220mm,170mm"]))
    asked: list[str] = []

    def no(said: str) -> bool:
        asked.append(said)
        return False

    with pytest.raises(NotAllowed, match="over the focal area"):
        lettering.put(studio, job, LetteringWishes(["Biscuit"], at="middle"), may_cover=no)
    assert len(asked) == 1
    assert lettering.of(studio, job).lettering == []
    lettering.put(studio, job, LetteringWishes(["Biscuit"], at="middle"), may_cover=lambda _s: True)
    lettering.put(studio, job, LetteringWishes(["2014"], height="6mm", at="top"), may_cover=no)
    assert len(asked) == 1  # what lies over it already was allowed to


@pytest.mark.long
def test_a_font_of_ones_own_is_kept(studio: Studio, job: str, tmp_path: Path) -> None:
    font = tmp_path / "own.otf"
    font.write_bytes(shipped("display").data)
    (own,) = letter(studio, job, font=str(font)).lettering
    font.unlink()
    assert own.typeface == "own.otf"
    (wanted,) = lettering.put(studio, job, LetteringWishes(font="display"), number=1).lettering
    assert own.line_cm == pytest.approx(wanted.line_cm)
    with pytest.raises(BadInput, match="no typeface 'garamont'"):
        letter(studio, job, font="garamont")
    with pytest.raises(BadInput, match="cannot be read"):
        letter(studio, job, font=str(font))
    font.write_bytes(b"no font")
    with pytest.raises(BadInput, match="not a font"):
        letter(studio, job, font=str(font))


@pytest.mark.long
def test_hours_can_be_logged_for_it(studio: Studio, job: str) -> None:
    with pytest.raises(BadInput, match="no zone 10"):
        sessions.start(studio, job, sessions.Doing(work="burn", zone=LETTERING))
    letter(studio, job)
    sessions.start(studio, job, sessions.Doing(work="burn", zone=LETTERING))
    sessions.stop(studio, done=True)
    assert keys(studio, job)[f"zone-{LETTERING}"] == "ticked"


@pytest.mark.parametrize(
    ("how", "why"),
    [
        ({"at": "left"}, "no place on the wood"),
        ({"dark": 0}, "Darkness"),
        ({"height": "60mm"}, "more than there is room"),
        ({"at": "5mm,5mm"}, "over the edge"),
        ({"height": "x"}, "not a length"),
    ],
)
def test_what_cannot_be_is_said_and_changes_nothing(
    studio: Studio, job: str, how: dict[str, object], why: str
) -> None:
    with pytest.raises(BadInput, match=why):
        letter(studio, job, **how)
    assert lettering.of(studio, job).lettering == []


@pytest.mark.long
def test_an_estimate_beforehand_says_what_the_job_then_does(
    studio: Studio, job: str, photo: Path
) -> None:
    words = lettering.as_wished(LetteringWishes(["Biscuit"], height="10mm"), "mm")
    asked = EstimateRequest(
        parse_size("24x18cm"), species_or_own("basswood"), zones=3, lettering=(words,)
    )
    beforehand, _ = estimates.estimate(photo, asked, Settings())
    letter(studio, job, height="10mm")
    kept = references.show(studio, job)
    assert kept.zones == beforehand.zones
    assert kept.lines == beforehand.lines
    assert kept.hours.burn.p50 == pytest.approx(beforehand.hours.burn.p50)
    with pytest.raises(BadInput, match="no typeface"):
        lettering.as_wished(LetteringWishes(["Biscuit"], font="garamont"), "mm")
