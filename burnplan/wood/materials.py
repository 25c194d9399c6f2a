"""Names of materials, read by their words: in any order, spelt badly, in Latin.

The table, with its sources, is ``tables/materials.toml``. A near miss of what must not be
burned is taken for it until somebody says otherwise: the other mistake can hurt.
"""

import re
import tomllib
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from itertools import pairwise
from typing import Any

from burnplan.wood.species import all_species


class Grade(StrEnum):
    """How a material is to be met, the worst first."""

    NEVER = "never"
    POISONOUS = "poisonous"
    ASK = "ask"
    CARE = "care"
    SENSITISER = "sensitiser"


BLOCKING = (Grade.NEVER, Grade.POISONOUS)
"""What keeps a piece from being burned."""


@dataclass(frozen=True, slots=True)
class Material:
    """A row of the table.

    Parameters
    ----------
    key : str
    grade : Grade
    names, unless, plain : tuple of tuple of str
        Words of each name; see the table.
    reason, source, advice : str
    """

    key: str
    grade: Grade
    names: tuple[tuple[str, ...], ...]
    unless: tuple[tuple[str, ...], ...]
    plain: tuple[tuple[str, ...], ...]
    reason: str
    source: str
    advice: str


@dataclass(frozen=True, slots=True)
class Match:
    """A material that a text names.

    Parameters
    ----------
    material : Material
    word, meant : str
        The word that was not spelt so, and what it was read as; empty where it was.
    """

    material: Material
    word: str = ""
    meant: str = ""


# Before a word that it denies, "not treated"; after it, only "free" does: "paint-free".
_DENIALS = frozenset(("not", "non", "never", "no", "without", "un"))
# What may stand between: "never been treated", "free of paint".
_BETWEEN = frozenset(("been", "ever", "yet", "any", "of", "from"))

# How many letters may be wrong in a word of so many letters (our own choice: one in a word
# of five, two in one of eight; in a shorter one, two changed about or one doubled).
_ONE_WRONG, _TWO_WRONG = 5, 8
# Letters of a harmless word that, as near, is taken to be meant rather than a forbidden one: of
# short words too many are near (our own choice).
_LONG = 6
# Letters that are joined to a forbidden word, at least (our own choice): foiled is not oiled.
_A_WORD = 3
_ENDINGS = frozenset(("ing", "ings", "ers", "ous", "ery", "less"))


def words_of(text: str) -> list[str]:
    """Return the words of a text: small letters without accents, M.D.F. as one.

    Examples
    --------
    >>> words_of("Pine (Treated)"), words_of("M.D.F./birch"), words_of("Épicéa"), words_of("OSB3")
    (['pine', 'treated'], ['mdf', 'birch'], ['epicea'], ['osb', '3'])
    """
    letters = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(letter for letter in letters if not unicodedata.combining(letter))
    joined = re.sub(r"\b(?:[^\W\d_][\W_]+){2,}[^\W\d_]\b", _without_gaps, plain)
    return re.findall(r"[^\W\d_]+|\d+", joined)


def _without_gaps(letters: re.Match[str]) -> str:
    return re.sub(r"[\W_]+", "", letters[0])


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads((files("burnplan.wood") / "tables" / "materials.toml").read_text("utf-8"))


@cache
def all_materials() -> tuple[Material, ...]:
    """Return the table, the worst first."""
    return tuple(
        Material(
            key=row["key"],
            grade=Grade(row["grade"]),
            names=_split(row["names"]),
            unless=_split(row.get("unless", ())),
            plain=_split(row["plain"]),
            reason=row["reason"],
            source=row["source"],
            advice=row.get("advice", ""),
        )
        for row in _table()["material"]
    )


def _split(names: Iterable[str]) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(name.split()) for name in names)


@cache
def _known_words() -> frozenset[str]:
    """Return every word that is spelt right: no near miss of another."""
    named = (word for one in all_materials() for name in one.names for word in name)
    woods = (
        word
        for one in all_species()
        for name in (one.name, one.botanical, *one.aliases)
        for word in words_of(name)
    )
    return frozenset((*named, *woods, *_table()["innocent"]))


