import dataclasses
import itertools
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from burnplan.outline import Outline, OutlineKind
from burnplan.tone import trace as trace_module
from burnplan.tone.areas import AreaKind, MarkedArea
from burnplan.tone.chains import Chains
from burnplan.tone.control import ToneControl, controlled
from burnplan.tone.photo import open_photo
from burnplan.tone.place import Placed
from burnplan.tone.trace import (
    BESIDE_MM,
    FIRM_STEP,
    FOCAL_BESIDE_MM,
    LIGHT_STEP,
    NIB_MM,
    SHORTEST_MM,
    Pressure,
    TraceLine,
    TraceLines,
    trace_lines,
)
from burnplan.tone.zones import ZoneMap, find_zones

PlacedOf = Callable[..., Placed]
FINE = 3  # drawn this much finer than the working raster, as a photo is
SIDE = 100.0  # mm of a drawn blank
MARGIN = 0.01  # what closed forms may be off by


def canvas() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return x and y in mm from the middle of a square blank, drawn finely."""
    count = round(SIDE * 4 * FINE)
    y, x = (np.mgrid[0:count, 0:count] + 0.5) / (4 * FINE) - SIDE / 2
    return x, y


def grey(values: NDArray[np.float64]) -> NDArray[np.uint8]:
    return np.clip(np.rint(values), 0, 255).astype(np.uint8)


def traced(
    placed: Placed, thresholds: tuple[float, ...] | None = None
) -> tuple[ZoneMap, TraceLines]:
    zones = find_zones(placed, thresholds=thresholds)
    return zones, trace_lines(zones, placed)


def polyline_mm(line: TraceLine) -> float:
    points = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def square_blank() -> Outline:
    return Outline(OutlineKind.RECTANGLE, SIDE, SIDE)


# --- lengths and places against closed forms ---------------------------------------------------


@pytest.mark.parametrize("radius", [4, 8, 15, 30, 45])
def test_circle(placed_of: PlacedOf, radius: float) -> None:
    x, y = canvas()
    picture = grey(np.where(np.hypot(x, y) < radius, 30.0, 230.0))
    zones, lines = traced(placed_of(picture, square_blank()))
    assert len(lines.lines) == 1
    (line,) = lines.lines
    assert line.closed
    assert line.pressure is Pressure.FIRM
    assert line.length_mm == pytest.approx(2 * math.pi * radius, rel=MARGIN)
    assert polyline_mm(line) == pytest.approx(2 * math.pi * radius, rel=MARGIN)
    off = np.hypot(*(line.points - SIDE / 2).T) - radius
    assert np.abs(off).max() < 0.12  # mm: half a pixel of the working raster
    assert abs(off.mean()) < 0.05
    assert (zones.labels == 1).sum() / 16 == pytest.approx(math.pi * radius**2, rel=MARGIN)


@pytest.mark.parametrize("degrees", [0, 1, 7, 12, 22.5, 33, 45])
@pytest.mark.parametrize("side", [25, 60])
def test_square_at_any_angle(placed_of: PlacedOf, degrees: float, side: float) -> None:
    x, y = canvas()
    angle = math.radians(degrees)
    u, v = x * math.cos(angle) + y * math.sin(angle), y * math.cos(angle) - x * math.sin(angle)
    picture = grey(np.where(np.maximum(abs(u), abs(v)) < side / 2, 30.0, 230.0))
    zones, lines = traced(placed_of(picture, square_blank()))
    assert lines.length_cm() * 10 == pytest.approx(4 * side, rel=MARGIN)
    assert (zones.labels == 1).sum() / 16 == pytest.approx(side**2, rel=MARGIN)


def test_ramp_gives_straight_lines_to_the_very_edges(placed_of: PlacedOf) -> None:
    x, _y = canvas()
    placed = placed_of(grey((x / SIDE + 0.5) * 255), square_blank())
    cuts = (20.0, 40.0, 60.0, 80.0)
    zones, lines = traced(placed, cuts)
    assert lines.length_cm() == pytest.approx(4 * SIDE / 10, rel=1e-3)
    light = placed.lightness[200]
    for line, cut in zip(lines.lines, cuts, strict=True):
        assert not line.closed
        assert sorted(line.points[[0, -1], 1].tolist()) == pytest.approx([0, SIDE], abs=1e-6)
        where = np.interp(cut, light, (np.arange(400) + 0.5) / 4)
        assert np.abs(line.points[:, 0] - where).max() < 0.15
    found = np.bincount(zones.labels.ravel())[1:] / 16
    edges = [0, *np.interp(cuts, light, (np.arange(400) + 0.5) / 4), SIDE]
    assert found == pytest.approx(np.diff(edges) * SIDE, rel=MARGIN)


def test_slanting_ramp(placed_of: PlacedOf) -> None:
    """At 30° each boundary crosses from top to bottom: height / cos 30°."""
    x, y = canvas()
    slant = x * math.cos(math.radians(30)) + y * math.sin(math.radians(30))
    placed = placed_of(grey((slant / 140 + 0.5) * 255), square_blank())
    _zones, lines = traced(placed, (45.0, 50.0, 55.0))
    for line in lines.lines:
        assert line.length_mm == pytest.approx(SIDE / math.cos(math.radians(30)), rel=MARGIN)


def test_cone_gives_rings(placed_of: PlacedOf) -> None:
    x, y = canvas()
    placed = placed_of(grey(np.hypot(x, y) / 50 * 250), square_blank())
    cuts = (25.0, 45.0, 65.0)
    _zones, lines = traced(placed, cuts)
    row = placed.lightness[200, 200:]
    for line, cut in zip(lines.lines, cuts, strict=True):
        radius = float(np.interp(cut, row, (np.arange(200) + 0.5) / 4))
        assert line.closed
        assert line.length_mm == pytest.approx(2 * math.pi * radius, rel=MARGIN)


@pytest.mark.parametrize("resolution", [2.0, 4.0, 8.0])
def test_lengths_do_not_depend_on_the_raster(placed_of: PlacedOf, resolution: float) -> None:
    x, y = canvas()
    picture = grey(np.where(np.hypot(x / 40, y / 25) < 1, 30.0, 230.0))
    placed = placed_of(picture, square_blank(), resolution)
    _zones, lines = traced(placed)
    # Circumference of an ellipse by Ramanujan's second formula (1914), good to 1e-9 here.
    h = ((40 - 25) / (40 + 25)) ** 2
    around = math.pi * 65 * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    assert lines.length_cm() * 10 == pytest.approx(around, rel=MARGIN)


# --- each boundary once ------------------------------------------------------------------------


@pytest.mark.parametrize("photo_px", [200, 300, 400, 700])
def test_hard_edges_on_coarse_and_fine_photos(placed_of: PlacedOf, photo_px: int) -> None:
    """A circle without soft edges, on photo pixels coarser and finer than the raster."""
    y, x = (np.mgrid[0:photo_px, 0:photo_px] + 0.5) / photo_px * SIDE - SIDE / 2
    picture = grey(np.where(np.hypot(x, y) < 35, 30.0, 230.0))
    _zones, lines = traced(placed_of(picture, square_blank()))
    assert lines.length_cm() * 10 == pytest.approx(2 * math.pi * 35, rel=MARGIN)


def test_an_edge_over_several_thresholds_is_one_line(placed_of: PlacedOf) -> None:
    x, y = canvas()
    ramp = 30 + (y / SIDE + 0.5) * 200
    picture = grey(np.where(x < 0, 10.0, np.where(y < -20, 250.0, ramp)))
    placed = placed_of(picture, square_blank())
    _zones, lines = traced(placed, (20.0, 40.0, 60.0, 80.0))
    upright = [
        (line, points)
        for line in lines.lines
        if len(points := line.points[np.abs(line.points[:, 0] - 50) < 0.5]) > 1
    ]
    covered = sum(float(np.abs(np.diff(points[:, 1])).sum()) for _line, points in upright)
    assert covered == pytest.approx(SIDE, rel=0.02)


def changed_sides(labels: NDArray[np.uint8]) -> int:
    """Pixel sides between two zones, both within the outline."""
    count = 0
    for a, b in ((labels[:, :-1], labels[:, 1:]), (labels[:-1], labels[1:])):
        count += int(((a != b) & (a > 0) & (b > 0)).sum())
    return count


@pytest.fixture
def traced_photo(
    photo_file: Callable[[str], Path], placed_of: PlacedOf
) -> Callable[..., tuple[Placed, ZoneMap, TraceLines]]:
    def build(
        name: str, kind: OutlineKind, width: float = 120
    ) -> tuple[Placed, ZoneMap, TraceLines]:
        height = width if kind is OutlineKind.ROUND else width / 1.5
        placed = placed_of(open_photo(photo_file(name)).rgb, Outline(kind, width, height))
        zones, lines = traced(placed)
        return placed, zones, lines

    return build


PHOTOS = ["chelsea.png", "coffee.png", "astronaut.png", "china.jpg", "flower.jpg"]


@pytest.mark.parametrize("name", PHOTOS)
def test_every_side_between_zones_belongs_to_one_line(
    traced_photo: Callable[..., tuple[Placed, ZoneMap, TraceLines]], name: str
) -> None:
    _placed, zones, _lines = traced_photo(name, OutlineKind.RECTANGLE)
    ground = trace_module._Ground(zones)
    for boundary in range(1, zones.count):
        ground.owned_chains(boundary)
    sides = ground._known_sides
    assert len(np.unique(sides)) == len(sides)
    framed = np.pad(zones.labels, 1, mode="edge")
    # The ring of pixels beyond the edge carries each boundary one side further.
    beyond = changed_sides(framed[[0, -1]][:, 1:-1][0:1]) + changed_sides(framed[-1:, 1:-1])
    beyond += changed_sides(framed[1:-1, 0:1]) + changed_sides(framed[1:-1, -1:])
    assert changed_sides(zones.labels) <= len(sides) <= changed_sides(zones.labels) + beyond


@pytest.mark.parametrize("name", PHOTOS)
def test_no_line_runs_along_another(
    traced_photo: Callable[..., tuple[Placed, ZoneMap, TraceLines]], name: str
) -> None:
    """Points in the middle of lines keep a distance from all other lines."""
    _placed, _zones, lines = traced_photo(name, OutlineKind.RECTANGLE)
    dense, owner = [], []
    for number, line in enumerate(lines.lines):
        points = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
        for a, b in itertools.pairwise(points):
            count = max(1, math.ceil(float(np.hypot(*(b - a))) / 0.1))
            dense.append(a + (b - a) * (np.arange(count) / count)[:, None])
            owner.append(np.full(count, number))
    xy, who = np.concatenate(dense), np.concatenate(owner)
    tree = cKDTree(xy)
    doubled = 0
    for i, near in enumerate(tree.query_ball_point(xy, 0.1)):
        doubled += any(who[j] != who[i] for j in near)
    # Only where lines meet; a doubled line would show along its whole length.
    assert doubled / len(xy) < 0.06


@pytest.mark.parametrize("name", PHOTOS)
def test_drawn_lines_can_be_told_apart(
    traced_photo: Callable[..., tuple[Placed, ZoneMap, TraceLines]],
    monkeypatch: pytest.MonkeyPatch,
    name: str,
) -> None:
    """Little of what is drawn runs along another boundary's line nearer than a pencil tells."""
    placed, zones, lines = traced_photo(name, OutlineKind.RECTANGLE)

    def crowded_cm(lines: TraceLines) -> float:
        drawn = [line for line in lines.lines if line.pressure is not Pressure.LOST]
        parts = [spread_out(line) for line in drawn]
        points = np.concatenate(parts)
        of = np.repeat([line.boundary for line in drawn], [len(part) for part in parts])
        near = cKDTree(points).query_ball_point(points, 0.8 * BESIDE_MM[0])
        return 0.025 * sum(bool((of[at] != of[i]).any()) for i, at in enumerate(near))

    monkeypatch.setattr(
        trace_module._Drawn, "beside", lambda _, sides: np.zeros(len(sides.chains.xy), np.bool_)
    )
    assert crowded_cm(lines) < 0.6 * crowded_cm(trace_lines(zones, placed))


