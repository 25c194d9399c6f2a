"""The sheets of a reference to print at true size, with their progress."""

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np

from burnplan.desk.derived.studio_settings import Hand, Settings
from burnplan.desk.jobs.references import ReferenceView
from burnplan.sheets.jobs.numbers import place_numbers
from burnplan.sheets.jobs.panel import Facts
from burnplan.sheets.jobs.reference_sheet import reference_sheet, value_key
from burnplan.sheets.jobs.trace_sheet import trace_pdf, trace_svg
from burnplan.sheets.paper import PAPERS, Box
from burnplan.sheets.writing import Written
from burnplan.tone.render import sepia
from burnplan.units import format_size
from burnplan.wood.species import species_on_record

if TYPE_CHECKING:
    from burnplan.tone.analysis import PhotoAnalysis
    from burnplan.tone.place import Placed

PRINT_HINT = "Print at 100 %, not fitted to the page, and measure the check bars"


def write_true_size(
    view: ReferenceView,
    reading: "PhotoAnalysis",
    own: Settings,
    today: date,
    into: Path,
    *,
    paper: str | None = None,
    mirrored: bool = False,
    on_progress: Callable[[float, str], None] = lambda _share, _label: None,
) -> list[Written]:
    """Write the reference sheet and the trace sheets (PDF and SVG) into a folder.

    ``paper`` is a key of PAPERS, that of the settings if not given; ``mirrored`` is for
    heat-transfer prints; ``on_progress`` is given the share done and what is done next.
    """
    placed, zones, lines = reading.placed, reading.zones, reading.lines
    facts = Facts(
        title=view.title,
        code=view.code,
        size=format_size(placed.outline, own.units),
        wood=species_on_record(view.species).name if view.species else "",
        date=_day(today, own.locale),
        studio=own.name,
        units=own.units,
    )
    chosen, left = PAPERS[paper or own.paper], own.drawing_hand is Hand.LEFT
    on_progress(0.0, "writing the reference sheet")
    picture, scale, whole = sepia(placed), placed.px_per_mm, _focal_boxes(placed)
    reference = reference_sheet(
        into / f"{view.code}-reference.pdf", picture, placed.outline, facts,
        key=value_key(placed, zones, picture),
        paper=chosen, left_handed=left, mirrored=mirrored, whole=whole,
    )  # fmt: skip
    on_progress(0.5, "writing the trace sheets")
    numbers = place_numbers(zones, lines, scale, bare=placed.bare)
    what = lines, zones, placed.outline, facts
    pdf = trace_pdf(
        into / f"{view.code}-trace.pdf", *what, px_per_mm=scale, numbers=numbers,
        paper=chosen, left_handed=left, mirrored=mirrored, whole=whole,
    )  # fmt: skip
    svg = trace_svg(
        into / f"{view.code}-trace.svg", *what, px_per_mm=scale, numbers=numbers, mirrored=mirrored
    )
    return [reference, pdf, svg]


def _focal_boxes(placed: "Placed") -> list[Box]:
    """Return the boxes round the focal areas, which no joint between pages should cut."""
    if placed.focal is None:
        return []
    boxes = cv2.connectedComponentsWithStats(placed.focal.view(np.uint8))[2][1:, :4]
    return [Box(*box) for box in (boxes / placed.px_per_mm).tolist()]


def _day(day: date, locale: str) -> str:
    """Return a date as it is written in letters of a locale."""
    from babel.dates import format_date

    return str(format_date(day, "long", locale=locale))
