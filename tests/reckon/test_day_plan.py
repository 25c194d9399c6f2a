"""The day plan: laid into the hours free, with breaks, around what is there already."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.reckon.day_plan import (
    BREAK,
    STEP,
    STRETCH,
    Day,
    Piece,
    Sitting,
    begins,
    breaks_for,
    lay_out,
    sitting,
    still_to_lay,
)
from burnplan.reckon.work import Work

NINE = datetime(2027, 3, 17, 9)  # noqa: DTZ001 any clock will do
FIRST, BURN = Work.PREPARE, Work.BURN


def minutes(number: float) -> timedelta:
    return timedelta(minutes=number)


def day(free: float, burning: float = 1440, busy: Sequence[Sitting] = (), number: int = 0) -> Day:
    start = NINE + timedelta(days=number)
    midnight = start + timedelta(hours=15)
    return Day(start, midnight, minutes(free), minutes(burning), busy)


def shown(made: list[Sitting]) -> list[tuple[str, int, str, int]]:
    """Beginning, job, work and minutes of each sitting."""
    return [
        (f"{one.starts_at:%d %H:%M}", one.job, one.work.value, one.length // minutes(1))
        for one in made
    ]


@given(st.integers(1, 1440))
def test_no_stretch_is_longer_than_one_and_a_half(minutes: int) -> None:
    breaks = breaks_for(minutes)
    worked = [timedelta(), *(at - n * BREAK for n, at in enumerate(breaks))]
    worked.append(timedelta(minutes=minutes))
    stretches = [later - earlier for earlier, later in pairwise(worked)]
    assert all(timedelta() < stretch <= 1.5 * STRETCH for stretch in stretches)
    assert all(stretch == STRETCH for stretch in stretches[:-1])


@pytest.mark.parametrize(
    ("worked", "breaks"), [(50, 0), (75, 0), (76, 1), (125, 1), (126, 2), (240, 4)]
)
def test_breaks_come_on_top(worked: int, breaks: int) -> None:
    made = sitting(1, BURN, NINE, minutes(worked))
    assert made.breaks == breaks * minutes(10)
    assert made.ends_at == NINE + minutes(worked + 10 * breaks)


def test_stretch_and_break_are_those_of_the_trade() -> None:
    """Common practice, no source."""
    assert (minutes(50), minutes(10), minutes(5)) == (STRETCH, BREAK, STEP)


@pytest.mark.parametrize(("now", "at"), [(-60, 0), (0, 0), (1, 5), (5, 5), (5.01, 10), (61, 65)])
def test_a_day_begins_as_usual_or_on_the_next_full_step(now: float, at: float) -> None:
    assert begins(NINE, NINE + minutes(now)) == NINE + minutes(at)


def test_what_is_laid_already_is_taken_off() -> None:
    parts = {Work.PREPARE: 1.0, Work.TRANSFER: 1.0, Work.BURN: 6.0, Work.FINISH: 0.0}
    planned = [sitting(7, BURN, NINE, minutes(100)), sitting(7, BURN, NINE, minutes(20)),
               sitting(8, BURN, NINE, minutes(60))]  # fmt: skip
    # Four hours by the medians' shares: 30, 30 and 180 minutes, of which 120 are laid.
    assert still_to_lay([(7, 4.0, parts)], planned) == [
        Piece(7, Work.PREPARE, minutes(30)),
        Piece(7, Work.TRANSFER, minutes(30)),
        Piece(7, BURN, minutes(60)),
    ]
    # What is left of burning is less than a step, or nothing is known of the stages.
    assert still_to_lay([(7, 4.0, parts)], [sitting(7, BURN, NINE, minutes(176))])[2:] == []
    assert still_to_lay([(7, 4.0, parts)], [sitting(7, BURN, NINE, minutes(175))])[2:] != []
    assert still_to_lay([(7, 4.0, dict.fromkeys(Work, 0.0))], []) == []


def test_a_day_is_filled_in_order_with_a_break_between() -> None:
    pieces = [
        Piece(1, FIRST, minutes(42)),
        Piece(1, BURN, minutes(130)),
        Piece(2, FIRST, minutes(90)),
    ]
    made = lay_out([day(240), day(240, number=1)], pieces)
    # 42 minutes are laid as 45; the next begins a step later, after 50 or more a break later.
    assert shown(made) == [
        ("17 09:00", 1, "prepare", 45),
        ("17 09:50", 1, "burn", 130),
        ("17 12:30", 2, "prepare", 65),
        ("18 09:00", 2, "prepare", 25),
    ]


@pytest.mark.parametrize(("first", "then"), [(45, "09:50"), (50, "10:00"), (55, "10:05")])
def test_a_whole_stretch_is_rested_from(first: int, then: str) -> None:
    made = lay_out([day(240)], [Piece(1, FIRST, minutes(first)), Piece(1, BURN, minutes(60))])
    assert f"{made[1].starts_at:%H:%M}" == then


def test_burning_is_limited_and_other_work_goes_before_it() -> None:
    pieces = [Piece(1, BURN, minutes(200)), Piece(1, Work.FINISH, minutes(30)),
              Piece(2, FIRST, minutes(60))]  # fmt: skip
    made = lay_out([day(240, burning=90), day(240, burning=90, number=1)], pieces)
    # The finish of a job waits for its burning; another job's wood does not.
    assert shown(made) == [
        ("17 09:00", 1, "burn", 90),
        ("17 10:50", 2, "prepare", 60),
        ("18 09:00", 1, "burn", 90),
    ]


def test_what_is_planned_counts_and_is_gone_around() -> None:
    busy = [sitting(3, BURN, NINE + minutes(180), minutes(60)),
            sitting(3, FIRST, NINE + minutes(60), minutes(30))]  # fmt: skip
    made = lay_out([day(240, burning=120, busy=busy)], [Piece(1, BURN, minutes(300))])
    # 150 minutes are free, of burning 60; before ten there is room for 50 with a break.
    assert shown(made) == [("17 09:00", 1, "burn", 50)]
    made = lay_out([day(240, busy=busy)], [Piece(1, BURN, minutes(300))])
    # 60 minutes to the first, 90 between the two, five sixths of each; 25 more are too few.
    assert shown(made) == [("17 09:00", 1, "burn", 50), ("17 10:30", 1, "burn", 75)]


def test_less_than_half_an_hour_is_laid_only_where_it_is_all() -> None:
    assert lay_out([day(29)], [Piece(1, BURN, minutes(60))]) == []
    assert shown(lay_out([day(29)], [Piece(1, BURN, minutes(20))])) == [("17 09:00", 1, "burn", 20)]
    assert shown(lay_out([day(30)], [Piece(1, BURN, minutes(60))])) == [("17 09:00", 1, "burn", 30)]
    assert lay_out([day(4)], [Piece(1, BURN, minutes(20))]) == []
    assert shown(lay_out([day(5)], [Piece(1, BURN, minutes(5))])) == [("17 09:00", 1, "burn", 5)]
    gap = [sitting(3, BURN, NINE + minutes(29), minutes(60))]
    made = lay_out([day(240, busy=gap)], [Piece(1, BURN, minutes(20))])
    assert shown(made) == [("17 10:29", 1, "burn", 20)]


def test_nothing_is_laid_beyond_the_day() -> None:
    late = Day(NINE + timedelta(hours=14), NINE + timedelta(hours=15), minutes(240), minutes(240))
    assert shown(lay_out([late], [Piece(1, BURN, minutes(300))])) == [("17 23:00", 1, "burn", 50)]
    over = late._replace(begins=late.ends)
    assert lay_out([over], [Piece(1, BURN, minutes(300))]) == []


@given(
    st.lists(st.tuples(st.integers(1, 3), st.sampled_from(Work), st.integers(5, 400)), max_size=8),
    st.lists(st.tuples(st.integers(0, 300), st.integers(0, 120)), min_size=1, max_size=5),
)
def test_days_hold_no_more_than_their_hours_and_all_else_is_laid(
    work: list[tuple[int, Work, int]], hours: list[tuple[int, int]]
) -> None:
    pieces = [Piece(job, stage, minutes(length)) for job, stage, length in work]
    days = [day(free, burning, number=n) for n, (free, burning) in enumerate(hours)]
    made = lay_out(days, pieces)
    for earlier, later in pairwise(made):
        assert earlier.ends_at < later.starts_at
    for one in days:
        mine = [x for x in made if one.begins <= x.starts_at < one.ends]
        assert sum((x.length for x in mine), timedelta()) <= one.free
        burned = (x.length for x in mine if x.work is BURN)
        assert sum(burned, timedelta()) <= max(one.burning, timedelta())
    for job in (1, 2, 3):
        wanted = sum((piece.length for piece in pieces if piece.job == job), timedelta())
        laid = sum((x.length for x in made if x.job == job), timedelta())
        assert laid <= wanted + len(work) * STEP
