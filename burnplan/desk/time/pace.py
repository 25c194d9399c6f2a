"""What the hours on record say of this artist's pace."""

from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned
from burnplan.codes import commission_code
from burnplan.desk.derived import balances, pace_records, piece, studio_settings
from burnplan.desk.studio.lookup import find_commission, find_session
from burnplan.desk.studio.studio import Studio
from burnplan.errors import NotAllowed
from burnplan.ledger.models import Commission
from burnplan.reckon import pace as reckoned
from burnplan.reckon.backtest import Backtest, backtest
from burnplan.reckon.pace import Pace
from burnplan.reckon.pace_factors import pace_factors
from burnplan.reckon.standard_hours import PRIORS, burned
from burnplan.reckon.work import Work
from burnplan.view import View

# How many of the newest jobs show how good the forecasts are: more take seconds.
_TRIED = 60  # our own choice, for time: a coverage of 80 % is right within 5 %


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


def of_studio(studio: Studio) -> Pace:
    """Return this artist's pace; what is believed beforehand where there is no book yet."""
    if not studio.has_book:
        return reckoned.PRIOR_PACE
    with studio.reading() as book:
        return pace_records.pace_for(book, studio.now())


def trial(studio: Studio) -> BacktestView:
    """Forecast each finished job from those finished on earlier days only."""
    with studio.reading() as book:
        jobs = pace_records.records(book, studio.now()).jobs()
    return _tried(backtest(jobs))


def _tried(found: Backtest) -> BacktestView:
    return BacktestView(
        jobs=[TriedView.of(job) for job in found.jobs],
        coverage_p10_p90=found.coverage,
        median_ape=found.median_ape,
        pinball=found.pinball,
    )


def delivered_rows(book: Session, now: datetime) -> list[dict[str, Any]]:
    """Return the delivered commissions as rows of the past-jobs file: what they teach.

    Its prices are in the studio's currency: one in another is left out.
    """
    currency = studio_settings.of_book(book).currency
    rows = []
    for commission, job in pace_records.delivered(book, now):
        size = piece.size_of(commission)
        whole = {work: hours for work, hours in job.hours.items() if work not in job.share}
        if size is None or not whole:
            continue
        quote, face = balances.agreed_quote(commission), burned(job.plan)
        rows.append(
            {
                "title": commission.title,
                "finished_on": commission.delivered_on,
                "width_mm": size.width_mm,
                "height_mm": size.height_mm,
                "outline": size.kind.value,
                "species": job.plan.species,
                "darkness": round(face.darkness, 4),
                "texture": round(face.texture, 4),
                "line_cm": round(job.plan.lines.drawn_cm, 1),
                **{f"{work.value}_h": whole.get(work) for work in Work},
                "price": quote.total if quote and quote.currency == currency else None,
                "total_h": None,
                "covers": "",
                "covered": "" if face.share in (0, 1) else round(face.share, 4),
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
        session = find_session(book, number)
        session.set_aside = cleaned(reason, "reason")
        entry.says(
            f"Session {number} of '{session.commission.title}' teaches nothing:"
            f" {session.set_aside}",
            session.commission_id,
        )


def teach_again(studio: Studio, number: int) -> None:
    """Let the hours of a session that was set aside teach the pace again.

    Raises
    ------
    NotFound
        If there is no such session.
    NotAllowed
        If it was not set aside.
    """
    with studio.writing("session.teach") as (book, entry):
        session = find_session(book, number)
        if session.set_aside is None:
            raise NotAllowed(f"Session {number} was not set aside", "There is nothing to take back")
        session.set_aside = None
        entry.says(
            f"Session {number} of '{session.commission.title}' teaches again",
            session.commission_id,
        )


class LearnedView(View):
    """A factor on the starting guess, nine times in ten sure within a share either way."""

    about: str
    factor: float
    within: float
    words: str


class SuspectView(View):
    """Hours on record that look wrong; ``work`` is None where only a sum is known.

    A job that was brought in has its number among the past jobs.
    """

    title: str
    past_number: int | None
    work: str | None
    hours: float
    expected_h: float


class UnsettledView(View):
    """Hours of a job that teach nothing: of these stages, while these steps are open."""

    code: str
    title: str
    stages: list[Work]
    hours: float
    steps: list[int]


class PriorView(View):
    """One of the starting guesses, with where it comes from."""

    name: str
    value: float
    unit: str
    about: str
    provenance: str


class PaceView(View):
    """What is known of an artist's pace; ``tried`` are the newest sixty jobs.

    ``unsettled`` are delivered jobs, the newest first.
    """

    jobs: int
    learned: list[LearnedView]
    suspects: list[SuspectView]
    unsettled: list[UnsettledView]
    priors: list[PriorView]
    tried: BacktestView


def unsettled(studio: Studio, which: str) -> UnsettledView | None:
    """Return which hours of a job teach nothing as its steps stand; None if there are none."""
    with studio.reading() as book:
        commission = find_commission(book, which)
        if not commission.references:
            return None
        found = pace_records.unsettled(book, commission, studio.now())
        return found and _unsettled(commission, found)


def _unsettled(commission: Commission, found: pace_records.Unsettled) -> UnsettledView:
    return UnsettledView(
        code=commission_code(commission.id),
        title=commission.title,
        stages=[*found.hours],
        hours=sum(found.hours.values()),
        steps=found.steps,
    )


def review(studio: Studio) -> PaceView:
    """Return what the hours on record say, and the starting guess they are held against."""
    newest, now = reckoned.MEMORY + _TRIED, studio.now()
    with studio.reading() as book:
        jobs = pace_records.records(book, now, newest=newest).jobs()
        open_steps = [_unsettled(*one) for one in pace_records.all_unsettled(book, now, newest)]
    pace = reckoned.learn(jobs)
    return PaceView(
        jobs=pace.jobs,
        learned=[LearnedView.of(one, words=one.in_words()) for one in pace_factors(pace)],
        suspects=[
            SuspectView.of(one, work=one.stage.value if one.stage else None)
            for one in pace.suspects
        ],
        unsettled=open_steps,
        priors=[PriorView.of(prior, name=name) for name, prior in PRIORS.items()],
        tried=_tried(backtest(jobs, newest=_TRIED)),
    )