def spread_over(lines: TraceLines) -> NDArray[np.float64]:
    """Points of all that is drawn."""
    drawn = [line for line in lines.lines if line.pressure is not Pressure.LOST]
    return np.concatenate([spread_out(line) for line in drawn])


def spread_out(line: TraceLine) -> NDArray[np.float64]:
    """Points a quarter of a millimetre apart."""
    points = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
    along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    at = np.arange(0, along[-1], 0.25)
    return np.stack([np.interp(at, along, points[:, axis]) for axis in (0, 1)], axis=1)


def test_a_soft_edge_is_one_line_with_the_whole_step(placed_of: PlacedOf) -> None:
    """Three thresholds within a millimetre, and again 6 mm apart."""
    x, _y = canvas()
    for width, lines_wanted in ((0.9, 1), (18.0, 3)):
        picture = grey(np.interp(x, [-width / 2, width / 2], [40.0, 200.0]))
        placed = placed_of(picture, square_blank())
        zones, lines = traced(placed, (30.0, 50.0, 65.0))
        assert zones.count == 4
        assert len(lines.lines) == lines_wanted
        assert all(line.length_mm == pytest.approx(SIDE, rel=0.02) for line in lines.lines)
    placed = placed_of(grey(np.interp(x, [-0.45, 0.45], [40.0, 200.0])), square_blank())
    (line,) = traced(placed, (30.0, 50.0, 65.0))[1].lines
    assert line.boundary == 1
    assert line.pressure is Pressure.FIRM
    assert line.step > 0.75 * float(np.ptp(placed.lightness))


