"""Plans made again from the photo kept, for what a piece is about to be."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sqlalchemy.orm import Session

from burnplan.desk.derived import piece
from burnplan.desk.jobs import asking, readings, references
from burnplan.desk.jobs.readings import EstimateRequest
from burnplan.desk.studio import photo_store
from burnplan.desk.studio.lookup import find_commission, refuse_closed
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BurnplanError
from burnplan.ledger.models import Commission, Original
from burnplan.outline import Outline
from burnplan.progress import Progress
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
    on_progress: Progress | None = None,
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
    with studio.reading() as book:
        commission = find_commission(book, which)
        if not commission.references or (outline is None and piece.size_of(commission) is None):
            return None
        last = commission.references[-1]
        plan = WorkPlan.from_dict(last.plan)
        outline = outline or asking.size_for(commission)
        key = species or piece.species_of(commission) or UNKNOWN_WOOD
        if piece.is_of(plan, outline, key):
            return None
        try:
            original, photo, asked = asking.asked_again(
                studio, book, last, outline=outline, species=key
            )
        except BurnplanError:
            return None
    try:
        reading = readings.read(photo, asked, on_progress)
        references.usable(original, reading)
    except BurnplanError:
        return None
    return NewPlan(original, asked, reading)


def plan_with(
    studio: Studio,
    which: str,
    lettering: "tuple[Inscription, ...]",
    on_progress: Progress | None = None,
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
    with studio.reading() as book:
        commission = find_commission(book, which)
        if not commission.references:
            return None
        refuse_closed(commission, references.STAYS)
        last = commission.references[-1]
        original, photo, asked = asking.asked_again(
            studio, book, last, thresholds=tuple(last.thresholds) or None
        )
        asked = replace(asked, lettering=lettering)
    return NewPlan(original, asked, readings.read(photo, asked, on_progress))
