import importlib
import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.photo import Photo
from burnplan.tone.place import (
    MAX_PIXELS,
    Fit,
    Placed,
    Placement,
    outline_mask,
    place,
    size_needed,
    working_resolution,
)

RECTANGLE, ROUND, OVAL, LIVE = OutlineKind


def rectangle(width: float, height: float) -> Outline:
    return Outline(RECTANGLE, width, height)


def cross(width: int, height: int) -> NDArray[np.uint8]:
    """White with a black cross in the middle."""
    picture = np.full((height, width, 3), 255, np.uint8)
    picture[height // 2 - 4 : height // 2 + 4] = 0
    picture[:, width // 2 - 4 : width // 2 + 4] = 0
    return picture


def lost(placed: Placed) -> float:
    # The share of the photo's used part that falls outside.
    photo_mm2 = math.prod(placed.position.crop_px) * placed.position.mm_per_px**2
    return 1 - float(placed.inside.sum()) * placed.pixel_area_mm2 / photo_mm2


@pytest.mark.parametrize(
    ("photo_size", "blank"),
    [((600, 400), (300, 200)), ((600, 400), (200, 300)), ((400, 600), (300, 200))],
)
def test_filling_is_centred_and_true_to_size(
    photo_of: Callable[[NDArray[np.uint8]], Photo],
    photo_size: tuple[int, int],
    blank: tuple[float, float],
) -> None:
    placed = place(photo_of(cross(*photo_size)), rectangle(*blank))
    height, width = placed.lightness.shape
    assert (width, height) == (blank[0] * 4, blank[1] * 4)
    assert placed.rgb.shape == (height, width, 3)
    assert placed.lightness.dtype == np.float32
    assert placed.inside.all()
    assert placed.rgb[height // 2, width // 2].max() == 0
    assert placed.rgb[5, 5].min() == 255
    mm_per_px = max(blank[0] / photo_size[0], blank[1] / photo_size[1])
    assert placed.source_px_per_mm == pytest.approx(1 / mm_per_px)
    seen = blank[0] * blank[1] / (photo_size[0] * photo_size[1] * mm_per_px**2)
    assert lost(placed) == pytest.approx(1 - seen, abs=1e-6)
    # The cross keeps its width, 8 photo pixels, in both directions.
    dark = placed.lightness < 50
    for line in (dark[5], dark[:, 5]):
        assert line.sum() / 4 == pytest.approx(8 * mm_per_px, abs=0.5)


def test_whole_leaves_wood_bare(photo_of: Callable[[NDArray[np.uint8]], Photo]) -> None:
    placed = place(photo_of(cross(600, 400)), rectangle(300, 300), Placement(Fit.WHOLE))
    assert placed.inside.sum() == 1200 * 800
    assert lost(placed) == pytest.approx(0, abs=1e-6)
    rows = np.flatnonzero(placed.inside.any(axis=1))
    assert (rows[0], rows[-1]) == (200, 999)
    assert placed.rgb[~placed.inside].min() == 255
    assert placed.pixel_area_mm2 == pytest.approx(1 / 16)


def test_quarter_turns_are_clockwise(photo_of: Callable[[NDArray[np.uint8]], Photo]) -> None:
    picture = np.full((400, 600, 3), 255, np.uint8)
    picture[:40, :40] = 0  # top left
    for turns, (row, column) in enumerate([(0, 0), (0, -1), (-1, -1), (-1, 0)]):
        blank = rectangle(200, 300) if turns % 2 else rectangle(300, 200)
        placed = place(photo_of(picture), blank, Placement(quarter_turns=turns))
        assert placed.rgb[row, column].max() == 0
        assert lost(placed) == pytest.approx(0, abs=1e-6)
        assert not any("blank" in note for note in placed.notes)


def test_shrinking_is_area_averaging(photo_of: Callable[[NDArray[np.uint8]], Photo]) -> None:
    rng = np.random.default_rng(0)
    picture = rng.integers(0, 256, (320, 480, 3), np.uint8)
    placed = place(photo_of(picture), rectangle(30, 20))  # 120 × 80 px: blocks of 4 × 4
    blocks = picture.reshape(80, 4, 120, 4, 3).mean(axis=(1, 3))
    assert np.abs(placed.rgb - blocks).max() <= 0.51


def test_crossed_orientations_are_noted_not_turned(
    photo_of: Callable[[NDArray[np.uint8]], Photo],
) -> None:
    placed = place(photo_of(cross(600, 400)), rectangle(100, 150))
    assert placed.outline == rectangle(100, 150)
    assert "The photo is landscape and the blank portrait, so much is cropped" in placed.notes
    placed = place(photo_of(cross(400, 600)), rectangle(150, 100), Placement(Fit.WHOLE))
    assert "The photo is portrait and the blank landscape, so much wood stays bare" in placed.notes
    assert place(photo_of(cross(600, 400)), rectangle(150, 150)).notes == ()
    turned = place(photo_of(cross(600, 400)), rectangle(100, 150), Placement(turn_degrees=90))
    assert turned.notes == ()


def test_too_few_pixels_are_noted(photo_of: Callable[[NDArray[np.uint8]], Photo]) -> None:
    placed = place(photo_of(cross(300, 200)), rectangle(300, 200))
    assert any("only 1.0 pixels per mm" in note for note in placed.notes)


def test_large_blanks_are_worked_more_coarsely(
    photo_of: Callable[[NDArray[np.uint8]], Photo],
) -> None:
    placed = place(photo_of(cross(100, 50)), rectangle(5000, 2500))
    assert placed.lightness.size <= MAX_PIXELS * 1.001
    assert placed.px_per_mm == pytest.approx(math.sqrt(8e6 / 12.5e6))
    assert any("instead of 4" in note for note in placed.notes)


@pytest.mark.parametrize("resolution", [0, -1, float("nan"), float("inf"), 1000])
def test_impossible_resolution_is_refused(resolution: float) -> None:
    with pytest.raises(BadInput, match="resolution"):
        working_resolution(rectangle(100, 100), resolution)


@given(
    st.integers(16, 9000),
    st.integers(16, 9000),
    st.floats(5, 2000),
    st.floats(5, 2000),
    st.sampled_from(Fit),
    st.integers(0, 3),
)
def test_size_needed_covers_the_raster(
    width: int, height: int, across: float, down: float, fit: Fit, turns: int
) -> None:
    outline = rectangle(across, down)
    need = size_needed((width, height), outline, Placement(fit, turns))
    resolution = working_resolution(outline)
    raster = (across * resolution, down * resolution)
    turned = need[::-1] if turns % 2 else need
    reach = [n + 1e-6 >= r for n, r in zip(turned, raster, strict=True)]
    assert all(reach) if fit is Fit.FILL else any(reach)


def test_a_photo_shrunk_on_opening_gives_the_same_picture(
    photo_of: Callable[[NDArray[np.uint8]], Photo],
) -> None:
    rng = np.random.default_rng(5)
    picture = rng.integers(0, 256, (320, 480, 3), np.uint8)
    half = picture.reshape(160, 2, 240, 2, 3).mean(axis=(1, 3)).round().astype(np.uint8)
    shrunk = Photo(half, (480, 320), photo_of(half).info)
    one, other = place(photo_of(picture), rectangle(30, 20)), place(shrunk, rectangle(30, 20))
    assert np.abs(one.rgb.astype(int) - other.rgb).max() <= 1
    assert one.source_px_per_mm == other.source_px_per_mm
    assert lost(one) == lost(other)


# --- outlines --------------------------------------------------------------------------------

STAR = tuple(
    (
        50 + (45 if i % 2 else 20) * math.cos(math.pi * i / 5),
        50 + (45 if i % 2 else 20) * math.sin(math.pi * i / 5),
    )
    for i in range(10)
)


@pytest.mark.parametrize(
    "outline",
    [
        Outline(ROUND, 100, 100),
        Outline(OVAL, 200, 120),
        Outline(LIVE, 100, 100, STAR),
        Outline(LIVE, 100, 100, tuple(reversed(STAR))),
        Outline(LIVE, 100, 80, ((0, 0), (100, 0), (60, 80), (10, 70))),
    ],
)
def test_masks_agree_with_the_outlines_area(outline: Outline) -> None:
    shape = (round(outline.height_mm * 4), round(outline.width_mm * 4))
    mask = outline_mask(outline, shape, 4.0)
    assert mask.sum() / 16 == pytest.approx(outline.area_mm2, rel=2e-3)


def test_live_edge_agrees_with_scikit_image() -> None:
    """Against skimage.draw.polygon2mask, whose corners count from pixel centres."""
    corners = np.array([(y * 4 - 0.5, x * 4 - 0.5) for x, y in STAR])
    theirs = importlib.import_module("skimage.draw").polygon2mask((400, 400), corners)
    ours = outline_mask(Outline(LIVE, 100, 100, STAR), (400, 400), 4.0)
    assert (ours != theirs).sum() <= 4  # pixels that lie on the edge itself


def areas(placed: Placed) -> float:
    return float(placed.inside.sum()) * placed.pixel_area_mm2


@pytest.mark.parametrize(
    "outline",
    [rectangle(100.3, 57.7), Outline(ROUND, 25, 25), Outline(OVAL, 61, 33)],
)
def test_inside_adds_up_to_the_exact_area(
    photo_of: Callable[[NDArray[np.uint8]], Photo], outline: Outline
) -> None:
    placed = place(photo_of(cross(300, 300)), outline)
    assert areas(placed) == pytest.approx(outline.area_mm2)
    assert placed.pixel_area_mm2 == pytest.approx(1 / 16, rel=0.02)
