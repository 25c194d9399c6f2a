"""The JSON Schema of ``book.json``, made from the tables themselves."""

from collections.abc import Callable
from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    Enum,
    Float,
    Integer,
    Table,
)
from sqlalchemy.types import TypeEngine

from burnplan.ledger.json_book import FORMAT, FORMAT_VERSION
from burnplan.ledger.json_checks import AMOUNT, LARGEST_INTEGER, kind_of
from burnplan.ledger.models import Record
from burnplan.ledger.tables import tables
from burnplan.ledger.types import Money, UtcDateTime


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
    made = _TYPE_SCHEMAS[kind_of(column.type)](column.type)
    return {"anyOf": [made, {"type": "null"}]} if column.nullable else made


def _text_schema(kind: Any) -> dict[str, Any]:
    longest = getattr(kind, "length", None)
    return {"type": "string"} | ({} if longest is None else {"maxLength": longest})


_TYPE_SCHEMAS: dict[type[TypeEngine[Any]], Callable[[Any], dict[str, Any]]] = {
    Money: lambda _: {"type": "string", "pattern": f"^{AMOUNT.pattern}$"},
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