def test_both_sides_of_a_light_stroke_are_drawn(placed_of: PlacedOf) -> None:
    """It lies between two lines, and neither is on the lighter side of the other."""
    x, _y = canvas()
    picture = grey(np.where(np.abs(x) < 0.5, 230.0, np.where(x < 0, 20.0, 100.0)))
    _zones, lines = traced(placed_of(picture, square_blank()), (25.0, 60.0))
    assert sorted(line.boundary for line in lines.lines) == [1, 2]


@pytest.mark.parametrize("kind", [OutlineKind.RECTANGLE, OutlineKind.OVAL])
def test_open_lines_end_at_other_lines_or_at_the_outline(
    traced_photo: Callable[..., tuple[Placed, ZoneMap, TraceLines]], kind: OutlineKind
) -> None:
    placed, _zones, lines = traced_photo("coffee.png", kind, 90)
    outline = placed.outline
    gaps = []
    for line in lines.lines:
        if line.closed:
            continue
        others = [other.points for other in lines.lines if other is not line]
        for end in (line.points[0], line.points[-1]):
            x, y = end
            if kind is OutlineKind.RECTANGLE:
                to_edge = min(x, y, outline.width_mm - x, outline.height_mm - y)
            else:
                a, b = outline.width_mm / 2, outline.height_mm / 2
                to_edge = (1 - math.hypot((x - a) / a, (y - b) / b)) * min(a, b)
            own = np.hypot(*(line.points[1:-1] - end).T).min(initial=9)
            gap = min(to_edge, own, *(segment_distance(end, points) for points in others))
            # It ends on another line, or comes up to one that it is not told from.
            assert gap < BESIDE_MM[1], (end, line.pressure, gap)
            gaps.append(gap)
    assert np.mean(np.array(gaps) < 0.3) > 0.85


