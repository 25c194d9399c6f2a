"""Every path to a hazard. Sources compared with here: OSHA's page on wood dust (ACGIH
limits), HSE WIS30 and its MDF page, US EPA on treated wood and Burn Wise, IARC vol. 100C,
Fire Science Reviews 2:4 Table 1, NHS first aid for burns.
"""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.wood import cautions
from burnplan.wood.hazards import (
    Condition,
    Hazard,
    Level,
    hazards_noted,
    hazards_of,
    hazards_said,
    of_use,
    read_condition,
)
from burnplan.wood.species import Species, all_species, own_species, species_or_own

BASSWOOD = species_or_own("basswood")

# FACTS of the trade and of published lists: what is never burned, and what is disputed.
LEVELS = {
    "treated": Level.BLOCK,
    "painted": Level.BLOCK,
    "stained": Level.BLOCK,
    "sealed": Level.BLOCK,
    "plastic": Level.BLOCK,
    "mdf": Level.BLOCK,
    "particle-board": Level.BLOCK,
    "reclaimed": Level.BLOCK,
    "glued": Level.CAUTION,
    "plywood": Level.CAUTION,
    "resinous": Level.CAUTION,
    "spalted": Level.CAUTION,
}


def keys(species: Species | None, *conditions: Condition) -> list[str]:
    return [hazard.key for hazard in hazards_of(species, conditions)]


def test_every_condition_has_its_level() -> None:
    assert {str(condition) for condition in Condition} == set(LEVELS)


@pytest.mark.parametrize("condition", list(Condition))
def test_a_condition_blocks_or_cautions_with_reason_and_source(condition: Condition) -> None:
    (hazard,) = hazards_of(BASSWOOD, [condition])
    assert (hazard.key, hazard.level) == (condition, LEVELS[condition])
    assert hazard.reason
    assert hazard.source
    assert cautions.DEFER in hazard.advice


@pytest.mark.parametrize(
    ("condition", "source"),
    [(Condition.TREATED, "Air Quality"), (Condition.MDF, "HSE"), (Condition.PLYWOOD, "EPA"),
     (Condition.RECLAIMED, "WIS30"), (Condition.RESINOUS, "no source"),
     (Condition.SPALTED, "Hyg.")],
)  # fmt: skip
def test_where_it_was_published(condition: Condition, source: str) -> None:
    assert source in hazards_of(BASSWOOD, [condition])[0].source


def test_sound_basswood_has_no_hazard() -> None:
    assert hazards_of(BASSWOOD) == ()


@pytest.mark.parametrize("species", all_species(), ids=lambda species: species.key)
def test_a_wood_of_the_table_has_its_own(species: Species) -> None:
    found = {hazard.key: hazard for hazard in hazards_of(species)}
    assert ("resinous" in found) is bool(species.resinous)
    assert ("irritant" in found) is bool(species.irritant)
    assert all(hazard.level is Level.CAUTION for hazard in found.values())
    if species.irritant:
        assert found["irritant"].reason.lower() in species.irritant.lower()
        assert found["irritant"].source in species.irritant
        assert "(" not in found["irritant"].source


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("yew", ["poisonous", "unlisted"]),
        ("oleander", ["poisonous", "unlisted"]),
        ("pine", ["resinous", "unlisted"]),
        ("Norway spruce", ["resinous", "unlisted"]),
        ("western red cedar", ["resinous", "irritant", "unlisted"]),
        ("olive", ["irritant", "unlisted"]),
        ("rosewood", ["irritant", "unlisted"]),
        ("plum", ["unlisted"]),
        ("birch plywood", ["plywood", "irritant", "unlisted"]),
        ("oak particle board", ["particle-board", "irritant", "unlisted"]),
        ("MDF", ["mdf", "unlisted"]),
        ("pallet wood", ["reclaimed", "unlisted"]),
        ("pressure treated pine", ["treated", "resinous", "unlisted"]),
        ("spalted maple", ["spalted", "unlisted"]),
        ("unknown wood", ["reclaimed", "unlisted"]),
    ],
)
def test_the_name_of_an_own_wood_gives_it_away(name: str, expected: list[str]) -> None:
    assert keys(own_species(name)) == expected


def test_what_the_user_says_of_an_own_wood_counts() -> None:
    own = replace(own_species("plum"), irritant="makes me sneeze", resinous="gummy")
    found = {hazard.key: hazard for hazard in hazards_of(own)}
    assert list(found) == ["resinous", "irritant", "unlisted"]
    assert found["irritant"].reason == "Makes me sneeze"
    assert found["irritant"].source == "as given for this wood"


def test_a_wood_that_nobody_knows() -> None:
    assert keys(None) == ["unlisted"]
    assert "WIS30" in hazards_of(None)[0].source


