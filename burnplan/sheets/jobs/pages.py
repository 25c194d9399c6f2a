"""Pages that carry a picture at true size: tiles, registration marks, check bars."""

import os
from pathlib import Path
from typing import NamedTuple

from reportlab.pdfgen.canvas import Canvas

from burnplan.files import written_whole
from burnplan.sheets.drawing import INK, PAPER, RED, SOFT, Align, Drawing, Points, corners, new_pdf
from burnplan.sheets.flowing import Compositor
from burnplan.sheets.jobs.panel import FORM, Panel, PrintJob, picture_at
from burnplan.sheets.jobs.shape import TAB_DEPTH_MM, draw_tabs, outline_points, tape_tabs
from burnplan.sheets.lettering import BOLD, POINTS_PER_MM
from burnplan.sheets.paper import (
    MARGIN_MM,
    SIDE_MM,
    STRIP_MM,
    Box,
    Frame,
    SheetPage,
    Tile,
    TilePlan,
)
from burnplan.sheets.writing import Written
from burnplan.units import MM_PER_INCH, UnitSystem

CUT_MM = 0.2
"""Weight of the line to cut along."""

_MARK_MM = 4.0  # from the picture to the middle of a registration mark
_TRUE_SIZE = "Print at 100 %, not fitted to the page."
_MIRRORED = "Mirrored: lay it face down"


class CheckBar(NamedTuple):
    """A bar to be measured on paper: how long it is, in words too, and its ticks."""

    words: str
    every_mm: float
    parts: int

    @property
    def length_mm(self) -> float:
        """Length from the first tick to the last."""
        return self.every_mm * self.parts


CHECK_BARS = {
    UnitSystem.METRIC: CheckBar("50 mm", 10.0, 5),
    UnitSystem.IMPERIAL: CheckBar("2 in", MM_PER_INCH / 4, 8),
}


def print_pages(path: str | os.PathLike[str], job: PrintJob, setter: Compositor) -> Written:
    """Write a job as PDF at true size; BadInput if the pages would be too many."""
    with written_whole(path) as unfinished:
        pages = _print(unfinished, job, setter)
    return Written(Path(path), pages, setter.notes)


def _print(path: Path, job: PrintJob, setter: Compositor) -> int:
    panel = Panel(job, setter)
    plan, page = panel.plan, panel.plan.page
    pages = len(plan.tiles) + plan.panel_apart
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
        if page.frame is Frame.FULL:
            if number == pages:
                panel.draw(drawing)
            _draw_bars(drawing, page, job)
            _draw_foot(drawing, page, job, f"Page {number} of {pages}", place)
        else:
            _draw_strip(drawing, page, job)
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
    if job.taped:
        tabs = tape_tabs(outline, left_handed=job.left_handed, marks_at=joints)
        draw_tabs(drawing, tabs if plan.page.frame is Frame.FULL else _with_room(tabs, job, plan))
    drawing.path(cut, closed=True, fill=PAPER, stroke=False)
    with drawing.kept():
        drawing.clip(cut)
        job.draw(drawing)
    drawing.stroke(INK, CUT_MM)
    drawing.path(cut, closed=True)
    canvas.endForm()


def _with_room(tabs: list[Points], job: PrintJob, plan: TilePlan) -> list[Points]:
    """Return the tabs that a picture leaves room for on its only page."""
    (tile,), window = plan.tiles, plan.page.window
    beside = tile.x - window.x if job.bar_on_right else window.right - tile.x - tile.part.width
    hinge = tabs[:-1] if tile.y - window.y >= TAB_DEPTH_MM else []
    return hinge + (tabs[-1:] if beside >= TAB_DEPTH_MM else [])


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
    """Two check bars, across and down."""
    window, right = page.window, job.bar_on_right
    bar = CHECK_BARS[job.facts.units]
    x = window.right - bar.length_mm if right else window.x
    _draw_bar(drawing, x, page.height - MARGIN_MM - 3.0, bar)
    # Upright it reads towards the picture, its ticks to the inside.
    edge = page.width - MARGIN_MM - 1.0 if right else MARGIN_MM + 1.0
    middle = window.y + window.height / 2
    with drawing.kept():
        drawing.canvas.translate(*drawing.at(edge, middle))
        drawing.canvas.rotate(90 if right else -90)
        _draw_bar(Drawing(drawing.canvas, 0, drawing.typesetter), -bar.length_mm / 2, 0, bar)


