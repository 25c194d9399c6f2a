"""Estimates: hours and a price from a photo, a size and a species; no book needed."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import BaseModel

from burnplan.desk.settings import Settings
from burnplan.outline import Outline
from burnplan.reckon.price import Price, Terms, price_for
from burnplan.reckon.work import LineWork, WorkPlan, ZoneWork
from burnplan.wood import grits
from burnplan.wood.species import Species

if TYPE_CHECKING:
    from burnplan.reckon.pace import Pace
    from burnplan.tone.reading import Reading

COATS = 3

OnProgress = Callable[[float, str], None]


class ZoneView(BaseModel):
    """A value zone, as shown."""

    zone: int
    area_cm2: float
    darkness: float
    texture: float
    islands: int
    line_cm: float


class LinesView(BaseModel):
    """Length of the trace lines at each pressure."""

    firm_cm: float
    light_cm: float
    lost_cm: float


class Quantiles(BaseModel):
    """Hours that are enough in 10, 50, 80 and 90 of 100 cases."""

    p10: float
    p50: float
    p80: float
    p90: float


class HoursView(BaseModel):
    """Hours of each stage and of the whole job."""

    prepare: Quantiles
    transfer: Quantiles
    burn: Quantiles
    finish: Quantiles
    total: Quantiles


class PriceLineView(BaseModel):
    """A line of a price."""

    kind: str
    label: str
    amount: Decimal


class PriceView(BaseModel):
    """A price; the lines add up to the amount."""

    currency: str
    amount: Decimal
    lines: list[PriceLineView]
    deposit: Decimal


class EstimateView(BaseModel):
    """What a photo on a blank will take."""

    size_mm: tuple[float, float]
    species: str
    px_per_mm: float
    thresholds: list[float]
    zones: list[ZoneView]
    lines: LinesView
    hours: HoursView
    price: PriceView
    notes: list[str]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a photo.

    Parameters
    ----------
    outline : Outline
    species : Species
    zones : int
    thresholds : tuple of float, optional
    min_area_mm2 : float
    sandings : int
        Left to do on the face.
    """

    outline: Outline
    species: Species
    zones: int = 6
    thresholds: tuple[float, ...] | None = None
    min_area_mm2: float = 9.0
    sandings: int = len(grits.still_to_do(None))


def read(photo: Path, asked: Asked, on_progress: OnProgress | None = None) -> "Reading":
    """Read a photo laid on the outline asked for.

    Raises
    ------
    BadInput
        If the photo or a number cannot be used.
    """
    from burnplan.tone.reading import read_reference

    return read_reference(
        photo,
        asked.outline,
        wood_lightness=asked.species.bare_lightness,
        burn_lightness=asked.species.darkest_burn,
        zones=asked.zones,
        thresholds=asked.thresholds,
        min_area_mm2=asked.min_area_mm2,
        on_progress=on_progress,
    )


def plan_of(reading: "Reading", asked: Asked) -> WorkPlan:
    """Return the work plan that a reading amounts to."""
    return WorkPlan(
        width_mm=asked.outline.width_mm,
        height_mm=asked.outline.height_mm,
        area_cm2=asked.outline.area_cm2,
        species=asked.species.key,
        hardness_lbf=asked.species.hardness_lbf,
        zones=tuple(
            ZoneWork(m.zone, m.area_cm2, m.darkness, m.texture, m.islands, m.line_cm)
            for m in reading.measures
        ),
        lines=LineWork(reading.lines.firm_cm, reading.lines.light_cm, reading.lines.lost_cm),
        sandings=asked.sandings,
        coats=COATS,
    )


def terms_of(settings: Settings, wood: Decimal = Decimal(0)) -> Terms:
    """Return the terms of a price by the studio's settings."""
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


def estimate(
    photo: Path,
    asked: Asked,
    settings: Settings,
    *,
    wood: Decimal = Decimal(0),
    pace: "Pace | None" = None,
    on_progress: OnProgress | None = None,
) -> tuple[EstimateView, "Reading"]:
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
    from burnplan.reckon.pace import PRIOR_PACE

    reading = read(photo, asked, on_progress)
    plan = plan_of(reading, asked)
    hours = (pace or PRIOR_PACE).forecast(plan)
    terms = terms_of(settings, wood)
    notes = list(reading.notes)
    if asked.species.own:
        notes.append(f"{asked.species.name} is not in the species table: middling wood is assumed")
    if not wood:
        notes.append("The cost of the blank is not in the price")
    view = EstimateView(
        size_mm=(asked.outline.width_mm, asked.outline.height_mm),
        species=asked.species.key,
        px_per_mm=reading.placed.px_per_mm,
        thresholds=list(reading.zones.thresholds),
        zones=[ZoneView(**vars_of(zone)) for zone in plan.zones],
        lines=LinesView(**vars_of(plan.lines)),
        hours=HoursView.model_validate(hours.to_dict()),
        price=price_view(price_for(hours.quantile(terms.sure), terms), terms.currency),
        notes=notes,
    )
    return view, reading


def vars_of(plain: ZoneWork | LineWork) -> dict[str, float]:
    """Return the fields of a slotted dataclass by name."""
    from dataclasses import asdict

    return asdict(plain)
