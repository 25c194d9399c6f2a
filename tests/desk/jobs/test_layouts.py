"""How a photo is laid on the wood: as typed, as kept, and what it does to the plan."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from sqlalchemy import select

from burnplan.desk import demo
from burnplan.desk.jobs import commissions, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.layouts import Layout, LayoutChange, changed, parse_area
from burnplan.desk.jobs.references import ReferenceView
from burnplan.desk.keeping import undo
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from burnplan.ledger.models import Reference
from burnplan.passes import Detail


def _nothing(_data: bytes) -> str:
    return "0" * 64


def _set(**typed: object) -> Layout:
    return changed(Layout(), LayoutChange(**typed), _nothing)  # type: ignore[arg-type]


def test_a_layout_survives_the_book() -> None:
    layout = _set(
        crop="10,5,90,100", turn=-3.5, mirror=True, scale=1.2, shift="5mm,-3mm", margin="8mm",
        focal=["ellipse 30,20 60,70"], drop=["rectangle 0mm,0mm 300mm,40mm"], black=8.0,
        white=92.0, midtone=1.1, contrast=40.0, line=Detail.CALM,
        subject=["ellipse 20,5 80,95"], keep=["rectangle 0,0 10,10"],
    )  # fmt: skip
    assert Layout.from_dict(layout.to_dict()) == layout
    assert layout.placement.offset_mm == (5.0, -3.0)
    assert layout.placement.crop == (0.1, 0.05, 0.9, 1.0)
    assert layout.control.local_contrast == 0.4


def test_what_is_not_typed_stays() -> None:
    first = _set(crop="10,0,90,100", focal=["ellipse 30,20 60,70"])
    then = changed(first, LayoutChange(turn=5.0), _nothing)
    assert then.placement.crop == first.placement.crop
    assert then.focal == first.focal
    masked = replace(then, mask="0" * 64)
    cleared = changed(
        masked, LayoutChange(crop="none", focal=["none"], mask=Path("none")), _nothing
    )
    assert cleared.placement.crop is None
    assert cleared.focal == ()
    assert cleared.mask == ""


def test_a_bare_number_has_the_unit_beside_it() -> None:
    assert _set(shift="1,-2cm").placement.offset_mm == (10.0, -20.0)
    area = parse_area("rectangle 1,1in 3,4in")
    assert area.corners == ((25.4, 25.4), (76.2, 101.6))


@pytest.mark.parametrize(
    "typed",
    [
        {"crop": "10,5,90"}, {"crop": "a,b,c,d"}, {"crop": "90,0,10,100"}, {"crop": "0,0,0,100"},
        {"scale": 0.0}, {"scale": float("nan")}, {"shift": "5mm"}, {"shift": "5,x"},
        {"margin": "wide"}, {"focal": ["blob 1,1 2,2"]}, {"focal": ["ellipse 1,1"]},
        {"focal": ["ellipse 1,1 1,1"]}, {"black": 90.0, "white": 10.0}, {"midtone": 0.0},
        {"contrast": 200.0}, {"mask": Path("no such file.png")}, {"turn": 1e9},
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(typed: dict[str, object]) -> None:
    with pytest.raises(BadInput) as refused:
        _set(**typed)
    assert "\n" not in str(refused.value)


@pytest.mark.long
@given(st.text(max_size=40))
def test_no_text_breaks_the_reader_of_areas(text: str) -> None:
    try:
        parse_area(text)
    except BadInput:
        return


def _barn(studio: Studio) -> str:
    return commissions.add(studio, Wishes(title="Barn", size="32x24cm", species="basswood")).code


@pytest.mark.long
def test_a_dropped_background_is_bare_and_costs_no_hours(studio: Studio, photo: Path) -> None:
    code = _barn(studio)
    whole, _ = references.add(studio, code, photo, zones=3)
    # The right half of the drawing, with its mid-grey square, is dropped out.
    left, reading = references.replan(
        studio, code, wanted=LayoutChange(drop=["rectangle 50,0 100,100"])
    )
    assert left.hours.burn.p50 < 0.8 * whole.hours.burn.p50
    assert float(reading.placed.lightness[:, 700:].min()) > 99
    assert undo.undo_last(studio).action == "reference.plan"
    assert references.show(studio, code).zones == whole.zones


@pytest.mark.long
def test_a_mask_does_the_same(studio: Studio, photo: Path, tmp_path: Path) -> None:
    code = _barn(studio)
    references.add(studio, code, photo, zones=3)
    keep = np.zeros((960, 1280), np.uint8)
    keep[:, :640] = 255
    Image.fromarray(keep).save(tmp_path / "mask.png")
    by_mask, _ = references.replan(studio, code, wanted=LayoutChange(mask=tmp_path / "mask.png"))
    by_area, _ = references.replan(
        studio, code, wanted=LayoutChange(drop=["rectangle 50,0 100,100"])
    )
    assert by_mask.hours.burn.p50 == pytest.approx(by_area.hours.burn.p50, rel=0.02)
    again, _ = references.pictures(studio, code)
    assert again.layout is not None
    assert len(again.layout["mask"]) == 64


@pytest.mark.long
def test_mirrored_and_cropped_pictures_are_those_of_the_photo(studio: Studio, photo: Path) -> None:
    code = _barn(studio)
    _, plain = references.add(studio, code, photo, zones=3)
    _, mirrored = references.replan(studio, code, wanted=LayoutChange(mirror=True))
    assert np.abs(plain.placed.lightness[:, ::-1] - mirrored.placed.lightness).mean() < 0.5
    _, cropped = references.replan(
        studio, code, wanted=LayoutChange(mirror=False, crop="50,0,100,50")
    )
    assert float(cropped.placed.lightness.min()) > 40, "the dark disc is on the left"


def _line(view: ReferenceView) -> object:
    return (view.layout or {})["line"]


@pytest.mark.long
def test_how_much_is_drawn_is_as_the_settings_say_until_a_plan_says_so(studio: Studio) -> None:
    code = commissions.add(studio, Wishes(title="Cat", size="12x8cm")).code
    settings.save(studio, settings.current(studio).model_copy(update={"line": Detail.CALM}))
    calm, _ = references.add(studio, code, demo.sample(demo.PHOTO))
    settings.save(studio, settings.current(studio).model_copy(update={"line": Detail.USUAL}))
    again, _ = references.replan(studio, code, zones=4)
    assert _line(calm) == _line(again) == "calm"
    fine, _ = references.replan(studio, code, wanted=LayoutChange(line=Detail.FINE))
    assert _line(fine) == "fine"
    strokes = [view.lines.strokes or 0 for view in (calm, again, fine)]
    assert strokes[0] == strokes[1] < 0.7 * strokes[2]
    assert calm.hours.transfer.p50 < fine.hours.transfer.p50
    undo.undo_last(studio)
    assert _line(references.show(studio, code)) == "calm"


@pytest.mark.long
def test_a_plan_from_before_lines_were_drawn_says_so(studio: Studio, photo: Path) -> None:
    code = _barn(studio)
    view, _ = references.add(studio, code, photo, zones=3)
    assert not [note for note in view.notes if "borders of zones" in note]
    with studio.writing("test") as (book, entry):
        reference = book.scalars(select(Reference)).one()
        lines = {name: reference.plan["lines"][name] for name in ("firm_cm", "light_cm", "lost_cm")}
        layout = {name: value for name, value in (reference.layout or {}).items() if name != "line"}
        reference.plan = {**reference.plan, "lines": lines}
        reference.layout = layout
        entry.says("As it was")
    old = references.show(studio, code)
    assert (old.lines.strokes, old.lines.passes) == (None, [])
    assert [note for note in old.notes if "borders of zones" in note]
    assert old.hours.transfer.p50 > 0
    again, _ = references.replan(studio, code)
    assert _line(again) == "usual"
    assert again.lines.strokes == 2


@pytest.mark.long
def test_the_subject_alone_is_planned_kept_and_undone(studio: Studio) -> None:
    code = commissions.add(studio, Wishes(title="Cat", size="10x12cm")).code
    whole, first = references.add(studio, code, demo.sample(demo.PHOTO))
    assert whole.layout is not None
    assert whole.layout["likely"] == (first.likely and first.likely.to_dict())
    alone, _ = references.replan(
        studio,
        code,
        wanted=LayoutChange(subject=["ellipse 20,5 80,95"], drop=["rectangle 0,0 100,20"]),
    )
    area = sum(zone.area_cm2 for zone in alone.zones)
    assert area < 0.9 * sum(zone.area_cm2 for zone in whole.zones)
    kept, _ = references.replan(studio, code, wanted=LayoutChange(keep=["rectangle 0,0 100,20"]))
    assert sum(zone.area_cm2 for zone in kept.zones) > area
    _, seen = references.pictures(studio, code)
    assert seen.placed.bare is not None
    undo.undo_last(studio)
    undo.undo_last(studio)
    assert references.show(studio, code).zones == whole.zones


@pytest.mark.long
def test_a_photo_stays_where_it_lay_though_its_subject_was_not_looked_for(studio: Studio) -> None:
    """Plans from before have none on record: another number of zones is no other crop."""
    code = commissions.add(studio, Wishes(title="Cat", size="8x12cm")).code
    references.add(studio, code, demo.sample(demo.PHOTO))
    with studio.writing("test") as (book, entry):
        reference = book.scalars(select(Reference)).one()
        layout = reference.layout or {}
        reference.layout = {name: layout[name] for name in layout if name != "likely"}
        entry.says("As it was")
    _, found = references.replan(studio, code, zones=4)
    assert found.placed.position.placement.offset_mm == (0.0, 0.0)


def test_a_piece_whose_wood_is_not_chosen_is_planned_for_middling_wood(studio: Studio) -> None:
    code = commissions.add(studio, Wishes(title="Cat", size="8x12cm")).code
    view, _ = references.add(studio, code, demo.sample(demo.PHOTO))
    assert not [note for note in view.notes if "another size or wood" in note]
