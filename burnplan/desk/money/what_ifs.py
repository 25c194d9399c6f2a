"""What if: other sizes, zones or species side by side, and a price list by size and detail."""

from dataclasses import replace
from decimal import Decimal

from burnplan.codes import commission_code
from burnplan.desk.derived import pace_records, piece, studio_settings, woods
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import estimates, references
from burnplan.desk.jobs.estimates import EstimateRequest
from burnplan.desk.studio import settings
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import pace
from burnplan.desk.wood import own_species
from burnplan.errors import BadInput, NotFound
from burnplan.ledger import originals
from burnplan.reckon.price import price_for
from burnplan.reckon.remaining import whole_job
from burnplan.reckon.standard_hours import coarse_plan
from burnplan.reckon.work import covered_by_eye, grade_by_eye, read_covered
from burnplan.sentences import Do
from burnplan.units import format_size, parse_size
from burnplan.view import View
from burnplan.wood.species import UNKNOWN_WOOD
from burnplan.zone_names import LETTERING

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
    on_progress: estimates.OnProgress = lambda _share, _label: None,
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
    from burnplan.desk.jobs.layouts import Layout, LayoutChange, changed

    if not 1 <= len(sizes) + len(zones) + len(species) + len(drop or ()) <= MOST:
        like = settings.current(studio).wording.own("20x30cm")
        raise BadInput(
            f"Give 1 to {MOST} changes to compare", "For example ", Do("whatif.size", size=like)
        )
    with studio.reading() as book:
        own = studio_settings.of_book(book)
        commission = find_commission(book, which)
        size = piece.size_of(commission)
        if not commission.references or size is None:
            raise NotFound(
                "It has no reference to reckon from",
                "Add one: ",
                Do("reference.add", job=commission_code(commission.id)),
            )
        reference = commission.references[-1]
        photo = originals.fetch(studio.originals, reference.original_sha256)
        wood = woods.on_record(book, piece.species_of(commission) or UNKNOWN_WOOD)
        plan = piece.work_plan(book, commission)
        cost = (commission.blank.cost if commission.blank else None) or Decimal(0)
        learned = pace_records.pace_for(book, studio.now(), commission.id)
        layout = Layout.from_dict(reference.layout)
        plain = EstimateRequest(
            outline=size,
            species=wood,
            zones=reference.zones,
            min_area_mm2=reference.min_area_mm2,
            sandings=plan.sandings,
            coats=plan.coats,
            layout=layout,
            mask=originals.fetch(studio.originals, layout.mask) if layout.mask else None,
            lettering=references.lettering_of(studio, commission),
        )
    asked = [("as it is", plain)]
    for text in sizes:
        outline = parse_size(text, default_unit=own.size_unit)
        asked.append((format_size(outline, own.units), replace(plain, outline=outline)))
    asked += [(f"{number} zones", replace(plain, zones=number)) for number in zones]
    for text in species:
        other = own_species.meant(studio, text)
        asked.append((other.name.lower(), replace(plain, species=other)))
    if drop:
        bare = changed(layout, LayoutChange(drop=drop), lambda _data: "")
        asked.append(("background left bare", replace(plain, layout=bare)))
    found = []
    for number, (what, one) in enumerate(asked):
        on_progress(number / len(asked), what)
        view, _ = estimates.estimate(photo, one, own, wood=cost, pace=learned)
        found.append(
            VariantView(
                what=what,
                size_mm=view.size_mm,
                species=view.species,
                zones=sum(zone.zone != LETTERING for zone in view.zones),
                hours_p50=view.hours.total.p50,
                hours_p80=view.hours.total.p80,
                currency=own.currency,
                price=view.price.amount if view.price else None,
            )
        )
    return found


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
