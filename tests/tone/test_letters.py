"""Lettering on a reference: what it takes of zones and lines, and how it is shown."""

from dataclasses import replace

import numpy as np
import pytest

from burnplan.outline import Outline, OutlineKind
from burnplan.tone.analysis import PhotoAnalysis, analyse_photo
from burnplan.tone.areas import MarkedArea
from burnplan.tone.letters import Letters, notes_on
from burnplan.tone.passes import Pass
from burnplan.zone_names import LETTERING
from tests.sheets.conftest import drawn

OUTLINE = Outline(OutlineKind.RECTANGLE, 120, 90)
# A frame, 30 × 20 mm with strokes 4 mm wide, over the edge of the square in the photo.
RINGS = (
    np.array([(60.0, 40), (90, 40), (90, 60), (60, 60)]),
    np.array([(64.0, 44), (64, 56), (86, 56), (86, 44)]),
)
FRAME = Letters(lines=("O",), rings=RINGS, darkness=0.8)


def read(*letters: Letters, focal: tuple[MarkedArea, ...] = ()) -> PhotoAnalysis:
    return analyse_photo(
        drawn(), OUTLINE, wood_lightness=82, burn_lightness=18, letters=letters, focal=focal
    )


@pytest.fixture(scope="module")
def plain() -> PhotoAnalysis:
    return read()


@pytest.fixture(scope="module")
def lettered() -> PhotoAnalysis:
    return read(FRAME)


def test_area_and_length_are_those_of_the_outlines() -> None:
    assert FRAME.area_mm2 == 30 * 20 - 22 * 12
    assert FRAME.length_mm == 100 + 68
    assert FRAME.stroke_mm == pytest.approx(4.0)
    assert FRAME.shapes == 1


def test_letters_are_a_zone_of_their_own(plain: PhotoAnalysis, lettered: PhotoAnalysis) -> None:
    own = lettered.measures[-1]
    assert (own.zone, own.area_cm2, own.darkness) == (LETTERING, 3.36, 0.8)
    assert own.line_cm == pytest.approx(16.8)
    assert lettered.zones.thresholds == plain.zones.thresholds
    whole = sum(one.area_cm2 for one in lettered.measures)
    assert whole == pytest.approx(OUTLINE.area_cm2, abs=0.02)


def test_a_strip_round_letters_stays_bare(plain: PhotoAnalysis) -> None:
    """Own geometry: outside by 2 mm with round corners, and the hole 2 mm smaller on each side."""
    cleared = read(Letters(lines=("O",), rings=RINGS, darkness=0.8, clear_mm=2.0))
    bare = 100 * 2 + np.pi * 4 + (22 * 12 - 18 * 8)
    left = OUTLINE.area_cm2 - sum(one.area_cm2 for one in cleared.measures)
    assert left * 100 == pytest.approx(bare, rel=0.02)
    assert plain.placed.burned.sum() > cleared.placed.burned.sum()


def test_no_line_of_the_picture_runs_where_letters_are(
    plain: PhotoAnalysis, lettered: PhotoAnalysis
) -> None:
    def crossing(reading: PhotoAnalysis) -> int:
        found = 0
        for line in reading.lines.drawn:
            if not line.of_letter:
                points = np.vstack([line.points, line.points[:1]] if line.closed else [line.points])
                along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
                at = np.arange(0, along[-1], 0.1)
                x, y = (np.interp(at, along, points[:, axis]) for axis in (0, 1))
                within = (x > 60.3) & (x < 89.7) & (y > 40.3) & (y < 59.7)
                hole = (x > 63.7) & (x < 86.3) & (y > 43.7) & (y < 56.3)
                found += int((within & ~hole).sum())
        return found

    assert crossing(plain) > 0
    assert crossing(lettered) == 0
    outlines = [line for line in lettered.lines.drawn if line.of_letter]
    assert [len(line.points) for line in outlines] == [4, 4]
    assert {line.in_pass for line in outlines} == {Pass.SHAPES}
    assert list(lettered.lines.lines[:2]) == outlines
    others = sum(line.length_mm for line in lettered.lines.drawn if not line.of_letter)
    assert others < sum(line.length_mm for line in plain.lines.drawn)


def test_they_are_seen_in_the_tone_they_are_burned(lettered: PhotoAnalysis) -> None:
    light, px = lettered.placed.lightness, lettered.placed.px_per_mm
    assert light[round(42 * px), round(75 * px)] == pytest.approx(20)  # 100 (1 - 0.8)
    outside = light[round(42 * px), round(75 * px) - round(20 * px)]
    assert outside != pytest.approx(20)


def test_along_outlines_only_they_have_no_area() -> None:
    own = read(Letters(lines=("O",), rings=RINGS, filled=False)).measures[-1]
    assert own.area_cm2 == 0.0
    assert own.line_cm == pytest.approx(16.8)


def test_it_is_said_where_they_cover_the_focal_area(lettered: PhotoAnalysis) -> None:
    face = MarkedArea.from_dict(
        {"kind": "rectangle", "corners": [[80, 30], [110, 80]], "on": "wood"}
    )
    covering = read(FRAME, focal=(face,))
    # Own geometry: 10 × 20 mm of the frame's right end, less 6 × 12 of its hole.
    assert covering.focal_lettered_cm2[0] == pytest.approx(1.28, abs=0.05)
    assert any("over the focal area" in note for note in covering.notes)
    assert lettered.focal_lettered_cm2 == (0.0,)


def test_it_is_said_where_one_lies_over_another(lettered: PhotoAnalysis) -> None:
    beside = Letters(lines=("I",), rings=(RINGS[0] - (35, 0),))
    over = Letters(lines=("I",), rings=(RINGS[0] - (28, 0),))
    said = "'I' lies over 'O': put one of them elsewhere"
    assert said in notes_on([FRAME, over], lettered.placed)
    assert said not in notes_on([FRAME, beside], lettered.placed)


@pytest.mark.parametrize(("dark_to_mm", "said"), [(67, True), (62, False)])
def test_a_third_of_them_on_dark_ground_is_said(
    lettered: PhotoAnalysis, dark_to_mm: float, said: bool
) -> None:
    light = np.full_like(lettered.placed.lightness, 95)
    light[:, : round(dark_to_mm * lettered.placed.px_per_mm)] = 10
    ground = replace(lettered.placed, lightness=light, lettered=None)
    assert any("hardly to be read" in note for note in notes_on([FRAME], ground)) is said


@pytest.mark.long
def test_it_is_said_where_they_cannot_be_read() -> None:
    x, y = 120 * 180 / 640, 90 * 240 / 480  # the middle of the dark disc, about
    on_dark = Letters(
        lines=("I",), rings=(np.array([(x, y), (x + 4, y), (x + 4, y + 9), (x, y + 9)]),)
    )
    assert any("hardly to be read" in note for note in read(on_dark).notes)
    cleared = Letters(lines=on_dark.lines, rings=on_dark.rings, clear_mm=2.0)
    assert not any("hardly to be read" in note for note in read(cleared).notes)
    thin = Letters(lines=("I",), rings=(np.array([(8.0, 8), (8.5, 8), (8.5, 16), (8, 16)]),))
    assert any("close them up" in note for note in read(thin).notes)
