import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.analysis import analyse_photo
from burnplan.tone.areas import AreaKind, MarkedArea, On
from burnplan.tone.control import (
    LEAST_RANGE,
    LOCAL_MOST,
    ToneControl,
    controlled,
    curve,
    local_contrast,
)
from burnplan.tone.lines import draw_lines
from burnplan.tone.photo import Photo, open_mask, open_photo
from burnplan.tone.place import Placed, Placement, place
from burnplan.tone.zones import find_zones
from tests.tone.greys import grey_of_lightness
from tests.tone.measured import measure

PlacedOf = Callable[..., Placed]
RIGHT_HALF = MarkedArea(AreaKind.RECTANGLE, ((0.5, 0), (1, 1)), name="sky")
controls = st.builds(
    ToneControl,
    black=st.none() | st.floats(0, 45),
    white=st.none() | st.floats(55, 100),
    midtone=st.floats(0.25, 4),
    local_contrast=st.floats(0, 1),
    auto_levels=st.booleans(),
    background=st.sampled_from([(), (RIGHT_HALF,)]),
)


def ramp(placed_of: PlacedOf, low: float = 0, high: float = 100) -> Placed:
    return placed_of(grey_of_lightness(np.tile(np.linspace(low, high, 400), (80, 1))))


# --- levels and midtone ------------------------------------------------------------------------


@given(st.floats(0, 45), st.floats(55, 100), st.floats(0.25, 4))
def test_the_curve_never_reverses_tones(black: float, white: float, midtone: float) -> None:
    tones = np.linspace(0, 100, 501)
    bent = curve(tones, black, white, midtone)
    assert np.all(np.diff(bent) >= 0)
    assert bent[tones <= black].max(initial=0) == pytest.approx(0, abs=1e-3)
    assert bent[tones >= white].min(initial=100) == pytest.approx(100, abs=1e-3)
    between = (tones > black + 1) & (tones < white - 1)
    assert np.all(np.diff(bent[between]) > 0)  # and keeps apart what lies between


@given(st.floats(0.25, 4))
def test_the_midtone_is_a_gamma(midtone: float) -> None:
    """Half way becomes 100·0.5^(1/γ); the inverse gamma takes it back."""
    half = curve([50.0], 0, 100, midtone)
    assert half[0] == pytest.approx(100 * 0.5 ** (1 / midtone), abs=1e-3)
    assert curve(half, 0, 100, 1 / midtone)[0] == pytest.approx(50, abs=0.01)


def test_nothing_asked_changes_nothing(placed_of: PlacedOf) -> None:
    placed = ramp(placed_of)
    same = controlled(placed, ToneControl())
    assert np.array_equal(same.lightness, placed.lightness)
    assert same.notes == placed.notes
    assert same.bare is None


def test_points_are_stretched_to_the_ends(placed_of: PlacedOf) -> None:
    placed = ramp(placed_of)
    light = controlled(placed, ToneControl(black=20, white=80)).lightness[40]
    before = placed.lightness[40]
    expected = np.clip((before - 20) / 60 * 100, 0, 100)
    assert np.abs(light - expected).max() < 1e-3


def test_automatic_levels_agree_with_percentiles(
    photo_file: Callable[[str], Path], placed_of: PlacedOf
) -> None:
    """Against numpy's percentiles inside the outline: no more than half a per cent is clipped."""
    placed = placed_of(open_photo(photo_file("rocket.jpg")).rgb, Outline(OutlineKind.OVAL, 90, 60))
    found = controlled(placed, ToneControl(auto_levels=True))
    inside = placed.lightness[placed.inside]
    low, high = np.floor(np.percentile(inside, 0.5)), np.ceil(np.percentile(inside, 99.5))
    assert found.notes[-1] == f"Lightness {low:.0f} is taken as black and {high:.0f} as white"
    clipped = found.lightness[found.inside]
    assert (clipped <= 0).mean() <= 0.0051
    assert (clipped >= 100).mean() <= 0.0051
    # A point that is given stays as given.
    own = controlled(placed, ToneControl(auto_levels=True, white=97))
    assert own.notes[-1].endswith("97 as white")


@pytest.mark.parametrize(("low", "high"), [(50, 52), (0, 3), (98, 100)])
def test_automatic_levels_do_not_raise_grain(placed_of: PlacedOf, low: float, high: float) -> None:
    placed = ramp(placed_of, low, high)
    found = controlled(placed, ToneControl(auto_levels=True))
    stretch = np.ptp(found.lightness) / np.ptp(placed.lightness)
    assert stretch <= 100 / LEAST_RANGE * 1.01


