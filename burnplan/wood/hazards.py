"""Hazards: what must not be burned, and what needs care, with the reason and its source.

They are reminders, not advice for a case: local codes and licensed practice come first.
Most sources are on burning wood as fuel or sanding it; a hot pen heats the same things.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from burnplan.errors import BadInput
from burnplan.wood.cautions import DEFER
from burnplan.wood.species import Species

_PRACTICE = "common practice, no source"
_MEMORY = "from memory, not verified"
_SECOND_HAND = "lists after Woods and Calnan 1976, second-hand"
_BURN_WISE = "US EPA Burn Wise, what not to burn, second-hand"


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
    PLYWOOD = "plywood"
    RESINOUS = "resinous"
    SPALTED = "spalted"


@dataclass(frozen=True, slots=True)
class Hazard:
    """Something that can hurt.

    Parameters
    ----------
    key : str
        Names it for good: a condition, or poisonous, irritant, unlisted.
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


def _block(key: str, reason: str, source: str) -> Hazard:
    return Hazard(key, Level.BLOCK, reason, source, f"Do not burn it. {DEFER}")


def _caution(key: str, reason: str, source: str, advice: str) -> Hazard:
    return Hazard(key, Level.CAUTION, reason, source, f"{advice}. {DEFER}")


_OF_CONDITION = {
    Condition.TREATED: _block(
        "treated",
        "Preservatives turn into poisonous smoke and ash, arsenic and dioxins among them",
        "US EPA consumer information on arsenic-treated wood; Lake County Air Quality"
        " Management District, notice on treated wood",
    ),
    Condition.PAINTED: _block(
        "painted",
        "Paint gives off poisonous fumes when heated, and old paint can hold lead",
        f"{_BURN_WISE}; lead: {_MEMORY}",
    ),
    Condition.STAINED: _block(
        "stained",
        "The stain burns with the wood and gives off fumes",
        f"{_BURN_WISE} (coated wood)",
    ),
    Condition.SEALED: _block(
        "sealed",
        "Varnish, oil or wax gives off fumes when heated and can catch fire",
        f"{_BURN_WISE} (coated wood)",
    ),
    Condition.PLASTIC: _block(
        "plastic", "Plastics and laminates give off poisonous fumes when heated", _BURN_WISE
    ),
    Condition.MDF: _block(
        "mdf",
        "Its fibres are bound with resin, mostly of formaldehyde, and its dust is fine",
        f"HSE, MDF frequently asked questions; {_BURN_WISE} (wood with glue)",
    ),
    Condition.PARTICLE_BOARD: _block(
        "particle-board", "Its chips are bound with glue that gives off fumes", _BURN_WISE
    ),
    Condition.RECLAIMED: _block(
        "reclaimed",
        "Nobody knows what it was treated or coated with",
        f"{_PRACTICE}; absence from a list does not mean safe (HSE WIS30)",
    ),
    Condition.PLYWOOD: _caution(
        "plywood",
        "A burn that goes through the face reaches glue; opinions differ",
        f"{_BURN_WISE} names it; burning its face lightly is {_PRACTICE}",
        "Burn the face only, lightly, with the smoke drawn off, or take solid wood",
    ),
    Condition.RESINOUS: _caution(
        "resinous",
        "Resin spits, smokes and burns unevenly",
        _PRACTICE,
        "Low heat, eyes protected, smoke drawn off, the tip cleaned often",
    ),
    Condition.SPALTED: _caution(
        "spalted",
        "Fungi drew its lines: their dust can inflame the lungs, and soft patches burn unevenly",
        f"J. Occup. Environ. Hyg. 3:301-307, 2006 (mouldy hardwood); {_SECOND_HAND}",
        "Collect its dust, wear a fitted mask when sanding, leave punky patches unburned",
    ),
}

