"""Noise and softness measured against what was put in."""

from collections.abc import Callable

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from burnplan.outline import Outline, OutlineKind
from burnplan.tone.islands import islands_of
from burnplan.tone.lightness import lightness
from burnplan.tone.lines import Detail, draw_lines
from burnplan.tone.noise import blur_of, grain_of, without_noise
from burnplan.tone.place import Placed
from burnplan.tone.zones import find_zones
from tests.cases import quick_first

Place = Callable[..., Placed]


def disc(width: int, noise: float, soft: float = 0.5) -> NDArray[np.uint8]:
    """A dark disc on grey, in a picture of 4 × 5."""
    y, x = np.mgrid[0 : width * 5 // 4, 0:width]
    inside = np.hypot(x - width / 2, y - width * 5 / 8) < width / 4
    clean = cv2.GaussianBlur(np.where(inside, 60.0, 180.0), (0, 0), soft)
    noisy = clean + np.random.default_rng(6).normal(0, noise, clean.shape)
    return np.asarray(np.clip(np.rint(noisy), 0, 255), np.uint8)


def on_wood(placed_of: Place, picture: NDArray[np.uint8]) -> Placed:
    return placed_of(picture, Outline(OutlineKind.RECTANGLE, 200, 250))


@pytest.mark.parametrize("noise", [3, 10])
@pytest.mark.parametrize("width", [300, 400, 600, 800])
def test_noise_is_measured_as_it_was_put_in(placed_of: Place, width: int, noise: float) -> None:
    flat = np.random.default_rng(7).normal(130, noise, (width * 5 // 4, width))
    picture = np.clip(np.rint(flat), 0, 255).astype(np.uint8)
    put_in = lightness(np.repeat(picture[..., None], 3, axis=2)).std()
    grain = grain_of(on_wood(placed_of, picture))
    assert grain.noise == pytest.approx(put_in, rel=0.15 if width == 800 else 0.3)
    assert grain.pixel_mm == pytest.approx(200 / width)


def test_texture_in_a_part_is_no_noise(placed_of: Place) -> None:
    picture = disc(800, 0)
    picture[:500] = np.random.default_rng(8).integers(60, 200, (500, 800))
    assert grain_of(on_wood(placed_of, picture)).noise < 0.5


@pytest.mark.parametrize("soft_mm", [0.25, 0.5, 0.8])
def test_softness_is_measured_as_it_was_put_in(placed_of: Place, soft_mm: float) -> None:
    placed = on_wood(placed_of, disc(800, 0, soft_mm * 4))
    assert blur_of(placed) == pytest.approx(soft_mm, abs=0.06)


@quick_first("width", [400, 800, 2000], quick=2)
def test_a_noisy_disc_is_two_zones_with_one_border(placed_of: Place, width: int) -> None:
    placed = on_wood(placed_of, disc(width, 10))
    zones = find_zones(placed)
    assert zones.count == 2
    assert islands_of(zones.labels).count == 2 + 1  # and what lies outside


def test_a_clean_photo_is_left_as_it_is(placed_of: Place) -> None:
    placed = on_wood(placed_of, disc(800, 1))
    assert without_noise(placed) is placed.lightness


def test_a_softer_photo_is_drawn_at_a_larger_scale(placed_of: Place) -> None:
    sharp, soft = (
        draw_lines(on_wood(placed_of, disc(800, 0, blur)), Detail.USUAL) for blur in (0.5, 3.0)
    )
    assert soft.style.scale_mm > 1.5 * sharp.style.scale_mm
    assert soft.strokes == sharp.strokes == 1
