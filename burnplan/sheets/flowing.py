"""What flows: text that breaks into lines, and tables, laid out by ReportLab's platypus.

Lengths are millimetres here, as everywhere in the sheets; platypus itself takes points.
"""

import functools
import io
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

from PIL import Image
from reportlab.lib.enums import TA_CENTER, TA_LEFT, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph, Spacer, Table

from burnplan.sheets.drawing import HAIR, INK, RGB, Align, Drawing, colour_of
from burnplan.sheets.lettering import POINTS_PER_MM, REGULAR, Typesetter, face, first_font
from burnplan.sheets.paper import Box
from burnplan.sheets.scripts import needs_layout, reads_from_the_right

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

LEADING = 1.36
"""From one baseline to the next, over the size of type."""

_ALIGNED = {Align.LEFT: TA_LEFT, Align.MIDDLE: TA_CENTER, Align.RIGHT: TA_RIGHT}
_EDGES = ("LEFTPADDING", "RIGHTPADDING", "TOPPADDING", "BOTTOMPADDING")

Command = tuple[Any, ...]
Draw = Callable[[Drawing], object]


@functools.cache
def style(
    points: float,
    weight: str = REGULAR,
    colour: RGB = INK,
    align: Align = Align.LEFT,
    leading: float = LEADING,
    **more: float,
) -> ParagraphStyle:
    """Return how a paragraph is set; ``more`` is as platypus names it, in points."""
    return ParagraphStyle(
        "",
        fontName=face(weight).fontName,
        fontSize=points,
        leading=points * leading,
        textColor=colour_of(colour),
        alignment=_ALIGNED[align],
        **more,
    )


class Compositor(Typesetter):
    """A typesetter that makes what flows."""

    def text(self, text: str, *how: Any, **more: Any) -> "Paragraph | LaidOut":
        """Return text that fills the width it is given; a word that is wider is broken.

        A line break in the text is kept. The rest is as for :func:`style`.
        """
        set_in = style(*how, **more)
        if needs_layout(text):
            return LaidOut(self, text.splitlines(), set_in)
        face = set_in.fontName
        lines = (
            "".join(
                escape(run) if font == face else f'<font name="{font}">{escape(run)}</font>'
                for font, run in self.runs(line, face)
            )
            for line in text.splitlines()
        )
        return Paragraph("<br/>".join(lines), set_in)

    def line(
        self,
        text: str,
        width_mm: float,
        points: float,
        weight: str = REGULAR,
        *how: Any,
        **more: Any,
    ) -> "Paragraph | LaidOut":
        """Return a single line of text, cut off with … to fit a width."""
        return self.text(
            self.shortened(text, width_mm, points, weight), points, weight, *how, **more
        )

    def drawn(self, width_mm: float, height_mm: float, draw: Draw) -> Flowable:
        """Return a drawing that takes its place among what flows."""
        return _Drawn(width_mm, height_mm, lambda canvas: draw(Drawing(canvas, height_mm, self)))


