"""Scripts that are more than one letter after the other: written from right to left, or joined.

In what order letters stand is said by the Unicode Bidirectional Algorithm (UAX #9,
by python-bidi), what shapes they take by the font's own rules (HarfBuzz, through
reportlab). The fonts are those of the machine that prints.
"""

import re
import unicodedata
from collections.abc import Callable, Iterator
from itertools import groupby

from bidi import algorithm as uax9
from reportlab.pdfbase.ttfonts import shapeStr

from burnplan.reading_order import in_visual_order, levels

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


_SUCH_A_SCRIPT = re.compile(
    f"[{_FROM_THE_RIGHT}{''.join(f'{chr(low)}-{chr(high)}' for low, high in _RANGES)}]"
)


def needs_layout(text: str) -> bool:
    """Return whether a text is more than one letter after the other."""
    return _SUCH_A_SCRIPT.search(text) is not None


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
    found: list[tuple[int, str, str]] = []
    font = ""
    for letter, level in zip(text, levels(text), strict=True):
        shown = letter
        if letter in _MARKS or (letter in JOINERS and not found):
            continue
        if letter not in JOINERS:  # these go with the letter before them
            font, shown = font_of(letter, font)
        found.append((level, font, shown))
    stretches = [
        (level, font, "".join(said for *_, said in group))
        for (level, font), group in groupby(found, lambda one: one[:2])
    ]
    for level, font, said in in_visual_order(stretches, lambda one: one[0]):
        yield font, _shaped(font, said, level)


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
