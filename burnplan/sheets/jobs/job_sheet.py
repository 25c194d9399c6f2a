"""The job sheet: a commission on one page, to lie on the bench and be filled by hand."""

import os
from bisect import bisect_left
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from reportlab.platypus import Flowable, Table

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.checklists import StepView
from burnplan.desk.jobs.commissions import CommissionView
from burnplan.desk.jobs.job_sheets import JobSheetView
from burnplan.reckon.checklist import Phase
from burnplan.reckon.ladder import Reach
from burnplan.sheets.dates import written_date
from burnplan.sheets.drawing import HAIR, INK, PAPER, RED, SOFT, Align, Drawing, colour_of, one_page
from burnplan.sheets.flowing import (
    Compositor,
    Draw,
    framed,
    gap,
    height_mm,
    in_two_columns,
    pad,
    place,
    rule,
    table,
)
from burnplan.sheets.lettering import BOLD, POINTS_PER_MM, REGULAR
from burnplan.sheets.paper import Box, SheetPage, paper_named
from burnplan.sheets.writing import Written
from burnplan.show.commands import in_words
from burnplan.show.jobs.commissions import hours_left_words
from burnplan.tone.strip import tone_of
from burnplan.units import format_area, format_length, format_setting, format_size
from burnplan.wood import cautions
from burnplan.wood.cautions import Moment
from burnplan.wood.species import species_on_record
from burnplan.wording import Wording
from burnplan.zone_names import zone_mark

_MARGIN, _GUTTER = 12.0, 6.0
_PICTURE_MM, _LONGEST_PX = 46.0, 900
_ROW_MM = 6.4  # of the session table: room for handwriting
_FEWEST_ROWS = 5
_TABLE_HEAD_MM = 12.0  # its title, headings and the space above
_SCALES = (1.0, 0.94, 0.88, 0.82, 0.76, 0.7, 0.62)  # of type; smaller nobody reads at the bench
_PHASES = {
    Phase.PREPARE: "Prepare", Phase.TRANSFER: "Transfer", Phase.BURN: "Burn",
    Phase.FINISH: "Finish", Phase.HANDOVER: "Hand over",
}  # fmt: skip
_SESSION = (
    ("Date", 0.12), ("Work, zone", 0.16), ("Tip", 0.14), ("Heat", 0.09), ("From", 0.09),
    ("To", 0.09), ("Hours", 0.09), ("Note", 0.22),
)  # fmt: skip


Minded = list[tuple[str, bool]]
"""What to mind, and whether it blocks."""


def job_sheet(
    path: str | os.PathLike[str],
    job: JobSheetView,
    settings: Settings,
    picture: NDArray[np.uint8] | None = None,
) -> Written:
    """Write a commission's job sheet: one page, whatever is in it.

    Type shrinks until all fits; steps that still do not are counted, not lost
    silently. The picture (RGB) is the reference, in sepia.
    """
    paper, setter = paper_named(settings.paper.value), Compositor()
    title = f"{job.commission.code} {job.commission.title} · job sheet"
    with one_page(path, SheetPage(paper), setter, title=title, author=settings.name) as drawing:
        width, bottom = paper.width_mm - 2 * _MARGIN, paper.height_mm - _MARGIN
        head = _head(setter, width, job, settings, picture)
        minded = _caution_texts(job, settings.wording)
        above = [head, gap(5), *_zones(setter, width, job, settings), gap(4)]
        y = place(drawing, _MARGIN, _MARGIN, width, above)
        room = bottom - y - _TABLE_HEAD_MM - _FEWEST_ROWS * _ROW_MM
        y = place(drawing, _MARGIN, y, width, _to_do(setter, job, minded, width, room)) + 3
        place(drawing, _MARGIN, y, width, _sessions(setter, width, bottom - y))
    return Written(Path(path), 1, setter.notes)


# Head: what it is, its blank, its picture -----------------------------------------------


