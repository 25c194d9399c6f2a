"""Past jobs: put on record one at a time, put right, and given out as a table."""

import csv
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.cells import safe_cell
from burnplan.cleaned import cleaned
from burnplan.dates import format_day
from burnplan.desk.derived import pace_records, studio_settings
from burnplan.desk.studio.paging import ALL, ListPage
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import past_cells
from burnplan.desk.wood import own_species
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.files import written_whole
from burnplan.ledger.models import PastJob
from burnplan.money import parse_money
from burnplan.outline import Outline, OutlineKind
from burnplan.reckon.work import (
    Grade,
    Work,
    detail_by_eye,
    grade_by_eye,
    read_covered,
    read_covers,
)
from burnplan.sentences import Do
from burnplan.units import MOST_HOURS, parse_size
from burnplan.view import View

COLUMNS = (
    "title", "finished_on", "width_mm", "height_mm", "outline", "species", "darkness", "texture",
    "line_cm", "prepare_h", "transfer_h", "burn_h", "finish_h", "price",
    "total_h", "covers", "covered",
)  # fmt: skip


class PastJobChange(View):
    """What is put right of a past job, as typed; None leaves it as it is, nothing clears it.

    Hours are one total, which ``covers`` the whole piece or the stages named.
    """

    title: str | None = None
    size: str | None = None
    hours: float | None = None
    covers: str | None = None
    species: str | None = None
    dark: int | None = None
    detail: int | None = None
    covered: str | None = None
    finished_on: date | None = None
    price: str | None = None


class NewPastJob(PastJobChange):
    """A past job to put on record, as typed: one total of hours, and what it covers."""

    title: str
    size: str
    hours: float


class PastJobView(View):
    """A past job, as it is on record.

    ``hours`` are those of the stages in ``covers``, ``set_aside`` says why they teach nothing.
    """

    number: int
    title: str
    finished_on: date | None
    outline: Outline
    species: str
    hours: float | None
    covers: list[Work]
    price: Decimal | None
    set_aside: str | None


def all_of(studio: Studio, page: ListPage = ALL) -> list[PastJobView]:
    """Return the past jobs, the last finished first; those without a day come last."""
    with studio.reading() as book:
        last = (PastJob.finished_on.desc().nulls_last(), PastJob.id.desc())
        return [_view(job) for job in book.scalars(page.of(select(PastJob).order_by(*last)))]


def _view(job: PastJob) -> PastJobView:
    alone = {work: hours for work in Work if (hours := getattr(job, f"{work.value}_h")) is not None}
    total = job.total_h if job.total_h is not None else sum(alone.values()) or None
    return PastJobView(
        number=job.id,
        title=job.title,
        finished_on=job.finished_on,
        outline=Outline(OutlineKind(job.outline), job.width_mm, job.height_mm),
        species=job.species,
        hours=total,
        covers=[*(read_covers(job.covers) if job.total_h is not None else alone)],
        price=job.price,
        set_aside=job.set_aside,
    )


def add(studio: Studio, new: NewPastJob) -> PastJobView:
    """Put one past job on record.

    Raises
    ------
    BadInput
        If something of it cannot be.
    """
    with studio.writing("past.add") as (book, entry):
        job = PastJob(**_read(studio, book, new))
        book.add(job)
        book.flush()
        entry.says(f"Put '{job.title}' among the past jobs")
        return _view(job)


def correct(studio: Studio, number: int, change: PastJobChange) -> PastJobView:
    """Put right what is on record of a past job.

    Hours by stage, of a table, give way to a total that is given.

    Raises
    ------
    BadInput
        If something given cannot be.
    NotFound
        If there is no such job.
    """
    with studio.writing("past.correct") as (book, entry):
        job = _find(book, number)
        changed = _read(studio, book, change)
        if "total_h" in changed:
            changed |= {f"{work.value}_h": None for work in Work}
        elif "covers" in changed and job.total_h is None:
            raise BadInput(f"Past job {number} has no total of hours", "Give one too")
        for name, value in changed.items():
            setattr(job, name, value)
        entry.says(f"Changed the past job '{job.title}': {change.given()}")
        return _view(job)


def remove(studio: Studio, number: int) -> str:
    """Take a past job off the record, as if it had never been brought in; return its title.

    Raises
    ------
    NotFound
        If there is no such job.
    """
    with studio.writing("past.remove") as (book, entry):
        job = _find(book, number)
        entry.says(f"Removed the past job '{job.title}'")
        book.delete(job)
        return job.title


def set_aside(studio: Studio, number: int, reason: str) -> PastJobView:
    """Keep a past job from teaching the pace, with the reason.

    Raises
    ------
    NotFound
        If there is no such job.
    """
    with studio.writing("past.set-aside") as (book, entry):
        job = _find(book, number)
        job.set_aside = cleaned(reason, "reason")
        entry.says(f"The past job '{job.title}' teaches nothing: {job.set_aside}")
        return _view(job)


def teach_again(studio: Studio, number: int) -> PastJobView:
    """Let a past job that was set aside teach the pace again.

    Raises
    ------
    NotAllowed
        If it was not set aside.
    NotFound
        If there is no such job.
    """
    with studio.writing("past.teach") as (book, entry):
        job = _find(book, number)
        if job.set_aside is None:
            raise NotAllowed(f"'{job.title}' was not set aside", "There is nothing to take back")
        job.set_aside = None
        entry.says(f"The past job '{job.title}' teaches again")
        return _view(job)


def _find(book: Session, number: int) -> PastJob:
    found = book.get(PastJob, number)
    if found is None:
        raise NotFound(f"There is no past job {number}", "See ", Do("past.list"))
    return found


def teaching(studio: Studio) -> int:
    """Return how many jobs with hours there are to learn from."""
    with studio.reading() as book:
        jobs = pace_records.records(book, studio.now()).jobs()
        return sum(job.total_h > 0 for job in jobs)


def _read(studio: Studio, book: Session, said: PastJobChange) -> dict[str, Any]:
    """Return the columns of what is said of a past job, as they are kept."""
    own, kept = studio_settings.of_book(book), dict[str, Any]()
    if said.title is not None:
        kept["title"] = cleaned(said.title, "title")
    if said.size is not None:
        outline = parse_size(said.size, default_unit=own.size_unit)
        kept |= {"width_mm": outline.width_mm, "height_mm": outline.height_mm}
        kept["outline"] = outline.kind.value
    if said.hours is not None:
        if not 0 < said.hours <= MOST_HOURS:
            raise BadInput(f"{said.hours:g} h is not what a piece takes", "Give its hours, like 20")
        kept["total_h"] = said.hours
    if said.covers is not None:
        kept["covers"] = past_cells.covers(said.covers)
    if said.species is not None:
        kept["species"] = own_species.meant(studio, said.species).key if said.species else ""
    if said.dark is not None:
        kept["darkness"] = _eye(said.dark, grade_by_eye)
    if said.detail is not None:
        kept["texture"] = _eye(said.detail, detail_by_eye)
    if said.covered is not None:
        kept["covered"] = past_cells.covered(f"eye:{read_covered(said.covered).value}")
    if said.finished_on is not None:
        if said.finished_on > studio.today():
            raise BadInput(
                f"{format_day(said.finished_on)} is to come", "Give the day it was finished"
            )
        kept["finished_on"] = said.finished_on
    if said.price is not None:
        kept["price"] = parse_money(said.price, own.currency, own.locale) if said.price else None
    return kept


def _eye(grade: int, reads: Callable[[float], Grade]) -> str:
    """Return a grade by eye as it is kept."""
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
