"""The hours free for work, and for burning, on each day to come.

Everything counts in whole dates: daylight saving, time zones and leap days have
nowhere to enter.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from burnplan.errors import BadInput

DAYS_AT_MOST = 36525
"""How far ahead anything is looked at: a hundred years (a limit by definition)."""

NO_HOURS = 1e-6
"""Hours that make no difference: sums of floats may miss a day's end by a few milliseconds.
A limit by definition."""


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
    burning: float = 24.0  # no limit, by definition

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
    worked_today, burned_today : float
        Hours of today that are gone, and those of burning among them.
    """

    capacity: Capacity
    today: date
    worked_today: float = 0.0
    burned_today: float = 0.0

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

    def burning_on(self, day: date) -> float:
        """Return the most hours of burning that a date has left, if there is time."""
        return max(0.0, self.capacity.burning - (self.burned_today if day == self.today else 0.0))

    @property
    def only_burning(self) -> "FreeHours":
        """The same days with only the hours free for burning."""
        capacity = self.capacity.only_burning
        left = min(self.until(self.today), self.burning_on(self.today))
        return FreeHours(capacity, self.today, capacity.on(self.today) - left)

    def running(self, hours: float, burning: float = 0.0) -> tuple[list[float], list[float]]:
        """Return the hours free, and free for burning, before each day and after the last.

        As many days as hold both numbers of hours, at most DAYS_AT_MOST.
        """
        total, burned = [0.0], [0.0]
        for n in range(DAYS_AT_MOST):
            day = self.today + timedelta(days=n)
            free = self.capacity.on(day) - (0.0 if n else self._gone)
            total.append(total[-1] + free)
            burned.append(burned[-1] + min(free, self.burning_on(day)))
            if total[-1] >= hours and burned[-1] >= burning:
                break
        return total, burned