def segment_distance(point: NDArray[np.float64], line: NDArray[np.float64]) -> float:
    closed = np.vstack([line, line[:1]])
    start, along = closed[:-1], np.diff(closed, axis=0)
    squared = np.maximum((along**2).sum(axis=1), 1e-12)
    share = np.clip(((point - start) * along).sum(axis=1) / squared, 0, 1)
    return float(np.hypot(*(start + along * share[:, None] - point).T).min())


@pytest.mark.parametrize("kind", [OutlineKind.ROUND, OutlineKind.OVAL])
def test_the_outline_itself_is_no_line(placed_of: PlacedOf, kind: OutlineKind) -> None:
    x, y = canvas()
    outline = Outline(kind, SIDE, SIDE if kind is OutlineKind.ROUND else 70)
    flat = placed_of(grey(np.where(x < 0, 40.0, 200.0) + 0 * y), outline)
    _zones, lines = traced(flat)
    assert len(lines.lines) == 1
    assert lines.length_cm() * 10 == pytest.approx(outline.height_mm, abs=0.4)


def test_live_edge_chord(placed_of: PlacedOf) -> None:
    """A boundary across a triangle of 100 × 100 mm at x = 50 is 50 mm long."""
    x, _y = canvas()
    outline = Outline(OutlineKind.LIVE_EDGE, SIDE, SIDE, ((0, 100), (100, 100), (100, 0)))
    _zones, lines = traced(placed_of(grey(np.where(x < 0, 40.0, 200.0)), outline))
    assert lines.length_cm() * 10 == pytest.approx(50, abs=0.5)


