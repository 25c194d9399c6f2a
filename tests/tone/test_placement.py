import cmath
import importlib
import json
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.areas import AreaKind, MarkedArea, On
from burnplan.tone.photo import Photo
from burnplan.tone.place import place
from burnplan.tone.placement import Fit, Placement
from burnplan.tone.position import position_on

RECTANGLE, ROUND, OVAL, LIVE = OutlineKind
LEAF = ((4, 30), (40, 2), (96, 12), (88, 58), (50, 70), (10, 52))

outlines = st.sampled_from(
    [
        Outline(RECTANGLE, 120, 80),
        Outline(RECTANGLE, 60, 90),
        Outline(ROUND, 90, 90),
        Outline(OVAL, 110, 70),
        Outline(LIVE, 100, 75, LEAF),
    ]
)
fractions = st.tuples(
    st.floats(0, 0.45), st.floats(0, 0.45), st.floats(0.55, 1), st.floats(0.55, 1)
)
placements = st.builds(
    Placement,
    fit=st.sampled_from(Fit),
    quarter_turns=st.integers(-1, 4),
    crop=st.none() | fractions,
    turn_degrees=st.sampled_from([0.0, 90.0]) | st.floats(-180, 180),
    mirrored=st.booleans(),
    scale=st.none() | st.floats(0.5, 3),
    offset_mm=st.none() | st.tuples(st.floats(-20, 20), st.floats(-20, 20)),
    margin_mm=st.sampled_from([0.0, 3.0]),
)
sizes = st.tuples(st.integers(40, 900), st.integers(40, 900))
quickly = settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


# --- where points lie --------------------------------------------------------------------------


@pytest.mark.long
@given(sizes, outlines, placements, st.floats(0, 1), st.floats(0, 1))
def test_points_lie_where_the_steps_take_them(
    size: tuple[int, int], outline: Outline, placement: Placement, u: float, v: float
) -> None:
    """Crop, mirror, scale, turn and shift one by one, with complex numbers."""
    position = position_on(size, outline, placement)
    left, top, right, bottom = placement.crop or (0, 0, 1, 1)
    across, down = (u - (left + right) / 2) * size[0], (v - (top + bottom) / 2) * size[1]
    point = complex(-across if placement.mirrored else across, down) * position.mm_per_px
    point *= cmath.rect(1, math.radians(90 * placement.quarter_turns + placement.turn_degrees))
    x, y = placement.offset_mm or (0, 0)
    point += complex(outline.width_mm / 2 + x, outline.height_mm / 2 + y)
    assert position.to_mm([(u, v)])[0] == pytest.approx((point.real, point.imag), abs=1e-6)
    assert position.to_photo(position.to_mm([(u, v)]))[0] == pytest.approx((u, v), abs=1e-9)


@given(sizes, outlines, st.floats(-180, 180), st.integers(0, 3))
def test_fill_covers_and_whole_shows_all(
    size: tuple[int, int], outline: Outline, degrees: float, turns: int
) -> None:
    box = np.array([outline.width_mm, outline.height_mm])
    turn = np.linspace(0, 2 * math.pi, 400)
    edge = box * [(0, 0), (1, 0), (1, 1), (0, 1)]
    if outline.kind in (ROUND, OVAL):
        edge = box / 2 * (1 + np.stack([np.cos(turn), np.sin(turn)], axis=1))
    at = position_on(size, outline, Placement(Fit.FILL, turns, turn_degrees=degrees)).to_photo(edge)
    assert at.min() >= -1e-9
    assert at.max() <= 1 + 1e-9
    assert np.ptp(at, axis=0).max() > 0.999  # no larger than need be
    whole = position_on(size, outline, Placement(Fit.WHOLE, turns, turn_degrees=degrees)).used()
    assert whole.min() >= -1e-9
    assert (whole <= box + 1e-9).all()
    assert np.isclose(np.ptp(whole, axis=0), box).any()


