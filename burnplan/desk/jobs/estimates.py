"""Estimates: hours and a price from a photo, a size and a species; no book needed."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from burnplan.desk.derived import hazards_found
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import readings
from burnplan.desk.jobs.readings import EstimateRequest
from burnplan.errors import BadInput
from burnplan.passes import Pass
from burnplan.progress import Progress
from burnplan.reckon.price import Price, Terms, price_for
from burnplan.reckon.remaining import whole_job
from burnplan.reckon.standard_hours import (
    DoubtOf,
    burned,
    coarse_plan,
    doubt_in_hours,
    standard_hours,
)
from burnplan.reckon.work import (
    UNKNOWN_DARKNESS,
    UNKNOWN_TEXTURE,
    WHOLE_FACE,
    Grade,
    LineWork,
    WorkPlan,
    covered_by_eye,
    detail_by_eye,
    grade_by_eye,
    read_covered,
)
from burnplan.sentences import Do, Sentence
from burnplan.view import View

if TYPE_CHECKING:
    from burnplan.reckon.forecast import HoursForecast
    from burnplan.reckon.pace import Pace
    from burnplan.tone.analysis import PhotoAnalysis


class ZoneView(View):
    """A value zone, as shown."""

    zone: int
    area_cm2: float
    darkness: float
    texture: float
    islands: int
    line_cm: float


class PassView(View):
    """What is traced in one pass."""

    number: int
    name: str
    cm: float
    strokes: int


class LinesView(View):
    """The lines to trace: length and strokes at each pressure, and by pass.

    Strokes are null, and there are no passes, where lines were not counted.
    """

    firm_cm: float
    light_cm: float
    lost_cm: float
    strokes: int | None
    firm_strokes: int | None
    light_strokes: int | None
    passes: list[PassView]


class Quantiles(View):
    """Hours that are enough in 10, 50, 80 and 90 of 100 cases."""

    p10: float
    p50: float
    p80: float
    p90: float


class HoursView(View):
    """Hours of each stage and of the whole job."""

    prepare: Quantiles
    transfer: Quantiles
    burn: Quantiles
    finish: Quantiles
    total: Quantiles


class PriceLineView(View):
    """A line of a price."""

    kind: str
    label: str
    amount: Decimal


class PriceView(View):
    """A price; the lines add up to the amount."""

    currency: str
    amount: Decimal
    lines: list[PriceLineView]
    deposit: Decimal


class WidthView(View):
    """Something that makes an estimate wide, and what would narrow it; worst first."""

    share: float
    source: str
    narrow: Sentence


class EstimateView(View):
    """What a piece will take: measured from a photo, judged by eye, or some of both.

    There is no price before the studio said what an hour should earn. By eye there are no
    zones and no raster. ``covered`` is the share of the face that is burned. ``subject`` has
    the marks it was found by, all of the photo if there are none; ``likely_subject`` is one
    that is offered.
    """

    depth: Literal["photo", "eye", "mixed"]
    size_mm: tuple[float, float]
    species: str
    px_per_mm: float | None
    thresholds: list[float]
    zones: list[ZoneView]
    covered: float
    lines: LinesView
    hours: HoursView
    price: PriceView | None
    width: list[WidthView]
    notes: list[str]
    subject: list[str]
    likely_subject: str | None


_DOUBTS = {
    DoubtOf.DARKNESS: ("How dark it is, judged by eye", "Give a photo"),
    DoubtOf.TEXTURE: ("How much detail it has, judged by eye", "Give a photo"),
    DoubtOf.COVERED: ("How much of it is burned, judged by eye", "Give a photo"),
    DoubtOf.LINE: ("How much there is to trace, not measured", "Give a photo"),
    DoubtOf.HARDNESS: ("The wood's hardness is not known", "Choose a species of the table"),
}


@dataclass(frozen=True, slots=True)
class ByEye:
    """What is judged by eye.

    Parameters
    ----------
    dark, detail : int, optional
        Grades: value depth, 1 pale to 5 dark; detail, 1 plain to 5 dense fur, 6 a showpiece.
    covered : str, optional
        The share of the face that is burned, as typed.
    """

    dark: int | None = None
    detail: int | None = None
    covered: str | None = None

    def grades(self) -> tuple[Grade | None, Grade | None, Grade | None]:
        """Return darkness, texture and burned share; None for what was not given."""
        return (
            None if self.dark is None else grade_by_eye(self.dark),
            None if self.detail is None else detail_by_eye(self.detail),
            None if self.covered is None else covered_by_eye(read_covered(self.covered).value),
        )


def lines_view(lines: LineWork) -> LinesView:
    """Return the lines of a work plan as shown."""
    passes = [
        PassView(number=one, name=one.called, cm=work.cm, strokes=work.strokes)
        for one, work in zip(Pass, lines.passes, strict=False)
    ]
    return LinesView.of(lines, passes=passes)


def terms_of(settings: Settings, wood: Decimal = Decimal(0)) -> Terms:
    """Return the terms of a price by the studio's settings.

    Raises
    ------
    BadInput
        If what an hour should earn was not said yet.
    """
    if not settings.hourly_target:
        raise BadInput(
            "A price needs to know what an hour should earn", "Say it: ", Do("settings.target")
        )
    return Terms(
        currency=settings.currency,
        digits=settings.digits,
        hourly_target=settings.hourly_target,
        wood=wood,
        tax_percent=settings.tax_percent,
        deposit_percent=settings.deposit_percent,
    )


def price_view(price: Price, currency: str) -> PriceView:
    """Return a price as shown."""
    lines = [
        PriceLineView(kind=line.kind, label=line.label, amount=line.amount) for line in price.lines
    ]
    return PriceView(currency=currency, amount=price.total, lines=lines, deposit=price.deposit)


def price_of(
    forecast: Mapping[str, Mapping[str, float]], settings: Settings, wood: Decimal = Decimal(0)
) -> PriceView:
    """Return the price of a forecast whole job by the studio's settings."""
    terms = terms_of(settings, wood)
    return price_view(price_for(whole_job(forecast).quantile(terms.sure), terms), terms.currency)


