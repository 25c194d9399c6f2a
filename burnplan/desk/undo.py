"""Look back over what was done, and take the last of it back."""

from datetime import datetime

from burnplan.desk.studio import Studio
from burnplan.desk.view import View
from burnplan.errors import NotFound
from burnplan.ledger import history
from burnplan.ledger.models import History


class Happening(View):
    """One line of the history."""

    number: int
    at: datetime
    action: str
    summary: str
    undone: bool


def _shown(entry: History, undone: bool = False) -> Happening:
    return Happening(
        number=entry.id, at=entry.at, action=entry.action, summary=entry.summary, undone=undone
    )


def undo_last(studio: Studio) -> Happening:
    """Take back the last action that has not been taken back.

    Returns
    -------
    Happening
        The action undone.

    Raises
    ------
    NotFound
        If there is nothing to undo.
    NotAllowed
        If its rows have been changed since.
    """
    with studio.writing("undo") as (book, _):
        entry = history.last_undoable(book)
        if entry is None:
            raise NotFound("There is nothing to undo")
        changes = history.reverse(book, entry)
        book.add(
            History(
                at=studio.now(),
                action="undo",
                summary=f"Undid: {entry.summary}"[:300],
                commission_id=entry.commission_id,
                changes=changes,
                undoes_id=entry.id,
            )
        )
        return _shown(entry, undone=True)


def happenings(
    studio: Studio, *, commission_id: int | None = None, limit: int = 20
) -> list[Happening]:
    """Return the newest history lines first."""
    with studio.reading() as book:
        found = list(history.entries(book, commission_id=commission_id, limit=limit))
        undone = {entry.undoes_id for entry in found}
        return [_shown(entry, entry.id in undone) for entry in found]
