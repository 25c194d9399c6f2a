"""The book as one JSON document that any program can read: ``book.json``.

It is written and read a row at a time, so that a book of any size fits in
memory: each row is a line of its own, and so are the lines that open and close
a table. Its JSON Schema is made from the tables themselves.
"""

import csv
import io
import json
import math
import re
from collections.abc import Callable, Iterable, Iterator
from datetime import date, datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Connection,
    Date,
    Engine,
    Enum,
    Float,
    Integer,
    MetaData,
    Table,
    event,
)
from sqlalchemy.exc import DBAPIError
from sqlalchemy.types import DateTime, TypeEngine

from burnplan.cells import safe_cell
from burnplan.errors import BadInput, OperationFailed
from burnplan.ledger import migrate
from burnplan.ledger.engines import transaction
from burnplan.ledger.models import Record
from burnplan.ledger.package import Writes
from burnplan.ledger.tables import Row, count, from_json, put, rows, tables, to_json
from burnplan.ledger.types import Money, UtcDateTime
from burnplan.progress import Progress, silent
from burnplan.sentences import Do
from burnplan.terminal_safe import of_shells

FORMAT, FORMAT_VERSION = "burnplan-book", 1
LONGEST_LINE = 64 << 20
# How many lists and objects a row can have, beside one in so many bytes.
_FEW, _BYTES_A_LIST = 1000, 6
LARGEST_INTEGER = 2**31 - 1  # a server's, and more than any count here
DEEPEST = 100

_AMOUNT = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,4})?")
# What a terminal would obey, and halves of characters that no database stores.
_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")


# --- writing ---------------------------------------------------------------


def write_book(
    connection: Connection, revision: str, out: Writes, on_progress: Progress = silent
) -> None:
    """Write every row of every table.

    Parameters
    ----------
    connection : Connection
        In a transaction, so that all of it is of one moment.
    revision : str
        Of the schema.
    out : Writes
    on_progress : Progress

    Raises
    ------
    OperationFailed
        If a row holds a number that JSON cannot.
    """
    whole, done = sum(count(connection, table) for table in tables()) or 1, 0
    head = json.dumps({"format": FORMAT, "version": FORMAT_VERSION, "schema": revision})
    out.write(f'{head[:-1]}, "tables": {{\n'.encode())
    for number, table in enumerate(tables()):
        out.write((b",\n" if number else b"") + f'"{table.name}": ['.encode())
        before_row = b"\n"
        for row in rows(connection, table):
            out.write(before_row + _line(table, row))
            before_row = b",\n"
            done += 1
            if done % 1000 == 0:
                on_progress(done / whole, "writing the book")
        out.write(b"\n]")
    out.write(b"\n}}\n")


_ENCODER = json.JSONEncoder(ensure_ascii=False, allow_nan=False)


def _line(table: Table, row: Row) -> bytes:
    try:
        said = {name: to_json(value) for name, value in row.items()}
        return _ENCODER.encode(said).encode()
    except (ValueError, RecursionError):
        raise OperationFailed(
            f"A row of '{table.name}' cannot be written as JSON",
            "See what is wrong with the book: ",
            Do("book.check"),
        ) from None


def write_csv(connection: Connection, table: Table, out: Writes) -> None:
    """Write a table as CSV (RFC 4180), for spreadsheets; what is unknown stays empty."""
    line = io.StringIO(newline="")
    writer = csv.writer(line)
    writer.writerow([column.name for column in table.columns])
    for row in rows(connection, table):
        writer.writerow([_cell(row[column.name]) for column in table.columns])
        if line.tell() > 1 << 20:
            out.write(line.getvalue().encode())
            line.seek(0)
            line.truncate()
    out.write(line.getvalue().encode())


def _cell(value: Any) -> Any:
    if isinstance(value, list | dict):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, str):
        return safe_cell(value)
    return to_json(value)


# --- reading ---------------------------------------------------------------


