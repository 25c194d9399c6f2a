"""Pages that carry a picture at true size: tiles, check bars, marks, panel of facts."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from reportlab.pdfgen.canvas import Canvas

from burnplan.sheets.drawing import HAIR, INK, PAPER, RED, SOFT, Align, Drawing, corners, new_pdf
from burnplan.sheets.lettering import BOLD, POINTS_PER_MM, Typesetter
from burnplan.sheets.paper import (
    MARGIN_MM,
    SIDE_MM,
    Box,
    Paper,
    SheetPage,
    Tile,
    TilePlan,
    plan_tiles,
)
from burnplan.units import UnitSystem, format_length

BAR_MM = 50.0
"""Length of the check bars."""

BLOCK_MM = 57.0
"""Width of a block of the panel; three stand beside each other on A4."""

_GAP, _WIDEST_GAP = 6.5, 16.0
_FORM = "picture"
_MARK_MM = 4.0  # from the picture to the middle of a registration mark
_TRUE_SIZE = "Print at 100 %, not fitted to the page. Both bars must measure 50 mm."


@dataclass(frozen=True, slots=True)
class Facts:
    """What a sheet says of its job; whatever is empty is left out.

    Parameters
    ----------
    title : str
    code : str
        Of the commission.
    size : str
        Of the blank, in the user's units.
    wood : str
    date : str
        When the sheet was made, as the user writes dates.
    studio : str
    units : UnitSystem
        Of areas and lengths on the sheet; check bars are always 50 mm.
    """

    title: str
    code: str = ""
    size: str = ""
    wood: str = ""
    date: str = ""
    studio: str = ""
    units: UnitSystem = UnitSystem.METRIC


@dataclass(frozen=True, slots=True)
class Block:
    """A part of the panel, :data:`BLOCK_MM` wide.

    Parameters
    ----------
    height_mm : float
    draw : callable
        Takes the drawing, and x and y of its top left corner.
    """

    height_mm: float
    draw: Callable[[Drawing, float, float], None]


@dataclass(frozen=True, slots=True)
class PrintJob:
    """What is printed, once for all its pages.

    Parameters
    ----------
    kind : str
        What the sheet is, such as ``Reference``.
    facts : Facts
    width_mm, height_mm : float
        True size of the picture.
    draw : callable
        Draws the picture, which may reach :data:`SIDE_MM` beyond its size; takes
        x of registration marks above the picture, which it should keep clear of.
    blocks : sequence of Block
    mirrored : bool
    left_handed : bool
    rest : callable, optional
        Fills what the panel leaves of a page of its own.
    """

    kind: str
    facts: Facts
    width_mm: float
    height_mm: float
    draw: Callable[[Drawing, Sequence[float]], None]
    blocks: Sequence[Block]
    mirrored: bool
    left_handed: bool
    rest: Callable[[Drawing, Box], None] | None = None

    @property
    def bar_on_right(self) -> bool:
        """Whether the upright check bar stands on the right: away from the side tab."""
        return self.left_handed is not self.mirrored


def print_pages(
    path: Path, job: PrintJob, paper: Paper, overlap_mm: float, typesetter: Typesetter
) -> int:
    """Write a PDF of a job and return its number of pages."""
    plan, blocks = _planned(job, paper, overlap_mm, typesetter)
    pages = len(plan.tiles) + (plan.panel is None)
    page = plan.page
    title = " · ".join(part for part in (job.facts.title, job.kind) if part)
    canvas = new_pdf(path, page.width, page.height, title=title, author=job.facts.studio)
    canvas.setSubject(_TRUE_SIZE)
    canvas.setViewerPreference("PrintScaling", "None")
    _make_form(canvas, job, plan, typesetter)
    for tile in plan.tiles:
        drawing = Drawing(canvas, page.height, typesetter)
        _draw_tile(drawing, job, plan, tile)
        _draw_bars(drawing, page, job)
        _draw_foot(drawing, page, job, f"Page {tile.number} of {pages}", _place(plan, tile))
        if tile is plan.tiles[-1] and plan.panel is not None:
            _draw_panel(drawing, page, plan.panel, blocks)
        canvas.showPage()
    if plan.panel is None:
        _draw_last_page(Drawing(canvas, page.height, typesetter), job, plan, blocks, pages)
        canvas.showPage()
    canvas.save()
    return pages


def _planned(
    job: PrintJob, paper: Paper, overlap_mm: float, typesetter: Typesetter
) -> tuple[TilePlan, list[Block]]:
    """Return the pages, and the blocks that go on them."""
    size = job.width_mm, job.height_mm
    tiles = len(plan_tiles(*size, paper, overlap_mm=overlap_mm).tiles)
    blocks = [_title_block(job, paper, tiles, overlap_mm, typesetter), *job.blocks]
    if tiles > 1:
        # The map needs the plan that it shows: the plan reckons with its size alone.
        blocks.append(Block(_MAP_MM, lambda *_: None))
    plan = plan_tiles(*size, paper, overlap_mm=overlap_mm, panels=_panel_sizes(blocks))
    if tiles > 1:
        blocks.pop()
    if tiles > 1 and plan.panel is not None:
        blocks.append(
            Block(
                _MAP_MM,
                lambda drawing, x, y: _draw_map(drawing, job, plan, Box(x, y, BLOCK_MM, _MAP_MM)),
            )
        )
    return plan, blocks


def _panel_sizes(blocks: Sequence[Block]) -> list[tuple[float, float]]:
    """Blocks side by side, or one above the other."""
    count = len(blocks)
    heights = [block.height_mm for block in blocks]
    return [
        (count * BLOCK_MM + (count - 1) * _GAP, max(heights) + 4),
        (BLOCK_MM, sum(heights) + (count - 1) * _GAP),
    ]


# The picture -----------------------------------------------------------------------


def _make_form(canvas: Canvas, job: PrintJob, plan: TilePlan, typesetter: Typesetter) -> None:
    """Draw the picture once; every page shows its part of it."""
    joints = [tile.part.right - plan.overlap_mm / 2 for tile in plan.tiles[: plan.columns - 1]]
    if job.mirrored:
        joints = [job.width_mm - x for x in joints]
    pad = SIDE_MM * POINTS_PER_MM
    canvas.beginForm(
        _FORM, -pad, -pad, job.width_mm * POINTS_PER_MM + pad, job.height_mm * POINTS_PER_MM + pad
    )
    job.draw(Drawing(canvas, job.height_mm, typesetter), joints)
    canvas.endForm()


@contextmanager
def _picture_at(
    drawing: Drawing, job: PrintJob, x: float, y: float, scale: float = 1.0
) -> Iterator[None]:
    """Move to where the picture's top left corner lies, in its own millimetres."""
    with drawing.kept():
        drawing.canvas.translate(*drawing.at(x, y + job.height_mm * scale))
        drawing.canvas.scale(scale, scale)
        if job.mirrored:
            drawing.canvas.translate(job.width_mm * POINTS_PER_MM, 0)
            drawing.canvas.scale(-1, 1)
        yield


