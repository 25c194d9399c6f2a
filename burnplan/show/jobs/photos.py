"""Photos of progress on the terminal."""

from datetime import date

from rich.console import RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.jobs.photos import PhotoView
from burnplan.show.console import table
from burnplan.units import format_hours_range


def photo_table(found: list[PhotoView], today: date) -> RenderableType:
    """Return photos of progress, or what to do when there are none."""
    if not found:
        return Text("No photos yet. Keep one with: burnplan photo add JOB PHOTO", "soft")
    compared = any(one.compared for one in found)
    rows = table("#", "job", "+title", "day", "+file", ">pixels", "+note",
                 *([">burned"] if compared else []))  # fmt: skip
    for one in found:
        rows.add_row(
            str(one.number),
            Text(one.code, "code"),
            Text(one.title),
            format_date(one.taken_on, today),
            Text(one.filename),
            f"{one.size_px[0]} × {one.size_px[1]}",
            Text(one.note),
            *([_burned(one)] if compared else []),
        )
    return rows


def _burned(one: PhotoView) -> str:
    return f"{100 * one.compared.burned:.0f} %" if one.compared else ""


def by_photo_words(one: PhotoView | None, today: date) -> str:
    """Return what the newest photo that was compared showed of the burning, beside the ticks."""
    if one is None or one.compared is None:
        return ""
    seen = one.compared
    words = (
        f"{100 * seen.burned:.0f} % burned on {format_date(one.taken_on, today)},"
        f" by the ticks then {100 * seen.ticked:.0f} %"
    )
    if seen.hours_left is not None:
        left = format_hours_range(seen.hours_left.p50, seen.hours_left.p80)
        words += f"; by the photo {left} left then"
    return words