@pytest.mark.long
@quickly
@given(
    st.sampled_from([(900, 600), (150, 100)]),  # shrunk and enlarged
    outlines,
    placements,
    st.floats(0.05, 0.95),
    st.floats(0.05, 0.95),
)
@example((900, 600), Outline(RECTANGLE, 120, 80), Placement(), 0.5, 0.5)
@example((150, 100), Outline(RECTANGLE, 120, 80), Placement(mirrored=True), 0.3, 0.7)
def test_what_is_placed_lies_where_it_is_said_to(
    photo_of: Callable[[NDArray[np.uint8]], Photo],
    size: tuple[int, int],
    outline: Outline,
    placement: Placement,
    u: float,
    v: float,
) -> None:
    """A soft spot at a point of the photo, found again by its centre of mass."""
    width, height = size
    y, x = np.mgrid[0:height, 0:width] + 0.5
    wide = width / 30
    spot = np.exp(-((x - u * width) ** 2 + (y - v * height) ** 2) / (2 * (wide / 2) ** 2))
    placed = place(photo_of((255 - 250 * spot).astype(np.uint8)), outline, placement)
    position = position_on(size, outline, placement)
    expected = position.to_mm([(u, v)])[0]
    reach = 2.2 * wide * position.mm_per_px
    rows, columns = (np.arange(n) + 0.5 for n in placed.inside.shape)
    near = np.hypot(columns[None] / 4 - expected[0], rows[:, None] / 4 - expected[1]) < reach
    left, top, right, bottom = position.crop
    margin = 2.2 * wide
    cropped = not (
        left + margin / width < u < right - margin / width
        and top + margin / height < v < bottom - margin / height
    )
    if cropped or (near & placed.inside).sum() < 0.99 * math.pi * (reach * 4) ** 2:
        return  # cut off, so that its middle cannot be told
    dark = (255 - placed.rgb[..., 0].astype(float)) * near
    found = ((dark * columns).sum() / dark.sum() / 4, (dark * rows[:, None]).sum() / dark.sum() / 4)
    # Right-angled photos are shrunk from whole pixels: half of one at most is off.
    slack = 0.06 + 0.75 * position.mm_per_px * (position.mm_per_px < 0.25)
    assert found == pytest.approx(tuple(expected), abs=slack)


def test_a_turned_photo_agrees_with_scikit_image(
    photo_of: Callable[[NDArray[np.uint8]], Photo],
) -> None:
    """Against skimage.transform.warp, order 3, through the same map."""
    y, x = np.mgrid[0:120, 0:160]
    waves = (127 + 90 * np.sin(x / 11) * np.cos(y / 8)).astype(np.uint8)
    placed = place(
        photo_of(waves), Outline(RECTANGLE, 60, 40), Placement(turn_degrees=17, scale=1.4)
    )
    position = placed.position
    warp: Any = importlib.import_module("skimage.transform").warp

    def back(columns_rows: NDArray[np.float64]) -> NDArray[np.float64]:
        return position.to_photo((columns_rows + 0.5) / 4) * (160, 120) - 0.5

    theirs = warp(waves / 255, back, output_shape=placed.inside.shape, order=3, mode="edge") * 255
    assert placed.inside.all()
    assert np.abs(theirs - placed.rgb[..., 0]).max() < 4


# --- automatic fit -----------------------------------------------------------------------------


def face(left: float, top: float, right: float, bottom: float, name: str = "face") -> MarkedArea:
    return MarkedArea(AreaKind.ELLIPSE, ((left, top), (right, bottom)), name=name)


