"""What a value of the book may be as JSON has it, by column."""

import re
from collections.abc import Callable, Iterable
from datetime import date, datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Date,
    Enum,
    Float,
    Integer,
    MetaData,
    Table,
)
from sqlalchemy.types import TypeEngine

from burnplan.ledger.models import Record
from burnplan.ledger.tables import to_json
from burnplan.ledger.types import Money, UtcDateTime
from burnplan.terminal_safe import of_shells

LARGEST_INTEGER = 2**31 - 1  # a server's, and more than any count here
DEEPEST = 100

# As many digits as an amount on record has, which adds up others.
AMOUNT = re.compile(r"-?[0-9]{1,15}(\.[0-9]{1,4})?")
# What a terminal would obey, and halves of characters that no database stores.
_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")


@lru_cache(maxsize=128)
def checks(table: Table) -> dict[str, Callable[[Any], str]]:
    """Return what says, by column, what is wrong with a value as JSON has it; "" if nothing is."""
    return {column.name: _check(column) for column in table.columns}


def kind_of(column_type: TypeEngine[Any]) -> type[TypeEngine[Any]]:
    """Return which of the book's types a column's is."""
    return next(kind for kind in _FAULTS if isinstance(column_type, kind))


def _check(column: Column[Any]) -> Callable[[Any], str]:
    needed = "" if column.nullable else "is needed"
    kind, of_kind = column.type, _FAULTS[kind_of(column.type)]
    noted = column.name == "changes"
    named = column.table.name == "own_species" and column.name == "key"

    def why(value: Any) -> str:
        if value is None:
            return needed
        if noted and not _are_changes(value, column.table.metadata):
            return "is not a list of rows before and after"
        if named and isinstance(value, str) and (found := of_shells(value)):
            return f"has {' and '.join(found)} in it, which may mean something to a shell"
        return of_kind(kind, value)

    return why


def _are_changes(value: Any, form: MetaData) -> bool:
    """Return whether a value is what the history of a form of the book keeps and undo reads."""
    return isinstance(value, list) and all(
        isinstance(change, dict)
        and change.keys() == {"table", "before", "after"}
        and isinstance(change["table"], str)
        and (change["before"] or change["after"])
        and all(_is_noted(change["table"], change[side], form) for side in ("before", "after"))
        for change in value
    )


def _is_noted(name: str, row: Any, form: MetaData) -> bool:
    """Return whether a row in the history is none, or one that could be written again."""
    if not isinstance(row, dict):
        return row is None
    # A table of an older form too: its rows may be undone under its new name.
    for table in (metadata.tables.get(name) for metadata in {form, Record.metadata}):
        # Rows with other columns are of another form; undo leaves them alone.
        if table is None or not row.keys() <= (by_column := checks(table)).keys():
            continue
        if any(by_column[column](value) for column, value in row.items()):
            return False
    return True


def _integer_fault(_type: Any, value: Any) -> str:
    if type(value) is not int:
        return "is not a whole number"
    return "" if abs(value) <= LARGEST_INTEGER else "is too large"


def _float_fault(_type: Any, value: Any) -> str:
    if type(value) not in (int, float):
        return "is not a number"
    return "" if abs(value) < 1e300 else "is too large"


def _amount_fault(_type: Any, value: Any) -> str:
    good = type(value) is str and AMOUNT.fullmatch(value)
    return "" if good else "is not an amount with at most four decimals"


def _moment_fault(_type: Any, value: Any) -> str:
    """Find fault with anything but what :func:`to_json` makes of a moment."""
    try:
        good = value == to_json(datetime.fromisoformat(value))
    except (TypeError, ValueError, OverflowError):
        good = False
    return "" if good else "is not a moment in UTC"


def _date_fault(_type: Any, value: Any) -> str:
    try:
        good = value == date.fromisoformat(value).isoformat()
    except (TypeError, ValueError):
        good = False
    return "" if good else "is not a date"


def _boolean_fault(_type: Any, value: Any) -> str:
    return "" if type(value) is bool else "is not true or false"


def _nested_fault(_type: Any, value: Any) -> str:
    return _deep_fault(value, 0) if isinstance(value, list | dict) else "is not a list or an object"


def _deep_fault(value: Any, depth: int) -> str:
    if depth > DEEPEST:
        return "is nested too deep"
    if isinstance(value, str):
        return _text_fault(None, value)
    if isinstance(value, dict):
        inside: Iterable[Any] = (*value.keys(), *value.values())
    elif isinstance(value, list):
        inside = value
    else:
        return "" if not isinstance(value, int) or abs(value) < 2**63 else "is too large"
    return next(filter(None, (_deep_fault(one, depth + 1) for one in inside)), "")


def _choice_fault(kind: Any, value: Any) -> str:
    return "" if value in kind.enums else "is none of " + ", ".join(kind.enums)


def _text_fault(kind: Any, value: Any) -> str:
    if type(value) is not str:
        return "is not text"
    if _UNPRINTABLE.search(value):
        return "has a control character in it"
    longest = getattr(kind, "length", None)
    return "" if longest is None or len(value) <= longest else f"is longer than {longest}"


# In this order: an enumeration is text too, and a truth value a number.
_FAULTS: dict[type[TypeEngine[Any]], Callable[[Any, Any], str]] = {
    Money: _amount_fault,
    UtcDateTime: _moment_fault,
    Enum: _choice_fault,
    Boolean: _boolean_fault,
    Integer: _integer_fault,
    Float: _float_fault,
    Date: _date_fault,
    JSON: _nested_fault,
    TypeEngine: _text_fault,
}