# --- pressure ----------------------------------------------------------------------------------


def srgb(lightness: NDArray[np.float64]) -> NDArray[np.uint8]:
    from tests.tone.greys import grey_of_lightness

    return grey_of_lightness(lightness)


@pytest.mark.parametrize(
    ("step", "pressure"),
    [(30, Pressure.FIRM), (20, Pressure.FIRM), (10, Pressure.LIGHT), (3, Pressure.LOST)],
)
def test_pressure_follows_the_step(placed_of: PlacedOf, step: float, pressure: Pressure) -> None:
    x, _y = canvas()
    picture = srgb(np.where(x < 0, 50 - step / 2, 50 + step / 2))
    _zones, lines = traced(placed_of(picture, square_blank()), (50.0, 95.0))
    assert [line.pressure for line in lines.lines] == [pressure]
    assert lines.lines[0].step == pytest.approx(step, rel=0.1)
    assert {lines.firm_cm, lines.light_cm, lines.lost_cm} == {0, lines.length_cm()}


def test_step_is_measured_a_nib_either_side(placed_of: PlacedOf) -> None:
    """On a ramp of 4 L* per mm the step over twice the nib's width is 8 × 0.75 = 6 L*."""
    x, _y = canvas()
    placed = placed_of(srgb(np.clip(50 + 4 * x, 10, 90)), square_blank())
    _zones, lines = traced(placed, (50.0, 95.0))
    assert lines.lines[0].step == pytest.approx(4 * 2 * NIB_MM, rel=0.05)
    wider = trace_lines(find_zones(placed, thresholds=(50.0, 95.0)), placed, nib_mm=1.5)
    assert wider.lines[0].step == pytest.approx(4 * 2 * 1.5, rel=0.05)