@pytest.mark.whole
@quickly
@given(
    sizes,
    outlines,
    st.floats(0.05, 0.85),
    st.floats(0.05, 0.85),
    st.floats(0.03, 0.12),
    st.floats(-30, 30),
    st.sampled_from([0.0, 4.0]),
)
def test_a_focal_area_is_kept_inside(
    size: tuple[int, int],
    outline: Outline,
    u: float,
    v: float,
    half: float,
    degrees: float,
    margin: float,
) -> None:
    area = face(max(0, u - half), max(0, v - half), u + half, v + half)
    placement = Placement(turn_degrees=degrees, margin_mm=margin)
    position = position_on(size, outline, placement, [area])
    settled = position.placement
    assert settled.scale is not None
    assert settled.offset_mm is not None
    points = position.of(area)
    assert (depth(outline, points) > margin - 1e-6).all()
    plain = position_on(size, outline, placement)
    if settled.scale == 1:  # moved only, and so still covering
        assert position.mm_per_px == plain.mm_per_px
        if outline.kind is RECTANGLE and not margin:
            corners = [(0, 0), (outline.width_mm, 0), (outline.width_mm, outline.height_mm)]
            at = position.to_photo(corners)
            assert at.min() >= -1e-4
            assert at.max() <= 1 + 1e-4
    grown = plain.of(face(*np.array(area.corners).ravel() + half * np.array([-1, -1, 1, 1]) * 0.3))
    if (depth(outline, grown) > margin + 1).all():  # already inside: left where it is
        assert settled.offset_mm == pytest.approx((0, 0))
        assert settled.scale == 1


def test_a_very_tall_photo_on_a_wide_blank_is_laid_all_the_same() -> None:
    """Fitting a focal area of such a photo once asked for a scale that was refused."""
    wide = Outline(RECTANGLE, 120, 80)
    for size in ((40, 267), (300, 20_000), (20_000, 300)):
        settled = position_on(size, wide, Placement(), [face(0.44, 0.44, 0.56, 0.56)]).placement
        assert settled.scale is not None


def depth(outline: Outline, points: NDArray[Any]) -> NDArray[np.float64]:
    """How far points lie inside an outline, mm; negative outside."""
    corners = np.array([(0, 0), (1, 0), (1, 1), (0, 1)]) * (outline.width_mm, outline.height_mm)
    if outline.kind is LIVE:
        corners = np.array(outline.points)
    if outline.kind in (ROUND, OVAL):
        turn = np.linspace(0, 2 * math.pi, 360, endpoint=False)
        unit = 1 + np.stack([np.cos(turn), np.sin(turn)], axis=1)
        corners = unit * (outline.width_mm / 2, outline.height_mm / 2)
    z, start = points @ [1, 1j], corners @ [1, 1j]
    stop = np.roll(start, -1)
    share = ((z[:, None] - start) * (stop - start).conj()).real / abs(stop - start) ** 2
    nearest = start + np.clip(share, 0, 1) * (stop - start)
    winding = np.angle((stop - z[:, None]) / (start - z[:, None])).sum(axis=1) / (2 * math.pi)
    away = np.abs(z[:, None] - nearest).min(axis=1)
    return np.asarray(np.where(abs(winding) > 0.5, away, -away))


@pytest.mark.parametrize(
    ("area", "blank"), [(face(0, 0, 1, 1), (200, 200)), (face(0.05, 0.1, 0.95, 0.4), (100, 150))]
)
def test_what_cannot_be_moved_inside_is_shown_smaller(
    photo_of: Callable[[NDArray[np.uint8]], Photo], area: MarkedArea, blank: tuple[float, float]
) -> None:
    photo, outline = photo_of(np.full((400, 600), 128, np.uint8)), Outline(RECTANGLE, *blank)
    placed = place(photo, outline, focal=[area])
    settled = placed.position.placement
    assert settled.scale is not None
    assert settled.scale < 1
    assert depth(outline, placed.position.of(area)).min() > -1e-6
    assert "The photo is shown smaller, so that the marked areas lie inside" in placed.notes
    assert not any("cut off" in note for note in placed.notes)
    # As large as it can be: a little larger and it would not fit.
    larger = Placement(scale=settled.scale * 1.03)
    assert depth(outline, position_on((600, 400), outline, larger, [area]).of(area)).min() < 0


