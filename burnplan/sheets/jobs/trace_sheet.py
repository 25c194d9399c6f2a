"""The trace sheet: what to trace, how hard to press, in what order; on paper and as SVG."""

import os
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from xml.sax.saxutils import escape

from reportlab.platypus import Flowable

from burnplan.files import written_whole
from burnplan.outline import Outline, OutlineKind
from burnplan.sheets.drawing import HAIR, INK, RED, RGB, SOFT, Align, Drawing, Points
from burnplan.sheets.flowing import Compositor, gap, rule, table
from burnplan.sheets.jobs.numbers import ZoneNumber, place_numbers
from burnplan.sheets.jobs.pages import CUT_MM, print_pages
from burnplan.sheets.jobs.panel import SMALL_POINTS, TEXT_POINTS, Facts, PrintJob, heading
from burnplan.sheets.jobs.shape import outline_points
from burnplan.sheets.lettering import BOLD, plain
from burnplan.sheets.paper import A4, Box, Paper
from burnplan.sheets.writing import Written
from burnplan.tone.lines import Line, Lines
from burnplan.tone.passes import Pass, Pressure
from burnplan.tone.zones import ZoneMap
from burnplan.units import MM_PER_INCH, MM_PER_POINT, UnitSystem

WEIGHT_MM = {Pressure.FIRM: 0.45, Pressure.LIGHT: 0.25}
"""Weights of lines by pressure; lost ones are not drawn."""

NUMBER_COLOUR: RGB = (120, 108, 100)

_DRAWN = (Pressure.LIGHT, Pressure.FIRM)  # the stronger on top
_LINES_AT_ONCE = 200  # in one path: viewers slow down on longer ones
_CAP_TO_MIDDLE = 0.33  # half the height of a figure over the size of type


def trace_pdf(
    path: str | os.PathLike[str],
    lines: Lines,
    zones: ZoneMap,
    outline: Outline,
    facts: Facts,
    *,
    px_per_mm: float,
    paper: Paper = A4,
    left_handed: bool = False,
    mirrored: bool = False,
    numbers: Sequence[ZoneNumber] | None = None,
    whole: Sequence[Box] = (),
) -> Written:
    """Write the trace sheet as PDF at true size, its lines as vectors.

    The zones between the lines, and the resolution of their raster, say where their
    numbers go, unless :func:`~burnplan.sheets.jobs.numbers.place_numbers` has said so
    already; the rest is as for :class:`~burnplan.sheets.jobs.panel.PrintJob`.

    Raises
    ------
    BadInput
        If the pages would be too many.
    """
    setter = Compositor()
    placed = place_numbers(zones, lines, px_per_mm) if numbers is None else numbers

    def draw(drawing: Drawing) -> None:
        drawing.canvas.setLineJoin(1)
        drawing.canvas.setLineCap(1)
        for pressure in _DRAWN:
            drawing.stroke(RED, WEIGHT_MM[pressure])
            drawn = [line for line in lines.drawn if line.pressure is pressure]
            for start in range(0, len(drawn), _LINES_AT_ONCE):
                some = drawn[start : start + _LINES_AT_ONCE]
                drawing.paths((line.points.tolist(), line.closed) for line in some)
        for number in placed:
            _draw_number(drawing, number)

    blocks = [_order_block(lines, facts.units, setter)]
    job = PrintJob("Trace", facts, outline, draw, paper, left_handed, mirrored, blocks, whole=whole)
    return print_pages(path, job, setter)


def _draw_number(drawing: Drawing, number: ZoneNumber) -> None:
    base = number.y + _CAP_TO_MIDDLE * number.points * MM_PER_POINT
    at = number.x, base, str(number.zone), number.points
    drawing.text(*at, colour=NUMBER_COLOUR, align=Align.MIDDLE)


# The order of tracing -----------------------------------------------------------------

_ROW_MM = 4.4
_ORDER = (
    "Heavy lines firmly, thin ones lightly. Where no line is drawn the edge is lost: leave it open."
)


