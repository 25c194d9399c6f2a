"""Pages that carry a picture at true size: tiles, registration marks, check bars."""

import os
from pathlib import Path

from reportlab.pdfgen.canvas import Canvas

from burnplan.files import written_whole
from burnplan.sheets.drawing import INK, PAPER, RED, SOFT, Align, Drawing, corners, new_pdf
from burnplan.sheets.flowing import Compositor
from burnplan.sheets.jobs.panel import FORM, Panel, PrintJob, picture_at
from burnplan.sheets.jobs.shape import draw_tabs, outline_points, tape_tabs
from burnplan.sheets.lettering import BOLD, POINTS_PER_MM
from burnplan.sheets.paper import MARGIN_MM, SIDE_MM, Box, SheetPage, Tile, TilePlan
from burnplan.sheets.writing import Written

BAR_MM = 50.0
"""Length of the check bars."""

CUT_MM = 0.2
"""Weight of the line to cut along."""

_MARK_MM = 4.0  # from the picture to the middle of a registration mark
_TRUE_SIZE = "Print at 100 %, not fitted to the page. Both bars must measure 50 mm."


def print_pages(path: str | os.PathLike[str], job: PrintJob, setter: Compositor) -> Written:
    """Write a job as PDF at true size; BadInput if the pages would be too many."""
    with written_whole(path) as unfinished:
        pages = _print(unfinished, job, setter)
    return Written(Path(path), pages, setter.notes)


def _print(path: Path, job: PrintJob, setter: Compositor) -> int:
    panel = Panel(job, setter)
    plan, page = panel.plan, panel.plan.page
    pages = len(plan.tiles) + (plan.panel is None)
    title = " · ".join(part for part in (job.facts.title, job.kind) if part)
    canvas = new_pdf(path, page.width, page.height, title=title, author=job.facts.studio)
    canvas.setSubject(_TRUE_SIZE)
    canvas.setViewerPreference("PrintScaling", "None")
    _make_form(canvas, job, plan, setter)
    for number in range(1, pages + 1):
        drawing = Drawing(canvas, page.height, setter)
        place = page.paper.name
        if number <= len(plan.tiles):
            tile = plan.tiles[number - 1]
            _draw_tile(drawing, job, plan, tile)
            if len(plan.tiles) > 1:
                place = f"row {tile.row + 1}, column {tile.column + 1}"
        if number == pages:
            panel.draw(drawing)
        _draw_bars(drawing, page, job)
        _draw_foot(drawing, page, job, f"Page {number} of {pages}", place)
        canvas.showPage()
    canvas.save()
    return pages


# The picture -----------------------------------------------------------------------


def _make_form(canvas: Canvas, job: PrintJob, plan: TilePlan, setter: Compositor) -> None:
    """Draw the picture once, with its tabs and the line to cut along; each page shows its part."""
    outline = job.outline
    joints = [tile.part.right - plan.overlap_mm / 2 for tile in plan.tiles[: plan.columns - 1]]
    if job.mirrored:
        joints = [outline.width_mm - x for x in joints]
    pad = SIDE_MM * POINTS_PER_MM
    width, height = outline.width_mm * POINTS_PER_MM, outline.height_mm * POINTS_PER_MM
    canvas.beginForm(FORM, -pad, -pad, width + pad, height + pad)
    drawing, cut = Drawing(canvas, outline.height_mm, setter), outline_points(outline)
    draw_tabs(drawing, tape_tabs(outline, left_handed=job.left_handed, marks_at=joints))
    drawing.path(cut, closed=True, fill=PAPER, stroke=False)
    with drawing.kept():
        drawing.clip(cut)
        job.draw(drawing)
    drawing.stroke(INK, CUT_MM)
    drawing.path(cut, closed=True)
    canvas.endForm()


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
        with picture_at(drawing, job, tile.x - part.x, tile.y - part.y):
            drawing.canvas.doForm(FORM)
    _draw_joins(drawing, plan, tile)


def _draw_joins(drawing: Drawing, plan: TilePlan, tile: Tile) -> None:
    """Registration marks at the ends of each joint, and which page lies beyond it."""
    here = Box(tile.x, tile.y, tile.part.width, tile.part.height)
    half = plan.overlap_mm / 2
    above, below = here.y - _MARK_MM, here.bottom + _MARK_MM
    before, after = here.x - _MARK_MM, here.right + _MARK_MM
    # Which page lies beyond is said clear of the marks, or on a sliver not at all.
    across, down = here.x + here.width * 0.5, here.y + max(here.height * 0.2, 18.0)
    ends, sides = (above, below), (before, after)
    for joins, marks, said, at, step, degrees in (
        (tile.column > 0, [(here.x + half, y) for y in ends], here.height > 34,
         (before + 1, down), -1, 90),
        (tile.column < plan.columns - 1, [(here.right - half, y) for y in ends], here.height > 34,
         (after - 1, down), 1, -90),
        (tile.row > 0, [(x, here.y + half) for x in sides], here.width > 34,
         (across, above + 1), -plan.columns, 0),
        (tile.row < plan.rows - 1, [(x, here.bottom - half) for x in sides], here.width > 34,
         (across, below + 1), plan.columns, 0),
    ):  # fmt: skip
        for x, y in marks if joins else ():
            _registration(drawing, x, y)
        if joins and said:
            name = f"joins page {tile.number + step}"
            drawing.text(*at, name, 6.5, colour=SOFT, degrees=degrees, align=Align.MIDDLE)


def _registration(drawing: Drawing, x: float, y: float) -> None:
    drawing.stroke(INK, 0.1)
    drawing.circle(x, y, 1.5)
    drawing.line(x - 2.6, y, x + 2.6, y)
    drawing.line(x, y - 2.6, x, y + 2.6)


# What every page carries --------------------------------------------------------------


def _draw_bars(drawing: Drawing, page: SheetPage, job: PrintJob) -> None:
    """Two check bars, across and down, with a tick for each centimetre."""
    window, right = page.window, job.bar_on_right
    inward = -1 if right else 1
    x = window.right - BAR_MM if right else window.x
    y = window.y + (window.height - BAR_MM) / 2
    edge = page.width - MARGIN_MM - 1.0 if right else MARGIN_MM + 1.0
    foot = page.height - MARGIN_MM - 3.0
    drawing.stroke(INK, 0.2)
    drawing.line(x, foot, x + BAR_MM, foot)
    drawing.line(edge, y, edge, y + BAR_MM)
    for centimetre in range(6):
        tick, at = 3.0 if centimetre in (0, 5) else 1.6, 10 * centimetre
        drawing.line(x + at, foot, x + at, foot - tick)
        drawing.line(edge, y + at, edge + inward * tick, y + at)
    drawing.text(x + BAR_MM / 2, foot - 2.6, "50 mm", 7, align=Align.MIDDLE)
    beside, middle = edge + inward * 4.4, y + BAR_MM / 2
    drawing.text(beside, middle, "50 mm", 7, align=Align.MIDDLE, degrees=inward * 90)


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