# --- local contrast ----------------------------------------------------------------------------


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.05, 1), st.floats(0.5, 60), st.floats(0.1, 30))
def test_local_contrast_stays_within_its_limits(
    seed: int, amount: float, spread: float, lift: float
) -> None:
    rng = np.random.default_rng(seed)
    light = np.clip(rng.normal(50, spread, (60, 70)), 0, 100).astype(np.float32)
    light = light if seed % 2 else np.sort(light, axis=1)
    raised = local_contrast(light, amount)
    assert np.abs(raised - light).max() <= LOCAL_MOST * amount + 1e-4
    # A place that becomes lighter becomes no darker by it.
    row, column = int(rng.integers(60)), int(rng.integers(70))
    other = light.copy()
    other[row, column] = min(100.0, light[row, column] + lift)
    assert local_contrast(other, amount)[row, column] >= raised[row, column] - 1e-3
    # Tones farther apart than twice the limit never change order.
    order = rng.permutation(light.size)
    one, two = light.ravel(), light.ravel()[order]
    apart = one > two + 2 * LOCAL_MOST * amount + 1e-3
    assert np.all(raised.ravel()[apart] >= raised.ravel()[order][apart])


def test_local_contrast_raises_detail_and_leaves_edges(placed_of: PlacedOf) -> None:
    x = np.arange(400)
    light = np.where(x < 200, 30, 75) + 2 * np.sin(2 * np.pi * x / 8)
    placed = placed_of(grey_of_lightness(np.tile(light, (200, 1))))
    raised = controlled(placed, ToneControl(local_contrast=1)).lightness[100]
    before = placed.lightness[100]
    detail = np.ptp(raised[40:160]) / np.ptp(before[40:160])
    assert 2 < detail < 3.2
    means = [values[40:160].mean() for values in (before, raised)]
    assert means[1] == pytest.approx(means[0], abs=0.5)
    assert raised.max() < before.max() + 7  # no bright halo beside the edge


# --- background --------------------------------------------------------------------------------


def test_a_dropped_background_is_bare_wood(
    photo_file: Callable[[str], Path], placed_of: PlacedOf
) -> None:
    placed = placed_of(open_photo(photo_file("coffee.png")).rgb)
    dropped = controlled(placed, ToneControl(background=(RIGHT_HALF,)))
    half = placed.inside.shape[1] // 2
    assert dropped.bare is not None
    assert dropped.bare[:, half:].all()
    assert not dropped.bare[:, :half].any()
    assert (dropped.lightness[:, half:] == 100).all()
    zones = find_zones(dropped)
    assert (zones.labels[:, half + 8 :] == zones.count).all()
    # Thresholds are those of what is left, and so are the measures.
    left = placed_of(open_photo(photo_file("coffee.png")).rgb[:, :300])
    assert zones.thresholds == pytest.approx(find_zones(left).thresholds, abs=1)
    found = measure(dropped, zones, draw_lines(dropped), 82, 20)
    covered = placed.inside.sum() * placed.pixel_area_mm2 / 100
    assert sum(m.area_cm2 for m in found) == pytest.approx(covered / 2, rel=1e-3)
    in_half = zones.labels[:, :half]
    for m in found:
        mean = placed.lightness[:, :half][in_half == m.zone].mean()
        assert m.darkness == pytest.approx(1 - mean / 100, abs=1e-3)


def test_where_the_subject_meets_bare_wood_is_traced(placed_of: PlacedOf) -> None:
    """A dark square on a grey ground that is dropped out keeps its outline."""
    picture = np.full((400, 400), 120, np.uint8)
    picture[100:300, 100:300] = 40
    ground = MarkedArea(
        AreaKind.POLYGON,
        (
            (0, 0),
            (1, 0),
            (1, 1),
            (0, 1),
            (0, 0.25),
            (0.25, 0.25),
            (0.25, 0.75),
            (0.75, 0.75),
            (0.75, 0.25),
            (0, 0.25),
        ),
    )
    dropped = controlled(placed_of(picture), ToneControl(background=(ground,)))
    zones = find_zones(dropped, thresholds=(40, 80))
    lines = draw_lines(dropped)
    assert lines.firm_cm == pytest.approx(4 * 5, rel=0.02)
    (dark, middle, light) = measure(dropped, zones, lines, 82, 20)
    assert (dark.islands, middle.islands, light.islands) == (1, 0, 0)
    assert dark.area_cm2 == pytest.approx(25, rel=0.01)
    assert light.area_cm2 == pytest.approx(0, abs=0.05)


