import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from PIL import Image

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.progress import part
from burnplan.tone.analysis import PhotoAnalysis, analyse_photo
from burnplan.tone.areas import AreaKind, MarkedArea, On
from burnplan.tone.control import ToneControl
from burnplan.tone.lines import draw_lines
from burnplan.tone.photo import open_photo
from burnplan.tone.place import Fit, Placed, Placement, place
from burnplan.tone.position import position_on
from burnplan.tone.region import polygon_mask
from burnplan.tone.zones import find_zones
from tests.tone.measured import measure

BLANK = Outline(OutlineKind.RECTANGLE, 120, 80)


def test_reads_as_the_steps_do_one_by_one(photo_file: Callable[[str], Path]) -> None:
    path = photo_file("coffee.png")
    reading = analyse_photo(path, BLANK, wood_lightness=82, burn_lightness=20, zones=5)
    placed = place(open_photo(path), BLANK)
    zones = find_zones(placed, 5)
    assert np.array_equal(reading.zones.labels, zones.labels)
    assert reading.zones.thresholds == zones.thresholds
    lines = draw_lines(placed, darkest=zones.thresholds[0])
    assert [line.in_pass for line in reading.lines.lines] == [line.in_pass for line in lines.lines]
    assert len(reading.ticks) > 10
    assert reading.measures == measure(placed, zones, lines, 82, 20)
    assert reading.info.size == (600, 400)
    assert reading.notes == ()


def test_is_the_same_each_time(photo_file: Callable[[str], Path]) -> None:
    one, other = (
        analyse_photo(photo_file("rocket.jpg"), BLANK, wood_lightness=82, burn_lightness=20)
        for _ in range(2)
    )
    assert one.measures == other.measures
    assert np.array_equal(one.zones.labels, other.zones.labels)


def test_a_jpeg_shrunk_while_decoding_reads_nearly_as_the_whole(
    photo_file: Callable[[str], Path],
) -> None:
    """The same photo, and the same on four times its pixels, for a small blank."""
    small = Outline(OutlineKind.RECTANGLE, 48, 32)
    path = photo_file("rocket.jpg")
    shrunk = analyse_photo(path, small, wood_lightness=82, burn_lightness=20)
    placed = place(open_photo(path), small)
    whole = find_zones(placed)
    assert shrunk.zones.thresholds == pytest.approx(whole.thresholds, abs=0.8)
    assert (shrunk.zones.labels == whole.labels).mean() > 0.95


def test_progress_rises_over_all_stages(photo_file: Callable[[str], Path]) -> None:
    told: list[tuple[float, str]] = []
    analyse_photo(
        photo_file("rocket.jpg"),
        BLANK,
        wood_lightness=82,
        burn_lightness=20,
        on_progress=lambda done, label: told.append((done, label)),
    )
    fractions = [done for done, _label in told]
    assert fractions == sorted(fractions)
    assert (fractions[0], fractions[-1]) == (0.0, 1.0)
    assert len({label for _done, label in told}) >= 8


@pytest.mark.long
def test_notes_of_all_stages_are_gathered(photo_file: Callable[[str], Path]) -> None:
    reading = analyse_photo(
        photo_file("horse.png"),
        Outline(OutlineKind.RECTANGLE, 260, 300),
        wood_lightness=82,
        burn_lightness=20,
        placement=Placement(Fit.WHOLE),
    )
    text = " | ".join(reading.notes)
    for words in ("Transparent", "wood stays bare", "pixels per mm", "too few tones"):
        assert words in text


def test_own_thresholds_and_turn(photo_file: Callable[[str], Path]) -> None:
    reading = analyse_photo(
        photo_file("coffee.png"),
        Outline(OutlineKind.OVAL, 80, 120),
        wood_lightness=82,
        burn_lightness=20,
        placement=Placement(quarter_turns=1),
        thresholds=(30, 60),
    )
    assert reading.zones.thresholds == (30.0, 60.0)
    assert sum(m.area_cm2 for m in reading.measures) == pytest.approx(np.pi * 40 * 60 / 100)


