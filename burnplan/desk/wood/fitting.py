"""Which of the blanks in stock suit a commission's photo."""

from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.codes import commission_code
from burnplan.desk.derived import hazards_found, piece, woods
from burnplan.desk.derived.hazards_found import HazardView
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.desk.wood.blanks import BlankView
from burnplan.errors import NotFound
from burnplan.ledger.models import Blank
from burnplan.reckon.fitting import Candidate, rank_blanks
from burnplan.sentences import Do
from burnplan.view import View


class FitView(View):
    """How a blank suits a photo; ``lost`` is the share of it that is cropped.

    ``cost`` is all that speaks against it, in shares of the photo, and
    ``reasons`` what that is, worst first.
    """

    blank: BlankView
    turned: bool
    lost: float
    px_per_mm: float
    cost: float
    reasons: list[str]


def _candidate(
    book: Session, view: BlankView, wood: str | None, found: list[HazardView]
) -> Candidate:
    species = woods.on_record(book, view.species)
    if view.bare is not None:
        species = species.read_as(view.bare)
    doubts = [hazard.reason for hazard in found]
    if wood not in (None, view.species):
        doubts.insert(0, "another wood than asked for")
    return Candidate(
        code=view.code,
        outline=view.shape(),
        tonal_range=species.bare_lightness - species.darkest_burn,
        sandings_left=len(view.sanding_left),
        doubts=tuple(doubts),
    )


def fitting(studio: Studio, which: str, photo: Path | None = None) -> list[FitView]:
    """Return the blanks in stock, those that suit a commission's photo best first.

    The one held for it is among them, whatever speaks against it. Others that
    must not be burned are left out.

    Parameters
    ----------
    studio : Studio
    which : str
        The commission; the size and species asked for count.
    photo : Path, optional
        Another photo than that of its reference.

    Raises
    ------
    NotFound
        If there is no photo to go by.
    """
    with studio.reading() as book:
        commission = find_commission(book, which)
        if photo is not None:
            from burnplan.tone.photo import look

            size = look(photo).size
        elif commission.references:
            original = commission.references[-1].original
            size = (original.width_px, original.height_px)
        else:
            raise NotFound(
                "It has no photo to go by",
                "Give one: ",
                Do("blank.fit", job=commission_code(commission.id)),
            )
        asked, wood = piece.size_of(commission), commission.species
        held = commission.blank
        stock = {
            view.code: (view, hazards_found.of_blank(book, blank))
            for blank in book.scalars(
                select(Blank).where(Blank.scrapped_on.is_(None)).order_by(Blank.id)
            )
            if (view := blanks.view(book, blank)).state == "in stock" or blank is held
        }
        candidates = [
            _candidate(book, view, wood, found)
            for view, found in stock.values()
            if view.state == "held" or not any(hazard.blocks for hazard in found)
        ]
        wanted = asked.area_cm2 if asked else None
        return [
            FitView.of(one, blank=stock[one.code][0], reasons=list(one.reasons))
            for one in rank_blanks(size, candidates, wanted_cm2=wanted)
        ]
