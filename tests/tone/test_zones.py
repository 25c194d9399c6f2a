import dataclasses
import importlib
import itertools
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import ndimage

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.tone import zones as zones_module
from burnplan.tone.islands import islands_of
from burnplan.tone.lightness import edge_preserved
from burnplan.tone.photo import open_photo
from burnplan.tone.place import Placed
from burnplan.tone.zones import (
    BINS,
    FOCAL_FINER,
    ZoneMap,
    find_zones,
    lightness_histogram,
    optimal_thresholds,
)
from burnplan.zoning import MIN_AREA_MM2
from tests.cases import quick_first

filters: Any = importlib.import_module("skimage.filters")
metrics: Any = importlib.import_module("skimage.metrics")
morphology: Any = importlib.import_module("skimage.morphology")

PHOTOS = ["chelsea.png", "coffee.png", "astronaut.png", "rocket.jpg", "china.jpg", "flower.jpg"]
PlacedOf = Callable[..., Placed]


@pytest.fixture
def placed_photo(photo_file: Callable[[str], Path], placed_of: PlacedOf) -> Callable[..., Placed]:
    def build(name: str, outline: Outline | None = None) -> Placed:
        return placed_of(open_photo(photo_file(name)).rgb, outline)

    return build


def within_bands(counts: NDArray[Any], cuts: tuple[int, ...]) -> float:
    """Sum of squares within bands, straight from its definition."""
    total = 0.0
    for low, high in itertools.pairwise([0, *(cut + 1 for cut in cuts), len(counts)]):
        mass = counts[low:high].astype(float)
        if mass.sum():
            at = np.arange(low, high)
            mean = (mass * at).sum() / mass.sum()
            total += float((mass * (at - mean) ** 2).sum())
    return total


# --- thresholds --------------------------------------------------------------------------------


@quick_first("name", PHOTOS, quick=2)
def test_equals_multi_level_otsu_of_scikit_image(
    placed_photo: Callable[..., Placed], name: str
) -> None:
    """Against skimage.filters.threshold_multiotsu (2 to 4 classes) and threshold_otsu."""
    placed = placed_photo(name)
    bins = np.arange(BINS)
    for light in (placed.lightness, find_zones(placed).lightness):
        counts = lightness_histogram(light, placed.inside)
        assert optimal_thresholds(counts, 2)[0] == filters.threshold_otsu(hist=(counts, bins))
        for classes in (2, 3, 4):
            theirs = filters.threshold_multiotsu(classes=classes, hist=(counts, bins))
            theirs = tuple(theirs.tolist())
            ours = optimal_thresholds(counts, classes)
            if ours != theirs:
                # scikit-image works in single precision, so that between cuts as good
                # as equal it may be a bin off; ours is then the better one.
                off_by = [abs(a - b) for a, b in zip(ours, theirs, strict=True)]
                assert max(off_by) <= 1
                assert within_bands(counts, ours) < within_bands(counts, theirs)


@given(st.lists(st.integers(0, 40), min_size=2, max_size=9), st.integers(1, 5))
def test_equals_trying_everything(counts: list[int], n: int) -> None:
    histogram = np.array(counts)
    if n > 1 and np.count_nonzero(histogram) < n:
        with pytest.raises(BadInput):
            optimal_thresholds(histogram, n)
        return
    ours = optimal_thresholds(histogram, n)
    assert list(ours) == sorted(set(ours))
    best = min(
        within_bands(histogram, cuts)
        for cuts in itertools.combinations(range(len(counts) - 1), n - 1)
    )
    assert within_bands(histogram, ours) == pytest.approx(best, abs=1e-6)


@pytest.mark.long
@pytest.mark.parametrize("n", [6, 9])
def test_no_worse_than_k_means(placed_photo: Callable[..., Placed], n: int) -> None:
    """Against sklearn.cluster.KMeans, which finds local optima of the same criterion."""
    placed = placed_photo("coffee.png")
    counts = lightness_histogram(placed.lightness, placed.inside)
    cluster = importlib.import_module("sklearn.cluster")
    means = cluster.KMeans(n, n_init=10, random_state=0).fit(
        np.arange(BINS, dtype=float)[:, None], sample_weight=counts
    )
    ours = within_bands(counts, optimal_thresholds(counts, n))
    assert ours <= means.inertia_ * (1 + 1e-9)
    assert ours == pytest.approx(means.inertia_, rel=0.02)


