"""The order of grits: common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.wood.grits import RAISE_GRAIN_AFTER, SEQUENCE, Sanding, left_after, still_to_do

GRITS = st.sampled_from((60, 80, 100, 120, 150, 180, 220, 240, 320, 400))
HISTORY = st.lists(st.one_of(st.none(), GRITS), max_size=8)


@given(st.one_of(st.none(), st.integers(20, 600)), st.booleans())
def test_grits_go_from_coarse_to_fine(reached: int | None, raised: bool) -> None:
    grits = [step.grit for step in still_to_do(reached, raised=raised) if step.grit]
    assert grits == sorted(grits)
    assert all(grit in SEQUENCE and (reached is None or grit > reached) for grit in grits)
    assert sum(step.grit is None for step in still_to_do(reached, raised=raised)) <= (not raised)


@pytest.mark.parametrize(
    ("reached", "left"),
    [(None, [120, 150, 220, None, 320]), (80, [120, 150, 220, None, 320]),
     (150, [220, None, 320]), (180, [220, None, 320]), (220, [None, 320]),
     (240, [None, 320]), (320, []), (400, [])],
)  # fmt: skip
def test_what_is_left_from_a_grit(reached: int | None, left: list[int | None]) -> None:
    assert [step.grit for step in still_to_do(reached)] == left


@pytest.mark.parametrize(
    ("history", "left"),
    [
        ([], [120, 150, 220, None, 320]),
        ([None], [120, 150, 220, None, 320]),  # wetting a rough face raises nothing for good
        ([120, None, 150], [220, None, 320]),
        ([120, 150, 220, None], [320]),
        ([120, 150, 220, None, 220], [None, 320]),  # the raised fibres are sanded away
        ([120, 150, 220, None, 320, 120], [150, 220, None, 320]),  # back for a scratch
        ([240], [None, 320]),
        ([320], []),
    ],
)
def test_the_last_grit_counts(history: list[int | None], left: list[int | None]) -> None:
    assert [step.grit for step in left_after(history)] == left


@given(HISTORY)
def test_doing_what_is_next_makes_the_face_ready(history: list[int | None]) -> None:
    done = list(history)
    for _ in range(len(SEQUENCE) + 1):
        done += [step.grit for step in left_after(done)[:1]]
    assert left_after(done) == ()


@given(HISTORY)
def test_a_fine_grit_follows_every_wetting_asked_for(history: list[int | None]) -> None:
    grits = [step.grit for step in left_after(history)]
    if None in grits:
        after = [grit for grit in grits[grits.index(None) + 1 :] if grit is not None]
        assert after
        assert min(after) > RAISE_GRAIN_AFTER


def test_a_grit_is_sanded_with_and_water_wiped() -> None:
    assert Sanding(220).label == "sand with 220 grit, along the grain"
    assert "damp cloth" in Sanding(None).label
