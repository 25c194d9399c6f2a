"""Tables of past jobs on the terminal: how they are understood, and what came of it."""

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.time.past import PastJobView
from burnplan.desk.time.past_import import ColumnView, ImportView, TableView
from burnplan.reckon.work import Work
from burnplan.show.console import table
from burnplan.show.time.pace import DOING
from burnplan.units import format_hours


def columns_table(columns: Sequence[ColumnView]) -> RenderableType:
    """Return column by column what it was taken for, with its first cell."""
    rows = table("", "+column", "+taken for", "+first cell", "+read as")
    for one in columns:
        style = "" if one.words else "soft"
        rows.add_row(
            Text(one.column, "code"),
            Text(one.heading or "–", style),
            Text(one.words or "left aside", style),
            Text(one.example, "soft"),
            Text(one.read_as),
        )
    return rows


def table_look(view: TableView) -> RenderableType:
    """Return how a table is understood as a whole, and column by column."""
    rows = "1 row" if view.rows == 1 else f"{view.rows} rows"
    headings = f"headings in row {view.heading_row}" if view.heading_row else "no headings"
    return Group(
        Text(f"{rows} parted by {view.parted_by}, {headings}, letters in {view.letters}", "soft"),
        columns_table(view.columns),
    )


def import_report(view: ImportView, *before: RenderableType) -> RenderableType:
    """Return what an import did, and each row that it left with why."""
    parts = [*before, *([Text()] if before else [])]
    if view.faults:
        rows = table(">row", "column", "+left out because")
        for fault in view.faults:
            rows.add_row(str(fault.line), Text(fault.column, "code"), Text(fault.problem))
        parts += [rows, Text()]
    known = f"; {_were(view.known)} on record already" if view.known else ""
    if view.twice:
        known += f"; {_were(view.twice)} the same in all columns as a row above"
    verb = "Would bring in" if view.dry_run else "Brought in"
    parts.append(Text(f"{verb} {view.added} of {view.read} jobs{known}"))
    if view.faults:
        be = "would be" if view.dry_run else "was" if view.left == 1 else "were"
        left = f"{view.left} row{'' if view.left == 1 else 's'} {be}"
        parts.append(
            Text(
                f"{left} left out. Mend the table and bring it in again: what is on record"
                " is not added twice",
                "bad",
            )
        )
    return Group(*parts)


def _were(count: int) -> str:
    return f"{count} {'was' if count == 1 else 'were'}"


def past_job_line(view: PastJobView) -> RenderableType:
    """Return what was put on record of a past job, and how many now teach."""
    covers = "the whole piece"
    if len(view.covers) < len(Work):
        alone = " alone" if len(view.covers) == 1 else ""
        covers = " and ".join(DOING[work] for work in view.covers) + alone
    jobs = "1 job" if view.teaches == 1 else f"{view.teaches} jobs"
    hours = format_hours(view.hours)
    return Text(f"'{view.title}' took {hours} for {covers}; forecasts learn from {jobs} now")