class JsonBook:
    """A ``book.json`` being read; nothing in it is trusted.

    Parameters
    ----------
    chunks : iterable of bytes
        The document in pieces.

    Raises
    ------
    BadInput
        If it is not such a document; the same while it is read.
    """

    def __init__(self, chunks: Iterable[bytes]) -> None:
        self._lines = _lines(chunks)
        self._number = 0
        self._was_last = False
        head = self._next_line()
        opening = b', "tables": {'
        if not head.endswith(opening):
            raise self.wrong("it does not begin as a book does")
        said = self._value(head.removesuffix(opening) + b"}")
        if not isinstance(said, dict) or said.get("format") != FORMAT:
            raise self.wrong("it does not begin as a book does")
        if said.get("version") != FORMAT_VERSION:
            raise self.wrong("it is of another version")
        self.revision = str(said.get("schema"))

    def tables(self, known: Iterable[Table]) -> Iterator[tuple[Table, Iterator[Row]]]:
        """Read the tables, all of those known and no others, each with its rows.

        The rows of one must be read before the next.
        """
        waiting = {f'"{table.name}": ['.encode(): table for table in known}
        while not self._was_last:
            table = waiting.pop(self._next_line(), None)
            if table is None:
                raise self.wrong("a table of the book should begin here")
            yield table, self._rows(table)
        if waiting:
            raise self.wrong(f"{len(waiting)} of the book's tables are missing")
        if self._next_line() != b"}}" or next(self._lines, None) is not None:
            raise self.wrong("the book should end here")

    def _rows(self, table: Table) -> Iterator[Row]:
        while (line := self._next_line()) not in (b"]", b"],"):
            yield self._row(table, self._value(line.removesuffix(b",")))
        self._was_last = line == b"]"

    def _row(self, table: Table, said: Any) -> Row:
        by_column = checks(table)
        if not isinstance(said, dict) or said.keys() != by_column.keys():
            raise self.wrong(f"a row of '{table.name}' has other columns")
        for name, check in by_column.items():
            if why := check(said[name]):
                raise self.wrong(f"'{name}' of '{table.name}' {why}")
        return from_json(table, said)

    def _next_line(self) -> bytes:
        self._number += 1
        line = next(self._lines, None)
        if line is None:
            raise self.wrong("it ends too early")
        if len(line) > LONGEST_LINE:
            raise self.wrong("it is too long")
        return line

    def _value(self, text: bytes) -> Any:
        # Lists of nothing take thirty times their text in memory; rows have words between.
        if text.count(b"[") + text.count(b"{") > _FEW + len(text) // _BYTES_A_LIST:
            raise self.wrong("it is nested too deep")
        try:
            return _DECODER.decode(text.decode())
        except RecursionError:
            raise self.wrong("it is nested too deep") from None
        except ValueError:
            raise self.wrong("it is not JSON as an export has it") from None

    def wrong(self, why: str) -> BadInput:
        """Return the error that names the line being read."""
        return BadInput(
            f"Line {self._number} of book.json is not used: {why}", "Export the book again"
        )


def _lines(chunks: Iterable[bytes]) -> Iterator[bytes]:
    """Cut what comes in pieces into lines; one that is too long is given as far as it came."""
    rest: list[bytes] = []
    held = 0
    for chunk in chunks:
        *whole, last = chunk.split(b"\n")
        for line in whole:
            yield b"".join((*rest, line))
            rest, held = [], 0
        rest.append(last)
        held += len(last)
        if held > LONGEST_LINE:
            yield b"".join(rest)
            rest, held = [], 0
    if held:
        yield b"".join(rest)


def _no_number(_text: str) -> float:
    raise ValueError("not a number")


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError("too large")
    return value


@lru_cache(maxsize=128)
def checks(table: Table) -> dict[str, Callable[[Any], str]]:
    """Return what says, by column, what is wrong with a value as JSON has it; "" if nothing is."""
    return {column.name: _check(column) for column in table.columns}


def _kind(column_type: TypeEngine[Any]) -> type[TypeEngine[Any]]:
    """Return which of the book's types a column's is."""
    return next(kind for kind in _FAULTS if isinstance(column_type, kind))


def _check(column: Column[Any]) -> Callable[[Any], str]:
    needed = "" if column.nullable else "is needed"
    kind, of_kind = column.type, _FAULTS[_kind(column.type)]
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


_DECODER = json.JSONDecoder(parse_constant=_no_number, parse_float=_finite)


def _integer_fault(_type: Any, value: Any) -> str:
    if type(value) is not int:
        return "is not a whole number"
    return "" if abs(value) <= LARGEST_INTEGER else "is too large"


def _float_fault(_type: Any, value: Any) -> str:
    if type(value) not in (int, float):
        return "is not a number"
    return "" if abs(value) < 1e300 else "is too large"


def _amount_fault(_type: Any, value: Any) -> str:
    good = type(value) is str and _AMOUNT.fullmatch(value)
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


