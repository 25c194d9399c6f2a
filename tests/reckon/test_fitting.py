import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.reckon.fitting import Candidate, rank_blanks

RECTANGLE, ROUND, OVAL, LIVE = OutlineKind

lengths = st.floats(20, 1500)
outlines = st.one_of(
    st.builds(Outline, st.just(RECTANGLE), lengths, lengths),
    st.builds(Outline, st.just(OVAL), lengths, lengths),
    lengths.map(lambda size: Outline(ROUND, size, size)),
)
candidates = st.builds(
    Candidate,
    code=st.uuids().map(str),
    outline=outlines,
    tonal_range=st.none() | st.floats(10, 80),
    sandings_left=st.integers(0, 4),
    doubts=st.sampled_from([(), ("moisture not measured",)]),
)
photos = st.tuples(st.integers(200, 8000), st.integers(200, 8000))


@pytest.mark.parametrize(
    ("outline", "lost", "turned"),
    [
        (Outline(RECTANGLE, 300, 200), 0.0, False),
        (Outline(RECTANGLE, 200, 300), 0.0, True),
        (Outline(RECTANGLE, 300, 300), 1 / 3, False),
        (Outline(ROUND, 300, 300), 1 - math.pi / 4 * 2 / 3, False),
        (Outline(OVAL, 300, 200), 1 - math.pi / 4, False),
        (Outline(LIVE, 300, 200, ((0, 0), (300, 0), (300, 200))), 0.5, False),
    ],
)
def test_what_is_lost_agrees_with_closed_forms(outline: Outline, lost: float, turned: bool) -> None:
    """A photo of 3 : 2 on each."""
    (fit,) = rank_blanks((6000, 4000), [Candidate("B-0001", outline)])
    assert fit.lost == pytest.approx(lost, abs=1e-9)
    assert fit.turned is turned
    assert fit.area_cm2 == outline.area_cm2
    assert fit.cost == pytest.approx(lost, abs=0.005)


@pytest.mark.long
@given(photos, st.lists(candidates, max_size=8), st.none() | st.floats(10, 5000))
def test_a_ranking_holds_everything_in_order(
    photo: tuple[int, int], stock: list[Candidate], wanted: float | None
) -> None:
    ranked = rank_blanks(photo, stock, wanted_cm2=wanted)
    assert sorted(fit.code for fit in ranked) == sorted(one.code for one in stock)
    costs = [round(fit.cost, 6) for fit in ranked]
    assert costs == sorted(costs)
    assert ranked == rank_blanks(photo, list(reversed(stock)), wanted_cm2=wanted)
    assert all(0 <= fit.lost < 1 for fit in ranked)
    assert all(bool(fit.reasons) == (fit.cost > 0) for fit in ranked)


@given(photos, candidates)
def test_it_does_not_matter_how_a_blank_or_a_photo_lies(
    photo: tuple[int, int], blank: Candidate
) -> None:
    (one,) = rank_blanks(photo, [blank])
    (other,) = rank_blanks(photo, [replace(blank, outline=blank.outline.turned())])
    (third,) = rank_blanks(photo[::-1], [blank])
    for fit in (other, third):
        assert fit.lost == pytest.approx(one.lost)
        assert fit.cost == pytest.approx(one.cost)


@given(photos, candidates)
def test_whatever_speaks_against_a_blank_ranks_it_lower(
    photo: tuple[int, int], blank: Candidate
) -> None:
    (before,) = rank_blanks(photo, [blank])
    worse = (
        replace(blank, sandings_left=blank.sandings_left + 1),
        replace(blank, doubts=(*blank.doubts, "a crack at one end")),
        replace(blank, tonal_range=(blank.tonal_range or 60) - 5),
    )
    for one in worse:
        (after,) = rank_blanks(photo, [one])
        assert after.cost > before.cost or (blank.tonal_range or 0) > 60


def test_the_size_that_was_asked_for_and_the_wood_count() -> None:
    stock = [
        Candidate("B-0001", Outline(RECTANGLE, 600, 400), 62),
        Candidate("B-0002", Outline(RECTANGLE, 300, 200), 62),
        Candidate("B-0003", Outline(RECTANGLE, 300, 200), 30),
        Candidate("B-0004", Outline(RECTANGLE, 310, 190), 62),
    ]
    ranked = rank_blanks((6000, 4000), stock, wanted_cm2=600)
    assert [fit.code for fit in ranked] == ["B-0002", "B-0004", "B-0003", "B-0001"]
    by_code = {fit.code: fit.reasons for fit in ranked}
    assert by_code["B-0002"] == ()
    assert by_code["B-0001"] == ("larger than wanted (2400 cm²)",)
    assert by_code["B-0003"] == ("a dark wood, that holds fewer tones",)
    assert by_code["B-0004"] == ("8 % of the photo is cropped",)
    (soft,) = rank_blanks((300, 200), stock[:1])
    assert soft.reasons == ("only 0.5 pixels per mm: detail will be soft",)


