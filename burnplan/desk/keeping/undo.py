"""Look back over what was done, take the last of it back, and do it again.

Each takes back their own: in a studio that is shared, the last thing done may be
somebody else's, who is still at it.
"""

import re
from collections.abc import Callable
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session, defer

from burnplan.codes import commission_code
from burnplan.desk.derived.studio_settings import Settings, of_book
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.paging import ALL, ListPage
from burnplan.desk.studio.studio import Studio
from burnplan.errors import NotAllowed, NotFound
from burnplan.ledger import history
from burnplan.ledger.models import History
from burnplan.sentences import Do, Sentence
from burnplan.view import View


class Happening(View):
    """One line of the history; ``undone`` is not in effect any more."""

    number: int
    at: datetime
    action: str
    summary: str
    author: str
    undone: bool
    job: str | None = None


def _shown(entry: History, own: Settings, undone: bool = False) -> Happening:
    return Happening(
        number=entry.id,
        at=entry.at,
        action=entry.action,
        summary=_in_words(entry.summary, own),
        author=entry.author,
        undone=undone,
        job=commission_code(entry.commission_id) if entry.commission_id else None,
    )


_UNDID, _REDID = "Undid: ", "Did again: "
# What is kept of them repeats the words of steps, which have sizes in the units of that day.
_OF_STEPS = re.compile(r"(Undid: |Did again: )*(Ticked|Opened again|Skipped) for '")


def _in_words(summary: str, own: Settings) -> str:
    """Return what was done, in the studio's units of today."""
    return own.wording.restated_beside_typed(summary) if _OF_STEPS.match(summary) else summary


def _done(entry: History) -> str:
    """Return what was done, of an entry that does or undoes it, as it is on record."""
    return entry.summary.removeprefix(_UNDID).removeprefix(_REDID)


def last(studio: Studio, *, redo: bool = False) -> Happening | None:
    """Return what :func:`undo_last` would take back, or :func:`redo_last` do again."""
    with studio.reading() as book:
        find = history.last_redoable if redo else history.last_undoable
        entry = find(book, studio.author)
        return None if entry is None else _taken(entry, of_book(book))


def undo_last(studio: Studio, *, anybody: bool = False, agreed: int | None = None) -> Happening:
    """Take back one's own last action that is in effect.

    Where somebody else did something since, that is said among the notices.

    Parameters
    ----------
    studio : Studio
    anybody : bool
        The last action of all, whoever did it.
    agreed : int, optional
        The number of the only one to be taken back: that which was shown before.

    Returns
    -------
    Happening
        The action undone.

    Raises
    ------
    NotFound
        If there is nothing of one's own to undo.
    NotAllowed
        If its rows have been changed since, or something hangs on them; or if it is not the
        one agreed.
    """
    return _take_back(studio, history.UNDO, history.last_undoable, _UNDID, anybody, agreed)


def redo_last(studio: Studio, *, anybody: bool = False, agreed: int | None = None) -> Happening:
    """Do again what one undid last.

    Returns
    -------
    Happening
        The undo that is taken back.

    Raises
    ------
    NotFound
        If one has undone nothing that is not done again.
    NotAllowed
        If its rows have been changed since, or if it is not the one agreed.
    """
    return _take_back(studio, history.REDO, history.last_redoable, _REDID, anybody, agreed)


def _take_back(
    studio: Studio,
    action: str,
    find: Callable[[Session, str | None], History | None],
    said: str,
    anybody: bool,
    agreed: int | None,
) -> Happening:
    with studio.writing(action) as (book, entry):
        newest, own = find(book, None), of_book(book)
        found = newest if anybody else find(book, studio.author)
        if found is None:
            if newest is None:
                raise NotFound(f"There is nothing to {action}")
            raise NotFound(
                f"There is nothing of your own to {action}. {_whose(newest, own)}",
                "Add ",
                Do("undo.anybody"),
                " to take that",
            )
        if agreed is not None and found.id != agreed:
            raise NotAllowed(
                f"Something else was done meanwhile: {_in_words(_done(found), own)}",
                f"Look, and {action} again",
            )
        entry.changes += history.reverse(book, found)
        entry.undoes_id = found.id
        entry.says(f"{said}{_done(found)}", found.commission_id)
        taken = _taken(found, own)
    if newest is not None and newest is not found:
        studio.notices.append(Sentence(_whose(newest, own)))
    return taken


def _taken(entry: History, own: Settings) -> Happening:
    """Return what is taken back, or done again, by its own words."""
    summary = _in_words(_done(entry), own)
    return _shown(entry, own, undone=True).model_copy(update={"summary": summary})


def _whose(entry: History, own: Settings) -> str:
    return f"The last is by {entry.author}: {_in_words(entry.summary, own)}"


def happenings(
    studio: Studio, which: str | None = None, *, page: ListPage = ALL
) -> list[Happening]:
    """Return the newest history lines first, of one commission or of all that was done."""
    with studio.reading() as book:
        query = select(History).options(defer(History.changes)).order_by(History.id.desc())
        if which is not None:
            query = query.where(History.commission_id == find_commission(book, which).id)
        undone, own = history.taken_back(book), of_book(book)
        return [_shown(entry, own, entry.id in undone) for entry in book.scalars(page.of(query))]
