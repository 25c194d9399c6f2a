"""The hours free on the days to come, against a plain walk over them."""

from datetime import date, timedelta
from itertools import accumulate

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.reckon.free_hours import Capacity, FreeHours
from tests.reckon.queues import WEEK, calendars


@given(calendars, st.dates(date(2028, 2, 15), date(2028, 4, 1)), st.integers(-5, 500),
       st.sampled_from([0.0, 1.0, 30.0]))  # fmt: skip
def test_hours_until_a_day_are_those_of_each_date_once(
    capacity: Capacity, today: date, days: int, worked: float
) -> None:
    """Over the leap day of 2028 and the clock changes of March: a date is a date."""
    ahead = FreeHours(capacity, today, worked)
    dates = [today + timedelta(days=n) for n in range(days + 1)]
    free = [0.0 if d in capacity.days_off else capacity.weekdays[d.weekday()] for d in dates]
    if free:
        free[0] = max(0.0, free[0] - worked)
    assert ahead.until(today + timedelta(days=days)) == pytest.approx(sum(free))
    total, burned = ahead.running(sum(free))
    assert total[: len(free) + 1] == pytest.approx(list(accumulate(free, initial=0))[: len(total)])
    limited = accumulate((min(hours, capacity.burning) for hours in free), initial=0)
    assert burned[: len(free) + 1] == pytest.approx(list(limited)[: len(burned)])


@pytest.mark.parametrize(
    ("weekdays", "burning"),
    [((4.0,) * 6, 24.0), ((0.0,) * 7, 24.0), ((25.0,) * 7, 24.0), (WEEK, 0.0), (WEEK, 30.0)],
)
def test_a_calendar_that_makes_no_sense(weekdays: tuple[float, ...], burning: float) -> None:
    with pytest.raises(BadInput):
        Capacity(weekdays, frozenset(), burning)