def load(
    book: JsonBook, engine: Engine, rows_by_table: dict[str, int], on_progress: Progress = silent
) -> None:
    """Put every row of a plain book into an empty book of the same revision, or none.

    Parameters
    ----------
    book : PlainBook
    engine : Engine
        Of a book just made, which has no rows.
    rows_by_table : dict
        How many rows it is said to have.
    on_progress : Progress

    Raises
    ------
    BadInput
        If something in it cannot be used, or breaks a rule of the tables.
    """
    whole, done = sum(rows_by_table.values()) or 1, 0
    with transaction(engine, writing=True) as session:
        connection = session.connection()
        for table, new in book.tables(tables_at(connection, book.revision)):
            found = 0
            try:
                for number in put(connection, table, new):
                    found += number
                    on_progress(min((done + found) / whole, 1.0), "reading the book")
            except DBAPIError as error:
                why = f"a row of '{table.name}' breaks a rule ({error.orig})"
                raise book.wrong(why) from error
            if found != rows_by_table.get(table.name):
                raise book.wrong(f"'{table.name}' has not as many rows as the manifest says")
            done += found


def tables_at(connection: Connection, revision: str) -> list[Table]:
    """Return the tables of a revision: the models' own, or for an older one as found."""
    if revision == migrate.newest_version():
        return tables()
    found = MetaData()

    @event.listens_for(found, "column_reflect")
    def _own_types(_inspector: Any, _table: Any, column: Any) -> None:
        # Only amounts are so wide, and every moment is in UTC.
        if isinstance(column["type"], BigInteger):
            column["type"] = Money()
        elif isinstance(column["type"], DateTime):
            column["type"] = UtcDateTime()

    found.reflect(connection)
    return [table for table in found.sorted_tables if table.name != "alembic_version"]


# --- its schema ------------------------------------------------------------


def json_schema(revision: str) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of ``book.json``, made from the tables.

    What JSON Schema cannot say, keys and rules between columns, is told beside it
    under names that begin with ``x-``.
    """
    described = {mapper.local_table: mapper.class_.__doc__ for mapper in Record.registry.mappers}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"A burnplan book, schema {revision}",
        "type": "object",
        "additionalProperties": False,
        "required": ["format", "version", "schema", "tables"],
        "properties": {
            "format": {"const": FORMAT},
            "version": {"const": FORMAT_VERSION},
            "schema": {"const": revision},
            "tables": {
                "type": "object",
                "additionalProperties": False,
                "required": [table.name for table in tables()],
                "properties": {
                    table.name: {"type": "array", "items": {"$ref": f"#/$defs/{table.name}"}}
                    for table in tables()
                },
            },
        },
        "$defs": {
            table.name: _row_schema(table, " ".join((described[table] or "").split()))
            for table in tables()
        },
    }


def _row_schema(table: Table, description: str) -> dict[str, Any]:
    checks = (c.sqltext for c in table.constraints if isinstance(c, CheckConstraint))
    return {
        "description": description,
        "type": "object",
        "additionalProperties": False,
        "required": [column.name for column in table.columns],
        "properties": {column.name: _column_schema(column) for column in table.columns},
        "x-primary-key": [column.name for column in table.primary_key],
        "x-foreign-keys": {
            column.name: key.target_fullname
            for column in table.columns
            for key in column.foreign_keys
        },
        "x-rules": sorted(str(check) for check in checks if "IN (" not in str(check)),
    }


def _column_schema(column: Column[Any]) -> dict[str, Any]:
    made = _TYPE_SCHEMAS[_kind(column.type)](column.type)
    return {"anyOf": [made, {"type": "null"}]} if column.nullable else made


def _text_schema(kind: Any) -> dict[str, Any]:
    longest = getattr(kind, "length", None)
    return {"type": "string"} | ({} if longest is None else {"maxLength": longest})


_TYPE_SCHEMAS: dict[type[TypeEngine[Any]], Callable[[Any], dict[str, Any]]] = {
    Money: lambda _: {"type": "string", "pattern": f"^{_AMOUNT.pattern}$"},
    UtcDateTime: lambda _: {"type": "string", "format": "date-time"},
    Enum: lambda kind: {"enum": list(kind.enums)},
    Boolean: lambda _: {"type": "boolean"},
    Integer: lambda _: {
        "type": "integer",
        "minimum": -LARGEST_INTEGER,
        "maximum": LARGEST_INTEGER,
    },
    Float: lambda _: {"type": "number"},
    Date: lambda _: {"type": "string", "format": "date"},
    JSON: lambda _: {"type": ["array", "object"]},
    TypeEngine: _text_schema,
}
