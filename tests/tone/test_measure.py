import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy import ndimage

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.lightness import lightness
from burnplan.tone.lines import draw_lines
from burnplan.tone.measure import TEXTURE_FULL, TEXTURE_RADIUS_MM, ZoneMeasure
from burnplan.tone.photo import open_photo
from burnplan.tone.place import Placed
from burnplan.tone.zones import find_zones
from tests.tone.greys import grey_of_lightness
from tests.tone.measured import measure

PlacedOf = Callable[..., Placed]


def measured(
    placed: Placed, thresholds: tuple[float, ...] | None = None, wood: float = 80, burn: float = 20
) -> tuple[ZoneMeasure, ...]:
    zones = find_zones(placed, thresholds=thresholds)
    return measure(placed, zones, draw_lines(placed), wood, burn)


@pytest.mark.parametrize(
    "outline",
    [
        Outline(OutlineKind.RECTANGLE, 120, 80),
        Outline(OutlineKind.ROUND, 90, 90),
        Outline(OutlineKind.OVAL, 110, 70),
        Outline(OutlineKind.LIVE_EDGE, 100, 80, ((0, 5), (95, 0), (100, 75), (20, 80))),
    ],
)
def test_areas_add_up_to_the_blank(
    photo_file: Callable[[str], Path], placed_of: PlacedOf, outline: Outline
) -> None:
    placed = placed_of(open_photo(photo_file("coffee.png")).rgb, outline)
    found = measured(placed)
    assert [m.zone for m in found] == [1, 2, 3, 4, 5, 6]
    exact = 2e-3 if outline.kind is OutlineKind.LIVE_EDGE else 1e-6
    assert sum(m.area_cm2 for m in found) == pytest.approx(outline.area_cm2, rel=exact)


def test_flat_patches(placed_of: PlacedOf) -> None:
    """Three patches of 60 × 50 mm at known L*: area, darkness, lines, islands."""
    shades = grey_of_lightness([20, 50, 80])
    true_light = [float(lightness(np.full((1, 1, 3), s, np.uint8))[0, 0]) for s in shades]
    picture = np.repeat(shades, 240)[None].repeat(200, axis=0)
    for wood, burn in ((80.0, 20.0), (70.0, 30.0)):
        found = measured(placed_of(picture), (35.0, 65.0), wood, burn)
        for m, light in zip(found, true_light, strict=True):
            assert m.area_cm2 == pytest.approx(30, rel=0.01)
            # d = (L_wood - L) / (L_wood - L_dark), with L laid proportionally on the wood.
            on_it = burn + (wood - burn) * light / 100
            assert m.darkness == pytest.approx((wood - on_it) / (wood - burn), abs=0.01)
            assert m.darkness == pytest.approx(1 - light / 100, abs=0.01)
            assert m.texture < 0.05
            assert m.islands == 1
        assert [m.line_cm for m in found] == pytest.approx([5, 5, 0], rel=0.01)


def test_white_and_black(placed_of: PlacedOf) -> None:
    for shade, darkness in ((255, 0.0), (0, 1.0)):
        (only,) = measured(placed_of(np.full((100, 100), shade, np.uint8)))
        assert (only.zone, only.islands, only.line_cm) == (1, 1, 0.0)
        assert (only.area_cm2, only.darkness) == pytest.approx((6.25, darkness))
        assert only.texture == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("amplitude", [4.0, 8.0, 14.0])
def test_texture_of_a_fine_wave(placed_of: PlacedOf, amplitude: float) -> None:
    """A wave of amplitude A much finer than the window has a residual of A / √2; 12 L* is full."""
    y, x = np.mgrid[0:200, 0:300]
    wave = 50 + amplitude * np.sin(2 * math.pi * x / 3) * np.ones_like(y)
    placed = placed_of(grey_of_lightness(wave))
    found = measured(placed, (1.0, 99.0))
    assert found[1].texture == pytest.approx(amplitude / math.sqrt(2) / 12, rel=0.05)


