import json
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.areas import AreaKind, MarkedArea, On
from burnplan.tone.region import inset, outline_polygon, polygon_mask

corner = st.tuples(st.floats(-2, 3), st.floats(-2, 3))
LIVE_WAIST = Outline(
    OutlineKind.LIVE_EDGE,
    100,
    60,
    (
        (0, 0),
        (40, 0),
        (50, 25),
        (60, 0),
        (100, 0),
        (100, 60),
        (60, 60),
        (50, 35),
        (40, 60),
        (0, 60),
    ),
)


def area_of(polygon: Any) -> float:
    x, y = np.asarray(polygon).T
    return float(abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2)


@pytest.mark.parametrize(
    ("kind", "corners", "area"),
    [
        (AreaKind.RECTANGLE, ((10, 5), (40, 25)), 600.0),
        (AreaKind.ELLIPSE, ((40, 25), (10, 5)), math.pi * 150),
        (AreaKind.POLYGON, ((0, 0), (30, 0), (0, 20)), 300.0),
    ],
)
def test_areas_agree_with_closed_forms(
    kind: AreaKind, corners: tuple[tuple[float, float], ...], area: float
) -> None:
    polygon = MarkedArea(kind, corners, On.WOOD).polygon()
    assert area_of(polygon) == pytest.approx(area, rel=2e-4)
    assert polygon_mask([polygon], (400, 500), 10).sum() / 100 == pytest.approx(area, rel=0.01)


@given(st.sampled_from(AreaKind), st.lists(corner, min_size=2, max_size=5), st.sampled_from(On))
def test_an_area_comes_back_from_json(
    kind: AreaKind, corners: list[tuple[float, float]], on: On
) -> None:
    try:
        area = MarkedArea(kind, tuple(corners), on, "muzzle")
    except BadInput:
        flat = any(max(values) == min(values) for values in zip(*corners, strict=True))
        assert flat or (len(corners) < 3) is (kind is AreaKind.POLYGON)
        return
    assert MarkedArea.from_dict(json.loads(json.dumps(area.to_dict()))) == area


@pytest.mark.parametrize(
    ("plain", "words"),
    [
        ({"kind": "star", "corners": [[0, 0], [1, 1]]}, "its kind, its corners"),
        ({"corners": [[0, 0], [1, 1]]}, "its kind"),
        ({"kind": "ellipse", "corners": [[0, 0], [1]]}, "its corners"),
        ({"kind": "ellipse", "corners": [[0, 0], [1, "b"]]}, "must be a number"),
        ({"kind": "ellipse", "corners": [[0, 0], [1, 1]], "colour": "red"}, "has no 'colour'"),
        ({"kind": "ellipse", "corners": [[0, 0]]}, "needs two corners, not 1"),
        ({"kind": "polygon", "corners": [[0, 0], [1, 1]]}, "needs three or more corners"),
        ({"kind": "ellipse", "corners": [[0, 0], [0, 1]], "name": "eye"}, "marked area 'eye'"),
    ],
)
def test_what_no_area_can_be(plain: dict[str, Any], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        MarkedArea.from_dict(plain)


def test_an_inset_parts_at_a_waist() -> None:
    """Two plates of 40 × 60 mm joined by a neck of 10 mm: 6 mm inside there are two."""
    assert len(inset(LIVE_WAIST, 6)) == 2
    assert len(inset(LIVE_WAIST, 3)) == 1
    assert area_of(inset(LIVE_WAIST, 0)[0]) == pytest.approx(LIVE_WAIST.area_mm2)


@pytest.mark.parametrize("margin", [1.0, 5.0, 12.0])
def test_insets_of_an_oval_and_a_triangle_agree_with_closed_forms(margin: float) -> None:
    # Steiner's formula for a parallel curve inside: A - P·m + π·m², while m stays below the
    # least radius of curvature (b²/a = 16 mm); P of the ellipse by Ramanujan (1914).
    oval = Outline(OutlineKind.OVAL, 100, 2 * math.sqrt(50 * 16))
    a, b = 50.0, math.sqrt(800)
    h = ((a - b) / (a + b)) ** 2
    around = math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    exact = math.pi * a * b - around * margin + math.pi * margin**2
    (line,) = inset(oval, margin)
    assert area_of(line) == pytest.approx(exact, rel=2e-3)
    # A triangle stays similar to itself about its incircle: A·(1 - m/r)², r = 2A/P.
    triangle = Outline(OutlineKind.LIVE_EDGE, 80, 60, ((0, 0), (80, 0), (0, 60)))
    (line,) = inset(triangle, margin)
    assert area_of(line) == pytest.approx(2400 * (1 - margin / 20) ** 2, rel=5e-3)


def test_an_outline_as_polygon_has_its_area() -> None:
    for outline in (
        Outline(OutlineKind.RECTANGLE, 30, 40),
        Outline(OutlineKind.ROUND, 30, 30),
        Outline(OutlineKind.OVAL, 30, 40),
        LIVE_WAIST,
    ):
        assert area_of(outline_polygon(outline)) == pytest.approx(outline.area_mm2, rel=1e-4)
