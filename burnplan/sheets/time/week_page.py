"""The week's page for the wall: seven days side by side, the open jobs below."""

import os
from collections.abc import Sequence
from pathlib import Path

from burnplan.dates import format_date
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.review import JobView
from burnplan.desk.time.week import Day, Sitting, WeekPage
from burnplan.files import written_whole
from burnplan.money import format_money
from burnplan.sheets.drawing import HAIR, INK, RED, RGB, SOFT, Align, Drawing, new_pdf
from burnplan.sheets.lettering import BOLD, REGULAR, Typesetter
from burnplan.sheets.paper import Box, paper_named
from burnplan.sheets.writing import Written
from burnplan.units import format_chance, format_hours, format_hours_left

_SIDE, _TOP, _FOOT = 12.0, 13.0, 12.0
_DAYS_TOP, _DAYS_HEIGHT = 24.0, 82.0
_EMBER: RGB = (168, 84, 40)
_SHADE: RGB = (244, 240, 235)
_ROW = 7.6
_KINDS = {"due": "Due", "next coat": "Coat", "quote expires": "Quote"}


def write_week(page: WeekPage, path: str | os.PathLike[str], settings: Settings) -> Written:
    """Write the week's page as a PDF, on the studio's paper laid across.

    Raises
    ------
    BadInput
        If the folder does not exist.
    OperationFailed
        If the file cannot be written.
    """
    paper = paper_named(settings.paper.value)
    width, height = paper.height_mm, paper.width_mm
    typesetter = Typesetter()
    with written_whole(path) as unfinished:
        first, last = page.days[0].day, page.days[-1].day
        title = f"Week {first.isocalendar().week}, {first} to {last}"
        canvas = new_pdf(unfinished, width, height, title=title, author=page.studio)
        drawing = Drawing(canvas, height, typesetter)
        _head(drawing, page, width)
        column = (width - 2 * _SIDE) / 7
        for number, day in enumerate(page.days):
            x = _SIDE + number * column
            _day(drawing, day, Box(x, _DAYS_TOP, column, _DAYS_HEIGHT), page)
        _jobs(drawing, page, settings, width, height)
        canvas.showPage()
        canvas.save()
    return Written(Path(path), 1, typesetter.notes)


def _head(drawing: Drawing, page: WeekPage, width: float) -> None:
    first, last = page.days[0].day, page.days[-1].day
    free = sum(day.free for day in page.days)
    drawing.text(_SIDE, _TOP + 3, f"Week {first.isocalendar().week}", 18, weight=BOLD)
    said = f"{first:%d.%m.} – {last:%d.%m.%Y}" if first.year == last.year else f"{first} – {last}"
    drawing.text(_SIDE + 34, _TOP + 3, said, 11, colour=SOFT)
    right = f"{page.studio} · {format_hours(free)} free"
    right = drawing.typesetter.shortened(right, width - 2 * _SIDE - 90, 10)
    drawing.text(width - _SIDE, _TOP + 3, right, 10, colour=SOFT, align=Align.RIGHT)


def _day(drawing: Drawing, day: Day, box: Box, page: WeekPage) -> None:
    inner = box.width - 3.0
    if day.off or not day.free:
        drawing.box(box, fill=_SHADE, stroke=False)
    drawing.stroke(INK if day.day == page.today else HAIR, 0.5 if day.day == page.today else 0.2)
    drawing.line(box.x + 0.5, box.y, box.right - 0.5, box.y)
    x, y = box.x + 1.5, box.y + 5.2
    drawing.text(x, y, f"{day.day:%a} {day.day.day}", 11, weight=BOLD)
    free = day.off or (format_hours(day.free) if day.free else "–")
    room = inner - drawing.typesetter.width_mm(f"{day.day:%a} {day.day.day}", 11, BOLD) - 2
    drawing.text(
        box.right - 1.5,
        y,
        drawing.typesetter.shortened(free, room, 8),
        8,
        colour=SOFT,
        align=Align.RIGHT,
    )
    y += 5.4
    blocks = [_entry_lines(drawing, day, inner), *(_lines(drawing, s, inner) for s in day.sittings)]
    for number, lines in enumerate(block for block in blocks if block):
        if y + len(lines) * 3.5 > box.bottom:
            left = len([block for block in blocks if block]) - number
            drawing.text(x, y, f"and {left} more", 7.5, colour=SOFT)
            break
        for text, weight, colour in lines:
            drawing.text(x, y, text, 8, weight=weight, colour=colour)
            y += 3.5
        y += 2.0


