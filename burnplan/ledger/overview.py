"""The open commissions as plain rows: what a review of them needs, and no more.

Read without the mapper, which takes longer to load than most reviews take. The
tables here have only the columns needed; a test holds them, and the rules for
which rows count, to those of :mod:`burnplan.ledger.models`.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal
from itertools import groupby
from operator import itemgetter
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

from sqlalchemy import JSON, Date, Float, Integer, String, column, select, table, text

from burnplan.ledger.types import (
    MILESTONES,
    PHASES,
    STAGES_OF_WORK,
    Money,
    UtcDateTime,
    one_of,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from sqlalchemy import Connection, Select, TableClause, TextualSelect
    from sqlalchemy.orm import Session

    # An open book; a session of the mapper will do, for those who have one.
    Reader = Connection | Session
    # A query for the numbers of some rows.
    Numbers = Select[int] | TextualSelect


_OWNER = itemgetter(0)


def _table(name: str, /, **types: Any) -> "TableClause":
    return table(name, *(column(key, kind) for key, kind in types.items()))


COMMISSION = _table(
    "commission", id=Integer, title=String, client_id=Integer, due_on=Date, added_at=UtcDateTime,
    paused_on=Date, pause_reason=String, dropped_on=Date, delivered_on=Date,
)  # fmt: skip
CLIENT = _table("client", id=Integer, name=String)
REFERENCE = _table("reference", id=Integer, commission_id=Integer, plan=JSON, hours=JSON)
QUOTE = _table(
    "quote", id=Integer, commission_id=Integer, version=Integer, issued_on=Date,
    valid_until=Date, currency=String, total=Money, deposit=Money, accepted_on=Date,
)  # fmt: skip
INSTALMENT = _table(
    "quote_instalment",
    quote_id=Integer,
    position=Integer,
    milestone=one_of("milestone", *MILESTONES),
    amount=Money,
)
PAYMENT = _table("payment", id=Integer, commission_id=Integer, amount=Money)
STEP = _table(
    "step", id=Integer, commission_id=Integer, phase=one_of("phase", *PHASES),
    position=Integer, key=String, text=String, zone=Integer, ticked_at=UtcDateTime,
    skipped_at=UtcDateTime,
)  # fmt: skip
SESSION = _table(
    "burn_session", id=Integer, commission_id=Integer, work=one_of("work", *STAGES_OF_WORK),
    zone=Integer, set_aside=String, replaced_by_id=Integer,
)  # fmt: skip
INTERVAL = _table(
    "session_interval", session_id=Integer, started_at=UtcDateTime, ended_at=UtcDateTime
)
DAY_OFF = _table("day_off", starts_on=Date, ends_on=Date)
STUDIO = _table(
    "studio", id=Integer, name=String, address=String, pay_to=String, units=String,
    currency=String, locale=String, paper=String, drawing_hand=String, hourly_target=Money,
    tax_percent=Money, deposit_percent=Money, hours_mon=Float, hours_tue=Float, hours_wed=Float,
    hours_thu=Float, hours_fri=Float, hours_sat=Float, hours_sun=Float, burning_hours=Float,
    holidays=String, drying_days=Integer, delivery_days=Integer,
)  # fmt: skip


class ClientRow(NamedTuple):
    """Who ordered it."""

    id: int
    name: str


class ReferenceRow(NamedTuple):
    """The work measured from a reference, and its forecast."""

    plan: dict[str, Any]
    hours: dict[str, Any]


class InstalmentRow(NamedTuple):
    """A part of a quote that falls due along the way."""

    milestone: str
    amount: Decimal


class QuoteRow(NamedTuple):
    """A price put to the client."""

    version: int
    issued_on: date
    valid_until: date
    currency: str
    total: Decimal
    deposit: Decimal
    accepted_on: date | None
    instalments: list[InstalmentRow]


class PaymentRow(NamedTuple):
    """Money received, or given back (below zero)."""

    amount: Decimal


class IntervalRow(NamedTuple):
    """A part of a session without a break; open-ended while the clock runs."""

    started_at: datetime
    ended_at: datetime | None


class SessionRow(NamedTuple):
    """A sitting at the bench that counts."""

    work: str
    zone: int | None
    set_aside: str | None
    intervals: list[IntervalRow]

    def hours(self, now: datetime) -> float:
        """Return its hours, up to now if its clock runs."""
        return hours_of(self.intervals, now)


class CommissionRow(NamedTuple):
    """An open commission with what hangs on it, each list oldest first."""

    id: int
    title: str
    due_on: date | None
    added_at: datetime
    paused_on: date | None
    pause_reason: str | None
    client: ClientRow | None
    references: list[ReferenceRow]
    quotes: list[QuoteRow]
    payments: list[PaymentRow]
    sessions: list[SessionRow]
    # What is open is neither; said for the rules that ask it of any commission.
    dropped_on: None = None
    delivered_on: None = None


class StepRow(NamedTuple):
    """A line of a checklist."""

    phase: str
    key: str
    zone: int | None
    text: str
    ticked_at: datetime | None
    skipped_at: datetime | None

    @property
    def settled(self) -> bool:
        """Whether it is ticked or skipped."""
        return self.ticked_at is not None or self.skipped_at is not None


class AnyInterval(Protocol):
    """An interval, however it was read."""

    @property
    def started_at(self) -> datetime:
        """When it began."""

    @property
    def ended_at(self) -> datetime | None:
        """When it ended; None if it has not."""


def hours_of(intervals: Iterable[AnyInterval], now: datetime) -> float:
    """Return the hours of some intervals, up to now if a clock runs."""
    # A clock moved back since the start must not take hours off the others.
    lengths = ((one.ended_at or now) - one.started_at for one in intervals)
    return sum(max(0.0, length.total_seconds()) for length in lengths) / 3600


# Written out, like most queries here that run at each start: to compose one takes longer
# than to have it answered.
_OPEN = "SELECT id FROM commission WHERE delivered_on IS NULL AND dropped_on IS NULL"
_OF_OPEN = f"commission_id IN ({_OPEN})"
_COUNTING = f"{_OF_OPEN} AND replaced_by_id IS NULL"


def _read(book: "Reader", source: "TableClause", names: Sequence[str], rest: str) -> list[Any]:
    """Read some columns of the rows of a table; the rest of the query is written out."""
    query = text(f"SELECT {', '.join(names)} FROM {source.name} WHERE {rest}")  # noqa: S608
    return [*book.execute(query.columns(*(source.c[name] for name in names)))]


def open_numbers() -> "TextualSelect":
    """Ask for the numbers of the commissions neither handed over nor dropped."""
    return text(_OPEN).columns(COMMISSION.c.id)


def open_commissions(book: "Reader") -> list[CommissionRow]:
    """Read the open commissions, in the order of their numbers."""

    def instalments() -> dict[int, list[Any]]:
        theirs = f"quote_id IN (SELECT id FROM quote WHERE {_OF_OPEN})"  # noqa: S608
        return _children(book, INSTALMENT, theirs, ("quote_id", "position"), InstalmentRow)

    def intervals() -> dict[int, list[Any]]:
        theirs = f"session_id IN (SELECT id FROM burn_session WHERE {_COUNTING})"  # noqa: S608
        return _children(book, INTERVAL, theirs, ("session_id", "started_at"), IntervalRow)

    oldest = ("commission_id", "id")
    references = _children(book, REFERENCE, _OF_OPEN, oldest, ReferenceRow)
    versions = ("commission_id", "version")
    quotes = _children(book, QUOTE, _OF_OPEN, versions, QuoteRow, instalments)
    payments = _children(book, PAYMENT, _OF_OPEN, oldest, PaymentRow)
    sessions = _children(book, SESSION, _COUNTING, oldest, SessionRow, intervals)
    ordering = f"id IN (SELECT client_id FROM commission WHERE id IN ({_OPEN}))"  # noqa: S608
    clients = {row[0]: ClientRow(*row) for row in _read(book, CLIENT, ("id", "name"), ordering)}
    own = ("id", "client_id", "title", "due_on", "added_at", "paused_on", "pause_reason")
    found: list[CommissionRow] = []
    for number, client, *rest in _read(book, COMMISSION, own, f"id IN ({_OPEN}) ORDER BY id"):
        hanging = (some.get(number, []) for some in (references, quotes, payments, sessions))
        found.append(CommissionRow(*[number, *rest, clients.get(client), *hanging]))
    return found


def _children(
    book: "Reader",
    source: "TableClause",
    where: str,
    order: tuple[str, str],
    kind: Any,
    inner: "Callable[[], Mapping[int, list[Any]]] | None" = None,
) -> dict[int, list[Any]]:
    """Read the rows that belong to others, by the number of what they belong to.

    Parameters
    ----------
    book : Reader
    source : table
    where : str
        Which of its rows.
    order : (str, str)
        Its column with the number of what they belong to, and the one that orders them.
    kind : NamedTuple class
        Its fields are the columns read.
    inner : callable, optional
        Returns what the last field holds instead, by the row's own number; not
        called where there is no row.
    """
    names = kind._fields if inner is None else ("id", *kind._fields[:-1])
    rows = _read(book, source, (order[0], *names), f"{where} ORDER BY {', '.join(order)}")
    within = inner() if inner is not None and rows else {}

    def made(row: Any) -> Any:
        return kind(*row[1:]) if inner is None else kind(*row[2:], within.get(row[1], []))

    return {number: [made(row) for row in some] for number, some in groupby(rows, _OWNER)}


def steps(book: "Reader", whose: "Numbers") -> "Iterator[tuple[int, list[StepRow]]]":
    """Read the checklists of some commissions, by their numbers, each in its order."""
    key = STEP.c.commission_id
    query = select(key, *(STEP.c[name] for name in StepRow._fields)).where(key.in_(whose))
    rows = book.execute(query.order_by(key, STEP.c.position, STEP.c.id))
    for number, some in groupby(rows, _OWNER):
        yield number, [StepRow(*tuple[Any, ...](row)[1:]) for row in some]


def intervals_since(book: "Reader", moment: datetime) -> list[IntervalRow]:
    """Read the intervals of counting sessions that were not over at a moment."""
    query = (
        select(INTERVAL.c.started_at, INTERVAL.c.ended_at)
        .join_from(INTERVAL, SESSION, SESSION.c.id == INTERVAL.c.session_id)
        .where(
            SESSION.c.replaced_by_id.is_(None),
            INTERVAL.c.ended_at.is_(None) | (INTERVAL.c.ended_at > moment),
        )
        .order_by(INTERVAL.c.started_at)
    )
    return [IntervalRow(*row) for row in book.execute(query)]


def days_off(book: "Reader", first: date) -> list[tuple[date, date]]:
    """Read the first and last days of each time off that is not over on a day."""
    query = select(DAY_OFF.c.starts_on, DAY_OFF.c.ends_on).where(DAY_OFF.c.ends_on >= first)
    query = query.order_by(DAY_OFF.c.starts_on, DAY_OFF.c.ends_on)
    return [(row[0], row[1]) for row in book.execute(query)]


def studio(book: "Reader") -> dict[str, Any] | None:
    """Read how the studio works; None if nobody has said."""
    found = _read(book, STUDIO, STUDIO.c.keys(), "id = 1")
    return dict(zip(STUDIO.c.keys(), found[0], strict=True)) if found else None
