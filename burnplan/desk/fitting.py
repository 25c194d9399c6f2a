"""Which of the blanks in stock suit a commission's photo."""

from pathlib import Path

from pydantic import BaseModel
from sqlalchemy import select

from burnplan.desk import blanks, checklists, hazards
from burnplan.desk.blanks import BlankView
from burnplan.desk.finding import find_commission
from burnplan.desk.studio import Studio
from burnplan.errors import NotFound
from burnplan.ledger.models import Blank
from burnplan.reckon.fitting import Candidate, ranked


class FitView(BaseModel):
    """How a blank in stock suits a photo; ``lost`` is the share of it that is cropped."""

    blank: BlankView
    turned: bool
    lost: float
    px_per_mm: float
    suits_wood: bool
    cautions: list[str]


def fitting(studio: Studio, which: str, photo: Path | None = None) -> list[FitView]:
    """Return the blanks in stock, those that suit a commission's photo best first.

    Blanks that must not be burned are left out.

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
                "It has no photo to go by", "Give one: burnplan blank fit JOB --photo PHOTO"
            )
        asked, wood = checklists.size_of(commission), commission.species
        stock = {
            view.code: (view, hazards.of_blank(book, blank))
            for blank in book.scalars(select(Blank).where(Blank.scrapped_on.is_(None)))
            if (view := blanks.view(book, blank)).state == "in stock"
        }
        candidates = [
            Candidate(code, view.shape(), wood in (None, view.species), len(found))
            for code, (view, found) in stock.items()
            if not any(hazard.blocks for hazard in found)
        ]
        return [
            FitView(
                blank=stock[one.key][0],
                turned=one.turned,
                lost=one.lost,
                px_per_mm=one.px_per_mm,
                suits_wood=wood in (None, stock[one.key][0].species),
                cautions=[hazard.reason for hazard in stock[one.key][1]],
            )
            for one in ranked(size, candidates, asked.area_cm2 if asked else None)
        ]
