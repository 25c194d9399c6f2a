"""The queue of booked work and the hours free for it, as the book has them.

No numpy here: the review of open jobs must be instant.
"""

from collections.abc import Mapping
from datetime import date, datetime
from typing import TYPE_CHECKING, NamedTuple

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from burnplan.codes import commission_code
from burnplan.dates import format_date
from burnplan.desk.derived import balances, checklist_progress
from burnplan.desk.derived.checklist_progress import ChecklistProgress
from burnplan.desk.derived.studio_settings import Settings
from burnplan.ledger.models import Commission
from burnplan.reckon.lateness import Course, course_of
from burnplan.reckon.progress import earned_value, in_words
from burnplan.reckon.remaining import NOTHING, RemainingHours, left_as_judged, left_of_job
from burnplan.reckon.stages import Stage
from burnplan.reckon.work import Work
from burnplan.units import format_chance
from burnplan.view import View

if TYPE_CHECKING:
    from burnplan.reckon.job_queue import Queued

IN_QUEUE = (
    Stage.BOOKED, Stage.PREPARED, Stage.TRANSFERRED, Stage.BURNING, Stage.FINISHING,
)  # fmt: skip


class HoursLeft(View):
    """Hours that are enough in half and in four fifths of cases; None if not known."""

    p50: float | None
    p80: float | None


class JobStatus(NamedTuple):
    """A commission with what was found out about it.

    ``left`` is None if not known; ``settled`` is the share done of each stage.
    """

    commission: Commission
    standing: ChecklistProgress
    stage: Stage
    left: RemainingHours | None
    settled: Mapping[Work, float]

    @property
    def key(self) -> str:
        """Its code."""
        return commission_code(self.commission.id)

    @property
    def hours_left(self) -> HoursLeft:
        """Its hours left, as they are shown."""
        left = self.left
        return HoursLeft(p50=left.p50 if left else None, p80=left.p80 if left else None)

    @property
    def judged(self) -> bool:
        """Whether its hours are as somebody judged them: it has no reference yet."""
        return self.left is not None and not self.commission.references

    @property
    def in_queue(self) -> bool:
        """Whether it is booked, not finished and not set aside."""
        return self.stage in IN_QUEUE and self.commission.paused_on is None


def status_of(commission: Commission, now: datetime) -> JobStatus:
    """Find out a commission's stage and the hours left of it."""
    return _look(commission, checklist_progress.of(commission), now)


def open_statuses(book: Session, now: datetime) -> list[JobStatus]:
    """Find out the same about all open commissions."""
    return _statuses(book, Commission.is_open.expression, now)


def unsettled_statuses(book: Session, now: datetime) -> list[JobStatus]:
    """Find out the same about closed commissions of which money is open."""
    return _statuses(book, Commission.unsettled.is_(True), now)


def _statuses(book: Session, which: ColumnElement[bool], now: datetime) -> list[JobStatus]:
    stands = checklist_progress.of_all(book, select(Commission.id).where(which))
    query = select(Commission).where(which).order_by(Commission.id)
    found = book.scalars(query.options(*checklist_progress.with_rows()))
    return [_look(one, stands[one.id], now) for one in found]


def _look(commission: Commission, stands: ChecklistProgress, now: datetime) -> JobStatus:
    stage = checklist_progress.stage(commission, stands)
    settled = checklist_progress.settled_shares(commission, stands)
    left: RemainingHours | None
    if stage in (Stage.READY, Stage.DELIVERED, Stage.DROPPED):
        left = NOTHING
    elif commission.references:
        own = _own_hours(commission, stands, now)
        left = left_of_job(commission.references[-1].hours, settled, *own)
    else:
        left = _left_as_judged(commission, now)
    return JobStatus(commission, stands, stage, left, settled)


