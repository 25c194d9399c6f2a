from contextlib import suppress
from datetime import date, datetime, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.dates import add_months, format_date, parse_date, parse_moment
from burnplan.errors import BadInput

TODAY = date(2027, 3, 17)  # a Wednesday


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2027-12-18", date(2027, 12, 18)),
        ("today", TODAY),
        ("Tomorrow", date(2027, 3, 18)),
        ("friday", date(2027, 3, 19)),
        ("wed", date(2027, 3, 24)),
        ("in 3 weeks", date(2027, 4, 7)),
        ("in a month", date(2027, 4, 17)),
        ("18 march", date(2027, 3, 18)),
        ("march 16", date(2028, 3, 16)),
        ("1 Dec 2030", date(2030, 12, 1)),
    ],
)
def test_a_date_is_read(text: str, day: date) -> None:
    assert parse_date(text, TODAY) == day


@pytest.mark.parametrize("text", ["", "soon", "2027-02-30", "31 april", "in 0x weeks", "99 march"])
def test_what_is_no_date_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        parse_date(text, TODAY)


def test_leap_days() -> None:
    assert add_months(date(2027, 2, 28), 12) == date(2028, 2, 28)
    assert add_months(date(2028, 2, 29), 12) == date(2029, 2, 28)
    assert parse_date("29 feb 2028", TODAY) == date(2028, 2, 29)
    with pytest.raises(BadInput):
        parse_date("29 feb", TODAY)  # 2027 has none: say the year


@given(st.text(max_size=30))
def test_no_text_breaks_the_readers(text: str) -> None:
    noon = datetime.combine(TODAY, time(12))
    with suppress(BadInput):
        parse_date(text, TODAY)
    with suppress(BadInput):
        parse_moment(text, noon)


@given(st.dates(date(2020, 1, 1), date(2040, 1, 1)))
def test_a_far_date_is_shown_with_its_year(day: date) -> None:
    assert (str(day.year) in format_date(day, TODAY)) == (abs((day - TODAY).days) >= 180)