def _order_block(lines: Lines, units: UnitSystem, setter: Compositor) -> list[Flowable]:
    """Return the passes in their order, with strokes and lengths by pressure."""
    unit, unit_cm = ("in", MM_PER_INCH / 10) if units is UnitSystem.IMPERIAL else ("cm", 1.0)
    rows = [
        (
            in_pass,
            sum(line.in_pass is in_pass for line in lines.drawn),
            [lines.length_cm(pressure, in_pass) / unit_cm for pressure in WEIGHT_MM],
        )
        for in_pass in Pass
    ]
    # As shown, so that who adds the column up finds the same.
    sums = [sum(round(lengths[column]) for *_, lengths in rows) for column in range(len(WEIGHT_MM))]
    small = partial(setter.text, points=SMALL_POINTS, colour=SOFT)
    name = partial(setter.text, points=TEXT_POINTS, weight=BOLD)
    figure = partial(setter.text, points=TEXT_POINTS, align=Align.RIGHT)
    heads = [small(head, align=Align.RIGHT) for head in ("strokes", "firm", "light")]
    cells = [["", "", *heads], ["", "", "", *map(partial(_sample, setter), WEIGHT_MM)]]
    for in_pass, strokes, lengths in rows:
        shown = (figure(_length(length, unit)) for length in lengths)
        named = name(in_pass.name.capitalize())
        cells.append([small(f"{in_pass}."), named, figure(str(strokes)), *shown])
    figures = (str(lines.strokes), *(_length(one, unit) for one in sums))
    cells.append(["", name("All"), *(figure(one, weight=BOLD) for one in figures)])
    order = table(
        cells,
        [4.5, 18, 11.5, 11.5, 11.5],
        ("ALIGN", (2, 1), (-1, 1), "RIGHT"),
        ("TOPPADDING", (0, 2), (0, -1), TEXT_POINTS - SMALL_POINTS),  # on one line
        ("TOPPADDING", (0, -1), (-1, -1), 3),
        rule("LINEABOVE", (0, -1), (-1, -1), HAIR, 0.15),
        heights_mm=[4.3, 2.7, *[_ROW_MM] * len(rows), 5.4],
    )
    title = setter.drawn(0, 0, partial(heading, x=0, y=0, text="Trace in order"))
    return [title, order, gap(0.5), small(_ORDER, leading=1.21)]


def _sample(setter: Compositor, pressure: Pressure) -> Flowable:
    def draw(drawing: Drawing) -> None:
        drawing.stroke(RED, WEIGHT_MM[pressure])
        drawing.line(0, 0, 9, 0)

    return setter.drawn(9, 0, draw)


def _length(length: float, unit: str) -> str:
    if length <= 0:
        return "–"
    return f"{length:.0f} {unit}" if round(length) else f"< 1 {unit}"


# SVG ----------------------------------------------------------------------------------


def trace_svg(
    path: str | os.PathLike[str],
    lines: Lines,
    zones: ZoneMap,
    outline: Outline,
    facts: Facts,
    *,
    px_per_mm: float,
    mirrored: bool = False,
    numbers: Sequence[ZoneNumber] | None = None,
) -> Written:
    """Write the lines as SVG at true size, a user unit to a millimetre.

    Groups ``outline``, ``pass-1``, ``pass-2``, ``pass-3`` and ``zone-numbers``; lost
    lines are in none. For the rest see :func:`trace_pdf`.
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
            f'<g id="pass-{in_pass}" fill="none" stroke="{_hex(RED)}"'
            ' stroke-linejoin="round" stroke-linecap="round">'
        )
        parts += [_path(line) for line in lines.drawn if line.in_pass is in_pass]
        parts.append("</g>")
    parts.append(
        f'<g id="zone-numbers" fill="{_hex(NUMBER_COLOUR)}" text-anchor="middle"'
        ' font-family="Source Sans Pro, Source Sans 3, sans-serif">'
    )
    placed = place_numbers(zones, lines, px_per_mm) if numbers is None else numbers
    for number in placed:
        size = number.points * MM_PER_POINT
        base = number.y + _CAP_TO_MIDDLE * size
        parts.append(
            f'<text x="{_number(number.x)}" y="{_number(base)}"'
            f' font-size="{_number(size)}">{number.zone}</text>'
        )
    parts.append("</g>")
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


def _path(line: Line) -> str:
    data = _path_data(line.points.tolist(), line.closed)
    return f'<path d="{data}" stroke-width="{WEIGHT_MM[line.pressure]}"/>'


def _path_data(points: Points, closed: bool) -> str:
    data = "L".join(f"{_number(x)} {_number(y)}" for x, y in points)
    return f"M{data}Z" if closed else f"M{data}"


def _number(value: float) -> str:
    """Return a length: micrometres are finer than any pen, and no digits are wasted."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _hex(colour: RGB) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)
