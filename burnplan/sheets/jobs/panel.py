"""The panel of a sheet at true size: what it is of, its blocks, which page holds what."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial

from reportlab.platypus import Flowable

from burnplan.outline import Outline
from burnplan.sheets.drawing import HAIR, INK, PAPER, SOFT, Align, Drawing
from burnplan.sheets.flowing import Compositor, Draw, gap, height_mm, place, table
from burnplan.sheets.lettering import BOLD, POINTS_PER_MM
from burnplan.sheets.paper import OVERLAP_MM, Box, Paper, plan_tiles
from burnplan.units import UnitSystem, format_length, format_size

BLOCK_MM = 57.0
"""Width of a block of the panel; three stand beside each other on A4."""

FORM = "picture"
"""Name of the picture, which is drawn once and shown by every page."""

TEXT_POINTS, SMALL_POINTS = 8.5, 7.0

_GAP, _WIDEST_GAP = 6.5, 16.0
_MAP_MM = 50.0
_HELP = (
    "Cut along the outline; leave the tabs on. Tape the upper ones as a hinge, "
    "the one at the side low by your drawing hand."
)
_MIRRORED = "Mirrored for a heat-transfer print: laid face down it reads the right way. "


@dataclass(frozen=True, slots=True)
class Facts:
    """What a sheet says of its job; whatever is empty is left out.

    ``size`` and ``date`` are as the user writes them, ``units`` those of areas, lengths
    and check bars on the sheet.
    """

    title: str
    code: str = ""
    size: str = ""
    wood: str = ""
    date: str = ""
    studio: str = ""
    units: UnitSystem = UnitSystem.METRIC


@dataclass(frozen=True, slots=True)
class PrintJob:
    """What is printed, once for all its pages.

    Parameters
    ----------
    kind : str
        What the sheet is, such as ``Reference``.
    facts : Facts
    outline : Outline
        The picture's, at its true size.
    draw : callable
        Draws what is inside the outline.
    paper : Paper
    left_handed : bool
        Puts the side tab on the left of the wood.
    mirrored : bool
        For prints whose ink is transferred by heat, face down.
    blocks : sequence of sequence of Flowable
        Parts of the panel, :data:`BLOCK_MM` wide.
    taped : bool
        Whether it is cut out and taped to the wood, and has tabs for that.
    rest : callable, optional
        Fills what the panel leaves of a page of its own.
    key : callable, optional
        Draws in one line what stands for the blocks where no page has room for a panel.
    note : str, optional
        What more is said there.
    whole : sequence of Box
        Parts of the picture that joints keep off if they can.
    """

    kind: str
    facts: Facts
    outline: Outline
    draw: Draw
    paper: Paper
    left_handed: bool
    mirrored: bool
    blocks: Sequence[Sequence[Flowable]]
    taped: bool = True
    rest: Callable[[Drawing, Box], None] | None = None
    key: Callable[[Drawing, Box], None] | None = None
    note: str = ""
    whole: Sequence[Box] = ()

    @property
    def size(self) -> str:
        """The picture's size, as the user writes it."""
        return self.facts.size or format_size(self.outline, self.facts.units)

    @property
    def bar_on_right(self) -> bool:
        """Whether the upright check bar stands on the right: away from the side tab."""
        return self.left_handed is not self.mirrored