PLAIN = Candidate("B-0001", Outline(RECTANGLE, 300, 200))


@pytest.mark.parametrize(
    ("photo", "wanted", "blank", "cost", "reason"),
    [
        # By the weights of the module: 0.15 for each doubling, 0.3 of the pixels wanting to two
        # a millimetre, 0.5 of the range wanting to 60 L*, 0.01 for each grit, 0.15 for a doubt.
        ((6000, 4000), 300, PLAIN, 0.15, "larger than wanted (600 cm²)"),
        ((6000, 4000), 2400, PLAIN, 0.30, "smaller than wanted (600 cm²)"),
        ((6000, 4000), 600 / 2**0.11, PLAIN, 0.15 * 0.11, "larger than wanted (600 cm²)"),
        ((6000, 4000), 600 / 2**0.09, PLAIN, 0, ""),
        ((600, 400), None, PLAIN, 0, ""),
        ((570, 380), None, PLAIN, 0.3 * 0.05, "only 1.9 pixels per mm: detail will be soft"),
        ((150, 100), None, PLAIN, 0.3 * 0.75, "only 0.5 pixels per mm: detail will be soft"),
        ((6000, 4000), None, replace(PLAIN, tonal_range=60), 0, ""),
        (
            (6000, 4000),
            None,
            replace(PLAIN, tonal_range=45),
            0.5 * 0.25,
            "a dark wood, that holds fewer tones",
        ),
        (
            (6000, 4000),
            None,
            replace(PLAIN, tonal_range=0.5),
            0.5 * (1 - 0.5 / 60),
            "a dark wood, that holds fewer tones",
        ),
        (
            (6000, 4000),
            None,
            replace(PLAIN, tonal_range=-5),
            0.5,
            "a dark wood, that holds fewer tones",
        ),
        ((6000, 4000), None, replace(PLAIN, sandings_left=1), 0.01, "one grit still to sand"),
        ((6000, 4000), None, replace(PLAIN, sandings_left=2), 0.02, "2 grits still to sand"),
        ((6000, 4000), None, replace(PLAIN, doubts=("a crack",)), 0.15, "a crack"),
        ((6030, 4000), None, PLAIN, 0, ""),  # 0.498 % is cropped
        ((6031, 4000), None, PLAIN, 0.00514, "1 % of the photo is cropped"),
        ((15000, 4000), None, PLAIN, 0.6, "60 % of the photo is cropped"),
    ],
)
def test_what_each_thing_costs(
    photo: tuple[int, int], wanted: float | None, blank: Candidate, cost: float, reason: str
) -> None:
    (fit,) = rank_blanks(photo, [blank], wanted_cm2=wanted)
    assert fit.cost == pytest.approx(cost, abs=1e-5)
    assert fit.reasons == ((reason,) if reason else ())


def test_costs_add_up_and_the_worst_is_said_first() -> None:
    blank = replace(PLAIN, tonal_range=30, sandings_left=3, doubts=("a crack", "no reading"))
    (fit,) = rank_blanks((450, 150), [blank], wanted_cm2=300)
    assert fit.cost == pytest.approx(0.5 + 0.3 * 0.625 + 0.15 + 0.25 + 0.03 + 2 * 0.15)
    assert fit.px_per_mm == pytest.approx(0.75)
    assert [reason.split(" ")[0] for reason in fit.reasons] == [
        "50", "a", "only", "larger", "a", "no", "3",
    ]  # fmt: skip


def test_of_alike_blanks_the_larger_comes_first_and_none_is_turned_for_nothing() -> None:
    small = Candidate("B-0001", Outline(RECTANGLE, 300, 200))
    large = Candidate("B-0002", Outline(RECTANGLE, 450, 300))
    again = Candidate("B-0003", Outline(RECTANGLE, 450, 300))
    ranked = rank_blanks((6000, 4000), [small, again, large])
    assert [fit.code for fit in ranked] == ["B-0002", "B-0003", "B-0001"]
    square = rank_blanks((6000, 4000), [Candidate("B-0004", Outline(RECTANGLE, 300, 300))])
    assert not square[0].turned


def test_what_cannot_be_ranked() -> None:
    with pytest.raises(BadInput, match="of 0 × 10 pixels cannot be placed"):
        rank_blanks((0, 10), [])
    with pytest.raises(BadInput, match="of 10 × 0 pixels cannot be placed"):
        rank_blanks((10, 0), [])
    with pytest.raises(BadInput, match="area wanted"):
        rank_blanks((10, 10), [], wanted_cm2=0)
    assert rank_blanks((1, 1), [], wanted_cm2=0.5) == ()
    with pytest.raises(BadInput, match="area wanted"):
        rank_blanks((10, 10), [], wanted_cm2=-1)
    assert rank_blanks((10, 10), []) == ()
