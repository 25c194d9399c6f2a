"""The ladder card: a tone ladder for the wall over the bench."""

import os
from pathlib import Path

from reportlab.platypus import Flowable

from burnplan.desk.wood.ladders import LadderView
from burnplan.sheets.dates import written_date
from burnplan.sheets.drawing import HAIR, INK, RED, SOFT, Align, Drawing, colour_of, one_page
from burnplan.sheets.flowing import Compositor, gap, height_mm, place, table
from burnplan.sheets.lettering import BOLD, REGULAR
from burnplan.sheets.paper import A4, Box, Paper, SheetPage
from burnplan.sheets.writing import Written
from burnplan.tone.strip import tone_of
from burnplan.units import format_setting
from burnplan.wood.cautions import SMOKE

_MARGIN = 16.0
_PLOT_MM = 88.0
_KEY_ROW_MM = 5.4


def ladder_card(
    path: str | os.PathLike[str],
    view: LadderView,
    *,
    studio: str = "",
    paper: Paper = A4,
    locale: str = "en_GB",
) -> Written:
    """Write a tone ladder as a card: its curve, its patches, and the setting for each tone."""
    setter = Compositor()
    title = f"{view.code} {view.species_name} · tone ladder"
    with one_page(path, SheetPage(paper), setter, title=title, author=studio) as drawing:
        top, width = _MARGIN, paper.width_mm - 2 * _MARGIN
        place(drawing, _MARGIN, top, width, _head(setter, width, view, studio, locale))
        _plot(drawing, Box(_MARGIN + 12, top + 28, width - 12, _PLOT_MM), view)
        _patches(drawing, Box(_MARGIN, top + 134, width, 22), view)
        place(drawing, _MARGIN, top + 168, width, _key(setter, width, view))
        said = f"Printed tones show the order only: hold the strip itself beside the work. {SMOKE}"
        foot = [setter.text(said, 7, REGULAR, SOFT, leading=1.21)]
        bottom = paper.height_mm - _MARGIN - height_mm(foot, width)
        place(drawing, _MARGIN, bottom, width, foot)
    return Written(Path(path), 1, setter.notes)


def _head(
    setter: Compositor, width: float, view: LadderView, studio: str, locale: str
) -> list[Flowable]:
    held = f"; {view.held}" if view.held else ""
    bare = f"; bare wood L* {view.bare:.0f}" if view.bare is not None else ""
    burned = written_date(view.burned_on, locale)
    words = f"Setting: {view.scale}{held}{bare}. Burned {burned}"
    named = setter.text(f"Tone ladder {view.code}", 9, REGULAR, SOFT)
    whose = setter.line(studio, width / 2, 8, REGULAR, SOFT, Align.RIGHT)
    return [
        table([[named, whose]], [width / 2] * 2),
        setter.line(f"{view.species_name}, {view.tip}", width, 18, BOLD),
        setter.line(words, width, 9),
        setter.line(view.note, width, 8, REGULAR, SOFT),
    ]


def _plot(drawing: Drawing, box: Box, view: LadderView) -> None:
    """Draw the curve: L* upwards, the setting to the right."""
    settings = sorted({patch.setting for patch in view.patches})
    low, high = settings[0], settings[-1]
    if low == high:
        low, high = low - 1, high + 1

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
    for setting in settings[:: -(-len(settings) // 12)]:  # at most a dozen are named
        x = at(setting, 0)[0]
        drawing.text(x, box.bottom + 5, format_setting(setting), 8, align=Align.MIDDLE)
    said = f"{view.scale}: more burns darker"
    drawing.text(box.right, box.bottom + 9.5, said, 8, colour=SOFT, align=Align.RIGHT)


def _patches(drawing: Drawing, box: Box, view: LadderView) -> None:
    """Draw the strip itself: the patches side by side, as light as they came out."""
    width = box.width / len(view.patches)
    points = min(8.0, width * 1.3)
    for number, patch in enumerate(view.patches):
        x = box.x + number * width
        drawing.box(Box(x, box.y, width, box.height), fill=tone_of(patch.lightness), stroke=False)
        middle = x + width / 2
        setting = format_setting(patch.setting)
        light = f"{'L* ' * (width > 9)}{patch.lightness:.0f}"
        drawing.text(middle, box.bottom + 4, setting, points, weight=BOLD, align=Align.MIDDLE)
        drawing.text(middle, box.bottom + 7.6, light, points, colour=SOFT, align=Align.MIDDLE)
    drawing.stroke(INK, 0.15)
    drawing.box(box)


def _key(setter: Compositor, width: float, view: LadderView) -> list[Flowable]:
    """Return the setting for every fifth L*, in two columns."""
    known = [row for row in view.key if 10 <= row.lightness <= 90]
    half = -(-len(known) // 2)
    cells: list[list[Flowable | str]] = [[""] * 8 for _ in range(half)]
    tones = []
    for number, row in enumerate(known):
        column, line = 4 * (number // half), number % half
        tone = colour_of(tone_of(row.lightness))
        tones.append(("BACKGROUND", (column, line), (column, line), tone))
        cells[line][column + 2] = setter.text(f"L* {row.lightness:.0f}", 8.5)
        cells[line][column + 3] = (
            setter.text(format_setting(row.setting), 8.5, BOLD)
            if row.setting is not None
            else setter.text("not on this ladder", 8.5, REGULAR, RED)
        )
    widths, inside = [16, 4, 16, width / 2 - 36] * 2, ("TOPPADDING", (0, 0), (-1, -1), 2.3)
    key = table(cells, widths, *tones, inside, heights_mm=[_KEY_ROW_MM] * half)
    return [setter.text("Setting for a tone", 9, BOLD), gap(2), key]
