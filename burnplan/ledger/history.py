"""Who changed what: every row before and after, and how to take it back.

A :class:`Recorder` listens to one transaction and notes each row inserted,
updated or deleted as plain JSON. Undoing replays the notes backwards, and
refuses when a row has changed since, so nothing later is lost.
"""

from collections.abc import Iterable
from typing import Any

from sqlalchemy import delete, event, insert, inspect, select, update
from sqlalchemy.orm import Session, UOWTransaction

from burnplan.errors import NotAllowed
from burnplan.ledger.models import History, Record
from burnplan.ledger.tables import Row, from_json, to_json


class Recorder:
    """Note every row that one transaction changes.

    Parameters
    ----------
    book : Session
        The transaction to listen to.
    """

    def __init__(self, book: Session) -> None:
        self.changes: list[dict[str, Any]] = []
        self._before: dict[int, Row] = {}
        event.listen(book, "before_flush", self._look_before)
        event.listen(book, "after_flush", self._note)

    def _look_before(self, book: Session, _context: UOWTransaction, _instances: Any) -> None:
        self._before = {id(record): self._stored(record) for record in (*book.dirty, *book.deleted)}

    @staticmethod
    def _stored(record: Any) -> Row:
        """Return the row as the database has it: the values loaded, not the new ones."""
        state = inspect(record)
        row: Row = {}
        for column in state.mapper.column_attrs:
            past = state.attrs[column.key].history
            old = past.deleted[0] if past.deleted else getattr(record, column.key)
            row[column.columns[0].name] = to_json(old)
        return row

    def _note(self, book: Session, _context: UOWTransaction) -> None:
        for record in book.new:
            self._add(record, None, self._now(record))
        for record in book.dirty:
            before, after = self._before[id(record)], self._now(record)
            if before != after:
                self._add(record, before, after)
        for record in book.deleted:
            self._add(record, self._before[id(record)], None)

    @staticmethod
    def _now(record: Any) -> Row:
        mapper = inspect(record).mapper
        return {
            column.columns[0].name: to_json(getattr(record, column.key))
            for column in mapper.column_attrs
        }

    def _add(self, record: Any, before: Row | None, after: Row | None) -> None:
        if isinstance(record, History):
            return
        self.changes.append(
            {"table": record.__tablename__, "before": before, "after": after},
        )


def last_undoable(book: Session) -> History | None:
    """Return the newest entry not yet undone and not itself an undo."""
    undone = select(History.undoes_id).where(History.undoes_id.is_not(None))
    return book.scalars(
        select(History)
        .where(History.undoes_id.is_(None), History.id.not_in(undone))
        .order_by(History.id.desc())
        .limit(1)
    ).first()


def reverse(book: Session, entry: History) -> list[dict[str, Any]]:
    """Put every row of an entry back as it was before.

    Returns
    -------
    list of dict
        The changes just made, in the form History keeps.

    Raises
    ------
    NotAllowed
        If a row has been changed since.
    """
    made: list[dict[str, Any]] = []
    for change in reversed(entry.changes):
        table = Record.metadata.tables[change["table"]]
        before, after = change["before"], change["after"]
        known = after or before
        same = [table.c[c.name] == from_json(table, known)[c.name] for c in table.primary_key]
        found = book.execute(select(table).where(*same)).mappings().first()
        current = {name: to_json(value) for name, value in found.items()} if found else None
        if current != after:
            raise NotAllowed(
                f"'{entry.summary}' cannot be undone: it has been changed again since",
                "Correct it with the command that made the newer change",
            )
        if before is None:
            book.execute(delete(table).where(*same))
        elif after is None:
            book.execute(insert(table).values(from_json(table, before)))
        else:
            book.execute(update(table).where(*same).values(from_json(table, before)))
        made.append({"table": change["table"], "before": after, "after": before})
    return made


def entries(book: Session, *, commission_id: int | None, limit: int) -> Iterable[History]:
    """Return the newest entries first, of one commission or of all."""
    query = select(History).order_by(History.id.desc()).limit(limit)
    if commission_id is not None:
        query = query.where(History.commission_id == commission_id)
    return book.scalars(query)
