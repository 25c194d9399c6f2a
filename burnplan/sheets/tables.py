"""Tables for other programs (CSV, RFC 4180)."""

import csv
import os
from collections.abc import Iterable
from pathlib import Path

from burnplan.cells import safe_cell
from burnplan.desk.jobs.review import JobView
from burnplan.files import written_whole
from burnplan.sheets.writing import Written

JOB_COLUMNS = (
    "code", "title", "client", "stage", "due", "hours_done", "hours_left_p50", "hours_left_p80",
    "on_time", "balance", "currency", "next_step", "attention",
)  # fmt: skip


def _cell(value: object) -> str:
    """Return a value as a cell; a spreadsheet must not take a title for a formula."""
    if isinstance(value, str):
        return safe_cell(value)
    return "" if value is None else str(value)


def write_jobs(jobs: Iterable[JobView], path: str | os.PathLike[str]) -> Written:
    """Write the review of open jobs as a CSV file in UTF-8; what is unknown stays empty."""
    with (
        written_whole(path) as unfinished,
        unfinished.open("w", encoding="utf-8", newline="") as file,
    ):
        writer = csv.writer(file)
        writer.writerow(JOB_COLUMNS)
        for job in jobs:
            row = {
                **dict(job),
                "stage": job.stage.value,
                "hours_done": round(job.hours_done, 4),
                "hours_left_p50": job.hours_left.p50 and round(job.hours_left.p50, 4),
                "hours_left_p80": job.hours_left.p80 and round(job.hours_left.p80, 4),
                "on_time": job.on_time and round(job.on_time, 4),
            }
            writer.writerow([_cell(row[name]) for name in JOB_COLUMNS])
    return Written(Path(path), 0)
