"""What the desk's rules ask of a commission, however it was read: mapped, or as plain rows.

Only for the type checker; nothing here is loaded when the program runs.
"""

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Protocol, TypeVar


class ClientLike(Protocol):
    """Who ordered it."""

    @property
    def id(self) -> int: ...
    @property
    def name(self) -> str: ...


class InstalmentLike(Protocol):
    """A part of a quote that falls due along the way."""

    @property
    def milestone(self) -> str: ...
    @property
    def amount(self) -> Decimal: ...


class QuoteLike(Protocol):
    """A price put to the client."""

    @property
    def version(self) -> int: ...
    @property
    def issued_on(self) -> date: ...
    @property
    def valid_until(self) -> date: ...
    @property
    def accepted_on(self) -> date | None: ...
    @property
    def currency(self) -> str: ...
    @property
    def total(self) -> Decimal: ...
    @property
    def deposit(self) -> Decimal: ...
    @property
    def instalments(self) -> Sequence[InstalmentLike]: ...


AnyQuote = TypeVar("AnyQuote", bound=QuoteLike, covariant=True)


class PaymentLike(Protocol):
    """Money received, or given back."""

    @property
    def amount(self) -> Decimal: ...


class ReferenceLike(Protocol):
    """The work measured from a reference, and its forecast."""

    @property
    def plan(self) -> dict[str, Any]: ...
    @property
    def hours(self) -> dict[str, Any]: ...


class StepLike(Protocol):
    """A line of a checklist."""

    @property
    def phase(self) -> str: ...
    @property
    def key(self) -> str: ...
    @property
    def zone(self) -> int | None: ...
    @property
    def text(self) -> str: ...
    @property
    def settled(self) -> bool: ...


class SessionLike(Protocol):
    """A sitting at the bench."""

    @property
    def work(self) -> str: ...
    @property
    def zone(self) -> int | None: ...
    @property
    def set_aside(self) -> str | None: ...
    def hours(self, now: datetime) -> float: ...


class Quoted(Protocol[AnyQuote]):
    """What quotes were issued for."""

    @property
    def quotes(self) -> Sequence[AnyQuote]: ...


class Paid(Protocol):
    """What payments came in for."""

    @property
    def payments(self) -> Sequence[PaymentLike]: ...


class CommissionLike(Quoted[QuoteLike], Paid, Protocol):
    """A commission."""

    @property
    def id(self) -> int: ...
    @property
    def title(self) -> str: ...
    @property
    def client(self) -> ClientLike | None: ...
    @property
    def due_on(self) -> date | None: ...
    @property
    def added_at(self) -> datetime: ...
    @property
    def paused_on(self) -> date | None: ...
    @property
    def pause_reason(self) -> str | None: ...
    @property
    def dropped_on(self) -> date | None: ...
    @property
    def delivered_on(self) -> date | None: ...
    @property
    def references(self) -> Sequence[ReferenceLike]: ...
    @property
    def sessions(self) -> Sequence[SessionLike]: ...
