"""Marks of zones: only where an area is worth it, and where its border can be seen."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from burnplan.outline import Outline, OutlineKind
from burnplan.sheets.jobs.marks import CLEAR_MM, DOT_MM, WORTH_MM2, place_marks, radius_mm
from burnplan.tone.analysis import PhotoAnalysis
from burnplan.tone.lines import Detail, Lines
from tests.sheets.conftest import read


@pytest.fixture(scope="module")
def reading() -> PhotoAnalysis:
    return read(Outline(OutlineKind.RECTANGLE, 120, 90))


def test_marks_lie_in_their_zone_and_never_over_a_line(reading: PhotoAnalysis) -> None:
    px_per_mm = reading.placed.px_per_mm
    marks = place_marks(reading.zones, reading.lines, reading.placed).marks
    assert marks
    tree = cKDTree(np.concatenate([line.points for line in reading.lines.drawn]))
    y, x = np.indices(reading.zones.labels.shape) + 0.5
    for mark in marks:
        room = radius_mm(mark.points)
        assert tree.query([mark.x, mark.y])[0] > room + CLEAR_MM / 2
        under = np.hypot(x / px_per_mm - mark.x, y / px_per_mm - mark.y) < room
        assert set(reading.zones.labels[under].tolist()) == {mark.zone}
        assert mark.text == f"Z{mark.zone}"


def test_a_disc_is_marked_in_its_middle(reading: PhotoAnalysis) -> None:
    marks = place_marks(reading.zones, reading.lines, reading.placed).marks
    (disc,) = [mark for mark in marks if mark.zone == 1]
    assert (disc.x, disc.y) == pytest.approx((180 * 120 / 640, 240 * 120 / 640), abs=0.5)


def laid(
    reading: PhotoAnalysis, labels: NDArray[np.uint8], bare: NDArray[np.bool_] | None = None
) -> PhotoAnalysis:
    """The reading with other zones, on a piece of their size at 4 px/mm; nothing is traced."""
    height, width = labels.shape
    placed = replace(
        reading.placed,
        outline=Outline(OutlineKind.RECTANGLE, width / 4, height / 4),
        inside=np.ones(labels.shape, np.bool_),
        bare=bare,
        px_per_mm=4.0,
    )
    zones = replace(reading.zones, labels=labels)
    return replace(
        reading, placed=placed, zones=zones, lines=Lines((), Detail.USUAL, reading.lines.style)
    )


def test_areas_too_small_or_too_narrow_have_none(reading: PhotoAnalysis) -> None:
    labels = np.full((320, 400), 2, np.uint8)  # 80 × 100 mm at 4 px/mm
    labels[20:300, 60:68] = 1  # 2 mm wide
    side = round(0.9 * WORTH_MM2**0.5 * 4)
    labels[20 : 20 + side, 100 : 100 + side] = 3  # a square below the least area
    side = round(1.1 * WORTH_MM2**0.5 * 4)
    labels[20 : 20 + side, 200 : 200 + side] = 4
    found = laid(reading, labels)
    marks = place_marks(found.zones, found.lines, found.placed).marks
    assert {mark.zone for mark in marks} == {2, 4}


def test_a_border_is_dotted_once_where_no_line_shows_it(
    reading: PhotoAnalysis,
) -> None:
    labels = np.full((320, 400), 3, np.uint8)
    labels[80:240, 80:240] = 1  # 40 × 40 mm, without a line
    found = laid(reading, labels)
    borders = place_marks(found.zones, found.lines, found.placed).borders
    assert {border.zone for border in borders} == {1}
    dots = np.concatenate([border.points for border in borders])
    on_square = np.abs(np.abs(dots - 40).max(axis=1) - 20)
    assert on_square.max() < 0.5
    assert len(dots) == pytest.approx(4 * 40 / DOT_MM, rel=0.05)
    assert cKDTree(dots).query(dots, 2)[0][:, 1].min() > DOT_MM / 2
    # Where a line runs along it there are none.
    line = replace(
        reading.lines.drawn[0],
        points=np.array([[20.0, 20], [60, 20], [60, 60], [20, 60]]),
        closed=True,
    )
    traced = replace(found.lines, lines=(line,))
    assert not place_marks(found.zones, traced, found.placed).borders


def test_a_border_of_bare_wood_is_dotted_and_the_outline_is_not(reading: PhotoAnalysis) -> None:
    labels = np.full((320, 400), 2, np.uint8)
    bare = np.zeros(labels.shape, np.bool_)
    bare[:, 200:] = True  # the right half
    found = laid(reading, labels, bare=bare)
    (border,) = place_marks(found.zones, found.lines, found.placed).borders
    assert border.zone == 0
    assert np.abs(border.points[:, 0] - 50).max() < 0.5
    assert np.ptp(border.points[:, 1]) > 75


def test_what_is_left_bare_carries_no_mark(reading: PhotoAnalysis) -> None:
    bare = np.zeros(reading.zones.labels.shape, np.bool_)
    bare[: len(bare) // 2] = True
    everywhere = place_marks(reading.zones, reading.lines, reading.placed).marks
    marks = place_marks(reading.zones, reading.lines, replace(reading.placed, bare=bare)).marks
    assert any(mark.y < 45 for mark in everywhere)
    assert marks
    assert all(mark.y - radius_mm(mark.points) > 45 for mark in marks)
