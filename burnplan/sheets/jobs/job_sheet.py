"""The job sheet: a commission on one page, to lie on the bench and be filled by hand."""

import io
import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from reportlab.lib.utils import ImageReader

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.checklists import StepView
from burnplan.desk.jobs.job_sheets import JobSheetView
from burnplan.files import written_whole
from burnplan.reckon.checklist import Phase
from burnplan.reckon.ladder import Reach
from burnplan.sheets.drawing import HAIR, INK, RED, SOFT, Drawing, new_pdf
from burnplan.sheets.lettering import BOLD, POINTS_PER_MM, REGULAR, Typesetter
from burnplan.sheets.paper import Box, paper_named
from burnplan.sheets.writing import Written
from burnplan.tone.strip import tone_of
from burnplan.units import format_area, format_length, format_size
from burnplan.wood.cautions import DEFER, HOT_TIP, SMOKE

_MARGIN, _GUTTER = 12.0, 6.0
_PICTURE_MM = 46.0
_ROW_MM = 6.4  # of the session table: room for handwriting
_FEWEST_ROWS = 5
_TABLE_HEAD_MM = 12.0  # its title, headings and the space above
_SMALLEST = 0.62  # of the usual type; smaller nobody reads at the bench
_LONGEST_PX = 900
_PHASES = {
    Phase.PREPARE: "Prepare", Phase.TRANSFER: "Transfer", Phase.BURN: "Burn",
    Phase.FINISH: "Finish", Phase.HANDOVER: "Hand over",
}  # fmt: skip
_SESSION = (
    ("Date", 0.12), ("Work, zone", 0.16), ("Tip", 0.14), ("Heat", 0.09), ("From", 0.09),
    ("To", 0.09), ("Hours", 0.09), ("Note", 0.22),
)  # fmt: skip


def job_sheet(
    path: str | os.PathLike[str],
    job: JobSheetView,
    settings: Settings,
    picture: NDArray[np.uint8] | None = None,
) -> Written:
    """Write a commission's job sheet: one page, whatever is in it.

    Type shrinks until all fits; steps that still do not are counted, not lost
    silently.

    Parameters
    ----------
    path : path
        Replaced as a whole if it exists.
    job : JobSheetView
    settings : Settings
    picture : ndarray of uint8, shape (H, W, 3), optional
        The reference, in sepia.

    Returns
    -------
    Written

    Raises
    ------
    BadInput
        If the folder does not exist.
    OperationFailed
        If the file cannot be written.
    """
    paper, typesetter = paper_named(settings.paper.value), Typesetter()
    with written_whole(path) as unfinished:
        title = f"{job.commission.code} {job.commission.title} · job sheet"
        canvas = new_pdf(
            unfinished, paper.width_mm, paper.height_mm, title=title, author=settings.name
        )
        drawing = Drawing(canvas, paper.height_mm, typesetter)
        room = Box(_MARGIN, _MARGIN, paper.width_mm - 2 * _MARGIN, paper.height_mm - 2 * _MARGIN)
        _draw(drawing, room, job, settings, picture)
        canvas.showPage()
        canvas.save()
    return Written(Path(path), 1, typesetter.notes)


def _draw(
    drawing: Drawing,
    room: Box,
    job: JobSheetView,
    settings: Settings,
    picture: NDArray[np.uint8] | None,
) -> None:
    y = _head(drawing, room, job, settings, picture)
    y = _zones(drawing, Box(room.x, y + 4, room.width, 0), job, settings) + 4
    table = _TABLE_HEAD_MM + _FEWEST_ROWS * _ROW_MM
    fitted = _fitted(drawing.typesetter, job, room.width, room.bottom - y - table)
    y = _cautions(drawing, room, y, fitted)
    y = _steps(drawing, room, y, fitted)
    _sessions(drawing, Box(room.x, y + 3, room.width, room.bottom - y - 3))


# Head: what it is, its blank, its picture -----------------------------------------------


