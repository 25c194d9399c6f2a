"""The species table against the Wood Handbook (USDA FPL-GTR-190, 2010).

Row by row: Table 4-3 (shrinkage green to oven-dry, %), Table 13-5 (dimensional change
coefficients), Table 5-3 (specific gravity at 12 %, side hardness, lbf). V: read in a page
copy of the Handbook; 2: in a text quoting it; C: computed; M: from memory, which no test
can vouch for, so that it only has to be labelled so.
"""

import subprocess
import sys
from dataclasses import replace
from statistics import median
from string import ascii_letters

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput, NotFound
from burnplan.wood.species import (
    SOURCES,
    UNITS,
    Figure,
    Mark,
    Species,
    all_species,
    kinds_of,
    own_species,
    perhaps_meant,
    species_on_record,
    species_or_own,
)

# key: shrinkage R, T, Vol and its mark; C_R, mark, C_T, mark; SG, mark; hardness, mark
HANDBOOK = {
    "basswood": "6.6 9.3 15.8 V .00230 V .00330 V .37 2 410 2",
    "quaking-aspen": "3.5 6.7 11.5 V .00119 V .00234 V .38 M 350 M",
    "red-alder": "4.4 7.3 12.6 V .00151 V .00256 V .41 M 590 M",
    "american-beech": "5.5 11.9 17.2 V .00190 V .00431 V .64 2 1300 2",
    "paper-birch": "6.3 8.6 16.2 V .00219 V .00304 V .55 2 910 M",
    "yellow-birch": "7.3 9.5 16.8 V .00256 V .00338 V .62 2 1260 2",
    "butternut": "3.4 6.4 10.6 V .00116 V .00223 V .38 M 490 M",
    "cherry": "3.7 7.1 11.5 V .00126 V .00248 V .50 2 950 2",
    "eastern-cottonwood": "3.9 9.2 13.9 V .00133 V .00327 V .40 M 430 M",
    "sugar-maple": "4.8 9.9 14.7 M .00165 V .00353 V .63 2 1450 2",
    "red-maple": "4.0 8.2 12.6 M .00137 V .00289 V .54 M 950 M",
    "northern-red-oak": "4.0 8.6 13.7 M .00137 C .00304 C .63 M 1290 2",
    "white-oak": "5.6 10.5 16.3 V .00194 C .00376 C .68 2 1360 2",
    "black-walnut": "5.5 7.8 12.8 V .00190 V .00274 V .55 2 1010 2",
    "black-willow": "3.3 8.7 13.9 V .00112 V .00308 C .39 M - -",
    "yellow-poplar": "4.6 8.2 12.7 V .00158 C .00289 C .42 2 540 M",
    "eastern-white-pine": "2.1 6.1 8.2 M .00071 C .00212 C .35 M 380 2",
    "western-redcedar": "2.4 5.0 6.8 2 .00081 C .00172 C .32 M 350 2",
    "eastern-redcedar": "3.1 4.7 7.8 M .00106 C .00162 C .47 M 900 M",
}
BOTANICAL = {  # Handbook ch. 2
    "basswood": "Tilia americana",
    "red-alder": "Alnus rubra",
    "american-beech": "Fagus grandifolia",
    "sugar-maple": "Acer saccharum",
    "cherry": "Prunus serotina",
    "yellow-poplar": "Liriodendron tulipifera",
}


def test_every_species_is_there_once() -> None:
    assert sorted(species.key for species in all_species()) == sorted(HANDBOOK)


@pytest.mark.parametrize("key", HANDBOOK)
def test_each_row_is_that_of_the_handbook(key: str) -> None:
    cells = HANDBOOK[key].split()
    marks = [cells[3], cells[3], cells[3], cells[5], cells[7], cells[9], cells[11]]
    values = [cells[0], cells[1], cells[2], cells[4], cells[6], cells[8], cells[10]]
    figures = dict(species_or_own(key).figures)
    for name, value, mark in zip(list(SOURCES)[:7], values, marks, strict=True):
        if value == "-":
            assert name not in figures
        else:
            assert (figures[name].value, figures[name].mark) == (float(value), Mark(mark)), name


