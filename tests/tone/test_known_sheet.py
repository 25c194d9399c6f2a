"""A sheet of known size in a photo gives the place of all that lies beside it."""

import numpy as np
import pytest

from burnplan.errors import BadInput
from burnplan.tone import flat_view, known_sheet
from burnplan.tone.known_sheet import SHEETS
from tests.cases import quick_first
from tests.tone.scenes import scene


@quick_first(
    ("seed", "wood", "bench"),
    [(1, "maple", "light"), (2, "walnut", "clutter"), (3, "birch", "planks")],
    quick=0,
    long=1,
)
def test_an_a5_sheet_is_found(seed: int, wood: str, bench: str) -> None:
    shown = scene(seed, wood=wood, bench=bench)
    found = known_sheet.find_sheet(shown.rgb, SHEETS["a5"])
    true = shown.view.to_pixels(shown.sheet_mm)
    apart = np.linalg.norm(found.corners_px[:, None] - true[None], axis=2).min(axis=1)
    assert apart.max() < 1.0  # pixels
    # All of the blank, which reaches further than the sheet, as far apart as in truth.
    seen = found.view.to_mm(shown.view.to_pixels(shown.points_mm))
    half = len(seen) // 2
    across = np.linalg.norm(seen[:half] - seen[half : 2 * half], axis=1)
    true_across = np.linalg.norm(shown.points_mm[:half] - shown.points_mm[half : 2 * half], axis=1)
    assert np.abs(across - true_across).max() < 1.0  # mm


@pytest.mark.long
def test_a_sheet_of_another_shape_is_not_taken_for_it() -> None:
    shown = scene(4, wood="cherry", bench="grey", tilt=10)
    with pytest.raises(BadInput, match="proportions"):
        known_sheet.find_sheet(shown.rgb, (150.0, 150.0))


def test_without_a_sheet_it_is_said_what_to_do() -> None:
    grey = np.random.default_rng(1).integers(90, 130, (600, 800, 3)).astype(np.uint8)
    with pytest.raises(BadInput, match="Lay a sheet of paper flat on the wood"):
        known_sheet.find_sheet(grey, SHEETS["a5"])


def test_corners_agree_with_opencv() -> None:
    import cv2

    corners = np.array([(120, 80), (900, 140), (840, 700), (90, 610)], np.float64)
    seen = flat_view.view_of_corners(corners, (148, 210), (1000, 800))
    flat = np.array([(0, 0), (148, 0), (148, 210), (0, 210)], np.float32)
    other = cv2.getPerspectiveTransform(flat, corners.astype(np.float32))
    assert seen.matrix == pytest.approx(other, rel=1e-4, abs=1e-6)
    assert seen.to_mm(seen.to_pixels([(70, 12)])) == pytest.approx(np.array([(70, 12)]))


@pytest.mark.whole
def test_a_rectified_view_shows_the_sheet_upright() -> None:
    shown = scene(5, wood="walnut", bench="dark", tilt=30)
    found = known_sheet.find_sheet(shown.rgb, SHEETS["a5"])
    width, height = found.size_mm
    flat = found.view.rectified(shown.rgb, (0, 0, width, height), 2.0)
    assert flat.shape[:2] == (round(2 * height), round(2 * width))
    assert flat[10:-10, 10:-10].min() > 120  # all paper
    wide = found.view.rectified(shown.rgb, (-6, -6, width + 6, height + 6), 2.0)
    assert np.median(wide[:8]) < 110  # all wood
    assert np.median(wide[:, :8]) < 110


@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (0, 100), (100, 100), (100, 0)],  # anticlockwise
        [(0, 0), (100, 100), (100, 0), (0, 100)],  # crossed
        [(0, 0), (50, 0), (100, 0), (0, 100)],  # flat
        [(0, 0), (100, 0), (100, 100)],
    ],
)
def test_corners_that_cannot_be(corners: list[tuple[int, int]]) -> None:
    with pytest.raises(BadInput, match="clockwise"):
        flat_view.checked_corners(corners)


def test_a_distance_gives_the_scale() -> None:
    seen = flat_view.view_of_distance((10, 10), (310, 410), 250, (800, 600))
    assert seen.px_per_mm([(0, 0), (50, 60)]) == pytest.approx([2.0, 2.0])
    with pytest.raises(BadInput):
        flat_view.view_of_distance((10, 10), (10, 10), 250, (800, 600))
