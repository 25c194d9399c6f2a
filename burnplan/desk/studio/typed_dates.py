"""Dates as typed: in the order that the studio's locale has, and in its time zone."""

from datetime import date, datetime

from burnplan.dates import parse_date, parse_moment
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio


def _locale(studio: Studio, text: str) -> str:
    """Return the locale that a date is read in, looked up only where the date may need it."""
    return settings.current(studio).locale if "/" in text or "-" in text else ""


def day(studio: Studio, text: str, *, past: bool = False) -> date:
    """Return the day that was typed; ``past`` where it is about what was."""
    return parse_date(text, studio.today(), _locale(studio, text), past=past)


def moment(studio: Studio, text: str, *, past: bool = False) -> datetime:
    """Return the moment that was typed, in UTC; ``past`` where it is about what was."""
    now = studio.local(studio.now())
    return studio.moment(parse_moment(text, now, _locale(studio, text), past=past))
