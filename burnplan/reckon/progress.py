"""What is left to do: remaining hours from the forecast and what is settled.

No numpy here: the list of open jobs must be instant.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import erf, exp, log, sqrt

from burnplan.reckon.work import Work

# Standard normal quantiles of 0.8 and 0.9; others cost an import.
_Z = {0.8: 0.8416212335729143, 0.9: 1.2815515655446004}


def _z(share: float) -> float:
    if share in _Z:
        return _Z[share]
    from statistics import NormalDist

    return NormalDist().inv_cdf(share)


@dataclass(frozen=True, slots=True)
class Left:
    """Hours left, as a log-normal distribution given by its mean and variance.

    Parameters
    ----------
    mean, variance : float
        Hours, hours².
    """

    mean: float
    variance: float

    def __add__(self, other: "Left") -> "Left":
        return Left(self.mean + other.mean, self.variance + other.variance)

    def _log(self) -> tuple[float, float]:
        spread = log(1 + self.variance / self.mean**2)
        return log(self.mean) - spread / 2, sqrt(spread)

    @property
    def p50(self) -> float:
        """Hours that are enough in half the cases."""
        return exp(self._log()[0]) if self.mean > 0 else 0.0

    @property
    def p80(self) -> float:
        """Hours that are enough in four cases of five."""
        return self.quantile(0.8)

    def quantile(self, share: float) -> float:
        """Return the hours that are enough in a share of cases."""
        if self.mean <= 0:
            return 0.0
        middle, spread = self._log()
        return exp(middle + _z(share) * spread)

    def chance_within(self, hours: float) -> float:
        """Return the chance that some hours are enough."""
        if self.mean <= 0:
            return 1.0
        if hours <= 0:
            return 0.0
        middle, spread = self._log()
        if spread == 0:
            return float(log(hours) >= middle)
        return 0.5 * (1 + erf((log(hours) - middle) / (spread * sqrt(2))))


NOTHING = Left(0.0, 0.0)


def of_quantiles(p50: float, upper: float, share: float = 0.9) -> Left:
    """Return the log-normal with a median and an upper quantile, hours.

    Examples
    --------
    >>> left = of_quantiles(10, 20)
    >>> round(left.p50, 6), round(left.chance_within(20), 3)
    (10.0, 0.9)
    """
    if p50 <= 0:
        return NOTHING
    spread = max(0.0, log(max(upper, p50) / p50) / _z(share))
    mean = p50 * exp(spread**2 / 2)
    return Left(mean, mean**2 * (exp(spread**2) - 1))


def hours_left(forecast: Mapping[str, Mapping[str, float]], settled: Mapping[Work, float]) -> Left:
    """Return the hours left of a job.

    Stages are taken to be slow or fast together, as an artist is: their
    standard deviations add up, which is wider than if they were independent.

    Parameters
    ----------
    forecast : mapping
        Quantiles ``p50`` and ``p90`` by stage, as ``HoursForecast.to_dict`` gives.
    settled : mapping
        Share of each stage that is done, 0 to 1.

    Returns
    -------
    Left
    """
    mean = deviation = 0.0
    for stage in Work:
        whole = of_quantiles(forecast[stage]["p50"], forecast[stage]["p90"])
        share = 1 - settled.get(stage, 0.0)
        mean += whole.mean * share
        deviation += sqrt(whole.variance) * share
    return Left(mean, deviation**2)


@dataclass(frozen=True, slots=True)
class Waiting:
    """A job in the queue.

    Parameters
    ----------
    left : Left
    available : float or None
        Hours free from now to the end of its due day; None without a due date.
    """

    left: Left
    available: float | None


def chances_on_time(queue: Iterable[Waiting]) -> list[float | None]:
    """Return each job's chance to be done by its due date, in the order worked.

    The queue is worked earliest due date first (Jackson 1955). Hours up to and
    including a job are added by moments and taken as log-normal (Fenton 1960).
    """
    done, chances = NOTHING, []
    for job in queue:
        done = done + job.left
        known = job.available is not None
        chances.append(done.chance_within(job.available or 0.0) if known else None)
    return chances
