"""Past jobs: brought in from a CSV file, given out again, and tried against the pace.

The columns are a stable interface; their order does not matter, extra ones are
named and left aside, and an empty cell means unknown.
"""

import csv
import io
from collections.abc import Callable, Iterator
from datetime import date
from decimal import Decimal, InvalidOperation
from math import isfinite
from pathlib import Path
from typing import Any

from sqlalchemy import select

from burnplan.cells import FORMULA, safe_cell
from burnplan.cleaned import cleaned
from burnplan.desk.derived import pace_records, studio_settings
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from burnplan.files import refuse_what_is_no_file, written_whole
from burnplan.ledger.models import PastJob
from burnplan.money import parse_money, round_money
from burnplan.outline import Outline, OutlineKind
from burnplan.reckon.work import (
    UNKNOWN_DARKNESS,
    UNKNOWN_TEXTURE,
    Grade,
    Work,
    detail_by_eye,
    grade_by_eye,
    read_covered,
    read_covers,
    read_grade,
)
from burnplan.units import parse_size
from burnplan.view import View
from burnplan.wood.species import nameable, species_on_record, species_or_own

COLUMNS = (
    "title", "finished_on", "width_mm", "height_mm", "outline", "species", "darkness", "texture",
    "line_cm", "prepare_h", "transfer_h", "burn_h", "finish_h", "price",
    "total_h", "covers", "covered",
)  # fmt: skip
NEEDED = ("title", "width_mm", "height_mm")
HOURS = ("prepare_h", "transfer_h", "burn_h", "finish_h")
MOST_HOURS = 5000.0  # a limit by definition
_TO_THE_MINUTE = 1 / 60  # by definition: hours are written down no finer
LARGEST_FILE = 20_000_000  # a limit by definition
# One entry of the history holds them all, and must go through an export and back.
MOST_JOBS = 50_000  # a limit by definition
# Their cells are read with a decimal comma, where the columns are parted by semicolons.
_FIGURES = (
    "width_mm", "height_mm", "darkness", "texture", "line_cm", *HOURS, "price", "total_h",
    "covered",
)  # fmt: skip


class Fault(View):
    """Something wrong in a file: line and column as a spreadsheet counts them, from 1."""

    line: int
    column: str
    problem: str


class ImportView(View):
    """What an import did, or would do."""

    read: int
    added: int
    known: int
    faults: list[Fault]
    ignored_columns: list[str]
    dry_run: bool


def _text(cell: str) -> str:
    return cleaned(cell.removeprefix("'") if cell[:2].rstrip()[1:] in FORMULA else cell, "title")


def _date(cell: str) -> date | None:
    if not cell:
        return None
    try:
        return date.fromisoformat(cell)
    except ValueError:
        raise BadInput(f"'{cell}' is not an ISO date", "Write 2027-03-18") from None


def _number(largest: float, smallest: float = 0.0) -> Callable[[str], float | None]:
    def read(cell: str) -> float | None:
        if not cell:
            return None
        try:
            value = float(cell)
        except ValueError:
            raise BadInput(f"'{cell}' is not a number", "Write it like 12.5") from None
        if not isfinite(value) or not smallest <= value <= largest:
            raise BadInput(f"'{cell}' is not from {smallest:g} to {largest:g}", "Check it")
        return value

    return read


def _outline(cell: str) -> str:
    try:
        return OutlineKind(cell.lower() or "rectangle").value
    except ValueError:
        kinds = ", ".join(OutlineKind)
        raise BadInput(f"'{cell}' is not an outline", f"It is one of {kinds}") from None


def _species(cell: str) -> str:
    return species_on_record(nameable(cell)).key if cell else ""


def _darkness(cell: str) -> str:
    read_grade(cell, UNKNOWN_DARKNESS)
    return cell.lower()


def _texture(cell: str) -> str:
    read_grade(cell, UNKNOWN_TEXTURE, detail_by_eye)
    return cell.lower()