def found_in(text: str) -> tuple[Match, ...]:
    """Return the materials that a name of a wood or a board means, the worst first.

    Parameters
    ----------
    text : str
        Such as ``pine (treated)``, ``Plywood, birch`` or ``Taxus baccata``.

    Examples
    --------
    >>> [(one.material.key, one.word) for one in found_in("treatd pine")]
    [('treated', 'treatd'), ('resinous', '')]
    >>> [one.material.key for one in found_in("laminated pine")]
    ['glued', 'resinous']
    """
    return _found(tuple(words_of(text)))


@cache
def _found(words: tuple[str, ...]) -> tuple[Match, ...]:
    said = _affirmed(words)
    spelt = dict.fromkeys(said, "") | {
        right: wrong
        for wrong in said
        if (right := _nearest_forbidden(wrong) or _nearest_wood(wrong))
    }
    found = []
    for material in all_materials():
        excused = [name for name in material.unless if set(name) <= said]
        for name in material.names:
            if not set(name) <= spelt.keys() or any(set(name) < set(one) for one in excused):
                continue
            misread = next((word for word in name if spelt[word]), "")
            found.append(Match(material, spelt.get(misread, ""), misread))
            break
    return tuple(found)


def _affirmed(words: Sequence[str]) -> set[str]:
    """Return the words that are not denied, with two in a row as one, and plurals as singulars."""
    kept = [word for place, word in enumerate(words) if not _denied(words, place)]
    pairs = [first + second for first, second in pairwise(kept)]
    known = {word for word in pairs if word in _known_words()}
    return known.union(map(_singular, kept), *map(_forbidden_within, kept))


def _denied(words: Sequence[str], place: int) -> bool:
    if list(words[place + 1 : place + 2]) == ["free"] or words[place] in _DENIALS:
        return words[place] not in _DENIALS
    before = place - 1
    while before >= 0 and words[before] in _BETWEEN:
        before -= 1
    freed = before >= 0 and words[before] == "free" and before < place - 1  # "free of paint"
    return before >= 0 and (words[before] in _DENIALS or freed)


@cache
def _forbidden_within(word: str) -> frozenset[str]:
    """Return the forbidden words that one begins or ends with: treatedpine, pretreated."""
    if word in _known_words() or word.startswith(("un", "non")):
        return frozenset()
    long = [part for part in _forbidden_words() if len(part) >= _ONE_WRONG]
    rests = {part: word.removeprefix(part).removesuffix(part) for part in long}
    joined = [part for part, rest in rests.items() if len(word) > len(rest) >= _A_WORD]
    return frozenset(part for part in joined if rests[part] not in _ENDINGS)


def _singular(word: str) -> str:
    one = word.removesuffix("s")
    return one if word not in _known_words() and one in _known_words() else word


# Words of names of several that are read when misspelt, too (our own choice): they mean no wood.
_TELLING = frozenset((
    "pressure", "creosote", "density", "particle", "poison", "railway", "railroad", "telegraph",
    "retardant",
))  # fmt: skip


@cache
def _forbidden_words() -> tuple[str, ...]:
    """Return the words by which something that must not be burned is known, but common ones."""
    names = (name for one in all_materials() if one.grade in BLOCKING for name in one.names)
    whole = {name[0] for name in names if len(name) == 1}
    long = {word for word in whole if len(word) >= _ONE_WRONG or word in _table()["misread"]}
    return tuple(sorted(long | _TELLING))


@cache
def _nearest_forbidden(word: str) -> str:
    """Return the forbidden word that a word may be meant for; empty if it is none."""
    if word in _known_words() or (word.startswith("un") and _is_word(word[2:])):
        return ""
    near = [(wrong, right) for right in _forbidden_words() if (wrong := _wrong(word, right))]
    if not near:
        return ""
    wrong, right = min(near)
    harmless = _known_words().difference(_forbidden_words())
    nearer = any(_distance(word, other) <= wrong for other in harmless if len(other) >= _LONG)
    return "" if nearer else right


@cache
def _nearest_wood(word: str) -> str:
    """Return the longer word of what needs care that one may be meant for, a letter wrong."""
    if word in _known_words() or len(word) < _LONG:
        return ""
    care = (one for one in all_materials() if one.grade not in BLOCKING)
    names = {name[0] for one in care for name in one.names if len(name) == 1}
    long = (name for name in names if len(name) >= _LONG)
    return next((name for name in sorted(long) if _distance(word, name) == 1), "")


def _is_word(rest: str) -> bool:
    return rest in _known_words() or any(_wrong(rest, word) for word in _forbidden_words())


