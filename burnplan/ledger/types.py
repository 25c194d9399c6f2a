"""Column types that keep money exact and time in UTC on every engine."""

from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import BigInteger, DateTime, Enum
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator

PHASES = ("prepare", "transfer", "burn", "finish", "handover")
STAGES_OF_WORK = ("prepare", "transfer", "burn", "finish")
MILESTONES = ("prepared", "transferred", "burned")


def one_of(column: str, *names: str) -> Enum:
    """Limit a string column to some names, by a check constraint and when it is read."""
    return Enum(*names, native_enum=False, create_constraint=True, length=16, name=column)


class Money(TypeDecorator[Decimal]):
    """A Decimal stored as a whole number of ten-thousandths.

    SQLite has no exact decimals; integers are exact, sort and sum right in SQL
    on every engine, and hold every ISO 4217 minor unit (at most four decimals).
    """

    impl = BigInteger
    cache_ok = True
    _SCALE = 10_000

    def process_bind_param(self, value: Decimal | None, dialect: Dialect) -> int | None:  # noqa: ARG002
        """Return ten-thousandths; refuse what does not fit exactly."""
        if value is None:
            return None
        scaled = value * self._SCALE
        if scaled != scaled.to_integral_value():
            raise ValueError(f"{value} is finer than a ten-thousandth")
        return int(scaled)

    def process_result_value(self, value: Any | None, dialect: Dialect) -> Decimal | None:  # noqa: ARG002
        """Return the Decimal that was stored, without needless zeros."""
        if value is None:
            return None
        amount = Decimal(value) / self._SCALE
        return amount.quantize(Decimal("0.01")) if amount * 100 == int(amount * 100) else amount


class UtcDateTime(TypeDecorator[datetime]):
    """An aware moment, stored as naive UTC."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Return naive UTC; refuse a moment without a zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment on record needs a time zone")
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: Any | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Return the moment, aware, in UTC."""
        return None if value is None else value.replace(tzinfo=UTC)
