"""Dates that hold: the queue of booked work as a distribution, and a date for one more job.

The queue is that of :mod:`burnplan.reckon.job_queue`, drawn many times. numpy is
imported where it is drawn; the rest is light.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from enum import StrEnum
from math import ceil
from typing import TYPE_CHECKING, NamedTuple

from burnplan.errors import BadInput
from burnplan.reckon.free_hours import NO_HOURS, FreeHours
from burnplan.reckon.job_queue import SHARED, Queued, far_enough, in_order
from burnplan.reckon.lateness import earliest_due_first

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

# Own derivation: a chance of 90 % is right within half a per cent, √(0.9 · 0.1 / 4000).
SAMPLES = 4000

# Which job a date hangs on needs fewer draws than the date. Own derivation: a share is right
# within 1.6 %, √(0.5 · 0.5 / 1000).
_ENOUGH_FOR_A_SHARE = 1000
# A chance may fall by this before a job counts as harmed by another: two deviations of what
# draws alone do to a chance of 90 % (our own choice).
_HARM = 0.01


class Risk(StrEnum):
    """What a job's lateness hangs on most."""

    FULL = "full"
    OWN = "own"
    ANOTHER = "another"


class Outlook(NamedTuple):
    """When a job will be with its client.

    Parameters
    ----------
    key : str
    p50, p80, p90 : date
        That will do in half, four fifths and nine tenths of cases.
    on_time : float or None
        Chance to meet the due date; None without one.
    risk : Risk or None
        FULL if even half the cases are late: more work than hours; otherwise
        whose hours the date hangs on most, its OWN or ANOTHER job's before it.
        None without a due date.
    hangs_on : str
        Key of that job; its own key if FULL.
    risk_share : float
        Share of the variance of the hours until it is done that goes with that job.
    """

    key: str
    p50: date
    p80: date
    p90: date
    on_time: float | None
    risk: Risk | None
    hangs_on: str
    risk_share: float


def outlooks(
    queue: Sequence[Queued],
    ahead: FreeHours,
    *,
    samples: int = SAMPLES,
    seed: int = 0,
    shared: float = SHARED,
    hours: "Array | None" = None,
) -> tuple[Outlook, ...]:
    """Return when each job will be with its client, as a distribution.

    Parameters
    ----------
    queue : sequence of Queued
    ahead : FreeHours
    samples, seed : int
    shared : float
        Correlation between the log hours of any two jobs.
    hours : ndarray, shape (jobs, samples), optional
        Hours left of each job in the order of the queue, drawn together;
        otherwise drawn from ``left``.

    Returns
    -------
    tuple of Outlook
        In the order worked, earliest due date first.
    """
    import numpy as np

    if not queue:
        return ()
    order = earliest_due_first([job.work_due for job in queue])
    ordered = [queue[i] for i in order]
    drawn = _draw(ordered, samples, seed, shared) if hours is None else np.asarray(hours)[order]
    clock = _Clock.holding(ahead, drawn.sum(axis=0).max(), drawn.max())
    done = clock.done(ordered, drawn).at
    at = [ceil(share * drawn.shape[1]) - 1 for share in (0.5, 0.8, 0.9)]
    points = np.partition(done, at, axis=1)[:, at]
    drivers = _drivers(drawn)
    found = []
    for k, job in enumerate(ordered):
        p50, p80, p90 = (
            clock.day(float(point)) + timedelta(days=job.days_after) for point in points[k]
        )
        on_time, risk = None, None
        hangs_on, risk_share = drivers[k]
        if job.due is not None:
            on_time = float(np.mean(done[k] <= ahead.until(job.work_due) + NO_HOURS))
            risk = Risk.FULL if on_time < 0.5 else Risk.OWN if hangs_on == k else Risk.ANOTHER
        key = job.key if risk is Risk.FULL else ordered[hangs_on].key
        found.append(Outlook(job.key, p50, p80, p90, on_time, risk, key, risk_share))
    return tuple(found)


def _draw(queue: Sequence[Queued], samples: int, seed: int, shared: float) -> "Array":
    """Draw hours left, shape (jobs, samples), with a log-normal factor common to all."""
    import numpy as np

    random = np.random.default_rng(seed)
    logs = [job.left.in_logs() if job.left.mean > 0 else (-np.inf, 0.0) for job in queue]
    middle, spread = np.array(logs).T[..., None]
    common = random.standard_normal(samples)
    drawn = random.standard_normal((len(queue), samples))
    drawn *= np.sqrt(1 - shared)
    drawn += np.sqrt(shared) * common
    drawn *= spread
    drawn += middle
    return np.exp(drawn, out=drawn)