def test_a_fading_edge_goes_from_firm_over_light_to_lost_once(placed_of: PlacedOf) -> None:
    x, y = canvas()
    step = (y / SIDE + 0.5) * 40
    wobble = np.random.default_rng(0).normal(0, 1.0, x.shape)
    placed = placed_of(srgb(np.clip(50 + np.sign(x) * step / 2 + wobble, 0, 100)), square_blank())
    zones = find_zones(placed, thresholds=(50.0, 95.0))
    lines = trace_lines(zones, placed)
    main = [line for line in lines.lines if line.length_mm > 5]
    by_height = sorted(main, key=lambda line: float(line.points[:, 1].mean()))
    order = [line.pressure for line in by_height]
    assert order == [Pressure.LOST, Pressure.LIGHT, Pressure.FIRM]
    # The lower limits are where each begins: 12 and 4 of 40 L* over 100 mm.
    firm, light = by_height[2].points[:, 1].min(), by_height[1].points[:, 1].min()
    assert firm == pytest.approx(FIRM_STEP[0] / 40 * SIDE, abs=8)
    assert light == pytest.approx(LIGHT_STEP[0] / 40 * SIDE, abs=8)


@pytest.mark.parametrize(("middle", "swing"), [(15.0, 2.5), (5.5, 1.3)])
def test_pressure_does_not_flicker_between_the_limits(
    placed_of: PlacedOf, middle: float, swing: float
) -> None:
    """A step that swings within the limits every 5 mm stays what it is."""
    x, y = canvas()
    step = middle + swing * np.sin(2 * math.pi * y / 5)
    placed = placed_of(srgb(np.where(x < 0, 50 - step / 2, 50 + step / 2)), square_blank())
    _zones, lines = traced(placed, (50.0, 95.0))
    assert len(lines.lines) == 1


@pytest.mark.parametrize("name", PHOTOS)
def test_no_stretch_is_too_short_beside_another(
    traced_photo: Callable[..., tuple[Placed, ZoneMap, TraceLines]], name: str
) -> None:
    """A stretch shorter than the shortest is a whole line between two meeting points."""
    placed, zones, _lines = traced_photo(name, OutlineKind.RECTANGLE)
    ground = trace_module._Ground(zones)
    window = round(SHORTEST_MM * placed.px_per_mm)
    for boundary in range(1, zones.count):
        chains = ground.owned_chains(boundary)
        sides = trace_module._Sides(chains, zones.labels, boundary)
        steps = sides.steps(placed.lightness, 3.0)
        level = trace_module._pressures(chains, steps, window)
        for start, stop, ring in zip(
            chains.starts[:-1], chains.starts[1:], chains.closed, strict=True
        ):
            part = level[start:stop]
            change = np.flatnonzero(np.diff(part)) + 1
            if len(change) == 0:
                continue
            sizes = np.diff([0, *change, len(part)])
            if ring and part[0] == part[-1]:
                sizes = np.array([sizes[0] + sizes[-1], *sizes[1:-1]])
            assert sizes.min() >= window


@pytest.mark.parametrize("name", ["flower.jpg", "chelsea.png"])
def test_in_focal_areas_no_line_is_lost(
    photo_file: Callable[[str], Path], placed_of: PlacedOf, name: str
) -> None:
    placed = placed_of(open_photo(photo_file(name)).rgb, Outline(OutlineKind.RECTANGLE, 120, 80))
    focal = np.zeros(placed.inside.shape, np.bool_)
    focal[60:180, 40:300] = True
    focused = dataclasses.replace(placed, focal=focal)
    zones = find_zones(focused)
    plain, kept = trace_lines(zones, placed), trace_lines(zones, focused)

    def lost_within(lines: TraceLines) -> float:
        length = 0.0
        for line in lines.lines:
            if line.pressure is Pressure.LOST:
                points = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
                middle = (points[:-1] + points[1:]) / 2 * 4
                sides = np.hypot(*np.diff(points, axis=0).T)
                at = np.floor(middle).astype(int)
                length += sides[focal[at[:, 1].clip(0, 319), at[:, 0].clip(0, 479)]].sum()
        return float(length)

    assert lost_within(plain) > 50
    assert lost_within(kept) < 1  # simplified corners that reach over its edge
    # Whatever there has no line runs beside one that is drawn.
    ground, drawn = trace_module._Ground(zones), spread_over(kept)
    for boundary in range(1, zones.count):
        xy = ground.owned_chains(boundary).xy
        at = np.floor(xy).astype(int)
        there = focal[at[:, 1].clip(0, 319), at[:, 0].clip(0, 479)]
        away, _ = cKDTree(drawn).query(xy[there] / placed.px_per_mm)
        assert away.max() < FOCAL_BESIDE_MM[1] + 0.5
    # Lines are told apart at a smaller distance there, so there are more of them.
    assert plain.length_cm() < kept.length_cm() < 1.1 * plain.length_cm()
    assert 0.99 * plain.firm_cm < kept.firm_cm < 1.15 * plain.firm_cm


