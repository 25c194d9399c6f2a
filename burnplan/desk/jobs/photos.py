"""Photos of a piece on its way: kept as they came, by the day they show."""

from datetime import date
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned_note
from burnplan.codes import commission_code
from burnplan.dates import format_day, that_was
from burnplan.desk.derived.job_status import HoursLeft
from burnplan.desk.studio import photo_store
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.paging import ALL, ListPage
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound, OperationFailed
from burnplan.ledger import originals
from burnplan.ledger.models import Commission, Original, ProgressPhoto
from burnplan.sentences import Do
from burnplan.view import View


class PhotoComparedView(View):
    """What a comparison with the plan came to on the day of the photo.

    ``burned`` and ``ticked`` are the shares of the burning that were done by the photo and by
    the checklist; the areas are those of the places named.
    """

    burned: float
    ticked: float
    hours_left: HoursLeft | None
    too_light_cm2: float
    too_dark_cm2: float


class PhotoView(View):
    """A photo of progress, as shown; ``chosen`` if it is to show the piece in the portfolio."""

    number: int
    code: str
    title: str
    filename: str
    size_px: tuple[int, int]
    taken_on: date
    note: str
    compared: PhotoComparedView | None
    chosen: bool = False


def view(row: ProgressPhoto) -> PhotoView:
    """Return a photo of progress as shown."""
    return PhotoView(
        number=row.id,
        code=commission_code(row.commission_id),
        title=row.commission.title,
        filename=row.original.filename,
        size_px=(row.original.width_px, row.original.height_px),
        taken_on=row.taken_on,
        note=row.note,
        compared=_compared(row),
        chosen=row.chosen,
    )


def _compared(row: ProgressPhoto) -> PhotoComparedView | None:
    if row.comparison is None:
        return None
    kept = row.comparison["view"]
    return PhotoComparedView(
        burned=kept["burning"]["by_photo"],
        ticked=kept["burning"]["by_ticks"],
        hours_left=kept["burning"]["hours_left"],
        too_light_cm2=sum(one["area_cm2"] for one in kept["too_light"]),
        too_dark_cm2=sum(one["area_cm2"] for one in kept["too_dark"]),
    )


def day_of(photo: Path) -> date | None:
    """Return the day a photo says it was taken; None if it does not say, or is none."""
    from burnplan.tone.photo import day_taken  # brings numpy and Pillow

    try:
        return day_taken(photo)
    except (BadInput, OperationFailed):
        return None


def add(
    studio: Studio, which: str, photo: Path, taken_on: date | None = None, note: str = ""
) -> PhotoView:
    """Keep a photo of a commission's progress.

    Parameters
    ----------
    studio : Studio
    which, photo
    taken_on : date, optional
        The day it shows; as the photo says, else today.
    note : str

    Raises
    ------
    BadInput
        If it is not a photo, or shows a day to come.
    NotAllowed
        If the commission has it already.
    """
    if taken_on:
        that_was(taken_on, studio.today(), "Give the day it was taken")
    with studio.reading() as book:
        find_commission(book, which)  # before the file is kept
    original = photo_store.keep(studio, photo)
    # A camera's clock may be wrong; nothing was taken after today.
    day = taken_on or min(day_of(photo) or studio.today(), studio.today())
    with studio.writing("photo.add") as (book, entry):
        commission = find_commission(book, which)
        kept = photo_store.recorded(book, original)
        if row_of(book, commission, kept) is not None:
            raise NotAllowed(
                f"{commission_code(commission.id)} has that photo already", "Choose another one"
            )
        row = ProgressPhoto(
            commission=commission,
            original=kept,
            taken_on=day,
            note=cleaned_note(note),
            added_at=studio.now(),
            chosen=False,
        )
        book.add(row)
        book.flush()
        entry.says(f"Photo of '{commission.title}' from {format_day(day)}", commission.id)
        return view(row)


def row_of(book: Session, commission: Commission, photo: Original) -> ProgressPhoto | None:
    """Return a photo that a commission has already; None if it has it not."""
    found = rows(book, commission)
    return next((row for row in found if row.original_sha256 == photo.sha256), None)


def find(book: Session, number: int) -> ProgressPhoto:
    """Return the photo of a number.

    Raises
    ------
    NotFound
        If there is none.
    """
    row = book.get(ProgressPhoto, number)
    if row is None:
        raise NotFound(f"There is no photo {number}", "See ", Do("photo.list"))
    return row


def burned_by_photo(book: Session, commission: Commission) -> PhotoView | None:
    """Return the newest photo of a piece as it is that was compared with its plan, if any was."""
    found = [row for row in rows(book, commission) if row.comparison is not None]
    return view(found[-1]) if found and not is_of_spoiled(found[-1]) else None


def is_of_spoiled(row: ProgressPhoto) -> bool:
    """Return whether a photo shows a piece that is ruined since: it is from before, by its day."""
    return any(row.taken_on <= spoiled.spoiled_on for spoiled in row.commission.spoiled)


def remove(studio: Studio, number: int) -> PhotoView:
    """Take a photo off its commission; the file is kept, so that this can be undone.

    Raises
    ------
    NotFound
        If there is none of that number.
    """
    with studio.writing("photo.remove") as (book, entry):
        row = find(book, number)
        gone = view(row)
        entry.says(f"Took a photo off '{row.commission.title}'", row.commission_id)
        book.delete(row)
        return gone


def rows(book: Session, commission: Commission | None, page: ListPage = ALL) -> list[ProgressPhoto]:
    """Return the records of a commission's photos, or of all, oldest first."""
    query = select(ProgressPhoto).order_by(ProgressPhoto.taken_on, ProgressPhoto.id)
    if commission is not None:
        query = query.where(ProgressPhoto.commission_id == commission.id)
    return list(book.scalars(page.of(query)))


def all_of(studio: Studio, which: str | None, page: ListPage = ALL) -> list[PhotoView]:
    """Return the photos of one commission, or of all, oldest first."""
    with studio.reading() as book:
        commission = None if which is None else find_commission(book, which)
        return [view(row) for row in rows(book, commission, page)]


def files(studio: Studio, which: str) -> list[tuple[PhotoView, Path]]:
    """Return the photos of one commission with their files, verified, oldest first.

    Raises
    ------
    NotFound
        If it has none.
    """
    with studio.reading() as book:
        commission = find_commission(book, which)
        code = commission_code(commission.id)
        found = rows(book, commission)
        if not found:
            raise NotFound(f"{code} has no photos", "Add one: ", Do("photo.add", job=code))
        return [
            (view(row), originals.fetch(studio.originals, row.original_sha256)) for row in found
        ]
