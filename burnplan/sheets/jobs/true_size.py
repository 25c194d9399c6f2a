"""The sheets of a reference to print at true size, with their progress."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.desk.derived.studio_settings import Hand, Ink, Settings
from burnplan.desk.jobs.references import ReferenceView
from burnplan.progress import Progress, silent
from burnplan.sheets.dates import written_date
from burnplan.sheets.jobs.lettering_sheet import lettering_sheet
from burnplan.sheets.jobs.letters import boxes
from burnplan.sheets.jobs.marks import ZoneMarks, place_marks
from burnplan.sheets.jobs.panel import Facts
from burnplan.sheets.jobs.reference_sheet import reference_sheet, value_key
from burnplan.sheets.jobs.trace_sheet import trace_pdf, trace_svg
from burnplan.sheets.jobs.value_map import value_map
from burnplan.sheets.paper import PAPERS, Box, Paper
from burnplan.sheets.writing import Written
from burnplan.tone.render import faint_photo, sepia
from burnplan.units import format_size
from burnplan.wood.species import UNKNOWN_WOOD, species_on_record

if TYPE_CHECKING:
    from burnplan.tone.analysis import PhotoAnalysis

_MIDDLE = 1 / 3  # of a subject's width and height; our own choice
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
    ink: str | None = None,
    over_photo: bool | None = None,
    direction: bool = True,
    marks: bool = False,
    on_progress: Progress = silent,
) -> list[Written]:
    """Write the reference sheet, the value map and the trace sheets (PDF and SVG) into a folder.

    Where words are lettered, also the sheet by which the client confirms them.

    Parameters
    ----------
    view : ReferenceView
    reading : PhotoAnalysis
    own : Settings
    today : date
    into : Path
    paper : str, optional
        A key of PAPERS.
    mirrored : bool, optional
        For heat-transfer prints; the value map never is.
    ink : str, optional
        Colour of the lines, as :class:`Ink` names it.
    over_photo : bool, optional
        Whether they lie over the faint photo; what is not given is as in the settings.
    direction : bool, optional
        Whether ticks show the direction of strokes.
    marks : bool, optional
        Whether the trace sheets tell of zones too.
    on_progress : callable, optional
        Given the share done and what is done next.
    """
    placed, lines = reading.placed, reading.lines
    outline, wood = placed.outline, species_on_record(view.species or UNKNOWN_WOOD)
    facts = Facts(
        title=view.title,
        code=view.code,
        size=format_size(outline, own.units),
        wood=wood.name if view.species else "",
        date=written_date(today, own.locale),
        studio=own.name,
        units=own.units,
    )
    whole, chosen = _kept_whole(reading), PAPERS[paper or own.paper]
    on_wood: _OnWood = {
        "paper": chosen, "left_handed": own.drawing_hand is Hand.LEFT, "mirrored": mirrored,
        "whole": whole,
    }  # fmt: skip
    on_progress(0.0, "finding the direction of strokes")
    ticks = reading.ticks if direction else ()
    placed_marks = place_marks(reading.zones, lines, placed)
    drawn: _Drawn = {
        "ink": Ink(ink or own.ink),
        "ticks": ticks,
        "marks": placed_marks if marks else None,
    }
    # First what is left where a piece would take too many pages.
    svg = trace_svg(
        into / f"{view.code}-trace.svg", lines, outline, facts, mirrored=mirrored, **drawn
    )
    words = []
    if reading.letters:
        lettering = into / f"{view.code}-lettering.pdf"
        words.append(lettering_sheet(lettering, reading.letters, facts, paper=chosen))
    on_progress(0.2, "writing the reference sheet")
    picture = sepia(placed)
    reference = reference_sheet(
        into / f"{view.code}-reference.pdf", picture, outline, facts,
        key=value_key(placed, reading.zones, picture), ticks=ticks, letters=reading.letters,
        **on_wood,
    )  # fmt: skip
    on_progress(0.5, "writing the value map")
    values = value_map(
        into / f"{view.code}-values.pdf", reading, placed_marks, facts,
        wood_lightness=view.bare, burn_lightness=view.darkest,
        paper=chosen, whole=whole,
    )  # fmt: skip
    on_progress(0.75, "writing the trace sheets")
    over = own.over_photo if over_photo is None else over_photo
    pdf = trace_pdf(
        into / f"{view.code}-trace.pdf", lines, outline, facts,
        photo=faint_photo(placed) if over else None, **drawn, **on_wood,
    )  # fmt: skip
    return [reference, values, pdf, svg, *words]


class _OnWood(TypedDict):
    """How sheets that are taped to the wood are laid out."""

    paper: Paper
    left_handed: bool
    mirrored: bool
    whole: list[Box]


class _Drawn(TypedDict):
    """What trace sheets show, and how."""

    ink: Ink
    ticks: tuple[NDArray[np.float64], ...]
    marks: ZoneMarks | None


def _kept_whole(reading: "PhotoAnalysis") -> list[Box]:
    """Return the boxes that no joint between pages should cut: of lettering, and of the picture."""
    return [*_kept_of_picture(reading), *boxes(reading.letters)]


def _kept_of_picture(reading: "PhotoAnalysis") -> list[Box]:
    """Return the boxes of the picture that no joint should cut.

    Those of focal areas; without any the middle of the subject, marked or likely, which is
    where a face may be: no joint keeps off a subject that is as large as the piece.
    """
    placed = reading.placed
    if placed.focal is not None:
        boxes = cv2.connectedComponentsWithStats(placed.focal.view(np.uint8))[2][1:, :4]
        return [Box(*box) for box in (boxes / placed.px_per_mm).tolist()]
    if placed.bare is not None and placed.bare.any():
        box = np.array(cv2.boundingRect(placed.burned.view(np.uint8))) / placed.px_per_mm
        left, top, wide, high = box.tolist()
    elif reading.likely is not None:
        corners = placed.position.of(reading.likely)
        left, top = corners.min(axis=0).tolist()
        wide, high = np.ptp(corners, axis=0).tolist()
    else:
        return []
    off = (1 - _MIDDLE) / 2
    return [Box(left + off * wide, top + off * high, _MIDDLE * wide, _MIDDLE * high)]
