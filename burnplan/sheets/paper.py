"""Paper, and how a picture at true size is shared out over the fewest sheets.

Lengths are millimetres; x runs to the right and y down from the top left
corner of the page or of the picture.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from burnplan.errors import BadInput

MARGIN_MM = 5.0
"""What a desktop printer leaves blank at each edge of the paper (common practice, no source)."""

SIDE_MM = 8.0
"""Strip left, right and above the picture for tape tabs, check bar and registration marks."""

FOOT_MM = 17.0
"""Strip below the picture for the check bar and what the page says of itself."""

OVERLAP_MM = 10.0
"""Picture shown twice where two pages join: enough for a strip of tape."""

MOST_OVERLAP_MM = 50.0

MOST_PAGES = 120
"""More pages than anybody would paste together."""

_GAP_MM = 8.0  # between picture and panel
_OPTICAL_MIDDLE = 0.42  # of what is spare above and below a picture
_SLACK = 1e-6  # mm; sums of tenths of millimetres are not exact


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle: its top left corner and its size."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Right edge."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Lower edge."""
        return self.y + self.height

    def holds(self, width: float, height: float) -> bool:
        """Whether something of a size fits inside."""
        return width <= self.width + _SLACK and height <= self.height + _SLACK


@dataclass(frozen=True, slots=True)
class Paper:
    """A size of paper, upright."""

    name: str
    width_mm: float
    height_mm: float


A4 = Paper("A4", 210.0, 297.0)  # ISO 216
A3 = Paper("A3", 297.0, 420.0)  # ISO 216
LETTER = Paper("Letter", 215.9, 279.4)  # ANSI/ASME Y14.1 size A
TABLOID = Paper("Tabloid", 279.4, 431.8)  # ANSI/ASME Y14.1 size B

PAPERS = {paper.name.lower(): paper for paper in (A4, A3, LETTER, TABLOID)}


def paper_named(name: str) -> Paper:
    """Return a paper by its name; BadInput if there is none.

    >>> paper_named("Letter").width_mm
    215.9
    """
    paper = PAPERS.get(name.strip().lower())
    if paper is None:
        raise BadInput(f"'{name}' is not a paper size known here", f"Use {', '.join(PAPERS)}")
    return paper


@dataclass(frozen=True, slots=True)
class SheetPage:
    """A sheet of paper, one way round."""

    paper: Paper
    landscape: bool = False

    @property
    def width(self) -> float:
        """Width of the sheet."""
        return self.paper.height_mm if self.landscape else self.paper.width_mm

    @property
    def height(self) -> float:
        """Height of the sheet."""
        return self.paper.width_mm if self.landscape else self.paper.height_mm

    @property
    def window(self) -> Box:
        """Where the picture can be."""
        inset = MARGIN_MM + SIDE_MM
        return Box(inset, inset, self.width - 2 * inset, self.height - inset - MARGIN_MM - FOOT_MM)


@dataclass(frozen=True, slots=True)
class Tile:
    """What one page shows of a picture.

    Tiles are numbered along rows, from 1, rows and columns counted from 0; x and y
    say where the part's top left corner lies on the page.
    """

    number: int
    row: int
    column: int
    part: Box
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class TilePlan:
    """A picture of a size shared out over pages, which are all the same way round.

    ``panel`` is the room for the panel on the last of them; without it the panel
    needs a page of its own.
    """

    page: SheetPage
    width_mm: float
    height_mm: float
    columns: int
    rows: int
    overlap_mm: float
    tiles: tuple[Tile, ...]
    panel: Box | None


def plan_tiles(
    width_mm: float,
    height_mm: float,
    paper: Paper,
    *,
    overlap_mm: float = OVERLAP_MM,
    panels: Sequence[tuple[float, float]] = (),
) -> TilePlan:
    """Share out a picture over the fewest pages, upright or across.

    Neighbouring pages both show an overlap. ``panels`` are the sizes that the panel of
    facts can take; it counts as a page if none of them fits beside the picture.

    Raises
    ------
    BadInput
        If the overlap is no use, or the pages would be too many.

    Examples
    --------
    >>> plan = plan_tiles(300, 400, A3)
    >>> len(plan.tiles), plan.page.landscape
    (2, True)
    """
    if not 0 <= overlap_mm <= MOST_OVERLAP_MM:
        raise BadInput(
            f"Pages cannot overlap by {overlap_mm:g} mm", "Use something like 10 mm, at most 50"
        )
    plans = [
        _plan(width_mm, height_mm, SheetPage(paper, landscape), overlap_mm, panels)
        for landscape in (False, True)
    ]

    def paper_used(plan: TilePlan) -> tuple[int, int, bool]:
        pages = len(plan.tiles) + (plan.panel is None and bool(panels))
        return pages, len(plan.tiles), plan.page.landscape is not (width_mm > height_mm)

    best = min(plans, key=paper_used)
    if len(best.tiles) > MOST_PAGES:
        raise BadInput(
            f"This picture would take {len(best.tiles)} pages of {paper.name}",
            "Choose larger paper or have it printed on a roll from the trace as SVG",
        )
    return best


def _plan(
    width: float,
    height: float,
    page: SheetPage,
    overlap: float,
    panels: Sequence[tuple[float, float]],
) -> TilePlan:
    window = page.window
    columns = _count(width, window.width, overlap)
    rows = _count(height, window.height, overlap)
    step_x, step_y = window.width - overlap, window.height - overlap
    last = Box(0, 0, width - (columns - 1) * step_x, height - (rows - 1) * step_y)
    panel = _panel_room(window, last, panels)
    x, y = window.x, window.y
    beside = panel is not None and panel.x > window.x
    if columns == 1:
        across = panel.x - window.x - _GAP_MM if panel is not None and beside else window.width
        x += (across - width) / 2
    if columns == rows == 1:
        down = panel.y - window.y if panel is not None and not beside else window.height
        y += (down - height) * _OPTICAL_MIDDLE
    tiles: list[Tile] = []
    for row in range(rows):
        for column in range(columns):
            left, top = column * step_x, row * step_y
            part = Box(left, top, min(window.width, width - left), min(window.height, height - top))
            tiles.append(Tile(len(tiles) + 1, row, column, part, x, y))
    return TilePlan(page, width, height, columns, rows, overlap, tuple(tiles), panel)


def _count(length: float, window: float, overlap: float) -> int:
    """Fewest windows that cover a length, each but the first giving up the overlap."""
    if length <= window + _SLACK:
        return 1
    return math.ceil((length - overlap - _SLACK) / (window - overlap))


def _panel_room(window: Box, last: Box, panels: Sequence[tuple[float, float]]) -> Box | None:
    """Where the panel fits on the last page: at its foot, or else beside the picture."""
    beside_x = last.width + SIDE_MM + _GAP_MM
    below_y = last.height + _GAP_MM
    below = Box(window.x, window.y + below_y, window.width, window.height - below_y)
    beside = Box(window.x + beside_x, window.y, window.width - beside_x, window.height)
    for width, height in panels:
        if below.holds(width, height):
            return Box(window.x, window.bottom - height, width, height)
    for width, height in panels:
        if beside.holds(width, height):
            return Box(window.right - width, window.y, width, height)
    return None
