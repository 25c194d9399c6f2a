"""What no row may be is refused by the database itself."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError, StatementError

from burnplan.desk.studio.studio import Studio
from burnplan.errors import OperationFailed
from burnplan.ledger import engines
from burnplan.ledger.models import (
    Blank,
    BurnSession,
    Client,
    Commission,
    DayOff,
    Interval,
    Payment,
    PlannedSession,
    ProgressPhoto,
    Quote,
    Record,
    Sanding,
    Step,
)

NOW = datetime(2027, 3, 17, tzinfo=UTC)
DAY = date(2027, 3, 17)


def _commission(**more: object) -> Commission:
    return Commission(**{"title": "x", "added_at": NOW, **more})


def _blank(**more: object) -> Blank:
    plain = {"species": "basswood", "outline": "rectangle", "width_mm": 10, "height_mm": 20}
    return Blank(**{**plain, "added_at": NOW, **more})


def _quote(**more: object) -> Quote:
    plain = {
        "commission": _commission(), "version": 1, "issued_on": DAY, "valid_until": DAY,
        "currency": "EUR", "total": Decimal(10), "tax": Decimal(0), "deposit": Decimal(0),
        "hours_p50": 1, "hours_p80": 2, "hours_paid": 2,
    }  # fmt: skip
    return Quote(**{**plain, **more})


def _interval(**more: object) -> Interval:
    session = BurnSession(commission=_commission(), work="burn")
    return Interval(**{"session": session, "started_at": NOW, "ended_at": NOW, **more})


def _payment(**more: object) -> Payment:
    plain = {"commission": _commission(), "kind": "payment", "amount": Decimal(1)}
    return Payment(**{**plain, "currency": "EUR", "paid_on": DAY, **more})


def _planned(**more: object) -> PlannedSession:
    plain = {"commission": _commission(), "work": "burn", "starts_at": NOW, "minutes": 60}
    return PlannedSession(**{**plain, "uid": "u", **more})


@pytest.mark.parametrize(
    "record",
    [
        _blank(width_mm=0),
        _blank(outline="star"),
        _blank(outline="round"),
        _blank(cost=Decimal(-1)),
        _blank(scrapped_on=DAY),
        Sanding(blank=_blank(), grit=None, water=False, done_at=NOW),
        Sanding(blank=_blank(), grit=3, water=False, done_at=NOW),
        Client(name="", added_at=NOW),
        _commission(title=""),
        _commission(width_mm=5.0),
        _commission(paused_on=DAY),
        _commission(dropped_on=DAY, drop_reason="x", delivered_on=DAY),
        _commission(client_id=99),
        Step(commission=_commission(), phase="lunch", position=1, key="k", text="t"),
        Step(
            commission=_commission(), phase="burn", position=1, key="k", text="t",
            ticked_at=NOW, skipped_at=NOW, skip_reason="r",
        ),
        Step(commission=_commission(), phase="burn", position=1, key="k", text="t", skipped_at=NOW),
        _interval(ended_at=NOW - timedelta(seconds=1)),
        _interval(ended_at=None),
        _interval(running=1),
        _quote(total=Decimal(-1)),
        _quote(deposit=Decimal(11)),
        _quote(valid_until=DAY - timedelta(days=1)),
        _quote(accepted_on=DAY - timedelta(days=1)),
        _payment(amount=Decimal(0)),
        _payment(amount=Decimal(-1)),
        _payment(kind="refund"),
        DayOff(starts_on=DAY, ends_on=DAY - timedelta(days=1), reason="x"),
        DayOff(starts_on=DAY, ends_on=DAY, reason=""),
        _planned(minutes=0),
        _planned(break_minutes=-1),
        _planned(work="lunch"),
        BurnSession(commission=_commission(), work="burn", replace_reason="x"),
        ProgressPhoto(
            commission=_commission(), original_sha256="0" * 64, taken_on=DAY, added_at=NOW
        ),
    ],
)  # fmt: skip
def test_such_a_row_is_refused(studio: Studio, record: Record) -> None:
    with (  # noqa: PT012 the block is the transaction
        pytest.raises((IntegrityError, StatementError, LookupError)),
        studio.writing("test") as (book, _),
    ):
        book.add(record)
        book.flush()


def test_one_clock_runs_at_most(studio: Studio) -> None:
    with (  # noqa: PT012 the block is the transaction
        pytest.raises(IntegrityError),
        studio.writing("test") as (book, _),
    ):
        book.add_all([_interval(ended_at=None, running=1), _interval(ended_at=None, running=1)])
        book.flush()


def test_a_blank_is_held_once(studio: Studio) -> None:
    with (  # noqa: PT012 the block is the transaction
        pytest.raises(IntegrityError),
        studio.writing("test") as (book, _),
    ):
        blank = _blank()
        book.add(blank)
        book.flush()
        book.add_all([_commission(blank_id=blank.id), _commission(blank_id=blank.id)])
        book.flush()


def test_money_is_exact_and_times_are_utc(studio: Studio) -> None:
    there = NOW.astimezone().replace(microsecond=123456)
    with studio.writing("test") as (book, _):
        book.add(_payment(amount=Decimal("0.1234")))
        book.add(Client(name="c", added_at=there))
    with studio.reading() as book:
        assert book.query(Payment).one().amount == Decimal("0.1234")
        assert book.query(Client).one().added_at == there
    with pytest.raises(StatementError), studio.writing("test") as (book, _):
        book.add(_payment(amount=Decimal("0.12345")))


def test_an_error_half_way_leaves_nothing(studio: Studio) -> None:
    class Stop(Exception):
        pass

    with pytest.raises(Stop), studio.writing("test") as (book, _):  # noqa: PT012
        book.add(Client(name="half", added_at=NOW))
        book.flush()
        raise Stop
    with studio.reading() as book:
        assert book.query(Client).count() == 0


def test_a_locked_book_says_so(studio: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("burnplan.ledger.engines.BUSY_SECONDS", 0.05)
    other = engines.open_engine(studio.database_url)
    with engines.transaction(other, writing=True) as theirs:
        theirs.add(Client(name="first", added_at=NOW))
        theirs.flush()
        with (
            pytest.raises(OperationFailed, match="Another program is writing"),
            studio.writing("test") as (book, _),
        ):
            book.add(Client(name="waiting", added_at=NOW))
    other.dispose()
    with studio.reading() as book:
        assert [client.name for client in book.query(Client)] == ["first"]


def test_readers_do_not_block_a_writer(studio: Studio) -> None:
    with studio.reading() as looking:
        assert looking.execute(text("SELECT count(*) FROM client")).scalar() == 0
        with studio.writing("test") as (book, _):
            book.add(Client(name="meanwhile", added_at=NOW))
        assert looking.execute(text("SELECT count(*) FROM client")).scalar() == 0
