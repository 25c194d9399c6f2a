"""The value map, measured on rendered pages."""

import re
from pathlib import Path

import cv2
import numpy as np
import pypdf
import pytest

from burnplan.outline import Outline, OutlineKind
from burnplan.sheets.jobs.marks import ZoneMarks, place_marks
from burnplan.sheets.jobs.panel import Facts
from burnplan.sheets.jobs.shape import TAB_FILL
from burnplan.sheets.jobs.value_map import value_map
from burnplan.sheets.paper import Paper, plan_tiles
from burnplan.tone.analysis import PhotoAnalysis, analyse_photo
from burnplan.tone.lightness import lightness
from tests.sheets.conftest import MM, Render, drawn, read

FACTS = Facts("Lake", "C-0007")
OUTLINE = Outline(OutlineKind.RECTANGLE, 120, 90)
SNUG = Paper("Snug", 150, 130)
WOOD, BURN = 82.0, 18.0


@pytest.fixture(scope="module")
def reading() -> PhotoAnalysis:
    return read(OUTLINE)


@pytest.fixture
def written(reading: PhotoAnalysis, tmp_path: Path) -> Path:
    marks = place_marks(reading.zones, reading.lines, reading.placed)
    path = tmp_path / "values.pdf"
    made = value_map(
        path, reading, marks, FACTS, wood_lightness=WOOD, burn_lightness=BURN, paper=SNUG
    )
    assert (made.path, made.pages) == (path, 2)  # what it says is on a page of its own
    return path


@pytest.mark.long
def test_each_zone_lies_in_its_burned_tone_at_true_size(
    written: Path, reading: PhotoAnalysis, render: Render
) -> None:
    (tile,) = plan_tiles(120, 90, SNUG).tiles
    page = render(written, 1, colour=True)
    top, left = round(tile.y / MM), round(tile.x / MM)
    picture = page[top : top + round(90 / MM), left : left + round(120 / MM)]
    seen = lightness(np.ascontiguousarray(picture))
    labels = cv2.resize(reading.zones.labels, picture.shape[1::-1], interpolation=cv2.INTER_NEAREST)
    measures = {one.zone: one for one in reading.measures}
    inner = np.ones((13, 13), np.uint8)  # half a millimetre off borders
    for zone, measure in measures.items():
        if not measure.area_cm2:
            continue
        mine = seen[cv2.erode((labels == zone).view(np.uint8), inner).view(np.bool_)]
        tone = WOOD - measure.darkness * (WOOD - BURN)
        assert np.median(mine) == pytest.approx(tone, abs=1.0)
        # Flat: all but the mark and the dots.
        assert np.mean(np.abs(mine - np.median(mine)) < 1.0) > 0.97
    assert not np.all(np.abs(page.astype(int) - TAB_FILL) < 3, axis=2).any()  # no tabs


def test_it_says_zones_and_darkness(written: Path, reading: PhotoAnalysis) -> None:
    text = pypdf.PdfReader(written).pages[1].extract_text()
    for one in reading.measures:
        assert re.search(rf"Z{one.zone}\s+{one.darkness:.0%}".replace("%", r"\s%"), text)
    assert "Value map" in text
    assert "Cut along" not in text


def test_it_says_darkness_where_it_leaves_no_room_for_a_panel_too(tmp_path: Path) -> None:
    reading = read(Outline(OutlineKind.RECTANGLE, 200, 250))
    path, none = tmp_path / "values.pdf", ZoneMarks((), ())
    made = value_map(path, reading, none, FACTS, wood_lightness=WOOD, burn_lightness=BURN)
    assert made.pages == 1
    text = pypdf.PdfReader(path).pages[0].extract_text()
    for one in reading.measures:
        assert f"Z{one.zone} {one.darkness:.0%}".replace("%", " %") in text


def test_tones_go_on_to_the_edge_of_a_round_piece(tmp_path: Path, render: Render) -> None:
    reading = read(Outline(OutlineKind.ROUND, 90, 90))
    marks = place_marks(reading.zones, reading.lines, reading.placed)
    path = tmp_path / "values.pdf"
    value_map(path, reading, marks, FACTS, wood_lightness=WOOD, burn_lightness=BURN, paper=SNUG)
    (tile,) = plan_tiles(90, 90, SNUG).tiles
    page = render(path, 1)
    turns = np.linspace(0, 2 * np.pi, 200)
    x, y = tile.x + 45 + 44.7 * np.cos(turns), tile.y + 45 + 44.7 * np.sin(turns)
    near = page[np.round(y / MM).astype(int), np.round(x / MM).astype(int)].astype(int)
    x, y = tile.x + 45 + 44.2 * np.cos(turns), tile.y + 45 + 44.2 * np.sin(turns)
    inside = page[np.round(y / MM).astype(int), np.round(x / MM).astype(int)].astype(int)
    assert np.mean(np.abs(near - inside) < 12) > 0.95


@pytest.mark.parametrize(("wood", "seams"), [(20.0, True), (95.0, False)])
def test_tones_too_near_to_each_other_to_be_told_apart_have_a_seam(
    wood: float, seams: bool, tmp_path: Path, render: Render
) -> None:
    path = tmp_path / "values.pdf"
    reading = analyse_photo(drawn(), OUTLINE, wood_lightness=wood, burn_lightness=10, zones=3)
    value_map(
        path, reading, ZoneMarks((), ()), FACTS, wood_lightness=wood, burn_lightness=10, paper=SNUG
    )
    darkness = sorted(one.darkness for one in reading.measures if one.area_cm2)
    steps = np.diff(darkness) * (wood - 10)
    assert bool((steps < 6).any()) is seams
    (tile,) = plan_tiles(120, 90, SNUG).tiles
    page = render(path, 1, colour=True)
    inner = page[round((tile.y + 1) / MM) : round((tile.y + 89) / MM)]
    inner = inner[:, round((tile.x + 1) / MM) : round((tile.x + 119) / MM)]
    lightest = wood - darkness[0] * (wood - 10)
    assert bool((lightness(np.ascontiguousarray(inner)) > lightest + 3).any()) is seams
