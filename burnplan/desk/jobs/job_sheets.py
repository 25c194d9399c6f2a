"""All that the job sheet says of a commission, gathered."""

from datetime import date

from burnplan.desk.derived import piece, studio_settings
from burnplan.desk.derived.hazards_found import HazardView
from burnplan.desk.jobs import checklists, commissions, finishing, references
from burnplan.desk.jobs.checklists import ChecklistView
from burnplan.desk.jobs.commissions import CommissionView
from burnplan.desk.jobs.estimates import ZoneView
from burnplan.desk.jobs.finishing import FinishView
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, hazards, zone_settings
from burnplan.desk.wood.blanks import BlankView
from burnplan.desk.wood.zone_settings import LadderSettingsView
from burnplan.errors import NotFound
from burnplan.sentences import Sentence
from burnplan.view import View


class JobSheetView(View):
    """A job on one page.

    ``no_settings`` says why no setting is known for its zones; ``bare`` and ``darkest``
    are the L* of its wood, unburned and burned as dark as it goes. ``knots`` says which focal
    areas lie on marks of the wood.
    """

    commission: CommissionView
    blank: BlankView | None
    checklist: ChecklistView
    zones: list[ZoneView]
    settings: LadderSettingsView | None
    no_settings: Sentence
    bare: float
    darkest: float
    hazards: list[HazardView]
    knots: list[str]
    finish: FinishView
    printed_on: date


def gather(studio: Studio, which: str) -> JobSheetView:
    """Return what the job sheet says of a commission.

    Raises
    ------
    NotFound
        If there is no such commission.
    """
    commission = commissions.show(studio, which)
    code, why = commission.code, Sentence()
    settings: LadderSettingsView | None = None
    try:
        settings = zone_settings.settings_for(studio, code)
    except NotFound as missing:
        why = missing.sentence
    with studio.reading() as book:
        wood = piece.wood_of(book, find_commission(book, code))
        units = studio_settings.of_book(book).units
    planned = references.show(studio, code) if commission.references else None
    bare = settings.bare if settings else wood.bare_lightness
    return JobSheetView(
        commission=commission,
        blank=blanks.show(studio, commission.blank) if commission.blank else None,
        checklist=checklists.of(studio, code),
        zones=planned.zones if planned else [],
        settings=settings,
        no_settings=why,
        bare=bare,
        darkest=min(wood.darkest_burn, bare - 1),
        hazards=hazards.for_job(studio, code),
        knots=planned.knots.notes(units) if planned else [],
        finish=finishing.show(studio, code),
        printed_on=studio.today(),
    )