@given(
    st.lists(st.tuples(st.integers(0, 2), st.integers(1, 30)), min_size=1, max_size=12),
    st.booleans(),
    st.integers(2, 12),
)
def test_short_stretches_join_until_none_is_left(
    stretches: list[tuple[int, int]], ring: bool, shortest: int
) -> None:
    level = np.repeat(*np.array(stretches).T)
    chain = Chains(np.zeros((len(level), 2)), np.array([0, len(level)]), np.array([ring]))
    joined = trace_module._without_short(chain, level, shortest)
    assert set(joined) <= set(level)
    runs = chain.runs(joined)
    sizes = np.diff(runs.starts)
    assert sizes.sum() == len(level)
    assert len(sizes) == 1 or sizes.min() >= shortest
    long_all = np.diff(chain.runs(level).starts).min() >= 2 * shortest
    assert not long_all or np.array_equal(joined, level)


def test_direction_along_a_line_does_not_matter() -> None:
    rng = np.random.default_rng(4)
    values = np.abs(np.cumsum(rng.normal(0, 2, 400)))
    chain = Chains(
        np.stack([np.arange(400.0), np.zeros(400)], axis=1),
        np.array([0, 400]),
        np.array([False]),
    )
    there = trace_module._pressures(chain, values, 8)
    back = trace_module._pressures(chain, values[::-1].copy(), 8)
    assert np.array_equal(there, back[::-1])
    assert len(set(there.tolist())) > 1


def test_a_ring_has_no_seam() -> None:
    rng = np.random.default_rng(5)
    values = 14 + 6 * np.sin(np.arange(300) * 2 * math.pi / 100) + rng.normal(0, 1, 300)
    ring = Chains(np.zeros((300, 2)), np.array([0, 300]), np.array([True]))
    plain = trace_module._pressures(ring, values, 8)
    for shift in (1, 50, 123):
        turned = trace_module._pressures(ring, np.roll(values, shift), 8)
        assert np.array_equal(np.roll(plain, shift), turned)
    assert len(set(plain.tolist())) > 1


def test_soft_ground_opens_while_petals_keep_their_lines(
    traced_photo: Callable[..., tuple[Placed, ZoneMap, TraceLines]],
) -> None:
    """On the flower: boundaries in the blurred ground are lost, those of petals are drawn."""
    _placed, _zones, lines = traced_photo("flower.jpg", OutlineKind.RECTANGLE, 240)

    def drawn(left: float, top: float, right: float, bottom: float) -> float:
        lengths = {True: 0.0, False: 0.0}
        for line in lines.lines:
            x, y = line.points.mean(axis=0)
            if left < x < right and top < y < bottom:
                lengths[line.pressure is Pressure.LOST] += line.length_mm
        assert sum(lengths.values()) > 300
        return lengths[False] / sum(lengths.values())

    assert drawn(0, 0, 60, 160) < 0.05
    assert drawn(84, 40, 144, 128) > 0.8


# --- order and sums ----------------------------------------------------------------------------