def _head(
    drawing: Drawing,
    room: Box,
    job: JobSheetView,
    settings: Settings,
    picture: NDArray[np.uint8] | None,
) -> float:
    one, setting = job.commission, drawing.typesetter
    width = room.width - (_PICTURE_MM + _GUTTER if picture is not None else 0)
    drawing.text(room.x, room.y + 2.5, f"Job sheet {one.code}", 8, colour=SOFT)
    title = setting.shortened(one.title, width, 16, BOLD)
    drawing.text(room.x, room.y + 9.5, title, 16, weight=BOLD)
    rows = _facts(job, settings)
    half = -(-len(rows) // 2)
    column = width / 2
    for number, (label, value, colour) in enumerate(rows):
        x = room.x + column * (number // half)
        y = room.y + 16 + 4.4 * (number % half)
        drawing.text(x, y, label, 7, colour=SOFT)
        shown = setting.shortened(value, column - 20, 8.5)
        drawing.text(x + 17, y, shown, 8.5, colour=colour)
    bottom = room.y + 16 + 4.4 * half
    if picture is not None:
        bottom = max(bottom, _picture(drawing, room, picture))
    return bottom


def _facts(job: JobSheetView, settings: Settings) -> list[tuple[str, str, tuple[int, int, int]]]:
    one, blank = job.commission, job.blank
    size = blank.shape() if blank else one.shape()
    wood = blank.species_name if blank else (one.species or "")
    pairs = [
        ("Client", one.client or ""),
        ("Due", f"{one.due:%d %B %Y}" if one.due else ""),
        ("Use", one.use),
        ("Finish", _finish(job)),
        ("Blank", blank.code if blank else "none held yet"),
        ("Wood", wood),
        ("Size", format_size(size, settings.units) if size else "not known"),
        ("Thickness", _length(blank.thickness_mm, settings) if blank else ""),
        ("Grain", (blank.grain or "") if blank else ""),
        ("Grit", str(blank.grit or "rough") if blank else ""),
        ("Moisture", f"{blank.moisture:g} %" if blank and blank.moisture is not None else ""),
        ("Place", blank.location if blank else ""),
        ("Printed", f"{job.printed_on:%d %B %Y}, {settings.name}"),
    ]
    return [(label, value, INK) for label, value in pairs if value]


def _length(mm: float | None, settings: Settings) -> str:
    return format_length(mm, settings.units) if mm else ""


def _finish(job: JobSheetView) -> str:
    coats = job.finish.coats
    return f"{len(coats)} × {coats[0].product}" if coats else ""


def _picture(drawing: Drawing, room: Box, picture: NDArray[np.uint8]) -> float:
    """Draw the reference at the top right; return its lower edge."""
    image = Image.fromarray(picture)
    image.thumbnail((_LONGEST_PX, _LONGEST_PX))
    packed = io.BytesIO()
    image.save(packed, "JPEG", quality=88)
    packed.seek(0)
    scale = _PICTURE_MM / max(image.width, image.height)
    width, height = image.width * scale, image.height * scale
    x, y = drawing.at(room.right - width, room.y + height)
    drawing.canvas.drawImage(
        ImageReader(packed), x, y, width * POINTS_PER_MM, height * POINTS_PER_MM
    )
    drawing.stroke(HAIR, 0.15)
    drawing.box(Box(room.right - width, room.y, width, height))
    return room.y + height


# Zones ---------------------------------------------------------------------------------


def _zones(drawing: Drawing, box: Box, job: JobSheetView, settings: Settings) -> float:
    """Draw the zones with their settings and a box to tick; return the lower edge."""
    found = job.settings
    _title(drawing, box.x, box.y, "Value zones")
    if not job.zones:
        drawing.text(box.x, box.y + 7, "No reference is planned yet", 8, colour=SOFT)
        return box.y + 9
    said = _zone_words(job)
    said = drawing.typesetter.shortened(said, box.width - 28, 7.5)
    drawing.text(box.x + 28, box.y + 2.6, said, 7.5, colour=SOFT)
    columns = (6.0, 18.0, 40.0, 58.0, 76.0, 96.0)
    # What the tone comes to on the wood is known only where a ladder was burned.
    heads = ("wanted L*", "setting", "expected L*") if found else ("darkness",)
    y = box.y + 6.5
    for at, head in zip(columns, ("zone", "tone", "area", *heads), strict=False):
        drawing.text(box.x + at, y, head, 6.5, colour=SOFT)
    states = {step.zone: step.state for step in job.checklist.steps if step.zone}
    settled = {one.zone: one for one in found.zones} if found else {}
    for zone in sorted(job.zones, key=lambda one: one.zone):
        y += 5.0
        one = settled.get(zone.zone)
        _tick_box(drawing, box.x, y, 1.0, states.get(zone.zone, "open"))
        drawing.text(box.x + columns[0], y, f"Z{zone.zone}", 8.5, weight=BOLD)
        light = one.wanted if one else 84 - zone.darkness * 64
        swatch = Box(box.x + columns[1], y - 3.4, 18, 4.6)
        drawing.box(swatch, fill=tone_of(light), stroke=False)
        drawing.text(box.x + columns[2], y, format_area(zone.area_cm2, settings.units), 8.5)
        if one is None:
            drawing.text(box.x + columns[3], y, f"{zone.darkness * 100:.0f} %", 8.5)
            continue
        reached = one.reach is Reach.REACHED
        drawing.text(box.x + columns[3], y, f"{one.wanted:.0f}", 8.5)
        weight = BOLD if reached else REGULAR
        drawing.text(box.x + columns[4], y, f"{one.setting:.3g}", 8.5, weight=weight)
        drawing.text(box.x + columns[5], y, f"{one.expected:.0f}", 8.5)
        if not reached:
            words = drawing.typesetter.shortened(one.words, box.width - 113, 7)
            drawing.text(box.x + 113, y, words, 7, colour=RED)
    return y + 2


def _zone_words(job: JobSheetView) -> str:
    if job.settings is None:
        return job.no_settings
    held = f", {job.settings.held}" if job.settings.held else ""
    return f"setting: {job.settings.scale}{held}; ladder {job.settings.ladder}, {job.settings.tip}"


def _title(drawing: Drawing, x: float, y: float, text: str) -> None:
    drawing.text(x, y + 2.6, text, 9, weight=BOLD)


_TICK = [[(0.2, 0.5), (0.42, 0.78), (0.85, 0.15)]]
_CROSS = [[(0.2, 0.2), (0.8, 0.8)], [(0.8, 0.2), (0.2, 0.8)]]
_SIGNS = {"open": [], "ticked": _TICK, "skipped": _CROSS}  # strokes, in shares of the box


def _tick_box(drawing: Drawing, x: float, y: float, scale: float, state: str) -> None:
    """Draw the box of a step that is open, ticked or skipped."""
    side = 2.9 * scale
    top = y - side + 0.3 * scale
    drawing.stroke(INK, 0.2)
    drawing.box(Box(x, top, side, side))
    for stroke in _SIGNS[state]:
        drawing.path([(x + side * a, top + side * b) for a, b in stroke], closed=False)


# Cautions and steps: shrunk until they fit ------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Line:
    """A line of the checklist column; ``step`` is set where a box goes before it."""

    text: str
    step: StepView | None = None
    heading: bool = False
    settled: bool = False


@dataclass(frozen=True, slots=True)
class _Fitted:
    """Cautions and steps at the scale at which they fit."""

    scale: float
    cautions: tuple[tuple[str, bool], ...]
    left: tuple[_Line, ...]
    right: tuple[_Line, ...]


def _fitted(typesetter: Typesetter, job: JobSheetView, width: float, height: float) -> _Fitted:
    """Set cautions and steps as large as they fit; leave steps out only at the smallest."""
    scale = 1.0
    while True:
        made = _set_at(typesetter, job, width, scale)
        if _height(made) <= height:
            return made
        if scale <= _SMALLEST:
            return _cut(made, height)
        scale = max(_SMALLEST, scale - 0.06)


_TEXT, _LEADING = 7.8, 3.35
_GAP = 0.5  # above a heading, in lines


def _set_at(typesetter: Typesetter, job: JobSheetView, width: float, scale: float) -> _Fitted:
    cautions: list[tuple[str, bool]] = []
    for text, blocked in _caution_texts(job):
        weight = BOLD if blocked else REGULAR
        broken = typesetter.lines(text, width - 4, 7.2 * scale, weight, 4)
        cautions += [(line, blocked) for line in broken]
    column = (width - _GUTTER) / 2 - 4.6 * scale
    lines: list[_Line] = []
    for phase in Phase:
        # Zones have their own boxes above.
        steps = [s for s in job.checklist.steps if s.phase is phase and s.zone is None]
        if not steps:
            continue
        lines.append(_Line(_PHASES[phase], heading=True))
        for step in steps:
            words = typesetter.lines(_step_words(step), column, _TEXT * scale, most=3)
            settled = step.state != "open"
            lines += [
                _Line(word, step if n == 0 else None, settled=settled)
                for n, word in enumerate(words)
            ]
    return _Fitted(scale, tuple(cautions), *_columns(lines))


def _step_words(step: StepView) -> str:
    return f"{step.text} (skipped: {step.skip_reason})" if step.skip_reason else step.text


def _columns(lines: Sequence[_Line]) -> tuple[tuple[_Line, ...], tuple[_Line, ...]]:
    """Share lines out over two columns, never between the lines of a step."""
    at = -(-len(lines) // 2)
    while at < len(lines) and lines[at].step is None and not lines[at].heading:
        at += 1
    if at and lines[at - 1].heading:
        at -= 1
    return tuple(lines[:at]), tuple(lines[at:])


def _caution_texts(job: JobSheetView) -> list[tuple[str, bool]]:
    """Return what to mind, and whether it blocks: the wood's hazards first."""
    texts = [
        (f"{'BLOCKED' if one.blocks else 'Caution'}, {one.key}: {one.in_words()}", one.blocks)
        for one in job.hazards
    ]
    if job.blank and job.blank.checking:
        texts.append((job.blank.checking, False))
    return [*texts, (f"{SMOKE}. {HOT_TIP}. {DEFER}; follow local rules.", False)]


def _above(lines: Sequence[_Line], number: int) -> float:
    """Return the space above a line of a column, in lines; the first has none."""
    return _GAP if number and lines[number].heading else 0.0


def _rows(lines: Sequence[_Line]) -> float:
    return len(lines) + sum(_above(lines, number) for number in range(len(lines)))


def _height(made: _Fitted) -> float:
    rows = max(_rows(made.left), _rows(made.right))
    return 5 + len(made.cautions) * 3.0 * made.scale + 3 + 5 + rows * _LEADING * made.scale


def _cut(made: _Fitted, height: float) -> _Fitted:
    """Leave out what does not fit, and say how many steps that is."""
    spare = height - 13 - len(made.cautions) * 3.0 * made.scale
    lines = (*made.left, *made.right)
    gaps = _GAP * (1 + sum(line.heading for line in lines))
    rows = max(2, int(spare / (_LEADING * made.scale) - gaps))
    kept, rest = lines[: 2 * rows - 1], lines[2 * rows - 1 :]
    missing = sum(line.step is not None for line in rest)
    said = _Line(f"… and {missing} more steps: burnplan step list", heading=True)
    return _Fitted(made.scale, made.cautions, kept[:rows], (*kept[rows:], said))


def _cautions(drawing: Drawing, room: Box, y: float, fitted: _Fitted) -> float:
    _title(drawing, room.x, y, "Cautions")
    y += 5
    for line, blocked in fitted.cautions:
        drawing.text(
            room.x, y + 2.2 * fitted.scale, line, 7.2 * fitted.scale,
            weight=BOLD if blocked else REGULAR, colour=RED if blocked else INK,
        )  # fmt: skip
        y += 3.0 * fitted.scale
    return y + 3


def _steps(drawing: Drawing, room: Box, y: float, fitted: _Fitted) -> float:
    _title(drawing, room.x, y, "Checklist")
    y += 5
    scale = fitted.scale
    for column, lines in enumerate((fitted.left, fitted.right)):
        x = room.x + column * ((room.width + _GUTTER) / 2)
        base = y - 0.25 * _LEADING * scale
        for number, line in enumerate(lines):
            base += _LEADING * scale * (1 + _above(lines, number))
            if line.heading:
                drawing.text(x, base, line.text, _TEXT * scale, weight=BOLD, colour=SOFT)
                continue
            if line.step is not None:
                _tick_box(drawing, x, base, scale * 0.8, line.step.state)
            colour = SOFT if line.settled else INK
            drawing.text(x + 4.6 * scale, base, line.text, _TEXT * scale, colour=colour)
    return y + max(_rows(fitted.left), _rows(fitted.right)) * _LEADING * scale


# Sessions, by hand ----------------------------------------------------------------------


def _sessions(drawing: Drawing, box: Box) -> None:
    """Draw an empty table for the sittings at the bench, down to the foot of the page."""
    _title(drawing, box.x, box.y, "Sessions")
    top = box.y + 4.5
    rows = max(1, int((box.bottom - top - 4) / _ROW_MM))
    bottom = top + 4 + rows * _ROW_MM
    drawing.stroke(HAIR, 0.2)
    for number in range(rows + 1):
        y = top + 4 + number * _ROW_MM
        drawing.line(box.x, y, box.right, y)
    x = box.x
    for head, share in _SESSION:
        drawing.text(x + 1, top + 2.8, head, 7, colour=SOFT)
        drawing.line(x, top + 4, x, bottom)
        x += share * box.width
    drawing.line(box.right, top + 4, box.right, bottom)
