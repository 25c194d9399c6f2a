"""Paper, and how a picture at true size is shared out over the fewest sheets.

Lengths are millimetres; x runs to the right and y down from the top left
corner of the page or of the picture.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from burnplan.errors import BadInput

MARGIN_MM = 5.0
"""What a desktop printer leaves blank at each edge of the paper (common practice, no source)."""

SIDE_MM = 8.0
"""Strip left, right and above the picture for tape tabs, check bar and registration marks."""

FOOT_MM = 17.0
"""Strip below the picture for the check bar and what the page says of itself."""

STRIP_MM = 12.5
"""Strip at one edge of a page whose picture leaves no room for more."""

OVERLAP_MM = 10.0
"""Picture shown twice where two pages join: enough for a strip of tape."""

MOST_OVERLAP_MM = 50.0

MOST_PAGES = 120
"""More pages than anybody would paste together."""

UNEVEN = 1 / 3
"""Most that a page's part is larger or smaller than an even one, as a share of that."""

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


class Frame(StrEnum):
    """What a page has round the picture."""

    FULL = "full"  # tabs, registration marks, two check bars, what the page is
    FOOT = "foot"  # a narrow strip below
    SIDE = "side"  # the same at the right


@dataclass(frozen=True, slots=True)
class SheetPage:
    """A sheet of paper, one way round."""

    paper: Paper
    landscape: bool = False
    frame: Frame = Frame.FULL

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
        inset = MARGIN_MM if self.frame is not Frame.FULL else MARGIN_MM + SIDE_MM
        foot = {Frame.FULL: FOOT_MM - SIDE_MM, Frame.FOOT: STRIP_MM, Frame.SIDE: 0.0}[self.frame]
        end = STRIP_MM if self.frame is Frame.SIDE else 0.0
        return Box(inset, inset, self.width - 2 * inset - end, self.height - 2 * inset - foot)


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

    ``panel`` is the room for the panel on the last of them. Without it the panel needs
    a page of its own, but for a picture that leaves no room on its only page: there the
    panel is left out.
    """

    page: SheetPage
    width_mm: float
    height_mm: float
    columns: int
    rows: int
    overlap_mm: float
    tiles: tuple[Tile, ...]
    panel: Box | None

    @property
    def panel_apart(self) -> bool:
        """Whether the panel has a page of its own."""
        return self.panel is None and self.page.frame is Frame.FULL


def plan_tiles(
    width_mm: float,
    height_mm: float,
    paper: Paper,
    *,
    overlap_mm: float = OVERLAP_MM,
    panels: Sequence[tuple[float, float]] = (),
    whole: Sequence[Box] = (),
) -> TilePlan:
    """Share out a picture over the fewest pages, upright or across.

    What fits the printable area is not cut in two for what else a page has: tabs, one
    check bar and the panel give way. Else parts are about even, none less than half as
    large as another, and neighbouring pages both show an overlap.

    Parameters
    ----------
    width_mm, height_mm : float
    paper : Paper
    overlap_mm : float, optional
    panels : sequence of tuple of float, optional
        Sizes that the panel of facts can take; it counts as a page if none of them fits
        beside the picture.
    whole : sequence of Box, optional
        Parts of the picture that joints keep off if they can.

    Raises
    ------
    BadInput
        If the overlap is no use, or the pages would be too many.

    Examples
    --------
    >>> plan = plan_tiles(300, 400, A3)
    >>> len(plan.tiles), plan.page.landscape
    (2, True)
    >>> plan_tiles(200, 250, A4).page.frame
    <Frame.FOOT: 'foot'>
    """
    if not 0 <= overlap_mm <= MOST_OVERLAP_MM:
        raise BadInput(
            f"Pages cannot overlap by {overlap_mm:g} mm", "Use something like 10 mm, at most 50"
        )

    def planned(frame: Frame) -> list[TilePlan]:
        pages = (SheetPage(paper, landscape, frame) for landscape in (False, True))
        return [_plan(width_mm, height_mm, page, overlap_mm, panels, whole) for page in pages]

    plans = planned(Frame.FULL)
    if all(len(plan.tiles) > 1 for plan in plans):
        barely = [*planned(Frame.FOOT), *planned(Frame.SIDE)]
        plans = [plan for plan in barely if len(plan.tiles) == 1] or plans

    def paper_used(plan: TilePlan) -> tuple[int, int, bool]:
        pages = len(plan.tiles) + (plan.panel_apart and bool(panels))
        return pages, len(plan.tiles), plan.page.landscape is not (width_mm > height_mm)

    best = min(plans, key=paper_used)
    if len(best.tiles) > MOST_PAGES:
        raise BadInput(
            f"This picture would take {len(best.tiles)} pages of {paper.name}",
            "Choose larger paper, or have the trace SVG, which is written, printed on a roll",
        )
    return best


def _plan(
    width: float,
    height: float,
    page: SheetPage,
    overlap: float,
    panels: Sequence[tuple[float, float]],
    whole: Sequence[Box],
) -> TilePlan:
    window = page.window
    columns = _count(width, window.width, overlap)
    rows = _count(height, window.height, overlap)
    panel, room = None, window
    if page.frame is Frame.FULL:
        panel, room = _panel_room(
            window,
            _sizes(width, columns, window.width, overlap)[0],
            _sizes(height, rows, window.height, overlap)[0],
            panels,
        )
    across = [(box.x, box.right) for box in whole]
    down = [(box.y, box.bottom) for box in whole]
    lefts = _parts(width, columns, window.width, room.width, overlap, across)
    tops = _parts(height, rows, window.height, room.height, overlap, down)
    tiles: list[Tile] = []
    for row, (top, high) in enumerate(tops):
        for column, (left, wide) in enumerate(lefts):
            part, number = Box(left, top, wide, high), len(tiles) + 1
            here = room if number == columns * rows else window
            x, y = here.x + (here.width - wide) / 2, here.y
            if columns == rows == 1:
                y += _above(here.height - high, page)
            tiles.append(Tile(number, row, column, part, x, y))
    return TilePlan(page, width, height, columns, rows, overlap, tuple(tiles), panel)


def _above(spare: float, page: SheetPage) -> float:
    """How much of the spare height is above the picture: enough for tabs if there is."""
    tabs = 0.0 if page.frame is Frame.FULL else SIDE_MM
    return max(spare * _OPTICAL_MIDDLE, tabs if tabs <= spare else 0.0)


def _count(length: float, window: float, overlap: float) -> int:
    """Fewest windows that cover a length, each but the first giving up the overlap."""
    if length <= window + _SLACK:
        return 1
    return math.ceil((length - overlap - _SLACK) / (window - overlap))


def _sizes(length: float, count: int, window: float, overlap: float) -> tuple[float, float, float]:
    """Return the least, even and largest size of some parts of a length."""
    even = (length + (count - 1) * overlap) / count
    most = min(window, even * (1 + UNEVEN))
    return max(even * (1 - UNEVEN), even - (count - 1) * (most - even)), even, most


def _parts(
    length: float,
    count: int,
    window: float,
    last: float,
    overlap: float,
    whole: Sequence[tuple[float, float]],
) -> list[tuple[float, float]]:
    """Return where each part of a length starts and how long it is.

    They are as even as the room for the last one lets them be, but for a joint that
    would lie in what is kept whole: it moves as little as gets it out, if it can.
    """
    least, _even, most = (size - overlap for size in _sizes(length, count, window, overlap))
    last = min(last - overlap, most)
    joints, end = [overlap / 2], length - overlap / 2

    def crossed(joint: float) -> float:
        low, high = joint - overlap / 2, joint + overlap / 2
        return sum(max(0.0, min(high, stop) - max(low, start)) for start, stop in whole)

    for left in range(count - 1, 0, -1):
        before = joints[-1]
        low = max(before + least, end - (left - 1) * most - last)
        high = min(before + most, end - left * least)
        wanted = before + max((end - before) / (left + 1), (end - before - last) / left)
        wanted = max(low, min(high, wanted))
        beside = (at for a, b in whole for at in (a - overlap / 2, b + overlap / 2))
        tried = [wanted, low, high, *(at for at in beside if low < at < high)]
        joints.append(min(tried, key=lambda at: (round(crossed(at), 3), abs(at - wanted))))
    starts = [joint - overlap / 2 for joint in joints]
    stops = [*(joint + overlap / 2 for joint in joints[1:]), length]
    return [(start, stop - start) for start, stop in zip(starts, stops, strict=True)]


def _panel_room(
    window: Box, width: float, height: float, panels: Sequence[tuple[float, float]]
) -> tuple[Box | None, Box]:
    """Where the panel fits on the last page: at its foot, or else beside the picture.

    The picture's part there can be as narrow and as low as given; the second box is what
    the panel leaves for it.
    """
    beside_x = width + SIDE_MM + _GAP_MM
    below_y = height + _GAP_MM
    below = Box(window.x, window.y + below_y, window.width, window.height - below_y)
    beside = Box(window.x + beside_x, window.y, window.width - beside_x, window.height)
    for wide, high in panels:
        if below.holds(wide, high):
            room = Box(window.x, window.y, window.width, window.height - high - _GAP_MM)
            return Box(window.x, window.bottom - high, wide, high), room
    for wide, high in panels:
        if beside.holds(wide, high):
            room = Box(window.x, window.y, window.width - wide - SIDE_MM - _GAP_MM, window.height)
            return Box(window.right - wide, window.y, wide, high), room
    return None, window
