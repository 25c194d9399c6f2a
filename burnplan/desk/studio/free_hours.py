"""When there is time to work: the hours free on each day to come."""

from datetime import datetime, time
from typing import TYPE_CHECKING

from burnplan.desk.derived.studio_settings import DAYS, Settings
from burnplan.desk.studio import days_off
from burnplan.desk.studio.studio import Studio
from burnplan.ledger import overview

if TYPE_CHECKING:
    from burnplan.ledger.overview import Reader
    from burnplan.reckon.free_hours import Capacity, FreeHours


def capacity(book: "Reader", own: Settings, studio: Studio) -> "Capacity":
    """Return when there is time to work."""
    from burnplan.reckon.free_hours import Capacity

    return Capacity(
        tuple(own.hours[day] for day in DAYS),
        days_off.from_today(book, own, studio.today()),
        own.burning_hours,
    )


def ahead(book: "Reader", own: Settings, studio: Studio) -> "FreeHours":
    """Return the hours ahead, less those worked today."""
    from burnplan.reckon.free_hours import FreeHours

    return FreeHours(capacity(book, own, studio), studio.today(), worked_today(book, studio))


def worked_today(book: "Reader", studio: Studio) -> float:
    """Return the hours on record since midnight here, on any job."""
    now = studio.now()
    midnight = studio.moment(datetime.combine(studio.today(), time()))
    seconds = sum(
        max(0.0, ((interval.ended_at or now) - max(interval.started_at, midnight)).total_seconds())
        for interval in overview.intervals_since(book, midnight)
    )
    return seconds / 3600
