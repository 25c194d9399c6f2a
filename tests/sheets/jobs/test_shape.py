import numpy as np
import pytest

from burnplan.outline import Outline, OutlineKind
from burnplan.sheets.jobs.shape import outline_points, tape_tabs
from burnplan.sheets.paper import SIDE_MM

LIVE = Outline(
    OutlineKind.LIVE_EDGE, 200, 150, ((10, 0), (120, 12), (200, 5), (185, 80), (195, 150), (0, 140))
)
OUTLINES = [
    Outline(OutlineKind.RECTANGLE, 300, 400),
    Outline(OutlineKind.RECTANGLE, 20, 15),
    Outline(OutlineKind.ROUND, 180, 180),
    Outline(OutlineKind.OVAL, 200, 300),
    LIVE,
]


def area(points: object) -> float:
    x, y = np.asarray(points, float).T
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2)


@pytest.mark.parametrize("outline", OUTLINES)
def test_the_polygon_has_the_area_of_the_outline(outline: Outline) -> None:
    assert area(outline_points(outline)) == pytest.approx(outline.area_mm2, rel=2e-4)


def test_the_polygon_of_a_curve_is_true_to_a_thirtieth_of_a_millimetre() -> None:
    largest = Outline(OutlineKind.ROUND, 5000, 5000)
    points = np.asarray(outline_points(largest))
    middles = (points + np.roll(points, -1, axis=0)) / 2
    assert np.abs(np.hypot(*(middles - 2500).T) - 2500).max() < 1 / 30


@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize("outline", OUTLINES)
def test_a_hinge_along_the_top_and_one_tab_low_by_the_drawing_hand(
    outline: Outline, left_handed: bool
) -> None:
    *hinge, side = (np.asarray(tab) for tab in tape_tabs(outline, left_handed=left_handed))
    assert len(hinge) >= 2
    for tab in hinge:
        assert tab[:, 1].mean() < outline.height_mm * 0.3
    across, down = side.mean(axis=0) / (outline.width_mm, outline.height_mm)
    assert across < 0.2 if left_handed else across > 0.8
    assert down > 0.6
    for tab in (*hinge, side):
        # Beyond the side strip of the page nothing is printed.
        assert tab[:, 0].min() >= -SIDE_MM
        assert tab[:, 1].min() >= -SIDE_MM
        assert tab[:, 0].max() <= outline.width_mm + SIDE_MM
    rights = [tab[:, 0].max() for tab in hinge]
    lefts = [tab[:, 0].min() for tab in hinge]
    assert all(right < left for right, left in zip(rights, lefts[1:], strict=False))


def test_tabs_keep_clear_of_registration_marks() -> None:
    outline = Outline(OutlineKind.RECTANGLE, 600, 400)
    plain = tape_tabs(outline, left_handed=False)
    marks = [float(np.asarray(tab)[:, 0].mean()) for tab in plain[:-1]]
    for tab in tape_tabs(outline, left_handed=False, marks_at=marks)[:-1]:
        x = np.asarray(tab)[:, 0]
        assert all(mark < x.min() - 2.6 or mark > x.max() + 2.6 for mark in marks)
