"""Dates that hold: the queue of booked work against the hours that are free.

Jobs are worked earliest due date first, which keeps the greatest lateness as
small as it can be (Jackson 1955); the fewest late jobs, by Moore's rule (1968),
is there to compare. Hours are log-normal and partly shared between jobs, since
one artist burns them all. Everything counts in whole dates: daylight saving,
time zones and leap days have nowhere to enter.

A day has hours free for work, of which at most so many for burning; what may
not be burned goes to the other work of the queue. A job is then done when

- all hours up to its own fit in the hours free, and
- its burning, begun when its wood is prepared and the burning before it is
  done, fits in the hours free for burning, and its own finishing follows.

The later of the two counts. That is exact without a limit on burning. With one
it stands for an artist who fills the day with what else there is: of queues
worked off day by day nine jobs in ten are within a day of it, neither early nor
late on average. Drying and delivery are days that pass, not work. numpy is
imported where distributions are drawn; the rest is light.
"""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from math import ceil, inf
from typing import TYPE_CHECKING, NamedTuple

from burnplan.errors import BadInput
from burnplan.reckon.progress import RemainingHours, Waiting, chances_on_time

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

SHARED = 0.3
"""Correlation between the log hours of two jobs (our assumption): what the forecasts do
not know about this artist goes through all of them."""

SAMPLES = 4000
DAYS_AT_MOST = 36525
"""How far ahead anything is looked at: a hundred years."""

# Hours that make no difference, a few milliseconds: sums of floats may miss a day's end by less.
_NOTHING = 1e-6
# Which job a date hangs on needs fewer draws than the date.
_ENOUGH_FOR_A_SHARE = 1000
# A chance may fall by this before a job counts as harmed by another.
_HARM = 0.01


# ---- hours free ----------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Capacity:
    """When there is time to work.

    Parameters
    ----------
    weekdays : tuple of 7 float
        Hours free for work, Monday to Sunday.
    days_off : frozenset of date
        Days without work: days away, public holidays.
    burning : float
        Most hours of burning in a day (hands and lungs); 24 is no limit.

    Raises
    ------
    BadInput
        If it is not seven numbers from 0 to 24, if none is above 0, or if
        nothing may be burned.
    """

    weekdays: tuple[float, ...]
    days_off: frozenset[date] = frozenset()
    burning: float = 24.0

    def __post_init__(self) -> None:
        if len(self.weekdays) != 7 or not all(0 <= hours <= 24 for hours in self.weekdays):
            raise BadInput(
                "Free hours are seven numbers from 0 to 24, Monday to Sunday",
                "Write for example 4 4 4 4 4 0 0",
            )
        if not any(self.weekdays):
            raise BadInput("No weekday has hours free for work", "Give at least one day some hours")
        if not 0 < self.burning <= 24:
            raise BadInput(
                f"Burning at most {self.burning:g} hours a day makes no sense",
                "Give a number above 0, at most 24",
            )

    def on(self, day: date) -> float:
        """Return the hours free on a date."""
        return 0.0 if day in self.days_off else self.weekdays[day.weekday()]

    @property
    def limits_burning(self) -> bool:
        """Whether some day has more hours free than may be burned."""
        return max(self.weekdays) > self.burning

    @property
    def only_burning(self) -> "Capacity":
        """The same calendar with only the hours free for burning."""
        return Capacity(
            tuple(min(hours, self.burning) for hours in self.weekdays), self.days_off, self.burning
        )


@dataclass(frozen=True, slots=True)
class FreeHours:
    """The hours ahead from a day on.

    Parameters
    ----------
    capacity : Capacity
    today : date
    worked_today : float
        Hours of today that are gone.
    """

    capacity: Capacity
    today: date
    worked_today: float = 0.0

    def until(self, last: date) -> float:
        """Return the hours free from today to the end of a day; 0 if it is past.

        Examples
        --------
        >>> ahead = FreeHours(Capacity((4, 4, 4, 4, 4, 0, 0)), date(2028, 2, 28))
        >>> ahead.until(date(2028, 3, 1)), ahead.until(date(2028, 3, 5))
        (12.0, 20.0)
        """
        days = (last - self.today).days + 1
        if days <= 0:
            return 0.0
        weekdays, first = self.capacity.weekdays, self.today.weekday()
        weeks, rest = divmod(days, 7)
        hours = weeks * sum(weekdays) + sum(weekdays[(first + n) % 7] for n in range(rest))
        off = sum(weekdays[d.weekday()] for d in self.capacity.days_off if self.today <= d <= last)
        return max(0.0, hours - off - self._gone)

    @property
    def _gone(self) -> float:
        return min(self.worked_today, self.capacity.on(self.today))

    def running(self, hours: float, burning: float = 0.0) -> tuple[list[float], list[float]]:
        """Return the hours free, and free for burning, before each day and after the last.

        As many days as hold both numbers of hours, at most DAYS_AT_MOST.
        """
        total, burned = [0.0], [0.0]
        most = self.capacity.burning
        for n in range(DAYS_AT_MOST):
            free = self.capacity.on(self.today + timedelta(days=n)) - (0.0 if n else self._gone)
            total.append(total[-1] + free)
            burned.append(burned[-1] + min(free, most))
            if total[-1] >= hours and burned[-1] >= burning:
                break
        return total, burned