def test_first_of_equal_cuts_is_given() -> None:
    counts = np.zeros(BINS, int)
    counts[[10, 200]] = 7
    assert optimal_thresholds(counts, 2) == (10,)


@pytest.mark.parametrize(("counts", "n"), [([0, 0, 0], 2), ([3, 0, 4], 3), ([1, 2], 0)])
def test_more_bands_than_values_are_refused(counts: list[int], n: int) -> None:
    with pytest.raises(BadInput):
        optimal_thresholds(counts, n)


def test_thresholds_look_only_inside_the_outline(placed_of: PlacedOf) -> None:
    shades = np.tile(np.linspace(40, 215, 400), (400, 1)).astype(np.uint8)
    y, x = np.mgrid[0:400, 0:400] - 199.5
    framed = np.where(np.hypot(x, y) < 200, shades, 255).astype(np.uint8)
    round_blank = Outline(OutlineKind.ROUND, 100, 100)
    plain, other = (find_zones(placed_of(p, round_blank)) for p in (shades, framed))
    assert plain.thresholds == pytest.approx(other.thresholds, abs=0.8)
    assert find_zones(placed_of(framed)).thresholds != pytest.approx(other.thresholds, abs=3)


# --- smoothing ---------------------------------------------------------------------------------


def test_guided_filter_by_its_definition() -> None:
    """Against He, Sun and Tang (2013), equations 5, 6 and 8, window by window."""
    rng = np.random.default_rng(0)
    light = rng.uniform(0, 100, (15, 17)).astype(np.float32)
    radius, eps = 2, 5.0**2
    padded = np.pad(light.astype(float), 2 * radius, mode="symmetric")
    a, b = np.zeros_like(padded), np.zeros_like(padded)
    for y, x in np.ndindex(19, 21):
        window = padded[y : y + 5, x : x + 5]
        slope = window.var() / (window.var() + eps)
        a[y + 2, x + 2], b[y + 2, x + 2] = slope, window.mean() * (1 - slope)
    expected = np.array(
        [
            [
                a[y + 2 : y + 7, x + 2 : x + 7].mean() * light[y, x]
                + b[y + 2 : y + 7, x + 2 : x + 7].mean()
                for x in range(17)
            ]
            for y in range(15)
        ]
    )
    ours = edge_preserved(light, radius, 5.0)
    inner = np.s_[4:-4, 4:-4]  # how the border is mirrored does not matter here
    assert np.abs(ours - expected)[inner].max() < 2e-3


def test_smoothing_takes_grain_and_leaves_edges() -> None:
    rng = np.random.default_rng(0)
    step = np.where(np.arange(80) < 40, 20, 80).astype(np.float32)
    noisy = (step + rng.normal(0, 2, (80, 80))).astype(np.float32)
    smooth = edge_preserved(noisy, 3, 5.0)
    assert (smooth - step)[:, :30].std() < 0.6
    across = smooth[:, 40].mean() - smooth[:, 39].mean()
    assert across > 55


# --- cleaning ----------------------------------------------------------------------------------


def smallest_island_px(zones: ZoneMap, structure: NDArray[Any] | None = None) -> int:
    least = zones.labels.size
    for zone in range(1, zones.count + 1):
        parts, count = ndimage.label(zones.labels == zone, structure)
        if count:
            least = min(least, int(np.bincount(parts.ravel())[1:].min()))
    return least


