from contextlib import suppress
from datetime import date, datetime, time

import pytest
from babel.core import Locale
from babel.dates import format_date as babel_date
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
        ("3 weeks", date(2027, 4, 7)),
        ("a month", date(2027, 4, 17)),
        ("20.01.2027", date(2027, 1, 20)),
        ("3. 4. 2027", date(2027, 4, 3)),
        ("20/01/2027", date(2027, 1, 20)),
        ("3/18/2027", date(2027, 3, 18)),
        ("4/4/2027", date(2027, 4, 4)),
        ("2027/3/18", date(2027, 3, 18)),
    ],
)
def test_a_date_is_read(text: str, day: date) -> None:
    assert parse_date(text, TODAY) == day


@pytest.mark.parametrize(
    ("locale", "day"),
    [("en_US", date(2027, 3, 4)), ("en_GB", date(2027, 4, 3)), ("de_DE", date(2027, 4, 3))],
)
def test_a_date_that_could_be_two_is_as_the_locale_has_it(locale: str, day: date) -> None:
    assert parse_date("3/4/2027", TODAY, locale) == day
    assert parse_date("3.4.2027", TODAY, locale) == date(2027, 4, 3)
    noon = datetime.combine(TODAY, time(12))
    assert parse_moment("3/4/2027 9:15", noon, locale) == datetime.combine(day, time(9, 15))
    with pytest.raises(BadInput, match=r"could be two dates.*2027-03-18"):
        parse_date("3/4/2027", TODAY)


@given(
    st.dates(date(2000, 1, 1), date(2099, 12, 31)),
    st.sampled_from(["en_US", "en_GB", "en_CA", "fr_FR", "pt_BR", "de_DE", "nl_NL", "ja_JP"]),
)
def test_a_date_as_cldr_writes_it_is_read(day: date, locale: str) -> None:
    """CLDR's short pattern of the locale, written by Babel with the year in full."""
    short = Locale.parse(locale).date_formats["short"].pattern
    pattern = short if "yy" not in short else short.replace("yy", "y")
    assert parse_date(babel_date(day, pattern, locale=locale), TODAY, locale) == day


@pytest.mark.parametrize(
    ("text", "locale", "day"),
    [
        ("12/20", "en_US", date(2027, 12, 20)),
        ("3/4", "en_US", date(2028, 3, 4)),
        ("3/4", "en_GB", date(2027, 4, 3)),
        ("12/30/26", "en_US", date(2026, 12, 30)),
        ("30.12.26", "de_DE", date(2026, 12, 30)),
        ("20.12.", "de_DE", date(2027, 12, 20)),
        ("last friday", "", date(2027, 3, 12)),
        ("last wednesday", "", date(2027, 3, 10)),
        ("3 days ago", "", date(2027, 3, 14)),
        ("a month ago", "", date(2027, 2, 17)),
    ],
)
def test_what_people_type(text: str, locale: str, day: date) -> None:
    assert parse_date(text, TODAY, locale) == day


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("wednesday", TODAY),
        ("thursday", date(2027, 3, 11)),
        ("next friday", date(2027, 3, 19)),
        ("18 march", date(2026, 3, 18)),
        ("3/16", date(2027, 3, 16)),
        ("in 2 days", date(2027, 3, 19)),
    ],
)
def test_about_the_past_the_last_one_is_meant(text: str, day: date) -> None:
    assert parse_date(text, TODAY, "en_US", past=True) == day


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("8:30pm", "2027-03-17T20:30"),
        ("8 pm", "2027-03-17T20:00"),
        ("12:15 AM", "2027-03-17T00:15"),
        ("yesterday 12pm", "2027-03-16T12:00"),
        ("monday 9:30", "2027-03-15T09:30"),
        ("wednesday 9:30", "2027-03-17T09:30"),
        ("wednesday 18:00", "2027-03-10T18:00"),
    ],
)
def test_a_time_is_read_as_people_say_it(text: str, moment: str) -> None:
    noon = datetime.combine(TODAY, time(12))
    assert parse_moment(text, noon, past=True) == datetime.fromisoformat(moment)
    with pytest.raises(BadInput):
        parse_moment("13 pm", noon)


@pytest.mark.parametrize("text", ["Tuesday 9:15", "tomorrow 9:15", "2027-03-18T9:15"])
def test_a_capital_t_is_no_separator_inside_a_word(text: str) -> None:
    moment = parse_moment(text, datetime.combine(TODAY, time(12)))
    assert moment.time() == time(9, 15)
    assert moment.date() > TODAY


@pytest.mark.parametrize(
    "text",
    [
        "",
        "soon",
        "30/02/2027",
        "30.2.2027",
        "3/4/27",
        "13/13/2027",
        "2027-02-30",
        "31 april",
        "in 0x weeks",
        "99 march",
    ],
)
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
def test_a_date_of_another_year_is_shown_with_it(day: date) -> None:
    plain = day.year == TODAY.year or abs((day - TODAY).days) < 31
    assert (str(day.year) in format_date(day, TODAY)) == (not plain)


def test_the_turn_of_the_year_needs_no_year() -> None:
    december = date(2026, 12, 20)
    assert format_date(date(2027, 1, 5), december) == "Tue 5 Jan"
    assert format_date(date(2027, 1, 20), december) == "Wed 20 Jan 2027"


def test_a_month_of_the_past_is_its_last_day() -> None:
    today = date(2027, 3, 17)
    assert parse_date("May 2025", today, past=True) == date(2025, 5, 31)
    assert parse_date("mar. 2027", today, past=True) == today
    for text, past in (
        ("May 2025", False),
        ("Apr 2027", True),
        ("Moy 2025", True),
        ("May 0000", True),
    ):
        with pytest.raises(BadInput, match="is not a date"):
            parse_date(text, today, past=past)
