"""Backups and exports on the terminal."""

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.keeping.backups import Packed
from burnplan.show.console import facts


def packed(done: Packed) -> RenderableType:
    """Return what was written, and what could not be."""
    lines: list[RenderableType] = [
        Text(f"Wrote {done.path}"),
        facts(
            ("rows", f"{sum(done.rows.values()):,}"),
            ("photos", f"{done.originals:,}"),
            ("letters of your own", f"{done.letters}" if done.letters else None),
            ("size", f"{done.bytes / 1e6:,.1f} MB before packing"),
            ("schema", done.schema_revision),
        ),
    ]
    if done.missing:
        lines.append(lacking(len(done.missing)))
        lines += [
            Text(f"  {name}  {sha256[:12]}")
            for name, sha256 in zip(done.missing_photos, done.missing, strict=True)
        ]
    return Group(*lines)


def lacking(photos: int) -> Text:
    """Return how many photos are not there."""
    noun = "photo is" if photos == 1 else "photos are"
    return Text(f"{photos} {noun} missing or damaged and not in it. See: burnplan check", "warn")
