"""A photo laid by eye is seen as a plan has it, whatever the window."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from burnplan.desk.jobs.layouts import parse_area
from burnplan.outline import Outline, OutlineKind
from burnplan.passes import Detail
from burnplan.tone.control import ToneControl, controlled
from burnplan.tone.laying import PhotoInHand, Setting, Where, Window
from burnplan.tone.lightness import on_wood
from burnplan.tone.lines import draw_lines
from burnplan.tone.photo import Photo, PhotoInfo
from burnplan.tone.place import Placement, place
from burnplan.tone.zones import find_zones

OVAL = Outline(OutlineKind.OVAL, 160, 120)
WOOD, BURN = 82.0, 20.0
PX = 2.0
WHOLE = Window(0, 0, PX, (240, 320))


@pytest.fixture(scope="module")
def photo() -> Photo:
    y, x = np.mgrid[:480, :640] + 0.5
    grey = 60 + 180 * x / 640
    grey[(x - 220) ** 2 + (y - 240) ** 2 < 120**2] = 30
    grey[120:360, 420:560] = 150
    rgb = np.dstack([grey.astype(np.uint8)] * 3)
    return Photo(rgb, (640, 480), PhotoInfo("PNG", (640, 480), 1))


SETTINGS = {
    "plain": Setting(Placement(), ToneControl()),
    "moved": Setting(Placement(offset_mm=(11, -7), scale=1.3, margin_mm=6), ToneControl()),
    "turned": Setting(Placement(turn_degrees=12, mirrored=True), ToneControl(midtone=1.4)),
    "whole": Setting(
        Placement(offset_mm=(20, 0), scale=0.7), ToneControl(black=15, white=90, local_contrast=0.6)
    ),
    "levels": Setting(Placement(crop=(0.2, 0.1, 0.9, 1)), ToneControl(auto_levels=True)),
    "marked": Setting(
        Placement(offset_mm=(0, 0)),
        ToneControl(
            background=(parse_area("rectangle 60,0 100,100"),),
            keep=(parse_area("ellipse 70,40 90,60"),),
        ),
    ),
}


def planned(photo: Photo, setting: Setting) -> NDArray[np.float32]:
    placed = controlled(
        place(photo, OVAL, setting.placement, PX, focal=setting.focal), setting.control
    )
    return on_wood(np.where(placed.inside, placed.lightness, np.float32(100)), WOOD, BURN)


@pytest.mark.long
@pytest.mark.parametrize("name", SETTINGS)
def test_all_of_the_wood_is_seen_as_it_is_planned(photo: Photo, name: str) -> None:
    hand = PhotoInHand(photo, OVAL, WOOD, BURN)
    seen = hand.seen(SETTINGS[name], WHOLE)
    off = np.abs(seen.light - planned(photo, SETTINGS[name]))[seen.where == Where.WOOD]
    # An edge may lie half a pixel elsewhere: what was averaged before is averaged again.
    assert np.median(off) < 0.5
    assert (off > 6).mean() < 0.03


@pytest.mark.long
@pytest.mark.parametrize("name", SETTINGS)
def test_a_part_looked_at_closer_is_that_part(photo: Photo, name: str) -> None:
    hand = PhotoInHand(photo, OVAL, WOOD, BURN)
    whole = hand.seen(SETTINGS[name], WHOLE)
    part = hand.seen(SETTINGS[name], Window(40, 30, PX, (120, 160)))
    expected = whole.light[60:180, 80:240]
    assert np.median(np.abs(part.light - expected)) < 0.5
    assert (part.where == whole.where[60:180, 80:240]).mean() > 0.995
    closer = hand.seen(SETTINGS[name], Window(40, 30, 2 * PX, (240, 320)))
    halved = closer.light.reshape(120, 2, 160, 2).mean(axis=(1, 3))
    assert np.median(np.abs(halved - expected)) < 1


def test_what_hangs_over_is_seen_beyond_the_wood(photo: Photo) -> None:
    hand = PhotoInHand(photo, OVAL, WOOD, BURN)
    seen = hand.seen(SETTINGS["plain"], Window(-20, -20, 1, (160, 200)))
    assert seen.where[0, 0] == Where.NOTHING
    assert seen.where[22, 22] == Where.OVER
    assert seen.where[80, 100] == Where.WOOD
    assert seen.light[seen.where == Where.WOOD].max() <= WOOD


@pytest.mark.long
def test_zones_are_those_of_the_raster_they_are_found_on(photo: Photo) -> None:
    hand = PhotoInHand(photo, OVAL, WOOD, BURN)
    setting = SETTINGS["moved"]
    zones = hand.zones(setting, 4)
    again = find_zones(place(photo, OVAL, setting.placement, 2.0), 4)
    assert zones.thresholds == pytest.approx(again.thresholds, abs=2)
    flat = hand.in_zones(hand.seen(setting, WHOLE), zones, WHOLE)
    tones = np.unique(flat.light[flat.where == Where.WOOD].round(2))
    assert len(tones) <= zones.count + 1, "the tones of the zones, and bare wood"


@pytest.mark.long
def test_lines_are_those_of_a_plan_and_go_with_the_photo(photo: Photo) -> None:
    hand = PhotoInHand(photo, OVAL, WOOD, BURN)
    setting = SETTINGS["moved"]
    position = hand.lies(setting)
    seen = [position.to_mm(line) for line in hand.lines(setting, Detail.USUAL)]
    drawn = draw_lines(place(photo, OVAL, setting.placement), Detail.USUAL).drawn
    assert len(seen) == len(drawn) > 0
    for one, other in zip(seen, drawn, strict=True):
        assert np.allclose(one[: len(other.points)], other.points, atol=1e-6)


def test_the_subject_stays_cut_out_while_the_photo_is_moved(photo: Photo) -> None:
    hand = PhotoInHand(photo, OVAL, WOOD, BURN)
    control = ToneControl(subject=(parse_area("ellipse 12,20 56,80"),))
    setting = Setting(Placement(offset_mm=(0, 0)), control)
    hand.cut(setting)
    seen = hand.seen(setting, WHOLE)
    planned_ = planned(photo, setting)
    off = np.abs(seen.light - planned_)[seen.where == Where.WOOD]
    assert (off > 6).mean() < 0.03, "as the plan cuts it"
    bare = (seen.light > WOOD - 0.5).mean()
    moved = hand.seen(
        setting._replace(placement=replace(setting.placement, offset_mm=(10, 0))), WHOLE
    )
    assert np.median(np.abs(moved.light[:, 100:300] - seen.light[:, 80:280])) < 0.5
    assert (moved.light > WOOD - 0.5).mean() == pytest.approx(bare, abs=0.05)
    hand.cut(Setting(setting.placement, ToneControl()))
    assert (hand.seen(SETTINGS["plain"], WHOLE).light > WOOD - 0.5).mean() < bare
