"""Letters to a client on paper.

A plain page: the studio and what the letter is at the head, a ribbon of tones
from burned to bare wood as the only ornament, figures in one column that lines
up at the right edge.
"""

import functools
import os
from collections.abc import Callable

from reportlab.pdfgen.canvas import Canvas

from burnplan.desk.settings import Paper as PaperName
from burnplan.desk.settings import Settings
from burnplan.sheets.drawing import HAIR, INK, RGB, SOFT, Align, Drawing
from burnplan.sheets.letter import (
    Figures,
    Grid,
    Letter,
    Prose,
    Signature,
    SmallPrint,
    Spelling,
)
from burnplan.sheets.lettering import BOLD, POINTS_PER_MM, REGULAR, Typesetter
from burnplan.sheets.paper import A4, LETTER, Box, Paper
from burnplan.sheets.writing import Written, written_whole

BURNT: RGB = (134, 66, 32)
_TONES: tuple[RGB, ...] = (
    (58, 34, 22),
    (92, 54, 32),
    (126, 78, 46),
    (158, 106, 66),
    (186, 138, 94),
    (208, 168, 126),
    (225, 195, 158),
    (238, 219, 190),
    (246, 235, 216),
)

_SIDE, _TOP, _FOOT = 24.0, 20.0, 24.0
_LABEL, _SMALL, _BODY, _TITLE, _KIND = 8.0, 8.4, 10.0, 19.0, 24.0
_MOST_ADDRESS_LINES = 8

Mark = Callable[[Drawing], object]


def letter_paper(settings: Settings) -> Paper:
    """Return the paper for letters: A4, or Letter where the studio's paper is American."""
    american = settings.paper in (PaperName.LETTER, PaperName.TABLOID)
    return LETTER if american else A4


@functools.cache
def _can_set(text: str) -> bool:
    typesetter = Typesetter()
    typesetter.runs(text)
    return not typesetter.notes


def print_spelling(currency: str, locale: str) -> Spelling:
    """Return the spelling of amounts and dates for print."""
    return Spelling(currency, locale, _can_set)


def _leading(points: float) -> float:
    return points * 1.36 / POINTS_PER_MM


class _Flow:
    """Marks on pages, filled from the top down.

    What is drawn is kept until the number of pages is known.
    """

    def __init__(self, letter: Letter, paper: Paper, typesetter: Typesetter) -> None:
        self.letter = letter
        self.paper = paper
        self.set = typesetter
        self.pages: list[list[Mark]] = []
        self.notes: list[str] = []
        self.left = _SIDE
        self.right = paper.width_mm - _SIDE
        self.bottom = paper.height_mm - _FOOT
        self.y = _TOP
        self.turn()

    @property
    def width(self) -> float:
        """Width of the text."""
        return self.right - self.left

    def turn(self) -> None:
        """Begin a page; all but the first have a short head."""
        self.pages.append([])
        self.y = _TOP
        if len(self.pages) > 1:
            named = " ".join(part for part in (self.letter.kind, self.letter.number) if part)
            self.text(self.left, self.y, f"{named}, continued", _SMALL, colour=SOFT)
            self.y += 3.0
            self.ribbon(self.y)
            self.y += 11.0

    def need(self, height: float) -> None:
        """Turn the page unless so much room is left."""
        if self.y + height > self.bottom:
            self.turn()

    def mark(self, mark: Mark) -> None:
        """Draw something on the page in hand, later."""
        self.pages[-1].append(mark)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        points: float,
        *,
        weight: str = REGULAR,
        colour: RGB = INK,
        align: Align = Align.LEFT,
    ) -> None:
        """Set a line on a baseline."""
        self.mark(lambda d: d.text(x, y, text, points, weight=weight, colour=colour, align=align))

    def rule(
        self, x0: float, x1: float, y: float, colour: RGB = HAIR, weight: float = 0.18
    ) -> None:
        """Draw a line across."""

        def draw(drawing: Drawing) -> None:
            drawing.stroke(colour, weight)
            drawing.line(x0, y, x1, y)

        self.mark(draw)

    def ribbon(self, y: float) -> None:
        """Draw the tones from burned to bare wood across the page."""
        step = self.width / len(_TONES)

        def draw(drawing: Drawing) -> None:
            for number, tone in enumerate(_TONES):
                # A hair wider than its step, so that no white shows between two.
                over = 0.1 if number < len(_TONES) - 1 else 0.0
                box = Box(self.left + number * step, y, step + over, 1.1)
                drawing.box(box, fill=tone, stroke=False)

        self.mark(draw)

    def heading(self, text: str, keep: float) -> None:
        """Set a heading that stays with what follows it."""
        self.need(6.5 + keep)
        if text:
            self.text(self.left, self.y + 2.8, text, _LABEL, weight=BOLD, colour=BURNT)
            self.y += 4.6


def write_letter(letter: Letter, path: str | os.PathLike[str], paper: Paper) -> Written:
    """Write a letter as a PDF; the same letter gives the same bytes.

    Raises
    ------
    BadInput
        If the folder does not exist.
    OperationFailed
        If the file cannot be written.
    """
    typesetter = Typesetter()
    flow = _Flow(letter, paper, typesetter)
    _head(flow)
    for section in letter.sections:
        match section:
            case Figures():
                _figures(flow, section)
            case Prose():
                _prose(flow, section)
            case SmallPrint():
                _small_print(flow, section)
            case Grid():
                _grid(flow, section)
            case Signature():
                _signature(flow, section)
    with written_whole(path) as unfinished:
        size = (paper.width_mm * POINTS_PER_MM, paper.height_mm * POINTS_PER_MM)
        canvas = Canvas(str(unfinished), pagesize=size, invariant=1, pageCompression=1, lang="en")
        canvas.setTitle(" ".join(part for part in (letter.kind, letter.number) if part))
        canvas.setAuthor(letter.studio)
        canvas.setSubject(letter.title)
        canvas.setCreator("burnplan")
        for number, marks in enumerate(flow.pages, start=1):
            drawing = Drawing(canvas, paper.height_mm, typesetter)
            for mark in marks:
                mark(drawing)
            _foot(drawing, flow, number)
            canvas.showPage()
        canvas.save()
    return Written(written_path(path), len(flow.pages), (*flow.notes, *typesetter.notes))
