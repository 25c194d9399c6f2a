"""Lines and pictures of the workbench, in the colours of its theme.

Everything is made of Content, whose styles name theme colours: a change of
theme recolours what is drawn already.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from rich.cells import cell_len
from textual.content import Content
from textual.widgets import Static

from burnplan.dates import format_date
from burnplan.desk.jobs.review import JobView
from burnplan.money import format_money
from burnplan.reckon.lateness import Course, course_of
from burnplan.unbroken import shortened
from burnplan.units import format_chance, format_hours_range
from burnplan.workbench.gather import Now

SOFT, STRONG, EMBER, NAME = "$foreground-muted", "bold", "$primary", "bold $primary"
GOOD, WARN, BAD = "$success", "$warning", "bold $error"
_COURSES = {Course.ON_COURSE: GOOD, Course.AT_RISK: WARN, Course.LIKELY_LATE: BAD}

Cell = tuple[str, str]

ROOMY = 116
"""Cells of a screen where a list and its slip, or the top line and the studio's name, are whole."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a list.

    Parameters
    ----------
    head : str
    width : int
        Cells; the least if it grows.
    grow : int
        Its share of the room left over.
    right : bool
        Whether it is aligned right, for figures.
    needs : int
        The width of the list below which it is left out.
    """

    head: str
    width: int
    grow: int = 0
    right: bool = False
    needs: int = 0


def widths(columns: Sequence[Column], room: int) -> list[int]:
    """Return the width of each column in some room; 0 for those left out.

    Examples
    --------
    >>> widths([Column("job", 6), Column("title", 10, grow=1), Column("next", 20, needs=80)], 40)
    [6, 32, 0]
    """
    shown = [column.needs <= room for column in columns]
    fixed = sum(c.width + 2 for c, here in zip(columns, shown, strict=True) if here) - 2
    shares = sum(c.grow for c, here in zip(columns, shown, strict=True) if here)
    spare = max(0, room - fixed)
    return [
        (c.width + (spare * c.grow // shares if shares else 0)) if here else 0
        for c, here in zip(columns, shown, strict=True)
    ]


def fitted(text: str, width: int, *, right: bool = False) -> str:
    """Return text cut or filled to a number of cells.

    Examples
    --------
    >>> fitted("basswood", 5), fitted("8 h", 5, right=True)
    ('bass…', '  8 h')
    """
    text = " ".join(text.split())
    if cell_len(text) > width:
        text = shortened(text, width)
    space = " " * (width - cell_len(text))
    return space + text if right else text + space


def row(columns: Sequence[Column], sizes: Sequence[int], cells: Sequence[Cell]) -> Content:
    """Return one line of a list."""
    parts: list[Cell] = []
    for column, size, (text, style) in zip(columns, sizes, cells, strict=True):
        if size:
            parts += [("  ", "")] if parts else []
            parts.append((fitted(text, size, right=column.right), style))
    return Content.assemble(*parts)


def headings(columns: Sequence[Column], sizes: Sequence[int]) -> Content:
    """Return the line of headings."""
    return row(columns, sizes, [(column.head, SOFT) for column in columns])


def due(day: date | None, today: date) -> Cell:
    """Return a due date."""
    if day is None:
        return "–", SOFT
    return format_date(day, today), BAD if day < today else ""


def chance(value: float | None) -> Cell:
    """Return the chance to be on time."""
    if value is None:
        return "–", SOFT
    return format_chance(value), _COURSES[course_of(value)]


def left(job: JobView) -> str:
    """Return the hours left of a job."""
    return format_hours_range(job.hours_left.p50, job.hours_left.p80)


def urgency(job: JobView) -> str:
    """Return the style of what needs attention."""
    if "late" in job.attention or job.blocked:
        return BAD
    return WARN if job.attention and not job.paused else SOFT


def on_clock(worked: timedelta) -> str:
    """Return the time on a clock.

    Examples
    --------
    >>> on_clock(timedelta(hours=1, minutes=2, seconds=3))
    '1:02:03'
    """
    seconds = max(0, int(worked.total_seconds()))
    return f"{seconds // 3600}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"


def bar(share: float, width: int) -> tuple[Cell, Cell]:
    """Return a bar, filled to a share: its full part and its empty part."""
    full = round(min(max(share, 0.0), 1.0) * width)
    return ("━" * full, EMBER), ("─" * (width - full), "$foreground-muted 50%")


def money(now: Now, amount: Decimal, currency: str | None = None) -> str:
    """Return an amount as the studio writes it."""
    return format_money(amount, currency or now.own.currency, now.own.locale)


def target(now: Now) -> str:
    """Return what an hour should earn, in words."""
    aim = now.own.hourly_target
    return "the hourly target" if aim is None else f"{money(now, aim)} an hour"


def day_words(day: date) -> str:
    """Return a day with its weekday, ten cells wide.

    Examples
    --------
    >>> day_words(date(2027, 3, 7))
    'Sun  7 Mar'
    """
    return f"{day:%a} {day.day:2d} {day:%b}"


def put(part: Static, shown: Content, *, layout: bool = True) -> None:
    """Show something in a part, where it is not shown already: laying out anew takes its time.

    ``layout`` False where the part has a fixed size.
    """
    before = part.content
    if isinstance(before, Content) and shown.is_same(before):
        return
    if layout:
        part.content = shown  # forgets its size too, which update does only once it is mounted
    else:
        part.update(shown, layout=False)
