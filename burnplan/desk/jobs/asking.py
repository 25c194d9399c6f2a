"""What is asked of a commission's photo: the first time, again, and as it was planned."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy.orm import Session

from burnplan.codes import commission_code
from burnplan.desk.derived import piece, studio_settings, woods
from burnplan.desk.jobs import joined
from burnplan.desk.jobs.joined import Joined
from burnplan.desk.jobs.readings import EstimateRequest
from burnplan.desk.studio import photo_store
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from burnplan.ledger import originals
from burnplan.ledger.models import Commission, Original, Reference
from burnplan.outline import Outline
from burnplan.sentences import Do

if TYPE_CHECKING:
    from burnplan.desk.jobs.layouts import Layout, LayoutChange
    from burnplan.lettering.laying import Inscription


def size_for(commission: Commission) -> Outline:
    """Return the size that a commission's photo is laid on.

    Raises
    ------
    BadInput
        If it has none yet.
    """
    size = piece.size_of(commission)
    if size is None:
        code = commission_code(commission.id)
        raise BadInput(
            f"{code} has no size yet",
            "Give it (",
            Do("commission.size", job=code),
            ") or hold a blank for it",
        )
    return size


def asked_of(
    studio: Studio,
    book: Session,
    commission: Commission,
    zones: int,
    thresholds: tuple[float, ...] | None,
    min_area_mm2: float,
    layout: "Layout",
    several: Joined | None = None,
    *,
    outline: Outline | None = None,
    species: str | None = None,
) -> EstimateRequest:
    """Return what is asked of a commission's photo, for the piece as it is or is about to be."""
    mask = originals.fetch(studio.originals, layout.mask) if layout.mask else None
    return EstimateRequest(
        outline=outline or size_for(commission),
        species=woods.on_record(book, species) if species else piece.wood_of(book, commission),
        zones=zones,
        thresholds=thresholds,
        min_area_mm2=min_area_mm2,
        sandings=len(piece.sanding_left(commission.blank)),
        layout=layout,
        mask=mask,
        lettering=lettering_of(studio, commission),
        joined=several,
    )


def lettering_of(studio: Studio, commission: Commission) -> "tuple[Inscription, ...]":
    """Return what is lettered on a commission, ready to be laid."""
    if not commission.lettering:
        return ()
    from burnplan.desk.jobs import inscriptions  # brings the shaping of text

    return inscriptions.of_rows(commission.lettering, studio.originals)


def laid_as_wanted(
    studio: Studio,
    book: Session,
    commission: Commission,
    layout: "Layout",
    wanted: "LayoutChange | None",
) -> "Layout":
    """Return a layout with what is wanted otherwise on a commission's piece."""
    from burnplan.desk.jobs.layouts import LayoutChange, changed

    return changed(
        layout,
        wanted or LayoutChange(),
        partial(photo_store.keep_bytes, studio),
        studio_settings.of_book(book).thickness_unit,
        piece.bark_of(commission),
    )


def asked_again(
    studio: Studio,
    book: Session,
    last: Reference,
    *,
    zones: int | None = None,
    thresholds: tuple[float, ...] | None = None,
    min_area_mm2: float | None = None,
    wanted: "LayoutChange | None" = None,
    outline: Outline | None = None,
    species: str | None = None,
) -> "tuple[Original, Path, EstimateRequest]":
    """Return the picture of a reference, kept where, and what is asked of it anew.

    What is not given is asked as it was the last time, for the piece as it is; tones are
    parted anew. Several photos are composed anew where the piece has another size than they
    were for.
    """
    from burnplan.desk.jobs.layouts import Layout
    from burnplan.zoning import FEWEST

    commission, layout = last.commission, Layout.from_dict(last.layout)
    kept, several = last.original, joined.of_reference(studio, last)
    outline = outline or size_for(commission)
    if several is not None and not several.is_for(outline):
        kept, several, layout = joined.kept_for(
            studio, several, outline, layout, Path(kept.filename).stem
        )
    photo = originals.fetch(studio.originals, kept.sha256)
    layout = laid_as_wanted(studio, book, commission, layout, wanted)
    asked = asked_of(
        studio,
        book,
        commission,
        zones or max(last.zones, FEWEST),  # it may have held fewer than were asked for
        thresholds,
        last.min_area_mm2 if min_area_mm2 is None else min_area_mm2,
        layout,
        several,
        outline=outline,
        species=species,
    )
    return kept, photo, asked


def as_planned(studio: Studio, book: Session, reference: Reference) -> tuple[EstimateRequest, Path]:
    """Return what was asked of a reference's photo, and the photo kept."""
    from burnplan.desk.jobs.layouts import Layout

    asked = asked_of(
        studio,
        book,
        reference.commission,
        reference.zones,
        tuple(reference.thresholds) or None,
        reference.min_area_mm2,
        Layout.from_dict(reference.layout),
        joined.of_reference(studio, reference),
    )
    return asked, originals.fetch(studio.originals, reference.original_sha256)
