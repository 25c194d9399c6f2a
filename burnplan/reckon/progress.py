"""How far a job is: earned value in the terms of EIA-748, in hours, and in words."""

from collections.abc import Mapping
from typing import NamedTuple

from burnplan.reckon.remaining import RemainingHours
from burnplan.reckon.work import Work
from burnplan.units import format_hours_range


class EarnedValue(NamedTuple):
    """A job's earned value, in hours (terms of EIA-748).

    Parameters
    ----------
    bac : float
        Budget at completion: all hours planned.
    ev : float
        Earned value: planned hours of what is done.
    ac : float
        Actual cost: hours spent.
    """

    bac: float
    ev: float
    ac: float


def earned_value(
    planned: Mapping[Work, float], settled: Mapping[Work, float], spent: float
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
    """
    return EarnedValue(
        bac=sum(planned.values()),
        ev=sum(hours * settled.get(work, 0.0) for work, hours in planned.items()),
        ac=spent,
    )


def in_words(value: EarnedValue, left: RemainingHours, course: str = "") -> str:
    """Return a job's progress as a sentence without a full stop.

    Parameters
    ----------
    value : EarnedValue
    left : RemainingHours
    course : str, optional
        What the hours left mean for the date, like 'on course for Dec 12'.

    Examples
    --------
    >>> from burnplan.reckon.remaining import NOTHING, of_quantiles
    >>> in_words(EarnedValue(30, 12.3, 14.1), of_quantiles(11, 13), "on course for Dec 12")
    '41 % done in 47 % of its hours; 11 h (50 %) to 12 h (80 %) left; on course for Dec 12'
    >>> in_words(EarnedValue(30, 0, 0), of_quantiles(30, 41))
    'not begun; 30 h (50 %) to 37 h (80 %) left'
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
    range_ = f"{format_hours_range(left.p50, left.p80)} left"
    return "; ".join(part for part in (done, range_, course) if part)
