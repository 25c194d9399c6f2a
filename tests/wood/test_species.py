"""The species table against the Wood Handbook (USDA FPL-GTR-190, 2010).

Table 4-3 (shrinkage) and Table 13-5 (dimensional change); a coefficient follows from the
shrinkage as C = S / (30·100 − S·(30 − 10)) for a piece at 10 % moisture (Handbook ch. 13).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import NotFound
from burnplan.wood.grits import SEQUENCE, still_to_do
from burnplan.wood.species import Mark, all_species, find_species, species_or_own


@pytest.mark.parametrize("species", all_species(), ids=lambda species: species.key)
@pytest.mark.parametrize("direction", ["radial", "tangential"])
def test_coefficients_follow_from_the_shrinkage(species: object, direction: str) -> None:
    shrinkage = species.value(direction)  # type: ignore[attr-defined]
    coefficient = species.value(f"coefficient_{direction}")  # type: ignore[attr-defined]
    assert coefficient == pytest.approx(
        1 / (30 * 100 / shrinkage - 30 + 10), abs=0.000_006
    )  # the table rounds to five decimals


@pytest.mark.parametrize(
    ("key", "name", "value"),
    [
        ("basswood", "tangential", 9.3),  # Table 4-3
        ("black-walnut", "volumetric", 12.8),
        ("cherry", "radial", 3.7),
        ("sugar-maple", "coefficient_tangential", 0.00353),  # Table 13-5
        ("basswood", "hardness", 410),  # Table 5-3
    ],
)
def test_figures_of_the_handbook(key: str, name: str, value: float) -> None:
    assert find_species(key).value(name) == value


def test_guesses_are_marked_as_such() -> None:
    for species in all_species():
        marks = {name: figure.mark for name, figure in species.figures}
        assert marks["bare"] is marks["burnt"] is Mark.ESTIMATE
        assert {"bare", "burnt"} <= set(species.unverified)
        assert species.darkest_burn < species.bare_lightness


@pytest.mark.parametrize(
    ("text", "key"),
    [("basswood", "basswood"), ("LIME", "basswood"), ("hard maple", "sugar-maple"),
     ("walnut", "black-walnut"), ("beech", "american-beech"), ("Sugar Maple", "sugar-maple"),
     ("butter", "butternut")],
)  # fmt: skip
def test_a_species_is_found(text: str, key: str) -> None:
    assert find_species(text).key == key


def test_an_unknown_one_names_the_nearest() -> None:
    with pytest.raises(NotFound, match="basswood"):
        find_species("baswood")
    with pytest.raises(NotFound, match="could be"):
        find_species("black")


def test_an_own_species_works_downstream() -> None:
    own = species_or_own("Olive")
    assert own.own
    assert own.hardness_lbf is None
    assert own.darkest_burn < own.bare_lightness
    with pytest.raises(NotFound):
        species_or_own("")


@given(st.one_of(st.none(), st.integers(20, 600)), st.booleans())
def test_grits_go_from_coarse_to_fine(reached: int | None, raised: bool) -> None:
    grits = [step.grit for step in still_to_do(reached, raised=raised) if step.grit]
    assert grits == sorted(grits)
    assert all(grit in SEQUENCE and (reached is None or grit > reached) for grit in grits)
    assert sum(step.grit is None for step in still_to_do(reached, raised=raised)) <= (not raised)
