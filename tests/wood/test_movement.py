"""Movement against the Wood Handbook (USDA FPL-GTR-190, 2010), Tables 4-3 and 13-5, ch. 13."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.wood.movement import (
    Across,
    Risk,
    change_by_coefficient,
    change_by_shrinkage,
    checking,
    coefficient,
    move,
)
from burnplan.wood.species import Mark, Species, all_species, own_species, species_or_own

SPECIES = st.sampled_from(all_species())
ACROSS = st.sampled_from(list(Across))
MOISTURE = st.floats(0, 30)

# Other woods of Tables 4-3 (radial, tangential) and 13-5 (C_R, C_T), so that the equation
# is checked on rows that the project's own table does not hold.
OTHER_ROWS = [
    ("ash, black", 5.0, 7.8, 0.00172, 0.00274),
    ("ash, white", 4.9, 7.8, 0.00169, 0.00274),
    ("birch, river", 4.7, 9.2, 0.00162, 0.00327),
    ("chestnut, American", 3.4, 6.7, 0.00116, 0.00234),
    ("elm, American", 4.2, 9.5, 0.00144, 0.00338),
    ("elm, winged", 5.3, 11.6, 0.00183, 0.00419),
    ("hackberry", 4.8, 8.9, 0.00165, 0.00315),
    ("persimmon", 7.9, 11.2, 0.00278, 0.00403),
    ("sassafras", 4.0, 6.2, 0.00137, 0.00216),
    ("sweetgum", 5.3, 10.2, 0.00183, 0.00365),
    ("tanoak", 4.9, 11.7, 0.00169, 0.00423),
    ("fir, white", 3.3, 7.0, 0.00112, 0.00245),
]


@pytest.mark.parametrize("row", OTHER_ROWS, ids=lambda row: row[0])
def test_the_shrinkage_table_gives_the_coefficient_table(
    row: tuple[str, float, float, float, float],
) -> None:
    _, radial, tangential, c_radial, c_tangential = row
    assert coefficient(radial) == pytest.approx(c_radial, abs=6e-6)  # printed to five decimals
    assert coefficient(tangential) == pytest.approx(c_tangential, abs=6e-6)


@pytest.mark.parametrize("species", all_species(), ids=lambda species: species.key)
@pytest.mark.parametrize("across", list(Across))
def test_our_table_gives_its_own_coefficients(species: Species, across: Across) -> None:
    shrinkage = species.value(across)
    assert shrinkage is not None
    assert round(coefficient(shrinkage), 5) == pytest.approx(
        species.value(f"coefficient_{across}"), abs=1.1e-5
    )


def test_the_worked_example_of_the_handbook() -> None:
    """Ch. 13: 232 mm at 8 % becomes 233.7 mm at 11 %, with C_T 0.00245; in inches 9.15 to 9.217."""
    assert round(232 + change_by_coefficient(232, 0.00245, 8, 11), 1) == 233.7
    assert round(9.15 + change_by_coefficient(9.15, 0.00245, 8, 11), 3) == 9.217
    # The same board by Eq. 13-3, from its shrinkage in Table 4-3 (white fir, 7.0 %).
    assert round(232 + change_by_shrinkage(232, 7.0, 8, 11), 1) == 233.7


@pytest.mark.parametrize("species", all_species(), ids=lambda species: species.key)
def test_green_to_oven_dry_is_the_shrinkage_itself(species: Species) -> None:
    for across in Across:
        moved = move(species, across, 100, 30, 0)
        assert moved is not None
        assert -moved.change_mm == pytest.approx(species.value(across))


@given(SPECIES, ACROSS, MOISTURE, MOISTURE, st.floats(1, 2000))
def test_wood_swells_when_it_gets_wetter(
    species: Species, across: Across, start: float, end: float, mm: float
) -> None:
    moved = move(species, across, mm, start, end)
    assert moved is not None
    assert moved.before_mm == mm
    if abs(end - start) > 0.01:
        assert math.copysign(1, moved.change_mm) == math.copysign(1, end - start)
    assert abs(moved.change_mm) < 0.15 * mm


@given(SPECIES, MOISTURE, MOISTURE)
def test_more_along_the_rings_than_across_them(species: Species, start: float, end: float) -> None:
    wide = move(species, Across.TANGENTIAL, 100, start, end)
    thick = move(species, Across.RADIAL, 100, start, end)
    assert wide is not None
    assert thick is not None
    assert abs(wide.change_mm) >= abs(thick.change_mm)


@given(st.floats(1, 13), MOISTURE, MOISTURE)
def test_there_and_back_is_where_it_was(shrinkage: float, start: float, end: float) -> None:
    there = 100 + change_by_shrinkage(100, shrinkage, start, end)
    back = there + change_by_shrinkage(there, shrinkage, end, start)
    assert back == pytest.approx(100)


@given(SPECIES, ACROSS, st.floats(6, 14), st.floats(6, 14))
def test_both_equations_agree_where_both_hold(
    species: Species, across: Across, start: float, end: float
) -> None:
    """A straight line and the exact form differ by under 0.2 % of the dimension there."""
    by_table = move(species, across, 100, start, end)
    shrinkage = species.value(across)
    assert by_table is not None
    assert shrinkage is not None
    assert by_table.change_mm == pytest.approx(
        change_by_shrinkage(100, shrinkage, start, end), abs=0.2
    )


def test_above_fibre_saturation_nothing_moves() -> None:
    moved = move(species_or_own("cherry"), Across.TANGENTIAL, 100, 60, 35)
    assert moved is not None
    assert moved.change_mm == 0


def test_the_mark_is_that_of_the_figure_used() -> None:
    maple = species_or_own("sugar-maple")
    steady, beyond = (move(maple, Across.RADIAL, 300, *span) for span in ((8, 12), (20, 8)))
    assert steady is not None
    assert beyond is not None
    assert (steady.mark, beyond.mark) == (Mark.VERIFIED, Mark.FROM_MEMORY)


@pytest.mark.parametrize(
    ("start", "end", "mark"),
    [
        (6, 14, Mark.VERIFIED),
        (14, 6, Mark.VERIFIED),
        (5.9, 14, Mark.FROM_MEMORY),
        (6, 14.1, Mark.FROM_MEMORY),
    ],
)
def test_the_coefficient_holds_from_six_to_fourteen_per_cent(
    start: float, end: float, mark: Mark
) -> None:
    """Wood Handbook ch. 13."""
    moved = move(species_or_own("sugar-maple"), Across.RADIAL, 300, start, end)
    assert moved is not None
    assert moved.mark is mark


def test_moisture_and_shrinkage_at_their_edges() -> None:
    moved = move(species_or_own("cherry"), Across.RADIAL, 100, 200, 0)
    assert moved is not None
    assert moved.change_mm == pytest.approx(-(species_or_own("cherry").value("radial") or 0))
    assert coefficient(99.5) > 0


def test_an_own_species_moves_nobody_knows_how() -> None:
    own = own_species("olive")
    assert move(own, Across.TANGENTIAL, 300, 8, 12) is None
    assert checking(own, 20, 8).risk is Risk.UNKNOWN


@pytest.mark.parametrize(
    ("mm", "start", "end"),
    [(0, 8, 12), (-3, 8, 12), (math.nan, 8, 12), (300, -1, 8), (300, 8, 201)],
)  # fmt: skip
def test_what_cannot_be(mm: float, start: float, end: float) -> None:
    with pytest.raises(BadInput):
        move(species_or_own("cherry"), Across.RADIAL, mm, start, end)


@pytest.mark.parametrize("shrinkage", [0, -1, 100, math.nan])
def test_a_shrinkage_that_cannot_be(shrinkage: float) -> None:
    with pytest.raises(BadInput):
        coefficient(shrinkage)
    with pytest.raises(BadInput):
        change_by_shrinkage(100, shrinkage, 8, 12)


# end-grain rounds ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("start", "end", "risk"),
    [(20, 8, Risk.HIGH), (9, 8, Risk.SOME), (8, 8, Risk.NONE), (6, 8, Risk.NONE),
     (60, 30, Risk.NONE), (60, 8, Risk.HIGH)],
)  # fmt: skip
def test_a_round_that_still_dries_is_flagged(start: float, end: float, risk: Risk) -> None:
    found = checking(species_or_own("american-beech"), start, end)
    assert found.risk is risk
    assert found.misfit is not None
    assert (found.misfit == 0) is (risk is Risk.NONE)


def test_green_to_oven_dry_the_misfit_is_the_difference_of_the_shrinkages() -> None:
    assert checking(species_or_own("american-beech"), 30, 0).misfit == pytest.approx(11.9 - 5.5)


def test_without_its_heart_it_can_close_in() -> None:
    beech = species_or_own("american-beech")
    found = checking(beech, 30, 8, has_heart=False)
    assert found.risk is Risk.SOME
    assert found.misfit == checking(beech, 30, 8).misfit


def test_a_rim_half_a_per_cent_too_short_opens() -> None:
    """Common practice, no source."""
    for end, misfit, risk in ((9.0, 0.478, Risk.SOME), (8.9, 0.502, Risk.HIGH)):
        found = checking(species_or_own("american-beech"), 11, end)
        assert found.misfit == pytest.approx(misfit, abs=0.001)
        assert found.risk is risk


@given(SPECIES, MOISTURE, MOISTURE, MOISTURE)
def test_the_more_it_dries_the_more_it_checks(
    species: Species, start: float, one: float, other: float
) -> None:
    less, more = (checking(species, start, end) for end in (max(one, other), min(one, other)))
    assert less.misfit is not None
    assert more.misfit is not None
    assert less.misfit <= more.misfit + 1e-12


@given(SPECIES, MOISTURE, MOISTURE)
def test_a_checking_round_says_why(species: Species, start: float, end: float) -> None:
    assert checking(species, start, end).why