def _drivers(drawn: "Array") -> list[tuple[int, float]]:
    """Return for each job whose hours move its finish most, and their share of its variance.

    The variance of a sum is the sum of each term's covariance with it.
    """
    import numpy as np

    some = drawn[:, :_ENOUGH_FOR_A_SHARE]
    centred = some - some.mean(axis=1, keepdims=True)
    cover = centred @ centred.T / some.shape[1]
    # Column k: covariance of each job with the sum of the jobs up to k.
    with_sum = np.triu(np.cumsum(cover, axis=1))
    variance = np.maximum(with_sum.sum(axis=0), 1e-12)
    most = np.argmax(with_sum, axis=0)
    shares = with_sum[most, np.arange(len(drawn))] / variance
    # Without any spread a job hangs on itself.
    own = np.where(variance > 1e-12, most, np.arange(len(drawn)))
    return [(int(k), float(share)) for k, share in zip(own, shares, strict=True)]


def _between_all(values: "Array", known: "Array", wanted: "Array") -> "Array":
    """Return where one running sum stands when the other has each value.

    Sample by sample, since from job to job hours grow steadily and a search goes
    on from where the last one ended: three times as fast.
    """
    import numpy as np

    found = np.interp(np.ascontiguousarray(values.T), known, wanted)
    return np.ascontiguousarray(found.T)


class _Done(NamedTuple):
    """A queue in order, worked off; each shape (jobs, samples).

    Attributes
    ----------
    at : hours free that have passed when a job is done
    total : hours up to and with a job
    gate : hours free for burning that have passed when a job is burned
    """

    at: "Array"
    total: "Array"
    gate: "Array"


class _Clock(NamedTuple):
    """Days turned into running sums of hours, for arrays."""

    ahead: FreeHours
    total: "Array"
    burning: "Array"

    @classmethod
    def holding(cls, ahead: FreeHours, hours: float, longest: float) -> "_Clock":
        """Return the clock that runs long enough for a queue."""
        import numpy as np

        limited = ahead.capacity.limits_burning
        running = ahead.running(*far_enough(float(hours), float(hours), limited, float(longest)))
        return cls(ahead, *(np.array(one) for one in running))

    def done(
        self,
        ordered: Sequence[Queued],
        drawn: "Array",
        total: "Array | float" = 0.0,
        gate: "Array | float" = 0.0,
    ) -> _Done:
        """Return the queue worked off, behind jobs with a total and a gate."""
        import numpy as np

        totals = np.cumsum(drawn, axis=0) + total
        if not self.ahead.capacity.limits_burning:
            return _Done(totals, totals, totals)
        shares = [(job.burning, job.before, job.after) for job in ordered]
        burning, before, after = np.array(shares).reshape(-1, 3).T[..., None]
        # Days off have neither hours: one point each is enough to turn one into the other.
        worked = np.concatenate([[True], np.diff(self.total) > 0])
        free, free_for_burning = self.total[worked], self.burning[worked]
        burns = drawn * burning
        burned = np.cumsum(burns, axis=0)
        begun = _between_all(totals - drawn * (1 - before), free, free_for_burning)
        # max(gate before, begun) + burns, job after job, is a running maximum of what is
        # left when the burning so far is taken off.
        held = np.maximum.accumulate(begun - (burned - burns), axis=0)
        gates = np.maximum(held, gate) + burned
        through = _between_all(gates, free_for_burning, free) + drawn * after
        at = np.where(burning > 0, np.maximum(totals, through), totals)
        return _Done(at, totals, gates)

    def day(self, at: float) -> date:
        """Return the day of work in which some hours are done."""
        import numpy as np

        n = int(np.searchsorted(self.total, at - NO_HOURS))
        return self.ahead.today + timedelta(days=min(max(1, n), len(self.total) - 1) - 1)


# ---- a date for one more job ---------------------------------------------------------
class Effect(NamedTuple):
    """What a new booking does to a job already in the queue.

    Parameters
    ----------
    key : str
    before, after : float
        Chance to meet its due date without and with the new job.
    """

    key: str
    before: float
    after: float