# ---- the queue -----------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Queued:
    """A booked job that has work left.

    Parameters
    ----------
    key : str
        Names it.
    left : Left
        Hours left.
    due : date or None
        When the client is to have it.
    burning, before : float
        Shares of the hours left that are burning, and that come before it; the
        rest is finishing.
    days_after : int
        Days of drying and delivery after the last hour of work.
    """

    key: str
    left: RemainingHours
    due: date | None
    burning: float = 1.0
    before: float = 0.0
    days_after: int = 0

    @property
    def work_due(self) -> date:
        """The last day of work that still meets the due date; the last of all without one."""
        return date.max if self.due is None else self.due - timedelta(days=self.days_after)

    @property
    def after(self) -> float:
        """Share of the hours left that is finishing."""
        return max(0.0, 1 - self.burning - self.before)


def earliest_due_first(dues: Sequence[date | float]) -> list[int]:
    """Return the order of work that makes the greatest lateness smallest (Jackson 1955).

    Examples
    --------
    >>> earliest_due_first([9, 6, 11, 6])
    [1, 3, 0, 2]
    """
    return sorted(range(len(dues)), key=lambda job: dues[job])


def fewest_late(hours: Sequence[float], available: Sequence[float]) -> tuple[list[int], list[int]]:
    """Return the jobs on time, in order, and the fewest jobs that must be late (Moore 1968).

    One kind of hours counts: a limit on burning has no place in the rule.

    Parameters
    ----------
    hours : sequence of float
        Of each job.
    available : sequence of float
        Hours free until each job is due.

    Examples
    --------
    >>> fewest_late([4, 3, 2], [4, 5, 6])
    ([1, 2], [0])
    """
    on_time: list[int] = []
    late: list[int] = []
    done = 0.0
    for job in earliest_due_first(available):
        on_time.append(job)
        done += hours[job]
        if done > available[job] + _NOTHING:
            longest = max(on_time, key=lambda one: hours[one])
            on_time.remove(longest)
            late.append(longest)
            done -= hours[longest]
    return on_time, late


def _in_order(queue: Sequence[Queued]) -> list[Queued]:
    return [queue[i] for i in earliest_due_first([job.work_due for job in queue])]


# ---- one schedule, exactly -----------------------------------------------------------
class Finish(NamedTuple):
    """When a job's work is done.

    Parameters
    ----------
    key : str
    day : date
        Of the last hour of work.
    minutes : float
        Into that day's hours of work.
    ready : date
        When the client has it.
    late : int or None
        Days after it was due, below 0 if early; None without a due date.
    """

    key: str
    day: date
    minutes: float
    ready: date
    late: int | None


def schedule(queue: Sequence[Queued], ahead: FreeHours, share: float = 0.5) -> tuple[Finish, ...]:
    """Return when each job is done if each takes a given quantile of its hours.

    Parameters
    ----------
    queue : sequence of Queued
    ahead : Ahead
    share : float
        Quantile of each job's hours left; 0.5 is the median.

    Returns
    -------
    tuple of Finish
        In the order worked, earliest due date first.

    Examples
    --------
    >>> ahead = FreeHours(Capacity((4, 4, 4, 4, 4, 0, 0)), date(2027, 3, 19))
    >>> dog = Queued("dog", RemainingHours(3, 0), date(2027, 3, 24))
    >>> queue = [dog, Queued("owl", RemainingHours(2.5, 0), None)]
    >>> [(done.key, done.day.isoformat(), done.minutes) for done in schedule(queue, ahead)]
    [('dog', '2027-03-19', 180.0), ('owl', '2027-03-22', 90.0)]
    """
    ordered = _in_order(queue)
    hours = [job.left.quantile(share) for job in ordered]
    limited = ahead.capacity.limits_burning
    burning = sum(h * job.burning for h, job in zip(hours, ordered, strict=True))
    total, burned = ahead.running(*_enough(sum(hours), burning, limited, max(hours, default=0.0)))
    done = gate = 0.0
    finishes = []
    for job, own in zip(ordered, hours, strict=True):
        begun = _between(done + own * job.before, total, burned)
        gate = max(gate, begun) + own * job.burning
        done += own
        at = done
        if limited and job.burning > 0:
            at = max(done, _between(gate, burned, total) + own * job.after)
        finishes.append(_finish(job, at, total, ahead))
    return tuple(finishes)


