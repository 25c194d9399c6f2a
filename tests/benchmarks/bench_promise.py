"""Are dates promised at 90 % met nine times in ten, and how long does the queue take?

Run it as ``python tests/benchmarks/bench_promise.py [--studios N]``. It measures;
it judges nothing. Everything in it is invented and seeded.

The studio year: each studio takes bookings as they come for a year (on average as
many hours as it has, so that a queue builds up and runs down) and promises each
client a date that spares the dates already promised. It works earliest due date
first, day by day and hour by hour, burning no longer a day than its limit, other
work filling the rest. A job's true hours are drawn from its forecast, with a part
that all jobs of a studio share; the studio sees only forecasts, what share of each
job is done, and (in one table row) the hours spent on it. Drying and delivery
pass after the work.
"""

import argparse
import time
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from statistics import median

import numpy as np

from burnplan.reckon.free_hours import Capacity, FreeHours
from burnplan.reckon.job_queue import SHARED, Queued, chances
from burnplan.reckon.promise import outlooks, promise
from burnplan.reckon.remaining import RemainingHours, hours_left, of_quantiles
from burnplan.reckon.work import Work

START = date(2027, 1, 4)
YEAR = 365
SHARES = dict(zip(Work, (0.1, 0.1, 0.72, 0.08), strict=True))
CONFIDENCE = 0.9
P90 = 1.2815515655446004


@dataclass
class Job:
    """A booked job in a simulated studio."""

    key: str
    p50: float
    p90: float
    true: dict[Work, float]
    booked: date
    due: date = date.max
    days_after: int = 3
    spent: dict[Work, float] = field(default_factory=lambda: dict.fromkeys(Work, 0.0))
    worked_out: date | None = None

    def left(self, *, learning: bool) -> RemainingHours:
        """Return what the studio believes is left."""
        forecast = {
            work.value: {"p50": self.p50 * share, "p90": self.p90 * share}
            for work, share in SHARES.items()
        }
        done = {work: self.spent[work] / self.true[work] for work in Work}
        return hours_left(forecast, done, self.spent if learning else None)

    def queued(self, *, learning: bool = False) -> Queued:
        """Return the job as the queue sees it."""
        rest = {work: SHARES[work] * (1 - self.spent[work] / self.true[work]) for work in Work}
        whole = sum(rest.values()) or 1.0
        before = rest[Work.PREPARE] + rest[Work.TRANSFER]
        return Queued(
            self.key,
            self.left(learning=learning),
            self.due,
            burning=rest[Work.BURN] / whole,
            before=before / whole,
            days_after=self.days_after,
        )


def work_a_day(jobs: Iterable[Job], free: float, burning: float) -> None:
    """Spend a day's hours, earliest due date first; other work fills what may not be burned."""
    for job in sorted(jobs, key=lambda job: job.due - timedelta(days=job.days_after)):
        for work in Work:
            most = min(free, burning) if work is Work.BURN else free
            did = min(job.true[work] - job.spent[work], most)
            job.spent[work] += did
            free -= did
            if work is Work.BURN:
                burning -= did
            if job.true[work] - job.spent[work] > 1e-9:
                break


def studio_year(
    seed: int, capacity: Capacity, spread: float, shared: float, assumed: float, *, learning: bool
) -> list[tuple[bool, int]]:
    """Return for each job of a year whether its date was met and days from booking to date."""
    random = np.random.default_rng(seed)
    common = random.standard_normal()
    holidays = frozenset(
        START + timedelta(days=int(n)) for n in random.choice(2 * YEAR, 30, replace=False)
    )
    capacity = Capacity(capacity.weekdays, holidays, capacity.burning)
    weekly = sum(min(h, capacity.burning / 0.72) for h in capacity.weekdays)
    typical = 14.0
    jobs: list[Job] = []
    open_jobs: list[Job] = []
    rate = 0.85 * weekly / 7 / (typical * 1.2)
    today = START
    while today < START + timedelta(days=YEAR) or open_jobs:
        if today < START + timedelta(days=YEAR):
            for _ in range(random.poisson(rate)):
                p50 = typical * float(np.exp(0.5 * random.standard_normal()))
                own = random.standard_normal()
                pace = np.exp(spread * (shared**0.5 * common + (1 - shared) ** 0.5 * own))
                true = {work: p50 * share * float(pace) for work, share in SHARES.items()}
                p90 = p50 * float(np.exp(P90 * spread))
                job = Job(str(len(jobs)), p50, p90, true, today)
                found = promise(
                    [one.queued(learning=learning) for one in open_jobs],
                    job.queued(),
                    FreeHours(capacity, today),
                    confidence=CONFIDENCE,
                    samples=1000,
                    seed=seed,
                    shared=assumed,
                )
                job.due = found.sparing.ready
                jobs.append(job)
                open_jobs.append(job)
        work_a_day(open_jobs, capacity.on(today), capacity.burning)
        for job in open_jobs:
            if all(job.true[work] - job.spent[work] <= 1e-9 for work in Work):
                job.worked_out = today
        open_jobs = [job for job in open_jobs if job.worked_out is None]
        today += timedelta(days=1)
    return [
        (
            job.worked_out is not None
            and job.worked_out + timedelta(days=job.days_after) <= job.due,
            (job.due - job.booked).days,
        )
        for job in jobs
    ]


