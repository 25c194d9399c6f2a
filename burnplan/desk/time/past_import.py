"""Past jobs brought in from a table that people keep: looked at first, then put on record.

The program's own columns are a stable interface; their order does not matter, and an empty
cell means unknown. In any other table what the columns are is found out: see
:mod:`burnplan.desk.time.past_columns`.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from sqlalchemy import select

from burnplan.dates import format_day
from burnplan.desk.derived import studio_settings
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import past_cells, past_columns, past_text, past_understood
from burnplan.desk.time.past import COLUMNS
from burnplan.desk.time.past_columns import ASIDE, Column
from burnplan.desk.time.past_understood import Understanding
from burnplan.desk.wood import own_species
from burnplan.errors import BadInput
from burnplan.ledger.models import PastJob
from burnplan.money import format_money, round_money
from burnplan.outline import Outline
from burnplan.reckon.work import (
    read_covers,
)
from burnplan.sentences import Do
from burnplan.units import format_length, format_size
from burnplan.view import View
from burnplan.wood.species import species_on_record

_TEXTS = ("species", "darkness", "texture", "covers", "covered")
_TO_THE_MINUTE = 1 / 60  # by definition: hours are written down no finer
MOST_JOBS = past_text.MOST_JOBS


class Fault(View):
    """Why a row was left out: line and column as a spreadsheet counts and heads them."""

    line: int
    column: str
    problem: str


class ColumnView(View):
    """What a column was taken for: its meaning as it is told, in words, and its first cell."""

    column: str
    heading: str
    meaning: str
    words: str
    example: str
    read_as: str


class Choice(View):
    """A way to read what could be two things: as it is told, and in words."""

    told: str
    words: str


class DoubtView(View):
    """What could be two things, the likeliest first; without choices it is not there at all."""

    about: str
    choices: list[Choice]
    decided: bool


class TableView(View):
    """How a table of past jobs is understood; ``woods`` may be others than they are taken for."""

    parted_by: str
    letters: str
    heading_row: int | None
    rows: int
    own_form: bool
    columns: list[ColumnView]
    doubts: list[DoubtView]
    woods: dict[str, list[str]]


class ImportView(View):
    """What an import did, or would do; each of the rows left out is among the faults.

    ``known`` were on record already; ``twice`` are the same as a row above them.
    """

    read: int
    added: int
    known: int
    twice: int = 0
    left: int
    faults: list[Fault]
    notes: list[str]
    ignored_columns: list[str]
    columns: list[ColumnView]
    dry_run: bool


def _understood(
    studio: Studio, path: Path, told: Sequence[str]
) -> tuple[past_text.TextTable, Understanding]:
    table = past_text.read_table(path)
    found = past_understood.understand(
        table,
        settings.current(studio),
        studio.today(),
        [one for text in told for one in past_columns.told_columns(text)],
    )
    if len(found.jobs) > MOST_JOBS:
        raise past_text.too_many(path)
    return table, found


def look(studio: Studio, path: Path, told: Sequence[str] = ()) -> TableView:
    """Return how a table is understood, and what of it could be two things.

    Parameters
    ----------
    studio : Studio
    path : Path
    told : sequence of str
        What columns are, as in ``Finished=finished_on,Hours total=total_h``.

    Raises
    ------
    BadInput
        If the file cannot be read, or what is told cannot be.
    """
    table, found = _understood(studio, path, told)
    return TableView(
        parted_by=table.parted_by,
        letters=table.letters,
        heading_row=found.heading_row,
        rows=len(found.jobs),
        own_form=found.own_form,
        columns=_column_views(studio, found),
        doubts=[
            DoubtView(
                about=question.about,
                choices=[Choice(told=one, words=words) for one, words in question.answers],
                decided=question.sure_enough,
            )
            for question in found.questions
        ],
        woods={
            wood: own_species.choices(studio, wood)
            for wood in _woods(found)
            if own_species.doubt(studio, wood)
        },
    )


def _woods(found: Understanding) -> list[str]:
    """Return the names of woods in a table, each once."""
    column = found.column("species")
    if column is None:
        return []
    cells = (cells[column.place] for _, cells in found.jobs if column.place < len(cells))
    return list(dict.fromkeys(cell for cell in cells if not past_cells.is_nothing(cell)))


def _column_views(studio: Studio, found: Understanding) -> list[ColumnView]:
    own = settings.current(studio)
    views = []
    for column in found.columns:
        cells = [cells[column.place] for _, cells in found.jobs if column.place < len(cells)]
        example, read_as = _example(column, cells, own, studio.today())
        words = past_columns.MEANINGS.get(column.meaning, "")
        if column.meaning in past_columns.LENGTHS:
            words = f"{words}, {column.form.unit}"
        elif column.meaning == "species" and (several := own_species.kinds(studio, example)):
            read_as = several[0].key
        elif column.form.order and column.meaning == "finished_on":
            words = f"{words}, {column.form.order.replace('-', ' ')}"
        views.append(
            ColumnView(
                column=column.letter,
                heading=column.heading,
                meaning=column.meaning,
                words=words,
                example=example,
                read_as=read_as,
            )
        )
    return views


def _example(
    column: Column, cells: Sequence[str], own: studio_settings.Settings, today: date
) -> tuple[str, str]:
    """Return the first cell of a column that says something, and what it is read as."""
    filled = [cell for cell in cells if not past_cells.is_nothing(cell)]
    if column.meaning == ASIDE:
        return (filled[0] if filled else ""), ""
    for cell in filled:
        try:
            value = past_columns.read(column, cell, today)
        except BadInput:
            continue
        if isinstance(value, Outline):
            return cell, format_size(value, own.units)
        if column.meaning in past_columns.LENGTHS:
            return cell, format_length(value, own.units)
        if isinstance(value, Decimal):
            return cell, format_money(value, own.currency, own.locale)
        if isinstance(value, date):
            return cell, format_day(value)
        if column.meaning.endswith("_h"):
            return cell, f"{value:.2f}".rstrip("0").rstrip(".") + " h"
        return cell, str(value)
    return (filled[0] if filled else ""), ""


def _row(
    found: Understanding, number: int, cells: Sequence[str], today: date, woods: Mapping[str, str]
) -> tuple[dict[str, Any], list[Fault]]:
    """Return a row of the table as a past job, or what is wrong with it."""
    wrong: list[Fault] = []
    read: dict[str, Any] = {}
    by_meaning = {one.meaning: one for one in found.columns if one.meaning != ASIDE}

    def fault(meaning: str, problem: str) -> None:
        column = by_meaning.get(meaning)
        named = column.called if column else meaning
        wrong.append(Fault(line=number, column=named, problem=problem))

    shaped = by_meaning.get("outline")
    is_round = (
        shaped is not None
        and shaped.place < len(cells)
        and past_cells.spelled(cells[shaped.place]) in past_cells.known_words("outlines")["round"]
    )
    for meaning, column in by_meaning.items():
        cell = cells[column.place] if column.place < len(cells) else ""
        if meaning == "species":
            cell = woods.get(cell, cell)
        if meaning == "size" and is_round and past_cells.is_one_length(cell):
            cell = f"round {cell}"
        try:
            if meaning == "title" and not cell:
                raise BadInput("it is empty", "It is needed")
            read[meaning] = past_columns.read(column, cell, today)
        except BadInput as error:
            fault(meaning, error.message)
    sized = any(read.get(meaning) for meaning in past_columns.LENGTHS)
    if not sized and past_cells.spelled(read.get("title", "")) in past_cells.known_words("sums"):
        return {}, [Fault(line=number, column="", problem="a sum, and not a job")]
    if any(cells[len(found.columns) :]):
        wrong.append(Fault(line=number, column="", problem="more cells than columns"))
    row: dict[str, Any] = {name: read.get(name) for name in COLUMNS}
    row |= {name: row[name] or "" for name in _TEXTS}
    row |= {"width_mm": read.get("width"), "height_mm": read.get("height")}
    outline = read.get("size") or read.get("diameter")
    if outline is not None:
        row |= {"width_mm": outline.width_mm, "height_mm": outline.height_mm}
    row["outline"] = read.get("outline") or (outline.kind.value if outline else "rectangle")
    if not wrong:
        for name, meaning in (("width_mm", "width"), ("height_mm", "height")):
            if row[name] is None:
                fault(next((one for one in ("size", "diameter") if one in by_meaning), meaning),
                      "it is empty")  # fmt: skip
                break
        else:
            if problem := _not_adding_up(row):
                fault("total_h", problem)
            if row["outline"] == "round" and row["width_mm"] != row["height_mm"]:
                fault("height" if "height" in by_meaning else "size",
                      "a round piece is as wide as it is high")  # fmt: skip
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


def bring_in(
    studio: Studio,
    path: Path,
    told: Sequence[str] = (),
    *,
    woods: Mapping[str, str] | None = None,
    dry_run: bool = False,
) -> ImportView:
    """Bring in the past jobs of a table: the rows that can be read, and why the others cannot.

    A row that is on record already, the same in every column, is not added again; nor is
    one that is in the table twice.

    Parameters
    ----------
    studio : Studio
    path : Path
    told : sequence of str
        What columns are: see :func:`look`.
    woods : mapping of str to str, optional
        What woods are meant, by how the table spells them; a name of the trade is else
        taken for the commonest wood of its kinds.
    dry_run : bool
        Only say what would be done.

    Raises
    ------
    BadInput
        If the file cannot be read, has not the columns needed, or has one of which nothing
        shows what it is.
    """
    table, found = _understood(studio, path, told)
    unsure = next((one for one in found.questions if not one.sure_enough), None)
    if unsure is not None:
        missing = unsure.about.removeprefix("There is")
        about = f"'{path.name}' has{missing}" if missing != unsure.about else missing
        if not unsure.answers:
            raise BadInput(about, "Give each job its title and size, like 30x40cm, in columns")
        told_so = unsure.answers[0][0]
        raise BadInput(about, "Say which it is: ", Do("past.columns", columns=told_so))
    good, faults = [], []
    woods, named = woods or {}, _woods(found)
    several = {wood: own_species.kinds(studio, wood) for wood in named if wood not in woods}
    meant = {wood: kinds[0].key for wood, kinds in several.items() if kinds} | {**woods}
    for number, cells in found.jobs:
        row, wrong = _row(found, number, cells, studio.today(), meant)
        faults += wrong
        if not wrong:
            good.append(row)
    if table.broken is not None:
        faults.append(Fault(line=table.broken[0], column="", problem=table.broken[1]))
    with studio.writing("past.import") as (book, entry):
        own = studio_settings.of_book(book)
        known = {
            _same({name: getattr(job, name) for name in COLUMNS})
            for job in book.scalars(select(PastJob))
        }
        fresh, met = [], set[tuple[Any, ...]]()
        twice = 0
        for row in good:
            if row["price"] is not None:
                row["price"] = round_money(row["price"], own.currency)
            same = _same(row)
            if same in met:
                twice += 1
            elif same not in known:
                fresh.append(row)
            met.add(same)
        if fresh and not dry_run:
            book.add_all(PastJob(**row) for row in fresh)
            entry.says(f"Brought in {len(fresh)} past jobs from {path.name}")
    return ImportView(
        read=len(found.jobs),
        added=len(fresh),
        known=len(good) - len(fresh) - twice,
        twice=twice,
        left=len(found.jobs) - len(good),
        faults=faults,
        notes=_notes(studio, found, good, woods),
        ignored_columns=[one.called for one in found.columns if one.meaning == ASIDE],
        columns=_column_views(studio, found),
        dry_run=dry_run,
    )


def _notes(
    studio: Studio,
    found: Understanding,
    good: Sequence[Mapping[str, Any]],
    woods: Mapping[str, str],
) -> list[str]:
    """Return what is to be asked about of what can be read."""
    asked = (own_species.doubt(studio, wood) for wood in _woods(found) if wood not in woods)
    notes = [*found.notes, *(words for words in asked if words)]
    meant = dict.fromkeys(row["species"] for row in good if row["species"])
    said_own = {species_on_record(wood).key for wood in woods.values()}
    if unknown := own_species.not_known(studio, [one for one in meant if one not in said_own]):
        notes.append(
            f"In neither the species table nor your own woods: {', '.join(unknown)}."
            " They teach as woods of middling hardness until you say what they are"
        )
    late = sum(
        row["finished_on"] is not None and row["finished_on"] > studio.today() for row in good
    )
    if late:
        notes.append(f"{late} of the days are still to come: is it the day a job was finished?")
    return notes
