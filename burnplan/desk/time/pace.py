"""What the hours on record say of this artist's pace."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Select, select
from sqlalchemy.orm import Session, selectinload

from burnplan.desk.derived import balances, checklist_progress
from burnplan.desk.derived.checklist_progress import ChecklistProgress
from burnplan.desk.jobs import checklists
from burnplan.desk.studio.lookup import cleaned
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import own_species
from burnplan.errors import NotFound
from burnplan.ledger import models, overview
from burnplan.ledger.models import BurnSession, Commission
from burnplan.outline import Outline, OutlineKind
from burnplan.reckon import pace as reckoned
from burnplan.reckon.backtest import Backtest, backtest
from burnplan.reckon.pace import Pace, PastJob
from burnplan.reckon.pace_factors import pace_factors
from burnplan.reckon.work import (
    PRIORS,
    UNKNOWN_DARKNESS,
    UNKNOWN_TEXTURE,
    Work,
    WorkPlan,
    coarse_plan,
    read_grade,
)
from burnplan.view import View

# How many of the newest jobs show how good the forecasts are: more take seconds.
_TRIED = 60


class TriedView(View):
    """A past job with what would have been forecast for it from earlier ones."""

    title: str
    finished_on: date
    actual_h: float
    p10: float
    p50: float
    p80: float
    p90: float


class BacktestView(View):
    """How well past jobs would have been forecast, in order of date."""

    jobs: list[TriedView]
    coverage_p10_p90: float | None
    median_ape: float | None
    pinball: float | None


def _of_row(book: Session, row: models.PastJob) -> PastJob:
    """Return a past job brought in, as the pace learns from it."""
    kind = OutlineKind(row.outline)
    shape = OutlineKind.RECTANGLE if kind is OutlineKind.LIVE_EDGE else kind
    wood = own_species.on_record(book, row.species) if row.species else None
    plan = coarse_plan(
        row.width_mm,
        row.height_mm,
        Outline(shape, row.width_mm, row.height_mm).area_cm2,
        species=row.species,
        hardness_lbf=wood.hardness_lbf if wood else None,
        darkness=read_grade(row.darkness, UNKNOWN_DARKNESS),
        texture=read_grade(row.texture, UNKNOWN_TEXTURE),
        line_cm=row.line_cm,
    )
    known = {work: getattr(row, f"{work.value}_h") for work in Work}
    hours = {work: value for work, value in known.items() if value is not None}
    return PastJob(row.title, plan, hours, row.finished_on)


def _of_commission(
    commission: Commission, stands: ChecklistProgress | None, now: datetime
) -> PastJob:
    """Return a commission as the pace learns from it.

    Hours of a stage teach as a whole once all its steps are settled; before
    that only by the zones burned, or as the least it takes. ``stands`` is None
    once it is delivered.
    """
    hours: dict[Work, float] = {}
    for session in commission.sessions:
        if session.set_aside is None and session.closed:
            work = Work(session.work)
            hours[work] = hours.get(work, 0.0) + session.hours(now)
    share: dict[Work, float | None] = {}
    if stands is not None:
        done = checklist_progress.settled_shares(commission, stands)
        for work in hours:
            if done[work] < 1:
                share[work] = done[work] if work is Work.BURN and done[work] > 0 else None
    plan = WorkPlan.from_dict(commission.references[-1].plan)
    return PastJob(commission.title, plan, hours, commission.delivered_on, share=share)


@dataclass(frozen=True, slots=True)
class Records:
    """The jobs on record that can teach: those brought in, and the studio's own."""

    brought_in: list[PastJob]
    by_commission: dict[int, PastJob]

    def jobs(self, *, without: int | None = None) -> list[PastJob]:
        """Return them all; the commission of a number can be left out."""
        own = (job for number, job in self.by_commission.items() if number != without)
        return [*self.brought_in, *own]

    def pace(self, *, without: int | None = None) -> Pace:
        """Return the pace they show.

        A job's own forecast leaves its own hours out: what they say of what is
        left of it is reckoned apart, and must not count twice.
        """
        return reckoned.learn(self.jobs(without=without))


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
    stands = checklist_progress.of_all(book, overview.open_numbers())
    under_way = _teaching().where(Commission.is_open).order_by(Commission.id)
    own = {one.id: _of_commission(one, None, now) for one in _delivered(book, newest)}
    own |= {one.id: _of_commission(one, stands[one.id], now) for one in book.scalars(under_way)}
    return Records([_of_row(book, row) for row in book.scalars(brought_in.limit(newest))], own)


def _teaching() -> Select[Commission]:
    """Ask for the commissions that have a plan, and hours that can teach."""
    return (
        select(Commission)
        .options(*checklist_progress.with_rows())
        .where(
            Commission.references.any(),
            Commission.sessions.any(BurnSession.closed & BurnSession.set_aside.is_(None)),
        )
    )


def _delivered(book: Session, newest: int | None = None) -> Iterable[Commission]:
    """Read the delivered commissions that can teach, the newest first, some at a time."""
    query = _teaching().where(Commission.delivered_on.is_not(None)).limit(newest)
    order = (Commission.delivered_on.desc(), Commission.id.desc())
    return book.scalars(
        query.order_by(*order).execution_options(yield_per=checklist_progress.AT_A_TIME)
    )


