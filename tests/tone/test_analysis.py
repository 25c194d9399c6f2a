import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.progress import part
from burnplan.tone.analysis import analyse_photo
from burnplan.tone.lines import draw_lines
from burnplan.tone.measure import measure
from burnplan.tone.photo import open_photo
from burnplan.tone.place import Fit, Placement, place
from burnplan.tone.zones import find_zones

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
