"""Drawing in millimetres, y down, onto a page of a PDF."""

import io
import os
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from reportlab import rl_config
from reportlab.lib.colors import Color
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import FILL_EVEN_ODD, Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from burnplan.files import written_whole
from burnplan.sheets.lettering import POINTS_PER_MM, REGULAR, Typesetter, first_font
from burnplan.sheets.paper import Box, SheetPage

Points = Sequence[tuple[float, float]]
RGB = tuple[int, int, int]

INK: RGB = (43, 35, 32)
SOFT: RGB = (126, 115, 107)
HAIR: RGB = (196, 187, 179)
PAPER: RGB = (255, 255, 255)
RED: RGB = (196, 32, 38)
TONES: tuple[RGB, ...] = (
    (58, 34, 22), (92, 54, 32), (126, 78, 46), (158, 106, 66), (186, 138, 94),
    (208, 168, 126), (225, 195, 158), (238, 219, 190), (246, 235, 216),
)  # fmt: skip
"""From burned to bare wood: the ornament of whatever a client reads."""

_PHOTO_QUALITY = 85  # of JPEG; common practice, no source


class Align(StrEnum):
    """Which part of a line of text lies at its point."""

    LEFT = "left"
    MIDDLE = "middle"
    RIGHT = "right"


# Pictures as bytes rather than as text of 85 letters: a fifth smaller, and sooner written.
rl_config.useA85 = 0


def options(width_mm: float, height_mm: float) -> dict[str, Any]:
    """Return how a PDF with pages of one size begins; equal content makes equal bytes."""
    return {
        "pagesize": (width_mm * POINTS_PER_MM, height_mm * POINTS_PER_MM),
        "invariant": 1,
        "pageCompression": 1,
        "lang": "en",
        "initialFontName": first_font(),
    }


def new_pdf(path: Path, width_mm: float, height_mm: float, *, title: str, author: str) -> Canvas:
    """Begin a PDF with pages of one size."""
    canvas = Canvas(str(path), **options(width_mm, height_mm))
    canvas.setTitle(title)
    canvas.setAuthor(author)
    canvas.setCreator("burnplan")
    return canvas


@contextmanager
def one_page(
    path: str | os.PathLike[str], page: SheetPage, typesetter: Typesetter, **about: str
) -> Iterator["Drawing"]:
    """Write a PDF of one page, drawn on inside; ``about`` is its title and author."""
    with written_whole(path) as unfinished:
        canvas = new_pdf(unfinished, page.width, page.height, **about)
        yield Drawing(canvas, page.height, typesetter)
        canvas.showPage()
        canvas.save()