@quick_first(
    ("name", "n", "min_area"),
    [(name, 6, 9) for name in PHOTOS]
    + [("chelsea.png", 3, 9), ("china.jpg", 9, 9), ("coffee.png", 6, 1), ("china.jpg", 6, 60)],
    quick=3,
)
def test_no_island_below_the_smallest_area_is_left(
    placed_photo: Callable[..., Placed], name: str, n: int, min_area: float
) -> None:
    """Islands counted by scipy.ndimage.label, joined through sides and through corners."""
    placed = placed_photo(name)
    zones = find_zones(placed, n, min_area_mm2=min_area)
    assert zones.count == n
    for structure in (None, np.ones((3, 3))):
        assert smallest_island_px(zones, structure) * placed.pixel_area_mm2 >= min_area
    for k in range(1, n):  # and so for each nested set and what is left of it
        for mask in (zones.labels > k, zones.labels <= k):
            parts, _count = ndimage.label(mask)
            assert np.bincount(parts.ravel())[1:].min() * placed.pixel_area_mm2 >= min_area


@quick_first("name", PHOTOS)
def test_no_worse_than_otsu_without_its_small_islands(
    placed_photo: Callable[..., Placed], name: str
) -> None:
    """Against Otsu's bands whose small islands went to the nearest, by L* and scikit-image's SSIM.

    tests/benchmarks/bench_tone.py has all photos, and Otsu's bands as they come.
    """
    placed = placed_photo(name, Outline(OutlineKind.RECTANGLE, 300, 200))
    zones = find_zones(placed)
    histogram = lightness_histogram(placed.lightness, placed.inside)
    edges = (np.array(optimal_thresholds(histogram, zones.count)) + 1) * 100 / BINS
    bands = (np.searchsorted(edges, placed.lightness, side="right") + 1).astype(np.uint8)
    least = MIN_AREA_MM2 / placed.pixel_area_mm2
    cleaned = bands
    while (islands := islands_of(cleaned)).pixels()[1:].min() < least:
        small = islands.painted(islands.pixels() < least)
        at = ndimage.distance_transform_edt(small, return_distances=False, return_indices=True)
        cleaned = cleaned[tuple(at)]

    def kept(labels: NDArray[np.uint8]) -> tuple[float, float]:
        count = np.maximum(np.bincount(labels.ravel()), 1)
        flat = (np.bincount(labels.ravel(), placed.lightness.ravel()) / count)[labels]
        error = float(np.sqrt(np.mean((placed.lightness - flat) ** 2)))
        return error, float(
            metrics.structural_similarity(
                placed.lightness.astype(float), flat, data_range=100, gaussian_weights=True
            )
        )

    def borders(labels: NDArray[np.uint8]) -> int:
        return int((labels[1:] != labels[:-1]).sum() + (labels[:, 1:] != labels[:, :-1]).sum())

    (error, alike), (their_error, their_alike) = kept(zones.labels), kept(cleaned)
    assert error < 1.01 * their_error
    assert alike > their_alike - 0.0005
    assert borders(zones.labels) < 0.95 * borders(bands)


@pytest.mark.long
@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(seed=st.integers(0, 10**6), blur=st.floats(0.3, 6), n=st.integers(3, 9))
def test_no_small_island_is_left_in_noise(
    placed_of: PlacedOf, seed: int, blur: float, n: int
) -> None:
    rng = np.random.default_rng(seed)
    noise = ndimage.gaussian_filter(rng.normal(size=(96, 128)), blur)
    spread = (noise - noise.min()) / np.ptp(noise) * 255
    outline = Outline(OutlineKind.OVAL, 32, 24) if seed % 2 else None
    placed = placed_of(spread.astype(np.uint8), outline)
    zones = find_zones(placed, n)
    assert np.array_equal(zones.labels > 0, placed.inside)
    assert int(zones.labels.max()) <= zones.count
    assert smallest_island_px(zones) * placed.pixel_area_mm2 >= MIN_AREA_MM2


