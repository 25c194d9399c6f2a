"""How far a job is, and what is left: from its forecast, its ticks and its own sessions.

Earned value in the terms of EIA-748, in hours. No numpy here: the list of open
jobs must be instant.
"""

from collections.abc import Collection, Iterable, Mapping
from math import erf, erfc, exp, log, sqrt
from typing import NamedTuple

from burnplan.reckon.work import Work, WorkPlan, zone_hours

# Standard normal quantiles in common use; others cost an import.
_Z = {0.1: -1.2815515655446004, 0.5: 0.0, 0.8: 0.8416212335729143, 0.9: 1.2815515655446004}


# What a job's own sessions say of its other hours (our assumptions). Of the variance of a
# stage's log hours this share is scatter between its parts, which hours already spent say
# nothing about; the rest is the job's own pace, correlated between its stages by this much.
_SCATTER = 0.25
_TOGETHER = 0.5


def _z(share: float) -> float:
    if share in _Z:
        return _Z[share]
    from statistics import NormalDist

    return NormalDist().inv_cdf(share)


class RemainingHours(NamedTuple):
    """Hours left, as a log-normal distribution given by its mean and variance.

    Parameters
    ----------
    mean, variance : float
        Hours, hours².
    """

    mean: float
    variance: float

    def in_logs(self) -> tuple[float, float]:
        """Return mean and standard deviation of the logarithm; only where the mean is above 0."""
        spread = log(1 + self.variance / self.mean**2)
        return log(self.mean) - spread / 2, sqrt(spread)

    @property
    def p50(self) -> float:
        """Hours that are enough in half the cases."""
        return exp(self.in_logs()[0]) if self.mean > 0 else 0.0

    @property
    def p80(self) -> float:
        """Hours that are enough in four cases of five."""
        return self.quantile(0.8)

    def quantile(self, share: float) -> float:
        """Return the hours that are enough in a share of cases."""
        if self.mean <= 0:
            return 0.0
        middle, spread = self.in_logs()
        return exp(middle + _z(share) * spread)

    def chance_within(self, hours: float) -> float:
        """Return the chance that some hours are enough."""
        if self.mean <= 0:
            return 1.0
        if hours <= 0:
            return 0.0
        middle, spread = self.in_logs()
        if spread == 0:
            return float(log(hours) >= middle)
        return 0.5 * (1 + erf((log(hours) - middle) / (spread * sqrt(2))))


NOTHING = RemainingHours(0.0, 0.0)


def _log_normal(median: float, spread: float) -> RemainingHours:
    """Return the log-normal with a median and a standard deviation of its logarithm."""
    mean = median * exp(spread**2 / 2)
    return RemainingHours(mean, mean**2 * (exp(spread**2) - 1))


def of_quantiles(p50: float, upper: float, share: float = 0.9) -> RemainingHours:
    """Return the log-normal with a median and an upper quantile, hours.

    Examples
    --------
    >>> left = of_quantiles(10, 20)
    >>> round(left.p50, 6), round(left.chance_within(20), 3)
    (10.0, 0.9)
    """
    if p50 <= 0:
        return NOTHING
    return _log_normal(p50, _spread(p50, upper, share))


def _spread(p50: float, upper: float, share: float) -> float:
    return max(0.0, log(max(upper, p50) / p50) / _z(share))


def hours_left(
    forecast: Mapping[str, Mapping[str, float]],
    settled: Mapping[Work, float],
    spent: Mapping[Work, float] | None = None,
    under_way: Mapping[Work, float] | None = None,
) -> RemainingHours:
    """Return the hours left of a job.

    Hours already spent on what is settled say how fast this job goes: each
    stage's pace is a normal belief about the logarithm of hours over forecast,
    brought up to date by them, most for the same stage and half as much for the
    others. The spread narrows as a job goes on.

    What is left of the stages is then taken to be slow or fast together, as an
    artist is: standard deviations add up, which is wider than if they were
    independent.

    Parameters
    ----------
    forecast : mapping
        Quantiles ``p50`` and ``p90`` by stage, as ``HoursForecast.to_dict`` gives,
        made before this job's own hours.
    settled : mapping
        Share of each stage that is done, 0 to 1.
    spent : mapping, optional
        Hours logged on what is settled.
    under_way : mapping, optional
        Hours logged on what is begun but not settled, like half a zone; so are
        all hours of a stage with nothing settled.

    Returns
    -------
    Left

    Examples
    --------
    Half burned, in half as many hours again as was forecast:

    >>> forecast = {work: {"p50": 10, "p90": 16} for work in Work}
    >>> settled = {Work.PREPARE: 1, Work.TRANSFER: 1, Work.BURN: 0.5}
    >>> round(hours_left(forecast, settled).p50, 1)
    15.0
    >>> round(hours_left(forecast, settled, {Work.BURN: 7.5}).p50, 1)
    17.7
    """
    spent, begun = dict(spent or {}), dict(under_way or {})
    median = {work: forecast[work]["p50"] for work in Work}
    spread = {
        work: _spread(median[work], forecast[work]["p90"], 0.9) if median[work] > 0 else 0.0
        for work in Work
    }
    evidence = {}
    for work in Work:
        share, hours = settled.get(work, 0.0), spent.get(work, 0.0)
        if share <= 0:
            begun[work] = begun.get(work, 0.0) + hours
        elif hours > 0 and spread[work] > 0:
            evidence[work] = share, log(hours / (share * median[work]))
    pace, doubt = _own_pace(spread, evidence)
    mean = deviation = 0.0
    for work in Work:
        rest = (1 - settled.get(work, 0.0)) * median[work]
        if rest <= 0:
            continue
        doubts = sqrt(doubt[work] + _SCATTER * spread[work] ** 2)
        left = _beyond(rest * exp(pace[work]), doubts, begun.get(work, 0.0))
        mean += left.mean
        deviation += sqrt(left.variance)
    return RemainingHours(mean, deviation**2)


