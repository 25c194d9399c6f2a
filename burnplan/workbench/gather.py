"""What each page needs to know, gathered from the desk in one go, off the screen's thread."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from burnplan.desk import (
    blanks,
    checklists,
    clients,
    commissions,
    jobs,
    payments,
    plans,
    quotes,
    references,
    sessions,
    settings,
    watching,
)
from burnplan.desk.settings import Settings
from burnplan.desk.studio import Studio

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from burnplan.desk.estimates import OnProgress


@dataclass(frozen=True, slots=True)
class Now:
    """What every page shows: the studio, its day, its clock; ``at`` is when it was looked up."""

    version: int
    own: Settings
    today: date
    at: datetime
    clock: sessions.SessionView | None

    def worked(self, at: datetime) -> timedelta:
        """Return the time of the open session at a moment."""
        if self.clock is None:
            return timedelta()
        spent = timedelta(hours=self.clock.hours)
        return spent + (at - self.at) if self.clock.state == "running" else spent


@dataclass(frozen=True, slots=True)
class Jobs:
    """The open jobs and what is planned for today."""

    jobs: list[jobs.JobView]
    planned: list[plans.PlannedView]


@dataclass(frozen=True, slots=True)
class Job:
    """One commission with all that belongs to it."""

    commission: commissions.CommissionView
    steps: list[checklists.StepView]
    reference: references.ReferenceView | None
    sessions: list[sessions.SessionView]
    quotes: list[quotes.QuoteView]
    payments: list[payments.PaymentView]


def now(studio: Studio) -> Now:
    """Gather what every page shows."""
    # The version first: what is written meanwhile is then noticed at the next look.
    version = watching.version(studio)
    return Now(
        version=version,
        own=settings.current(studio),
        today=studio.today(),
        at=studio.now(),
        clock=sessions.open_now(studio),
    )


def open_jobs(studio: Studio) -> Jobs:
    """Gather the open jobs, and the sessions planned for the rest of today."""
    tomorrow = studio.moment(datetime.combine(studio.today() + timedelta(days=1), time()))
    planned = plans.since(studio, studio.now())
    return Jobs(jobs.review(studio), [one for one in planned if one.starts_at < tomorrow])


def job(studio: Studio, code: str) -> Job:
    """Gather all of one commission."""
    found = commissions.show(studio, code)
    return Job(
        commission=found,
        steps=checklists.of(studio, code).steps,
        reference=references.show(studio, code) if found.references else None,
        sessions=sessions.all_of(studio, code),
        quotes=quotes.all_of(studio, code),
        payments=payments.all_of(studio, code),
    )


def stock(studio: Studio) -> list[blanks.BlankView]:
    """Gather the blanks in stock and held."""
    return blanks.everything(studio)


def people(studio: Studio) -> list[clients.ClientView]:
    """Gather the clients."""
    return clients.everyone(studio)


def pictures(
    studio: Studio, code: str, on_progress: "OnProgress"
) -> tuple["npt.NDArray[np.uint8]", "npt.NDArray[np.uint8]"]:
    """Read a reference again and return it in sepia, and its zones."""
    from burnplan.tone import render  # brings numpy: only where a picture is wanted

    _, reading = references.pictures(studio, code, on_progress)
    return render.sepia(reading.placed), render.zone_map(reading.zones)
