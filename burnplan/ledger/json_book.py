"""The book as one JSON document that any program can read: ``book.json``.

It is written and read a row at a time, so that a book of any size fits in
memory: each row is a line of its own, and so are the lines that open and close
a table. Its JSON Schema is made from the tables themselves.
"""

import csv
import io
import json
import math
from collections.abc import Iterable, Iterator
from typing import Any

from sqlalchemy import (
    BigInteger,
    Connection,
    Engine,
    MetaData,
    Table,
    event,
)
from sqlalchemy.exc import DBAPIError
from sqlalchemy.types import DateTime

from burnplan.cells import safe_cell
from burnplan.errors import BadInput, OperationFailed
from burnplan.ledger import migrate
from burnplan.ledger.engines import transaction
from burnplan.ledger.json_checks import checks
from burnplan.ledger.package import Writes
from burnplan.ledger.tables import Row, count, from_json, put, rows, tables, to_json
from burnplan.ledger.types import Money, UtcDateTime
from burnplan.progress import Progress, silent
from burnplan.sentences import Do

FORMAT, FORMAT_VERSION = "burnplan-book", 1
LONGEST_LINE = 64 << 20
# How many lists and objects a row can have, beside one in so many bytes.
_FEW, _BYTES_A_LIST = 1000, 6


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


_DECODER = json.JSONDecoder(parse_constant=_no_number, parse_float=_finite)


def load(
    book: JsonBook, engine: Engine, rows_by_table: dict[str, int], on_progress: Progress = silent
) -> None:
    """Put every row of a plain book into an empty book of the same revision, or none.

    Parameters
    ----------
    book : JsonBook
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
