"""Strips drawn with known lightness are read back, whatever the light they were taken in."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter
from skimage.color import lab2rgb

from burnplan.errors import BadInput
from burnplan.tone.strip import GREY_CARD, WHITE_CARD, Card, End, read_strip

WOOD, LADDER = 82.0, (76.0, 68.0, 61.0, 52.0, 44.0, 36.0, 28.0, 21.0)


def _colour(lightness: float) -> NDArray[np.float64]:
    """Linear sRGB of wood at a lightness: paler wood is yellower, char is nearly grey.

    Made by scikit-image, not by the code under test.
    """
    chroma = max(0.0, (lightness - 15) / 70)
    encoded = lab2rgb(np.array([[[lightness, 5 * chroma, 22 * chroma]]]))[0, 0]
    linear = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    return np.asarray(linear, np.float64)


def _neutral(lightness: float) -> NDArray[np.float64]:
    return np.full(3, ((lightness + 16) / 116) ** 3)


def draw_strip(
    ladder: tuple[float, ...] = LADDER,
    *,
    exposure: float = 1.0,
    cast: tuple[float, float, float] = (1.0, 1.0, 1.0),
    gap: int = 24,
    card: float | None = WHITE_CARD,
    noise: float = 2.0,
    blur: float = 1.2,
    seed: int = 3,
) -> NDArray[np.uint8]:
    """A strip as a camera sees it: card, wood, patches; light scaled, noisy, blurred, encoded."""
    rng = np.random.default_rng(seed)
    parts = [(_neutral(card), 90)] if card is not None else []
    parts.append((_colour(WOOD), 60))
    for one in ladder:
        parts.append((_colour(one), 56))
        if gap:
            parts.append((_colour(WOOD), gap))
    parts.append((_colour(WOOD), 50))
    row = np.concatenate([np.tile(colour, (length, 1)) for colour, length in parts])
    linear = np.tile(row, (80, 1, 1))
    grain = gaussian_filter(rng.normal(size=linear.shape[:2]), (0.7, 12))
    linear *= 1 + 0.02 * (grain / grain.std())[..., None]
    linear = gaussian_filter(linear, (blur, blur, 0)) * exposure * np.array(cast)
    linear = np.clip(linear, 0, 1)
    code = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055) * 255
    noisy = np.rint(code + rng.normal(scale=noise, size=code.shape))
    made: NDArray[np.uint8] = np.clip(noisy, 0, 255).astype(np.uint8)
    return made


CARD = Card(End.FIRST)


@pytest.mark.parametrize("gap", [24, 0])
@pytest.mark.parametrize("cast", [(1.0, 1.0, 1.0), (1.0, 0.82, 0.6), (0.75, 0.9, 1.0)])
@pytest.mark.parametrize("exposure", [1.0, 0.7, 0.4])
def test_comes_back_within_two_under_any_light(
    exposure: float, cast: tuple[float, float, float], gap: int
) -> None:
    found = read_strip(draw_strip(exposure=exposure, cast=cast, gap=gap), len(LADDER), card=CARD)
    off = np.array([patch.lightness for patch in found.patches]) - LADDER
    assert np.abs(off).max() < 2, off
    assert found.bare == pytest.approx(WOOD, abs=2)
    assert found.notes == ()


@pytest.mark.parametrize("seed", range(6))
def test_more_noise_moves_it_little(seed: int) -> None:
    found = read_strip(draw_strip(noise=7, exposure=0.6, seed=seed), len(LADDER), card=CARD)
    off = np.array([patch.lightness for patch in found.patches]) - LADDER
    assert np.abs(off).max() < 2, off
    assert all(patch.spread > 1 for patch in found.patches)


def test_without_the_card_the_same_photo_is_far_off() -> None:
    """So that the correction above is what does it."""
    dark = draw_strip(exposure=0.4, card=None)
    found = read_strip(dark, len(LADDER))
    off = np.array([patch.lightness for patch in found.patches]) - LADDER
    assert off.min() < -8
    assert "No card" in found.notes[0]


def test_the_bare_wood_tells_the_exposure() -> None:
    found = read_strip(draw_strip(exposure=0.5, card=None), len(LADDER), bare=WOOD)
    off = np.array([patch.lightness for patch in found.patches]) - LADDER
    assert np.abs(off).max() < 2, off
    assert "bare wood" in found.notes[0]


def test_cards_are_as_light_as_they_are() -> None:
    """An 18 % grey card by CIE L*; white paper by common practice, no source."""
    assert pytest.approx(116 * 0.18 ** (1 / 3) - 16, abs=0.01) == GREY_CARD
    assert WHITE_CARD == 95


def test_a_grey_card_at_the_other_end() -> None:
    drawn = draw_strip(card=49.496, cast=(1.0, 0.9, 0.8))
    turned = np.ascontiguousarray(drawn[:, ::-1])
    found = read_strip(turned, len(LADDER), card=Card(End.LAST, GREY_CARD))
    off = np.array([patch.lightness for patch in found.patches]) - LADDER[::-1]
    assert np.abs(off).max() < 2, off


def test_an_upright_strip_reads_as_a_lying_one() -> None:
    drawn = draw_strip()
    lying = read_strip(drawn, len(LADDER), card=CARD)
    upright = read_strip(np.ascontiguousarray(drawn.swapaxes(0, 1)), len(LADDER), card=CARD)
    assert upright == lying


@pytest.mark.parametrize("count", [2, 4, 12])
def test_few_and_many_patches(count: int) -> None:
    ladder = tuple(np.linspace(74, 22, count))
    found = read_strip(draw_strip(ladder), count, card=CARD)
    assert [p.lightness for p in found.patches] == pytest.approx(ladder, abs=2)
    places = [edge for p in found.patches for edge in (p.start, p.end)]
    assert places == sorted(places)


def test_what_cannot_be_read_is_refused() -> None:
    drawn = draw_strip()
    with pytest.raises(BadInput, match="told apart"):
        read_strip(drawn, 20, card=CARD)
    with pytest.raises(BadInput, match="told apart"):
        read_strip(np.full((80, 600, 3), 200, np.uint8), 5)
    with pytest.raises(BadInput, match="overexposed"):
        read_strip(draw_strip(exposure=1.6), len(LADDER), card=CARD)
    with pytest.raises(BadInput, match="too small"):
        read_strip(drawn[:, :60], 2)
    with pytest.raises(BadInput, match="2 to 40"):
        read_strip(drawn, 1)