@pytest.mark.long
@pytest.mark.parametrize("name", ["chelsea.png", "china.jpg"])
def test_levels_are_area_opened_and_closed_as_in_scikit_image(
    placed_photo: Callable[..., Placed], name: str
) -> None:
    """Against skimage.morphology.area_opening (light, 8-connected) and area_closing (dark, 4)."""
    placed = placed_photo(name, Outline(OutlineKind.RECTANGLE, 75, 50))
    cuts = (25.0, 50.0, 70.0)
    labels = zones_module._cut(
        placed.lightness, placed.inside, cuts, 100, zones_module._Focus(None)
    )
    for k, cut in enumerate(cuts, start=1):
        level = (placed.lightness >= np.float32(cut)).astype(np.uint8)
        opened = morphology.area_opening(level, 100, connectivity=2)
        closed = morphology.area_closing(opened, 100, connectivity=1)
        assert np.array_equal(labels > k, closed > 0)


def test_a_tone_that_is_only_a_rim_makes_no_zone(placed_of: PlacedOf) -> None:
    """A pixel-wide middle tone along an edge: its island is large enough, and no zone."""
    picture = np.full((200, 200), 230, np.uint8)
    picture[:, :100] = 25
    picture[:, 100] = 110
    zones = find_zones(placed_of(picture), 3)
    assert zones.count == 2
    assert "too few tones" in zones.notes[0]


def test_a_wide_band_between_two_levels_stays(placed_of: PlacedOf) -> None:
    picture = np.full((200, 200), 230, np.uint8)
    picture[:, :100] = 25
    picture[:, 100:108] = 110  # 2 mm wide
    zones = find_zones(placed_of(picture), 3)
    assert zones.count == 3
    assert (zones.labels == 2).sum() == pytest.approx(200 * 8, rel=0.02)


@pytest.mark.parametrize(("stroke", "ground"), [(25, 230), (230, 25)])
def test_a_thin_stroke_is_no_ribbon_and_stays(
    placed_of: PlacedOf, stroke: int, ground: int
) -> None:
    """A line of 0.75 × 40 mm is all there is of its tone, and dark or light, it is burned."""
    picture = np.full((200, 200), ground, np.uint8)
    picture[140:180, 20:180] = 110
    picture[99:102, 20:180] = stroke
    zones = find_zones(placed_of(picture), 3)
    assert zones.count == 3
    there = zones.labels[100, 24:176]
    assert (there == (1 if stroke < ground else 3)).all()


def test_a_small_spot_joins_the_touching_zone_nearest_in_lightness(placed_of: PlacedOf) -> None:
    picture = np.full((200, 200), 40, np.uint8)
    picture[:, 100:] = 220
    picture[96:104, 96:104] = 120  # 4 mm², on the edge between dark and light; L* 50
    zones = find_zones(placed_of(picture), thresholds=(30, 70))
    assert set(np.unique(zones.labels)) == {1, 3}
    spot = zones.labels[97:103, 97:103]
    nearer = 3 if abs(50 - 87) < abs(50 - 16) else 1
    assert (spot == nearer).all()


def test_zero_keeps_every_island(placed_of: PlacedOf) -> None:
    picture = np.full((100, 100), 230, np.uint8)
    picture[50, 50] = 10
    zones = find_zones(placed_of(picture), thresholds=(30, 60), min_area_mm2=0)
    assert (zones.labels == 1).sum() >= 1


def test_drawn_areas_agree_with_closed_forms(placed_of: PlacedOf) -> None:
    """A disc of 30 mm and a square of 40 mm on 100 mm, drawn four times finer."""
    y, x = (np.mgrid[0:1600, 0:1600] + 0.5) / 16 - 50
    for inside, area in (
        (np.hypot(x, y) < 30, np.pi * 900),
        (np.maximum(abs(x), abs(y)) < 20, 1600),
    ):
        fine = np.where(inside, 30, 230).astype(np.uint8)
        placed = placed_of(fine, Outline(OutlineKind.RECTANGLE, 100, 100))
        zones = find_zones(placed)
        assert zones.count == 2
        assert (zones.labels == 1).sum() / 16 == pytest.approx(area, rel=0.002)