def _own_pace(
    spread: Mapping[Work, float], evidence: Mapping[Work, tuple[float, float]]
) -> tuple[dict[Work, float], dict[Work, float]]:
    """Return mean and variance of each stage's log pace, given shares done and log ratios.

    A normal belief over the four stages, conditioned on one number at a time.
    """
    mean = dict.fromkeys(Work, 0.0)
    cover = {
        (one, other): (1 - _SCATTER) * spread[one] * spread[other] * (_TOGETHER, 1.0)[one is other]
        for one in Work
        for other in Work
    }
    for seen, (share, ratio) in evidence.items():
        # Over a small share of the stage its parts have not averaged out.
        noise = _SCATTER * spread[seen] ** 2 / min(1.0, share)
        gain = {work: cover[work, seen] / (cover[seen, seen] + noise) for work in Work}
        surprise = ratio - mean[seen]
        mean = {work: mean[work] + gain[work] * surprise for work in Work}
        cover = {
            (one, other): was - gain[one] * cover[seen, other]
            for (one, other), was in cover.items()
        }
    return mean, {work: max(0.0, cover[work, work]) for work in Work}


def _beyond(median: float, spread: float, hours: float) -> RemainingHours:
    """Return what is left of log-normal hours of which some are spent, and which are not done.

    By the first two moments of the distribution beyond those hours.
    """
    if hours <= 0:
        return _log_normal(median, spread)
    if spread <= 0:
        return RemainingHours(max(0.0, median - hours), 0.0)
    bound = log(hours / median) / spread
    if bound > 6:
        # So far out the tail falls off exponentially, and its parts vanish in rounding.
        mean = hours * spread / bound
        return RemainingHours(mean, mean**2)

    def beyond(z: float) -> float:
        return erfc(z / sqrt(2)) / 2

    share = beyond(bound)
    first = median * exp(spread**2 / 2) * beyond(bound - spread) / share
    second = median**2 * exp(2 * spread**2) * beyond(bound - 2 * spread) / share
    return RemainingHours(max(0.0, first - hours), max(0.0, second - first**2))


def share_burned(plan: WorkPlan, burned: Collection[int]) -> float:
    """Return the share of the burning that is done, 0 to 1: zones count by standard hours.

    Parameters
    ----------
    plan : WorkPlan
    burned : collection of int
        Numbers of the zones that are done; those not in the plan do not count.
    """
    hours = {zone.zone: zone_hours(zone, plan.hardness_lbf) for zone in plan.zones}
    whole = sum(hours.values())
    if whole <= 0:
        # Nothing but bare wood: each zone counts alike.
        hours = dict.fromkeys(hours, 1.0)
        whole = float(len(hours))
    return sum(hours.get(zone, 0.0) for zone in set(burned)) / whole if whole else 0.0