@pytest.mark.parametrize(("key", "botanical"), BOTANICAL.items())
def test_botanical_names(key: str, botanical: str) -> None:
    assert species_or_own(key).botanical == botanical


@pytest.mark.parametrize("species", all_species(), ids=lambda species: species.key)
@pytest.mark.parametrize("direction", ["radial", "tangential"])
def test_coefficients_follow_from_the_shrinkage(species: Species, direction: str) -> None:
    """Handbook ch. 13, Eq. 13-3 at 10 % moisture gives Table 13-5 from Table 4-3."""
    shrinkage = species.value(direction)
    coefficient = species.value(f"coefficient_{direction}")
    assert shrinkage is not None
    assert coefficient == pytest.approx(1 / (30 * 100 / shrinkage - 30 + 10), abs=0.000_006)


@pytest.mark.parametrize("species", all_species(), ids=lambda species: species.key)
def test_every_figure_names_its_source_and_how_well_it_is_known(species: Species) -> None:
    known = dict(species.figures)
    assert set(known) <= set(SOURCES) == set(UNITS)
    for name, figure in known.items():
        said = species.source(name)
        assert said.startswith(SOURCES[name])
        assert ("not verified" in said) is (figure.mark is Mark.FROM_MEMORY)
        assert ("estimate" in said) is (figure.mark is Mark.ESTIMATE)
    loose = {n for n, f in known.items() if f.mark in (Mark.FROM_MEMORY, Mark.ESTIMATE)}
    assert {"bare", "burnt"} <= loose  # no published lightness of wood or burn was found
    assert 5 <= species.darkest_burn < 30 < 40 <= species.bare_lightness <= 90


@pytest.mark.parametrize("species", all_species(), ids=lambda species: species.key)
def test_every_caution_says_where_it_is_from(species: Species) -> None:
    for caution in (species.resinous, species.irritant):
        assert not caution or any(
            source in caution for source in ("Calnan", "OSHA", "no source", "from memory")
        )


def test_a_figure_that_the_user_gave_says_so() -> None:
    own = replace(own_species("olive"), figures=(("hardness", Figure(2700, Mark.GIVEN)),))
    assert own.hardness_lbf == 2700
    assert "Handbook" not in own.source("hardness")


def test_an_unknown_figure_has_no_source() -> None:
    assert species_or_own("black-willow").source("hardness") == ""


@pytest.mark.parametrize(
    ("text", "key"),
    [("basswood", "basswood"), ("LIME", "basswood"), ("linden", "basswood"),
     ("hard maple", "sugar-maple"), ("soft  Maple", "red-maple"), ("walnut", "black-walnut"),
     ("beech", "american-beech"), ("Sugar_Maple", "sugar-maple"), ("butter", "butternut"),
     ("poplar", "yellow-poplar"), ("tulipwood", "yellow-poplar"), ("Red Oak", "northern-red-oak"),
     ("black cherry", "cherry"), ("white birch", "paper-birch")],
)  # fmt: skip
def test_a_species_is_found(text: str, key: str) -> None:
    assert species_or_own(text).key == key


@pytest.mark.parametrize("species", all_species(), ids=lambda species: species.key)
def test_every_name_finds_its_own_species(species: Species) -> None:
    for name in (species.key, species.name, *species.aliases):
        assert species_or_own(name.upper()) is species
        assert species_on_record(name) is species


@pytest.mark.parametrize(
    ("text", "keys"),
    [("yellow", ("yellow-birch", "yellow-poplar")),
     ("black", ("cherry", "black-walnut", "black-willow"))],
)  # fmt: skip
def test_a_name_that_could_mean_several_asks_which(text: str, keys: tuple[str, ...]) -> None:
    with pytest.raises(NotFound, match="could be") as caught:
        species_or_own(text)
    assert all(key in caught.value.message for key in keys)
    assert species_on_record(text).own  # what is on record is never refused