@pytest.mark.parametrize(
    ("name", "reason", "advice"),
    [
        ("mdf", "It is bound", "Do not burn it. "),
        ("mfd board", "'mfd' may be meant for mdf: it is bound", "Do not burn it, or spell it"),
        ("wenge", "Its dust", "Collect its dust, cover skin, stop if"),
        ("glued pine", "It is of pieces", "Ask its maker what the glue is"),
    ],
)
def test_what_to_do_follows_from_what_it_is(name: str, reason: str, advice: str) -> None:
    """Whose word comes first is said whatever it is (our own rule)."""
    found = hazards_of(own_species(name))[0]
    assert found.reason.startswith(reason)
    assert found.advice.startswith(advice)
    assert found.advice.endswith(cautions.DEFER)


def test_what_is_said_or_noted_of_a_wood_blocks_first_too() -> None:
    assert [one.key for one in hazards_said("Horse on plywood, on an MDF panel")] == [
        "mdf", "plywood",
    ]  # fmt: skip
    assert [one.key for one in hazards_noted("plywood, varnished")] == ["sealed", "plywood"]
    told = "Board from an old barn, painted on the back. Stained glass behind her"
    found = {one.key: one.level for one in hazards_said(told)}
    assert found == {"reclaimed": Level.CAUTION, "painted": Level.CAUTION}
    noted = hazards_noted("spalted, glued up from three, dust of the oak beside it")
    assert {one.key for one in noted} == {"glued", "spalted"}


def test_a_use_says_what_it_asks_of_wood_burning_and_finish() -> None:
    (outdoor,) = of_use("outdoor")
    assert outdoor.advice.startswith("Finish: a UV-resistant finish")
    assert outdoor.reason.startswith("Wood for outdoor use: weather moves the wood")


def test_western_red_cedar_has_the_lower_limit() -> None:
    """ACGIH 2007: 0.5 mg/m³ against 1 for other woods (OSHA, wood dust evaluation)."""
    cedar = next(h for h in hazards_of(own_species("western red cedar")) if h.key == "irritant")
    assert "0.5 mg/m³" in cedar.source


@given(
    st.one_of(st.none(), st.sampled_from(all_species()), st.builds(own_species, st.just("plum"))),
    st.lists(st.sampled_from(list(Condition)), max_size=6),
)
def test_blocks_come_first_and_nothing_is_lost(
    species: Species | None, conditions: list[Condition]
) -> None:
    found = hazards_of(species, conditions)
    levels = [hazard.level for hazard in found]
    assert levels == sorted(levels)  # block before caution, by the letter
    assert len({hazard.key for hazard in found}) == len(found)
    assert {str(condition) for condition in conditions} <= {hazard.key for hazard in found}
    blocking = any(LEVELS[condition] is Level.BLOCK for condition in conditions)
    assert (Level.BLOCK in levels) is blocking


@pytest.mark.parametrize(
    ("text", "condition"),
    [("treated", Condition.TREATED), ("Pressure-Treated", Condition.TREATED),
     ("chipboard", Condition.PARTICLE_BOARD), ("particle board", Condition.PARTICLE_BOARD),
     ("MDF", Condition.MDF), ("ply", Condition.PLYWOOD), ("varnished", Condition.SEALED),
     ("unknown", Condition.RECLAIMED), ("mouldy", Condition.SPALTED)],
)  # fmt: skip
def test_a_condition_is_read(text: str, condition: Condition) -> None:
    assert read_condition(text) is condition


@pytest.mark.parametrize("condition", list(Condition))
def test_every_condition_is_read_by_its_own_name(condition: Condition) -> None:
    assert read_condition(condition.replace("-", " ").upper()) is condition


@pytest.mark.parametrize("text", ["", "nice", "treat"])
def test_what_is_no_condition(text: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_condition(text)
    assert "treated" in str(caught.value.remedy)


def test_hazards_are_plain_values() -> None:
    assert hazards_of(BASSWOOD, [Condition.MDF]) == hazards_of(BASSWOOD, [Condition.MDF])
    assert isinstance(hash(hazards_of(None)[0]), int)
    assert isinstance(hazards_of(None)[0], Hazard)


def test_every_session_has_its_cautions() -> None:
    """NHS: 10 to 30 minutes of cool water, no ice or creams; the mask's limit is chemistry."""
    said = " ".join(cautions.SESSION)
    for words in (
        "smoke away at its source", "does not stop gases", "eyes protected",
        "10 to 30 minutes", "no ice or creams", "medical care", "smoulder", "Local codes",
    ):  # fmt: skip
        assert words in said
    assert cautions.SESSION[-1] == cautions.DEFER