def test_a_focal_area_that_is_cut_off_is_noted(
    photo_of: Callable[[NDArray[np.uint8]], Photo],
) -> None:
    photo = photo_of(np.full((400, 600), 128, np.uint8))
    square = Outline(RECTANGLE, 200, 200)
    half_out = MarkedArea(AreaKind.RECTANGLE, ((0.7333, 0.2), (0.9333, 0.6)), name="left eye")
    kept = MarkedArea(AreaKind.RECTANGLE, ((60, 60), (100, 100)), On.WOOD)
    placed = place(photo, square, Placement(offset_mm=(0, 0)), focal=[half_out, kept])
    assert placed.notes == (
        "50 % of the marked area 'left eye' is cut off: move the photo or make it smaller",
    )
    by_crop = place(
        photo, square, Placement(crop=(0, 0, 0.5, 0.75)), focal=[face(0.4, 0.3, 0.6, 0.5)]
    )
    assert any(note.startswith("50 % of the marked area 'face'") for note in by_crop.notes)
    assert place(photo, square, focal=[half_out]).notes == ()  # moved by itself
    assert placed.focal is not None
    assert placed.focal[240:400, 240:400].all()
    assert placed.focal.sum() == pytest.approx(
        160 * 160 + 0.5 * 120 / 600 * 300 * 4 * 320, rel=0.02
    )


# --- margins -----------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", [ROUND, OVAL, LIVE, RECTANGLE])
def test_a_margin_stays_bare(
    photo_of: Callable[[NDArray[np.uint8]], Photo], kind: OutlineKind
) -> None:
    outline = {
        RECTANGLE: Outline(RECTANGLE, 100, 75),
        ROUND: Outline(ROUND, 80, 80),
        OVAL: Outline(OVAL, 100, 60),
        LIVE: Outline(LIVE, 100, 75, LEAF),
    }[kind]
    placed = place(photo_of(np.full((300, 400), 9, np.uint8)), outline, Placement(margin_mm=6))
    rows, columns = np.mgrid[0 : placed.inside.shape[0] : 5, 0 : placed.inside.shape[1] : 5]
    points = (np.stack([columns.ravel(), rows.ravel()], axis=1) + 0.5) / 4
    far_in = depth(outline, points)
    inside = placed.inside[rows.ravel(), columns.ravel()]
    assert inside[far_in > 6.2].all()
    assert not inside[far_in < 5.8].any()
    plain = place(photo_of(np.full((300, 400), 9, np.uint8)), outline)
    assert placed.pixel_area_mm2 == plain.pixel_area_mm2
    assert placed.position.mm_per_px < plain.position.mm_per_px  # no more cropped than need be


def test_an_impossible_margin_is_refused(photo_of: Callable[[NDArray[np.uint8]], Photo]) -> None:
    for kind in (RECTANGLE, ROUND, OVAL):
        with pytest.raises(BadInput, match="leaves nothing"):
            position_on((60, 40), Outline(kind, 50, 50), Placement(margin_mm=25))
    with pytest.raises(BadInput, match="leaves nothing"):
        position_on((60, 40), Outline(LIVE, 100, 75, LEAF), Placement(margin_mm=36))


def test_nothing_of_the_photo_on_the_blank(photo_of: Callable[[NDArray[np.uint8]], Photo]) -> None:
    with pytest.raises(BadInput, match="holds nothing"):
        place(
            photo_of(np.full((40, 60), 9, np.uint8)),
            Outline(RECTANGLE, 50, 50),
            Placement(offset_mm=(100, 0)),
        )


# --- as stored ---------------------------------------------------------------------------------


@given(placements)
def test_a_placement_comes_back_from_json(placement: Placement) -> None:
    assert Placement.from_dict(json.loads(json.dumps(placement.to_dict()))) == placement


