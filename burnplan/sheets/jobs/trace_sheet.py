"""The trace sheet: what to trace, how hard to press, in what order; on paper and as SVG."""

import os
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray
from reportlab.platypus import Flowable

from burnplan.desk.derived.studio_settings import Ink
from burnplan.files import written_whole
from burnplan.outline import Outline, OutlineKind
from burnplan.passes import Pass
from burnplan.sheets.drawing import HAIR, INK, RGB, SOFT, Drawing, Points
from burnplan.sheets.flowing import Compositor, gap, table
from burnplan.sheets.jobs.direction import TICK_COLOUR, TICK_MM, TICKS_SAY, draw_ticks
from burnplan.sheets.jobs.marks import (
    CAP_TO_MIDDLE,
    DOT_MM,
    DOT_WIDE_MM,
    ZoneMark,
    ZoneMarks,
    draw_borders,
    draw_marks,
)
from burnplan.sheets.jobs.pages import CUT_MM, print_pages
from burnplan.sheets.jobs.panel import SMALL_POINTS, Facts, PrintJob, heading
from burnplan.sheets.jobs.photo import draw_photo, packed
from burnplan.sheets.jobs.shape import outline_points
from burnplan.sheets.lettering import BOLD, plain
from burnplan.sheets.paper import A4, Box, Paper
from burnplan.sheets.writing import Written
from burnplan.tone.lines import Line, Lines
from burnplan.tone.passes import Pressure
from burnplan.units import MM_PER_POINT, UnitSystem, format_runs

WEIGHT_MM = {Pressure.FIRM: 0.45, Pressure.LIGHT: 0.25}
"""Weights of lines by pressure; lost ones are not drawn."""

INKS: dict[Ink, dict[Pressure, RGB]] = {
    Ink.RED: {Pressure.FIRM: (196, 32, 38), Pressure.LIGHT: (214, 84, 86)},
    Ink.BLUE: {Pressure.FIRM: (24, 62, 140), Pressure.LIGHT: (74, 112, 184)},
    Ink.GREY: {Pressure.FIRM: (66, 62, 60), Pressure.LIGHT: (120, 115, 111)},
}
"""Colours of lines by pressure, light ones paler."""

MARK_COLOUR: RGB = (120, 108, 100)

_DRAWN = (Pressure.LIGHT, Pressure.FIRM)  # the stronger on top
_LINES_AT_ONCE = 200  # in one path: viewers slow down on longer ones


def trace_pdf(
    path: str | os.PathLike[str],
    lines: Lines,
    outline: Outline,
    facts: Facts,
    *,
    ink: Ink = Ink.BLUE,
    marks: ZoneMarks | None = None,
    ticks: Sequence[NDArray[np.float64]] = (),
    photo: NDArray[np.uint8] | None = None,
    paper: Paper = A4,
    left_handed: bool = False,
    mirrored: bool = False,
    whole: Sequence[Box] = (),
) -> Written:
    """Write the trace sheet as PDF at true size, its lines as vectors.

    Parameters
    ----------
    path : path
    lines : Lines
    outline : Outline
    facts : Facts
    ink : Ink, optional
        Colour of the lines.
    marks : ZoneMarks, optional
        Zones, to be told of too.
    ticks : sequence of ndarray, optional
        Direction of strokes.
    photo : ndarray of uint8, shape (H, W, 3), optional
        What the lines lie over, faint enough for them.
    paper, left_handed, mirrored, whole
        As for :class:`~burnplan.sheets.jobs.panel.PrintJob`.

    Raises
    ------
    BadInput
        If the pages would be too many.
    """
    setter = Compositor()
    under = None if photo is None else packed(photo, outline)

    def draw(drawing: Drawing) -> None:
        if under is not None:
            draw_photo(drawing, under, outline)
        drawing.canvas.setLineJoin(1)
        drawing.canvas.setLineCap(1)
        draw_ticks(drawing, ticks)
        for pressure in _DRAWN:
            drawing.stroke(INKS[ink][pressure], WEIGHT_MM[pressure])
            drawn = [line for line in lines.drawn if line.pressure is pressure]
            for start in range(0, len(drawn), _LINES_AT_ONCE):
                some = drawn[start : start + _LINES_AT_ONCE]
                drawing.paths((line.points, line.closed) for line in some)
        if marks is not None:
            draw_borders(drawing, marks, lambda _zone: MARK_COLOUR)
            draw_marks(drawing, marks, lambda _zone: MARK_COLOUR)

    said = [_ORDER, TICKS_SAY if ticks else "", _MARKS if marks is not None else ""]
    about = ". ".join(filter(None, said))
    job = PrintJob(
        "Trace", facts, outline, draw, paper, left_handed, mirrored,
        blocks=[_passes_block(lines, outline, facts.units, ink, about, setter)],
        key=partial(_draw_key, ink=ink),
        note=TICKS_SAY if ticks else "",
        whole=whole,
    )  # fmt: skip
    return print_pages(path, job, setter)


