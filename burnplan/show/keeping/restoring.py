"""A book put in the place of another, on the terminal."""

from collections.abc import Iterator

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.dates import format_moment
from burnplan.desk.keeping.restoring import BookState, Restored, Restoring
from burnplan.desk.studio.studio import Studio
from burnplan.show.keeping.backups import lacking


def warnings(about: Restoring, studio: Studio) -> Iterator[str]:
    """Yield what to mind: later changes in the present book, what is wrong with the other."""
    if about.present is not None and about.goes_back:
        yield (
            f"The book here is newer than the other: {_described(about.present, studio)}."
            " What came later will be only in the copy kept aside."
        )
    if about.faults:
        yield f"Not all of the other can be read: {about.faults[0]}."


def question(about: Restoring, studio: Studio) -> str:
    """Return what is about to happen to the present book, as a question."""
    written = f"written {format_moment(studio.local(about.made_at), studio.today())}"
    new = f"the one with {_described(about.new, studio)} ({written})"
    if about.present is None:
        return f"What is in the place of the book is damaged. Move it aside and use {new}?"
    return f"Keep the book here ({_described(about.present, studio)}) aside and use {new}?"


def _described(state: BookState, studio: Studio) -> str:
    last = "never changed"
    if state.last_change is not None:
        last = f"last changed {format_moment(studio.local(state.last_change), studio.today())}"
    noun = "commission" if state.commissions == 1 else "commissions"
    return f"{state.commissions} {noun}, {last}"


def restored(done: Restored, studio: Studio) -> RenderableType:
    """Return what is in the book now."""
    lines: list[RenderableType] = [Text(f"The book is now: {_described(done.new, studio)}")]
    if done.migrated_from:
        lines.append(Text(f"It was brought from schema {done.migrated_from} to a newer form"))
    if done.missing_originals:
        lines.append(lacking(len(done.missing_originals)))
    return Group(*lines)
