"""Plans made again from the photo kept, for what a piece is about to be."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sqlalchemy.orm import Session

from burnplan.desk.derived import piece, woods
from burnplan.desk.jobs import estimates, references
from burnplan.desk.jobs.estimates import EstimateRequest, OnProgress
from burnplan.desk.studio import photo_store
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BurnplanError
from burnplan.ledger import originals
from burnplan.ledger.models import Commission, Original
from burnplan.outline import Outline
from burnplan.reckon.work import WorkPlan
from burnplan.wood.species import UNKNOWN_WOOD

if TYPE_CHECKING:
    from burnplan.lettering.laying import Inscription
    from burnplan.tone.analysis import PhotoAnalysis


@dataclass(frozen=True, slots=True)
class NewPlan:
    """A kept photo read for a piece of another size or wood, not yet on record."""

    original: Original
    asked: EstimateRequest
    reading: "PhotoAnalysis"

    def put(self, studio: Studio, book: Session, commission: Commission) -> None:
        """Put it on record within a transaction that changes the piece."""
        kept = photo_store.recorded(book, self.original)
        references.put(studio, book, commission, kept, self.asked, self.reading)


def plan_for(
    studio: Studio,
    which: str,
    outline: Outline | None,
    species: str | None,
    on_progress: OnProgress | None = None,
) -> NewPlan | None:
    """Read the photo kept for what a commission is about to be, before that is put on record.

    Parameters
    ----------
    studio : Studio
    which : str
    outline, species : optional
        As they will be; as they are if not given.
    on_progress : callable, optional

    Returns
    -------
    NewPlan or None
        None where no photo was planned from, the plan holds as it is, or the photo cannot
        be read: then the plan is shown to be of another piece wherever it counts.
    """
    from burnplan.tone.zones import FEWEST

    with studio.reading() as book:
        commission = find_commission(book, which)
        if not commission.references or (outline is None and piece.size_of(commission) is None):
            return None
        last = commission.references[-1]
        plan = WorkPlan.from_dict(last.plan)
        outline = outline or references.size_for(commission)
        key = species or piece.species_of(commission) or UNKNOWN_WOOD
        if piece.is_of(plan, outline, key):
            return None
        try:
            original, photo, layout, several = references.kept_for(studio, last, outline)
            mask = originals.fetch(studio.originals, layout.mask) if layout.mask else None
            lettering = references.lettering_of(studio, commission)
        except BurnplanError:
            return None
        asked = EstimateRequest(
            outline=outline,
            species=woods.on_record(book, key),
            zones=max(last.zones, FEWEST),
            min_area_mm2=last.min_area_mm2,
            layout=layout,
            mask=mask,
            lettering=lettering,
            joined=several,
        )
    try:
        reading = estimates.read(photo, asked, on_progress)
        references.usable(original, reading)
    except BurnplanError:
        return None
    return NewPlan(original, asked, reading)


def plan_with(
    studio: Studio,
    which: str,
    lettering: "tuple[Inscription, ...]",
    on_progress: OnProgress | None = None,
) -> NewPlan | None:
    """Read the photo kept for a commission with other lettering, before that is on record.

    Returns
    -------
    NewPlan or None
        None where no photo was planned from.

    Raises
    ------
    BadInput
        If the lettering does not fit.
    """
    from burnplan.tone.zones import FEWEST

    with studio.reading() as book:
        commission = find_commission(book, which)
        if not commission.references:
            return None
        last = commission.references[-1]
        original, photo, layout, several = references.kept_for(
            studio, last, references.size_for(commission)
        )
        asked = references.asked_of(
            studio,
            book,
            commission,
            max(last.zones, FEWEST),
            tuple(last.thresholds) or None,
            last.min_area_mm2,
            layout,
            several,
        )
        asked = replace(asked, lettering=lettering)
    return NewPlan(original, asked, estimates.read(photo, asked, on_progress))
