"""Where lettering lies, held against the geometry of the piece."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.lettering.laying import FROM_EDGE, FROM_EDGE_MM, At, Course, Inscription, laid
from burnplan.lettering.setting import set_line
from burnplan.lettering.typefaces import STAND_INS, shipped
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.letters import Letters
from tests.cases import quick_first

RECTANGLE = Outline(OutlineKind.RECTANGLE, 300, 200)
ROUND = Outline(OutlineKind.ROUND, 220, 220)
OVAL = Outline(OutlineKind.OVAL, 300, 200)


def live_edge() -> Outline:
    turn = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    reach = 1 + 0.06 * np.sin(3 * turn) + 0.02 * np.cos(7 * turn)
    points = np.stack([140 * reach * np.cos(turn), 90 * reach * np.sin(turn)], axis=1)
    points -= points.min(axis=0)
    wide, high = points.max(axis=0).tolist()
    return Outline(OutlineKind.LIVE_EDGE, wide, high, tuple(map(tuple, points.tolist())))


def inscription(*lines: str, face: str = "serif", **how: object) -> Inscription:
    faces = (shipped(face), *(shipped(one) for one in STAND_INS if one != face))
    return Inscription(lines=lines or ("Biscuit",), typefaces=faces, **{"height_mm": 12.0, **how})  # type: ignore[arg-type]


def strip(height: float) -> float:
    return max(FROM_EDGE_MM, FROM_EDGE * height)


def points(letters: Letters) -> np.ndarray:
    return np.concatenate(letters.rings)


def test_straight_it_stands_in_the_middle_a_strip_from_the_edge() -> None:
    left, _top, right, bottom = laid(inscription(), RECTANGLE).box
    assert (left + right) / 2 == pytest.approx(150, abs=0.01)
    assert 200 - bottom == pytest.approx(strip(12), abs=0.01)
    _left, top, _right, _bottom = laid(inscription(at=At.TOP), RECTANGLE, 5).box
    assert top == pytest.approx(5 + strip(12), abs=0.01)


def test_its_middle_can_be_given() -> None:
    left, top, right, bottom = laid(inscription(middle_mm=(90.0, 60.0)), RECTANGLE).box
    assert ((left + right) / 2, (top + bottom) / 2) == pytest.approx((90, 60), abs=1e-3)
    with pytest.raises(BadInput, match="over the edge"):
        laid(inscription(middle_mm=(10.0, 60.0)), RECTANGLE)


@pytest.mark.parametrize("at", [At.TOP, At.BOTTOM])
@pytest.mark.parametrize("face", ["sans", "script"])
def test_on_a_round_piece_an_arc_has_its_middle_and_keeps_its_distance(at: At, face: str) -> None:
    letters = laid(inscription("HHHHHHHHHH", face=face, at=at, course=Course.ARC), ROUND)
    away = np.hypot(*(points(letters) - 110).T)
    outer, inner = 110 - away.min(), 110 - away.max()
    assert inner == pytest.approx(strip(12), abs=0.25)  # corners of straight feet stand out
    assert outer - inner == pytest.approx(12, abs=0.5) or face == "script"
    upper = bool(points(letters)[:, 1].mean() < 110)
    assert upper is (at is At.TOP)
    box = letters.box
    leans = 1.5 if face == "script" else 0.2  # a slanted face reaches out on one side
    assert (box[0] + box[2]) / 2 == pytest.approx(110, abs=leans)


def test_letters_that_stand_apart_keep_their_shape_on_an_arc() -> None:
    straight = laid(inscription("HILT", face="sans"), ROUND)
    turned = laid(inscription("HILT", face="sans", course=Course.ARC), ROUND)
    assert turned.area_mm2 == pytest.approx(straight.area_mm2, rel=1e-4)
    assert turned.length_mm == pytest.approx(straight.length_mm, rel=1e-4)


def test_along_a_circle_the_middle_of_letters_runs_as_long_as_straight() -> None:
    """Own geometry: s = r·φ at half the height of a capital."""
    one = inscription("I" * 12, face="sans", course=Course.ARC)
    line = set_line("I" * 12, one.typefaces, 12)
    letters = laid(one, ROUND)
    middles = [ring.mean(axis=0) - 110 for ring in letters.rings]
    turns = np.unwrap(np.sort([np.arctan2(x, y) for x, y in middles]))
    radius = 110 - strip(12) - 6
    pitch = line.width_mm / 12
    assert np.diff(turns) * radius == pytest.approx(np.full(11, pitch), abs=0.02)


@pytest.mark.parametrize("piece", [RECTANGLE, ROUND, OVAL, live_edge()])
@quick_first("course", list(Course))
@quick_first("at", [At.TOP, At.BOTTOM])
def test_it_lies_inside_every_piece(piece: Outline, course: Course, at: At) -> None:
    from burnplan.tone.region import outline_mask

    letters = laid(inscription("Biscuit", "2014 – 2026", at=at, course=course), piece)
    shape = (int(piece.height_mm * 4), int(piece.width_mm * 4))
    inside = outline_mask(piece, shape, 4)
    row, column = np.floor(points(letters)[:, ::-1] * 4).astype(int).T
    assert inside[row, column].all()
    lines = sorted(letters.rings, key=lambda ring: ring[:, 1].mean())
    assert lines[0][:, 1].mean() < lines[-1][:, 1].mean()


def test_what_does_not_fit_says_at_what_height_it_would() -> None:
    small = Outline(OutlineKind.RECTANGLE, 60, 80)
    with pytest.raises(BadInput, match=r"Try letters (\d+(\.\d)?) mm high") as refused:
        laid(inscription("Forever in our hearts"), small)
    height = float(str(refused.value).split("Try letters ")[1].split(" mm")[0])
    assert laid(inscription("Forever in our hearts", height_mm=height), small)
    with pytest.raises(BadInput, match="round a corner"):
        laid(
            inscription("Forever in our hearts, always by our side", course=Course.EDGE), RECTANGLE
        )
    with pytest.raises(BadInput, match="too tight"):
        laid(inscription("Forever in our hearts", course=Course.ARC, radius_mm=20), RECTANGLE)
    with pytest.raises(BadInput, match="at the top or at the bottom"):
        laid(inscription(at=At.MIDDLE, course=Course.EDGE), ROUND)
    with pytest.raises(BadInput, match="mm high"):
        laid(inscription(height_mm=1.0), ROUND)


@pytest.mark.whole
@given(st.floats(5, 16), st.sampled_from(["serif", "display"]))
def test_length_and_area_grow_as_they_must(height: float, face: str) -> None:
    small = laid(inscription(height_mm=height, face=face), RECTANGLE)
    large = laid(inscription(height_mm=2 * height, face=face), RECTANGLE)
    assert large.area_mm2 == pytest.approx(4 * small.area_mm2, rel=0.01)
    assert large.length_mm == pytest.approx(2 * small.length_mm, rel=0.01)