def _draw_tile(drawing: Drawing, job: PrintJob, plan: TilePlan, tile: Tile) -> None:
    part = tile.part
    # Only at the outer edges of the picture do tabs and the cutting line show.
    left = SIDE_MM if tile.column == 0 else 0.0
    right = SIDE_MM if tile.column == plan.columns - 1 else 0.0
    top = SIDE_MM if tile.row == 0 else 0.0
    bottom = SIDE_MM if tile.row == plan.rows - 1 else 0.0
    shown = Box(tile.x - left, tile.y - top, part.width + left + right, part.height + top + bottom)
    with drawing.kept():
        drawing.clip(corners(shown))
        with _picture_at(drawing, job, tile.x - part.x, tile.y - part.y):
            drawing.canvas.doForm(_FORM)
    _draw_joins(drawing, plan, tile)


def _draw_joins(drawing: Drawing, plan: TilePlan, tile: Tile) -> None:
    """Registration marks at the ends of each joint, and which page lies beyond it."""
    here = Box(tile.x, tile.y, tile.part.width, tile.part.height)
    half = plan.overlap_mm / 2
    above, below = here.y - _MARK_MM, here.bottom + _MARK_MM
    before, after = here.x - _MARK_MM, here.right + _MARK_MM
    # Which page lies beyond is said clear of the marks, or on a sliver not at all.
    across, down = here.x + here.width * 0.5, here.y + max(here.height * 0.2, 18.0)
    said_across, said_down = here.width > 34, here.height > 34
    if tile.column > 0:
        for y in (above, below):
            _registration(drawing, here.x + half, y)
        if said_down:
            _joins(drawing, before + 1, down, tile.number - 1, 90)
    if tile.column < plan.columns - 1:
        for y in (above, below):
            _registration(drawing, here.right - half, y)
        if said_down:
            _joins(drawing, after - 1, down, tile.number + 1, -90)
    if tile.row > 0:
        for x in (before, after):
            _registration(drawing, x, here.y + half)
        if said_across:
            _joins(drawing, across, above + 1, tile.number - plan.columns, 0)
    if tile.row < plan.rows - 1:
        for x in (before, after):
            _registration(drawing, x, here.bottom - half)
        if said_across:
            _joins(drawing, across, below + 1, tile.number + plan.columns, 0)