class Drawing:
    """A canvas, drawn on in millimetres from the top left corner of its page or form."""

    def __init__(self, canvas: Canvas, height_mm: float, typesetter: Typesetter) -> None:
        self.canvas = canvas
        self.height_mm = height_mm
        self.typesetter = typesetter

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return a point in points, counted from the bottom left as PDF does."""
        return x * POINTS_PER_MM, (self.height_mm - y) * POINTS_PER_MM

    def stroke(self, colour: RGB, width_mm: float, dash: Sequence[float] = ()) -> None:
        """Set colour, weight and dashes (mm) of the lines to come."""
        self.canvas.setStrokeColor(colour_of(colour))
        self.canvas.setLineWidth(width_mm * POINTS_PER_MM)
        self.canvas.setDash([length * POINTS_PER_MM for length in dash])

    def line(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """Draw a straight line."""
        self.canvas.line(*self.at(x0, y0), *self.at(x1, y1))

    def path(
        self, points: Points, *, closed: bool, fill: RGB | None = None, stroke: bool = True
    ) -> None:
        """Draw a line through points."""
        path = self.canvas.beginPath()
        self._follow(path, points, closed)
        if fill is not None:
            self.canvas.setFillColor(colour_of(fill))
        self.canvas.drawPath(path, stroke=int(stroke), fill=int(fill is not None))

    def paths(self, lines: Iterable[tuple[NDArray[np.float64], bool]]) -> None:
        """Draw many lines of points (K, 2), each open or closed, in one go."""
        code = ["n", *(self._code(points, 2) + "h" * closed for points, closed in lines)]
        if len(code) > 1:
            self.canvas.drawPath(PDFPathObject(code), stroke=1, fill=0)

    def area(self, rings: Iterable[NDArray[np.float64]], fill: RGB, rim_mm: float) -> None:
        """Fill what an odd number of rings of points (K, 2) goes round, and a rim along them.

        It takes many points at once, and places them to a tenth of a point (0.04 mm).
        """
        code = ["n", *(self._code(ring, 1) + "h" for ring in rings)]
        self.stroke(fill, rim_mm)
        self.canvas.setFillColor(colour_of(fill))
        self.canvas.drawPath(PDFPathObject(code), stroke=1, fill=1, fillMode=FILL_EVEN_ODD)

    def filled(self, rings: Iterable[NDArray[np.float64]], fill: RGB) -> None:
        """Fill what an odd number of rings of points (K, 2) goes round, to a micrometre."""
        code = ["n", *(self._code(ring, 3) + "h" for ring in rings)]
        self.canvas.setFillColor(colour_of(fill))
        self.canvas.drawPath(PDFPathObject(code), stroke=0, fill=1, fillMode=FILL_EVEN_ODD)

    def _code(self, points: NDArray[np.float64], decimals: int) -> str:
        """Return what draws a line through points, in points of type to some decimals."""
        at = np.stack([points[:, 0], self.height_mm - points[:, 1]], axis=1) * POINTS_PER_MM
        lines = f"%.{decimals}f %.{decimals}f l " * len(at) % tuple(at.ravel().tolist())
        return lines.replace("l", "m", 1)

    def _follow(self, path: PDFPathObject, points: Points, closed: bool) -> None:
        path.moveTo(*self.at(*points[0]))
        for point in points[1:]:
            path.lineTo(*self.at(*point))
        if closed:
            path.close()

    def box(self, box: Box, *, fill: RGB | None = None, stroke: bool = True) -> None:
        """Draw a rectangle."""
        if fill is not None:
            self.canvas.setFillColor(colour_of(fill))
        size = box.width * POINTS_PER_MM, box.height * POINTS_PER_MM
        how = {"stroke": int(stroke), "fill": int(fill is not None)}
        self.canvas.rect(*self.at(box.x, box.bottom), *size, **how)

    def image(self, picture: Image.Image, box: Box) -> None:
        """Draw a picture into a box, as a photo is kept; what is transparent in it is paper."""
        file = io.BytesIO()
        opaque = Image.new("RGB", picture.size, PAPER)
        opaque.paste(picture, mask=picture if picture.mode == "RGBA" else None)
        opaque.save(file, "JPEG", quality=_PHOTO_QUALITY)
        file.seek(0)
        size = box.width * POINTS_PER_MM, box.height * POINTS_PER_MM
        self.canvas.drawImage(ImageReader(file), *self.at(box.x, box.bottom), *size)

    def circle(self, x: float, y: float, radius: float, *, fill: RGB | None = None) -> None:
        """Draw a circle line, or a disc without one."""
        if fill is not None:
            self.canvas.setFillColor(colour_of(fill))
        how = {"stroke": int(fill is None), "fill": int(fill is not None)}
        self.canvas.circle(*self.at(x, y), radius * POINTS_PER_MM, **how)

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
        degrees: float = 0.0,
    ) -> float:
        """Set a line of text on a baseline; return its width in mm.

        ``degrees`` turns it anticlockwise about its point.
        """
        width = self.typesetter.width_mm(text, points, weight)
        shift = {Align.LEFT: 0.0, Align.MIDDLE: -width / 2, Align.RIGHT: -width}[align]
        self.canvas.setFillColor(colour_of(colour))
        with self.kept():
            self.canvas.translate(*self.at(x, y))
            self.canvas.rotate(degrees)
            self.typesetter.draw(self.canvas, (shift * POINTS_PER_MM, 0.0), text, points, weight)
        return width

    def clip(self, points: Points) -> None:
        """Show what follows only inside a polygon."""
        path = self.canvas.beginPath()
        self._follow(path, points, closed=True)
        self.canvas.clipPath(path, stroke=0, fill=0)

    @contextmanager
    def kept(self) -> Iterator[None]:
        """Undo clips and turns made inside afterwards."""
        self.canvas.saveState()
        try:
            yield
        finally:
            self.canvas.restoreState()


def ribbon(drawing: Drawing, box: Box) -> None:
    """Draw the tones from burned to bare wood side by side."""
    step = box.width / len(TONES)
    for number, tone in enumerate(TONES):
        # A hair wider than its step, so that no white shows between two.
        over = 0.1 if number < len(TONES) - 1 else 0.0
        part = Box(box.x + number * step, box.y, step + over, box.height)
        drawing.box(part, fill=tone, stroke=False)


def colour_of(rgb: RGB) -> Color:
    """Return a colour as reportlab takes it."""
    return Color(*(channel / 255 for channel in rgb))


def corners(box: Box) -> list[tuple[float, float]]:
    """Return the corners of a box, in order."""
    return [(box.x, box.y), (box.right, box.y), (box.right, box.bottom), (box.x, box.bottom)]
