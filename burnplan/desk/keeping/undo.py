"""Look back over what was done, and take the last of it back."""

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import defer

from burnplan.desk.studio.paging import ALL, ListPage
from burnplan.desk.studio.studio import Studio
from burnplan.errors import NotFound
from burnplan.ledger import history
from burnplan.ledger.models import History
from burnplan.view import View


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
    with studio.writing("undo") as (book, entry):
        last = history.last_undoable(book)
        if last is None:
            raise NotFound("There is nothing to undo")
        entry.changes += history.reverse(book, last)
        entry.undoes_id = last.id
        entry.says(f"Undid: {last.summary}", last.commission_id)
        return _shown(last, undone=True)


def happenings(
    studio: Studio, *, commission_id: int | None = None, page: ListPage = ALL
) -> list[Happening]:
    """Return the newest history lines first."""
    with studio.reading() as book:
        query = select(History).options(defer(History.changes)).order_by(History.id.desc())
        if commission_id is not None:
            query = query.where(History.commission_id == commission_id)
        found = book.scalars(page.of(query)).all()
        numbers = [entry.id for entry in found]
        undone = set(book.scalars(select(History.undoes_id).where(History.undoes_id.in_(numbers))))
        return [_shown(entry, entry.id in undone) for entry in found]
