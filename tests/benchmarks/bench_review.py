"""The review of open jobs against a bare process that imports the same and reads the same rows.

    python tests/benchmarks/bench_review.py [OPEN] [CLOSED]

Makes a book of 1,000 open and 20,000 closed jobs in a temporary folder, with
plans, steps, sessions, quotes and payments, and times ``burnplan jobs --json``
as a process of its own, in turn with one that imports the same libraries, reads
the same rows of the open jobs without making records of them, and does no more.
Reports the medians and their ratio.
"""

import os
import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from grown_book import fill  # type: ignore[import-not-found]  # beside this program

ROUNDS = 9

BARE = """
import sys
import typer, rich.table, pydantic, sqlalchemy.orm
from burnplan.cli.app import app
from burnplan.desk.jobs import review
from burnplan.desk.studio import studio as desk
from burnplan.show.jobs import review as shown
from burnplan.ledger import models as m
from sqlalchemy import select
own = select(m.Commission.id).where(m.Commission.is_open)
with desk.open_studio().engine.connect() as book:
    of_jobs = (m.Reference, m.Step, m.BurnSession, m.Quote, m.Payment)
    queries = [select(kind.__table__).where(kind.commission_id.in_(own)) for kind in of_jobs]
    queries.append(select(m.Commission.__table__).where(m.Commission.is_open))
    queries.append(select(m.Client.__table__))
    intervals = select(m.Interval.__table__).join(m.BurnSession.__table__)
    queries.append(intervals.where(m.BurnSession.commission_id.in_(own)))
    rows = [book.execute(query).all() for query in queries]
    sys.stdout.write(f"{[len(some) for some in rows]}\\n")
"""


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
