"""The tones of value zones as a key: a wedge with figures, a line, a strip to cut out."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from itertools import zip_longest

from reportlab.platypus import Flowable

from burnplan.sheets.drawing import HAIR, INK, SOFT, Align, Drawing, colour_of
from burnplan.sheets.flowing import Compositor, gap, rule, table
from burnplan.sheets.jobs.pages import CUT_MM
from burnplan.sheets.jobs.panel import SMALL_POINTS, TEXT_POINTS, heading
from burnplan.sheets.lettering import BOLD
from burnplan.sheets.paper import Box
from burnplan.units import UnitSystem, format_area
from burnplan.zone_names import zone_mark


@dataclass(frozen=True, slots=True)
class KeyTone:
    """A value zone in a key: its colour on the sheet, and the L* that it stands for."""

    zone: int
    rgb: tuple[int, int, int]
    lightness: float
    area_cm2: float


_ROW_MM = 5.6
_STRIP_MM = 34.0


def key_block(
    tones: Sequence[KeyTone],
    named: tuple[str, str, Sequence[str]],
    units: UnitSystem,
    setter: Compositor,
    note: str,
) -> list[Flowable]:
    """Return a wedge of tones, darkest on top, with a figure each and their area.

    ``named`` are the title, the head of the figures and the figures.
    """
    title, head, figures = named
    figure = partial(setter.text, points=TEXT_POINTS, align=Align.RIGHT)
    small = partial(setter.text, points=SMALL_POINTS, colour=SOFT)
    heads = [small(one, align=Align.RIGHT) for one in (head, "area")]
    rows = [[setter.text(title, TEXT_POINTS, BOLD), "", "", *heads]]
    colours = []
    for number, (tone, said) in enumerate(zip(tones, figures, strict=True), start=1):
        colours.append(("BACKGROUND", (0, number), (0, number), colour_of(tone.rgb)))
        name = setter.text(zone_mark(tone.zone), TEXT_POINTS, BOLD)
        area = figure(format_area(tone.area_cm2, units))
        rows.append(["", "", name, figure(said), area])
    wedge = table(
        rows,
        [15, 3, 7, 14, 18],
        *colours,
        ("SPAN", (0, 0), (2, 0)),
        ("TOPPADDING", (0, 1), (-1, -1), 2.4),
        rule("BOX", (0, 1), (0, -1), HAIR, 0.1),
        heights_mm=[5, *[_ROW_MM] * len(tones)],
    )
    return [wedge, gap(1), small(note, leading=1.21)]


def draw_key(
    drawing: Drawing, room: Box, tones: Sequence[KeyTone], figures: Sequence[str] = ()
) -> None:
    """Draw the tones in one line, each with its zone and its figure if there are any."""
    said = [
        " ".join(parts)
        for parts in zip_longest((zone_mark(t.zone) for t in tones), figures, fillvalue="")
    ]
    words = max(drawing.typesetter.width_mm(text, SMALL_POINTS) for text in said) + 2.5
    pitch = min(12.0 + words, room.width / len(tones))
    for number, (tone, text) in enumerate(zip(tones, said, strict=True)):
        x, wide = room.x + number * pitch, pitch - words
        drawing.box(Box(x, room.y, wide, room.height - 0.5), fill=tone.rgb, stroke=False)
        drawing.text(x + wide + 1, room.y + room.height - 1.2, text, SMALL_POINTS)


def draw_strip(drawing: Drawing, room: Box, tones: Sequence[KeyTone]) -> None:
    """Draw the tones side by side, to be held against the wood while burning."""
    heading(drawing, room.x, room.y, "Strip of tones")
    drawing.text(
        room.x, room.y + 7, "Cut it out and hold it beside the burn", SMALL_POINTS, colour=SOFT
    )
    width = room.width / len(tones)
    strip = Box(room.x, room.y + 11, width, _STRIP_MM)
    for number, tone in enumerate(tones):
        x = strip.x + width * number
        drawing.box(Box(x, strip.y, width, _STRIP_MM), fill=tone.rgb, stroke=False)
        name, middle = zone_mark(tone.zone), x + width / 2
        y = strip.bottom + 4.5
        drawing.text(middle, y, name, TEXT_POINTS, weight=BOLD, align=Align.MIDDLE)
    drawing.stroke(INK, CUT_MM)
    drawing.box(Box(room.x, strip.y, room.width, _STRIP_MM + 7))
