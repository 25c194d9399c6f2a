"""Past jobs: put on record one at a time, and given out as a table."""

import csv
from collections.abc import Callable
from datetime import date
from pathlib import Path

from sqlalchemy import select

from burnplan.cells import safe_cell
from burnplan.cleaned import cleaned
from burnplan.dates import format_day
from burnplan.desk.derived import pace_records, studio_settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import past_cells, past_columns
from burnplan.desk.wood import own_species
from burnplan.errors import BadInput
from burnplan.files import written_whole
from burnplan.ledger.models import PastJob
from burnplan.money import parse_money
from burnplan.reckon.work import (
    Grade,
    Work,
    detail_by_eye,
    grade_by_eye,
    read_covered,
    read_covers,
)
from burnplan.units import parse_size
from burnplan.view import View

COLUMNS = (
    "title", "finished_on", "width_mm", "height_mm", "outline", "species", "darkness", "texture",
    "line_cm", "prepare_h", "transfer_h", "burn_h", "finish_h", "price",
    "total_h", "covers", "covered",
)  # fmt: skip


class NewPastJob(View):
    """A past job to put on record, as typed: one total of hours, and what it covers."""

    title: str
    size: str
    hours: float
    covers: str = ""
    species: str | None = None
    dark: int | None = None
    detail: int | None = None
    covered: str = ""
    finished_on: date | None = None
    price: str | None = None


class PastJobView(View):
    """A past job, as it was put on record."""

    title: str
    hours: float
    covers: list[Work]
    teaches: int


def add(studio: Studio, new: NewPastJob) -> PastJobView:
    """Put one past job on record.

    Returns
    -------
    PastJobView
        ``teaches`` is how many jobs with hours there are now to learn from.

    Raises
    ------
    BadInput
        If something of it cannot be.
    """
    if not 0 < new.hours <= past_columns.MOST_HOURS:
        raise BadInput(f"{new.hours:g} h is not what a piece takes", "Give its hours, like 20")
    if new.finished_on is not None and new.finished_on > studio.today():
        raise BadInput(f"{format_day(new.finished_on)} is to come", "Give the day it was finished")
    darkness, texture = _eye(new.dark, grade_by_eye), _eye(new.detail, detail_by_eye)
    with studio.writing("past.add") as (book, entry):
        own = studio_settings.of_book(book)
        outline = parse_size(new.size, default_unit=own.size_unit)
        price = parse_money(new.price, own.currency, own.locale) if new.price else None
        job = PastJob(
            title=cleaned(new.title, "title"),
            finished_on=new.finished_on,
            width_mm=outline.width_mm,
            height_mm=outline.height_mm,
            outline=outline.kind.value,
            species=own_species.meant(studio, new.species).key if new.species else "",
            darkness=darkness,
            texture=texture,
            price=price,
            total_h=new.hours,
            covers=past_cells.covers(new.covers),
            covered=past_cells.covered(f"eye:{read_covered(new.covered).value}"),
        )
        book.add(job)
        book.flush()
        entry.says(f"Put '{job.title}' among the past jobs")
        teaching = [one for one in pace_records.records(book, studio.now()).jobs() if one.total_h]
        covers = list(read_covers(job.covers))
        return PastJobView(title=job.title, hours=new.hours, covers=covers, teaches=len(teaching))


def read_hours(text: str) -> float:
    """Return the hours that a piece took as they are typed: as a table may have them.

    Raises
    ------
    BadInput
        If it is no length of time.

    Examples
    --------
    >>> [read_hours(text) for text in ("19", "12.5h", "12h30", "12:30")]
    [19.0, 12.5, 12.5, 12.5]
    """
    return past_cells.hours(text, past_cells.CellForm(currency="", locale=""))


def _eye(grade: int | None, reads: Callable[[float], Grade]) -> str:
    """Return a grade by eye as it is kept."""
    if grade is None:
        return ""
    reads(grade)
    return f"eye:{grade}"


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.6f}".rstrip("0").rstrip(".")
    return safe_cell(str(value))


def give_out(studio: Studio, path: Path) -> int:
    """Write the past jobs on record, and the delivered ones, as such a CSV file.

    Returns
    -------
    int
        How many.

    Raises
    ------
    BadInput
        If that is no name for a file.
    OperationFailed
        If the file cannot be written.
    """
    from burnplan.desk.time import pace

    with studio.reading() as book:
        rows = [
            {name: getattr(job, name) for name in COLUMNS}
            for job in book.scalars(
                select(PastJob).order_by(PastJob.finished_on.nulls_first(), PastJob.id)
            )
        ]
        rows += pace.delivered_rows(book, studio.now())
    with (
        written_whole(path, private=True) as unfinished,
        unfinished.open("w", encoding="utf-8", newline="") as file,
    ):
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows([_cell(row[name]) for name in COLUMNS] for row in rows)
    return len(rows)