def test_a_wrong_wood_is_refused(photo_file: Callable[[str], Path]) -> None:
    with pytest.raises(BadInput, match="lightness"):
        analyse_photo(photo_file("coffee.png"), BLANK, wood_lightness=10, burn_lightness=20)


def test_a_stretch_of_progress_stays_within_it() -> None:
    told: list[float] = []
    tell = part(lambda done, _label: told.append(done), 0.2, 0.6)
    for done in (-1, 0, 0.5, 1, 2):
        tell(done, "")
    assert told == pytest.approx([0.2, 0.2, 0.4, 0.6, 0.6])


@pytest.mark.parametrize(
    "outline",
    [
        Outline(OutlineKind.RECTANGLE, 5, 5),
        Outline(OutlineKind.RECTANGLE, 5, 2000),
        Outline(OutlineKind.ROUND, 5, 5),
        Outline(OutlineKind.LIVE_EDGE, 60, 40, ((0, 0), (60, 0), (0, 3))),
        Outline(OutlineKind.LIVE_EDGE, 60, 40, ((-50, -50), (110, -50), (110, 90), (-50, 90))),
    ],
)
def test_odd_blanks_are_read_too(photo_file: Callable[[str], Path], outline: Outline) -> None:
    for placement in (Placement(), Placement(Fit.WHOLE)):
        reading = analyse_photo(
            photo_file("rocket.jpg"),
            outline,
            wood_lightness=82,
            burn_lightness=20,
            placement=placement,
        )
        labels, placed = reading.zones.labels, reading.placed
        assert np.array_equal(labels > 0, placed.inside)
        covered = float(placed.inside.sum()) * placed.pixel_area_mm2 / 100
        assert sum(m.area_cm2 for m in reading.measures) == pytest.approx(covered)
        assert covered <= outline.width_mm * outline.height_mm / 100 * 1.001


def test_a_live_edge_without_area_is_refused(photo_file: Callable[[str], Path]) -> None:
    flat = Outline(OutlineKind.LIVE_EDGE, 60, 40, ((5, 5), (30, 20), (55, 35)))
    with pytest.raises(BadInput, match="outline holds nothing"):
        analyse_photo(photo_file("rocket.jpg"), flat, wood_lightness=82, burn_lightness=20)


def test_the_smallest_photo_is_read() -> None:
    picture = np.random.default_rng(0).integers(0, 256, (16, 16, 3), np.uint8)
    out = io.BytesIO()
    Image.fromarray(picture).save(out, "PNG")
    reading = analyse_photo(out.getvalue(), BLANK, wood_lightness=82, burn_lightness=20)
    assert reading.zones.count == 6
    assert any("pixels per mm" in note for note in reading.notes)


UPRIGHT = Outline(OutlineKind.RECTANGLE, 100, 125)
DRAWN = json.loads(Path(__file__).with_name("subjects.json").read_text())


def seen(placed: Placed, cut: float = 0.0) -> float:
    """Share of the flower, outlined by hand, that is on the piece; the photo's left may be cut."""
    outline = np.array(DRAWN["flower.jpg"]["outline"]) / 100
    outline[:, 0] = (outline[:, 0] - cut) / (1 - cut)
    fine = np.array([1000, 1000])
    mask = polygon_mask([outline * fine], (1000, 1000), 1.0)
    row, column = np.nonzero(mask)
    x, y = placed.position.to_mm(np.stack([column, row], axis=1) / fine).T
    inside = (x > 0) & (x < placed.outline.width_mm) & (y > 0) & (y < placed.outline.height_mm)
    return float(inside.mean())


def read(path: Path, **more: Any) -> PhotoAnalysis:
    return analyse_photo(path, UPRIGHT, wood_lightness=82, burn_lightness=20, **more)


