"""Where wood ends: bark that is no bench, and edges that cannot be told."""

import numpy as np
import pytest

from burnplan.errors import BadInput
from burnplan.outline import OutlineKind
from burnplan.tone.found_outline import FoundOutline, distances, evenly, find_outline
from burnplan.tone.known_sheet import SHEETS, FoundSheet, known_corners
from burnplan.tone.region import outline_polygon
from burnplan.tone.told_apart import closed_way
from tests.cases import quick_first
from tests.tone.scenes import Scene, scene


def sheet_of(shown: Scene) -> FoundSheet:
    corners = shown.view.to_pixels(shown.sheet_mm)
    return known_corners(corners, SHEETS["a5"], shown.rgb.shape[1::-1])


def far_off(shown: Scene, found: FoundOutline | None = None) -> float:
    """Return how far the outline found is off at most, mm, either way."""
    found = found or find_outline(shown.rgb, sheet_of(shown))
    got = outline_polygon(found.outline)
    true = found.view.to_mm(shown.view.to_pixels(evenly(shown.points_mm)))
    return float(max(distances(evenly(got), true).max(), distances(true, got).max()))


@pytest.mark.long
def test_bark_as_dark_as_the_bench_belongs_to_the_wood() -> None:
    shown = scene(1001, kind="live-edge")  # birch with bark of 8 mm on a dark bench
    found = find_outline(shown.rgb, sheet_of(shown))
    assert found.outline.kind is OutlineKind.LIVE_EDGE
    assert far_off(shown, found) < 3
    assert found.bark_mm == pytest.approx(shown.bark_mm, abs=2)


@pytest.mark.long
def test_a_knot_at_the_edge_belongs_to_the_wood() -> None:
    assert far_off(scene(40028)) < 3  # a bite of 7 mm, if it were taken for bench


@quick_first(
    ("seed", "bench"),
    [
        (1008, None),  # things of all colours touch it, at one place each
        (1007, None),
        (41013, "clutter"),  # and a bark of 4 mm
    ],
    quick=0,
    long=1,
)
def test_things_that_touch_the_wood_are_no_wood_and_no_bark(seed: int, bench: str | None) -> None:
    kind = "live-edge" if seed < 2000 else None
    assert far_off(scene(seed, kind=kind, bench=bench)) < 3


@pytest.mark.long
def test_an_edge_that_is_not_sure_is_refused_with_what_to_do() -> None:
    """A thing of the wood's own colour touches it."""
    shown = scene(41006, bench="clutter")
    with pytest.raises(BadInput, match="cannot be told for sure") as refused:
        find_outline(shown.rgb, sheet_of(shown))
    assert "lay a plain cloth or board of another colour under all of it" in str(refused.value)


def test_the_cheapest_closed_way_is_that_of_all_ways() -> None:
    """Against every way there is, on few rows."""
    rng = np.random.default_rng(3)
    cost, price = rng.uniform(0, 4, (4, 5)), 0.7
    ways = np.stack(np.meshgrid(*[np.arange(5)] * 4, indexing="ij"), axis=-1).reshape(-1, 4)
    steps = np.abs(np.roll(ways, -1, axis=1) - ways).sum(axis=1)
    total = cost[np.arange(4), ways].sum(axis=1) + price * steps
    way, margin = closed_way(np.tile(cost, (6, 1)), price, 2)
    assert way.reshape(6, 4).tolist() == [ways[total.argmin()].tolist()] * 6
    assert (margin > 0).all()
    # A second way as good as the first leaves no doubt that there is doubt.
    twin = np.full((40, 30), 5.0)
    twin[:, 5] = twin[:, 22] = 0.0
    assert closed_way(twin, price, 4)[1] == pytest.approx(np.zeros(40), abs=1e-9)


@pytest.mark.long
def test_the_sides_of_a_rectangle_are_where_they_are_seen() -> None:
    shown = scene(9211)  # maple on grey, found 2 mm too wide by its edge alone
    found = find_outline(shown.rgb, sheet_of(shown))
    assert found.outline.kind is OutlineKind.RECTANGLE
    width, height = np.ptp(shown.points_mm, axis=0)
    assert found.outline.area_mm2 == pytest.approx(width * height, rel=0.005)
