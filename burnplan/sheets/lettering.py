"""Type on printed sheets: one face, embedded, and what to do with letters it lacks.

The face is Source Sans (Latin, Greek and Cyrillic, SIL Open Font License). For
other scripts the fonts of the machine that prints are asked, by file name, in
the folders where reportlab looks for fonts. A letter that none of them has, or
whose script is written from right to left or joins its letters, which needs a
shaping engine, becomes an empty box; :attr:`Typesetter.notes` then says so.
"""

import functools
import itertools
import unicodedata
from collections.abc import Callable, Iterable
from importlib import resources

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont
from reportlab.pdfgen.canvas import Canvas

from burnplan.unbroken import before_amount
from burnplan.units import MM_PER_POINT

BOX = "☐"
"""Stands for a letter that cannot be printed."""

POINTS_PER_MM = 1 / MM_PER_POINT

REGULAR, BOLD = "SourceSansPro-Regular", "SourceSansPro-Semibold"

# Common fonts with TrueType outlines that cover scripts beyond the face's own,
# widest first; there is no order of preference among machines.
_ELSEWHERE = (
    "DejaVuSans.ttf", "DroidSansFallbackFull.ttf", "DroidSansFallback.ttf", "wqy-microhei.ttc",
    "wqy-zenhei.ttc", "NanumGothic.ttf", "ipagp.ttf", "Arial Unicode.ttf", "msyh.ttc",
    "msgothic.ttc", "malgun.ttf", "seguisym.ttf", "FreeSans.ttf", "Symbola.ttf",
)  # fmt: skip

# Hebrew to Arabic extended, the Indic scripts, Tibetan and Burmese, Khmer.
_NEEDS_SHAPING = ((0x0590, 0x08FF), (0x0900, 0x0DFF), (0x0F00, 0x109F), (0x1780, 0x17FF))


@functools.cache
def face(name: str) -> TTFont:
    """Return one of the face's weights, registered with reportlab."""
    folder = resources.files("font_source_sans_pro") / "files"
    with (folder / f"{name}.ttf").open("rb") as file:
        font = TTFont(name, file)
    pdfmetrics.registerFont(font)
    return font


def first_font() -> str:
    """Return the name of the font that a document starts with, registered."""
    return str(face(REGULAR).fontName)


@functools.cache
def _elsewhere(file_name: str) -> TTFont | None:
    """Return a font of this machine, if it is there and can be embedded."""
    try:
        font = TTFont(file_name.partition(".")[0].replace(" ", ""), file_name)
    except (TTFError, OSError):
        return None
    pdfmetrics.registerFont(font)
    return font


def _has(font: TTFont, letter: str) -> bool:
    return ord(letter) in font.face.charToGlyph


def _needs_shaping(letter: str) -> bool:
    return any(low <= ord(letter) <= high for low, high in _NEEDS_SHAPING)


@functools.cache
def _set(letter: str, weight: str) -> tuple[str, str]:
    """Font for a letter, and the letter or what stands for it."""
    if _has(face(weight), letter):
        return weight, letter
    if not _needs_shaping(letter):
        for font in filter(None, map(_elsewhere, _ELSEWHERE)):
            if _has(font, letter):
                return font.fontName, letter
    return weight, BOX


def plain(text: str) -> str:
    """Return one line of composed letters, without what only steers their display."""
    composed = unicodedata.normalize("NFC", text)
    shown = (
        letter
        for letter in composed
        if (unicodedata.category(letter) not in ("Cc", "Cf", "Cs") or letter.isspace())
        and not 0xFE00 <= ord(letter) <= 0xFE0F
    )
    return " ".join("".join(shown).split())


def shortened(text: str, fits: Callable[[str], bool]) -> str:
    """Return text as it is, or cut off with … so that it fits."""
    if fits(text):
        return text
    kept = text.removesuffix(" …").rstrip()
    while kept and not fits(f"{kept}…"):
        kept = kept[:-1].rstrip()
    return f"{before_amount(text, len(kept))}…"


class Typesetter:
    """Sets text in the face, and remembers what it could not set."""

    def __init__(self) -> None:
        self._missing: dict[str, None] = {}  # a set in order of meeting

    @property
    def notes(self) -> tuple[str, ...]:
        """A sentence on letters that became boxes, if any did."""
        if not self._missing:
            return ()
        letters = "".join(itertools.islice(self._missing, 12))
        more = " and others" if len(self._missing) > 12 else ""
        return (f"No font here can print {letters}{more}: empty boxes stand in their place",)

    def runs(self, text: str, weight: str = REGULAR) -> list[tuple[str, str]]:
        """Return stretches of text, each with the name of its font."""
        letters = plain(text)
        set_letters = [_set(letter, weight) for letter in letters]
        for letter, (_, shown) in zip(letters, set_letters, strict=True):
            if shown != letter:
                self._missing[letter] = None
        return [
            (font, "".join(letter for _, letter in group))
            for font, group in itertools.groupby(set_letters, key=lambda pair: pair[0])
        ]

    def width_mm(self, text: str, points: float, weight: str = REGULAR) -> float:
        """Width of a line of text."""
        widths = (
            pdfmetrics.stringWidth(run, font, points) for font, run in self.runs(text, weight)
        )
        return float(sum(widths)) / POINTS_PER_MM

    def draw(
        self, canvas: Canvas, at: tuple[float, float], text: str, points: float, weight: str
    ) -> None:
        """Draw a line of text from a point in points, reportlab's way up."""
        x, y = at
        for font, run in self.runs(text, weight):
            canvas.setFont(font, points)
            canvas.drawString(x, y, run)
            x += pdfmetrics.stringWidth(run, font, points)

    def lines(
        self, text: str, width_mm: float, points: float, weight: str = REGULAR, most: int = 3
    ) -> list[str]:
        """Break text into lines that fit a width; the last ends in … if not all does."""
        lines: list[str] = []
        for word in _pieces(plain(text)):
            if lines and self.width_mm(lines[-1] + word.rstrip(), points, weight) <= width_mm:
                lines[-1] += word
            else:
                lines.append(word)
        cut = [line.rstrip() for line in lines[:most]]
        if len(lines) > most:
            cut[-1] = f"{cut[-1]} …"
        return [self.shortened(line, width_mm, points, weight) for line in cut]

    def shortened(self, text: str, width_mm: float, points: float, weight: str = REGULAR) -> str:
        """Return text as it is, or cut off with … to fit a width."""
        return shortened(text, lambda cut: self.width_mm(cut, points, weight) <= width_mm)


def _pieces(text: str) -> Iterable[str]:
    """Parts between which a line may break: after spaces, and around wide letters."""
    piece = ""
    for letter in text:
        wide = unicodedata.east_asian_width(letter) in "WF"
        if piece and (wide or piece[-1] == " "):
            yield piece
            piece = ""
        if wide:
            yield letter
        else:
            piece += letter
    if piece:
        yield piece
