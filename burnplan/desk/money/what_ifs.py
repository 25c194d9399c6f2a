"""What if: other sizes, zones or species side by side, and a price list by size and detail."""

from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from burnplan.codes import commission_code
from burnplan.desk.derived import pace_records, piece, studio_settings, woods
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import asking, estimates, joined
from burnplan.desk.jobs.readings import EstimateRequest
from burnplan.desk.studio import settings
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import pace
from burnplan.desk.wood import own_species
from burnplan.errors import BadInput, NotFound
from burnplan.ledger import originals
from burnplan.progress import Progress, silent
from burnplan.reckon.price import price_for
from burnplan.reckon.remaining import whole_job
from burnplan.reckon.standard_hours import coarse_plan
from burnplan.reckon.work import covered_by_eye, grade_by_eye, read_covered
from burnplan.sentences import Do
from burnplan.units import format_size, parse_size
from burnplan.view import View
from burnplan.wood.species import UNKNOWN_WOOD
from burnplan.zone_names import LETTERING

if TYPE_CHECKING:
    from burnplan.reckon.pace import Pace

MOST = 12  # a limit by definition
DETAILS = (1, 2, 3, 4, 5)  # the grades by eye, by definition


class VariantView(View):
    """One way to make a piece: what it takes and costs."""

    what: str
    size_mm: tuple[float, float]
    species: str
    zones: int
    hours_p50: float
    hours_p80: float
    currency: str
    # None before the studio said what an hour should earn.
    price: Decimal | None


class PriceListView(View):
    """Prices by size and detail; a row for each size, a column for details 1 to 5."""

    species: str
    currency: str
    sizes: list[str]
    details: list[int]
    prices: list[list[Decimal]]


def compare(
    studio: Studio,
    which: str,
    *,
    sizes: list[str],
    zones: list[int],
    species: list[str],
    drop: list[str] | None = None,
    on_progress: Progress = silent,
) -> list[VariantView]:
    """Return what a commission would take if one thing about it were changed.

    Parameters
    ----------
    studio : Studio
    which : str
        The commission; it needs a reference.
    sizes, zones, species : lists
        A variant for each, the rest as it is.
    drop : list of str, optional
        Areas of background to leave bare: one variant with all of them.
    on_progress : callable

    Returns
    -------
    list of VariantView
        As it is first.

    Raises
    ------
    NotFound
        If it has no reference.
    BadInput
        If a change cannot be, or there are too many.
    """
    if not 1 <= len(sizes) + len(zones) + len(species) + len(drop or ()) <= MOST:
        like = settings.current(studio).wording.own("20x30cm")
        raise BadInput(
            f"Give 1 to {MOST} changes to compare", "For example ", Do("whatif.size", size=like)
        )
    job = of_job(studio, which)
    asked = [("as it is", job.plain)]
    for text in sizes:
        outline = piece.other_size(job.plain.outline, text, job.own.size_unit)
        asked.append((format_size(outline, job.own.units), replace(job.plain, outline=outline)))
    asked += [(f"{number} zones", replace(job.plain, zones=number)) for number in zones]
    for text in species:
        other = own_species.meant(studio, text)
        asked.append((other.name.lower(), replace(job.plain, species=other)))
    if drop:
        asked.append(("background left bare", _bare(job.plain, drop)))
    found = []
    for number, (what, one) in enumerate(asked):
        on_progress(number / len(asked), what)
        view = job.reckoned(one)
        found.append(
            VariantView(
                what=what,
                size_mm=view.size_mm,
                species=view.species,
                zones=sum(zone.zone != LETTERING for zone in view.zones),
                hours_p50=view.hours.total.p50,
                hours_p80=view.hours.total.p80,
                currency=job.own.currency,
                price=view.price.amount if view.price else None,
            )
        )
    return found


def _bare(plain: EstimateRequest, drop: list[str]) -> EstimateRequest:
    from burnplan.desk.jobs.layouts import Layout, LayoutChange, changed

    bare = changed(plain.layout or Layout(), LayoutChange(drop=drop), lambda _data: "")
    return replace(plain, layout=bare)


