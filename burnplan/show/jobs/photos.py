"""Photos of progress on the terminal."""

from datetime import date

from rich.console import RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.jobs.photos import PhotoView
from burnplan.show.console import table


def photo_table(found: list[PhotoView], today: date) -> RenderableType:
    """Return photos of progress, or what to do when there are none."""
    if not found:
        return Text("No photos yet. Keep one with: burnplan photo add JOB PHOTO", "soft")
    rows = table("#", "job", "+title", "day", "+file", ">pixels", "+note")
    for one in found:
        rows.add_row(
            str(one.number),
            Text(one.code, "code"),
            Text(one.title),
            format_date(one.taken_on, today),
            Text(one.filename),
            f"{one.size_px[0]} × {one.size_px[1]}",
            Text(one.note),
        )
    return rows