def _registration(drawing: Drawing, x: float, y: float) -> None:
    drawing.stroke(INK, 0.1)
    drawing.circle(x, y, 1.5)
    drawing.line(x - 2.6, y, x + 2.6, y)
    drawing.line(x, y - 2.6, x, y + 2.6)


def _joins(drawing: Drawing, x: float, y: float, number: int, degrees: float) -> None:
    drawing.text(
        x, y, f"joins page {number}", 6.5, colour=SOFT, align=Align.MIDDLE, degrees=degrees
    )


# What every page carries --------------------------------------------------------------


def _draw_bars(drawing: Drawing, page: SheetPage, job: PrintJob) -> None:
    """Two check bars, across and down, with a tick for each centimetre."""
    window = page.window
    right = job.bar_on_right
    y = page.height - MARGIN_MM - 3.0
    x = window.right - BAR_MM if right else window.x
    drawing.stroke(INK, 0.2)
    drawing.line(x, y, x + BAR_MM, y)
    for centimetre in range(6):
        tick = 3.0 if centimetre in (0, 5) else 1.6
        drawing.line(x + 10 * centimetre, y, x + 10 * centimetre, y - tick)
    drawing.text(x + BAR_MM / 2, y - 2.6, "50 mm", 7, align=Align.MIDDLE)

    inward = -1.0 if right else 1.0
    x = page.width - MARGIN_MM - 1.0 if right else MARGIN_MM + 1.0
    y = window.y + (window.height - BAR_MM) / 2
    drawing.line(x, y, x, y + BAR_MM)
    for centimetre in range(6):
        tick = 3.0 if centimetre in (0, 5) else 1.6
        drawing.line(x, y + 10 * centimetre, x + inward * tick, y + 10 * centimetre)
    label_x = x + inward * 4.4
    drawing.text(label_x, y + BAR_MM / 2, "50 mm", 7, align=Align.MIDDLE, degrees=inward * 90)


def _draw_foot(
    drawing: Drawing, page: SheetPage, job: PrintJob, right: str, below_right: str
) -> None:
    """Say what the page is: title on the free side of the check bar, page number at the end."""
    window = page.window
    y = page.height - MARGIN_MM - 6.2
    left_x, right_x = window.x, window.right
    if job.bar_on_right:
        right_x -= BAR_MM + 8
    else:
        left_x += BAR_MM + 8
    width = max(
        drawing.text(right_x, y, right, 8, weight=BOLD, align=Align.RIGHT),
        drawing.text(right_x, y + 3.4, below_right, 7, colour=SOFT, align=Align.RIGHT),
    )
    room = right_x - left_x - width - 5
    named = " · ".join(part for part in (job.facts.code, job.facts.title, job.kind) if part)
    named = drawing.typesetter.shortened(named, room, 8, BOLD)
    drawing.text(left_x, y, named, 8, weight=BOLD)
    said = drawing.typesetter.lines(_TRUE_SIZE, room, 7, most=2)
    for number, line in enumerate(said):
        drawing.text(left_x, y + 3.4 + 2.8 * number, line, 7, colour=SOFT)
    if job.mirrored:
        drawing.text(left_x, y - 3.6, "Mirrored: lay it face down", 7, weight=BOLD, colour=RED)


def _place(plan: TilePlan, tile: Tile) -> str:
    if len(plan.tiles) == 1:
        return plan.page.paper.name
    return f"row {tile.row + 1}, column {tile.column + 1}"


# The panel --------------------------------------------------------------------------


def _draw_panel(drawing: Drawing, page: SheetPage, room: Box, blocks: Sequence[Block]) -> None:
    if room.width > BLOCK_MM + 1:
        drawing.stroke(HAIR, 0.2)
        drawing.line(page.window.x, room.y, page.window.right, room.y)
        spare = page.window.width - len(blocks) * BLOCK_MM
        step = BLOCK_MM + min(_WIDEST_GAP, spare / max(1, len(blocks) - 1))
        for number, block in enumerate(blocks):
            block.draw(drawing, room.x + number * step, room.y + 4)
        return
    y = room.y
    for block in blocks:
        block.draw(drawing, room.x, y)
        y += block.height_mm + _GAP


