"""The jobs on record that can teach this artist's pace, and the pace they show."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cached_property
from itertools import islice
from typing import NamedTuple

from sqlalchemy import Select, select
from sqlalchemy.orm import Session, selectinload
from sqlalchemy.sql.base import ExecutableOption

from burnplan.desk.derived import checklist_progress, piece, woods
from burnplan.desk.derived.checklist_progress import ChecklistProgress
from burnplan.ledger import models
from burnplan.ledger.models import BurnSession, Commission, SpoiledPiece, Step
from burnplan.outline import Outline, OutlineKind
from burnplan.reckon import pace as reckoned
from burnplan.reckon.pace import Pace
from burnplan.reckon.pace_rows import PastJob
from burnplan.reckon.standard_hours import coarse_plan
from burnplan.reckon.work import (
    UNKNOWN_DARKNESS,
    UNKNOWN_TEXTURE,
    Work,
    WorkPlan,
    detail_by_eye,
    read_covered,
    read_covers,
    read_grade,
)


def _of_row(book: Session, row: models.PastJob) -> PastJob:
    """Return a past job brought in, as the pace learns from it."""
    kind = OutlineKind(row.outline)
    shape = OutlineKind.RECTANGLE if kind is OutlineKind.LIVE_EDGE else kind
    wood = woods.on_record(book, row.species) if row.species else None
    plan = coarse_plan(
        row.width_mm,
        row.height_mm,
        Outline(shape, row.width_mm, row.height_mm).area_cm2,
        species=row.species,
        hardness_lbf=wood.hardness_lbf if wood else None,
        darkness=read_grade(row.darkness, UNKNOWN_DARKNESS),
        texture=read_grade(row.texture, UNKNOWN_TEXTURE, detail_by_eye),
        covered=read_covered(row.covered),
        line_cm=row.line_cm,
    )
    known = {work: getattr(row, f"{work.value}_h") for work in Work}
    hours = {work: value for work, value in known.items() if value is not None}
    if row.total_h is None:
        return PastJob(row.title, plan, hours, row.finished_on, past_number=row.id)
    covers = read_covers(row.covers)
    job = PastJob.of_total(row.title, plan, hours, row.finished_on, row.total_h, covers)
    return replace(job, past_number=row.id)


def of_commission(
    commission: Commission, plan: WorkPlan, stands: ChecklistProgress, now: datetime
) -> PastJob:
    """Return a commission with its work plan as the pace learns from it.

    Hours of a stage teach once all its steps are settled, delivered or not: how much of the
    stage they are is not known else. Before that those of burning teach by the zones that
    are done, if all its sittings say on which zone they were.
    """
    done = checklist_progress.settled_shares(commission, stands)
    hours, share = _finished(commission.sessions, done, stands.zones_done, now)
    return PastJob(
        commission.title,
        plan,
        hours,
        commission.delivered_on,
        share=share,
        under_way=commission.delivered_on is None,
    )


def what_teaches(
    commission: Commission, plan: WorkPlan | None, stands: ChecklistProgress, now: datetime
) -> PastJob | None:
    """Return what the pace learns from a commission, whatever its title; None for nothing."""
    if plan is None or commission.dropped_on is not None:
        return None
    job = of_commission(commission, plan, stands, now)
    return replace(job, title="") if job.hours else None


class Unsettled(NamedTuple):
    """Hours on record of a job that teach nothing: steps of their stages are open.

    Parameters
    ----------
    hours : dict of Work to float
    steps : list of int
        The numbers of those steps.
    """

    hours: dict[Work, float]
    steps: list[int]


def unsettled(book: Session, commission: Commission, now: datetime) -> Unsettled | None:
    """Return which hours of a job with a plan teach nothing as its steps stand; None if none."""
    plan, stands = piece.work_plan(book, commission), checklist_progress.of(commission)
    taught = of_commission(commission, plan, stands, now).hours
    left = {
        work: length - taught.get(work, 0.0)
        for work, length in _hours(commission.sessions, now).items()
        if length > taught.get(work, 0.0)
    }
    steps = [
        number
        for number, step in enumerate(commission.steps, start=1)
        if not step.settled
        and step.phase in left
        and (step.phase != Work.BURN or step.zone is not None)
    ]
    return Unsettled(left, steps) if steps else None


def of_spoiled(spoiled: SpoiledPiece, now: datetime) -> PastJob | None:
    """Return a spoiled piece as the pace learns from it; None if its work was not planned."""
    if spoiled.plan is None:
        return None
    done = {work: spoiled.done[work.value] for work in Work}
    hours, share = _finished(spoiled.sessions, done, spoiled.done["zones"], now)
    plan, title = WorkPlan.from_dict(spoiled.plan), spoiled.commission.title
    return PastJob(title, plan, hours, spoiled.spoiled_on, share=share)


def _hours(sessions: Iterable[BurnSession], now: datetime) -> dict[Work, float]:
    """Return the hours of each stage that are to teach."""
    hours: dict[Work, float] = {}
    for session in sessions:
        if session.set_aside is None and session.closed:
            work = Work(session.work)
            hours[work] = hours.get(work, 0.0) + session.hours(now)
    return hours


def _finished(
    sessions: Iterable[BurnSession],
    done: Mapping[Work, float],
    zones_done: Collection[int],
    now: datetime,
) -> tuple[dict[Work, float], dict[Work, float]]:
    """Return the hours of what is finished by stage, and the share that they are of burning."""
    sessions = list(sessions)
    hours = {work: h for work, h in _hours(sessions, now).items() if done[work] >= 1}
    burning = [session for session in sessions if session.work == Work.BURN]
    if 0 < done[Work.BURN] < 1 and all(session.zone is not None for session in burning):
        of_zones = _hours((one for one in burning if one.zone in zones_done), now)
        return hours | of_zones, dict.fromkeys(of_zones, done[Work.BURN])
    return hours, {}


# Of the jobs under way so many at most are each left out alone: see Records.pace_for.
_FOLDS = 8  # our own choice, for time: nobody has many jobs under way


@dataclass(frozen=True)
class Records:
    """The jobs on record that can teach: those brought in, and the studio's own.

    Parameters
    ----------
    finished : list of PastJob
        Spoiled pieces too: nothing will be added to them.
    under_way : dict of int to PastJob
        By the number of the commission.
    """

    finished: list[PastJob]
    under_way: dict[int, PastJob]
    _paces: dict[int | None, Pace] = field(default_factory=dict)

    def jobs(self) -> list[PastJob]:
        """Return them all."""
        return [*self.finished, *self.under_way.values()]

    @cached_property
    def _folds(self) -> dict[int, int]:
        return {one: place % _FOLDS for place, one in enumerate(self.under_way)}

    def pace_for(self, number: int | None = None) -> Pace:
        """Return the pace by which the commission of a number is forecast.

        A job's own hours are left out: what they say of what is left of it is
        reckoned apart, and must not count twice. Where many jobs are under way
        some are left out together (cross-fitting), so that pace is learned a few
        times at most.
        """
        fold = self._folds.get(number) if number is not None else None
        if fold not in self._paces:
            own = [job for one, job in self.under_way.items() if self._folds[one] != fold]
            self._paces[fold] = reckoned.learn([*self.finished, *own])
        return self._paces[fold]


def records(book: Session, now: datetime, *, newest: int | None = None) -> Records:
    """Read the jobs that can teach: brought in, delivered, or under way.

    Parameters
    ----------
    book : Session
    now : datetime
    newest : int, optional
        How many of the finished ones of each kind, at most.
    """
    past, last = models.PastJob, models.PastJob.finished_on.desc().nulls_last()
    brought_in = select(past).where(past.set_aside.is_(None)).order_by(last, past.id.desc())
    under_way = _teaching().where(Commission.is_open).order_by(Commission.id)
    own = islice(delivered(book, now), newest)
    spoiled = (of_spoiled(one, now) for one in book.scalars(_spoiled().limit(newest)))
    begun = _as_learned(book, book.scalars(under_way), now)
    return Records(
        [
            *(_of_row(book, row) for row in book.scalars(brought_in.limit(newest))),
            *(job for _, job in own),
            *(one for one in spoiled if one is not None and one.hours),
        ],
        {one.id: job for one, job in begun},
    )


def _as_learned(
    book: Session, commissions: Iterable[Commission], now: datetime
) -> Iterator[tuple[Commission, PastJob]]:
    """Give the commissions that teach, with what each does, read some at a time."""
    rest = iter(commissions)
    while some := [*islice(rest, checklist_progress.AT_A_TIME)]:
        numbers = select(Commission.id).where(Commission.id.in_([one.id for one in some]))
        stands, plans = checklist_progress.of_all(book, numbers), piece.work_plans(book, some)
        for one in some:
            job = of_commission(one, plans[one.id], stands[one.id], now)
            if job.hours:
                yield one, job


def _teaching() -> Select[Commission]:
    """Ask for the commissions that have a plan, and hours that can teach."""
    return (
        select(Commission)
        .options(*with_hours())
        .where(
            Commission.references.any(),
            Commission.sessions.any(BurnSession.closed & BurnSession.set_aside.is_(None)),
        )
    )


def with_hours() -> tuple[ExecutableOption, ...]:
    """Return loading options that fetch in a few queries what a commission teaches."""
    return (
        selectinload(Commission.blank),
        selectinload(Commission.references),
        selectinload(Commission.sessions).selectinload(BurnSession.intervals),
    )


def _spoiled() -> Select[SpoiledPiece]:
    """Ask for the spoiled pieces, the newest first."""
    return (
        select(SpoiledPiece)
        .options(
            selectinload(SpoiledPiece.commission),
            selectinload(SpoiledPiece.sessions).selectinload(BurnSession.intervals),
        )
        .order_by(SpoiledPiece.spoiled_on.desc(), SpoiledPiece.id.desc())
    )


def delivered(book: Session, now: datetime) -> Iterator[tuple[Commission, PastJob]]:
    """Read the delivered commissions that teach, the newest first, some at a time."""
    query = _delivered().where(Commission.steps.any(Step.settled & (Step.phase.in_(Work))))
    return _as_learned(book, book.scalars(query), now)


def all_unsettled(
    book: Session, now: datetime, newest: int | None = None
) -> Iterator[tuple[Commission, Unsettled]]:
    """Read the delivered commissions with hours that teach nothing as their steps stand."""
    steps = Commission.steps.any(~Step.settled & (Step.phase.in_(Work)))
    for one in book.scalars(_delivered().where(steps).limit(newest)):
        if (found := unsettled(book, one, now)) is not None:
            yield one, found


def _delivered() -> Select[Commission]:
    """Ask for the delivered commissions with hours that could teach, the newest first."""
    return (
        _teaching()
        .where(Commission.delivered_on.is_not(None))
        .order_by(Commission.delivered_on.desc(), Commission.id.desc())
        .execution_options(yield_per=checklist_progress.AT_A_TIME)
    )


def pace_for(book: Session, now: datetime, number: int | None = None) -> Pace:
    """Return the pace that an open book shows; for the commission of a number without its own."""
    return records(book, now, newest=reckoned.MEMORY).pace_for(number)
