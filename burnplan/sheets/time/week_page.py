"""The week's page for the wall: seven days side by side, the open jobs below."""

import os
from pathlib import Path

from reportlab.platypus import Flowable

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.review import JobView
from burnplan.desk.time.week import Day, Sitting, WeekPage
from burnplan.money import format_money
from burnplan.sheets.dates import written_date
from burnplan.sheets.drawing import HAIR, INK, RED, RGB, SOFT, Align, Drawing, one_page
from burnplan.sheets.flowing import Compositor, gap, height_mm, place, rule, table
from burnplan.sheets.lettering import BOLD, REGULAR
from burnplan.sheets.paper import Box, SheetPage, paper_named
from burnplan.sheets.writing import Written
from burnplan.units import format_chance, format_hours, format_hours_range

_SIDE, _HEAD = 12.0, 16.0
_DAYS_TOP, _DAYS_HEIGHT = 24.0, 82.0
_EMBER: RGB = (168, 84, 40)
_SHADE: RGB = (244, 240, 235)
_ROW = 7.6
_BREAKS = 3  # on a line
_COLUMNS = (
    ("Job", 0.075), ("What, for whom", 0.25), ("Stage", 0.09), ("Due", 0.115), ("Left", 0.105),
    ("On time", 0.075), ("Next, and why", 0.29),
)  # fmt: skip
_KINDS = {"due": "Due", "next coat": "Coat", "quote expires": "Quote"}


def write_week(page: WeekPage, path: str | os.PathLike[str], settings: Settings) -> Written:
    """Write the week's page as a PDF, on the studio's paper laid across."""
    paper, setter = SheetPage(paper_named(settings.paper.value), landscape=True), Compositor()
    first, last = page.days[0].day, page.days[-1].day
    week, width = f"Week {first.isocalendar().week}", paper.width - 2 * _SIDE
    right, foot = paper.width - _SIDE, paper.height - 7
    from_to = [written_date(day, settings.locale, "medium") for day in (first, last)]
    said = " – ".join(from_to)
    whose = f"{page.studio} · {format_hours(sum(day.free for day in page.days))} free"
    whose = setter.shortened(whose, width - 90, 10)
    note = "Left: hours that are enough in half … four fifths of cases. On time: the chance."
    title = f"{week}, {' to '.join(from_to)}"
    with one_page(path, paper, setter, title=title, author=page.studio) as drawing:
        drawing.text(_SIDE, _HEAD, week, 18, weight=BOLD)
        drawing.text(_SIDE + 34, _HEAD, said, 11, colour=SOFT)
        drawing.text(right, _HEAD, whose, 10, colour=SOFT, align=Align.RIGHT)
        for number, day in enumerate(page.days):
            x = _SIDE + number * width / 7 + 0.5
            _day(drawing, setter, day, Box(x, _DAYS_TOP, width / 7 - 1, _DAYS_HEIGHT), page)
        y = _DAYS_TOP + _DAYS_HEIGHT + 3
        place(drawing, _SIDE, y, width, _jobs(setter, page, settings, width, foot - 5 - y))
        drawing.text(_SIDE, foot, note, 7, colour=SOFT)
        drawing.text(
            right,
            foot,
            f"as of {written_date(page.today, settings.locale)}",
            7,
            colour=SOFT,
            align=Align.RIGHT,
        )
    return Written(Path(path), 1, setter.notes)


def _day(drawing: Drawing, setter: Compositor, day: Day, box: Box, page: WeekPage) -> None:
    if day.off or not day.free:
        drawing.box(box, fill=_SHADE, stroke=False)
    drawing.stroke(*((INK, 0.5) if day.day == page.today else (HAIR, 0.2)))
    drawing.line(box.x, box.y, box.right, box.y)
    x, y, inner = box.x + 1, box.y + 5.2, box.width - 2
    named = drawing.text(x, y, f"{day.day:%a} {day.day.day}", 11, weight=BOLD)
    free = day.off or (format_hours(day.free) if day.free else "–")
    free = setter.shortened(free, inner - named - 2, 8)
    drawing.text(box.right - 1, y, free, 8, colour=SOFT, align=Align.RIGHT)
    place(drawing, x, box.y + 9, inner, _entries(setter, day, inner, box.height - 9))