def test_order_and_sums(
    traced_photo: Callable[..., tuple[Placed, ZoneMap, TraceLines]],
) -> None:
    _placed, zones, lines = traced_photo("coffee.png", OutlineKind.RECTANGLE)
    rank = {Pressure.FIRM: 0, Pressure.LIGHT: 1, Pressure.LOST: 2}
    keys = [(line.boundary, rank[line.pressure], -line.length_mm) for line in lines.lines]
    assert keys == sorted(keys)
    assert {line.boundary for line in lines.lines} == set(range(1, zones.count))
    whole = lines.length_cm()
    assert lines.firm_cm + lines.light_cm + lines.lost_cm == pytest.approx(whole)
    assert sum(lines.length_cm(boundary=k) for k in range(1, 7)) == pytest.approx(whole)
    assert sum(polyline_mm(line) for line in lines.lines) / 10 == pytest.approx(whole, rel=0.015)


def test_simplified_lines_stay_within_the_tolerance(placed_of: PlacedOf) -> None:
    x, y = canvas()
    picture = grey(np.where(np.hypot(x, y) < 30, 30.0, 230.0))
    placed = placed_of(picture, square_blank())
    zones = find_zones(placed)
    exact = trace_lines(zones, placed, tolerance_mm=0).lines[0]
    for tolerance in (0.05, 0.2):
        rough = trace_lines(zones, placed, tolerance_mm=tolerance).lines[0]
        assert len(rough.points) < len(exact.points) / 4
        away = max(segment_distance(point, rough.points) for point in exact.points)
        assert away <= tolerance * 1.05


def test_one_tone_has_no_lines(placed_of: PlacedOf) -> None:
    _zones, lines = traced(placed_of(np.full((100, 100), 128, np.uint8)))
    assert lines.lines == ()
    assert lines.length_cm() == 0


# --- beside a background left bare -------------------------------------------------------------


def dark_ground_with_a_disc() -> NDArray[np.uint8]:
    x, y = canvas()
    return grey(np.where(np.hypot(x, y) < 20, 20.0, 120.0))


@pytest.mark.parametrize(
    ("kind", "edge_mm"), [(AreaKind.RECTANGLE, 100.0), (AreaKind.ELLIPSE, math.pi * 10)]
)
def test_the_cut_of_a_bare_area_is_left_open(
    placed_of: PlacedOf, kind: AreaKind, edge_mm: float
) -> None:
    corners = ((0.0, 0.0), (1.0, 0.12)) if kind is AreaKind.RECTANGLE else ((0.1, 0.1), (0.2, 0.2))
    placed = placed_of(dark_ground_with_a_disc(), square_blank())
    _, lines = traced(
        controlled(placed, ToneControl(background=(MarkedArea(kind, corners),))), (30, 70)
    )
    assert lines.lost_cm * 10 == pytest.approx(edge_mm, rel=0.02)
    # The disc, far from the cut, is traced as ever.
    drawn = [line for line in lines.lines if line.pressure is not Pressure.LOST]
    assert [line.pressure for line in drawn] == [Pressure.FIRM]
    assert drawn[0].length_mm == pytest.approx(2 * math.pi * 20, rel=MARGIN)


def test_a_silhouette_against_a_bare_background_is_traced(placed_of: PlacedOf) -> None:
    x, y = canvas()
    keep = grey(np.where(np.hypot(x, y) < 20, 255.0, 0.0))
    placed = placed_of(dark_ground_with_a_disc(), square_blank())
    _, lines = traced(controlled(placed, ToneControl(), keep), (30, 70))
    assert lines.lost_cm == 0
    assert lines.firm_cm * 10 == pytest.approx(2 * math.pi * 20, rel=MARGIN)


def test_lines_that_end_at_a_bare_area_keep_their_pressure(placed_of: PlacedOf) -> None:
    x, _ = canvas()
    placed = placed_of(grey(np.where(x < 0, 40.0, 160.0)), square_blank())
    area = MarkedArea(AreaKind.RECTANGLE, ((0.0, 0.0), (1.0, 0.12)))
    _, lines = traced(controlled(placed, ToneControl(background=(area,))), (40, 80))
    assert lines.firm_cm * 10 == pytest.approx(88, abs=1.5)
    assert lines.light_cm == 0
    assert lines.lost_cm * 10 == pytest.approx(100, abs=1.5)