def _draw_last_page(
    drawing: Drawing, job: PrintJob, plan: TilePlan, blocks: Sequence[Block], pages: int
) -> None:
    """Draw a page for the panel alone."""
    page = plan.page
    window = page.window
    height = max(block.height_mm for block in blocks) + 4
    _draw_panel(drawing, page, Box(window.x, window.y, window.width, height), blocks)
    below = Box(window.x, window.y + height + 10, window.width, window.height - height - 10)
    if len(plan.tiles) > 1:
        _draw_map(drawing, job, plan, below)
    elif job.rest is not None:
        job.rest(drawing, below)
    _draw_bars(drawing, page, job)
    _draw_foot(drawing, page, job, f"Page {pages} of {pages}", page.paper.name)


LABEL_POINTS, TEXT_POINTS, SMALL_POINTS = 7.0, 8.5, 7.0


def heading(drawing: Drawing, x: float, y: float, text: str) -> None:
    """Set the heading of a block; its rows begin about 5 mm below its top."""
    drawing.text(x, y + 2.6, text, TEXT_POINTS, weight=BOLD)


def _title_block(
    job: PrintJob, paper: Paper, tiles: int, overlap_mm: float, typesetter: Typesetter
) -> Block:
    facts = job.facts
    points, leading = 15.0, 6.2
    title = typesetter.lines(facts.title or job.kind, BLOCK_MM, points, BOLD)
    pages = paper.name
    if tiles > 1:
        pages += f", {tiles} pages, {format_length(overlap_mm, facts.units)} overlap"
    rows = [
        (label, value)
        for label, value in (
            ("Job", facts.code),
            ("Size", facts.size),
            ("Wood", facts.wood),
            ("Paper", pages),
            ("Date", facts.date),
            ("Studio", facts.studio),
        )
        if value
    ]
    said = "Cut along the outline; leave the tabs on. Tape the upper ones as a hinge, "
    said += "the one at the side low by your drawing hand."
    if job.mirrored:
        said = "Mirrored for a heat-transfer print: laid face down it reads the right way. " + said
    help_lines = typesetter.lines(said, BLOCK_MM, SMALL_POINTS, most=6)
    top = 3.6 + len(title) * leading + 1.5
    height = top + len(rows) * 4.2 + 2.0 + len(help_lines) * 3.0

    def draw(drawing: Drawing, x: float, y: float) -> None:
        drawing.text(x, y + 2.4, job.kind, LABEL_POINTS, colour=SOFT)
        for number, line in enumerate(title):
            drawing.text(x, y + 3.6 + leading * (number + 0.8), line, points, weight=BOLD)
        base = y + top + 3.0
        for label, value in rows:
            drawing.text(x, base, label, LABEL_POINTS, colour=SOFT)
            shown = typesetter.shortened(value, BLOCK_MM - 13, TEXT_POINTS)
            drawing.text(x + 13, base, shown, TEXT_POINTS)
            base += 4.2
        base += 1.0
        for line in help_lines:
            drawing.text(x, base, line, SMALL_POINTS, colour=SOFT)
            base += 3.0

    return Block(height, draw)


_MAP_MM = 50.0


def _draw_map(drawing: Drawing, job: PrintJob, plan: TilePlan, room: Box) -> None:
    """Show which page holds which part."""
    heading(drawing, room.x, room.y, "Page map")
    x, y = room.x, room.y + 6
    scale = min(room.width / plan.width_mm, (room.height - 6) / plan.height_mm)
    with _picture_at(drawing, job, x, y, scale):
        drawing.canvas.doForm(_FORM)
    for colour, weight in ((PAPER, 0.7), (INK, 0.2)):  # to be seen on any picture
        drawing.stroke(colour, weight)
        for tile in plan.tiles:
            part = tile.part
            drawing.box(
                Box(x + part.x * scale, y + part.y * scale, part.width * scale, part.height * scale)
            )
    for tile in plan.tiles:
        part = tile.part
        middle_x = x + (part.x + part.width / 2) * scale
        middle_y = y + (part.y + part.height / 2) * scale
        radius = min(3.0, max(1.7, 0.45 * scale * min(part.width, part.height)))
        drawing.circle(middle_x, middle_y, radius, fill=PAPER)
        drawing.text(
            middle_x,
            middle_y + 0.4 * radius,
            str(tile.number),
            10 * radius / 3.0,
            weight=BOLD,
            align=Align.MIDDLE,
        )
