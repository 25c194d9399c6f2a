"""Lettering on the terminal: what is lettered, and its spelling, large."""

import numpy as np
from numpy.typing import NDArray
from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.lettering import LetteringListView, LetteringView
from burnplan.lettering.drawing import glyph_path, outlines
from burnplan.lettering.setting import set_line
from burnplan.lettering.typefaces import STAND_INS, shipped
from burnplan.show.console import table
from burnplan.show.jobs.estimates import notes
from burnplan.show.jobs.pictures import side_by_side
from burnplan.tone.region import polygon_mask
from burnplan.units import UnitSystem, format_area, format_length, format_runs

_CAP_PX, _PITCH, _AIR_PX = 40, 2.1, 14  # of the picture of the spelling


def spelled(view: LetteringListView) -> RenderableType:
    """Return every line large and plain, to be read letter by letter."""
    lines = [line for one in view.lettering for line in one.lines]
    words = ", ".join(f"'{line}'" for line in lines)
    return side_by_side({"spelling": _picture(lines)}, {"spelling": words})


def _picture(lines: list[str]) -> NDArray[np.uint8]:
    faces = [shipped("sans"), *(shipped(name) for name in STAND_INS)]
    rings = []
    for number, line in enumerate(lines):
        down = np.array([0.0, (number + 1) * _PITCH * _CAP_PX])
        glyphs = set_line(line, faces, _CAP_PX).glyphs
        rings += [
            ring + down
            for ring in outlines(
                (glyph_path(g), lambda p: p * np.array([1.0, -1.0])) for g in glyphs
            )
        ]
    points = np.concatenate(rings)
    low, high = points.min(axis=0) - _AIR_PX, points.max(axis=0) + _AIR_PX
    wide, tall = np.ceil(high - low).astype(int).tolist()
    ink = polygon_mask([ring - low for ring in rings], (tall, wide), 1.0)
    grey = np.where(ink, 30, 245).astype(np.uint8)
    return np.dstack([grey] * 3)


def lettering_list(view: LetteringListView, settings: Settings) -> RenderableType:
    """Return what is lettered on a piece, and what to mind of it."""
    head = Text.assemble((view.code, "code"), "  ", (view.title, "title"))
    if not view.lettering:
        return Group(head, Text("Nothing is lettered on it", "soft"))
    rows = table(">no.", "+words", "set", ">capitals", ">area", ">line")
    runs = format_runs([one.line_cm or 0.0 for one in view.lettering], settings.units)
    for one, run in zip(view.lettering, runs, strict=False):
        rows.add_row(
            str(one.number),
            Text(" / ".join(one.lines), "title"),
            _how(one, settings.units),
            format_length(one.height_mm, settings.units),
            "" if one.area_cm2 is None else _small_area(one, settings.units),
            "" if one.line_cm is None else run,
        )
    return Group(head, rows, notes(view.notes, settings))


def _small_area(one: LetteringView, units: UnitSystem) -> str:
    return format_area(one.area_cm2 or 0.0, units) if one.filled else "outline"


def _how(one: LetteringView, units: UnitSystem) -> str:
    where: str = one.at
    if one.middle_mm is not None:
        x, y = (format_length(value, units) for value in one.middle_mm)
        where = f"middle at {x}, {y}"
    course = {"straight": "", "arc": ", on an arc", "edge": ", along the edge"}[one.course]
    clear = f", {format_length(one.clear_mm, units)} clear" if one.clear_mm else ""
    return f"{one.typeface}, {where}{course}, {one.darkness:.0%} dark{clear}".replace("%", " %")