def left_if_burned(looked: JobStatus, share: float, now: datetime) -> RemainingHours | None:
    """Return the hours left of a job with a reference, if a share of its burning is done.

    None where nothing is left of it to forecast.
    """
    commission = looked.commission
    if not commission.references or looked.left is None or looked.left == NOTHING:
        return None
    own = _own_hours(commission, looked.standing, now)
    return left_of_job(commission.references[-1].hours, {**looked.settled, Work.BURN: share}, *own)


def _left_as_judged(commission: Commission, now: datetime) -> RemainingHours | None:
    """Return the hours left by the quote, which somebody judged them for; None without one."""
    quote = balances.agreed_quote(commission)
    if quote is None or quote.hours_p50 <= 0:
        return None
    spent = sum(session.hours(now) for session in commission.sessions)
    return left_as_judged(quote.hours_p50, spent)


def _own_hours(
    commission: Commission, stands: ChecklistProgress, now: datetime
) -> tuple[dict[Work, float], dict[Work, float]]:
    """Return the hours logged on what is settled, and on zones still under way.

    Hours set aside say nothing of the job's pace.
    """
    settled: dict[Work, float] = {}
    under_way: dict[Work, float] = {}
    for session in commission.sessions:
        if session.set_aside is not None:
            continue
        begun = session.zone in stands.zones_left
        into = under_way if begun else settled
        work = Work(session.work)
        into[work] = into.get(work, 0.0) + session.hours(now)
    return settled, under_way


def median_left(looked: JobStatus) -> dict[Work, float]:
    """Return the median hours left of each stage as forecast; hours judged are of burning."""
    if not looked.commission.references:
        return dict.fromkeys(Work, 0.0) | {Work.BURN: looked.left.p50 if looked.left else 0.0}
    forecast = looked.commission.references[-1].hours
    return {work: (1 - looked.settled[work]) * forecast[work]["p50"] for work in Work}


def queued(looked: JobStatus, own: Settings) -> "Queued":
    """Return a commission as it stands in the queue."""
    from burnplan.reckon.job_queue import Queued  # only where booked jobs wait

    commission = looked.commission
    rest = median_left(looked)
    whole = sum(rest.values())
    drying = own.drying_days if looked.settled[Work.FINISH] < 1 else 0
    return Queued(
        key=looked.key,
        left=looked.left or NOTHING,
        due=commission.due_on,
        burning=rest[Work.BURN] / whole if whole else 0.0,
        before=(rest[Work.PREPARE] + rest[Work.TRANSFER]) / whole if whole else 0.0,
        days_after=drying + own.delivery_days,
    )


def share_done(looked: JobStatus, now: datetime) -> float:
    """Return how much of a job is done, 0 to 1, by its median hours; by those judged without any.

    Zero where nothing is known of its hours; one that is ready is done, whatever was not ticked.
    """
    commission = looked.commission
    if looked.stage is Stage.READY:
        return 1.0
    if commission.references:
        forecast = commission.references[-1].hours
        value = earned_value({work: forecast[work]["p50"] for work in Work}, looked.settled, 0.0)
        return value.ev / value.bac if value.bac else 0.0
    quote = balances.agreed_quote(commission)
    if quote is None or quote.hours_p50 <= 0:
        return 0.0
    spent = sum(session.hours(now) for session in commission.sessions)
    return min(1.0, spent / quote.hours_p50)


def progress_words(looked: JobStatus, chance: float | None, now: datetime, today: date) -> str:
    """Return a job's progress as a sentence; empty where its hours are not known."""
    commission = looked.commission
    if looked.left is None or not commission.references:
        return ""
    forecast = commission.references[-1].hours
    spent = sum(session.hours(now) for session in commission.sessions)
    value = earned_value({work: forecast[work]["p50"] for work in Work}, looked.settled, spent)
    return in_words(value, looked.left, _course(commission, chance, today))


def _course(commission: Commission, chance: float | None, today: date) -> str:
    if chance is None or commission.due_on is None:
        return ""
    due, course = format_date(commission.due_on, today), course_of(chance)
    if course is Course.ON_COURSE:
        return f"{course} for {due}"
    return f"{course} for {due}: {format_chance(chance)} chance"