def test_a_mask_drops_out_what_is_black(
    photo_of: Callable[[NDArray[np.uint8]], Photo],
) -> None:
    """A small mask on a turned, mirrored, cropped photo lies as the photo does."""
    y, x = np.mgrid[0:400, 0:600]
    disc = np.hypot(x - 400, y - 150) < 90
    keep = np.where(disc, 255, 0).astype(np.uint8)
    outline = Outline(OutlineKind.RECTANGLE, 90, 70)
    placement = Placement(turn_degrees=20, mirrored=True, crop=(0.2, 0, 1, 0.9))
    placed = place(photo_of(np.where(disc, 50, 200).astype(np.uint8)), outline, placement)
    small = keep.reshape(200, 2, 300, 2).mean(axis=(1, 3)).astype(np.uint8)
    dropped = controlled(placed, ToneControl(), small)
    dark = placed.lightness < 50
    assert (dropped.burned ^ (dark & placed.inside)).sum() < 0.02 * dark.sum()


def test_grey_in_a_mask_fades(placed_of: PlacedOf) -> None:
    placed = placed_of(np.full((80, 400), 119, np.uint8))  # L* 50
    keep = np.tile(np.linspace(0, 255, 400), (80, 1)).astype(np.uint8)
    faded = controlled(placed, ToneControl(), keep)
    expected = 100 - keep[40] / 255 * 50
    assert np.abs(faded.lightness[40] - expected).max() < 0.6
    assert faded.bare is not None
    assert np.array_equal(faded.bare[40], keep[40] < 127.5)


@pytest.mark.parametrize("suffix", ["PNG", "WEBP"])
def test_masks_from_files(suffix: str) -> None:
    def saved(image: Image.Image) -> bytes:
        out = io.BytesIO()
        image.save(out, suffix, lossless=True)
        return out.getvalue()

    keep = np.zeros((60, 80), np.uint8)
    keep[:, 40:] = 255
    cut_out = np.dstack([np.full((60, 80, 3), 90, np.uint8), keep])
    assert np.array_equal(open_mask(saved(Image.fromarray(cut_out))), keep)
    plain = open_mask(saved(Image.fromarray(keep).convert("RGB")))
    assert np.array_equal(plain, keep)
    assert open_mask(saved(Image.fromarray(keep).convert("RGB")), at_least=(20, 10)).shape == (
        15,
        20,
    )
    with pytest.raises(BadInput, match="empty"):
        open_mask(b"")


def test_a_mask_that_does_not_fit_is_refused(placed_of: PlacedOf) -> None:
    placed = placed_of(np.full((80, 120), 119, np.uint8))
    with pytest.raises(BadInput, match="different proportions"):
        controlled(placed, ToneControl(), np.full((80, 80), 255, np.uint8))
    with pytest.raises(BadInput, match="takes up all"):
        controlled(placed, ToneControl(), np.zeros((80, 120), np.uint8))


def test_all_of_it_through_a_reading(photo_file: Callable[[str], Path]) -> None:
    keep = Image.new("L", (450, 300), 0)
    keep.paste(255, (100, 0, 450, 300))
    out = io.BytesIO()
    keep.save(out, "PNG")
    told: list[str] = []
    reading = analyse_photo(
        photo_file("chelsea.png"),
        Outline(OutlineKind.RECTANGLE, 90, 60),
        wood_lightness=82,
        burn_lightness=20,
        control=ToneControl(auto_levels=True, midtone=1.3, local_contrast=0.4),
        mask=out.getvalue(),
        focal=[MarkedArea(AreaKind.ELLIPSE, ((20, 10), (70, 50)), On.WOOD, "face")],
        on_progress=lambda _done, label: told.append(label),
    )
    assert "Setting the tones" in told
    assert any("is taken as black" in note for note in reading.notes)
    assert reading.placed.bare is not None
    assert reading.placed.focal is not None
    covered = (~reading.placed.bare).sum() * reading.placed.pixel_area_mm2 / 100
    assert sum(m.area_cm2 for m in reading.measures) == pytest.approx(covered)
    darkness = [m.darkness for m in reading.measures]
    assert darkness == sorted(darkness, reverse=True)


# --- as stored ---------------------------------------------------------------------------------


@given(controls)
def test_a_control_comes_back_from_json(control: ToneControl) -> None:
    assert ToneControl.from_dict(json.loads(json.dumps(control.to_dict()))) == control


@pytest.mark.parametrize(
    ("plain", "words"),
    [
        ({"blacks": 3}, "has no 'blacks'"),
        ({"black": 60, "white": 40}, "not darker than the white point"),
        ({"black": -1}, "between 0 and 100"),
        ({"white": "bright"}, "must be a number"),
        ({"midtone": 0}, "midtone must be between"),
        ({"local_contrast": 1.5}, "local contrast must be between"),
        ({"background": "sky"}, "background on record"),
        ({"background": [{"kind": "star"}]}, "marked area must give"),
    ],
)
def test_what_no_control_can_be(plain: dict[str, Any], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        ToneControl.from_dict(plain)
