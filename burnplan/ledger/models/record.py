"""What every table stands on."""

from datetime import datetime
from decimal import Decimal
from typing import Any, ClassVar

from sqlalchemy import JSON, ColumnElement, Index, MetaData
from sqlalchemy.orm import DeclarativeBase

from burnplan.ledger.types import Money, UtcDateTime

OUTLINES = ("rectangle", "round", "oval", "live-edge")


class Record(DeclarativeBase):
    """Base of every table."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map: ClassVar[dict[Any, Any]] = {
        datetime: UtcDateTime,
        Decimal: Money,
        dict[str, Any]: JSON(none_as_null=True),
        # A missing value is NULL, not the JSON null, so that undo finds it again.
        list[Any]: JSON(none_as_null=True),
    }


def index_some(column: Any, rows: ColumnElement[bool], *, unique: bool = False) -> None:
    """Index a column for only the rows that a condition names.

    On a server too, but there only the migration says so: naming its dialect here
    loads that at every start, and tables are made by migrations alone.
    """
    Index(None, column, unique=unique, sqlite_where=rows)