def _head(
    setter: Compositor,
    width: float,
    job: JobSheetView,
    settings: Settings,
    picture: NDArray[np.uint8] | None,
) -> Table:
    shown = [] if picture is None else [framed(setter, picture, _PICTURE_MM, _LONGEST_PX)]
    left = width - (_PICTURE_MM + _GUTTER if shown else 0)
    facts = [fact for fact in _facts(job, settings) if fact[1]]
    half = -(-len(facts) // 2)
    value = left / 2 - 17
    cells = [
        [setter.text(label, 7, REGULAR, SOFT), setter.line(said, value - 3, 8.5)]
        for label, said in [*facts, ("", "")][: 2 * half]
    ]
    about = [
        setter.text(f"Job sheet {job.commission.code}", 8, REGULAR, SOFT),
        setter.line(job.commission.title, left, 16, BOLD),
        gap(0.5),
        table(
            [[*one, *other] for one, other in zip(cells[:half], cells[half:], strict=True)],
            [17, value, 17, value],
            *(("TOPPADDING", (column, 0), (column, -1), 1.5) for column in (0, 2)),  # on one line
            heights_mm=[4.4] * half,
        ),
    ]
    return table([[about, shown]], [left, width - left], ("ALIGN", (1, 0), (1, 0), "RIGHT"))


def _facts(job: JobSheetView, settings: Settings) -> list[tuple[str, str]]:
    """Return what is known, by name; what is not is empty."""
    one, blank, coats = job.commission, job.blank, job.finish.coats
    size = blank.shape() if blank else one.shape()
    facts = [
        ("Client", one.client or ""),
        ("Due", written_date(one.due, settings.locale) if one.due else ""),
        ("Use", one.use),
        ("Hours left", hours_left_words(one)),
        ("Finish", f"{len(coats)} × {coats[0].product}" if coats else ""),
        ("Blank", blank.code if blank else "none held yet"),
        ("Wood", blank.species_name if blank else _wood(one)),
        ("Size", format_size(size, settings.units) if size else "not known"),
        (
            "Begun again",
            f"{written_date(one.spoiled[-1].spoiled_on, settings.locale)}: {one.spoiled[-1].reason}"
            if one.spoiled
            else "",
        ),
    ]
    if blank:
        thick, moist = blank.thickness_mm, blank.moisture
        facts += [
            ("Thickness", format_length(thick, settings.units) if thick else ""),
            ("Grain", blank.grain or ""),
            ("Grit", str(blank.grit or "rough")),
            ("Moisture", "" if moist is None else f"{moist:g} %"),
            ("Place", blank.location),
        ]
    return [
        *facts,
        ("Printed", f"{written_date(job.printed_on, settings.locale)}, {settings.name}"),
    ]


def _wood(one: CommissionView) -> str:
    return species_on_record(one.species).name if one.species else ""


# Zones ---------------------------------------------------------------------------------


def _zones(
    setter: Compositor, width: float, job: JobSheetView, settings: Settings
) -> list[Flowable]:
    """Return the zones with their settings and a box to tick."""
    title, found = setter.text("Value zones", 9, BOLD), job.settings
    if not job.zones:
        return [title, setter.text("No reference is planned yet", 8, REGULAR, SOFT)]
    states = {step.zone: step.state for step in job.checklist.steps if step.zone}
    settled = {one.zone: one for one in found.zones} if found else {}
    # What the tone comes to on the wood is known only where a ladder was burned.
    more = ("wanted L*", "setting", "expected L*") if found else ("darkness",)
    heads = (*("", "zone", "tone", "", "area"), *more)
    rows = [[setter.text(head, 6.5, REGULAR, SOFT) for head in heads]]
    tones = []
    for number, zone in enumerate(sorted(job.zones, key=lambda one: one.zone), start=1):
        light = job.bare - zone.darkness * (job.bare - job.darkest)
        tones.append(("BACKGROUND", (2, number), (2, number), colour_of(tone_of(light))))
        area = format_area(zone.area_cm2, settings.units)
        row = [
            setter.drawn(0, 0, _tick_box(1.0, 3.2, states.get(zone.zone, "open"))),
            setter.text(zone_mark(zone.zone), 8.5, BOLD), "", "", setter.text(area, 8.5),
        ]  # fmt: skip
        if one := settled.get(zone.zone):
            reached = one.reach is Reach.REACHED
            row += [
                setter.text(f"{one.wanted:.0f}", 8.5),
                setter.text(format_setting(one.setting), 8.5, BOLD if reached else REGULAR),
                setter.text(f"{one.expected:.0f}", 8.5),
                "" if reached else setter.line(one.words, width - 113, 7, REGULAR, RED),
            ]
        else:
            row.append(setter.text(f"{zone.darkness * 100:.0f} %", 8.5))
        rows.append(row)
    columns = [6.0, 12.0, 18.0, 4.0, 18.0, 18.0, 20.0, 17.0, width - 113]
    said = setter.line(_zone_words(job), width - 28, 7.5, REGULAR, SOFT, Align.LEFT, 1.63)
    return [
        table([[title, said]], [28, width - 28], *pad(0, 0, 2)),
        table(
            [[*row, *[""] * (len(columns) - len(row))] for row in rows],
            columns,
            *tones,
            rule("LINEBELOW", (2, 1), (2, -1), PAPER, 0.4),
            ("TOPPADDING", (0, 1), (-1, -1), 1),
            heights_mm=[4.0, *[5.0] * len(job.zones)],
        ),
    ]


def _zone_words(job: JobSheetView) -> str:
    if job.settings is None:
        return in_words(job.no_settings)
    held = f", {job.settings.held}" if job.settings.held else ""
    return f"setting: {job.settings.scale}{held}; ladder {job.settings.ladder}, {job.settings.tip}"


_TICK = [[(0.2, 0.5), (0.42, 0.78), (0.85, 0.15)]]
_CROSS = [[(0.2, 0.2), (0.8, 0.8)], [(0.8, 0.2), (0.2, 0.8)]]
_SIGNS = {"open": [], "ticked": _TICK, "skipped": _CROSS}  # strokes, in shares of the box


def _tick_box(scale: float, base: float, state: str) -> Draw:
    """Return what draws the box of a step that is open, ticked or skipped, on a baseline."""
    side = 2.9 * scale
    top = base - side + 0.3 * scale

    def draw(drawing: Drawing) -> None:
        drawing.stroke(INK, 0.2)
        drawing.box(Box(0, top, side, side))
        for stroke in _SIGNS[state]:
            drawing.path([(side * a, top + side * b) for a, b in stroke], closed=False)

    return draw


# Cautions and steps: shrunk until they fit ------------------------------------------------


def _to_do(
    setter: Compositor, job: JobSheetView, minded: Minded, width: float, room: float
) -> list[Flowable]:
    """Return cautions and steps as large as they fit; leave steps out only at the smallest."""
    # Zones have their own boxes above.
    own = [step for step in job.checklist.steps if step.zone is None]
    steps = [step for phase in Phase for step in own if step.phase is phase]
    for scale in _SCALES:
        made = _set_at(setter, minded, width, scale, steps)
        if height_mm(made, width) <= room:
            return made

    def too_many(count: int) -> bool:
        some = _set_at(setter, minded, width, scale, steps[:count], len(steps) - count)
        return height_mm(some, width) > room

    count = max(0, bisect_left(range(len(steps)), True, key=too_many) - 1)
    return _set_at(setter, minded, width, scale, steps[:count], len(steps) - count)


def _set_at(
    setter: Compositor,
    minded: Minded,
    width: float,
    scale: float,
    steps: Sequence[StepView],
    missing: int = 0,
) -> list[Flowable]:
    points, indent = 7.8 * scale, 4.6 * scale * POINTS_PER_MM
    heading = partial(setter.text, points=points, weight=BOLD, colour=SOFT, leading=1.22)
    cautions = [
        setter.text(
            # What must not be burned is read at the bench, however full the page is.
            text,
            *((7.2, BOLD, RED) if blocks else (7.2 * scale,)),
            leading=1.19,
        )
        for text, blocks in minded
    ]
    parts: list[list[Flowable]] = []
    for before, step in zip((None, *steps), steps, strict=False):
        said = f"{step.text} (skipped: {step.skip_reason})" if step.skip_reason else step.text
        colour = INK if step.state == "open" else SOFT
        part = [
            setter.drawn(0, 0, _tick_box(0.8 * scale, points / POINTS_PER_MM, step.state)),
            setter.text(said, points, REGULAR, colour, leading=1.22, leftIndent=indent),
        ]
        if before is None or before.phase is not step.phase:
            space = 0.0 if before is None else points * 0.6
            part.insert(0, heading(_PHASES[step.phase], spaceBefore=space))
        parts.append(part)
    if missing:
        parts.append([heading(f"… and {missing} more steps: burnplan step list")])
    return [
        setter.text("Cautions", 9, BOLD), gap(0.7), *cautions, gap(3),
        setter.text("Checklist", 9, BOLD), gap(0.7),
        in_two_columns(parts, width, _GUTTER),
    ]  # fmt: skip


def _caution_texts(job: JobSheetView, wording: Wording) -> Minded:
    """Return what to mind: the wood's hazards first."""
    texts = [
        (f"{'BLOCKED. ' if one.blocks else f'Caution, {one.key}: '}{one.in_words()}", one.blocks)
        for one in job.hazards
    ]
    if job.blank and job.blank.checking:
        texts.append((job.blank.checking, False))
    texts += [(wording.own(f"{note}."), False) for note in job.knots]
    at_bench = (
        ("Sanding", cautions.at("prepare", Moment.START)),
        ("Before burning", cautions.at("burn", Moment.START)),
        ("When you leave it", cautions.at("burn", Moment.PAUSE)),
        ("When you stop", cautions.at("burn", Moment.STOP)),
        ("Finishing", (*cautions.at("finish", Moment.START), *cautions.at("finish", Moment.STOP))),
    )
    texts += [(wording.own(f"{when}: {'; '.join(said)}."), False) for when, said in at_bench]
    in_full = ". ".join((cautions.SMOKE, cautions.ELECTRICITY, cautions.BURNS, cautions.FIRE))
    return [*texts, (wording.own(f"{in_full}. {cautions.DEFER}; follow local rules."), False)]


# Sessions, by hand ----------------------------------------------------------------------


def _sessions(setter: Compositor, width: float, height: float) -> list[Flowable]:
    """Return an empty table for the sittings at the bench, as high as there is room."""
    rows = max(1, int((height - 9.2) / _ROW_MM))
    heads = [setter.text(head, 7, REGULAR, SOFT) for head, _ in _SESSION]
    return [
        setter.text("Sessions", 9, BOLD),
        gap(0.7),
        table(
            [heads, *[[""] * len(heads)] * rows],
            [share * width for _, share in _SESSION],
            ("LEFTPADDING", (0, 0), (-1, 0), 1 * POINTS_PER_MM),
            rule("GRID", (0, 1), (-1, -1), HAIR, 0.2),
            heights_mm=[4.0, *[_ROW_MM] * rows],
        ),
    ]