def _draw_bar(drawing: Drawing, x: float, y: float, bar: CheckBar) -> None:
    """Draw a check bar from its left end, with ticks and its length above it."""
    drawing.stroke(INK, 0.2)
    drawing.line(x, y, x + bar.length_mm, y)
    for part in range(bar.parts + 1):
        at = x + part * bar.every_mm
        drawing.line(at, y, at, y - (3.0 if part in (0, bar.parts) else 1.6))
    drawing.text(x + bar.length_mm / 2, y - 2.6, bar.words, 7, align=Align.MIDDLE)


def _draw_strip(drawing: Drawing, page: SheetPage, job: PrintJob) -> None:
    """Draw what is left of bars, foot and panel where a picture leaves no room for them."""
    canvas, long = drawing.canvas, page.width - 2 * MARGIN_MM
    with drawing.kept():
        if page.frame is Frame.SIDE:
            long = page.height - 2 * MARGIN_MM
            canvas.translate(*drawing.at(page.width - MARGIN_MM, page.height - MARGIN_MM))
            canvas.rotate(90)
        else:
            canvas.translate(*drawing.at(MARGIN_MM, page.height - MARGIN_MM))
        strip = Drawing(canvas, STRIP_MM, drawing.typesetter)
        bar = CHECK_BARS[job.facts.units]
        x, right = bar.length_mm + 7, long
        if job.bar_on_right:
            x, right = 0.0, long - bar.length_mm - 7
        _draw_bar(strip, right + 7 if job.bar_on_right else 0.0, STRIP_MM - 1.0, bar)
        if job.mirrored:
            aside = strip.text(right, 4.2, _MIRRORED, 7, weight=BOLD, colour=RED, align=Align.RIGHT)
        else:
            aside = strip.text(right, 4.2, job.note, 7, colour=SOFT, align=Align.RIGHT)
        named = strip.typesetter.shortened(_named(job), right - x - aside - 3, 8, BOLD)
        strip.text(x, 4.2, named, 8, weight=BOLD)
        said = f"{_TRUE_SIZE} The bar must measure {bar.words}, the picture {job.size}."
        said = strip.typesetter.shortened(said, right - x, 7)
        strip.text(x, 7.5, said, 7, colour=SOFT)
        if job.key is not None:
            job.key(strip, Box(x, 8.6, right - x, STRIP_MM - 8.6))


def _named(job: PrintJob) -> str:
    return " · ".join(part for part in (job.facts.code, job.facts.title, job.kind) if part)


def _draw_foot(
    drawing: Drawing, page: SheetPage, job: PrintJob, right: str, below_right: str
) -> None:
    """Say what the page is: title on the free side of the check bar, page number at the end."""
    window = page.window
    y = page.height - MARGIN_MM - 6.2
    left_x, right_x = window.x, window.right
    bar = CHECK_BARS[job.facts.units]
    if job.bar_on_right:
        right_x -= bar.length_mm + 8
    else:
        left_x += bar.length_mm + 8
    width = max(
        drawing.text(right_x, y, right, 8, weight=BOLD, align=Align.RIGHT),
        drawing.text(right_x, y + 3.4, below_right, 7, colour=SOFT, align=Align.RIGHT),
    )
    room = right_x - left_x - width - 5
    named = drawing.typesetter.shortened(_named(job), room, 8, BOLD)
    drawing.text(left_x, y, named, 8, weight=BOLD)
    said = f"{_TRUE_SIZE} Both bars must measure {bar.words}."
    for number, line in enumerate(drawing.typesetter.lines(said, room, 7, most=2)):
        drawing.text(left_x, y + 3.4 + 2.8 * number, line, 7, colour=SOFT)
    if job.mirrored:
        drawing.text(left_x, y - 3.6, _MIRRORED, 7, weight=BOLD, colour=RED)