# The order of tracing -----------------------------------------------------------------

_ORDER = "Where no line is drawn an edge is lost: leave it open"
_MARKS = "Marks are on zones worth burning by themselves, which end in lines or dots"
_COLUMN_MM, _BETWEEN_MM = 17.5, 2.25
_SMALL_MM = 16.0  # height of the small picture of a pass
_EVERY = 4  # point of a line that it shows


def _passes_block(
    lines: Lines,
    outline: Outline,
    units: UnitSystem,
    ink: Ink,
    about: str,
    setter: Compositor,
) -> list[Flowable]:
    """Return the passes in their order: what lies in each, its strokes and their length."""
    small = partial(setter.text, points=SMALL_POINTS, leading=1.14)
    scale = min(_COLUMN_MM / outline.width_mm, _SMALL_MM / outline.height_mm)
    columns = []
    for in_pass in Pass:
        mine = [line for line in lines.drawn if line.in_pass is in_pass]
        count = "1 stroke" if len(mine) == 1 else f"{len(mine)} strokes"
        length = format_runs([sum(line.length_mm for line in mine) / 10], units)[0]
        columns.append(
            [
                setter.drawn(
                    _COLUMN_MM,
                    outline.height_mm * scale,
                    partial(_draw_small, lines=mine, outline=outline, scale=scale, ink=ink),
                ),
                small(f"({in_pass}) {in_pass.called}", weight=BOLD),
                small(f"{count}\n{length}", colour=SOFT),
            ]
        )
    first, second, third = columns
    width, between = _COLUMN_MM, _BETWEEN_MM
    side_by_side = table([[first, "", second, "", third]], [width, between, width, between, width])
    weights = [part for one in WEIGHT_MM for part in (_sample(setter, one, ink), small(one))]
    words = f"Trace in this order, with a {ink.pen} pen"
    title = setter.drawn(0, 5, partial(heading, x=0, y=0, text=words))
    return [
        title,
        side_by_side,
        gap(1),
        table([weights], [8, 11.75, 8, 29.25]),
        gap(0.5),
        small(about, colour=SOFT, leading=1.21),
    ]


