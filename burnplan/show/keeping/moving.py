"""What was moved to another book, on the terminal."""

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.keeping.moving import Moved
from burnplan.show.console import table


def moved_text(moved: Moved, settings: Settings) -> RenderableType:
    """Return what was copied and compared, and what to do now."""
    rows = table("table", ">rows")
    for name, number in moved.rows.items():
        rows.add_row(settings.wording.own(name.replace("_", " ")), f"{number:,}")
    rows.add_row("all, each compared", f"{sum(moved.rows.values()):,}", style="title")
    photos = moved.rows["original"]
    if moved.on_server:
        now = "Set BURNPLAN_DATABASE_URL to its URL to work in it; share the folder of photos too"
    else:
        now = "To work in it, keep it as book.db in BURNPLAN_HOME with the folder of photos beside"
    return Group(
        Text(f"Copied from {moved.source}\n         to {moved.target}"),
        rows,
        Text(f"\nPhotos on record: {photos}; they stay in {moved.originals}"),
        Text(f"{now}.", "soft"),
    )
