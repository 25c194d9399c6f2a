"""Who changed what: every row before and after, and how to take it back.

Only facts are noted: a column marked as derived follows from them. Of some rows more than
that follows (``follows_without`` of a column or a table names the columns that make it a
fact): it is noted, so that it comes back as it was, but nobody's later change if it differs.

A :class:`Recorder` listens to one transaction and notes each row inserted,
updated or deleted as plain JSON. Undoing replays the notes backwards, and
refuses when a row has changed since, so nothing later is lost.
"""

from collections.abc import Iterable, Iterator
from typing import Any

from sqlalchemy import (
    Column,
    ColumnElement,
    Connection,
    Table,
    UniqueConstraint,
    delete,
    event,
    insert,
    inspect,
    select,
    update,
)
from sqlalchemy.orm import Mapper, Session, object_session

from burnplan.errors import NotAllowed
from burnplan.ledger.models import History, Record
from burnplan.ledger.tables import Row, from_json, to_json


class Recorder:
    """Note every row that one transaction changes, in the order it is changed.

    Mapper events tell of each row as it is written, also of those that nobody
    named: orphans, and rows whose parent went or changed its key.

    Parameters
    ----------
    book : Session
        The transaction to listen to.
    """

    def __init__(self, book: Session) -> None:
        self.changes: list[dict[str, Any]] = []
        self._before: dict[int, Row] = {}
        book.info[Recorder] = self

    def look_before(self, record: Record) -> None:
        """Keep a row as the database has it: the values loaded, not the new ones."""
        state = inspect(record)
        row: Row = {}
        for name, key in _facts(record):
            past = state.attrs[key].history
            row[name] = to_json(past.deleted[0] if past.deleted else getattr(record, key))
        self._before[id(record)] = row

    def note(self, record: Record, *, gone: bool = False) -> None:
        """Note a row just written, or deleted."""
        before = self._before.pop(id(record), None)
        after = None if gone else self._now(record)
        if before != after and not isinstance(record, History):
            self.changes.append(
                {"table": record.__tablename__, "before": before, "after": after},
            )

    @staticmethod
    def _now(record: Record) -> Row:
        return {name: to_json(getattr(record, key)) for name, key in _facts(record)}


def _facts(record: Record) -> Iterator[tuple[str, str]]:
    """Return the column and the attribute of each fact of a record."""
    for attribute in inspect(record).mapper.column_attrs:
        column = attribute.columns[0]
        if "derived" not in column.info:
            yield column.name, attribute.key


def _recorder_of(record: Record) -> Recorder | None:
    """Return who listens to the transaction that a record is in; nobody where one only reads."""
    book = object_session(record)
    return None if book is None else book.info.get(Recorder)


@event.listens_for(Record, "before_update", propagate=True)
@event.listens_for(Record, "before_delete", propagate=True)
def _look_before(_mapper: Mapper[Any], _connection: Connection, record: Record) -> None:
    if recorder := _recorder_of(record):
        recorder.look_before(record)


@event.listens_for(Record, "after_insert", propagate=True)
@event.listens_for(Record, "after_update", propagate=True)
def _note_written(_mapper: Mapper[Any], _connection: Connection, record: Record) -> None:
    if recorder := _recorder_of(record):
        recorder.note(record)


@event.listens_for(Record, "after_delete", propagate=True)
def _note_gone(_mapper: Mapper[Any], _connection: Connection, record: Record) -> None:
    if recorder := _recorder_of(record):
        recorder.note(record, gone=True)


def _without(names: Iterable[str], row: Row | None) -> Row | None:
    return None if row is None else {key: row[key] for key in row if key not in names}


UNDO, REDO = "undo", "redo"


def last_undoable(book: Session, author: str | None = None) -> History | None:
    """Return the newest entry in effect that is no undo, of one author or of anybody.

    What nobody is named for is everybody's.
    """
    return _newest(book, History.action != UNDO, author)


def last_redoable(book: Session, author: str | None = None) -> History | None:
    """Return the newest undo in effect, of one author or of anybody.

    There is none once they have done something else: who goes on has made up their mind.
    """
    found = _newest(book, History.action == UNDO, author)
    done = _newest(book, History.action.not_in((UNDO, REDO)), author)
    return None if found is None or (done is not None and done.id > found.id) else found