class Panel:
    """What a sheet says of itself, on the last of its pages that has room, or on one of its own."""

    def __init__(self, job: PrintJob, setter: Compositor) -> None:
        self.job = job
        planned = partial(
            plan_tiles, job.outline.width_mm, job.outline.height_mm, job.paper, whole=_seen(job)
        )
        tiles, pages = len(planned().tiles), job.paper.name
        if tiles > 1:
            overlap = format_length(OVERLAP_MM, job.facts.units)
            pages += f", {tiles} pages, {overlap} overlap"
        self.blocks = [_title_block(job, pages, setter), *job.blocks]
        if tiles > 1:
            room = Box(0, 0, BLOCK_MM, _MAP_MM)
            self.blocks.append([setter.drawn(BLOCK_MM, _MAP_MM, lambda d: self._draw_map(d, room))])
        heights = [height_mm(block, BLOCK_MM) for block in self.blocks]
        count = len(heights)
        sizes = (  # side by side, or one above the other
            (count * BLOCK_MM + (count - 1) * _GAP, max(heights) + 4),
            (BLOCK_MM, sum(heights) + (count - 1) * _GAP),
        )
        self.plan = planned(panels=sizes)
        if tiles > 1 and self.plan.panel_apart:
            self.blocks.pop()  # on a page of its own the map has more room

    def draw(self, drawing: Drawing) -> None:
        """Draw it on its page."""
        plan, window = self.plan, self.plan.page.window
        room = plan.panel or window
        if room.width <= BLOCK_MM + 1:
            stacked = [part for block in self.blocks for part in (*block, gap(_GAP))]
            place(drawing, room.x, room.y, BLOCK_MM, stacked)
            return
        drawing.stroke(HAIR, 0.2)
        drawing.line(window.x, room.y, window.right, room.y)
        spare = window.width - len(self.blocks) * BLOCK_MM
        step = BLOCK_MM + min(_WIDEST_GAP, spare / max(1, len(self.blocks) - 1))
        y = 10 + max(
            place(drawing, room.x + number * step, room.y + 4, BLOCK_MM, block)
            for number, block in enumerate(self.blocks)
        )
        below = Box(window.x, y, window.width, window.bottom - y)
        if plan.panel_apart and len(plan.tiles) > 1:
            self._draw_map(drawing, below)
        elif plan.panel_apart and self.job.rest is not None:
            self.job.rest(drawing, below)

    def _draw_map(self, drawing: Drawing, room: Box) -> None:
        """Show which page holds which part."""
        heading(drawing, room.x, room.y, "Page map")
        x, y = room.x, room.y + 6
        scale = min(room.width / self.plan.width_mm, (room.height - 6) / self.plan.height_mm)
        with picture_at(drawing, self.job, x, y, scale):
            drawing.canvas.doForm(FORM)
        parts = [
            Box(x + part.x * scale, y + part.y * scale, part.width * scale, part.height * scale)
            for part in (tile.part for tile in self.plan.tiles)
        ]
        for colour, weight in ((PAPER, 0.7), (INK, 0.2)):  # to be seen on any picture
            drawing.stroke(colour, weight)
            for part in parts:
                drawing.box(part)
        for number, part in enumerate(parts, start=1):
            x, y = part.x + part.width / 2, part.y + part.height / 2
            radius = min(3.0, max(1.7, 0.45 * min(part.width, part.height)))
            drawing.circle(x, y, radius, fill=PAPER)
            at = x, y + 0.4 * radius, str(number), 10 * radius / 3.0
            drawing.text(*at, weight=BOLD, align=Align.MIDDLE)


def _seen(job: PrintJob) -> list[Box]:
    """Return what is kept whole where it lies on paper."""
    if not job.mirrored:
        return list(job.whole)
    return [Box(job.outline.width_mm - b.right, b.y, b.width, b.height) for b in job.whole]


def heading(drawing: Drawing, x: float, y: float, text: str) -> None:
    """Set the heading of a part of the panel that is drawn; it takes about 5 mm."""
    drawing.text(x, y + 2.6, text, TEXT_POINTS, weight=BOLD)


def _title_block(job: PrintJob, pages: str, setter: Compositor) -> list[Flowable]:
    facts = job.facts
    title = setter.lines(facts.title or job.kind, BLOCK_MM, 15, BOLD)
    known = (
        ("Job", facts.code), ("Size", facts.size), ("Wood", facts.wood), ("Paper", pages),
        ("Date", facts.date), ("Studio", facts.studio),
    )  # fmt: skip
    small = partial(setter.text, points=SMALL_POINTS, colour=SOFT)
    rows = [
        [small(label), setter.line(value, BLOCK_MM - 13, TEXT_POINTS)]
        for label, value in known
        if value
    ]
    on_one_line = ("TOPPADDING", (0, 0), (0, -1), TEXT_POINTS - SMALL_POINTS)
    said = (_MIRRORED if job.mirrored else "") + (_HELP if job.taped else "")
    return [
        small(job.kind),
        setter.text("\n".join(title), 15, BOLD, leading=1.17),
        gap(1.7),
        table(rows, [13, BLOCK_MM - 13], on_one_line, heights_mm=[4.2] * len(rows)),
        gap(1.5),
        small(said, leading=1.21),
    ]


@contextmanager
def picture_at(
    drawing: Drawing, job: PrintJob, x: float, y: float, scale: float = 1.0
) -> Iterator[None]:
    """Move to where the picture's top left corner lies, in its own millimetres."""
    with drawing.kept():
        drawing.canvas.translate(*drawing.at(x, y + job.outline.height_mm * scale))
        drawing.canvas.scale(scale, scale)
        if job.mirrored:
            drawing.canvas.translate(job.outline.width_mm * POINTS_PER_MM, 0)
            drawing.canvas.scale(-1, 1)
        yield