@pytest.mark.parametrize("turned", [False, True])
def test_texture_is_what_the_mean_over_its_window_leaves(
    placed_of: PlacedOf, *, turned: bool
) -> None:
    """A mean over n samples leaves sin(nπ/p) / (n sin(π/p)) of a wave of period p.

    The frequency response of a moving average, as in Oppenheim and Schafer, Discrete-Time Signal
    Processing (from memory).
    """
    amplitude, period = 14.0, 18
    y, x = np.mgrid[0:240, 0:240]
    wave = 50 + amplitude * np.sin(2 * math.pi * (y if turned else x) / period)
    placed = placed_of(grey_of_lightness(wave))
    window = 2 * round(TEXTURE_RADIUS_MM * placed.px_per_mm) + 1
    kept = math.sin(window * math.pi / period) / (window * math.sin(math.pi / period))
    found = measured(placed, (1.0, 99.0))
    expected = amplitude * (1 - kept) / math.sqrt(2) / TEXTURE_FULL
    assert found[1].texture == pytest.approx(expected, rel=0.05)


def test_slow_change_of_tone_is_no_texture(placed_of: PlacedOf) -> None:
    ramp = np.tile(np.linspace(60, 190, 600), (300, 1)).astype(np.uint8)
    assert all(m.texture < 0.05 for m in measured(placed_of(ramp)))


def test_edges_between_zones_are_no_texture(placed_of: PlacedOf) -> None:
    picture = np.where(np.arange(400) // 40 % 2, 230, 20)[None].repeat(200, axis=0)
    found = measured(placed_of(picture.astype(np.uint8)))
    assert len(found) == 2
    assert all(m.texture < 0.05 for m in found)
    assert [m.islands for m in found] == [5, 5]
    assert found[0].line_cm == pytest.approx(9 * 5, rel=0.01)


@pytest.mark.long
def test_rougher_photos_have_more_texture(
    photo_file: Callable[[str], Path], placed_of: PlacedOf
) -> None:
    """Gravel and grass against the retina and the moon, at 512 pixels on 128 mm."""

    def mean_texture(name: str) -> float:
        found = measured(placed_of(open_photo(photo_file(name)).rgb[:512, :512]))
        total = sum(m.area_cm2 for m in found)
        return sum(m.texture * m.area_cm2 for m in found) / total

    rough = min(mean_texture(name) for name in ("gravel.png", "grass.png"))
    smooth = max(mean_texture(name) for name in ("retina.jpg", "moon.png"))
    assert rough > 0.4
    assert smooth < 0.2


@pytest.mark.parametrize("name", ["chelsea.png", "china.jpg"])
def test_islands_and_lines_agree(
    photo_file: Callable[[str], Path], placed_of: PlacedOf, name: str
) -> None:
    placed = placed_of(open_photo(photo_file(name)).rgb)
    zones = find_zones(placed)
    lines = draw_lines(placed)
    found = measure(placed, zones, lines, 82, 20)
    for m in found:
        assert m.islands == ndimage.label(zones.labels == m.zone)[1]
        mask = zones.labels == m.zone
        assert m.darkness == pytest.approx(1 - placed.lightness[mask].mean() / 100, abs=1e-4)
    assert sum(m.line_cm for m in found) == pytest.approx(lines.firm_cm + lines.light_cm)
    assert found[-1].line_cm < 0.1 * lines.firm_cm  # hardly anything is lighter
    assert [m.darkness for m in found] == sorted((m.darkness for m in found), reverse=True)


def test_an_emptied_zone_has_nothing(placed_of: PlacedOf) -> None:
    found = measured(placed_of(np.full((100, 100), 128, np.uint8)), (20.0, 80.0))
    assert [m.area_cm2 for m in found] == pytest.approx([0, 6.25, 0])
    assert found[0] == ZoneMeasure(1, 0.0, 0.0, 0.0, 0, 0.0)


def test_impossible_wood_is_refused(placed_of: PlacedOf) -> None:
    with pytest.raises(BadInput):
        measured(placed_of(np.full((100, 100), 128, np.uint8)), wood=20, burn=80)
