"""Promises: when the booked jobs will be done, and what date one more can be given.

The schedule is sampled, which brings numpy: nothing that must be instant comes
here.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Literal

from pydantic import Field
from sqlalchemy.orm import Session

from burnplan.desk.derived import job_status, studio_settings
from burnplan.desk.derived.job_status import JobStatus
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.studio import free_hours
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed
from burnplan.ledger.models import Commission
from burnplan.reckon import lateness, promise
from burnplan.reckon.free_hours import FreeHours
from burnplan.reckon.job_queue import Queued, weeks_ahead
from burnplan.reckon.promise import Offer, Outlook, outlooks
from burnplan.reckon.remaining import RemainingHours, judged
from burnplan.reckon.stages import Stage
from burnplan.sentences import Do
from burnplan.view import View

MOST_WEEKS = 60  # a limit by definition
_NEW = "new"


class Expected(View):
    """When a booked job will be with its client.

    ``p50``, ``p80`` and ``p90`` will do in so many per cent of cases;
    ``hangs_on`` is the code of the job whose hours move its date most, which
    may be its own, and ``risk_share`` the part of the spread that goes with it.
    """

    code: str
    title: str
    client: str | None
    due: date | None
    hours_left_p50: float
    hours_left_p80: float
    p50: date
    p80: date
    p90: date
    on_time: float | None
    risk: Literal["full", "own", "another"] | None
    hangs_on: str
    risk_share: float


class Touched(View):
    """What a new booking does to a job: its chance to be on time before and after."""

    code: str
    title: str
    due: date | None
    before: float
    after: float
    harmed: bool


class Date(View):
    """A date for a new job, the chance that it is met, and what it does to others."""

    ready: date
    chance: float
    others: list[Touched]


class Offered(View):
    """The dates that can be promised for a job: the earliest, and the earliest that harms none."""

    code: str | None
    title: str | None
    due: date | None
    booked: bool  # it was in the queue, and taken out of it to find these dates
    hours_p50: float
    hours_p80: float
    confidence: float
    earliest: Date
    sparing: Date


class Week(View):
    """A week of the season, hours.

    ``booked`` is the queue's median hours laid in order into those free;
    ``due_hours`` the median hours of the jobs due in it, and ``spare`` what is
    free until its end beyond all hours due by then: below zero is too much.
    """

    monday: date
    free: float
    booked: float
    due_hours: float
    due: list[str]
    spare: float


class FewestLate(View):
    """Which jobs would be late, by hours that are enough in half the cases.

    Earliest due date first, the usual order, keeps the greatest lateness small;
    Moore's rule instead makes the fewest jobs late.
    """

    usual_order: list[str]
    fewest: list[str]


class Promises(View):
    """The queue's dates; those for a new job and the weeks where asked for."""

    queue: list[Expected]
    late: FewestLate
    unknown: list[str]
    offer: Offered | None = None
    weeks: list[Week] = Field(default_factory=list)


def typed_chance(text: str) -> float:
    """Return the chance to keep a date that was typed in per cent.

    Raises
    ------
    BadInput
        If no date is promised at such a one.

    Examples
    --------
    >>> typed_chance("90 %")
    0.9
    """
    try:
        value = float(text.strip().removesuffix("%").strip().replace(",", "."))
    except ValueError:
        value = 0.0
    if not 50 <= value <= 99.5:
        raise BadInput(
            f"'{text}' is no chance to promise a date at", "Give between 50 and 99.5, like 90"
        )
    return value / 100


def look_ahead(
    studio: Studio,
    which: str | None = None,
    *,
    hours: float | None = None,
    confidence: float = 0.9,  # our own choice, as reckon.promise has it
    weeks: int = 0,
) -> Promises:
    """Return the dates of the queue, and those that can be promised for one more job.

    Parameters
    ----------
    studio : Studio
    which : str, optional
        A commission to find a date for; one that is booked is taken out of the
        queue first.
    hours : float, optional
        Hours of the new job as judged, where no reference was measured.
    confidence : float
    weeks : int
        How many weeks of the season to return, from this one on.

    Raises
    ------
    BadInput
        If the new job's hours are not known, or weeks or confidence make no sense.
    NotAllowed
        If the commission is closed or finished.
    """
    if not 0 <= weeks <= MOST_WEEKS:
        raise BadInput(f"{weeks} weeks cannot be looked at", f"Give between 0 and {MOST_WEEKS}")
    with studio.reading() as book:
        own = studio_settings.of_book(book)
        wanted = None if which is None else find_commission(book, which)
        booked, looked, known, waiting, ahead = _queue(book, own, studio, wanted)
        found = Promises(
            queue=[_expected(outlook, known) for outlook in outlooks(waiting, ahead)],
            late=_late(waiting, ahead),
            unknown=[one.key for one in looked if one.left is None],
            weeks=[Week(**week._asdict()) for week in weeks_ahead(waiting, ahead, weeks)],
        )
        if wanted is not None or hours is not None:
            new = _new(wanted, hours, own, studio)
            found.offer = _offer(new, wanted, waiting, known, ahead, confidence)
            found.offer.booked = len(looked) < len(booked)
        return found


