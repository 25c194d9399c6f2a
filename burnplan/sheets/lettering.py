"""Type on printed sheets: one face, embedded, and what to do with letters it lacks.

The face is Source Sans (Latin, Greek and Cyrillic, SIL Open Font License). For
other scripts the fonts of the machine that prints are asked, by file name, in
the folders where reportlab looks for fonts; those that are read from the right
or join their letters are set by :mod:`burnplan.sheets.scripts`. A letter that
no font has becomes an empty box; :attr:`Typesetter.notes` then says so.
"""

import functools
import itertools
import unicodedata
from collections.abc import Callable, Collection, Iterable
from importlib import resources
from typing import BinaryIO

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import ShapedStr, TTFError, TTFont, TTFOpenFile
from reportlab.pdfgen.canvas import Canvas

from burnplan.sheets import scripts
from burnplan.unbroken import before_amount
from burnplan.units import MM_PER_POINT

BOX = "☐"
"""Stands for a letter that cannot be printed."""

POINTS_PER_MM = 1 / MM_PER_POINT

REGULAR, BOLD = "SourceSansPro-Regular", "SourceSansPro-Semibold"

# Common fonts that cover scripts beyond the face's own, those that are embedded soonest
# first; there is no order of preference among machines.
_ELSEWHERE = (
    "DejaVuSans.ttf", "DroidSansFallbackFull.ttf", "DroidSansFallback.ttf", "wqy-microhei.ttc",
    "wqy-zenhei.ttc", "NanumGothic.ttf", "ipagp.ttf", "Arial Unicode.ttf", "msyh.ttc",
    "msgothic.ttc", "malgun.ttf", "seguisym.ttf", "FreeSans.ttf", "Symbola.ttf",
    "NotoSansCJK-Regular.ttc", "NotoSansCJKjp-Regular.otf", "Hiragino Sans GB.ttc",
)  # fmt: skip


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
    name = file_name.partition(".")[0].replace(" ", "")
    try:
        path, file = TTFOpenFile(file_name)
        with file:
            font = _postscript(name, file) or TTFont(name, path)
    except (TTFError, OSError):
        return None
    pdfmetrics.registerFont(font)
    return font


def _postscript(name: str, file: BinaryIO) -> TTFont | None:
    """Return a font whose outlines are PostScript's, or None where they are not."""
    head = file.read(16)
    if head.startswith(b"ttcf"):  # a collection: where its first font begins
        file.seek(int.from_bytes(head[12:16], "big"))
        head = file.read(4)
    if not head.startswith(b"OTTO"):
        return None
    from burnplan.sheets import postscript_outlines

    file.seek(0)
    return postscript_outlines.load(name, file.read())


def _has(font: TTFont, letter: str) -> bool:
    return ord(letter) in font.face.charToGlyph


@functools.cache
def _set(letter: str, weight: str) -> tuple[str, str]:
    """Font for a letter, and the letter or what stands for it."""
    if _has(face(weight), letter):
        return weight, letter
    return _set_in((*_ELSEWHERE, *scripts.file_names(letter)), letter) or (weight, BOX)


def _set_in(files: Iterable[str], letter: str) -> tuple[str, str] | None:
    """Return the first of this machine's fonts, of those named, that has a letter."""
    for font in filter(None, map(_elsewhere, files)):
        if _has(font, letter):
            return font.fontName, letter
    return None


@functools.cache
def _set_beside(letter: str, before: str, weight: str) -> tuple[str, str]:
    """Font for a letter of a text that needs laying out, beside one in a font, and what is drawn.

    Spaces and points between the letters of a script are taken from its own font.
    """
    own = before and before not in (REGULAR, BOLD)
    if own and not letter.isalnum() and _has(pdfmetrics.getFont(before), letter):
        return before, letter
    if not scripts.needs_layout(letter):
        return _set(letter, weight)
    files = scripts.file_names(letter, bold=weight == BOLD)
    return _set_in((*files, *_ELSEWHERE), letter) or (weight, BOX)


