"""Tables of past jobs on the terminal: how they are understood, and what came of it."""

from collections.abc import Sequence
from datetime import date

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.time.past import PastJobView
from burnplan.desk.time.past_import import ColumnView, ImportView, TableView
from burnplan.money import format_money
from burnplan.reckon.work import Work
from burnplan.show.console import table
from burnplan.show.time.pace import DOING
from burnplan.units import format_hours, format_size


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


def past_job_line(view: PastJobView, teaching: int) -> RenderableType:
    """Return what is on record of a past job, and how many jobs now teach."""
    jobs = "1 job" if teaching == 1 else f"{teaching} jobs"
    took = f"took {_hours(view)}" if view.hours else "has no hours"
    return Text(f"'{view.title}' {took}; forecasts learn from {jobs} now")


def _hours(view: PastJobView) -> str:
    covers = "the whole piece"
    if len(view.covers) < len(Work):
        alone = " alone" if len(view.covers) == 1 else ""
        covers = " and ".join(DOING[work] for work in view.covers) + alone
    return f"{format_hours(view.hours or 0)} for {covers}"


def past_table(jobs: list[PastJobView], settings: Settings, today: date) -> RenderableType:
    """Return past jobs, or what to do when there are none."""
    if not jobs:
        return Text("No past jobs yet. Bring some in with: burnplan past import FILE", "soft")
    rows = table(">#", "finished", "+title", "size", "+hours", ">price")
    for one in jobs:
        price = one.price
        hours = _hours(one) if one.hours else ""
        aside = "" if one.set_aside is None else f"; teaches nothing: {one.set_aside}"
        rows.add_row(
            str(one.number),
            format_date(one.finished_on, today) if one.finished_on else "",
            Text(one.title),
            format_size(one.outline, settings.units),
            Text(f"{hours}{aside}"),
            "" if price is None else format_money(price, settings.currency, settings.locale),
        )
    return rows