def _newest(book: Session, which: ColumnElement[bool], author: str | None) -> History | None:
    taken_back = select(History.undoes_id).where(History.undoes_id.is_not(None))
    query = select(History).where(which, History.id.not_in(taken_back))
    if author is not None:
        query = query.where(History.author.in_((author, "")))
    return book.scalars(query.order_by(History.id.desc()).limit(1)).first()


def taken_back(book: Session) -> set[int]:
    """Return the numbers of the entries that are not in effect: undone, and not done again."""
    by = dict(
        iter(
            book.execute(
                select(History.undoes_id, History.id).where(History.undoes_id.is_not(None))
            )
        )
    )
    # The newest first: whether one takes another back hangs on whether it is itself.
    found: set[int] = set()
    for undone, entry in sorted(by.items(), key=lambda pair: -pair[1]):
        if entry not in found and undone is not None:
            found.add(undone)
    return found


def reverse(book: Session, entry: History) -> list[dict[str, Any]]:
    """Put every row of an entry back as it was before.

    Returns
    -------
    list of dict
        The changes just made, in the form History keeps.

    Raises
    ------
    NotAllowed
        If a row has been changed since, something hangs on it that was not there then, or
        it is of an older form of the book.
    """
    made: list[dict[str, Any]] = []
    for change in reversed(entry.changes):
        table = Record.metadata.tables.get(change["table"])
        derived = () if table is None else [c.name for c in table.c if "derived" in c.info]
        before, after = (_without(derived, change[name]) for name in ("before", "after"))
        known = after or before or {}
        if table is None or known.keys() != set(table.columns.keys()).difference(derived):
            raise NotAllowed(
                f"'{entry.summary}' cannot be undone: it was done in an older form of the book",
                "Correct it with the command for it",
            )
        same = [table.c[c.name] == from_json(table, known)[c.name] for c in table.primary_key]
        found = book.execute(select(table).where(*same)).mappings().first()
        current = {name: to_json(found[name]) for name in known} if found else None
        wording = [c.name for c in table.c if follows(c, known)]
        if _without(wording, current) != _without(wording, after):
            if current is None and all(follows(table, row) for row in (before, after)):
                continue  # what is wanted in its place is there, or comes with what follows
            raise NotAllowed(
                f"'{entry.summary}' cannot be undone: it has been changed again since",
                "Correct it with the command that made the newer change",
            )
        if before is None:
            made += _take_along(book, table, known, entry)
            book.execute(delete(table).where(*same))
        elif after is None:
            if follows(table, before) and _has_another(book, table, before):
                continue
            book.execute(insert(table).values(from_json(table, before)))
        else:
            book.execute(update(table).where(*same).values(from_json(table, before)))
        made.append({"table": change["table"], "before": current, "after": before})
    return made


def follows(described: Column[Any] | Table, row: Row | None) -> bool:
    """Return whether a column of a row, or the whole row, follows from facts elsewhere.

    No row does: it is nobody's.
    """
    facts = described.info.get("follows_without")
    return row is None or (facts is not None and not any(row[name] for name in facts))


def _has_another(book: Session, table: Table, row: Row) -> bool:
    """Return whether the book has a row that is the same by a rule of the table."""
    values = from_json(table, row)
    return any(
        book.execute(
            select(table).where(*(column == values[column.name] for column in rule.columns))
        ).first()
        for rule in table.constraints
        if isinstance(rule, UniqueConstraint)
    )


def _take_along(book: Session, table: Table, row: Row, entry: History) -> list[dict[str, Any]]:
    """Remove what follows from a row that goes, and return it as History keeps it.

    Raises
    ------
    NotAllowed
        If others name it that came later, and would go with it.
    """
    made: list[dict[str, Any]] = []
    for other in Record.metadata.sorted_tables:
        for key in other.foreign_keys:
            if key.column.table is not table:
                continue
            hanging = key.parent == row[key.column.name]
            facts = [column for column in other.c if "derived" not in column.info]
            rows = [
                {name: to_json(value) for name, value in found.items()}
                for found in book.execute(select(*facts).where(hanging)).mappings()
            ]
            if not all(follows(other, gone) for gone in rows):
                raise NotAllowed(
                    f"'{entry.summary}' cannot be undone: something done since hangs on it",
                    "Take that back first",
                )
            if rows:
                book.execute(delete(other).where(hanging))
                made += [{"table": other.name, "before": gone, "after": None} for gone in rows]
    return made
