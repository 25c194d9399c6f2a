"""References: a photo kept, placed on a commission's wood, and measured."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned, cleaned_line
from burnplan.codes import commission_code
from burnplan.desk.derived import piece, studio_settings, woods
from burnplan.desk.jobs import estimates, joined, knots
from burnplan.desk.jobs.estimates import EstimateRequest, HoursView, LinesView, OnProgress, ZoneView
from burnplan.desk.jobs.joined import Joined, JoinedView
from burnplan.desk.jobs.knots import KnotsView
from burnplan.desk.studio import photo_store
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, BurnplanError, NotFound
from burnplan.ledger import originals
from burnplan.ledger.models import Commission, Original, Reference
from burnplan.outline import Outline, OutlineKind
from burnplan.reckon.standard_hours import burned
from burnplan.reckon.work import WorkPlan
from burnplan.sentences import Do
from burnplan.units import UnitSystem, format_length
from burnplan.view import View
from burnplan.wood.species import UNKNOWN_WOOD, Species

if TYPE_CHECKING:
    from burnplan.desk.jobs.layouts import Layout, LayoutChange
    from burnplan.lettering.laying import Inscription
    from burnplan.tone.analysis import PhotoAnalysis
    from burnplan.tone.areas import MarkedArea
    from burnplan.tone.place import Placed
    from burnplan.tone.zones import ZoneMap


class ReferenceView(View):
    """A reference, as shown; lengths in mm; ``covered`` is the share of the face burned.

    ``bare`` and ``darkest`` are the L* of its wood, unburned and burned as dark as it goes;
    ``knots`` are those of its blank that focal areas lie on.
    ``together`` has the photos where several are on the piece, and ``photo`` is then the
    picture composed of them; ``allowed`` is empty while the use of one of them is not allowed.
    """

    code: str
    title: str
    number: int
    photo: str
    photo_px: tuple[int, int]
    size_mm: tuple[float, float]
    outline: OutlineKind
    species: str
    bare: float
    darkest: float
    knots: KnotsView
    thresholds: list[float]
    min_area_mm2: float
    layout: dict[str, Any] | None
    zones: list[ZoneView]
    covered: float
    lines: LinesView
    hours: HoursView
    notes: list[str]
    added_at: datetime
    taken_by: str
    allowed: str
    together: JoinedView | None


_OLDER_LINES = "Its lines are the borders of zones, as they were traced before: plan it again"
_OTHER_PIECE = "The piece has another size or wood than this plan: plan it again"


def _view(book: Session, reference: Reference, notes: tuple[str, ...] = ()) -> ReferenceView:
    own = studio_settings.of_book(book)
    plan = WorkPlan.from_dict(reference.plan)
    commission = reference.commission
    size, planned = piece.size_of(commission), piece.is_planned(commission)
    found = knots.under(reference, own.thickness_unit) if planned else knots.NONE
    wood = piece.wood_of(book, commission)
    photos, several = piece.photos_of(book, reference), joined.view(book, reference)
    return ReferenceView(
        code=commission_code(commission.id),
        title=commission.title,
        number=commission.references.index(reference) + 1,
        photo=reference.original.filename,
        photo_px=(reference.original.width_px, reference.original.height_px),
        size_mm=(plan.width_mm, plan.height_mm),
        outline=size.kind if size else OutlineKind.RECTANGLE,
        species=plan.species,
        bare=wood.bare_lightness,
        darkest=wood.darkest_burn,
        knots=found,
        thresholds=reference.thresholds,
        min_area_mm2=reference.min_area_mm2,
        layout=reference.layout,
        zones=[ZoneView(**zone._asdict()) for zone in plan.zones],
        covered=burned(plan).share,
        lines=estimates.lines_view(plan.lines),
        hours=HoursView.model_validate(reference.hours),
        notes=[
            *notes,
            *joined.notes(several),
            *([] if planned else [_OTHER_PIECE]),
            *found.notes(own.units),
            *(_on_bark(reference, own.units) if planned else []),
            *([] if plan.lines.passes else [_OLDER_LINES]),
        ],
        added_at=reference.added_at,
        taken_by=_each(one.taken_by for one in photos),
        allowed=_each(one.allowed for one in photos) if all(one.allowed for one in photos) else "",
        together=several,
    )


def _each(said: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(one for one in said if one))


def _on_bark(reference: Reference, units: UnitSystem) -> list[str]:
    """Say that a picture runs onto the bark of its blank, if it does."""
    bark = piece.bark_of(reference.commission) or 0.0
    margin = ((reference.layout or {}).get("placement") or {}).get("margin_mm", 0.0)
    if bark <= margin:
        return []
    deep = format_length(round(bark), units)
    return [f"The picture runs onto the bark, {deep} deep: a margin of 'bark' keeps it off"]


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
) -> EstimateRequest:
    """Return what is asked of a commission's photo, for the piece as it is."""
    mask = originals.fetch(studio.originals, layout.mask) if layout.mask else None
    return EstimateRequest(
        outline=size_for(commission),
        species=piece.wood_of(book, commission),
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


def newest(commission: Commission) -> Reference:
    """Return the reference of a commission that is in use.

    Raises
    ------
    NotFound
        If it has none.
    """
    if not commission.references:
        code = commission_code(commission.id)
        raise NotFound(f"{code} has no reference yet", "Add one: ", Do("reference.add", job=code))
    return commission.references[-1]


def usable(original: Original, reading: "PhotoAnalysis") -> None:
    """Refuse a photo that shows one tone only.

    Raises
    ------
    BadInput
    """
    if not reading.zones.thresholds:
        raise BadInput(
            f"'{original.filename}' shows one tone only where the piece is",
            "Choose another photo, or move it on the wood",
        )


def _put(
    studio: Studio,
    book: Session,
    commission: Commission,
    kept: Original,
    asked: EstimateRequest,
    reading: "PhotoAnalysis",
) -> None:
    layout = asked.layout
    if layout and asked.seek_subject:  # the photo lies by it from now on
        layout = replace(layout, likely=reading.likely)
    if layout and layout.mask:
        photo_store.record_mask(studio, book, layout.mask)
    reference = Reference(
        commission=commission,
        original=kept,
        zones=len(reading.zones.thresholds) + 1,
        min_area_mm2=asked.min_area_mm2,
        thresholds=list(reading.zones.thresholds),
        layout=layout.to_dict() if layout else None,
        together=asked.joined.to_dict() if asked.joined else None,
        plan=estimates.plan_of(reading, asked).to_dict(),
        added_at=studio.now(),
    )
    book.add(reference)
    book.flush()


def _record(
    studio: Studio,
    which: str,
    original: Original,
    asked: EstimateRequest,
    reading: "PhotoAnalysis",
    action: str,
) -> ReferenceView:
    usable(original, reading)
    with studio.writing(action) as (book, entry):
        commission = find_commission(book, which)
        kept = with_rights(book, original)
        _put(studio, book, commission, kept, asked, reading)
        entry.says(f"Planned '{commission.title}' from {kept.filename}", commission.id)
    return show(studio, commission_code(commission.id), reading.notes)


def with_rights(book: Session, original: Original) -> Original:
    """Return the book's record of a photo, with what was newly said of its use."""
    kept = photo_store.recorded(book, original)
    kept.taken_by = original.taken_by or kept.taken_by
    kept.allowed = original.allowed or kept.allowed
    return kept


@dataclass(frozen=True, slots=True)
class NewPlan:
    """A kept photo read for a piece of another size or wood, not yet on record."""

    original: Original
    asked: EstimateRequest
    reading: "PhotoAnalysis"

    def put(self, studio: Studio, book: Session, commission: Commission) -> None:
        """Put it on record within a transaction that changes the piece."""
        kept = photo_store.recorded(book, self.original)
        _put(studio, book, commission, kept, self.asked, self.reading)


def _kept_for(
    studio: Studio, last: Reference, outline: Outline
) -> "tuple[Original, Path, Layout, Joined | None]":
    """Return the picture of a reference for a piece, how it lies, and what it is composed of.

    Several photos are composed anew where the piece has another size than they were for.
    """
    from burnplan.desk.jobs.layouts import Layout

    layout, several, kept = Layout.from_dict(last.layout), None, last.original
    if last.together is not None:
        several = joined.of_reference(studio, last)
        if several is not None and not several.is_for(outline):
            kept, several, layout = joined.kept_for(
                studio, several, outline, layout, Path(last.original.filename).stem
            )
    return kept, originals.fetch(studio.originals, kept.sha256), layout, several


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
        outline = outline or size_for(commission)
        key = species or piece.species_of(commission) or UNKNOWN_WOOD
        if piece.is_of(plan, outline, key):
            return None
        try:
            original, photo, layout, several = _kept_for(studio, last, outline)
            mask = originals.fetch(studio.originals, layout.mask) if layout.mask else None
            lettering = lettering_of(studio, commission)
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
        usable(original, reading)
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
        original, photo, layout, several = _kept_for(studio, last, size_for(commission))
        asked = asked_of(
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


def add(
    studio: Studio,
    which: str,
    photo: Path,
    *,
    zones: int = 6,  # our own choice, as tone.zones has it
    thresholds: tuple[float, ...] | None = None,
    min_area_mm2: float = 9.0,  # common practice, no source, as tone.zones has it
    wanted: "LayoutChange | None" = None,
    taken_by: str | None = None,
    allowed: str | None = None,
    on_progress: OnProgress | None = None,
) -> tuple[ReferenceView, "PhotoAnalysis"]:
    """Keep a photo and plan the commission's work from it; who took it can be noted at once.

    Raises
    ------
    BadInput
        If the photo cannot be read, or the commission has no size yet.
    """
    from burnplan.desk.jobs.layouts import Layout, LayoutChange, changed

    with studio.reading() as book:
        commission = find_commission(book, which)
        layout = changed(
            Layout(line=studio_settings.of_book(book).line),
            wanted or LayoutChange(),
            partial(photo_store.keep_bytes, studio),
            studio_settings.of_book(book).thickness_unit,
            piece.bark_of(commission),
        )
        code = commission_code(commission.id)
        asked = asked_of(studio, book, commission, zones, thresholds, min_area_mm2, layout)
    asked = replace(asked, seek_subject=True)
    reading = estimates.read(photo, asked, on_progress)
    original = photo_store.keep(studio, photo)
    original.taken_by = cleaned_line(taken_by or "")[:120]
    original.allowed = cleaned_line(allowed or "")[:200]
    return _record(studio, code, original, asked, reading, "reference.add"), reading


def replan(
    studio: Studio,
    which: str,
    *,
    zones: int | None = None,
    thresholds: tuple[float, ...] | None = None,
    min_area_mm2: float | None = None,
    wanted: "LayoutChange | None" = None,
    on_progress: OnProgress | None = None,
) -> tuple[ReferenceView, "PhotoAnalysis"]:
    """Plan again from the photo kept: after a new size, blank, or number of zones.

    Raises
    ------
    NotFound
        If the commission has no reference.
    """
    from burnplan.desk.jobs.layouts import LayoutChange, changed
    from burnplan.tone.zones import FEWEST

    with studio.reading() as book:
        commission = find_commission(book, which)
        code, last = commission_code(commission.id), newest(commission)
        original, photo, layout, several = _kept_for(studio, last, size_for(commission))
        layout = changed(
            layout,
            wanted or LayoutChange(),
            partial(photo_store.keep_bytes, studio),
            studio_settings.of_book(book).thickness_unit,
            piece.bark_of(commission),
        )
        asked = asked_of(
            studio,
            book,
            commission,
            zones or max(last.zones, FEWEST),  # it may have held fewer than were asked for
            thresholds,
            last.min_area_mm2 if min_area_mm2 is None else min_area_mm2,
            layout,
            several,
        )
    reading = estimates.read(photo, asked, on_progress)
    return _record(studio, code, original, asked, reading, "reference.plan"), reading


def note_rights(
    studio: Studio,
    which: str,
    *,
    taken_by: str | None = None,
    allowed: str | None = None,
    number: int | None = None,
) -> ReferenceView:
    """Note who took the photo of a commission, and how they allowed its use.

    Parameters
    ----------
    studio : Studio
    which : str
    taken_by, allowed : str, optional
        What is not given stays as it is.
    number : int, optional
        Which of several photos on the piece; all of them if not given.

    Raises
    ------
    NotFound
        If the commission has no reference, or no photo of that number.
    BadInput
        If neither is given.
    """
    if taken_by is None and allowed is None:
        raise BadInput("Nothing is said of the photo", "Say who took it, or how they allowed it")
    with studio.writing("reference.rights") as (book, entry):
        commission = find_commission(book, which)
        photos = piece.photos_of(book, newest(commission))
        if number is not None and not 1 <= number <= len(photos):
            raise NotFound(
                f"There is no photo {number} on {commission_code(commission.id)}",
                f"It has {len(photos)}",
            )
        for photo in photos if number is None else [photos[number - 1]]:
            if taken_by is not None:
                photo.taken_by = cleaned(taken_by, "name", longest=120)
            if allowed is not None:
                photo.allowed = cleaned(allowed, "permission", longest=200)
        entry.says(f"Noted whose photo '{commission.title}' is burned from", commission.id)
    return show(studio, commission_code(commission.id))


def show(studio: Studio, which: str, notes: tuple[str, ...] = ()) -> ReferenceView:
    """Return the reference of a commission that is in use, with what was noted of its photo."""
    with studio.reading() as book:
        reference = newest(find_commission(book, which))
        seen = dict.fromkeys((*notes, *_placement_notes(reference)))
        return _view(book, reference, tuple(seen))


def _placement_notes(reference: Reference) -> tuple[str, ...]:
    """Return what is to be noted of how the photo lies: few pixels, much cropped."""
    from burnplan.desk.jobs.layouts import Layout
    from burnplan.tone.place import placement_notes

    outline = piece.size_of(reference.commission)
    if outline is None or reference.together or not piece.is_planned(reference.commission):
        return ()
    layout, photo = Layout.from_dict(reference.layout), reference.original
    return placement_notes(
        (photo.width_px, photo.height_px),
        outline,
        layout.placement,
        inside=(*layout.focal, *layout.control.subject),
        likely=layout.likely,
    )


@dataclass(frozen=True, slots=True, eq=False)
class Planned:
    """What the reference in use wants of each place of the wood.

    Parameters
    ----------
    view : ReferenceView
    placed : Placed
    zones : ZoneMap
    wood : Species
    focal : tuple of MarkedArea
    """

    view: ReferenceView
    placed: "Placed"
    zones: "ZoneMap"
    wood: Species
    focal: "tuple[MarkedArea, ...]"


def planned(
    studio: Studio, which: str, px_per_mm: float, on_progress: OnProgress | None = None
) -> Planned:
    """Return the reference in use without its lines, read again from the photo kept.

    Raises
    ------
    NotFound
        If it has none.
    """
    from burnplan.desk.jobs.layouts import Layout
    from burnplan.tone.zones import find_zones

    with studio.reading() as book:
        commission = find_commission(book, which)
        reference = newest(commission)
        layout = Layout.from_dict(reference.layout)
        thresholds = tuple(reference.thresholds) or None
        asked = asked_of(
            studio, book, commission, reference.zones, thresholds, reference.min_area_mm2, layout,
            joined.of_reference(studio, reference),
        )  # fmt: skip
        view = _view(book, reference)
        photo = originals.fetch(studio.originals, reference.original_sha256)
    placed = laid_as_asked(photo, asked, px_per_mm, on_progress)
    zones = find_zones(placed, asked.zones, asked.thresholds, asked.min_area_mm2)
    placed = lettered(placed, asked)
    return Planned(view, placed, zones, asked.species, layout.focal)


def laid_as_asked(
    photo: Path, asked: EstimateRequest, px_per_mm: float, on_progress: OnProgress | None = None
) -> "Placed":
    """Return a photo, or several, as it lies on a piece, with its tones and no lettering."""
    from burnplan.desk.jobs.layouts import Layout
    from burnplan.tone.analysis import place_photo

    source, asked = joined.on_piece(photo, asked)
    layout = asked.layout or Layout()
    _, placed, _ = place_photo(
        source,
        asked.outline,
        placement=layout.placement,
        px_per_mm=px_per_mm,
        control=layout.control,
        mask=asked.mask,
        focal=layout.focal,
        likely=layout.likely,
        on_progress=on_progress,
    )
    return placed


def lettered(placed: "Placed", asked: EstimateRequest) -> "Placed":
    """Return what is placed with the lettering asked for on it."""
    from burnplan.tone import letters as lettering

    letters = estimates.letters_of(asked)
    if not letters:
        return placed
    taken = lettering.burned_at(letters, placed)
    return replace(placed, lettered=taken, lightness=lettering.shown(placed, letters, taken))


def pictures(
    studio: Studio, which: str, on_progress: OnProgress | None = None
) -> tuple[ReferenceView, "PhotoAnalysis"]:
    """Return the reference in use with its pictures, read again from the photo kept."""
    from burnplan.desk.jobs.layouts import Layout

    with studio.reading() as book:
        commission = find_commission(book, which)
        reference = newest(commission)
        asked = asked_of(
            studio,
            book,
            commission,
            reference.zones,
            tuple(reference.thresholds) or None,
            reference.min_area_mm2,
            Layout.from_dict(reference.layout),
            joined.of_reference(studio, reference),
        )
        view = _view(book, reference)
        photo = originals.fetch(studio.originals, reference.original_sha256)
    return view, estimates.read(photo, asked, on_progress)