# Other words for the same. A wood named by one of them (birch plywood) has it as well.
_OTHER_WORDS = {
    Condition.TREATED: ("pressure-treated", "preserved", "cca", "creosoted", "sleeper"),
    Condition.PAINTED: ("paint", "primed", "lacquered"),
    Condition.STAINED: ("stain", "dyed"),
    Condition.SEALED: ("varnished", "finished", "oiled", "waxed", "shellacked"),
    Condition.PLASTIC: ("laminate", "laminated", "melamine", "acrylic"),
    Condition.MDF: ("hdf", "fibreboard", "fiberboard", "hardboard"),
    Condition.PARTICLE_BOARD: ("particleboard", "chipboard", "osb"),
    Condition.RECLAIMED: ("unknown", "pallet", "salvaged", "driftwood", "barnwood"),
    Condition.PLYWOOD: ("ply", "veneered", "blockboard"),
    Condition.RESINOUS: ("resin", "pitchy"),
    Condition.SPALTED: ("spalt", "mouldy", "moldy"),
}

# Woods outside the table, known by a word of their name.
_POISONOUS = ("yew", "oleander")
_RESINOUS = ("pine", "spruce", "fir", "larch", "cedar", "redcedar", "juniper", "cypress")
_SENSITISERS = (
    "boxwood", "cashew", "cocobolo", "ebony", "greenheart", "iroko", "mahogany", "mansonia",
    "myrtle", "obeche", "olive", "olivewood", "padauk", "purpleheart", "redwood", "rosewood",
    "sassafras", "satinwood", "teak", "wenge", "zebrawood",
)  # fmt: skip
_CEDARS = ("cedar", "redcedar")


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
    wanted = "-".join(text.lower().replace("-", " ").split())
    for condition in Condition:
        if wanted in (condition, *_OTHER_WORDS[condition]):
            return condition
    raise BadInput(f"'{text}' is no condition of a blank", f"It is one of {', '.join(Condition)}")


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
    ['plywood', 'unlisted']
    """
    found = {condition.value: _OF_CONDITION[condition] for condition in conditions}
    for hazard in _of_wood(species):
        found.setdefault(hazard.key, hazard)
    return tuple(sorted(found.values(), key=lambda hazard: hazard.level is Level.CAUTION))


def _of_wood(species: Species | None) -> Iterable[Hazard]:
    if species and species.resinous:
        yield _OF_CONDITION[Condition.RESINOUS]
    if species and species.irritant:
        reason, _, source = species.irritant.partition(" (")
        yield _irritant(
            reason[:1].upper() + reason[1:], source.removesuffix(")") or "as given for this wood"
        )
    if species is None or species.own:
        yield from _of_name(species.key.split("-") if species else [])
        yield _caution(
            "unlisted",
            "This wood is not in the table; absence from a list does not mean safe",
            "HSE WIS30",
            "Find out what it is and what is known of it first",
        )


def _irritant(reason: str, source: str) -> Hazard:
    return _caution(
        "irritant", reason, source, "Collect its dust, cover skin, stop if skin or breath reacts"
    )


def _of_name(words: list[str]) -> Iterable[Hazard]:
    """Hazards that the name of a wood outside the table gives away."""
    name = f"-{'-'.join(words)}-"
    for condition in Condition:
        if any(f"-{word}-" in name for word in (condition, *_OTHER_WORDS[condition])):
            yield _OF_CONDITION[condition]
    if any(word in _POISONOUS for word in words):
        yield _block("poisonous", "The wood itself is poisonous", f"{_MEMORY}; {_SECOND_HAND}")
    if any(word in _RESINOUS for word in words):
        yield _OF_CONDITION[Condition.RESINOUS]
    if any(word in _CEDARS for word in words):
        yield _irritant(
            "Western red cedar dust can give asthma: its limit is half that of other woods",
            "ACGIH 2007, 0.5 mg/m³, on OSHA's page on wood dust",
        )
    elif any(word in _SENSITISERS for word in words):
        yield _irritant("Its dust is known to sensitise or irritate", _SECOND_HAND)