WEEK = (5.0, 5.0, 5.0, 5.0, 5.0, 0.0, 0.0)
LONG = (8.0, 8.0, 8.0, 8.0, 8.0, 3.0, 0.0)
CASES = {
    "as assumed": (Capacity(WEEK), 0.35, SHARED, SHARED, False),
    "narrow forecasts": (Capacity(WEEK), 0.2, SHARED, SHARED, False),
    "wide forecasts": (Capacity(WEEK), 0.55, SHARED, SHARED, False),
    "burning limited to 4 of 8 h": (Capacity(LONG, burning=4.0), 0.35, SHARED, SHARED, False),
    "nothing shared, none assumed": (Capacity(WEEK), 0.35, 0.0, 0.0, False),
    "nothing shared, 0.3 assumed": (Capacity(WEEK), 0.35, 0.0, SHARED, False),
    "0.6 shared, 0.3 assumed": (Capacity(WEEK), 0.35, 0.6, SHARED, False),
    "0.3 shared, none assumed": (Capacity(WEEK), 0.35, SHARED, 0.0, False),
    "learning from hours spent": (Capacity(WEEK), 0.35, SHARED, SHARED, True),
}


def calibration(studios: int) -> None:
    """Print the share of promised dates that were met."""
    print(f"Dates promised at {CONFIDENCE:.0%}, {studios} studio years each")
    print(f"{'':32}{'jobs':>7}{'met':>8}{'± (2 s.e.)':>12}{'median days':>13}")
    for name, (capacity, spread, shared, assumed, learning) in CASES.items():
        years = [
            studio_year(seed, capacity, spread, shared, assumed, learning=learning)
            for seed in range(studios)
        ]
        met = [np.mean([ok for ok, _ in year]) for year in years if year]
        jobs = [job for year in years for job in year]
        share = np.mean([ok for ok, _ in jobs])
        error = 2 * np.std(met) / len(met) ** 0.5
        days = median(days for _, days in jobs)
        print(f"{name:32}{len(jobs):7}{share:8.1%}{error:12.1%}{days:13.0f}")


def queue_of(jobs: int) -> list[Queued]:
    """Return an invented queue."""
    random = np.random.default_rng(1)
    p50 = random.uniform(4, 30, jobs)
    return [
        Queued(
            str(n),
            of_quantiles(p50[n], p50[n] * 1.6),
            START + timedelta(days=int(5 + end * 7 / 25 * random.uniform(0.9, 1.3))),
            burning=0.72,
            before=0.2,
            days_after=3,
        )
        for n, end in enumerate(np.cumsum(p50))
    ]


def best_ms(task: object, times: int = 7) -> float:
    """Return the best of several runs, ms."""
    assert callable(task)
    took = []
    for _ in range(times):
        start = time.perf_counter()
        task()
        took.append(time.perf_counter() - start)
    return 1000 * min(took)


def timing() -> None:
    """Print how long the queue takes."""
    new = Queued("new", of_quantiles(12, 20), None, burning=0.72, before=0.2)
    print(f"{'ms, best of 7':32}{'no limit':>10}{'limit':>10}")
    for jobs in (20, 200):
        queue = queue_of(jobs)
        aheads = (FreeHours(Capacity(WEEK), START), FreeHours(Capacity(WEEK, burning=3.5), START))
        tasks = {
            "quick chances": lambda q, a: chances(q, a),
            "outlooks, 4000 samples": lambda q, a: outlooks(q, a),
            "promise, 4000 samples": lambda q, a: promise(q, new, a),
        }
        for name, task in tasks.items():
            row = [best_ms(lambda a=a, task=task, q=queue: task(q, a)) for a in aheads]
            print(f"{f'{jobs} jobs: {name}':32}" + "".join(f"{ms:10.1f}" for ms in row))
    queue = queue_of(1000)
    print(f"{'1000 jobs: quick chances':32}{best_ms(lambda: chances(queue, aheads[0])):10.1f}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--studios", type=int, default=60)
    studios = parser.parse_args().studios
    timing()
    print()
    calibration(studios)
