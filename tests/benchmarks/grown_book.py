"""A book as years of work leave it: invented, the same at each making.

Each job is a copy of one planned job, a little different. Rows are written
straight into the tables: through the desk, a million sessions take days.
"""

import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import islice
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, insert, select

from burnplan.desk import demo
from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import commissions, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import open_studio
from burnplan.ledger.models import (
    BurnSession,
    Client,
    Commission,
    History,
    Interval,
    Payment,
    Quote,
    QuoteLine,
    Record,
    Reference,
    Step,
)

# Parents before children.
KINDS = (
    Client, Commission, Reference, Step, BurnSession, Interval, Quote, QuoteLine, Payment, History,
)  # fmt: skip
JOBS_AT_A_TIME = 500
# A job is one in so many of a client's.
JOBS_OF_A_CLIENT = 3

Row = dict[str, Any]


def fill(home: Path, open_jobs: int, closed_jobs: int, sessions: int = 3) -> None:
    """Make a book with so many jobs, each with that many sessions."""
    studio = open_studio(home)
    settings.save(studio, studio_settings.Settings(holidays=""))
    commissions.add(studio, Wishes(title="First", size="20x15cm"))
    references.add(studio, "First", demo.sample(demo.PHOTO))
    with studio.engine.begin() as connection:
        made = _Pattern(connection, open_jobs, sessions, datetime.now(UTC))
        jobs = iter(range(2, open_jobs + closed_jobs + 2))
        while numbers := list(islice(jobs, JOBS_AT_A_TIME)):
            rows: dict[type[Record], list[Row]] = {kind: [] for kind in KINDS}
            for number in numbers:
                for kind, row in made.job(number):
                    rows[kind].append(row)
            for kind, some in rows.items():
                if some:
                    connection.execute(insert(kind), some)
    studio.close()


class _Pattern:
    """What each job is a copy of."""

    def __init__(
        self, connection: Connection, open_jobs: int, sessions: int, now: datetime
    ) -> None:
        self.open_jobs, self.sessions, self.now = open_jobs, sessions, now
        self.pick = random.Random(0)  # noqa: S311 invented data
        self.reference = self._without_id(connection, Reference)[0]
        self.steps = self._without_id(connection, Step)

    @staticmethod
    def _without_id(connection: Connection, kind: type[Record]) -> list[Row]:
        found = connection.execute(select(kind.__table__)).mappings().all()
        return [{name: value for name, value in row.items() if name != "id"} for row in found]

    def job(self, number: int) -> Iterator[tuple[type[Record], Row]]:
        """Give the rows of a job."""
        closed = number > self.open_jobs + 1
        days = self.pick.randint(-11_000, -1) if closed else self.pick.randint(5, 900)
        due = self.now.date() + timedelta(days=days)
        if number % JOBS_OF_A_CLIENT == 2:
            name = f"Client {number}"
            yield Client, {"id": self._client(number), "name": name, "added_at": self.now}
        yield Commission, {
            "id": number, "title": f"Job {number}", "client_id": self._client(number),
            "due_on": due, "use": "indoor", "note": "", "added_at": self.now,
            "outline": "rectangle", "width_mm": 200, "height_mm": 150,
            "delivered_on": due if closed else None,
        }  # fmt: skip
        yield Reference, {**self.reference, "commission_id": number}
        ticked = len(self.steps) if closed else self.pick.randint(0, len(self.steps) - 4)
        for n, step in enumerate(self.steps):
            at = self.now if n < ticked else None
            yield Step, {**step, "commission_id": number, "ticked_at": at}
        yield from self._sessions(number, days if closed else 0)
        yield from self._money(number, due)
        yield History, {
            "at": self.now, "action": "commission.add", "summary": f"Logged 'Job {number}'",
            "commission_id": number, "changes": [],
        }  # fmt: skip

    def _client(self, number: int) -> int:
        return (number - 2) // JOBS_OF_A_CLIENT + 1

    def _sessions(self, number: int, until: int) -> Iterator[tuple[type[Record], Row]]:
        for n in range(self.sessions):
            session = (number - 2) * self.sessions + n + 1
            yield BurnSession, {
                "id": session, "commission_id": number, "zone": None, "tip": "", "heat": "",
                "work": ("prepare", "transfer", "burn")[min(n, 2)], "note": "", "closed": True,
            }  # fmt: skip
            begun = self.now + timedelta(days=until - self.pick.randint(2, 300))
            ended = begun + timedelta(hours=self.pick.uniform(0.5, 2))
            yield Interval, {"session_id": session, "started_at": begun, "ended_at": ended}

    def _money(self, number: int, due: Any) -> Iterator[tuple[type[Record], Row]]:
        quote = number - 1
        yield Quote, {
            "id": quote, "commission_id": number, "version": 1, "issued_on": due,
            "valid_until": due, "currency": "EUR", "total": Decimal(200), "tax": Decimal(0),
            "deposit": Decimal(80), "hours_p50": 5, "hours_p80": 7, "hours_paid": 6, "note": "",
            "accepted_on": due,
        }  # fmt: skip
        yield QuoteLine, {
            "quote_id": quote, "position": 1, "kind": "labour", "label": "Work",
            "amount": Decimal(200),
        }  # fmt: skip
        yield Payment, {
            "commission_id": number, "kind": "deposit", "amount": Decimal(80), "currency": "EUR",
            "paid_on": due, "method": "", "note": "",
        }  # fmt: skip