class LaidOut(Flowable):  # type: ignore[misc]
    """A paragraph in scripts that platypus cannot lay out: it sets a letter after the other.

    Parameters
    ----------
    typesetter : Typesetter
    lines : sequence of str
        Each begins anew.
    style : ParagraphStyle
        Of which type, colour, alignment, leading, and the room right of it and after it are used.
    """

    def __init__(self, typesetter: Typesetter, lines: Sequence[str], style: ParagraphStyle) -> None:
        super().__init__()
        self._set, self._lines, self.style = typesetter, list(lines), style
        self._broken = self._lines
        self.spaceAfter = style.spaceAfter

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Return the room it takes of a width, in points."""
        del height
        self.width = width
        room = (width - self.style.rightIndent) / POINTS_PER_MM
        points, face = self.style.fontSize, self.style.fontName
        self._broken = [
            part
            for line in self._lines
            for part in self._set.lines(line, room, points, face, most=None) or [""]
        ]
        self.height = len(self._broken) * self.style.leading
        return width, self.height

    def split(self, width: float, height: float) -> "list[LaidOut]":
        """Return the lines that a height has room for, and the rest."""
        self.wrap(width, height)
        fit = int(height // self.style.leading)
        if not 0 < fit < len(self._broken):
            return [] if fit < len(self._broken) else [self]
        return [
            LaidOut(self._set, part, self.style)
            for part in (self._broken[:fit], self._broken[fit:])
        ]

    def draw(self) -> None:
        """Draw it, as platypus asks for."""
        points, face = self.style.fontSize, self.style.fontName
        self.canv.setFillColor(self.style.textColor)
        for number, line in enumerate(self._broken):
            spare = self.width - self.style.rightIndent
            spare -= self._set.width_mm(line, points, face) * POINTS_PER_MM
            share = {TA_LEFT: 0.0, TA_CENTER: 0.5, TA_RIGHT: 1.0}[self.style.alignment]
            # What reads from the right and goes on in another line begins at the right.
            if len(self._broken) > len(self._lines) and reads_from_the_right(line):
                share = 1.0
            y = self.height - points - number * self.style.leading
            self._set.draw(self.canv, (share * spare, y), line, points, face)


class _Drawn(Flowable):  # type: ignore[misc]
    def __init__(self, width_mm: float, height_mm: float, draw: Callable[[Canvas], object]) -> None:
        super().__init__()
        self.width, self.height = width_mm * POINTS_PER_MM, height_mm * POINTS_PER_MM
        self._draw = draw

    def draw(self) -> None:
        """Draw it, as platypus asks for."""
        self._draw(self.canv)


def table(
    rows: Sequence[Sequence[Any]],
    widths_mm: Sequence[float],
    *commands: Command,
    heights_mm: Sequence[float] | None = None,
    heads: int = 0,
) -> Table:
    """Return a table without lines or space in its cells but for what commands say.

    ``heads`` rows come again where it goes on on another page.
    """
    return Table(
        rows,
        colWidths=[width * POINTS_PER_MM for width in widths_mm],
        rowHeights=heights_mm and [height * POINTS_PER_MM for height in heights_mm],
        style=[
            ("FONTNAME", (0, 0), (-1, -1), first_font()),
            *((edge, (0, 0), (-1, -1), 0) for edge in _EDGES),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            *commands,
        ],
        repeatRows=heads,
        hAlign="LEFT",
    )


def rule(
    where: str, first: tuple[int, int], last: tuple[int, int], colour: RGB, weight_mm: float
) -> Command:
    """Return the command for lines, such as ``LINEBELOW``, from a cell (column, row) to another."""
    # Its ends are cut off square: they reach no farther than the cells.
    return where, first, last, weight_mm * POINTS_PER_MM, colour_of(colour), "butt"


def pad(row: int, above: float, below: float) -> tuple[Command, Command]:
    """Return the commands for space in a row's cells, in points."""
    return ("TOPPADDING", (0, row), (-1, row), above), ("BOTTOMPADDING", (0, row), (-1, row), below)


def gap(height_mm: float) -> Spacer:
    """Return empty room."""
    return Spacer(0, height_mm * POINTS_PER_MM)


def height_mm(what: Sequence[Flowable], width_mm: float) -> float:
    """Return how high things are, one above the other."""
    stacked = table([[list(what)]], [width_mm])
    return float(stacked.wrap(width_mm * POINTS_PER_MM, 0)[1]) / POINTS_PER_MM


def place(drawing: Drawing, x: float, y: float, width_mm: float, what: Sequence[Flowable]) -> float:
    """Set things one above the other from a point downwards; return where they end."""
    stacked = table([[list(what)]], [width_mm])
    height = stacked.wrapOn(drawing.canvas, width_mm * POINTS_PER_MM, 0)[1] / POINTS_PER_MM
    stacked.drawOn(drawing.canvas, *drawing.at(x, y + height))
    return y + float(height)


def in_two_columns(parts: Sequence[Sequence[Flowable]], width_mm: float, gap_mm: float) -> Table:
    """Share parts out over two columns, none torn apart, so that the taller is least tall."""
    column = (width_mm - gap_mm) / 2
    heights = [height_mm(part, column) + part[0].getSpaceBefore() / POINTS_PER_MM for part in parts]
    cuts = range(len(parts), -1, -1)
    cut = min(cuts, key=lambda cut: max(sum(heights[:cut]), sum(heights[cut:])))
    left, right = ([one for part in some for one in part] for some in (parts[:cut], parts[cut:]))
    return table([[left, "", right]], [column, gap_mm, column])


def framed(
    setter: Compositor, picture: "npt.NDArray[np.uint8]", longest_mm: float, longest_px: int
) -> Flowable:
    """Return a picture of shape (H, W, 3) with a hairline round it, as it is written on a page."""
    image = Image.fromarray(picture)
    image.thumbnail((longest_px, longest_px))
    packed = io.BytesIO()
    image.save(packed, "JPEG", quality=88)
    packed.seek(0)
    scale = longest_mm / max(image.size)
    whole = Box(0, 0, image.width * scale, image.height * scale)

    def draw(drawing: Drawing) -> None:
        size = whole.width * POINTS_PER_MM, whole.height * POINTS_PER_MM
        drawing.canvas.drawImage(ImageReader(packed), 0, 0, *size)
        drawing.stroke(HAIR, 0.15)
        drawing.box(whole)

    return setter.drawn(whole.width, whole.height, draw)
