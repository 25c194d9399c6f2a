"""The species table, every figure with where it comes from."""

import re
import tomllib
from dataclasses import dataclass, replace
from difflib import get_close_matches
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any

from burnplan.errors import BadInput, NotFound
from burnplan.sentences import Do
from burnplan.terminal_safe import of_shells

# Words in brackets, as in "pine (treated)": they say more of a wood, and are read as words.
_BRACKETS = re.compile(r"(?<!\S)\(([\w\s,'-]*)\)(?!\S)")
_APOSTROPHES = re.compile(r"(?<=\w)['’](?=\w)")


class Mark(StrEnum):
    """How well a figure is known."""

    VERIFIED = "V"
    SECOND_HAND = "2"
    COMPUTED = "C"
    FROM_MEMORY = "M"
    ESTIMATE = "E"
    GIVEN = "G"  # by the user, for a wood of their own
    READ = "R"  # from a photo of the very blank


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
# darkest burn are about the middle of the table's, which are our own estimates (no source).
_UNKNOWN_BARE, _UNKNOWN_BURNT = 76.0, 19.0

# How like a name of the table (difflib's ratio) an unknown one is that is asked about:
# a letter or two wrong, while other woods (olive, plum, elder) are left alone
# (a guess: tried on names of woods).
_MISSPELT = 0.82

_LONGEST_KEY = 60  # characters that a record holds; a limit by definition

_HOW_KNOWN = {
    "V": "",
    "2": ", as another text quotes it",
    "C": ", computed from the table",
    "M": ", from memory, not verified",
    "E": ", our own estimate",
}


UNKNOWN_WOOD = "unknown-wood"
"""What a piece is reckoned as before its species is chosen: middling wood."""


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
    figures : tuple of (str, Figure)
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
        return self._known("bare", _UNKNOWN_BARE)

    @property
    def darkest_burn(self) -> float:
        """L* of the darkest burn on it."""
        return self._known("burnt", _UNKNOWN_BURNT)

    def _known(self, figure: str, otherwise: float) -> float:
        found = self.value(figure)  # black is 0, and known
        return otherwise if found is None else found

    def read_as(self, bare: float) -> "Species":
        """Return it with the bare lightness of one board, as read from a photo of that.

        Examples
        --------
        >>> board = species_or_own("basswood").read_as(74.5)
        >>> board.bare_lightness, board.source("bare")
        (74.5, 'as read from a photo of this blank')
        """
        burnt = min(self.darkest_burn, bare - 1)  # dark wood cannot be burned lighter
        how = dict(self.figures).get("burnt", Figure(burnt, Mark.ESTIMATE)).mark
        read = {"bare": Figure(bare, Mark.READ), "burnt": Figure(max(burnt, 0.0), how)}
        return replace(self, figures=tuple((dict(self.figures) | read).items()))

    def source(self, figure: str) -> str:
        """Say where a figure comes from and how well it is known; nothing if it is not.

        Examples
        --------
        >>> species_or_own("butternut").source("hardness")
        'Wood Handbook FPL-GTR-190 (2010), Table 5-3, from memory, not verified'
        """
        known = dict(self.figures).get(figure)
        if known and known.mark is Mark.GIVEN:
            return "as given for this wood of your own"
        if known and known.mark is Mark.READ:
            return "as read from a photo of this blank"
        return f"{SOURCES[figure]}{_HOW_KNOWN[known.mark]}" if known else ""


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


@cache
def _by_name() -> dict[str, Species]:
    """Return the species of the table by each of their names; of two alike the first."""
    named = (
        (_key(word), species)
        for species in reversed(all_species())
        for word in (species.key, species.name, *species.aliases)
    )
    return dict(named)


@cache
def _trade_names() -> dict[str, tuple[Species, ...]]:
    text = (files("burnplan.wood") / "tables" / "trade_names.toml").read_text("utf-8")
    known = {species.key: species for species in all_species()}
    return {name: tuple(known[key] for key in keys) for name, keys in tomllib.loads(text).items()}


def kinds_of(text: str) -> tuple[Species, ...]:
    """Return the species that a name of the trade stands for, the commonest first.

    None for a name that stands for one wood, or for none of the table.

    Examples
    --------
    >>> [species.key for species in kinds_of("Birch")], kinds_of("paper birch")
    (['paper-birch', 'yellow-birch'], ())
    """
    return _trade_names().get(_key(text), ())


