"""The ladder card: a tone ladder for the wall over the bench."""

import os
from collections.abc import Sequence
from pathlib import Path

from burnplan.desk.wood.ladders import LadderView
from burnplan.files import written_whole
from burnplan.sheets.drawing import HAIR, INK, RED, SOFT, Align, Drawing, new_pdf
from burnplan.sheets.lettering import BOLD, REGULAR, Typesetter
from burnplan.sheets.paper import A4, Box, Paper
from burnplan.sheets.writing import Written
from burnplan.tone.strip import tone_of
from burnplan.wood.cautions import SMOKE

_MARGIN = 16.0
_PLOT_MM = 88.0
_KEY_ROW_MM = 5.4


def ladder_card(
    path: str | os.PathLike[str], view: LadderView, *, studio: str = "", paper: Paper = A4
) -> Written:
    """Write a tone ladder as a card: its curve, its patches, and the setting for each tone.

    Parameters
    ----------
    path : path
        Replaced as a whole if it exists.
    view : LadderView
    studio : str, optional
    paper : Paper, optional

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
    typesetter = Typesetter()
    with written_whole(path) as unfinished:
        title = f"{view.code} {view.species_name} · tone ladder"
        canvas = new_pdf(unfinished, paper.width_mm, paper.height_mm, title=title, author=studio)
        drawing = Drawing(canvas, paper.height_mm, typesetter)
        room = Box(_MARGIN, _MARGIN, paper.width_mm - 2 * _MARGIN, paper.height_mm - 2 * _MARGIN)
        _head(drawing, room, view)
        _plot(drawing, Box(room.x + 12, room.y + 28, room.width - 12, _PLOT_MM), view)
        _patches(drawing, Box(room.x, room.y + 134, room.width, 22), view)
        _key(drawing, Box(room.x, room.y + 172, room.width, room.bottom - room.y - 172), view)
        _foot(drawing, room, studio)
        canvas.showPage()
        canvas.save()
    return Written(Path(path), 1, typesetter.notes)


def _head(drawing: Drawing, room: Box, view: LadderView) -> None:
    setting = drawing.typesetter
    drawing.text(room.x, room.y + 3, f"Tone ladder {view.code}", 9, colour=SOFT)
    named = setting.shortened(f"{view.species_name}, {view.tip}", room.width, 18, BOLD)
    drawing.text(room.x, room.y + 11, named, 18, weight=BOLD)
    held = f"; {view.held}" if view.held else ""
    bare = f"; bare wood L* {view.bare:.0f}" if view.bare is not None else ""
    words = f"Setting: {view.scale}{held}{bare}. Burned {view.burned_at:%d %B %Y}"
    drawing.text(room.x, room.y + 17, setting.shortened(words, room.width, 9), 9)
    if view.note:
        note = setting.shortened(view.note, room.width, 8)
        drawing.text(room.x, room.y + 21.5, note, 8, colour=SOFT)


def _span(view: LadderView) -> tuple[float, float]:
    settings = [patch.setting for patch in view.patches]
    low, high = min(settings), max(settings)
    return (low, high) if high > low else (low - 1, high + 1)


def _plot(drawing: Drawing, box: Box, view: LadderView) -> None:
    """Draw the curve: L* upwards, the setting to the right."""
    low, high = _span(view)

    def at(setting: float, lightness: float) -> tuple[float, float]:
        x = box.x + (setting - low) / (high - low) * box.width
        return x, box.y + (100 - lightness) / 100 * box.height

    for lightness in range(0, 101, 20):
        y = at(low, lightness)[1]
        drawing.stroke(HAIR, 0.12)
        drawing.line(box.x, y, box.right, y)
        drawing.text(box.x - 3, y + 1, str(lightness), 8, colour=SOFT, align=Align.RIGHT)
    drawing.text(box.x - 12, box.y - 3, "L*", 8, colour=SOFT)
    if view.bare is not None:
        y = at(low, view.bare)[1]
        drawing.stroke(SOFT, 0.2, (1.5, 1.0))
        drawing.line(box.x, y, box.right, y)
        drawing.text(box.right, y - 1, "bare wood", 7, colour=SOFT, align=Align.RIGHT)
    if len(view.curve) > 1:
        drawing.stroke(INK, 0.4)
        drawing.path([at(*point) for point in view.curve], closed=False)
    for patch in view.patches:
        x, y = at(patch.setting, patch.lightness)
        drawing.circle(x, y, 1.7, fill=tone_of(patch.lightness))
        drawing.stroke(INK, 0.2)
        drawing.circle(x, y, 1.7)
    for setting in _ticks([patch.setting for patch in view.patches]):
        x = at(setting, 0)[0]
        drawing.text(x, box.bottom + 5, f"{setting:.3g}", 8, align=Align.MIDDLE)
    drawing.text(
        box.right, box.bottom + 9.5, f"{view.scale}: more burns darker", 8, colour=SOFT,
        align=Align.RIGHT,
    )  # fmt: skip


def _ticks(settings: Sequence[float]) -> list[float]:
    """Return the settings that are named on the axis: at most a dozen."""
    known = sorted(set(settings))
    step = -(-len(known) // 12)
    return known[::step]


def _patches(drawing: Drawing, box: Box, view: LadderView) -> None:
    """Draw the strip itself: the patches side by side, as light as they came out."""
    width = box.width / len(view.patches)
    points = min(8.0, width * 1.3)
    for number, patch in enumerate(view.patches):
        x = box.x + number * width
        drawing.box(Box(x, box.y, width, box.height), fill=tone_of(patch.lightness), stroke=False)
        middle = x + width / 2
        drawing.text(
            middle, box.bottom + 4, f"{patch.setting:.3g}", points, weight=BOLD, align=Align.MIDDLE
        )
        drawing.text(
            middle, box.bottom + 7.6, f"L* {patch.lightness:.0f}" if width > 9 else
            f"{patch.lightness:.0f}", points, colour=SOFT, align=Align.MIDDLE,
        )  # fmt: skip
    drawing.stroke(INK, 0.15)
    drawing.box(box)


def _key(drawing: Drawing, box: Box, view: LadderView) -> None:
    """List the setting for every fifth L*, in two columns."""
    drawing.text(box.x, box.y, "Setting for a tone", 9, weight=BOLD)
    rows = [row for row in view.key if 10 <= row.lightness <= 90]
    half = -(-len(rows) // 2)
    column = box.width / 2
    for number, row in enumerate(rows):
        x = box.x + column * (number // half)
        y = box.y + 4 + _KEY_ROW_MM * (number % half)
        swatch = Box(x, y, 16, _KEY_ROW_MM)
        drawing.box(swatch, fill=tone_of(row.lightness), stroke=False)
        base = y + 3.8
        drawing.text(x + 20, base, f"L* {row.lightness:.0f}", 8.5)
        reached = f"{row.setting:.3g}" if row.setting is not None else "not on this ladder"
        weight, colour = (BOLD, INK) if row.setting is not None else (REGULAR, RED)
        drawing.text(x + 36, base, reached, 8.5, weight=weight, colour=colour)


def _foot(drawing: Drawing, room: Box, studio: str) -> None:
    said = f"Printed tones show the order only: hold the strip itself beside the work. {SMOKE}"
    lines = drawing.typesetter.lines(said, room.width, 7, most=2)
    for number, line in enumerate(lines):
        drawing.text(room.x, room.bottom - 3 + 3 * number, line, 7, colour=SOFT)
    if studio:
        drawing.text(room.right, room.y + 3, studio, 8, colour=SOFT, align=Align.RIGHT)
