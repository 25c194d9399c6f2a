"""Days off: days away, with a reason, and the public holidays of a country."""

from collections.abc import Iterator
from datetime import date, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned
from burnplan.dates import format_day
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotFound
from burnplan.ledger.models import DayOff
from burnplan.sentences import Do
from burnplan.view import View

# Longer is hardly meant: probably a slip of the year.
_LONGEST = timedelta(days=366)  # a limit by definition
# How many years ahead public holidays are looked up; beyond, a few days make no difference.
_YEARS = 3  # a limit by definition


class DayOffView(View):
    """Days off, first and last included; public holidays have no number."""

    number: int | None
    starts_on: date
    ends_on: date
    reason: str


def _view(row: DayOff) -> DayOffView:
    return DayOffView(
        number=row.id, starts_on=row.starts_on, ends_on=row.ends_on, reason=row.reason
    )


def add(studio: Studio, first: date, last: date | None, reason: str) -> DayOffView:
    """Take a day off, or all days from a first to a last.

    Raises
    ------
    BadInput
        If they end before they begin, last more than a year, or have no reason.
    """
    last = last or first
    if last < first:
        raise BadInput(
            f"{format_day(last)} is before {format_day(first)}",
            "Give the first day off, then the last",
        )
    if last - first > _LONGEST:
        raise BadInput("That is more than a year", "Check the years, or pause the jobs instead")
    with studio.writing("days-off.add") as (book, entry):
        row = DayOff(starts_on=first, ends_on=last, reason=cleaned(reason, "reason"))
        book.add(row)
        book.flush()
        until = "" if last == first else f" to {format_day(last)}"
        entry.says(f"Took {format_day(first)}{until} off: {row.reason}")
        return _view(row)


def remove(studio: Studio, number: int) -> DayOffView:
    """Work on days that were off.

    Raises
    ------
    NotFound
        If there are none of that number.
    """
    with studio.writing("days-off.remove") as (book, entry):
        row = book.get(DayOff, number)
        if row is None:
            raise NotFound(f"No days off have the number {number}", "See ", Do("days_off.list"))
        view = _view(row)
        book.delete(row)
        entry.says(f"Works on days that were off: {view.reason}")
        return view


def to_come(studio: Studio, own: Settings, since: date | None = None) -> list[DayOffView]:
    """Return the days off not over yet, and a year of public holidays, in order.

    Those that are over too, from the day ``since`` on.
    """
    today = studio.today()
    first = since or today
    with studio.reading() as book:
        query = select(DayOff).where(DayOff.ends_on >= first)
        found = [_view(row) for row in book.scalars(query.order_by(DayOff.ends_on, DayOff.id))]
    for day, name in sorted(_public(own, first, 1 + today.year - first.year).items()):
        if first <= day <= today + timedelta(days=365):
            found.append(DayOffView(number=None, starts_on=day, ends_on=day, reason=name))
    return sorted(found, key=lambda one: (one.starts_on, one.ends_on))


def from_day(book: Session, own: Settings, first: date) -> frozenset[date]:
    """Return every day off from a day on: days away and public holidays."""
    query = select(DayOff.starts_on, DayOff.ends_on).where(DayOff.ends_on >= first)
    away = book.execute(query).all()
    days = {day for off in away for day in _days(max(off.starts_on, first), off.ends_on)}
    return frozenset(days | {day for day in _public(own, first, _YEARS) if day >= first})


def _days(first: date, last: date) -> Iterator[date]:
    for n in range((last - first).days + 1):
        yield first + timedelta(days=n)


def _public(own: Settings, first: date, years: int) -> dict[date, str]:
    """Return the public holidays of the year of a day and some after it, by day."""
    if not own.holidays:
        return {}
    from holidays import country_holidays

    country, _, part = own.holidays.partition("-")
    span = range(first.year, first.year + years + 1)
    return dict(country_holidays(country, subdiv=part or None, years=span))
