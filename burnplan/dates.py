"""Dates as people write them: ISO, or plain words in English."""

import calendar
import re
from datetime import date, datetime, time, timedelta

from burnplan.errors import BadInput

_DAYS = [name.lower() for name in calendar.day_name]
_MONTHS = [name.lower() for name in calendar.month_name]
# Patterns are compiled when first looked for: most commands read no date.
_IN = r"^(?:in )?(\d{1,3}|a|an|one|two|three|four|six) (day|week|month)s?( ago)?$"
_COUNTS = {"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "six": 6}
_DAY_MONTH = r"^(\d{1,2})\.? ([a-z]{3,9})\.?(?:,? (\d{4}))?$"
_MONTH_DAY = r"^([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?(?:,? (\d{4}))?$"
_MONTH_YEAR = r"^([a-z]{3,9})\.?,? (\d{4})$"
_FIGURES = r"^(\d{1,4})([./-]) ?(\d{1,2})\2 ?(\d{4}|\d{1,2})$"
_TWO_FIGURES = r"^(\d{1,2})(/|\. ?)(\d{1,2})\.?$"
_CLOCK = r"^(?:(.*) )?(\d{1,2})(?::(\d{2}))? ?(am|pm|a\.m\.|p\.m\.)?$"
# Nearer than this the turn of a year leaves no doubt which one is meant.
_SAME_YEAR_DAYS = 31
_HINT = "Write it like 2027-03-18, 'friday', '18 march' or 'in 3 weeks'"


def add_months(day: date, months: int) -> date:
    """Return the same day some months later, or the last of that month.

    Examples
    --------
    >>> add_months(date(2028, 1, 31), 1)
    datetime.date(2028, 2, 29)
    """
    years, month = divmod(day.month - 1 + months, 12)
    year = day.year + years
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def _month_number(word: str) -> int | None:
    found = [
        n for n, name in enumerate(_MONTHS) if name and len(word) >= 3 and name.startswith(word)
    ]
    return found[0] if len(found) == 1 else None


def _in_figures(text: str, figures: tuple[str, str, str, str], locale: str) -> date:
    """Return the date that three numbers mean: with points day first, else as the locale has it.

    Where the locale's order makes no date and the other one does, that is meant. A year of
    two figures is of this century.
    """
    first, mark, middle, last = figures
    if len(first) == 4:
        return date(int(first), int(middle), int(last))
    if len(first) > 2 or len(last) not in (2, 4):
        raise BadInput(f"The year of '{text}' is not written out", "Write it like 2027-03-18")
    year = int(last) + (2000 if len(last) == 2 else 0)
    return _ordered(text, int(first), int(middle), year, locale, points=mark == ".")


def _ordered(text: str, one: int, other: int, year: int, locale: str, *, points: bool) -> date:
    if points or one > 12 or one == other:
        day_first = True
    elif other > 12:
        day_first = False
    elif locale:
        day_first = not month_first(locale)
    else:
        raise BadInput(f"'{text}' could be two dates", "Write it like 2027-03-18")
    return date(year, other, one) if day_first else date(year, one, other)


def month_first(locale: str) -> bool:
    """Return whether dates in figures have the month before the day, by CLDR."""
    from babel.core import Locale  # heavy: only where it matters

    pattern = Locale.parse(locale).date_formats["short"].pattern
    return bool(pattern.index("M") < pattern.index("d"))


def parse_date(text: str, today: date, locale: str = "", *, past: bool = False) -> date:
    """Read a date.

    Parameters
    ----------
    text : str
        ISO (``2027-03-18``), a day name (the next one after today), ``last friday``,
        ``today``, ``tomorrow``, ``yesterday``, ``in 3 weeks``, ``3 days ago``,
        ``18 march``, ``18.3.`` or ``3/18`` (the next one), with the year too
        (``18.3.2027``, ``18/3/27``).
    today : date
        The day to reckon from.
    locale : str
        Whose order of day and month is meant where ``3/4/2027`` could be two
        dates; without it, that is refused.
    past : bool
        It is about what was: a day of which no year or no week is said is the last one,
        which may be today; ``may 2025`` is that month's last day.

    Raises
    ------
    BadInput
        If it is not a date.

    Examples
    --------
    >>> parse_date("friday", date(2027, 3, 17))
    datetime.date(2027, 3, 19)
    >>> parse_date("in 2 weeks", date(2027, 3, 17))
    datetime.date(2027, 3, 31)
    >>> parse_date("3/4/2027", date(2027, 3, 17), "en_US")
    datetime.date(2027, 3, 4)
    >>> parse_date("friday", date(2027, 3, 17), past=True)
    datetime.date(2027, 3, 12)
    """
    plain = " ".join(text.lower().split())
    relative = {"today": 0, "tomorrow": 1, "yesterday": -1}
    try:
        if plain in relative:
            return today + timedelta(days=relative[plain])
        weekday = plain.removeprefix("next ").removeprefix("last ").removeprefix("on ")
        matching = [
            n for n, name in enumerate(_DAYS) if len(weekday) >= 3 and name.startswith(weekday)
        ]
        if len(matching) == 1:
            return _weekday(matching[0], today, plain, past=past)
        if match := re.match(_IN, plain):
            count = (_COUNTS.get(match[1]) or int(match[1])) * (-1 if match[3] else 1)
            if match[2] == "month":
                return add_months(today, count)
            return today + timedelta(days=count * (7 if match[2] == "week" else 1))
        for pattern, day_group, month_group in ((_DAY_MONTH, 1, 2), (_MONTH_DAY, 2, 1)):
            if (match := re.match(pattern, plain)) and (month := _month_number(match[month_group])):
                if match[3]:
                    return date(int(match[3]), month, int(match[day_group]))
                return _nearest(date(today.year, month, int(match[day_group])), today, past=past)
        if past and (match := re.match(_MONTH_YEAR, plain)) and (month := _month_number(match[1])):
            return _last_of(int(match[2]), month, today)
        if match := re.match(_FIGURES, plain, re.ASCII):
            return _in_figures(text, (match[1], match[2], match[3], match[4]), locale)
        if match := re.match(_TWO_FIGURES, plain, re.ASCII):
            points = match[2] != "/"
            one, other = int(match[1]), int(match[3])
            found = _ordered(text, one, other, today.year, locale, points=points)
            return _nearest(found, today, past=past)
        return date.fromisoformat(plain)
    except (ValueError, OverflowError):
        raise BadInput(f"'{text}' is not a date", _HINT) from None


def _last_of(year: int, month: int, today: date) -> date:
    """Return the last day of a month that has begun, up to today."""
    if date(year, month, 1) > today:
        raise ValueError(month)
    return min(today, date(year, month, calendar.monthrange(year, month)[1]))


def _weekday(wanted: int, today: date, said: str, *, past: bool) -> date:
    """Return the next such day of the week; the last one if that is said or meant."""
    if said.startswith("last "):
        return today - timedelta(days=(today.weekday() - wanted - 1) % 7 + 1)
    if past and not said.startswith("next "):
        return today - timedelta(days=(today.weekday() - wanted) % 7)
    return today + timedelta(days=(wanted - today.weekday() - 1) % 7 + 1)


def _nearest(this_year: date, today: date, *, past: bool) -> date:
    """Return that day of this year, or of the next; of the last where it is about the past."""
    if past:
        return this_year if this_year <= today else this_year.replace(year=today.year - 1)
    return this_year if this_year >= today else this_year.replace(year=today.year + 1)


def parse_moment(text: str, now: datetime, locale: str = "", *, past: bool = False) -> datetime:
    """Read a moment on the wall clock: a date, a time of day, or both.

    Parameters
    ----------
    text : str
        ``14:30`` or ``8:30pm`` (today), ``yesterday 9:15``, ``2027-03-18 14:30`` or
        ``2027-03-18T14:30``, or ``now``; a bare date means its noon.
    now : datetime
        Local wall-clock time, without a zone.
    locale : str
        As for :func:`parse_date`.
    past : bool
        As there; a day of the week that is today, at a time to come, is a week ago.

    Returns
    -------
    datetime
        Local wall-clock time, without a zone.

    Raises
    ------
    BadInput
        If it is not a moment.

    Examples
    --------
    >>> parse_moment("yesterday 9:15", datetime(2027, 3, 18, 12)).isoformat()
    '2027-03-17T09:15:00'
    """
    plain = " ".join(re.sub(r"(?<=\d)T(?=\d)", " ", text).split())
    if plain.lower() == "now":
        return now
    match = re.match(_CLOCK, plain, re.IGNORECASE)
    if match is None or (match[3] is None and match[4] is None):
        return datetime.combine(parse_date(plain, now.date(), locale, past=past), time(12))
    day = parse_date(match[1], now.date(), locale, past=past) if match[1] else now.date()
    try:
        moment = datetime.combine(day, _time_of_day(int(match[2]), int(match[3] or 0), match[4]))
    except ValueError:
        raise BadInput(f"'{text}' is not a time", "Write it like 14:30 or yesterday 9:15") from None
    named = past and match[1] and any(match[1].lower()[:3] == name[:3] for name in _DAYS)
    return moment - timedelta(days=7) if named and moment > now else moment


def parse_time(text: str) -> time:
    """Read a time of day: ``9:00``, ``9`` or ``8:30pm``.

    Raises
    ------
    BadInput
        If it is not one.

    Examples
    --------
    >>> parse_time("8:30pm"), parse_time("9")
    (datetime.time(20, 30), datetime.time(9, 0))
    """
    match = re.match(_CLOCK, " ".join(text.split()), re.IGNORECASE)
    try:
        if match is None or match[1]:
            raise ValueError(text)
        return _time_of_day(int(match[2]), int(match[3] or 0), match[4])
    except ValueError:
        hint = "Write it like 9:00 or 8:30pm"
        raise BadInput(f"'{text}' is not a time of day", hint) from None


def _time_of_day(hour: int, minute: int, half: str | None) -> time:
    if half is None:
        return time(hour, minute)
    if not 1 <= hour <= 12:
        raise ValueError(hour)
    return time(hour % 12 + (12 if half[0] in "pP" else 0), minute)


def format_date(day: date, today: date) -> str:
    """Show a date briefly: ``today``, ``Fri 19 Mar``, with a year that is not this one.

    Examples
    --------
    >>> format_date(date(2027, 3, 19), date(2027, 3, 17))
    'Fri 19 Mar'
    """
    return "today" if day == today else _brief(day, today)


def _brief(day: date, today: date) -> str:
    near = abs((day - today).days) < _SAME_YEAR_DAYS
    text = format_day(day)
    return text.rpartition(" ")[0] if near or day.year == today.year else text


def that_was(day: date, today: date, hint: str) -> date:
    """Return a day of what was.

    Raises
    ------
    BadInput
        If it is still to come.
    """
    if day > today:
        raise BadInput(f"{format_day(day)} is still to come", hint)
    return day


def format_day(day: date) -> str:
    """Show a date with its year, for what is read on any later day.

    Examples
    --------
    >>> format_day(date(2027, 3, 19))
    'Fri 19 Mar 2027'
    """
    named = calendar.day_abbr[day.weekday()], calendar.month_abbr[day.month]
    return f"{named[0]} {day.day} {named[1]} {day.year}"


def format_month(month: str) -> str:
    """Show a month of ISO 8601.

    Examples
    --------
    >>> format_month("2027-03")
    'Mar 2027'
    """
    first = date.fromisoformat(f"{month}-01")
    return f"{calendar.month_abbr[first.month]} {first.year}"


def format_moment(moment: datetime, today: date) -> str:
    """Show a moment of wall-clock time briefly.

    Examples
    --------
    >>> format_moment(datetime(2027, 3, 19, 9, 5), date(2027, 3, 17))
    'Fri 19 Mar, 09:05'
    """
    return f"{_brief(moment.date(), today)}, {moment:%H:%M}"