def _entries(setter: Compositor, day: Day, width: float, room: float) -> list[Flowable]:
    """Return what a day has, as much of it as there is room for."""
    due = [(f"{_KINDS[one.kind]}: {one.code} {one.title}", (BOLD, _EMBER)) for one in day.entries]
    blocks = [*([one] for one in due), *map(_sitting, day.sittings)]
    shown: list[Flowable] = []
    for number, block in enumerate(blocks, start=1):
        lines = [setter.line(said, width, 8, *how, Align.LEFT, 1.24) for said, how in block]
        more = setter.text(f"and {len(blocks) - number + 1} more", 7.5, REGULAR, SOFT)
        if height_mm([*shown, *lines, more], width) > room:
            return [*shown, more]
        shown += [*lines, gap(2)]
    return shown


def _sitting(one: Sitting) -> list[tuple[str, tuple[str, RGB]]]:
    breaks = [f"{at:%H:%M}" for at in one.breaks]
    return [
        (f"{one.starts:%H:%M} – {one.ends:%H:%M} {one.work}", (BOLD, INK)),
        (f"{one.code} {one.title}", (REGULAR, INK)),
        *(
            (f"break {' '.join(breaks[at : at + _BREAKS])}", (REGULAR, SOFT))
            for at in range(0, len(breaks), _BREAKS)
        ),
    ]


def _jobs(
    setter: Compositor, page: WeekPage, settings: Settings, width: float, room: float
) -> list[Flowable]:
    """Return the open jobs, as many as there is room for."""
    most = int((room - 10) // _ROW)
    widths = [share * width for _, share in _COLUMNS]
    rows = [[setter.text(head, 8, REGULAR, SOFT) for head, _ in _COLUMNS]]
    rows += [_job(setter, job, settings, widths) for job in page.jobs[:most]]
    heights = [5, *[_ROW] * (len(rows) - 1)]
    how = ("TOPPADDING", (0, 1), (-1, -1), 0.8), rule("LINEABOVE", (0, 1), (-1, -1), HAIR, 0.18)
    rest = f"and {len(page.jobs) - most} more: burnplan jobs" if len(page.jobs) > most else ""
    below = setter.text(rest if page.jobs else "No open jobs", 8, REGULAR, SOFT)
    return [table(rows, widths, *how, heights_mm=heights), below]


def _job(
    setter: Compositor, job: JobView, settings: Settings, widths: list[float]
) -> list[list[Flowable]]:
    """Return a row: in each cell a line, some with a smaller one under it."""
    left = format_hours_range(job.hours_left.p50, job.hours_left.p80)
    half, to, most = left.partition(" to ")
    owed = format_money(job.balance, job.currency, settings.locale) if job.balance > 0 else ""
    urgent = RED if "late" in job.attention else INK
    chance = "–" if job.on_time is None else format_chance(job.on_time)
    due = written_date(job.due, settings.locale, "medium") if job.due else "–"
    cells = (
        (job.code, BOLD, INK, "", INK),
        (job.title, REGULAR, INK, job.client or "", SOFT),
        (
            settings.wording.own(job.stage.value),
            REGULAR,
            INK,
            f"{owed} to pay" if owed else "",
            SOFT,
        ),
        (due, REGULAR, INK, "", INK),
        (half, REGULAR, INK, f"{to.strip()} {most}".strip(), SOFT),
        (chance, REGULAR, urgent, "", INK),
        (job.next_step, REGULAR, INK, settings.wording.own(job.attention), urgent),
    )
    return [
        [
            setter.line(upper, width - 2, 9, weight, colour, Align.LEFT, 1.05),
            *([setter.line(lower, width - 2, 7.5, REGULAR, under)] if lower else []),
        ]
        for width, (upper, weight, colour, lower, under) in zip(widths, cells, strict=True)
    ]
