"""Scripts that are more than one letter after the other: written from right to left, or joined.

In what order letters stand is said by the Unicode Bidirectional Algorithm (UAX #9,
by python-bidi), what shapes they take by the font's own rules (HarfBuzz, through
reportlab). The fonts are those of the machine that prints.
"""

import re
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import groupby
from typing import Any

from bidi import algorithm as uax9
from reportlab.pdfbase.ttfonts import shapeStr

# Hebrew to Arabic extended, the Indic scripts, Thai and Lao, Tibetan and Burmese, Khmer, and the
# forms for presentation (the Unicode Standard's blocks).
_RANGES = (
    (0x0590, 0x08FF), (0x0900, 0x109F), (0x1780, 0x17FF),
    (0xFB1D, 0xFDFF), (0xFE70, 0xFEFC),
)  # fmt: skip

JOINERS = "\u200c\u200d"
"""Zero width: they keep letters apart or together."""

_FROM_THE_LEFT, _FROM_THE_RIGHT = "\u200e", "\u200f"
_MARKS = "\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
"""They say where a text is read from right to left."""

STEERING = JOINERS + _MARKS
"""What no ink is spent on, and without which such a text would read wrongly."""

_ANY_SIZE = 10.0  # shapes do not depend on it

# Where reportlab looks, by the names that common fonts have; {} is the script's in Unicode.
_NAMES = ("NotoSans{}", "NotoNaskh{}", "NotoSerif{}", "Lohit-{}")
_FOR_MANY = (
    "DejaVuSans.ttf", "FreeSans.ttf", "Arial.ttf", "arial.ttf", "Nirmala.ttf", "Arial Unicode.ttf",
)  # fmt: skip


def needs_layout(text: str) -> bool:
    """Return whether a text is more than one letter after the other."""
    return any(map(_is_of_such_a_script, text))


def _is_of_such_a_script(letter: str) -> bool:
    return any(low <= ord(letter) <= high for low, high in _RANGES) or letter == _FROM_THE_RIGHT


def reads_from_the_right(text: str) -> bool:
    """Return whether a text as a whole is read from right to left (UAX #9, P2 and P3)."""
    return bool(uax9.get_base_level(text))


def embedded(text: str) -> str:
    """Return a text that keeps its own direction inside a sentence of another (UAX #9, X2)."""
    turned = needs_layout(text) and reads_from_the_right(text)
    return f"\u202b{text}\u202c" if turned else text


def going_on(text: str, line: str) -> str:
    """Return a line that is a part of a text, in the direction of the whole."""
    if not needs_layout(text):
        return line
    return f"{_FROM_THE_RIGHT if reads_from_the_right(text) else _FROM_THE_LEFT}{line}"


def file_names(letter: str, *, bold: bool = False) -> Iterator[str]:
    """Yield the files that may hold a letter's script, the best first."""
    script = re.split(r"\W", unicodedata.name(letter, ""), maxsplit=1)[0].title()
    for weight in ("Bold", "Regular") if bold else ("Regular",):
        yield from (f"{name.format(script)}-{weight}.ttf" for name in _NAMES)
    yield from (f"{name.format(script)}.ttf" for name in _NAMES)
    yield from _FOR_MANY


def in_order(
    text: str, font_of: Callable[[str, str], tuple[str, str]]
) -> Iterator[tuple[str, str]]:
    """Yield a line's stretches from left to right: the name of the font, and what is drawn in it.

    Parameters
    ----------
    text : str
        One line, in the order in which it is read, what steers it included.
    font_of : callable
        Takes a letter and the name of the font before it, and returns the name of the
        letter's font and what is to be drawn of it.

    Yields
    ------
    (str, str)
        What is drawn is a ``ShapedStr`` where the font gave its letters other shapes or places.
    """
    units = _units(text)
    found, font = [], ""
    for unit, level in zip(units, _levels([unit[0] for unit in units]), strict=True):
        if unit[0] not in _MARKS:
            font, shown = font_of(unit[0], font)
            found.append((level, font, shown + unit[1:]))
    stretches = [
        (level, font, "".join(said for *_, said in group))
        for (level, font), group in groupby(found, lambda one: one[:2])
    ]
    for level, font, said in _reordered(stretches):
        yield font, _shaped(font, said, level)


def _units(text: str) -> list[str]:
    """Return letters, each with the joiners behind it: they go where it goes."""
    return re.findall(f"[^{JOINERS}][{JOINERS}]*", text)


def _levels(letters: Sequence[str]) -> list[int]:
    """Return the level of each letter of a line, odd where it is read from the right."""
    text = "".join(map(_placed, letters))
    storage: dict[str, Any] = uax9.get_empty_storage()
    storage["base_level"] = uax9.get_base_level(text)
    storage["base_dir"] = "LR"[storage["base_level"]]
    uax9.get_embedding_levels(text, storage)
    every = list(storage["chars"])
    uax9.explicit_embed_and_overrides(storage)
    uax9.resolve_weak_types(storage)
    uax9.resolve_neutral_types(storage, False)
    uax9.resolve_implicit_levels(storage, False)
    # What X9 removes has no level of its own, and no ink.
    known = {id(one): one["level"] for one in storage["chars"]}
    return [known.get(id(one), storage["base_level"]) for one in every]


def _placed(letter: str) -> str:
    """Return a letter, or a neutral one for what the library does not know: isolates, new ones."""
    known = unicodedata.bidirectional(letter) not in ("", "LRI", "RLI", "FSI", "PDI")
    return letter if known else "\N{OBJECT REPLACEMENT CHARACTER}"


def _reordered(stretches: list[tuple[int, str, str]]) -> list[tuple[int, str, str]]:
    """Return stretches from left to right: rule L2, over whole stretches."""
    found = list(stretches)
    for level in range(max((level for level, *_ in found), default=0), 0, -1):
        turned = list[tuple[int, str, str]]()
        for at_least, group in groupby(found, partial(_reaches, level)):
            together = list(group)
            turned += together[::-1] if at_least else together
        found = turned
    return found


def _reaches(level: int, stretch: tuple[int, str, str]) -> bool:
    return stretch[0] >= level


def _shaped(font: str, said: str, level: int) -> str:
    """Return what is drawn of a stretch, in a font's own shapes where its script has them."""
    turned = level % 2 == 1
    # Figures stand as they are, also those of scripts whose letters are read from the right.
    written = {unicodedata.bidirectional(letter) for letter in said if needs_layout(letter)}
    if written & ({"R", "AL"} if turned else {"L", "NSM"}):
        shaped: str = shapeStr(said, font, _ANY_SIZE)
        return shaped
    if turned:  # brackets and such between such letters
        return "".join(uax9.MIRRORED.get(letter, letter) for letter in reversed(said))
    return said