class Offer(NamedTuple):
    """A date for a new job.

    Parameters
    ----------
    ready : date
        When the client has it.
    chance : float
        That the date is met.
    effects : tuple of Effect
        Of the jobs worked after it, in order.
    harmed : tuple of str
        Keys of those whose chance falls below the confidence asked for, or
        falls further if it was below.
    """

    ready: date
    chance: float
    effects: tuple[Effect, ...]
    harmed: tuple[str, ...]


class Promise(NamedTuple):
    """The dates that can be promised for a new job.

    Parameters
    ----------
    earliest : Offer
        The earliest date at the confidence asked for, whatever it does to others.
    sparing : Offer
        The earliest that harms no job already in the queue.
    """

    earliest: Offer
    sparing: Offer


def promise(
    queue: Sequence[Queued],
    new: Queued,
    ahead: FreeHours,
    *,
    confidence: float = 0.9,  # our own choice: one date in ten may be missed
    samples: int = SAMPLES,
    seed: int = 0,
    shared: float = SHARED,
) -> Promise:
    """Return the dates that can be promised for a job not yet booked.

    Its place in the queue follows from its date (earliest due date first), so
    each place is tried in turn: the date there must be met with the confidence
    asked for, and lie between the due dates of its neighbours.

    Parameters
    ----------
    queue : sequence of Queued
    new : Queued
        Its ``due`` does not count.
    ahead : FreeHours
    confidence : float
        Between 0 and 1.
    samples, seed : int
    shared : float
        Correlation between the log hours of any two jobs.

    Returns
    -------
    Promise

    Raises
    ------
    BadInput
        If the confidence is not between 0 and 1.
    """
    if not 0 < confidence < 1:
        raise BadInput(
            f"A confidence is between 0 and 100 %, not {confidence * 100:.0f} %",
            "Use 90 % for nine in ten",
        )
    ordered = in_order(queue)
    drawn = _draw([new, *ordered], samples, seed, shared)
    clock = _Clock.holding(ahead, drawn.sum(axis=0).max(), drawn.max())
    bench = _Bench(ordered, drawn[1:], new, drawn[0], confidence, clock)
    worked = clock.done(ordered, drawn[1:])
    earliest = sparing = bench.offer(0, worked)
    while sparing.harmed:
        # Whoever is worked after the new job waits for it; those it harms must go first.
        last = max(k for k, job in enumerate(ordered) if job.key in sparing.harmed)
        sparing = bench.offer(last + 1, worked)
    return Promise(earliest, sparing)


def _harms(effect: Effect, confidence: float) -> bool:
    return effect.after < min(effect.before, confidence) - _HARM


class _Bench(NamedTuple):
    """A queue in order with draws of its hours, and a new job to be put somewhere in it."""

    ordered: list[Queued]
    drawn: "Array"
    new: Queued
    own: "Array"
    confidence: float
    clock: _Clock

    @property
    def dated(self) -> int:
        """Number of jobs with a due date; they come first."""
        return sum(job.due is not None for job in self.ordered)

    def offer(self, least: int, worked: _Done) -> Offer:
        """Return the earliest date in one of the places from a given one on."""
        place, done, last = self._place(least, worked)
        behind = slice(place, self.dated)
        after = self.clock.done(
            self.ordered[behind], self.drawn[behind], done.total[0], done.gate[0]
        )
        effects = tuple(
            Effect(job.key, self._chance(was, job.work_due), self._chance(now, job.work_due))
            for job, was, now in zip(self.ordered[behind], worked.at[behind], after.at, strict=True)
        )
        return Offer(
            ready=last + timedelta(days=self.new.days_after),
            chance=self._chance(done.at[0], last),
            effects=effects,
            harmed=tuple(e.key for e in effects if _harms(e, self.confidence)),
        )

    def _chance(self, at: "Array", last: date) -> float:
        return float((at <= self.clock.ahead.until(last) + NO_HOURS).mean())

    def _place(self, least: int, worked: _Done) -> tuple[int, _Done, date]:
        """Return the new job's place, how it is worked off there, and its last day of work."""
        import numpy as np

        point = ceil(self.confidence * len(self.own)) - 1
        for place in range(least, self.dated + 1):
            before = (worked.total[place - 1], worked.gate[place - 1]) if place else (0.0, 0.0)
            done = self.clock.done([self.new], self.own[None], *before)
            last = self.clock.day(float(np.partition(done.at[0], point)[point]))
            if place:
                last = max(last, self.ordered[place - 1].work_due)
            if place == self.dated or last < self.ordered[place].work_due:
                break
        return place, done, last