def plain(text: str) -> str:
    """Return one line of composed letters, without what only steers their display.

    What steers a text that needs laying out is kept.
    """
    composed = unicodedata.normalize("NFC", text)
    steering = scripts.STEERING if scripts.needs_layout(composed) else ""
    shown = (
        letter
        for letter in composed
        if letter in steering
        or (
            (unicodedata.category(letter) not in ("Cc", "Cf", "Cs") or letter.isspace())
            and not 0xFE00 <= ord(letter) <= 0xFE0F
        )
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


def note_of(missing: Collection[str]) -> tuple[str, ...]:
    """Return a sentence on letters that became boxes, if any did."""
    if not missing:
        return ()
    letters = "".join(itertools.islice(missing, 12))
    more = " and others" if len(missing) > 12 else ""
    return (f"No font here can print {letters}{more}: empty boxes stand in their place",)


def with_boxes(text: str, missing: dict[str, None]) -> str:
    """Return text with boxes for letters that the face itself lacks, added to the missing."""
    lacking = dict.fromkeys(letter for letter in plain(text) if not _has(face(BOLD), letter))
    missing |= lacking
    return "".join(BOX if letter in lacking else letter for letter in plain(text))


class Typesetter:
    """Sets text in the face, and remembers what it could not set."""

    def __init__(self) -> None:
        self._missing: dict[str, None] = {}  # a set in order of meeting

    @property
    def notes(self) -> tuple[str, ...]:
        """A sentence on letters that became boxes, if any did."""
        return note_of(self._missing)

    def runs(self, text: str, weight: str = REGULAR) -> list[tuple[str, str]]:
        """Return stretches of a line from left to right, each with the name of its font.

        A stretch is a ``ShapedStr`` where its letters have shapes or places of their own.
        """
        letters = plain(text)
        if scripts.needs_layout(letters):
            return list(scripts.in_order(letters, functools.partial(self._beside, weight)))
        set_letters = [_set(letter, weight) for letter in letters]
        for letter, (_, shown) in zip(letters, set_letters, strict=True):
            self._note(letter, shown)
        return [
            (font, "".join(letter for _, letter in group))
            for font, group in itertools.groupby(set_letters, key=lambda pair: pair[0])
        ]

    def _beside(self, weight: str, letter: str, before: str) -> tuple[str, str]:
        font, shown = _set_beside(letter, before, weight)
        self._note(letter, shown)
        return font, shown

    def _note(self, letter: str, shown: str) -> None:
        if shown != letter:
            self._missing[letter] = None

    def width_mm(self, text: str, points: float, weight: str = REGULAR) -> float:
        """Width of a line of text."""
        widths = (_width(run, font, points) for font, run in self.runs(text, weight))
        return float(sum(widths)) / POINTS_PER_MM

    def draw(
        self, canvas: Canvas, at: tuple[float, float], text: str, points: float, weight: str
    ) -> None:
        """Draw a line of text from a point in points, reportlab's way up."""
        x, y = at
        for font, run in self.runs(text, weight):
            canvas.setFont(font, points)
            canvas.drawString(x, y, run)
            x += _width(run, font, points)

    def lines(
        self,
        text: str,
        width_mm: float,
        points: float,
        weight: str = REGULAR,
        most: int | None = 3,
    ) -> list[str]:
        """Break text into lines that fit a width; the last ends in … if not all does.

        Where any number may be taken, a word that is wider is broken instead of cut.
        """
        lines: list[str] = []
        for word in _pieces(plain(text)):
            if lines and self.width_mm(lines[-1] + word.rstrip(), points, weight) <= width_mm:
                lines[-1] += word
            elif most is None:
                lines += self._broken(word, width_mm, points, weight)
            else:
                lines.append(word)
        cut = [line.rstrip() for line in lines[:most]]
        if most is not None and len(lines) > most:
            cut[-1] = f"{cut[-1]} …"
        whole = [self.shortened(line, width_mm, points, weight) for line in cut]
        return [*whole[:1], *(scripts.going_on(text, line) for line in whole[1:])]

    def _broken(self, word: str, width_mm: float, points: float, weight: str) -> Iterable[str]:
        """Yield a word in parts that fit a width, each at least a letter."""
        while len(word) > 1 and self.width_mm(word.rstrip(), points, weight) > width_mm:
            fits = next(
                (n for n in range(len(word) - 1, 1, -1)
                 if self.width_mm(word[:n], points, weight) <= width_mm),
                1,
            )  # fmt: skip
            yield word[:fits]
            word = word[fits:]
        yield word

    def shortened(self, text: str, width_mm: float, points: float, weight: str = REGULAR) -> str:
        """Return text as it is, or cut off with … to fit a width."""
        return shortened(text, lambda cut: self.width_mm(cut, points, weight) <= width_mm)


def _width(run: str, font: str, points: float) -> float:
    """Return the width of a stretch in points: of its shapes, where it has shapes of its own."""
    if isinstance(run, ShapedStr):
        return float(sum(one.x_advance for one in run.__shapeData__)) * points / 1000
    return float(pdfmetrics.stringWidth(run, font, points))


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
