from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.ndimage import uniform_filter
from skimage.color import rgb2lab

from burnplan.errors import BadInput
from burnplan.tone.lightness import (
    edge_preserved,
    lightness,
    lightness_of_luminance,
    luminance,
    luminance_of_lightness,
    on_wood,
    srgb_of_lab,
)
from burnplan.tone.photo import open_photo
from tests.tone.greys import grey_of_lightness

# Computed from CIE 15 / ISO/CIE 11664-4 and IEC 61966-2-1.
GREYS = {0: 0.0, 10: 2.742, 64: 27.093, 119: 50.034, 128: 53.585, 188: 76.246, 255: 100.0}


@pytest.mark.parametrize(("code", "expected"), GREYS.items())
def test_lightness_of_srgb_greys(code: int, expected: float) -> None:
    grey = np.full((2, 2, 3), code, np.uint8)
    assert lightness(grey)[1, 1] == pytest.approx(expected, abs=6e-4)


@pytest.mark.parametrize(("y", "expected"), [(0.18, 49.496), (0.184187, 50.0), (0, 0), (1, 100)])
def test_lightness_of_luminance(y: float, expected: float) -> None:
    assert float(lightness_of_luminance(y)) == pytest.approx(expected, abs=6e-4)
    assert float(luminance_of_lightness(expected)) == pytest.approx(y, abs=1e-5)


@pytest.mark.parametrize(
    "name",
    ["chelsea.png", "coffee.png", "astronaut.png", "rocket.jpg", "china.jpg", "flower.jpg"],
)
def test_agrees_with_scikit_image_on_real_photos(
    photo_file: Callable[[str], Path], name: str
) -> None:
    """Against skimage.color.rgb2lab, whose luminance weights have more decimals."""
    rgb = open_photo(photo_file(name)).rgb
    assert np.abs(lightness(rgb) - rgb2lab(rgb)[..., 0]).max() < 0.02


@pytest.mark.long
def test_agrees_with_both_libraries_over_the_whole_colour_cube(colour_science: Any) -> None:
    steps = np.arange(0, 256, 15, dtype=np.uint8)
    cube = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 1, 3)
    ours = lightness(cube)
    assert np.abs(ours - rgb2lab(cube)[..., 0]).max() < 0.02
    linear = colour_science.models.eotf_sRGB(cube / 255)
    y = linear @ np.array([0.2126, 0.7152, 0.0722])
    assert np.abs(luminance(cube) - y).max() < 1e-6
    theirs = colour_science.colorimetry.lightness_CIE1976(y, Y_n=1)
    assert np.abs(ours - theirs).max() < 1e-3


def test_tall_pictures_are_worked_in_strips_without_seams() -> None:
    rng = np.random.default_rng(0)
    tall = rng.integers(0, 256, (700, 3, 3), np.uint8)
    rows = np.concatenate([lightness(tall[i : i + 1]) for i in range(700)])
    assert np.array_equal(lightness(tall), rows)


@given(st.integers(0, 255))
def test_grey_of_its_lightness_is_itself(code: int) -> None:
    light = lightness(np.full((1, 1, 3), code, np.uint8))
    assert int(grey_of_lightness(light)[0, 0]) == code


def test_lab_colours_agree_with_scikit_image() -> None:
    rng = np.random.default_rng(1)
    rgb = rng.integers(0, 256, (200, 1, 3), np.uint8)
    lab = rgb2lab(rgb)[:, 0]
    assert np.abs(srgb_of_lab(lab).astype(int) - rgb[:, 0]).max() <= 1


def test_white_is_bare_wood_and_black_the_darkest_burn() -> None:
    assert on_wood([0, 25, 100], 82, 22).tolist() == [22, 37, 82]
    assert on_wood([5, 10, 90, 99], 82, 22, white=90, black=10).tolist() == [22, 22, 82, 82]


@given(
    st.lists(st.floats(0, 100), min_size=2),
    st.floats(30, 100),
    st.floats(0, 29),
)
def test_wood_never_reverses_two_tones(tones: list[float], wood: float, burn: float) -> None:
    mapped = on_wood(sorted(tones), wood, burn)
    assert np.all(np.diff(mapped) >= 0)
    assert mapped.min() >= burn - 1e-4
    assert mapped.max() <= wood + 1e-4


@pytest.mark.parametrize(
    ("wood", "burn"), [(20, 82), (50, 50), (101, 20), (80, -1), (float("nan"), 20)]
)
def test_impossible_wood_is_refused(wood: float, burn: float) -> None:
    with pytest.raises(BadInput, match="lightness"):
        on_wood([50], wood, burn)


def test_black_above_white_is_refused() -> None:
    with pytest.raises(BadInput, match="black point"):
        on_wood([50], 80, 20, white=10, black=90)


@pytest.mark.parametrize(("radius", "side"), [(0.2, 3), (1.4, 3), (1.6, 5), (4.0, 9)])
def test_smoothing_is_the_guided_filter_of_its_paper(radius: float, side: int) -> None:
    """He, Sun and Tang 2013, eq. 5 to 8 with the picture as its own guide, by scipy's mean."""
    picture = np.random.default_rng(2).uniform(0, 100, (40, 50)).astype(np.float32)

    def mean(values: np.ndarray) -> np.ndarray:
        return np.asarray(uniform_filter(values.astype(np.float64), side, mode="reflect"))

    local = mean(picture)
    variance = mean(picture.astype(np.float64) ** 2) - local**2
    slope = variance / (variance + 6.0**2)
    expected = mean(slope) * picture + mean((1 - slope) * local)
    assert np.abs(edge_preserved(picture, radius, 6.0) - expected).max() < 2e-3


def test_smoothing_keeps_large_steps_and_takes_small_ones_out() -> None:
    step = np.repeat(np.array([[20, 80]], np.float32), 40, axis=1).repeat(9, axis=0)
    assert np.abs(edge_preserved(step, 4, 3.0) - step).max() < 0.5
    ripple = 50 + np.tile(np.array([0.5, -0.5], np.float32), (9, 40))
    assert np.abs(edge_preserved(ripple, 4, 6.0) - 50).max() < 0.1
    flat = np.full((9, 9), 37, np.float32)
    assert edge_preserved(flat, 3, 1.0) == pytest.approx(flat)
