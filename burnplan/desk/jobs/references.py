"""References: a photo kept, placed on a commission's wood, and measured."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned, cleaned_line
from burnplan.codes import commission_code
from burnplan.desk.derived import piece, studio_settings
from burnplan.desk.jobs import estimates, joined, knots, readings
from burnplan.desk.jobs.asking import as_planned, asked_again, asked_of, laid_as_wanted
from burnplan.desk.jobs.estimates import HoursView, LinesView, ZoneView
from burnplan.desk.jobs.joined import JoinedView
from burnplan.desk.jobs.knots import KnotsView
from burnplan.desk.jobs.readings import EstimateRequest
from burnplan.desk.studio import photo_store
from burnplan.desk.studio.lookup import find_commission, refuse_closed
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotFound
from burnplan.ledger.models import Commission, Original, Reference
from burnplan.outline import OutlineKind
from burnplan.progress import Progress
from burnplan.reckon.checklist import is_tracing
from burnplan.reckon.standard_hours import burned
from burnplan.reckon.work import WorkPlan
from burnplan.sentences import Do
from burnplan.units import UnitSystem, format_length
from burnplan.view import View
from burnplan.zoning import DEFAULT_ZONES, MIN_AREA_MM2

if TYPE_CHECKING:
    from burnplan.desk.jobs.layouts import LayoutChange
    from burnplan.tone.analysis import PhotoAnalysis


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
STAYS = "Its plan stays as it was; log a new commission for another piece"
_TRACED_BEFORE = (
    "What is traced is of an earlier plan, and the lines are others now: to trace them anew, open"
    " the steps of the transfer again"
)


def view(book: Session, reference: Reference, notes: tuple[str, ...] = ()) -> ReferenceView:
    """Return a reference as shown, with what else is to be noted."""
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
            *([_TRACED_BEFORE] if _is_traced_before(reference, plan) else []),
        ],
        added_at=reference.added_at,
        taken_by=_each(one.taken_by for one in photos),
        allowed=_each(one.allowed for one in photos) if all(one.allowed for one in photos) else "",
        together=several,
    )


def _is_traced_before(reference: Reference, plan: WorkPlan) -> bool:
    """Return whether lines are ticked as traced that an earlier plan had, and this has others."""
    commission = reference.commission
    traced = [
        step.ticked_at
        for step in commission.steps
        if step.ticked_at is not None and is_tracing(step.key)
    ]
    if not traced or not commission.is_open:
        return False
    of_then = [one for one in commission.references if one.added_at <= min(traced)]
    return bool(of_then) and WorkPlan.from_dict(of_then[-1].plan).lines != plan.lines


def _each(said: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(one for one in said if one))


def _on_bark(reference: Reference, units: UnitSystem) -> list[str]:
    """Say that a picture runs onto the bark of its blank, if it does."""
    bark, size = piece.bark_of(reference.commission), piece.size_of(reference.commission)
    if not bark or size is None:
        return []
    from burnplan.desk.jobs.layouts import Layout

    if Layout.from_dict(reference.layout).placement.keeps_off_edge(size, bark):
        return []
    deep = format_length(round(bark), units)
    return [f"The picture runs onto the bark, {deep} deep: a margin of 'bark' keeps it off"]


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


def put(
    studio: Studio,
    book: Session,
    commission: Commission,
    kept: Original,
    asked: EstimateRequest,
    reading: "PhotoAnalysis",
) -> None:
    """Put a photo that was read on record within a transaction, as the plan in use.

    Raises
    ------
    NotAllowed
        If the commission is closed.
    """
    refuse_closed(commission, STAYS)
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
        plan=readings.plan_of(reading, asked).to_dict(),
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
        put(studio, book, commission, kept, asked, reading)
        entry.says(f"Planned '{commission.title}' from {kept.filename}", commission.id)
    return show(studio, commission_code(commission.id), reading.notes)


def with_rights(book: Session, original: Original) -> Original:
    """Return the book's record of a photo, with what was newly said of its use."""
    kept = photo_store.recorded(book, original)
    kept.taken_by = original.taken_by or kept.taken_by
    kept.allowed = original.allowed or kept.allowed
    return kept


def add(
    studio: Studio,
    which: str,
    photo: Path,
    *,
    zones: int = DEFAULT_ZONES,
    thresholds: tuple[float, ...] | None = None,
    min_area_mm2: float = MIN_AREA_MM2,
    wanted: "LayoutChange | None" = None,
    taken_by: str | None = None,
    allowed: str | None = None,
    on_progress: Progress | None = None,
) -> tuple[ReferenceView, "PhotoAnalysis"]:
    """Keep a photo and plan the commission's work from it; who took it can be noted at once.

    Raises
    ------
    BadInput
        If the photo cannot be read, or the commission has no size yet.
    NotAllowed
        If the commission is closed.
    """
    from burnplan.desk.jobs.layouts import Layout

    with studio.reading() as book:
        commission = find_commission(book, which)
        refuse_closed(commission, STAYS)
        plain = Layout(line=studio_settings.of_book(book).line)
        layout = laid_as_wanted(studio, book, commission, plain, wanted)
        code = commission_code(commission.id)
        asked = asked_of(studio, book, commission, zones, thresholds, min_area_mm2, layout)
    asked = replace(asked, seek_subject=True)
    reading = readings.read(photo, asked, on_progress)
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
    on_progress: Progress | None = None,
) -> tuple[ReferenceView, "PhotoAnalysis"]:
    """Plan again from the photo kept: after a new size, blank, or number of zones.

    Raises
    ------
    NotFound
        If the commission has no reference.
    NotAllowed
        If it is closed.
    """
    with studio.reading() as book:
        commission = find_commission(book, which)
        refuse_closed(commission, STAYS)
        code = commission_code(commission.id)
        original, photo, asked = asked_again(
            studio,
            book,
            newest(commission),
            zones=zones,
            thresholds=thresholds,
            min_area_mm2=min_area_mm2,
            wanted=wanted,
        )
    reading = readings.read(photo, asked, on_progress)
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
        return view(book, reference, tuple(seen))


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


def pictures(
    studio: Studio, which: str, on_progress: Progress | None = None
) -> tuple[ReferenceView, "PhotoAnalysis"]:
    """Return the reference in use with its pictures, read again from the photo kept."""
    with studio.reading() as book:
        reference = newest(find_commission(book, which))
        asked, photo = as_planned(studio, book, reference)
        shown = view(book, reference)
    return shown, readings.read(photo, asked, on_progress)