def dates_for(
    studio: Studio, which: str, sizes: Sequence[RemainingHours | None], confidence: float
) -> list[Date]:
    """Return the earliest dates that harm no other job, for a job that may take other hours.

    Parameters
    ----------
    studio : Studio
    which : str
        The commission; one that is booked is taken out of the queue first.
    sizes : sequence of RemainingHours or None
        Hours of the job in each of its sizes; None for those it has as it is.
    confidence : float

    Raises
    ------
    BadInput
        If the hours as it is are not known.
    NotAllowed
        If the commission is closed or finished.
    """
    with studio.reading() as book:
        own, wanted = studio_settings.of_book(book), find_commission(book, which)
        _, _, known, waiting, ahead = _queue(book, own, studio, wanted)
        news = [_new(wanted, None, own, studio, left) for left in sizes]
        return [_offer(new, wanted, waiting, known, ahead, confidence).sparing for new in news]


def _queue(
    book: Session, own: Settings, studio: Studio, wanted: Commission | None
) -> tuple[list[JobStatus], list[JobStatus], dict[str, JobStatus], list[Queued], FreeHours]:
    """Return the jobs booked, those besides the one wanted, of known hours by code, and queued."""
    booked = [one for one in job_status.open_statuses(book, studio.now()) if one.in_queue]
    looked = [one for one in booked if wanted is None or one.commission.id != wanted.id]
    known = {one.key: one for one in looked if one.left is not None}
    waiting = [job_status.queued(one, own) for one in known.values()]
    return booked, looked, known, waiting, free_hours.ahead(book, own, studio)


def _late(waiting: list[Queued], ahead: FreeHours) -> FewestLate:
    hours = [job.left.p50 for job in waiting]
    free = [ahead.until(job.work_due) for job in waiting]
    _, fewest = lateness.fewest_late(hours, free)
    return FewestLate(
        usual_order=[waiting[number].key for number in lateness.late_in_order(hours, free)],
        fewest=[waiting[number].key for number in fewest],
    )


def _expected(outlook: Outlook, known: dict[str, JobStatus]) -> Expected:
    looked = known[outlook.key]
    left, commission = looked.left, looked.commission
    return Expected(
        code=outlook.key,
        title=commission.title,
        client=commission.client.name if commission.client else None,
        due=commission.due_on,
        hours_left_p50=left.p50 if left else 0.0,
        hours_left_p80=left.p80 if left else 0.0,
        p50=outlook.p50,
        p80=outlook.p80,
        p90=outlook.p90,
        on_time=outlook.on_time,
        risk=outlook.risk.value if outlook.risk else None,
        hangs_on=outlook.hangs_on,
        risk_share=outlook.risk_share,
    )


def _new(
    wanted: Commission | None,
    hours: float | None,
    own: Settings,
    studio: Studio,
    other: RemainingHours | None = None,
) -> Queued:
    """Return the new job as it would stand in the queue, without a date."""
    days = own.drying_days + own.delivery_days
    said = None if hours is None else _judged(hours)
    if wanted is None:
        return Queued(_NEW, said or _judged(0), None, days_after=days)
    looked = job_status.status_of(wanted, studio.now())
    if looked.stage in (Stage.READY, Stage.DELIVERED, Stage.DROPPED):
        raise NotAllowed(
            f"{looked.key} is {looked.stage.value} already", "Give one that is still to be made"
        )
    left = said or other or looked.left
    if left is None:
        raise BadInput(
            f"{looked.key} has no reference to reckon its hours from",
            "Add one (",
            Do("reference.add", job=looked.key),
            ") or say ",
            Do("promise.hours"),
        )
    return replace(job_status.queued(looked, own), left=left, due=None)


def _judged(hours: float) -> RemainingHours:
    """Return hours as judged, refused where they make no sense."""
    if not 0 < hours <= 2000:
        raise BadInput(
            "The hours must be above 0, at most 2000",
            "Give them like ",
            Do("promise.hours", hours=12),
        )
    return judged(hours)


def _offer(
    new: Queued,
    wanted: Commission | None,
    waiting: list[Queued],
    known: dict[str, JobStatus],
    ahead: FreeHours,
    confidence: float,
) -> Offered:
    found = promise.promise(waiting, new, ahead, confidence=confidence)
    return Offered(
        code=new.key if wanted else None,
        title=wanted.title if wanted else None,
        due=wanted.due_on if wanted else None,
        booked=False,
        hours_p50=new.left.p50,
        hours_p80=new.left.p80,
        confidence=confidence,
        earliest=_date(found.earliest, known),
        sparing=_date(found.sparing, known),
    )


def _date(offer: Offer, known: dict[str, JobStatus]) -> Date:
    others = []
    for effect in offer.effects:
        commission = known[effect.key].commission
        others.append(
            Touched(
                code=effect.key,
                title=commission.title,
                due=commission.due_on,
                before=effect.before,
                after=effect.after,
                harmed=effect.key in offer.harmed,
            )
        )
    return Date(ready=offer.ready, chance=offer.chance, others=others)