def _covers(cell: str) -> str:
    """Return the stages that a total covers, as they are kept: nothing for the whole piece."""
    stages = read_covers(cell)
    return "" if stages == tuple(Work) else " ".join(stages)


def _covered(cell: str) -> str:
    """Return a burned share as it is kept, by eye or measured: nothing for all of it."""
    share = read_covered(cell)
    return "" if share.value == 1 else f"{'eye:' if share.doubt else ''}{share.value:g}"


def _money(cell: str) -> Decimal | None:
    if not cell:
        return None
    try:
        value = Decimal(cell)
    except InvalidOperation:
        raise BadInput(f"'{cell}' is not an amount", "Write it like 240.00") from None
    if not value.is_finite() or not 0 <= value < 10**10:
        raise BadInput(f"'{cell}' is not an amount", "Write it like 240.00")
    return round(value, 4)


_READERS: dict[str, Callable[[str], Any]] = {
    "title": _text,
    "finished_on": _date,
    "width_mm": _number(Outline.MAX_MM, Outline.MIN_MM),
    "height_mm": _number(Outline.MAX_MM, Outline.MIN_MM),
    "outline": _outline,
    "species": _species,
    "darkness": _darkness,
    "texture": _texture,
    "line_cm": _number(10**7),
    **dict.fromkeys(HOURS, _number(MOST_HOURS)),
    "price": _money,
    "total_h": _number(MOST_HOURS),
    "covers": _covers,
    "covered": _covered,
}


def _rows(path: Path) -> tuple[list[str], Iterator[list[str]]]:
    """Return the headings and the rows of a CSV file; UTF-8 with or without a mark.

    Spreadsheets of a language with decimal commas part the columns by semicolons: their
    figures come out with points.
    """
    refuse_what_is_no_file(path)
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise BadInput(f"'{path.name}' is larger than 20 MB", "Split it")
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise BadInput(f"'{path}' cannot be read: {error.strerror}", "Check its name") from None
    except UnicodeDecodeError:
        raise BadInput(f"'{path.name}' is not UTF-8 text", "Save it as CSV in UTF-8") from None
    first = text.partition("\n")[0]
    parted = max(",;\t", key=first.count)
    rows: Iterator[list[str]] = csv.reader(
        io.StringIO(text, newline=""), strict=True, delimiter=parted
    )
    try:
        headings = [heading.strip().lower() for heading in next(rows, [])]
    except csv.Error:
        headings = []
    if parted != ",":
        rows = (_with_points(headings, cells) for cells in rows)
    missing = [name for name in NEEDED if name not in headings]
    if missing:
        raise BadInput(
            f"'{path.name}' has no column {' or '.join(missing)}",
            f"Its first line names the columns: {','.join(COLUMNS)}",
        )
    double = {name for name in COLUMNS if headings.count(name) > 1}
    if double:
        raise BadInput(f"'{path.name}' has {' and '.join(sorted(double))} twice", "Keep one")
    return headings, rows


def _with_points(headings: list[str], cells: list[str]) -> list[str]:
    return [
        cell.replace(",", ".") if heading in _FIGURES and "." not in cell else cell
        for heading, cell in zip(headings, cells, strict=False)
    ] + cells[len(headings) :]


def _parsed(path: Path) -> tuple[list[dict[str, Any]], list[Fault], list[str], int]:
    """Return the good rows, every fault, the columns left aside, and the rows read."""
    headings, rows = _rows(path)
    good, faults, read = [], [], 0
    try:
        for number, cells in enumerate(rows, start=2):
            if not any(cell.strip() for cell in cells):
                continue
            read += 1
            if read > MOST_JOBS:
                raise BadInput(f"'{path.name}' has more than {MOST_JOBS:,} jobs", "Split it")
            row, wrong = _row(dict(zip(headings, cells, strict=False)), number)
            if len(cells) > len(headings):
                wrong.append(Fault(line=number, column="", problem="more cells than columns"))
            faults += wrong
            if not wrong:
                good.append(row)
    except csv.Error as error:
        faults.append(Fault(line=read + 2, column="", problem=f"not CSV: {error}"))
    return good, faults, [name for name in headings if name and name not in COLUMNS], read


