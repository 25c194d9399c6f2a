import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.outline import Outline, OutlineKind
from burnplan.reckon.fitting import Candidate, ranked

sides = st.floats(50, 800)


def _rectangle(width: float, height: float) -> Outline:
    return Outline(OutlineKind.RECTANGLE, width, height)


@given(sides, sides, st.integers(100, 8000), st.integers(100, 8000))
def test_the_loss_is_that_of_the_crop_that_fills_it(
    width: float, height: float, columns: int, rows: int
) -> None:
    """The largest crop of the photo with the blank's proportions, by its closed form."""
    (found,) = ranked((columns, rows), [Candidate("a", _rectangle(width, height))])
    w, h = (height, width) if found.turned else (width, height)
    crop_w, crop_h = min(columns, rows * w / h), min(rows, columns * h / w)
    assert found.lost == pytest.approx(1 - crop_w * crop_h / (columns * rows), abs=1e-9)
    assert found.px_per_mm == pytest.approx(min(columns / w, rows / h))
    turned = ranked((rows, columns), [Candidate("a", _rectangle(width, height))])[0]
    assert turned.lost == pytest.approx(found.lost, abs=1e-9)


def test_what_suits_comes_first() -> None:
    photo = (3000, 2000)
    same, other_wood, square, small, doubtful = (
        Candidate("same", _rectangle(300, 200)),
        Candidate("other wood", _rectangle(300, 200), wood_suits=False),
        Candidate("square", _rectangle(250, 250)),
        Candidate("small", _rectangle(75, 50)),
        Candidate("doubtful", _rectangle(300, 200), cautions=2),
    )
    order = [one.key for one in ranked(photo, [small, doubtful, square, other_wood, same], 600)]
    assert order[0] == "same"
    assert set(order[1:]) == {"other wood", "square", "small", "doubtful"}
    assert order[-1] == "small"


def test_a_round_blank_loses_the_corners() -> None:
    (found,) = ranked((1000, 1000), [Candidate("r", Outline(OutlineKind.ROUND, 200, 200))])
    assert found.lost == pytest.approx(1 - 3.14159265 / 4)
