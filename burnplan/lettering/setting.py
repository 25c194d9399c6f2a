"""Set lines of text: runs by direction and script, shaped by HarfBuzz, in the order seen."""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import groupby

import uharfbuzz as hb

from burnplan.errors import BadInput
from burnplan.lettering.typefaces import Typeface
from burnplan.reading_order import in_visual_order, levels

FEATURES = {"kern": True, "liga": True, "lnum": True}
"""OpenType features asked for; lining figures, since an old-style 1 can be read as a letter."""

_COMMON = ("Zyyy", "Zinh", "Zzzz", "")  # scripts of what any script uses: ISO 15924
_JOINERS = "\u200c\u200d"


@dataclass(frozen=True, slots=True)
class Glyph:
    """A glyph in its place on a line; mm, y up from the baseline.

    Parameters
    ----------
    typeface : Typeface
    number : int
    x, y : float
        Of its origin.
    advance : float
        To the next one.
    scale : float
        Millimetres to a unit of the font.
    """

    typeface: Typeface
    number: int
    x: float
    y: float
    advance: float
    scale: float


@dataclass(frozen=True, slots=True)
class SetLine:
    """A line of text, set: its glyphs from left to right, and its advance width in mm."""

    text: str
    glyphs: tuple[Glyph, ...]
    width_mm: float


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of one direction, script and typeface; ``level`` is that of UAX #9."""

    text: str
    level: int
    script: str
    typeface: Typeface


def cleaned(text: str) -> str:
    r"""Return a line as it is set: composed, without what only steers its display.

    Examples
    --------
    >>> cleaned("  Bise\u0301  II ")
    'Bisé II'
    """
    composed = unicodedata.normalize("NFC", " ".join(text.split()))
    return "".join(
        one
        for one in composed
        if unicodedata.category(one) not in ("Cc", "Cf", "Cs", "Co") or one in _JOINERS
    )


def set_line(text: str, typefaces: Sequence[Typeface], height_mm: float) -> SetLine:
    """Set a line.

    Parameters
    ----------
    text : str
        In the order it is read.
    typefaces : sequence of Typeface
        The one chosen, then those that stand in for scripts it lacks.
    height_mm : float
        Of a capital.

    Returns
    -------
    SetLine

    Raises
    ------
    BadInput
        If it is empty, or none of the typefaces has a letter of it.
    """
    glyphs: list[Glyph] = []
    pen = 0.0
    for run in in_visual_order(runs(cleaned(text), typefaces), lambda run: run.level):
        scale = height_mm / run.typeface.cap_height
        buffer = hb.Buffer()
        buffer.add_str(run.text)
        buffer.guess_segment_properties()
        buffer.direction = "rtl" if run.level % 2 else "ltr"
        if run.script:
            buffer.script = run.script
        hb.shape(run.typeface.font, buffer, FEATURES)
        for info, at in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
            if info.codepoint == 0:
                _refuse([run.text], run.typeface.name)
            x, y = pen + at.x_offset * scale, at.y_offset * scale
            advance = at.x_advance * scale
            glyphs.append(Glyph(run.typeface, info.codepoint, x, y, advance, scale))
            pen += advance
    return SetLine(text, tuple(glyphs), pen)


def runs(text: str, typefaces: Sequence[Typeface]) -> list[Run]:
    """Return the runs of a line in the order they are read.

    Raises
    ------
    BadInput
        If it is empty, or none of the typefaces has a letter of it.
    """
    if not text:
        raise BadInput("There is nothing to letter", "Give the words, a line each")
    faces = _faces(text, typefaces)
    told = zip(text, levels(text), _scripts(text), faces, strict=True)
    return [
        Run("".join(one[0] for one in some), *how)
        for how, some in groupby(told, key=lambda one: (one[1], one[2], one[3]))
    ]


@cache
def _script_of(letter: str) -> str:
    buffer = hb.Buffer()
    buffer.add_str(letter)
    buffer.guess_segment_properties()
    return str(buffer.script or "")


def _scripts(text: str) -> list[str]:
    """Return each letter's script; what any script uses goes with what stands before it."""
    own = [_script_of(letter) for letter in text]
    known = [script for script in own if script not in _COMMON]
    here, found = (known[0] if known else ""), []
    for script in own:
        here = here if script in _COMMON else script
        found.append(here)
    return found


def _faces(text: str, typefaces: Sequence[Typeface]) -> list[Typeface]:
    """Return the typeface of each letter: the first that has it, marks with their letter's."""
    found: list[Typeface] = []
    missing: list[str] = []
    scripts = _scripts(text)
    chosen = typefaces[0]
    of_chosen = {scripts[at] for at, one in enumerate(text) if one.isalpha() and chosen.has(one)}
    for at, letter in enumerate(text):
        marks = unicodedata.category(letter).startswith("M") or letter in _JOINERS or letter == " "
        if marks and found and (letter in _JOINERS or found[-1].has(letter)):
            found.append(found[-1])
            continue
        # A face stands in for a whole script: one letter from elsewhere would be seen.
        alone = letter.isalpha() and scripts[at] in of_chosen
        having = [one for one in (typefaces[:1] if alone else typefaces) if one.has(letter)]
        if not having and letter not in _JOINERS:
            missing.append(letter)
        found.append(having[0] if having else chosen)
    if missing:
        _refuse(missing, chosen.name)
    return found


def _refuse(letters: Sequence[str], name: str) -> None:
    """Say which letters a typeface lacks, each with its code point: it may be hard to see."""
    said = ", ".join(
        f"{one} (U+{ord(one[0]):04X} {unicodedata.name(one[0], 'unnamed').lower()})"
        for one in dict.fromkeys(letters)
    )
    raise BadInput(
        f"The typeface '{name}' has no {said}",
        "Choose another one, or give a font file that has it",
    )