def _row(cells: dict[str, str], line: int) -> tuple[dict[str, Any], list[Fault]]:
    row: dict[str, Any] = {}
    wrong = []
    for name in COLUMNS:
        cell = (cells.get(name) or "").strip()
        try:
            if not cell and name in NEEDED:
                raise BadInput("it is empty", "It is needed")
            row[name] = _READERS[name](cell)
        except BadInput as error:
            wrong.append(Fault(line=line, column=name, problem=error.message))
    if not wrong and row["outline"] == "round" and row["width_mm"] != row["height_mm"]:
        problem = "a round piece is as wide as it is high"
        wrong.append(Fault(line=line, column="height_mm", problem=problem))
    if not wrong and (problem := _not_adding_up(row)):
        wrong.append(Fault(line=line, column="total_h", problem=problem))
    return row, wrong


def _not_adding_up(row: dict[str, Any]) -> str:
    """Return what is wrong with a total beside the hours of stages; nothing if it can be.

    A total of no hours is no total: spreadsheets add up empty cells.
    """
    row["total_h"] = row["total_h"] or None
    if row["total_h"] is None:
        row["covers"] = ""
        return ""
    parts = [row[f"{stage.value}_h"] for stage in read_covers(row["covers"])]
    least = sum(part or 0.0 for part in parts)
    if row["total_h"] < least - _TO_THE_MINUTE:
        return f"{row['total_h']:g} h in all are less than the {least:g} h of its stages"
    return ""


def _same(row: dict[str, Any]) -> tuple[Any, ...]:
    """Return what makes two rows the same job, numbers rounded."""
    return tuple(
        round(value, 6) if isinstance(value, float) else value
        for value in (row[name] for name in COLUMNS)
    )


def bring_in(studio: Studio, path: Path, *, dry_run: bool = False) -> ImportView:
    """Bring in past jobs from a CSV file: all of it, or with a fault none.

    A row that is on record already, the same in every column, is not added again.

    Parameters
    ----------
    studio : Studio
    path : Path
    dry_run : bool
        Only say what would be done.

    Returns
    -------
    ImportView
        With faults, nothing was added.

    Raises
    ------
    BadInput
        If the file cannot be read or has not the columns needed.
    """
    good, faults, ignored, read = _parsed(path)
    with studio.writing("past.import") as (book, entry):
        own = studio_settings.of_book(book)
        known = {
            _same({name: getattr(job, name) for name in COLUMNS})
            for job in book.scalars(select(PastJob))
        }
        fresh = []
        for row in good:
            if row["price"] is not None:
                row["price"] = round_money(row["price"], own.currency)
            if _same(row) not in known:
                known.add(_same(row))
                fresh.append(row)
        if not faults and not dry_run and fresh:
            book.add_all(PastJob(**row) for row in fresh)
            entry.says(f"Brought in {len(fresh)} past jobs from {path.name}")
        return ImportView(
            read=read,
            added=0 if faults else len(fresh),
            known=len(good) - len(fresh),
            faults=faults,
            ignored_columns=ignored,
            dry_run=dry_run,
        )


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
    if not 0 < new.hours <= MOST_HOURS:
        raise BadInput(f"{new.hours:g} h is not what a piece takes", "Give its hours, like 20")
    if new.finished_on is not None and new.finished_on > studio.today():
        raise BadInput(f"{new.finished_on} is to come", "Give the day it was finished")
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
            species=species_or_own(new.species).key if new.species else "",
            darkness=darkness,
            texture=texture,
            price=price,
            total_h=new.hours,
            covers=_covers(new.covers),
            covered=_covered(f"eye:{read_covered(new.covered).value}"),
        )
        book.add(job)
        book.flush()
        entry.says(f"Put '{job.title}' among the past jobs")
        teaching = pace_records.records(book, studio.now()).jobs()
        covers = list(read_covers(job.covers))
        return PastJobView(title=job.title, hours=new.hours, covers=covers, teaches=len(teaching))


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
