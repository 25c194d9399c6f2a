"""Hazards: what must not be burned, and what needs care, with the reason and its source.

They are reminders, not advice for a case: local codes and licensed practice come first.
The table of materials, with its sources, is ``tables/materials.toml``.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache

from burnplan.errors import BadInput
from burnplan.wood.cautions import DEFER
from burnplan.wood.finishes import finish_for
from burnplan.wood.materials import (
    BLOCKING,
    Grade,
    Match,
    all_materials,
    found_in,
    noted_in,
    said_in,
    spoken_of,
)
from burnplan.wood.species import Species


class Level(StrEnum):
    """What a hazard does to a job."""

    BLOCK = "block"
    CAUTION = "caution"


class Condition(StrEnum):
    """What can be the matter with a blank, as its owner says."""

    TREATED = "treated"
    PAINTED = "painted"
    STAINED = "stained"
    SEALED = "sealed"
    PLASTIC = "plastic"
    MDF = "mdf"
    PARTICLE_BOARD = "particle-board"
    RECLAIMED = "reclaimed"
    GLUED = "glued"
    PLYWOOD = "plywood"
    RESINOUS = "resinous"
    SPALTED = "spalted"


@dataclass(frozen=True, slots=True)
class Hazard:
    """Something that can hurt.

    Parameters
    ----------
    key : str
        Names it for good: that of a material, or unlisted.
    level : Level
    reason, source : str
    advice : str
        What to do, with whom to ask.
    """

    key: str
    level: Level
    reason: str
    source: str
    advice: str


# What a material does by its grade.
_LEVELS = {grade: Level.BLOCK if grade in BLOCKING else Level.CAUTION for grade in Grade}
_COLLECT = "Collect its dust, cover skin, stop if skin or breath reacts"


def _hazard(match: Match) -> Hazard:
    """Return what a material is the hazard of; where its name was misspelt, that is said."""
    material, level = match.material, _LEVELS[match.material.grade]
    what = material.advice or ("Do not burn it" if level is Level.BLOCK else _COLLECT)
    reason = material.reason
    if match.word:
        reason = f"'{match.word}' may be meant for {match.meant}: {reason[:1].lower()}{reason[1:]}"
        what = f"{what}, or spell it right"
    return Hazard(material.key, level, reason, material.source, f"{what}. {DEFER}")


@cache
def _of_condition() -> dict[str, Hazard]:
    return {one.key: _hazard(Match(one)) for one in reversed(all_materials())}


def read_condition(text: str) -> Condition:
    """Return the condition that a word means.

    Raises
    ------
    BadInput
        If it means none; the message names them.

    Examples
    --------
    >>> read_condition("Chipboard"), read_condition("pressure treated")
    (<Condition.PARTICLE_BOARD: 'particle-board'>, <Condition.TREATED: 'treated'>)
    """
    found = {match.material.key for match in found_in(text)} & set(Condition)
    if len(found) != 1:
        raise BadInput(
            f"'{text}' is no condition of a blank", f"It is one of {', '.join(Condition)}"
        )
    return Condition(found.pop())


def hazards_of(species: Species | None, conditions: Iterable[Condition] = ()) -> tuple[Hazard, ...]:
    """Return the hazards of a blank, those that block first.

    Parameters
    ----------
    species : Species or None
        None if nobody knows what wood it is.
    conditions : iterable of Condition
        What is known to be the matter with it.

    Examples
    --------
    >>> from burnplan.wood.species import own_species, species_or_own
    >>> hazards_of(species_or_own("basswood"))
    ()
    >>> [hazard.key for hazard in hazards_of(own_species("birch plywood"))]
    ['plywood', 'irritant', 'unlisted']
    """
    found = {condition.value: _of_condition()[condition] for condition in conditions}
    for hazard in _of_wood(species):
        found.setdefault(hazard.key, hazard)
    return _blocks_first(found.values())


@cache
def asked() -> frozenset[str]:
    """Return the keys of hazards that put a question or a condition: of glue, of use."""
    questions = {one.key for one in all_materials() if one.grade is Grade.ASK}
    return frozenset((*questions, "outdoor", "food"))


def in_doubt(hazard: Hazard, doubt: str) -> Hazard:
    """Return a hazard that is only to be made sure of."""
    return replace(hazard, level=Level.CAUTION, advice=f"{doubt}. {DEFER}")


def hazards_said(text: str) -> tuple[Hazard, ...]:
    """Return what an order's own words say of its wood that is a hazard, those that block first.

    What a sentence about a board names may be the picture's: that is only to be made sure of.

    Examples
    --------
    >>> [hazard.key for hazard in hazards_said("Her dog, on an old MDF panel")]
    ['mdf']
    >>> [hazard.level.value for hazard in hazards_said("Her dog. Her own board, it was varnished")]
    ['caution']
    """
    found = {match.material.key: _hazard(match) for match in said_in(text)}
    for match in spoken_of(text):
        doubt = "The order speaks of it: make sure that the wood is bare"
        found.setdefault(match.material.key, in_doubt(_hazard(match), doubt))
    return _blocks_first(found.values())


def hazards_noted(note: str) -> tuple[Hazard, ...]:
    """Return what a blank's own note says of it that is a hazard, those that block first.

    Examples
    --------
    >>> [hazard.key for hazard in hazards_noted("varnished top, planed below")]
    ['sealed']
    """
    return _blocks_first(_hazard(match) for match in noted_in(note))


def _blocks_first(found: Iterable[Hazard]) -> tuple[Hazard, ...]:
    return tuple(sorted(found, key=lambda hazard: hazard.level is Level.CAUTION))


def of_use(use: str) -> tuple[Hazard, ...]:
    """Return what a use asks of the wood, the burning and the finish; nothing for indoors.

    Examples
    --------
    >>> [hazard.key for hazard in of_use("food")], of_use("indoor")
    (['food'], ())
    """
    advice = finish_for(use)
    if not advice.wood:
        return ()
    reason = f"Wood for {use} use: {advice.wood}. Burning: {advice.burning}"
    finish = f"Finish: {advice.finish[:1].lower()}{advice.finish[1:]}. {DEFER}"
    return (Hazard(use, Level.CAUTION, reason, advice.source, finish),)


def _of_wood(species: Species | None) -> Iterable[Hazard]:
    if species and species.resinous:
        yield _of_condition()[Condition.RESINOUS]
    if species and species.irritant:
        reason, _, source = species.irritant.partition(" (")
        yield Hazard(
            "irritant",
            Level.CAUTION,
            reason[:1].upper() + reason[1:],
            source.removesuffix(")") or "as given for this wood",
            f"{_COLLECT}. {DEFER}",
        )
    if species is None or species.own:
        for name in (species.key, species.name, species.botanical) if species else ():
            yield from map(_hazard, found_in(name))
        yield Hazard(
            "unlisted",
            Level.CAUTION,
            "This wood is not in the table; absence from a list does not mean safe",
            "HSE WIS30",
            f"Find out what it is and what is known of it first. {DEFER}",
        )