@pytest.mark.long
def test_a_photo_is_placed_by_its_likely_subject_where_nothing_else_says_how(
    photo_file: Callable[[str], Path], tmp_path: Path
) -> None:
    path = tmp_path / "left.png"  # the flower at its left
    Image.open(photo_file("flower.jpg")).crop((128, 0, 640, 427)).save(path)
    centred, found = read(path), read(path, seek_subject=True)
    assert centred.likely is None
    assert found.likely is not None
    assert seen(centred.placed, 0.2) < 0.95
    assert seen(found.placed, 0.2) > 0.99
    # It is as large as before, and covers the piece as before.
    assert found.placed.position.mm_per_px == centred.placed.position.mm_per_px
    assert found.placed.inside.all()
    # What is known is not looked for again, and comes to the same.
    again = read(path, likely=found.likely)
    assert np.array_equal(again.placed.rgb, found.placed.rgb)
    by_hand = Placement(crop=(0.0, 0.0, 0.4, 1.0))
    for more in ({}, {"seek_subject": True}):
        assert read(path, placement=by_hand, **more).placed.position.crop == by_hand.crop
    moved = Placement(offset_mm=(3.0, 0.0))
    placed = read(path, placement=moved, seek_subject=True).placed
    assert placed.position.placement.offset_mm == (3.0, 0.0)


def test_a_subject_too_wide_for_the_piece_is_shown_by_its_middle() -> None:
    wide = MarkedArea(AreaKind.ELLIPSE, ((0.3, 0.1), (0.9, 0.9)))
    position = position_on((600, 300), UPRIGHT, likely=wide)
    assert position.to_mm([(0.6, 0.5)])[0] == pytest.approx((50, 62.5), abs=0.1)


@pytest.mark.long
def test_what_is_not_subject_is_bare(photo_file: Callable[[str], Path]) -> None:
    left, top, right, bottom = DRAWN["flower.jpg"]["mark"]
    mark = MarkedArea(AreaKind.ELLIPSE, ((left, top), (right, bottom)))
    found = read(photo_file("flower.jpg"), control=ToneControl(subject=(mark,)))
    whole = read(photo_file("flower.jpg"))
    assert found.placed.bare is not None
    share = found.placed.burned.sum() / found.placed.inside.sum()
    assert 0.2 < share < 0.8
    assert f"The subject takes {share * 100:.0f} %" in " ".join(found.notes)
    assert seen(found.placed) == 1
    area = sum(zone.area_cm2 for zone in found.measures)
    assert area == pytest.approx(share * UPRIGHT.area_cm2, rel=0.01)
    away = cv2.distanceTransform(found.placed.bare.view(np.uint8), cv2.DIST_L2, 5)
    for line in found.lines.drawn:
        x, y = np.floor(line.points * found.placed.px_per_mm).astype(int).T
        height, width = away.shape
        assert away[y.clip(0, height - 1), x.clip(0, width - 1)].max() < 2 * 4  # 2 mm
    assert found.lines.strokes < whole.lines.strokes
    # What is given back is burned, and what is dropped is not, though it is subject.
    corner = MarkedArea(AreaKind.RECTANGLE, ((0.0, 0.0), (12.0, 12.0)), On.WOOD)
    middle = MarkedArea(AreaKind.RECTANGLE, ((45.0, 55.0), (55.0, 65.0)), On.WOOD)
    control = ToneControl(subject=(mark,), keep=(corner,), background=(middle,))
    changed = read(photo_file("flower.jpg"), control=control).placed
    assert changed.burned[:46, :46].all()
    assert not found.placed.burned[:20, :20].any()
    assert not changed.burned[222:258, 182:218].any()
    assert ToneControl.from_dict(control.to_dict()) == control


def test_a_mark_without_a_subject_is_told(photo_file: Callable[[str], Path]) -> None:
    beyond = MarkedArea(AreaKind.RECTANGLE, ((-60.0, -60.0), (-20.0, -20.0)), On.WOOD)
    with pytest.raises(BadInput, match="No subject is found"):
        read(photo_file("flower.jpg"), control=ToneControl(subject=(beyond,)))