def estimate(
    photo: Path,
    asked: EstimateRequest,
    settings: Settings,
    *,
    wood: Decimal = Decimal(0),
    pace: "Pace | None" = None,
    by_eye: ByEye | None = None,
    on_progress: Progress | None = None,
) -> tuple[EstimateView, "PhotoAnalysis"]:
    """Estimate hours and price of burning a photo.

    Parameters
    ----------
    photo : Path
    asked : Asked
    settings : Settings
    wood : Decimal
        Cost of the blank.
    pace : Pace, optional
        This artist's; what is believed before any hours are known if not given.
    by_eye : ByEye, optional
        A grade given takes the place of what the photo measures.
    on_progress : callable, optional
        Told the share done and what is being done.

    Returns
    -------
    EstimateView, Reading
        What is shown, and the pictures behind it.

    Raises
    ------
    BadInput
        If the photo or a number cannot be used.
    """
    from burnplan.desk.jobs.layouts import typed_area

    reading = readings.read(photo, asked, on_progress)
    measured = readings.plan_of(reading, asked)
    plan = measured if by_eye is None else _graded(measured, by_eye)
    view = _reckoned(plan, asked, settings, wood, pace, list(reading.notes))
    view.depth = "photo" if by_eye is None else "mixed"
    view.px_per_mm = reading.placed.px_per_mm
    view.thresholds = list(reading.zones.thresholds)
    view.zones = [ZoneView(**zone._asdict()) for zone in measured.zones]
    view.lines = lines_view(measured.lines)
    marks = asked.layout.control.subject if asked.layout else ()
    view.subject = [typed_area(mark) for mark in marks]
    view.likely_subject = typed_area(reading.likely) if reading.likely else None
    return view, reading