@pytest.mark.parametrize(("text", "near"), [("baswood", "basswood"), ("chery", "cherry")])
def test_a_misspelt_one_is_asked_about(text: str, near: str) -> None:
    assert species_or_own(text).own
    assert near in perhaps_meant(text)


TRADE = {
    "birch": "paper-birch yellow-birch", "cedar": "western-redcedar eastern-redcedar",
    "maple": "sugar-maple red-maple", "oak": "northern-red-oak white-oak",
    "pine": "eastern-white-pine", "poplar": "yellow-poplar eastern-cottonwood quaking-aspen",
}  # fmt: skip


@pytest.mark.parametrize("name", TRADE)
def test_a_name_of_the_trade_is_the_commonest_of_its_kinds(name: str) -> None:
    """What is sold by it most: common practice, no source; who takes it says so."""
    keys = TRADE[name].split()
    assert [wood.key for wood in kinds_of(f" {name.upper()} ")] == keys
    assert species_or_own(name).key == keys[0]
    assert kinds_of(keys[0]) == kinds_of(f"{name} (treated)") == ()


def test_what_was_recorded_by_a_name_of_the_trade_stays_what_it_was() -> None:
    assert species_on_record("birch").own
    assert species_on_record("poplar").key == "yellow-poplar"  # an alias of the table, as ever


def test_a_kind_without_a_name_in_the_trade_is_not_taken_for_the_one_in_the_table() -> None:
    assert species_or_own("willowy").own
    assert species_or_own("sugar pine").own
    assert species_or_own("scots pine").own


def test_a_wood_that_nobody_knows_is_a_middling_one() -> None:
    own = own_species("olive")
    for figure, guess in (("bare", own.bare_lightness), ("burnt", own.darkest_burn)):
        known = [species.value(figure) or 0.0 for species in all_species()]
        assert guess == pytest.approx(median(known), abs=1)


@pytest.mark.parametrize(
    ("text", "meant"),
    [("baswod", ("basswood",)), ("wallnut", ("black-walnut", "butternut")), ("beach", ()),
     ("elder", ()), ("mapple", ("red-maple", "sugar-maple")), ("maple", ())],
)  # fmt: skip
def test_a_letter_or_two_wrong_is_asked_about(text: str, meant: tuple[str, ...]) -> None:
    assert perhaps_meant(text) == meant


def test_black_is_a_lightness_that_is_known() -> None:
    assert species_or_own("basswood").read_as(1.0).darkest_burn == 0.0


def test_an_own_species_works_downstream() -> None:
    for own in (species_or_own("Olive"), own_species(" olive "), species_on_record("olive")):
        assert (own.key, own.name, own.own) == ("olive", "Olive", True)
        assert own.hardness_lbf is own.value("radial") is own.value("bare") is None
        assert own.darkest_burn < own.bare_lightness


@pytest.mark.parametrize("make", [species_or_own, own_species, species_on_record])
def test_a_wood_needs_a_name_that_a_record_holds(make: object) -> None:
    assert callable(make)
    with pytest.raises(NotFound):
        make("  ")
    with pytest.raises(BadInput, match="60"):
        make("x" * 61)
    assert own_species("x" * 60).key == "x" * 60


@given(st.text(ascii_letters + " -_", min_size=1, max_size=40).filter(lambda t: t.strip(" -_")))
def test_a_record_comes_back_as_itself(text: str) -> None:
    key = species_on_record(text).key
    assert species_on_record(key).key == key


def test_the_table_is_read_without_heavy_imports() -> None:
    code = (
        "import sys;"
        "from burnplan.wood import finishes, grits, hazards, moisture, movement, species;"
        "species.all_species();"
        "print([m for m in ('numpy', 'scipy', 'cv2', 'sqlalchemy', 'rich', 'typer') "
        "if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


@pytest.mark.parametrize("text", ["1", "2 3", "½"])
def test_a_number_is_no_wood(text: str) -> None:
    with pytest.raises(BadInput, match="no name of a wood"):
        species_or_own(text)
