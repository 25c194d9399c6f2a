"""A photo taken in hand, to be laid on a commission's wood by eye.

What comes of it is put on record by :func:`references.replan` and :func:`references.add`, with
the values that one would type: there is no other way.
"""

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from burnplan.codes import commission_code
from burnplan.desk.derived import piece, studio_settings
from burnplan.desk.jobs import joined
from burnplan.desk.jobs.asking import size_for
from burnplan.desk.jobs.layouts import Layout
from burnplan.desk.jobs.readings import EstimateRequest
from burnplan.desk.jobs.references import newest
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.ledger import originals
from burnplan.outline import Outline
from burnplan.progress import Progress, part, silent
from burnplan.tone.laying import PhotoInHand, enough_for
from burnplan.tone.photo import look, open_mask, open_photo
from burnplan.tone.place import size_needed
from burnplan.tone.subject import likely_subject
from burnplan.wood.species import Species
from burnplan.zoning import DEFAULT_ZONES, FEWEST


@dataclass(frozen=True, slots=True, eq=False)
class InHand:
    """A photo in hand, and how it lies now.

    Parameters
    ----------
    code, title : str
    filename : str
    plan : (int, datetime) or None
        Which of the commission's plans it lies by: its number, and when it was made; None for
        a photo that is new.
    outline : Outline
    species : Species
    layout : Layout
    zones : int
    unit : str
        That lengths are typed in.
    bark_mm : float or None
        How deep bark reaches in from the edge of the wood.
    photo : PhotoInHand
    """

    code: str
    title: str
    filename: str
    plan: tuple[int, datetime] | None
    outline: Outline
    species: Species
    layout: Layout
    zones: int
    unit: str
    bark_mm: float | None
    photo: PhotoInHand


def on_record(studio: Studio, which: str) -> tuple[tuple[int, datetime], Layout, int]:
    """Return by which plan a commission's photo lies now, how, and in how many zones.

    Raises
    ------
    NotFound
        If it has none.
    """
    with studio.reading() as book:
        commission = find_commission(book, which)
        last = newest(commission)
        plan = len(commission.references), last.added_at
        return plan, Layout.from_dict(last.layout), max(last.zones, FEWEST)


def take(
    studio: Studio, which: str, new: Path | None = None, on_progress: Progress | None = None
) -> InHand:
    """Take the photo of a commission in hand, or a new one for it.

    Raises
    ------
    BadInput
        If the photo cannot be read, or the commission has no size yet.
    NotFound
        If it has no photo, and none is given.
    """
    progress = on_progress or silent
    with studio.reading() as book:
        commission = find_commission(book, which)
        own = studio_settings.of_book(book)
        outline, bark = size_for(commission), piece.bark_of(commission)
        species = piece.wood_of(book, commission)
        code, title = commission_code(commission.id), commission.title
        plan, zones, layout, several = None, DEFAULT_ZONES, Layout(line=own.line), None
        if new is None:
            last = newest(commission)
            path = originals.fetch(studio.originals, last.original_sha256)
            filename = last.original.filename
            plan = len(commission.references), last.added_at
            zones, layout = max(last.zones, FEWEST), Layout.from_dict(last.layout)
            several = joined.of_reference(studio, last)
        else:
            path, filename = new, new.name
        mask = originals.fetch(studio.originals, layout.mask) if layout.mask else None
    asked = EstimateRequest(outline, species, layout=layout, mask=mask, joined=several)
    source, asked = joined.on_piece(path, asked)
    layout, mask_of = asked.layout or layout, asked.mask
    size = look(source).size
    marks = (*layout.focal, *layout.control.subject)
    enough = enough_for(size, size_needed(size, outline, layout.placement, focal=marks))
    photo = open_photo(source, at_least=enough, on_progress=part(progress, 0, 0.9))
    if new is not None:  # as the plan will find it
        layout = replace(layout, likely=likely_subject(photo.rgb))
    in_hand = PhotoInHand(
        photo,
        outline,
        species.bare_lightness,
        species.darkest_burn,
        None if mask_of is None else open_mask(mask_of, at_least=enough),
    )
    progress(1.0, "In hand")
    return InHand(
        code, title, filename, plan, outline, species, layout, zones,
        own.thickness_unit, bark, in_hand,
    )  # fmt: skip
