"""The hours free on the days to come, against a plain walk over them."""

from datetime import date, timedelta
from itertools import accumulate

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.reckon.free_hours import DAYS_AT_MOST, Capacity, FreeHours
from tests.reckon.queues import WEEK, calendars


@pytest.mark.long
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


def test_a_past_day_has_no_hours_and_today_those_that_are_left() -> None:
    monday = date(2027, 3, 1)
    ahead = FreeHours(Capacity((4.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0)), monday, 3.5)
    days = [ahead.until(monday + timedelta(days=n)) for n in (-8, -1, 0, 1, 6, 7)]
    assert days == [0.0, 0.0, 0.5, 1.5, 1.5, 5.5]
    assert FreeHours(ahead.capacity, monday, 9.0).until(monday) == 0.0
    assert FreeHours(ahead.capacity, monday).until(monday) == 4.0


def test_as_many_days_as_hold_both_hours_and_burning() -> None:
    ahead = FreeHours(Capacity((4.0,) * 7, burning=1.0), date(2027, 3, 1))
    assert ahead.running(8.0) == ([0, 4, 8], [0, 1, 2])
    assert ahead.running(8.1) == ([0, 4, 8, 12], [0, 1, 2, 3])
    assert ahead.running(8.0, 3.0) == ([0, 4, 8, 12], [0, 1, 2, 3])
    assert ahead.running(8.0, 3.1)[1] == [0, 1, 2, 3, 4]
    assert ahead.running(0.0) == ([0, 4], [0, 1])
    never = FreeHours(Capacity((0.01, 0, 0, 0, 0, 0, 0)), date(2027, 3, 1)).running(1e9)[0]
    assert len(never) == DAYS_AT_MOST + 1 == 36526


def test_burning_is_limited_where_some_day_has_more_hours() -> None:
    assert not Capacity((4.0,) * 7, burning=4.0).limits_burning
    assert Capacity((4.0,) * 6 + (4.1,), burning=4.0).limits_burning
    only = Capacity((6.0, 2.0, 0.0, 0.0, 0.0, 0.0, 0.0), frozenset({date(2027, 3, 1)}), 3.0)
    # Today's other hours go first; what was burned of them counts against the limit.
    for worked, burned, left in ((2.0, 0.0, 3.0), (2.0, 2.0, 1.0), (5.0, 0.5, 1.0)):
        ahead = FreeHours(Capacity((6.0,) * 7, burning=3.0), date(2027, 3, 1), worked, burned)
        assert ahead.running(6.0)[1][1] == ahead.only_burning.until(ahead.today) == left
        assert ahead.only_burning.until(date(2027, 3, 2)) == left + 3
    assert only.only_burning == Capacity((3.0, 2.0, 0, 0, 0, 0, 0), only.days_off, 3.0)
    assert [only.on(date(2027, 3, day)) for day in (1, 2, 8)] == [0, 2, 6]


@pytest.mark.parametrize(
    ("weekdays", "burning"),
    [
        ((4.0,) * 6, 24.0),
        ((4.0,) * 8, 24.0),
        ((0.0,) * 7, 24.0),
        ((4.0,) * 6 + (24.1,), 24.0),
        ((4.0,) * 6 + (-0.1,), 24.0),
        (WEEK, 0.0),
        (WEEK, 24.1),
    ],
)
def test_a_calendar_that_makes_no_sense(weekdays: tuple[float, ...], burning: float) -> None:
    with pytest.raises(BadInput):
        Capacity(weekdays, frozenset(), burning)


def test_a_calendar_at_its_edges() -> None:
    assert Capacity((24.0, 0, 0, 0, 0, 0, 0), burning=24.0).on(date(2027, 3, 1)) == 24
    assert Capacity((0.1, 0, 0, 0, 0, 0, 0), burning=0.1).on(date(2027, 3, 1)) == 0.1