def test_ramp_is_divided_at_its_thresholds(placed_of: PlacedOf) -> None:
    ramp = np.tile(np.linspace(0, 255, 800), (400, 1)).astype(np.uint8)
    placed = placed_of(ramp)
    cuts = (20.0, 40.0, 60.0, 80.0)
    zones = find_zones(placed, thresholds=cuts)
    where = np.searchsorted(placed.lightness[0], cuts)
    expected = np.diff([0, *where, 800]) * 400
    found = np.bincount(zones.labels.ravel())[1:]
    assert np.abs(found - expected).max() <= 0.01 * 400 * 160


# --- focal areas -------------------------------------------------------------------------------


def with_focus(placed: Placed, box: tuple[slice, slice]) -> Placed:
    focal = np.zeros(placed.inside.shape, np.bool_)
    focal[box] = True
    return dataclasses.replace(placed, focal=focal & placed.inside)


def least_weighted_island(zones: ZoneMap, placed: Placed) -> float:
    """Smallest island, mm², where a focal pixel counts as many."""
    assert placed.focal is not None
    weight = np.where(placed.focal, FOCAL_FINER, 1)
    least = np.inf
    for zone in range(1, zones.count + 1):
        parts, count = ndimage.label(zones.labels == zone)
        if count:
            least = min(least, ndimage.sum_labels(weight, parts, range(1, count + 1)).min())
    return float(least * placed.pixel_area_mm2)


