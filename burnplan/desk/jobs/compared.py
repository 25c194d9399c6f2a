"""A comparison of a piece with its plan, kept with its photo: how it was on that day."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from burnplan.desk.jobs import comparisons, photos
from burnplan.desk.jobs.comparisons import Compared, ComparisonView
from burnplan.desk.jobs.photos import PhotoView
from burnplan.desk.studio import photo_store
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import NotFound
from burnplan.ledger import originals
from burnplan.ledger.models import ProgressPhoto
from burnplan.sentences import Do
from burnplan.view import View

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

_QUALITY = 88  # of the picture kept, a JPEG; our own choice


class KeptComparison(View):
    """A comparison as it was when it was made; steps are offered as they stand today."""

    photo: PhotoView
    compared_at: datetime
    comparison: ComparisonView


def keep(studio: Studio, compared: Compared, photo: Path) -> int:
    """Keep a comparison with the photo it was made of, and return the photo's number.

    Where the photo was compared before, this comparison takes the place of that one.
    """
    original = photo_store.keep(studio, photo)
    drawn = photo_store.keep_picture(studio, compared.picture(), f"{photo.stem} compared", _QUALITY)
    view = compared.view
    with studio.writing("photo.compare") as (book, entry):
        commission = find_commission(book, view.code)
        found = {
            "compared_at": studio.now().isoformat(),
            "picture": photo_store.recorded(book, drawn).sha256,
            "view": view.model_dump(mode="json"),
        }
        row = photos.row_of(book, commission, original)
        if row is None:
            row = ProgressPhoto(
                commission=commission,
                original=photo_store.recorded(book, original),
                taken_on=view.taken_on,
                note="Compared with the plan",
                added_at=studio.now(),
            )
            book.add(row)
        row.comparison = found
        book.flush()
        share = 100 * view.burning.by_photo
        entry.says(
            f"Compared '{commission.title}' with its plan: {share:.0f} % burned", commission.id
        )
        return row.id


def show(studio: Studio, number: int) -> tuple[KeptComparison, Path]:
    """Return the comparison kept with a photo, and the file of its picture.

    Raises
    ------
    NotFound
        If there is no such photo, or it was not compared.
    """
    with studio.reading() as book:
        row = photos.find(book, number)
        if row.comparison is None:
            raise NotFound(
                f"Photo {number} was not compared with the plan",
                "Compare the piece: ",
                Do("photo.compare", job=photos.view(row).code),
            )
        kept: dict[str, Any] = row.comparison
        made, at = ComparisonView.model_validate(kept["view"]), kept["compared_at"]
        found = KeptComparison(
            photo=photos.view(row),
            compared_at=datetime.fromisoformat(at),
            comparison=made,
        )
        made.burning.steps_offered = _offered(row, found)
        return found, originals.fetch(studio.originals, kept["picture"])


def _offered(row: ProgressPhoto, kept: KeptComparison) -> list[int]:
    """Return the steps that a comparison offers to tick; none of another plan or piece since."""
    references = row.commission.references
    planned_since = not references or references[-1].added_at > kept.compared_at
    if planned_since or photos.is_of_spoiled(row):
        return []
    return comparisons.offered(row.commission, kept.comparison.zones)


def picture(file: Path) -> "npt.NDArray[np.uint8]":
    """Return the picture of a comparison, uint8 of shape (H, W, 3)."""
    from burnplan.tone.photo import open_photo

    return open_photo(file).rgb