def _in_line(text: str) -> str:
    """Return text without control characters and stray spaces."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def _key(text: str) -> str:
    return "-".join(_in_line(text).lower().replace("_", " ").replace("-", " ").split())


def _bag(name: str) -> list[str]:
    """Return the words of a name, in no order."""
    return sorted(re.findall(r"[^\W_]+", name))


def _meant(wanted: str) -> tuple[Species, ...]:
    """Return the species that a name can mean: exactly, by its beginning, or as a kind.

    Of a name of the trade (birch, pine) it is the commonest: see :func:`kinds_of`. Any
    other word inside several names means all of them; one inside only one is not taken
    for that one. Neither punctuation nor the order of words matters (``maple, sugar``),
    and the Latin name will do.
    """
    if kinds := kinds_of(wanted):
        return kinds[:1]
    names = {
        species: {_key(word) for word in (species.key, species.name, *species.aliases)}
        for species in all_species()
    }
    exact = tuple(species for species, known in names.items() if wanted in known)
    if exact or not wanted:
        return exact
    words = _bag(wanted)
    same = tuple(
        species
        for species, known in names.items()
        if words in map(_bag, (*known, species.botanical.lower()))
    )
    if same:
        return same
    begun = tuple(
        species
        for species, known in names.items()
        if any(name.startswith(wanted) for name in known)
    )
    of_a_kind = tuple(
        species
        for species, known in names.items()
        if any(wanted in name.split("-") for name in known)
    )
    return begun or (of_a_kind if len(of_a_kind) > 1 else ())


def _ambiguous(text: str, meant: tuple[Species, ...]) -> NotFound:
    keys = " or ".join(species.key for species in meant)
    return NotFound(f"'{text}' could be {keys}", "Name one of them")


def perhaps_meant(text: str) -> tuple[str, ...]:
    """Return the species of the table that a name not in it may be a misspelling of.

    Examples
    --------
    >>> perhaps_meant("Baswood"), perhaps_meant("olive"), perhaps_meant("cherry")
    (('basswood',), (), ())
    """
    wanted = _key(text)
    if _meant(wanted):
        return ()
    keys: dict[str, list[str]] = {}
    for species in all_species():
        for name in {_key(word) for word in (species.key, species.name, *species.aliases)}:
            for word in {name, *name.split("-")}:
                keys.setdefault(word, []).append(species.key)
    near = get_close_matches(wanted, keys, 2, _MISSPELT)
    return tuple(dict.fromkeys(key for word in near for key in keys[word]))


def own_species(name: str) -> Species:
    """Return a species of the user's own, of which no figure is known.

    Raises
    ------
    NotFound
        If the name is empty.
    BadInput
        If it is longer than a record holds.

    Examples
    --------
    >>> olive = own_species("Olive wood")
    >>> olive.key, olive.own, olive.hardness_lbf
    ('olive-wood', True, None)
    >>> own_species(olive.key).name
    'Olive wood'
    """
    key = _key(name)
    words = _in_line(name)
    if words == key:  # of a record, which has the key
        words = words.replace("-", " ")
    if not key:
        raise NotFound("A wood needs a name", "See ", Do("blank.species"), " for those known")
    if len(key) > _LONGEST_KEY:
        raise BadInput(f"A wood's name has at most {_LONGEST_KEY} letters", "Shorten it")
    return Species(key, words.capitalize(), own=True)


def species_or_own(text: str) -> Species:
    """Return the species meant by what someone chose, or their own of that name.

    A name of the trade is taken for the commonest wood that is sold by it.

    Raises
    ------
    NotFound
        If it could mean several of the table, so that the user can say which.
    BadInput
        If it cannot be a wood's name: see :func:`nameable`.

    Examples
    --------
    >>> species_or_own("pine (treated)").key, species_or_own("pine").key
    ('pine-treated', 'eastern-white-pine')
    >>> species_or_own("bird's-eye maple").name
    'Birds-eye maple'
    """
    text = _APOSTROPHES.sub("", text)
    meant = _meant(_key(text))
    if len(meant) > 1:
        raise _ambiguous(text, meant)
    return meant[0] if meant else own_species(nameable(_BRACKETS.sub(r" \1 ", text)))


def nameable(text: str) -> str:
    """Return a name that a wood of the user's own may be given: it becomes part of command lines.

    Raises
    ------
    BadInput
        If it has no letter, or a character of it means something to a shell.
    """
    if text.strip() and not any(map(str.isalpha, text)):
        raise BadInput(f"'{text}' is no name of a wood", "Write it in letters")
    if unfit := of_shells(text):
        raise BadInput(
            f"A wood's name cannot have {' or '.join(unfit)} in it", "Write it in letters"
        )
    return text


def species_on_record(key: str) -> Species:
    """Return the species of a record or a brought-in file: by key, name or alias, or an own one.

    Unlike :func:`species_or_own` it neither completes a name nor refuses one
    that could mean several: what was recorded stays what it was.

    Examples
    --------
    >>> species_on_record("cherry").own, species_on_record("birch").own
    (False, True)
    """
    return _by_name().get(_key(key)) or own_species(key)