class EarnedValue(NamedTuple):
    """A job's earned value, in hours (terms of EIA-748).

    Indices are None where they have no meaning yet: nothing spent, nothing earned.

    Parameters
    ----------
    bac : float
        Budget at completion: all hours planned.
    ev : float
        Earned value: planned hours of what is done.
    ac : float
        Actual cost: hours spent.
    pv : float or None
        Planned value: planned hours of what should be done by now, if there is a
        plan in time.
    """

    bac: float
    ev: float
    ac: float
    pv: float | None = None

    @property
    def cv(self) -> float:
        """Cost variance; below 0 when slower than planned."""
        return self.ev - self.ac

    @property
    def sv(self) -> float | None:
        """Schedule variance; below 0 when behind."""
        return None if self.pv is None else self.ev - self.pv

    @property
    def cpi(self) -> float | None:
        """Cost performance index; below 1 when slower than planned."""
        return self.ev / self.ac if self.ac > 0 else None

    @property
    def spi(self) -> float | None:
        """Schedule performance index; below 1 when behind."""
        return self.ev / self.pv if self.pv else None

    @property
    def eac(self) -> float | None:
        """Estimate at completion, if the rest goes as what is done."""
        return self.bac / self.cpi if self.cpi else None

    @property
    def etc(self) -> float | None:
        """Estimate to complete."""
        return None if self.eac is None else self.eac - self.ac

    @property
    def tcpi(self) -> float | None:
        """To-complete performance index: the pace that would still keep to the budget."""
        rest = self.bac - self.ac
        return (self.bac - self.ev) / rest if rest > 0 else None


def earned_value(
    planned: Mapping[Work, float],
    settled: Mapping[Work, float],
    spent: float,
    by_now: float | None = None,
) -> EarnedValue:
    """Return a job's earned value.

    Parameters
    ----------
    planned : mapping
        Hours planned for each stage, as agreed at the start.
    settled : mapping
        Share of each stage that is done, 0 to 1.
    spent : float
        Hours logged, on anything.
    by_now : float, optional
        Planned hours of what should be done by now.
    """
    return EarnedValue(
        bac=sum(planned.values()),
        ev=sum(hours * settled.get(work, 0.0) for work, hours in planned.items()),
        ac=spent,
        pv=by_now,
    )


def in_words(value: EarnedValue, left: RemainingHours, course: str = "") -> str:
    """Return a job's progress as a sentence without a full stop.

    Hours left are from P10 to P90: four times in five they are between.

    Parameters
    ----------
    value : EarnedValue
    left : Left
    course : str, optional
        What the hours left mean for the date, like 'on course for Dec 12'.

    Examples
    --------
    >>> in_words(EarnedValue(30, 12.3, 14.1), of_quantiles(11, 13), "on course for Dec 12")
    '41 % done in 47 % of its hours; 9 to 13 h left; on course for Dec 12'
    >>> in_words(EarnedValue(30, 0, 0), of_quantiles(30, 41))
    'not begun; 22 to 41 h left'
    >>> in_words(EarnedValue(30, 30, 31.5), NOTHING)
    'done in 105 % of its hours'
    """
    begun = value.ev > 0 or value.ac > 0
    hours = f" in {value.ac / value.bac:.0%} of its hours".replace("%", " %") if value.bac else ""
    if left.mean <= 0:
        return f"done{hours}"
    # Not done is never called 100 %.
    share = min(0.99, value.ev / value.bac) if value.bac else 0.0
    done = f"{share:.0%} done".replace("%", " %") + hours if begun else "not begun"
    low, high = (_hours_words(left.quantile(share)) for share in (0.1, 0.9))
    range_ = f"{low} to {high} h left" if low != high else f"about {low} h left"
    return "; ".join(part for part in (done, range_, course) if part)


def _hours_words(hours: float) -> str:
    """Return hours as a person would say them: whole from 5 on, then to a half, then a tenth."""
    if hours >= 5:
        return f"{hours:.0f}"
    return f"{round(hours * 2) / 2:g}" if hours >= 1 else f"{hours:.1f}"


class Waiting(NamedTuple):
    """A job in the queue.

    Parameters
    ----------
    left : Left
    available : float or None
        Hours free from now to the end of its due day; None without a due date.
    """

    left: RemainingHours
    available: float | None


def chances_on_time(queue: Iterable[Waiting], shared: float = 0.0) -> list[float | None]:
    """Return each job's chance to be done by its due date, in the order worked.

    The queue is worked earliest due date first (Jackson 1955). Hours up to and
    including a job are added by moments and taken as log-normal (Fenton 1960).

    Parameters
    ----------
    queue : iterable of Waiting
    shared : float
        Correlation between the hours of any two jobs, 0 to 1: one artist burns
        them all.
    """
    mean = variance = deviation = 0.0
    chances: list[float | None] = []
    for job in queue:
        mean += job.left.mean
        variance += job.left.variance
        deviation += sqrt(job.left.variance)
        done = RemainingHours(mean, (1 - shared) * variance + shared * deviation**2)
        known = job.available is not None
        chances.append(done.chance_within(job.available or 0.0) if known else None)
    return chances
