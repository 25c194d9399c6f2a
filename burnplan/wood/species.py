"""The species table, every figure with where it comes from."""

import tomllib
from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any

from burnplan.errors import NotFound


class Mark(StrEnum):
    """How well a figure is known."""

    VERIFIED = "V"
    SECOND_HAND = "2"
    COMPUTED = "C"
    FROM_MEMORY = "M"
    ESTIMATE = "E"


_HANDBOOK = "Wood Handbook FPL-GTR-190 (2010)"
SOURCES = {
    "radial": f"{_HANDBOOK}, Table 4-3",
    "tangential": f"{_HANDBOOK}, Table 4-3",
    "volumetric": f"{_HANDBOOK}, Table 4-3",
    "coefficient_radial": f"{_HANDBOOK}, Table 13-5",
    "coefficient_tangential": f"{_HANDBOOK}, Table 13-5",
    "specific_gravity": f"{_HANDBOOK}, Table 5-3",
    "hardness": f"{_HANDBOOK}, Table 5-3",
    "bare": "common practice, no source",
    "burnt": "common practice, no source",
}
UNITS = {
    "radial": "%",
    "tangential": "%",
    "volumetric": "%",
    "coefficient_radial": "per % moisture",
    "coefficient_tangential": "per % moisture",
    "specific_gravity": "",
    "hardness": "lbf",
    "bare": "L*",
    "burnt": "L*",
}

# A wood not in the table is taken as a middling pale one: its bare face and its
# darkest burn are the middle of the table's.
_UNKNOWN_BARE, _UNKNOWN_BURNT = 76.0, 19.0


@dataclass(frozen=True, slots=True)
class Figure:
    """A number with how well it is known."""

    value: float
    mark: Mark


@dataclass(frozen=True, slots=True)
class Species:
    """A species of wood.

    Parameters
    ----------
    key : str
        As files and commands name it, for example ``sugar-maple``.
    name, botanical : str
    aliases : tuple of str
    figures : dict
        What is known, by name; see SOURCES and UNITS.
    resinous, irritant : str
        The caution, or nothing.
    own : bool
        Whether the user named it and it is not in the table.
    """

    key: str
    name: str
    botanical: str = ""
    aliases: tuple[str, ...] = ()
    figures: tuple[tuple[str, Figure], ...] = ()
    resinous: str = ""
    irritant: str = ""
    own: bool = False

    def value(self, figure: str) -> float | None:
        """Return a figure, or None if it is not known."""
        return next((found.value for name, found in self.figures if name == figure), None)

    @property
    def hardness_lbf(self) -> float | None:
        """Side hardness, lbf; None if not known."""
        return self.value("hardness")

    @property
    def bare_lightness(self) -> float:
        """L* of a fresh sanded face."""
        return self.value("bare") or _UNKNOWN_BARE

    @property
    def darkest_burn(self) -> float:
        """L* of the darkest burn on it."""
        return self.value("burnt") or _UNKNOWN_BURNT

    @property
    def unverified(self) -> tuple[str, ...]:
        """Names of the figures that were not read in their source."""
        return tuple(
            name for name, found in self.figures if found.mark in (Mark.FROM_MEMORY, Mark.ESTIMATE)
        )


def _made(key: str, row: dict[str, Any]) -> Species:
    figures = tuple(
        (name, Figure(float(row[name][0]), Mark(row[name][1]))) for name in SOURCES if name in row
    )
    return Species(
        key,
        row["name"],
        row["botanical"],
        tuple(row["aliases"]),
        figures,
        row.get("resinous", ""),
        row.get("irritant", ""),
    )


@cache
def all_species() -> tuple[Species, ...]:
    """Return the species of the table, by name."""
    text = (files("burnplan.wood") / "tables" / "species.toml").read_text("utf-8")
    made = (_made(key, row) for key, row in tomllib.loads(text).items())
    return tuple(sorted(made, key=lambda species: species.name))


def _key(text: str) -> str:
    return "-".join(text.lower().replace("_", " ").replace("-", " ").split())


def find_species(text: str) -> Species:
    """Return the species that a key, name, alias or the beginning of one means.

    Raises
    ------
    NotFound
        If none does, or several do; the message names the nearest.

    Examples
    --------
    >>> find_species("hard maple").key, find_species("BASS").key
    ('sugar-maple', 'basswood')
    """
    wanted = _key(text)
    named = {
        species.key: {_key(word) for word in (species.key, species.name, *species.aliases)}
        for species in all_species()
    }
    found = [key for key, names in named.items() if wanted in names]
    if not found and wanted:
        found = [
            key for key, names in named.items() if any(name.startswith(wanted) for name in names)
        ]
    if len(found) == 1:
        return next(species for species in all_species() if species.key == found[0])
    if found:
        raise NotFound(f"'{text}' could be {' or '.join(found)}", "Name one of them")
    words = {name: key for key, names in named.items() for name in names}
    near = dict.fromkeys(words[word] for word in get_close_matches(wanted, words, 6, 0.5))
    near |= {key: None for key in named if wanted and wanted in key}
    hint = f"Did you mean {' or '.join(list(near)[:3])}" if near else "See 'burnplan blank species'"
    raise NotFound(f"'{text}' is not in the species table", hint)


def species_or_own(text: str) -> Species:
    """Return the species meant, or the user's own species of that name.

    A name that could mean several of the table is still refused.
    """
    try:
        return find_species(text)
    except NotFound as error:
        key = _key(text)
        if "could be" in error.message or not key:
            raise
        return Species(key, text.strip().capitalize(), own=True)