@pytest.mark.parametrize(
    ("plain", "words"),
    [
        ({"fits": "fill"}, "has no 'fits'"),
        ({"fit": "stretch"}, "cannot be used"),
        ({"crop": [0, 0, 1]}, "cannot be used"),
        ({"crop": [0.5, 0, 0.4, 1]}, "leaves nothing"),
        ({"crop": [0, 0, 1, 1.5]}, "between 0 and 1, not 1.5"),
        ({"turn_degrees": "ten"}, "must be a number"),
        ({"turn_degrees": float("nan")}, "must be a number"),
        ({"turn_degrees": 400}, "between -360 and 360"),
        ({"scale": 0}, "between 0.01 and 20"),
        ({"offset_mm": [1, 2, 3]}, "cannot be used"),
        ({"offset_mm": [1e9, 0]}, "offset"),
        ({"margin_mm": -1}, "margin"),
    ],
)
def test_what_no_placement_can_be(plain: dict[str, Any], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        Placement.from_dict(plain)


def test_a_margin_by_side_stays_bare_and_the_photo_fills_the_rest(
    photo_of: Callable[..., Photo],
) -> None:
    outline = Outline(OutlineKind.RECTANGLE, 60, 40)
    sides = Placement(margin_mm=2, sides_mm=(10, 0, 0, 6))
    placed = place(photo_of(np.full((300, 400), 9, np.uint8)), outline, sides)
    rows, columns = np.nonzero(placed.inside)
    px = placed.px_per_mm
    box = [columns.min() / px, rows.min() / px, (columns.max() + 1) / px, (rows.max() + 1) / px]
    assert box == pytest.approx([10, 2, 58, 34])
    # Of 48 × 32 mm to fill, the photo (4:3) is fitted to the width, and lies in the middle.
    assert placed.position.mm_per_px * 400 == pytest.approx(48)
    assert placed.position.to_mm([(0.5, 0.5)])[0] == pytest.approx((34, 18))
    assert Placement.from_dict(sides.to_dict()) == sides


@pytest.mark.parametrize("kind", [OutlineKind.ROUND, OutlineKind.LIVE_EDGE])
def test_a_margin_by_side_cuts_any_shape_straight(
    photo_of: Callable[..., Photo], kind: OutlineKind
) -> None:
    outline = Outline(
        kind, 100, 100 if kind is OutlineKind.ROUND else 75, LEAF if kind is LIVE else ()
    )
    whole, cut = (
        place(photo_of(np.full((300, 400), 9, np.uint8)), outline, Placement(sides_mm=sides))
        for sides in (None, (0.0, 30.0, 0.0, 0.0))
    )
    first = round(30 * cut.px_per_mm)
    assert not cut.inside[:first].any()
    assert (cut.inside[first:] == whole.inside[first:]).all()


@pytest.mark.parametrize(
    ("kind", "margins", "kept_off"),
    [
        (RECTANGLE, Placement(margin_mm=6), True),
        (RECTANGLE, Placement(margin_mm=5), False),
        (RECTANGLE, Placement(sides_mm=(6, 6, 6, 20)), True),
        (RECTANGLE, Placement(margin_mm=2, sides_mm=(6, 6, 5, 20)), False),
        # A box whose corners come near the round edge, and one that lies well inside it.
        (OutlineKind.ROUND, Placement(sides_mm=(14, 14, 14, 14)), False),
        (OutlineKind.ROUND, Placement(sides_mm=(20, 20, 20, 20)), True),
        (LIVE, Placement(sides_mm=(6, 6, 6, 6)), False),
    ],
)
def test_whether_all_lies_so_far_inside_the_edge(
    kind: OutlineKind, margins: Placement, kept_off: bool
) -> None:
    outline = Outline(kind, 100, 75 if kind is LIVE else 100, LEAF if kind is LIVE else ())
    assert margins.keeps_off_edge(outline, 6) is kept_off
    assert not margins.keeps_off_edge(outline, 51)  # there is no wood so far inside


def test_margins_that_leave_nothing_are_said() -> None:
    with pytest.raises(BadInput, match="leave nothing of this blank"):
        position_on(
            (60, 40), Outline(OutlineKind.RECTANGLE, 50, 50), Placement(sides_mm=(30, 0, 30, 0))
        )
