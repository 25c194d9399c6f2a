"""What is left of a job: hours as a log-normal, from its forecast, its ticks and its sessions.

No numpy here: the list of open jobs must be instant.
"""

from collections.abc import Collection, Mapping
from math import erf, erfc, exp, fsum, log, sqrt
from typing import NamedTuple

from burnplan.reckon.standard_hours import zone_hours
from burnplan.reckon.work import Work, WorkPlan

# Standard normal quantiles in common use; others cost an import (by definition).
_Z = {0.1: -1.2815515655446004, 0.5: 0.0, 0.8: 0.8416212335729143, 0.9: 1.2815515655446004}


SUSPECT = 3.2
"""Deviations from what is expected beyond which hours look wrong: of normal ones 1 in 700 does
(our own choice: one false word in 175 jobs of four stages)."""

# What a job's own sessions say of its other hours (our assumptions). Of the variance of a
# stage's log hours this share is scatter between its parts, which hours already spent say
# nothing about; the rest is the job's own pace, correlated between its stages by this much.
_SCATTER = 0.25
_TOGETHER = 0.5  # a guess: midway between not at all and wholly


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


NOTHING = RemainingHours(0.0, 0.0)  # by definition


def log_normal(median: float, spread: float) -> RemainingHours:
    """Return the log-normal with a median and a standard deviation of its logarithm."""
    mean = median * exp(spread**2 / 2)
    return RemainingHours(mean, mean**2 * (exp(spread**2) - 1))


def of_quantiles(
    p50: float,
    upper: float,
    share: float = 0.9,  # P90, by definition of what is kept of forecasts
) -> RemainingHours:
    """Return the log-normal with a median and an upper quantile, hours.

    Examples
    --------
    >>> left = of_quantiles(10, 20)
    >>> round(left.p50, 6), round(left.chance_within(20), 3)
    (10.0, 0.9)
    """
    if p50 <= 0:
        return NOTHING
    return log_normal(p50, _spread(p50, upper, share))


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
    others; hours so far off that they look wrong count no more than the farthest that
    do not. The spread narrows as a job goes on.

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
    RemainingHours

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
        far = SUSPECT * sqrt(cover[seen, seen] + noise)
        surprise = min(max(ratio - mean[seen], -far), far)
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
        return log_normal(median, spread)
    if spread <= 0:
        return RemainingHours(max(0.0, median - hours), 0.0)
    bound = log(hours / median) / spread
    if bound > 6:
        # So far out the tail falls off exponentially, and its parts vanish in rounding.
        mean = hours * spread / bound
        return RemainingHours(mean, mean**2)

    def beyond(z: float) -> float:
        return erfc(z / sqrt(2))  # twice the share, which cancels

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
    whole = fsum(hours.values())  # exact: all burned is 1 in any order
    if whole <= 0:
        # Nothing but bare wood: each zone counts alike.
        hours = {zone.zone: 1.0 for zone in plan.zones if zone.area_cm2}
        whole = float(len(hours))
    return fsum(hours.get(zone, 0.0) for zone in set(burned)) / whole if whole else 0.0


# What is shown of a forecast everywhere, beside its median (by definition).
_SHOWN = 0.8


def whole_job(forecast: Mapping[str, Mapping[str, float]]) -> RemainingHours:
    """Return the hours of a whole job.

    Parameters
    ----------
    forecast : mapping
        Quantiles by stage and of the ``total``, hours, as ``HoursForecast.to_dict`` gives.

    Examples
    --------
    >>> hours = whole_job({"total": {"p50": 10.0, "p80": 15.0}})
    >>> round(hours.p50, 6), round(hours.p80, 6)
    (10.0, 15.0)
    """
    return of_quantiles(forecast["total"]["p50"], forecast["total"]["p80"], _SHOWN)


def left_of_job(
    forecast: Mapping[str, Mapping[str, float]],
    settled: Mapping[Work, float],
    spent: Mapping[Work, float],
    under_way: Mapping[Work, float],
) -> RemainingHours:
    """Return the hours left of a job; those of the whole job before it is begun.

    The parts are put together by :func:`hours_left`, from each
    stage's own quantiles, which a whole drawn at once does not quite agree with: median and
    spread are stretched by what these differ by for the untouched job.

    Parameters
    ----------
    forecast, settled, spent, under_way : mappings
        As :func:`hours_left` takes them; with the ``total``.
    """
    left = hours_left(forecast, settled, spent, under_way)
    untouched, whole = hours_left(forecast, {}), whole_job(forecast)
    if left.mean <= 0 or untouched.mean <= 0 or whole.mean <= 0:
        return left if left.mean > 0 else NOTHING
    (middle, spread), (middle_0, spread_0) = left.in_logs(), untouched.in_logs()
    middle_w, spread_w = whole.in_logs()
    return log_normal(
        exp(middle + middle_w - middle_0), spread * (spread_w / spread_0 if spread_0 else 1.0)
    )


# A judgement by eye holds within a third, nine times in ten (our own, no source).
_JUDGED_WITHIN = 4 / 3


def judged(hours: float) -> RemainingHours:
    """Return hours as somebody judged them, for want of a reference.

    Examples
    --------
    >>> round(judged(9).quantile(0.9), 6)
    12.0
    """
    return of_quantiles(hours, hours * _JUDGED_WITHIN)


def left_as_judged(hours: float, spent: float) -> RemainingHours:
    """Return what is left of hours as judged, of which some are spent.

    Examples
    --------
    >>> left = left_as_judged(9, 3)
    >>> 5.9 < left.p50 < 6.2
    True
    """
    whole = judged(hours)
    if whole.mean <= 0 or spent <= 0:
        return whole
    middle, spread = whole.in_logs()
    return _beyond(exp(middle), spread, spent)