def _enough(hours: float, burning: float, limited: bool, longest: float) -> tuple[float, float]:
    """Return how many hours ahead to look, and how many of burning where it is limited.

    Burning may wait for one job's preparation, and one job's finishing follows.
    """
    return (hours, burning + 2 * longest) if limited else (hours, 0.0)


def _between(value: float, known: Sequence[float], wanted: Sequence[float]) -> float:
    """Return where one running sum stands when the other has a value; days spread it evenly."""
    day = min(max(1, bisect_left(known, value - _NOTHING)), len(known) - 1)
    span = known[day] - known[day - 1]
    share = min(1.0, max(0.0, (value - known[day - 1]) / span)) if span > 0 else 0.0
    return wanted[day - 1] + share * (wanted[day] - wanted[day - 1])


def _day(at: float, total: Sequence[float]) -> int:
    """Return the day, from 0, in which some hours of work are done."""
    return min(max(1, bisect_left(total, at - _NOTHING)), len(total) - 1) - 1


def _finish(job: Queued, at: float, total: Sequence[float], ahead: FreeHours) -> Finish:
    n = _day(at, total)
    day = ahead.today + timedelta(days=n)
    ready = day + timedelta(days=job.days_after)
    late = None if job.due is None else (ready - job.due).days
    return Finish(job.key, day, round(max(0.0, at - total[n]) * 60, 6), ready, late)


# ---- the quick answer ----------------------------------------------------------------
def chances(
    queue: Sequence[Queued], ahead: FreeHours, shared: float = SHARED
) -> dict[str, float | None]:
    """Return each job's chance to meet its due date, without drawing: instant.

    Hours of the queue are added by moments (Fenton 1960). With a limit on
    burning a job must pass two gates, all work and burning; their chances go
    together, so the smaller is taken.

    Parameters
    ----------
    queue : sequence of Queued
    ahead : Ahead
    shared : float
        Correlation between any two jobs' hours.

    Returns
    -------
    dict
        None for a job without a due date.
    """
    ordered = _in_order(queue)
    gates = [
        chances_on_time(
            [
                Waiting(job.left, None if job.due is None else ahead.until(job.work_due))
                for job in ordered
            ],
            shared,
        )
    ]
    if ahead.capacity.limits_burning and ordered:
        gates.append(chances_on_time(_burning_gate(ordered, ahead), shared))
    return {
        job.key: None if job.due is None else min(one or 0.0 for one in both)
        for job, both in zip(ordered, zip(*gates, strict=True), strict=True)
    }


def _burning_gate(ordered: Sequence[Queued], ahead: FreeHours) -> list[Waiting]:
    """Return the queue's burning alone, against the hours free for it."""
    capacity = ahead.capacity
    burning = FreeHours(capacity.only_burning, ahead.today, ahead.worked_today)
    # Other work holds burning up by its median; hours are turned into hours of burning by
    # their average over a week.
    pace = sum(burning.capacity.weekdays) / sum(capacity.weekdays)
    gate, held, total, burned = [], 0.0, 0.0, 0.0
    for job in ordered:
        own = job.left.p50
        held = max(held, pace * (total + own * job.before) - burned)
        total, burned = total + own, burned + own * job.burning
        available = None
        if job.due is not None:
            available = burning.until(job.work_due) - held - pace * own * job.after
            if job.burning == 0 or own <= 0:
                available = inf  # nothing to burn: it passes
        left = RemainingHours(job.left.mean * job.burning, job.left.variance * job.burning**2)
        gate.append(Waiting(left, available))
    return gate


# ---- the queue as a distribution -----------------------------------------------------
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
    ahead : Ahead
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
            on_time = float(np.mean(done[k] <= ahead.until(job.work_due) + _NOTHING))
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
        running = ahead.running(*_enough(float(hours), float(hours), limited, float(longest)))
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

        n = int(np.searchsorted(self.total, at - _NOTHING))
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
    confidence: float = 0.9,
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
    ahead : Ahead
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
    ordered = _in_order(queue)
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
        return float((at <= self.clock.ahead.until(last) + _NOTHING).mean())

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
