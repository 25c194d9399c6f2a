"""What delivered jobs really earned: by job, by month, by kind of work."""

from datetime import date, datetime, timedelta
from decimal import Decimal

from pydantic import Field
from sqlalchemy import select
from sqlalchemy.orm import selectinload

from burnplan.codes import commission_code
from burnplan.desk.derived import balances, checklist_progress, piece, studio_settings
from burnplan.desk.studio.studio import Studio
from burnplan.ledger.models import Commission, Quote, SpoiledPiece
from burnplan.outline import Outline
from burnplan.reckon.work import Work
from burnplan.view import View
from burnplan.wood.species import species_on_record

# Our own choice, a third of a letter sheet, and one:
_SIZES = ((200.0, "small, to 200 cm²"), (600.0, "medium, to 600 cm²"), (float("inf"), "large"))


class EarnedView(View):
    """What one job, month or kind of work earned.

    ``earned`` is what was received less tax, wood and packing; ``an_hour`` is
    that divided by the hours on record, None where there are none. Wood and hours
    of spoiled pieces count.
    """

    name: str
    jobs: int
    earned: Decimal
    hours: float
    an_hour: Decimal | None
    by_work: dict[str, float]


class EarningsView(View):
    """The review of what was earned; kinds are sorted from the best paid hour down.

    ``left_out`` are the codes of jobs whose money is in another currency.
    """

    since: date
    currency: str
    hourly_target: Decimal | None
    jobs: list[EarnedView]
    months: list[EarnedView]
    kinds: list[EarnedView]
    total: EarnedView
    left_out: list[str] = Field(default_factory=list)


class _Earned(View):
    code: str
    title: str
    day: date
    kind: str
    earned: Decimal
    hours: dict[str, float]


def _kind(size: Outline | None, species: str) -> str:
    wood = species_on_record(species).name.lower() if species else "unknown wood"
    if size is None:
        return f"size unknown, {wood}"
    return f"{next(name for most, name in _SIZES if size.area_cm2 <= most)}, {wood}"


def _of(commission: Commission, day: date, now: datetime) -> _Earned:
    """Return what a commission earned that was delivered on a day."""
    quote = balances.agreed_quote(commission)
    hours = dict.fromkeys((work.value for work in Work), 0.0)
    spoiled = (session for one in commission.spoiled for session in one.sessions)
    for session in (*commission.sessions, *spoiled):
        hours[session.work] += session.hours(now)
    received = balances.received(commission)
    net = received
    if quote is not None and quote.total:
        net -= received * quote.tax / quote.total
        net -= sum((x.amount for x in quote.lines if x.kind == "packing"), Decimal(0))
    woods = (commission.blank, *(one.blank for one in commission.spoiled))
    cost = sum((wood.cost for wood in woods if wood and wood.cost), Decimal(0))
    return _Earned(
        code=commission_code(commission.id),
        title=commission.title,
        day=day,
        kind=_kind(piece.size_of(commission), piece.species_of(commission)),
        earned=(net - cost).quantize(Decimal("0.0001")),
        hours=hours,
    )


def _together(name: str, some: list[_Earned], digits: int) -> EarnedView:
    earned = sum((one.earned for one in some), Decimal(0))
    by_work = {work.value: sum(one.hours[work.value] for one in some) for work in Work}
    hours = sum(by_work.values())
    unit = Decimal(1).scaleb(-digits)
    an_hour = (earned / Decimal(repr(hours))).quantize(unit) if hours else None
    return EarnedView(
        name=name,
        jobs=len(some),
        earned=earned.quantize(unit),
        hours=hours,
        an_hour=an_hour,
        by_work=by_work,
    )


def review(studio: Studio, since: date | None = None) -> EarningsView:
    """Return what the delivered jobs earned, newest first.

    Parameters
    ----------
    studio : Studio
    since : date, optional
        Those delivered from this day on; of the last twelve months if not given.
    """
    since = since or studio.today() - timedelta(days=365)
    query = select(Commission).options(
        *checklist_progress.with_rows(),
        selectinload(Commission.blank),
        selectinload(Commission.spoiled).selectinload(SpoiledPiece.blank),
        selectinload(Commission.quotes).selectinload(Quote.lines),
    )
    query = query.where(Commission.delivered_on >= since)
    query = query.execution_options(yield_per=checklist_progress.AT_A_TIME)
    with studio.reading() as book:
        own, now = studio_settings.of_book(book), studio.now()
        found, left_out = [], []
        for commission in book.scalars(query):
            if balances.currency_of(commission, own.currency) != own.currency:
                left_out.append(commission_code(commission.id))
            elif commission.delivered_on is not None:
                found.append(_of(commission, commission.delivered_on, now))
    found.sort(key=lambda one: (one.day, one.code), reverse=True)
    months: dict[str, list[_Earned]] = {}
    kinds: dict[str, list[_Earned]] = {}
    for one in found:
        months.setdefault(f"{one.day:%Y-%m}", []).append(one)
        kinds.setdefault(one.kind, []).append(one)
    by_kind = [_together(name, some, own.digits) for name, some in kinds.items()]
    by_kind.sort(key=lambda kind: kind.an_hour or Decimal(0), reverse=True)
    return EarningsView(
        since=since,
        currency=own.currency,
        hourly_target=own.hourly_target,
        jobs=[_together(f"{one.code} {one.title}", [one], own.digits) for one in found],
        months=[_together(name, some, own.digits) for name, some in months.items()],
        kinds=by_kind,
        total=_together("all", found, own.digits),
        left_out=sorted(left_out),
    )
