"""The review of open jobs against a bare process that imports the same and reads the same rows.

    python tests/benchmarks/bench_review.py [OPEN] [CLOSED]

Makes a book of 1,000 open and 20,000 closed jobs in a temporary folder, with
plans, steps, sessions, quotes and payments, and times ``burnplan jobs --json``
as a process of its own, in turn with one that imports the same libraries and
reads the rows of the open jobs through the same mapping, and does no more.
Reports the medians and their ratio.
"""

import os
import random
import resource
import statistics
import subprocess
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from burnplan.desk import commissions, demo, references, settings
from burnplan.desk.commissions import Wishes
from burnplan.desk.studio import open_studio
from burnplan.ledger.models import (
    BurnSession,
    Commission,
    Payment,
    Quote,
    QuoteLine,
    Reference,
    Spell,
    Step,
)

ROUNDS = 9

BARE = """
import sys
import typer, rich.table, pydantic, sqlalchemy
from burnplan.cli.app import app
from burnplan.desk import jobs, commissions, standing, studio as desk
from burnplan.show import work, console
from burnplan.ledger.models import Commission
from sqlalchemy import select
def read():
    query = (
        select(Commission)
        .options(*standing.with_rows())
        .where(Commission.is_open)
    )
    with desk.open_studio().reading() as book:
        rows = list(book.scalars(query))
        standing.of_all(book, Commission.is_open)
        sys.stdout.write(f"{len(rows)}\\n")
read()
"""


def fill(home: Path, open_jobs: int, closed_jobs: int) -> None:
    """Fill a book with copies of one planned job, each a little different."""
    studio = open_studio(home)
    settings.save(studio, settings.Settings(holidays=""))
    commissions.add(studio, Wishes(title="First", size="20x15cm"))
    references.add(studio, "First", demo.sample(demo.PHOTO))
    pick = random.Random(0)  # noqa: S311 invented data
    now = datetime.now(UTC)
    with studio.engine.begin() as connection:
        made = connection.execute(Reference.__table__.select()).mappings().one()
        steps = connection.execute(Step.__table__.select()).mappings().all()
        rows: dict[type, list[dict[str, object]]] = {
            kind: []
            for kind in (Commission, Reference, Step, BurnSession, Spell, Quote, QuoteLine, Payment)
        }
        session = 0
        for number in range(2, open_jobs + closed_jobs + 2):
            closed = number > open_jobs + 1
            days = pick.randint(-300, -1) if closed else pick.randint(5, 900)
            due = now.date() + timedelta(days=days)
            rows[Commission].append(
                {
                    "id": number, "title": f"Job {number}", "due_on": due, "use": "indoor",
                    "note": "", "added_at": now, "outline": "rectangle", "width_mm": 200,
                    "height_mm": 150, "delivered_on": due if closed else None,
                }
            )  # fmt: skip
            rows[Reference].append(
                {k: v for k, v in made.items() if k != "id"} | {"commission_id": number}
            )
            ticked = len(steps) if closed else pick.randint(0, len(steps) - 4)
            for n, step in enumerate(steps):
                rows[Step].append(
                    {k: v for k, v in step.items() if k != "id"}
                    | {"commission_id": number, "ticked_at": now if n < ticked else None}
                )
            for n in range(3):
                session += 1
                rows[BurnSession].append(
                    {
                        "id": session, "commission_id": number, "zone": None, "tip": "",
                        "work": ("prepare", "transfer", "burn")[n], "heat": "", "note": "",
                        "closed": True,
                    }
                )  # fmt: skip
                begun = now - timedelta(days=pick.randint(2, 300))
                rows[Spell].append(
                    {
                        "session_id": session, "started_at": begun,
                        "ended_at": begun + timedelta(hours=pick.uniform(0.5, 2)),
                    }
                )  # fmt: skip
            quote = number - 1
            rows[Quote].append(
                {
                    "id": quote, "commission_id": number, "version": 1, "issued_on": due,
                    "valid_until": due, "currency": "EUR", "total": Decimal(200),
                    "tax": Decimal(0), "deposit": Decimal(80), "hours_p50": 5, "hours_p80": 7,
                    "hours_paid": 6, "note": "", "accepted_on": due,
                }
            )  # fmt: skip
            rows[QuoteLine].append(
                {
                    "quote_id": quote, "position": 1, "kind": "labour", "label": "x",
                    "amount": Decimal(200),
                }
            )  # fmt: skip
            rows[Payment].append(
                {
                    "commission_id": number, "kind": "deposit", "amount": Decimal(80),
                    "currency": "EUR", "paid_on": due, "method": "", "note": "",
                }
            )  # fmt: skip
        for kind, some in rows.items():
            for start in range(0, len(some), 20_000):
                connection.execute(kind.__table__.insert(), some[start : start + 20_000])  # type: ignore[attr-defined]
    studio.close()


def timed(command: list[str], home: Path) -> float:
    """Return the seconds of processor time that a process takes: others may be at work too."""
    environment = {**os.environ, "BURNPLAN_HOME": str(home)}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, env=environment, check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    """Fill, time, report."""
    open_jobs, closed_jobs = (int(x) for x in (*sys.argv[1:], "1000", "20000")[:2])
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        fill(home, open_jobs, closed_jobs)
        review = [sys.executable, "-m", "burnplan", "jobs", "--json"]
        bare = [sys.executable, "-c", BARE]
        timed(review, home)
        timed(bare, home)
        pairs = [(timed(review, home), timed(bare, home)) for _ in range(ROUNDS)]
    ours, theirs = (statistics.median(column) for column in zip(*pairs, strict=True))
    ratio = statistics.median(one / other for one, other in pairs)
    print(f"{open_jobs} open, {closed_jobs} closed: review {ours:.2f} s, bare {theirs:.2f} s")
    print(f"ratio {ratio:.2f}")


if __name__ == "__main__":
    main()
