"""In what order letters are seen: the Unicode Bidirectional Algorithm, UAX #9, by python-bidi."""

import unicodedata
from collections.abc import Callable, Sequence
from itertools import groupby
from operator import itemgetter
from typing import Any, TypeVar

from bidi import algorithm as uax9

T = TypeVar("T")


def levels(text: str) -> list[int]:
    """Return the level of each letter of a line; odd ones are read from right to left.

    What the algorithm leaves out, what only joins or steers (rule X9), goes with the letter
    before it.

    Examples
    --------
    >>> levels("ab אב 12")
    [0, 0, 0, 1, 1, 1, 2, 2]
    """
    known = "".join(map(_known, text))
    base = uax9.get_base_level(known)
    storage: dict[str, Any] = uax9.get_empty_storage()
    storage["base_level"], storage["base_dir"] = base, "LR"[base]
    uax9.get_embedding_levels(known, storage)
    every = list(storage["chars"])
    uax9.explicit_embed_and_overrides(storage)
    uax9.resolve_weak_types(storage)
    uax9.resolve_neutral_types(storage, False)
    uax9.resolve_implicit_levels(storage, False)
    of_letter = {id(one): one["level"] for one in storage["chars"]}
    found: list[int] = []
    for one in every:
        found.append(of_letter.get(id(one), found[-1] if found else base))
    return found


def _known(letter: str) -> str:
    """Return a letter, or a neutral one for what the library does not know: isolates, new ones."""
    unknown = unicodedata.bidirectional(letter) in ("", "LRI", "RLI", "FSI", "PDI")
    return "\N{OBJECT REPLACEMENT CHARACTER}" if unknown else letter


def in_visual_order(stretches: Sequence[T], level: Callable[[T], int]) -> list[T]:
    """Return stretches of a line, each of one level, from left to right: rule L2."""
    order = list(stretches)
    for least in range(max(map(level, order), default=0), 0, -1):
        turned: list[T] = []
        reached = [level(one) >= least for one in order]
        for beyond, group in groupby(zip(reached, order, strict=True), itemgetter(0)):
            together = [one for _, one in group]
            turned += together[::-1] if beyond else together
        order = turned
    return order