def judge(
    asked: EstimateRequest,
    by_eye: ByEye,
    settings: Settings,
    *,
    wood: Decimal = Decimal(0),
    pace: "Pace | None" = None,
) -> EstimateView:
    """Estimate hours and price of a piece from its size and how it looks, without a photo.

    Raises
    ------
    BadInput
        If a grade is not from 1 to 5.
    """
    dark, detail, covered = by_eye.grades()
    plan = coarse_plan(
        asked.outline.width_mm,
        asked.outline.height_mm,
        asked.outline.area_cm2,
        species=asked.species.key,
        hardness_lbf=asked.species.hardness_lbf,
        darkness=dark or UNKNOWN_DARKNESS,
        texture=detail or UNKNOWN_TEXTURE,
        covered=covered or WHOLE_FACE,
        sandings=asked.sandings,
        coats=asked.coats,
    )
    notes = [
        f"{name} was not given: anything likely is allowed for"
        for name, given in (("Value depth", by_eye.dark), ("Detail", by_eye.detail))
        if given is None
    ]
    if covered is None:
        notes.append("Taken as burned all over: say how much of it is, where wood stays bare")
    return _reckoned(plan, asked, settings, wood, pace, notes)


def _graded(measured: WorkPlan, by_eye: ByEye) -> WorkPlan:
    """Return a measured plan with a grade by eye in the place of what was measured."""
    dark, detail, covered = by_eye.grades()
    face = burned(measured)
    return coarse_plan(
        measured.width_mm,
        measured.height_mm,
        measured.area_cm2,
        species=measured.species,
        hardness_lbf=measured.hardness_lbf,
        darkness=dark or Grade(face.darkness),
        texture=detail or Grade(face.texture),
        covered=covered or Grade(face.share),
        line_cm=measured.lines.drawn_cm,
        sandings=measured.sandings,
        coats=measured.coats,
    )._replace(lines=measured.lines)


def _reckoned(
    plan: WorkPlan,
    asked: EstimateRequest,
    settings: Settings,
    wood: Decimal,
    pace: "Pace | None",
    notes: list[str],
) -> EstimateView:
    """Return the estimate of a plan, without what only a photo shows."""
    from burnplan.reckon.pace import PRIOR_PACE

    pace = pace or PRIOR_PACE
    hours = pace.forecast(plan)
    forecast = hours.to_dict()
    said = hazards_found.of_wishes(asked.species, "", "indoor")
    notes[:0] = [one.in_words() for one in said if one.said_first]
    if asked.species.own:
        notes.append(f"{asked.species.name} is not in the species table: middling wood is assumed")
    if not wood and settings.hourly_target:
        notes.append("The cost of the blank is not in the price")
    return EstimateView(
        depth="eye",
        size_mm=(asked.outline.width_mm, asked.outline.height_mm),
        species=asked.species.key,
        px_per_mm=None,
        thresholds=[],
        zones=[],
        covered=burned(plan).share,
        lines=lines_view(plan.lines),
        hours=HoursView.model_validate(forecast),
        price=price_of(forecast, settings, wood) if settings.hourly_target else None,
        width=_width(plan, hours, pace),
        notes=notes,
        subject=[],
        likely_subject=None,
    )


def _width(plan: WorkPlan, hours: "HoursForecast", pace: "Pace") -> list[WidthView]:
    """Return what makes the total wide: shares of the variance of its logarithm."""
    import numpy as np

    whole = float(np.var(np.log(hours.total))) or 1.0
    standard = standard_hours(plan)
    total = sum(standard.values()) or 1.0
    found = []
    for doubt, stages in doubt_in_hours(plan).items():
        effect = sum(spread * standard[work] / total for work, spread in stages.items())
        if effect**2 / whole >= 0.01:
            source, narrow = _DOUBTS[doubt]
            found.append(WidthView(share=effect**2 / whole, source=source, narrow=Sentence(narrow)))
    rest = max(0.0, 1 - sum(one.share for one in found))
    jobs = "1 job" if pace.jobs == 1 else f"{pace.jobs} jobs"
    known = f"Your pace, known from {jobs}, and the scatter between them"
    source = known if pace.jobs else "Your pace is not known yet"
    more = Sentence("Log every session; bring in past jobs: ", Do("past.import"))
    found.append(WidthView(share=rest, source=source, narrow=more))
    return sorted(found, key=lambda one: one.share, reverse=True)