def learned(book: Session, now: datetime, *, without: int | None = None) -> Pace:
    """Return the pace that an open book shows; a commission can be left out."""
    return records(book, now, newest=reckoned.MEMORY).pace(without=without)


def of_studio(studio: Studio) -> Pace:
    """Return this artist's pace; what is believed beforehand where there is no book yet."""
    if not studio.has_book:
        return reckoned.PRIOR_PACE
    with studio.reading() as book:
        return learned(book, studio.now())


def refresh_open(book: Session, now: datetime) -> None:
    """Forecast every open commission again: the pace has learned something."""
    to_do = book.scalars(
        select(Commission)
        .options(selectinload(Commission.references))
        .where(Commission.is_open, Commission.references.any())
    ).all()
    if not to_do:
        return
    known = records(book, now, newest=reckoned.MEMORY)
    of_all = known.pace()
    for commission in to_do:
        reference, number = commission.references[-1], commission.id
        pace = known.pace(without=number) if number in known.by_commission else of_all
        reference.hours = pace.forecast(WorkPlan.from_dict(reference.plan)).to_dict()


def trial(studio: Studio) -> BacktestView:
    """Forecast each finished job from those finished on earlier days only."""
    with studio.reading() as book:
        jobs = records(book, studio.now()).jobs()
    return _tried(backtest(jobs))


def _tried(found: Backtest) -> BacktestView:
    return BacktestView(
        jobs=[
            TriedView(
                title=job.title,
                finished_on=job.finished_on,
                actual_h=job.actual_h,
                p10=job.p10,
                p50=job.p50,
                p80=job.p80,
                p90=job.p90,
            )
            for job in found.jobs
        ],
        coverage_p10_p90=found.coverage,
        median_ape=found.median_ape,
        pinball=found.pinball,
    )


def delivered_rows(book: Session, now: datetime) -> list[dict[str, Any]]:
    """Return the delivered commissions as rows of the past-jobs file."""
    rows = []
    for commission in _delivered(book):
        job, size = _of_commission(commission, None, now), checklists.size_of(commission)
        if size is None:
            continue
        quote = balances.agreed_quote(commission)
        rows.append(
            {
                "title": commission.title,
                "finished_on": commission.delivered_on,
                "width_mm": size.width_mm,
                "height_mm": size.height_mm,
                "outline": size.kind.value,
                "species": job.plan.species,
                "darkness": round(job.plan.darkness, 4),
                "texture": round(job.plan.texture, 4),
                "line_cm": round(job.plan.lines.drawn_cm, 1),
                **{f"{work.value}_h": job.hours.get(work) for work in Work},
                "price": quote.total if quote else None,
            }
        )
    return rows[::-1]


def set_aside(studio: Studio, number: int, reason: str) -> None:
    """Keep a session's hours from teaching the pace, with the reason.

    Its hours still count as worked: only the learning leaves them out.

    Raises
    ------
    NotFound
        If there is no such session.
    """
    with studio.writing("session.set-aside") as (book, entry):
        session = book.get(BurnSession, number)
        if session is None:
            raise NotFound(f"There is no session {number}", "See 'burnplan session list'")
        session.set_aside = cleaned(reason, "reason")
        book.flush()
        refresh_open(book, studio.now())
        entry.says(
            f"Session {number} of '{session.commission.title}' teaches nothing:"
            f" {session.set_aside}",
            session.commission_id,
        )


class LearnedView(View):
    """A factor on the starting guess, nine times in ten sure within a share either way."""

    about: str
    factor: float
    within: float
    words: str


class SuspectView(View):
    """Hours on record that look wrong; ``work`` is None where only a sum is known."""

    title: str
    work: str | None
    hours: float
    expected_h: float


class PriorView(View):
    """One of the starting guesses, with where it comes from."""

    name: str
    value: float
    unit: str
    about: str
    provenance: str


class PaceView(View):
    """What is known of an artist's pace; ``tried`` are the newest sixty jobs."""

    jobs: int
    learned: list[LearnedView]
    suspects: list[SuspectView]
    priors: list[PriorView]
    tried: BacktestView


def review(studio: Studio) -> PaceView:
    """Return what the hours on record say, and the starting guess they are held against."""
    with studio.reading() as book:
        jobs = records(book, studio.now(), newest=reckoned.MEMORY + _TRIED).jobs()
    pace = reckoned.learn(jobs)
    return PaceView(
        jobs=pace.jobs,
        learned=[
            LearnedView(about=one.about, factor=one.factor, within=one.within, words=one.in_words())
            for one in pace_factors(pace)
        ],
        suspects=[
            SuspectView(
                title=one.title,
                work=one.stage.value if one.stage else None,
                hours=one.hours,
                expected_h=one.expected_h,
            )
            for one in pace.suspects
        ],
        priors=[
            PriorView(
                name=name,
                value=prior.value,
                unit=prior.unit,
                about=prior.about,
                provenance=prior.provenance,
            )
            for name, prior in PRIORS.items()
        ],
        tried=_tried(backtest(jobs, newest=_TRIED)),
    )
