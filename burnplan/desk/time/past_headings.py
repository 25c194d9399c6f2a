"""What the headings of a table of past jobs can mean, and which row has them.

A heading is looked up by its words, in several languages (`past_words.toml`).
"""

import re
from collections.abc import Iterable, Sequence
from functools import cache

from burnplan.desk.time.past_cells import all_words, known_words, spelled
from burnplan.desk.time.past_columns import MEANINGS, OWN, TOTAL

_CURRENCY = re.compile(r"\W*[$€£¥₹]\W*")
# Of lengths, as a heading has them.
_UNITS = ("mm", "cm", "in", "inch", "inches")
# Rows that may stand above the headings.
_TOP = 15  # a limit by definition

# How well a heading names something: wholly, by how many words, and how sure the name is.
Score = tuple[bool, int, int]
_MOST_WORDS = 8  # a guess: more is a sentence
_PAIRED = ({"w", "b", "width", "breite", "wide"}, {"h", "height", "hohe", "high"})


def words_of(heading: str) -> list[str]:
    """Return its words, spelled plainly; a mark of inches is one."""
    return re.findall(r"[^\W_]+|\"", spelled(heading))


def unit_in(words: Iterable[str], *units: str) -> str:
    """Return the unit, of these, that a heading names; 'in' is also a word."""
    found = [unit for unit in units if known_words("units")[unit] & set(words)]
    return next((unit for unit in found if unit != "in"), "in" if found else "")


@cache
def _names() -> dict[str, list[tuple[frozenset[str], int]]]:
    """Return the names of each meaning, as words, the surest with the highest rank."""
    return {
        meaning: [
            (frozenset(name.split()), -rank)
            for rank, name in enumerate(" ".join(words.split()).split("|"))
        ]
        for meaning, words in all_words()["names"].items()
    }


def about_others(heading: str) -> bool:
    """Return whether it is about something else than the past jobs' own facts."""
    return bool(known_words("others") & set(words_of(heading)))


def meanings_of(heading: str, beside: Sequence[str]) -> dict[str, Score]:
    """Return what a heading can mean, of a table that has other ones beside it."""
    exact = heading.strip().lower()
    if exact in MEANINGS or exact in OWN:
        return {OWN.get(exact, (exact,))[0]: (True, 9, 0)}
    words = frozenset(words_of(heading))
    if not words and _CURRENCY.fullmatch(exact):
        return {"price": (True, 1, 0)}
    if not words or about_others(heading) or len(words) > _MOST_WORDS:
        return {}
    side = words - set(_UNITS) or words
    if side <= {"w", "b", "h"}:
        others = {word for one in beside for word in words_of(one)}
        if all(others & side for side in _PAIRED):
            return {"height" if side == {"h"} else "width": (True, 1, 0)}
        return {TOTAL: (True, 1, -9)} if words == {"h"} else {}
    hours = known_words("hours")
    idle = hours["in_all"].union(*known_words("units").values())
    found: dict[str, Score] = {}
    for meaning, names in _names().items():
        scores = [(words <= name | idle, len(name), rank) for name, rank in names if name <= words]
        if scores:
            found[meaning] = max(scores)
    if words == {"total"}:
        found[TOTAL] = found["price"]
    spent = words & (hours["sure"] | hours["perhaps"])
    rest = words - spent - hours["in_all"]
    stages = [stage for stage, names in known_words("stages").items() if rest & names]
    if len(stages) == 1:
        only = rest <= known_words("stages")[stages[0]]
        found[stages[0]] = (only, 2, 0) if spent else (only, 1, -9)
    elif spent and not stages:
        found[TOTAL] = (not rest, len(words - rest), 0 if spent & hours["sure"] else -5)
    return found


def heading_row(rows: Sequence[tuple[int, list[str]]]) -> int | None:
    """Return which of the rows has the headings; None if there are none."""
    for place, (_, cells) in enumerate(rows[:_TOP]):
        filled = [cell for cell in cells if cell]
        known = sum(bool(meanings_of(cell, cells)) for cell in filled)
        if known > 1 and not any(map(_is_figure, filled)):
            return place
    for place, (_, cells) in enumerate(rows[:_TOP]):
        filled = [cell for cell in cells if cell]
        if len(filled) > 1:
            return None if any(map(_is_figure, filled)) else place
    return None


def _is_figure(cell: str) -> bool:
    return re.match(r"[^\w\s]{0,2}\s?\d", cell) is not None
