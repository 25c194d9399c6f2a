"""When there is time to work: the hours free on each day to come."""

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from burnplan.desk.derived.studio_settings import DAYS, Settings
from burnplan.desk.studio import days_off
from burnplan.desk.studio.studio import Studio
from burnplan.ledger.models import BurnSession, Interval
from burnplan.reckon.work import Work

if TYPE_CHECKING:
    from burnplan.reckon.free_hours import Capacity, FreeHours


def capacity(book: Session, own: Settings, studio: Studio, since: date | None = None) -> "Capacity":
    """Return when there is time to work, from today on or from another day."""
    from burnplan.reckon.free_hours import Capacity

    return Capacity(
        tuple(own.hours[day] for day in DAYS),
        days_off.from_day(book, own, since or studio.today()),
        own.burning_hours,
    )


def ahead(book: Session, own: Settings, studio: Studio) -> "FreeHours":
    """Return the hours ahead, less those worked today."""
    from burnplan.reckon.free_hours import FreeHours

    worked, burning = worked_today(book, studio), BurnSession.work == Work.BURN
    burned = worked_today(book, studio, burning) if worked and own.burning_hours < 24 else 0.0
    return FreeHours(capacity(book, own, studio), studio.today(), worked, burned)


def worked_today(book: Session, studio: Studio, *which: ColumnElement[bool]) -> float:
    """Return the hours on record since midnight here, on any job; of some sessions alone."""
    now = studio.now()
    midnight = studio.midnight(studio.today())
    query = (
        select(Interval.started_at, Interval.ended_at)
        .join(Interval.session)
        .where(
            BurnSession.replaced_by_id.is_(None),
            Interval.ended_at.is_(None) | (Interval.ended_at > midnight),
            *which,
        )
    )
    seconds: Iterator[float] = (
        ((one.ended_at or now) - max(one.started_at, midnight)).total_seconds()
        for one in book.execute(query)
    )
    return sum(max(0.0, some) for some in seconds) / 3600