@dataclass(frozen=True)
class Job:
    """What another way to make a piece is reckoned from.

    Parameters
    ----------
    photo : Path
        Of its reference.
    plain : EstimateRequest
        As it is.
    own : Settings
    cost : Decimal
        Of its blank; that of other sizes is not known.
    learned : Pace
    """

    photo: Path
    plain: EstimateRequest
    own: Settings
    cost: Decimal
    learned: "Pace"

    def reckoned(self, asked: EstimateRequest) -> estimates.EstimateView:
        """Return what it takes and costs in another way.

        Raises
        ------
        BadInput
            If it cannot be made so.
        """
        view, _ = estimates.estimate(self.photo, asked, self.own, wood=self.cost, pace=self.learned)
        return view


def of_job(studio: Studio, which: str) -> Job:
    """Return what other ways to make a commission are reckoned from.

    Raises
    ------
    NotFound
        If it has no reference.
    """
    from burnplan.desk.jobs.layouts import Layout

    with studio.reading() as book:
        commission = find_commission(book, which)
        size = piece.size_of(commission)
        if not commission.references or size is None:
            raise NotFound(
                "It has no reference to reckon from",
                "Add one: ",
                Do("reference.add", job=commission_code(commission.id)),
            )
        reference = commission.references[-1]
        plan = piece.work_plan(book, commission)
        layout = Layout.from_dict(reference.layout)
        plain = EstimateRequest(
            outline=size,
            species=woods.on_record(book, piece.species_of(commission) or UNKNOWN_WOOD),
            zones=reference.zones,
            min_area_mm2=reference.min_area_mm2,
            sandings=plan.sandings,
            coats=plan.coats,
            layout=layout,
            mask=originals.fetch(studio.originals, layout.mask) if layout.mask else None,
            lettering=asking.lettering_of(studio, commission),
            joined=joined.of_reference(studio, reference),
        )
        return Job(
            originals.fetch(studio.originals, reference.original_sha256),
            plain,
            studio_settings.of_book(book),
            (commission.blank.cost if commission.blank else None) or Decimal(0),
            pace_records.pace_for(book, studio.now(), commission.id),
        )


def price_list(
    studio: Studio,
    sizes: list[str],
    species: str,
    *,
    darkness: int = 3,  # the middle of the scale from 1 to 5, by definition
    covered: str = "",
) -> PriceListView:
    """Return what pieces of some sizes cost at each grade of detail, at this artist's pace.

    Parameters
    ----------
    studio : Studio
    sizes : list of str
    species : str
    darkness : int
        Value depth by eye, 1 pale to 5 dark, for all of them.
    covered : str
        The share of the face that is burned, as typed; all of it if not given.

    Raises
    ------
    BadInput
        If a size, the species or the grade cannot be.
    """
    if not 1 <= len(sizes) <= MOST:
        raise BadInput(f"Give 1 to {MOST} sizes", "For example 15x20cm 20x30cm 30x40cm")
    own: Settings = settings.current(studio)
    wood, learned = own_species.meant(studio, species), pace.of_studio(studio)
    terms, outlines = (
        estimates.terms_of(own),
        [parse_size(text, default_unit=own.size_unit) for text in sizes],
    )
    burned, rows = covered_by_eye(read_covered(covered).value), []
    for outline in outlines:
        row = []
        for detail in DETAILS:
            plan = coarse_plan(
                outline.width_mm,
                outline.height_mm,
                outline.area_cm2,
                species=wood.key,
                hardness_lbf=wood.hardness_lbf,
                darkness=grade_by_eye(darkness),
                texture=grade_by_eye(detail),
                covered=burned,
            )
            hours = whole_job(learned.forecast(plan).to_dict()).quantile(terms.sure)
            row.append(price_for(hours, terms).total)
        rows.append(row)
    return PriceListView(
        species=wood.key,
        currency=own.currency,
        sizes=[format_size(outline, own.units) for outline in outlines],
        details=list(DETAILS),
        prices=rows,
    )