def _wrong(word: str, right: str) -> int:
    """Return how many letters of a word are wrong where it may be meant for another; else 0."""
    if abs(len(word) - len(right)) > 2:
        return 0
    if len(right) < _ONE_WRONG:
        return int(set(word) == set(right) and 0 <= len(word) - len(right) <= 1)
    allowed = 1 if len(right) < _TWO_WRONG else 2
    wrong = _distance(word, right)
    return wrong if wrong <= allowed else 0


def _distance(one: str, other: str) -> int:
    """Return the letters to change, add, take out or change about between two words.

    The optimal string alignment distance (Damerau 1964, Communications of the ACM 7(3)).
    """
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(one, start=1):
        before, last, row = row, before, [i]
        for j, wanted in enumerate(other, start=1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != wanted))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == wanted:
                cost = min(cost, last[j - 2] + 1)
            row.append(cost)
    return row[-1]


# What it is not to be burned on: up to where it goes on to say on what.
_NOT_ON = re.compile(r"\b(?:not|never) (?:on|onto)\b.*?(?=\bon\b|\bbut\b|$)", re.IGNORECASE)
# Within how many words after "on" the wood is named (a guess: "on" with an article, three
# adjectives and the wood).
_REACH = 6


def said_in(text: str) -> tuple[Match, ...]:
    """Return what must not be burned, or is glued, that an order's own words name as its wood.

    A picture of a painted horse or of a yew is no painted wood and no yew: a word counts
    if it means a material and nothing else, or if it follows "on" with what one burns on.

    Examples
    --------
    >>> [one.material.key for one in said_in("Their cat, on the MDF panel they bring")]
    ['mdf']
    >>> said_in("Painted horse under a yew")
    ()
    >>> [one.material.key for one in said_in("Horse, on a painted board")]
    ['painted']
    """
    clauses = [
        tuple(words_of(_NOT_ON.sub(" ", clause))) for clause in re.split(r"[,;:!?\n]|\.\s", text)
    ]
    found: dict[str, Match] = {}
    for words in clauses:
        said = _affirmed(words)
        for material in all_materials():
            if any(set(name) <= said for name in material.plain):
                found.setdefault(material.key, Match(material))
        for match in _on_wood(words):
            if match.material.grade in (*BLOCKING, Grade.ASK):
                found.setdefault(match.material.key, match)
    order = list(all_materials())
    return tuple(sorted(found.values(), key=lambda match: order.index(match.material)))


def spoken_of(text: str) -> tuple[Match, ...]:
    """Return what must not be burned that a sentence about a board names: it may be the picture's.

    Examples
    --------
    >>> [one.material.key for one in spoken_of("Her own board, it was varnished. Painted horse")]
    ['sealed']
    """
    boards = _table()["boards"]
    found: dict[str, Match] = {}
    for sentence in re.split(r"[;!?\n]|\.\s", _NOT_ON.sub(" ", text)):
        if any(_singular(word) in boards for word in words_of(sentence)):
            for match in found_in(sentence):
                if match.material.grade in BLOCKING and not match.word:
                    found.setdefault(match.material.key, match)
    return tuple(found.values())


def noted_in(text: str) -> tuple[Match, ...]:
    """Return what must not be burned, or with care, that a note on a board names as of the board.

    Nothing is guessed of its spelling: a note has words of every kind. What other woods irritate
    is not the board's.

    Examples
    --------
    >>> [one.material.key for one in noted_in("Painted on the back")], noted_in("painting wall")
    (['painted'], ())
    """
    of_boards = (*BLOCKING, Grade.ASK, Grade.CARE)
    named = [one for one in found_in(text) if one.material.grade in of_boards and not one.word]
    others = [one for one in said_in(text) if one not in named]
    return (*named, *others)


def _on_wood(words: tuple[str, ...]) -> Iterable[Match]:
    surfaces = _table()["surfaces"]
    for place, word in enumerate(words):
        if word in ("on", "onto"):
            after = words[place + 1 : place + 1 + _REACH]
            at = next((n for n, one in enumerate(after) if _singular(one) in surfaces), None)
            alone = 0 < len(after) <= 2 and place + 1 + len(after) == len(words)  # "on yew"
            if at is not None or alone:
                of = at is None or after[at + 1 : at + 2] == ("of",)  # "a slice of yew"
                yield from _found(after if of or at is None else after[: at + 1])