def _draw_small(
    drawing: Drawing, lines: Sequence[Line], outline: Outline, scale: float, ink: Ink
) -> None:
    """Draw the lines of one pass small, in the outline."""
    drawing.stroke(HAIR, 0.1)
    drawing.path([(x * scale, y * scale) for x, y in outline_points(outline)], closed=True)
    drawing.canvas.setLineJoin(1)
    drawing.stroke(INKS[ink][Pressure.FIRM], 0.12)
    drawing.paths(
        (line.points[:: max(1, min(_EVERY, len(line.points) // 2))] * scale, line.closed)
        for line in lines
    )


def _draw_key(drawing: Drawing, room: Box, ink: Ink) -> None:
    """Draw in one line what the lines mean."""
    x, middle, base = room.x, room.y + room.height - 2.0, room.y + room.height - 1.2
    for pressure in WEIGHT_MM:
        drawing.stroke(INKS[ink][pressure], WEIGHT_MM[pressure])
        drawing.line(x, middle, x + 6, middle)
        x += 7 + drawing.text(x + 7, base, pressure, SMALL_POINTS) + 3
    passes = "  ".join(f"({one}) {one.called}" for one in Pass)
    passes = drawing.typesetter.shortened(passes, room.right - x, SMALL_POINTS)
    drawing.text(x, base, passes, SMALL_POINTS, colour=SOFT)


def _sample(setter: Compositor, pressure: Pressure, ink: Ink) -> Flowable:
    def draw(drawing: Drawing) -> None:
        drawing.stroke(INKS[ink][pressure], WEIGHT_MM[pressure])
        drawing.line(0, 1.4, 6.5, 1.4)

    return setter.drawn(8, 2.6, draw)


# SVG ----------------------------------------------------------------------------------


def trace_svg(
    path: str | os.PathLike[str],
    lines: Lines,
    outline: Outline,
    facts: Facts,
    *,
    ink: Ink = Ink.BLUE,
    marks: ZoneMarks | None = None,
    ticks: Sequence[NDArray[np.float64]] = (),
    mirrored: bool = False,
) -> Written:
    """Write the lines as SVG at true size, a user unit to a millimetre.

    Groups ``outline``, ``pass-1``, ``pass-2`` and ``pass-3``, which are traced, and
    ``direction`` and ``marks``, which are not and may be empty; lost lines are in none.
    Outlines of letters, if there are any, are a group ``letters`` in that of their pass.
    For the rest see :func:`trace_pdf`.
    """
    width, height = _number(outline.width_mm), _number(outline.height_mm)
    true_size = f'width="{width}mm" height="{height}mm"'
    title = " · ".join(part for part in (facts.code, plain(facts.title), "Trace") if part)
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" {true_size} viewBox="0 0 {width} {height}">',
        f"<title>{escape(title)}</title>",
        "<metadata>burnplan</metadata>",
    ]
    if mirrored:
        parts.append(f'<g id="mirrored" transform="translate({width} 0) scale(-1 1)">')
    parts.append(
        f'<g id="outline" fill="none" stroke="{_hex(INK)}" stroke-width="{CUT_MM}">'
        f"{_outline_element(outline)}</g>"
    )
    for in_pass in Pass:
        parts.append(
            f'<g id="pass-{in_pass}" fill="none" stroke-linejoin="round" stroke-linecap="round">'
        )
        mine = [line for line in lines.drawn if line.in_pass is in_pass]
        letters = [_path(line, ink) for line in mine if line.of_letter]
        parts += ['<g id="letters">', *letters, "</g>"] if letters else []
        parts += [_path(line, ink) for line in mine if not line.of_letter]
        parts.append("</g>")
    parts.append(
        f'<g id="direction" fill="none" stroke="{_hex(TICK_COLOUR)}" stroke-width="{TICK_MM}">'
    )
    parts += [f'<path d="{_path_data(tick.tolist(), closed=False)}"/>' for tick in ticks]
    parts.append("</g>")
    parts += _marks_group(marks)
    if mirrored:
        parts.append("</g>")
    parts.append("</svg>\n")
    with written_whole(path) as unfinished:
        unfinished.write_text("\n".join(parts), encoding="utf-8", newline="\n")
    return Written(Path(path), 0)


def _outline_element(outline: Outline) -> str:
    width, height = outline.width_mm, outline.height_mm
    if outline.kind in (OutlineKind.ROUND, OutlineKind.OVAL):
        middle = f'cx="{_number(width / 2)}" cy="{_number(height / 2)}"'
        return f'<ellipse {middle} rx="{_number(width / 2)}" ry="{_number(height / 2)}"/>'
    return f'<path d="{_path_data(outline_points(outline), closed=True)}"/>'


def _path(line: Line, ink: Ink) -> str:
    data = _path_data(line.points.tolist(), line.closed)
    colour, weight = _hex(INKS[ink][line.pressure]), WEIGHT_MM[line.pressure]
    return f'<path d="{data}" stroke="{colour}" stroke-width="{weight}"/>'


def _marks_group(marks: ZoneMarks | None) -> list[str]:
    head = (
        f'<g id="marks" fill="{_hex(MARK_COLOUR)}" text-anchor="middle"'
        ' font-family="Source Sans Pro, Source Sans 3, sans-serif">'
    )
    if marks is None:
        return [head, "</g>"]
    dots = (
        f'fill="none" stroke="{_hex(MARK_COLOUR)}" stroke-width="{DOT_WIDE_MM}"'
        f' stroke-linecap="round" stroke-dasharray="0 {DOT_MM}"'
    )
    return [
        head,
        *(
            f'<path d="{_path_data(one.points.tolist(), closed=False)}" {dots}/>'
            for one in marks.borders
        ),
        *map(_mark, marks.marks),
        "</g>",
    ]


def _mark(mark: ZoneMark) -> str:
    size = mark.points * MM_PER_POINT
    at = f'x="{_number(mark.x)}" y="{_number(mark.y + CAP_TO_MIDDLE * size)}"'
    return f'<text {at} font-size="{_number(size)}">{mark.text}</text>'


def _path_data(points: Points, closed: bool) -> str:
    data = "L".join(f"{_number(x)} {_number(y)}" for x, y in points)
    return f"M{data}Z" if closed else f"M{data}"


def _number(value: float) -> str:
    """Return a length: micrometres are finer than any pen, and no digits are wasted."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _hex(colour: RGB) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)