@settings(
    max_examples=20,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(seed=st.integers(0, 10**6), blur=st.floats(0.3, 4), n=st.integers(3, 9))
def test_islands_in_focal_areas_may_be_a_fourth_as_large(
    placed_of: PlacedOf, seed: int, blur: float, n: int
) -> None:
    rng = np.random.default_rng(seed)
    noise = ndimage.gaussian_filter(rng.normal(size=(96, 128)), blur)
    spread = (noise - noise.min()) / np.ptp(noise) * 255
    placed = with_focus(placed_of(spread.astype(np.uint8)), np.s_[20:70, 30:90])
    zones = find_zones(placed, n)
    assert least_weighted_island(zones, placed) >= MIN_AREA_MM2


def test_a_tone_that_is_only_in_focal_areas_makes_a_zone(placed_of: PlacedOf) -> None:
    """Two pupils of 5 mm² each."""
    picture = np.full((200, 200), 230, np.uint8)
    picture[:, :100] = 110
    picture[60:69, 40:49] = picture[60:69, 60:69] = 20
    plain = placed_of(picture)
    zones = find_zones(with_focus(plain, np.s_[50:80, 30:80]), 3)
    assert zones.count == 3
    assert (zones.labels == 1).sum() == pytest.approx(2 * 81, abs=20)
    assert find_zones(plain, 3).count == 2


def test_focal_areas_are_finer_and_the_rest_stays(placed_photo: Callable[..., Placed]) -> None:
    """The cat's eyes on 30 × 20 cm: nearer to the photo, with more lines, and only there."""
    plain = placed_photo("chelsea.png", Outline(OutlineKind.RECTANGLE, 300, 200))
    eyes = np.s_[230:420, 320:760]
    focused = with_focus(plain, eyes)
    before, after = (
        find_zones(placed, thresholds=(20, 35, 50, 65, 80)) for placed in (plain, focused)
    )

    def error(zones: ZoneMap, where: tuple[slice, slice]) -> float:
        light, labels = plain.lightness[where], zones.labels[where]
        count = np.maximum(np.bincount(labels.ravel()), 1)
        means = np.bincount(labels.ravel(), light.ravel()) / count
        return float(np.sqrt(np.mean((light - means[labels]) ** 2)))

    assert error(after, eyes) < 0.95 * error(before, eyes)
    assert islands_of(after.labels[eyes]).count > 1.5 * islands_of(before.labels[eyes]).count
    far = np.ones(plain.inside.shape, np.bool_)
    far[180:470, 270:810] = False
    assert (before.labels != after.labels)[far].mean() < 0.002


# --- fewer tones than zones --------------------------------------------------------------------


@pytest.mark.parametrize("grey", [0, 128, 255])
def test_one_tone_makes_one_zone(placed_of: PlacedOf, grey: int) -> None:
    zones = find_zones(placed_of(np.full((80, 80), grey, np.uint8)))
    assert zones.thresholds == ()
    assert zones.count == 1
    assert (zones.labels == 1).all()
    assert zones.notes == (
        "The photo holds too few tones for 6 value zones, so one value zone is made",
    )


def test_grain_on_one_tone_makes_one_zone(placed_of: PlacedOf) -> None:
    grain = np.random.default_rng(0).normal(128, 1, (120, 120)).round().astype(np.uint8)
    assert find_zones(placed_of(grain)).count == 1


def test_three_flat_tones_make_three_zones(placed_of: PlacedOf) -> None:
    picture = np.repeat(np.array([20, 120, 240], np.uint8), 60)[None].repeat(90, axis=0)
    zones = find_zones(placed_of(picture), 7)
    assert zones.count == 3
    assert (np.bincount(zones.labels.ravel())[1:] == 60 * 90).all()
    assert len(zones.notes) == 1
    # Thresholds lie in the middle of the empty stretch between two tones.
    assert zones.thresholds[0] == pytest.approx((6.3 + 50.4) / 2, abs=1)


def test_every_zone_that_is_made_holds_something(photo_file: Callable[[str], Path]) -> None:
    from burnplan.tone.analysis import analyse_photo

    reading = analyse_photo(
        photo_file("horse.png"),  # a black silhouette on white
        Outline(OutlineKind.RECTANGLE, 150, 150),
        wood_lightness=80,
        burn_lightness=20,
    )
    assert reading.zones.count == 2
    assert all(measured.area_cm2 > 10 for measured in reading.measures)


# --- asking ------------------------------------------------------------------------------------


@pytest.mark.parametrize("n", [4, 6, 9])
def test_from_its_thresholds_the_same_map_comes_again(
    placed_photo: Callable[..., Placed], n: int
) -> None:
    placed = placed_photo("chelsea.png", Outline(OutlineKind.RECTANGLE, 120, 80))
    zones = find_zones(placed, n)
    assert zones.count == n
    again = find_zones(placed, thresholds=zones.thresholds)
    assert np.array_equal(again.labels, zones.labels)


def test_a_pale_photo_keeps_its_shapes(placed_photo: Callable[..., Placed]) -> None:
    """The same photo with a third of the contrast has nearly the same zones."""
    placed = placed_photo("chelsea.png", Outline(OutlineKind.RECTANGLE, 120, 80))
    pale = dataclasses.replace(placed, lightness=60 + 0.3 * placed.lightness)
    assert np.mean(find_zones(placed).labels != find_zones(pale).labels) < 0.05


def test_own_thresholds_are_kept(placed_photo: Callable[..., Placed]) -> None:
    zones = find_zones(placed_photo("coffee.png"), thresholds=[20, 45, 70])
    assert zones.thresholds == (20.0, 45.0, 70.0)
    assert zones.count == 4


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"n": 2}, "3 to 9, not 2"),
        ({"n": 10}, "3 to 9, not 10"),
        ({"thresholds": []}, "0 thresholds"),
        ({"thresholds": list(range(5, 95, 9))}, "10 thresholds"),
        ({"thresholds": [50, 40]}, "ascend"),
        ({"thresholds": [40, 40]}, "ascend"),
        ({"thresholds": [0, 40]}, "between 0 and 100"),
        ({"thresholds": [40, 120]}, "between 0 and 100"),
        ({"thresholds": [40, float("nan")]}, "between 0 and 100"),
        ({"min_area_mm2": -1}, "smallest area"),
        ({"min_area_mm2": float("inf")}, "smallest area"),
    ],
)
def test_what_cannot_be_asked(placed_of: PlacedOf, options: dict[str, Any], words: str) -> None:
    placed = placed_of(np.full((80, 80), 128, np.uint8))
    with pytest.raises(BadInput, match=words):
        find_zones(placed, **options)


def test_progress_rises(placed_photo: Callable[..., Placed]) -> None:
    told: list[float] = []
    find_zones(placed_photo("coffee.png"), on_progress=lambda done, _label: told.append(done))
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0.0, 1.0)