_Line = tuple[str, str, RGB]


def _entry_lines(drawing: Drawing, day: Day, width: float) -> list[_Line]:
    return [
        (
            drawing.typesetter.shortened(
                f"{_KINDS[one.kind]}: {one.code} {one.title}", width, 8, BOLD
            ),
            BOLD,
            _EMBER,
        )
        for one in day.entries
    ]


def _lines(drawing: Drawing, one: Sitting, width: float) -> list[_Line]:
    lines = [
        (f"{one.starts:%H:%M} – {one.ends:%H:%M} {one.work}", BOLD, INK),
        (f"{one.code} {one.title}", REGULAR, INK),
    ]
    if one.breaks:
        lines.append((f"break {' '.join(f'{at:%H:%M}' for at in one.breaks)}", REGULAR, SOFT))
    return [
        (drawing.typesetter.shortened(text, width, 8, weight), weight, colour)
        for text, weight, colour in lines
    ]


def _jobs(
    drawing: Drawing, page: WeekPage, settings: Settings, width: float, height: float
) -> None:
    """Draw the open jobs, as many as there is room for, with a box to tick."""
    y = _DAYS_TOP + _DAYS_HEIGHT + 6.0
    shares = (0.075, 0.25, 0.09, 0.115, 0.08, 0.075, 0.315)
    room = width - 2 * _SIDE
    edges = [_SIDE + room * sum(shares[:n]) for n in range(len(shares))]
    heads = ("Job", "What, for whom", "Stage", "Due", "Left", "On time", "Next, and why")
    for x, text in zip(edges, heads, strict=True):
        drawing.text(x, y, text, 8, colour=SOFT)
    y += 2.0
    bottom = height - _FOOT
    most = int((bottom - y - 5) // _ROW)
    for job in page.jobs[:most]:
        drawing.stroke(HAIR, 0.18)
        drawing.line(_SIDE, y, width - _SIDE, y)
        widths = [room * share - 2.0 for share in shares]
        _job(drawing, job, page, settings, edges, widths, y)
        y += _ROW
    rest = len(page.jobs) - most
    if not page.jobs:
        drawing.text(_SIDE, y + 5, "No open jobs", 9, colour=SOFT)
    elif rest > 0:
        drawing.text(_SIDE, y + 4, f"and {rest} more: burnplan jobs", 8, colour=SOFT)
    foot = "Left: hours that are enough in half … four fifths of cases. On time: the chance."
    drawing.text(_SIDE, height - 7, foot, 7, colour=SOFT)
    made = f"as of {page.today}"
    drawing.text(width - _SIDE, height - 7, made, 7, colour=SOFT, align=Align.RIGHT)


def _job(
    drawing: Drawing,
    job: JobView,
    page: WeekPage,
    settings: Settings,
    edges: Sequence[float],
    widths: Sequence[float],
    y: float,
) -> None:
    left = format_hours_left(job.hours_left.p50, job.hours_left.p80)
    chance = "–" if job.on_time is None else format_chance(job.on_time)
    owed = format_money(job.balance, job.currency, settings.locale) if job.balance > 0 else ""
    urgent = RED if "late" in job.attention else INK
    cells = (
        (job.code, "", BOLD, INK),
        (job.title, job.client or "", REGULAR, INK),
        (job.stage.value, f"owed {owed}" if owed else "", REGULAR, INK),
        (format_date(job.due, page.today) if job.due else "–", "", REGULAR, INK),
        (left, "", REGULAR, INK),
        (chance, "", REGULAR, urgent),
        (job.next_step, job.attention, REGULAR, INK),
    )
    for x, width, (upper, lower, weight, colour) in zip(edges, widths, cells, strict=True):
        shown = drawing.typesetter.shortened(upper, width, 9, weight)
        drawing.text(x, y + 3.4, shown, 9, weight=weight, colour=colour)
        if lower:
            said = drawing.typesetter.shortened(lower, width, 7.5)
            drawing.text(x, y + 6.3, said, 7.5, colour=urgent if x == edges[-1] else SOFT)
