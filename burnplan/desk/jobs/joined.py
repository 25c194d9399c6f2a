"""Several photos kept as one picture of a piece: what is on record of them, and composed anew.

The picture is composed from the photos as they came, which are kept too, so that all that is
reckoned and shown is of one reference; where a piece gets another size it is composed anew.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy.orm import Session

from burnplan.desk.derived import piece
from burnplan.desk.jobs.readings import EstimateRequest
from burnplan.desk.studio import photo_store
from burnplan.desk.studio.studio import Studio
from burnplan.ledger import originals
from burnplan.ledger.models import Original, Reference
from burnplan.outline import Outline
from burnplan.progress import Progress
from burnplan.units import FEW_PX_PER_MM
from burnplan.view import View

if TYPE_CHECKING:
    from burnplan.desk.jobs.layouts import Layout
    from burnplan.tone.composed import Composed
    from burnplan.tone.together import Laid, Together

_QUALITY = 95  # of the JPEG that a picture is kept as; our own choice
_MUCH_CUT = 0.3  # share of a subject from which it is said; our own choice


class TonesView(View):
    """L* of a subject: its dark end, its middle and its light end."""

    dark: float
    middle: float
    light: float


class JoinedPhotoView(View):
    """One of several photos on a piece.

    ``box`` is what it fills of the piece and ``crop`` what is seen of the photo, left, top,
    right and bottom in per cent; ``cut_off`` the share of its likely subject that is not seen.
    """

    number: int
    photo: str
    photo_px: tuple[int, int]
    box: tuple[float, float, float, float]
    crop: tuple[float, float, float, float]
    mirrored: bool
    px_per_mm: float
    cut_off: float
    photographed: TonesView
    composed: TonesView
    taken_by: str
    allowed: str


class JoinedView(View):
    """Several photos on one piece; ``middles`` is null where tones are as photographed."""

    photos: list[JoinedPhotoView]
    stacked: bool
    shares: list[float] | None
    seam: str
    middles: float | None


@dataclass(frozen=True, slots=True)
class Joined:
    """Several photos that one picture is composed from.

    Parameters
    ----------
    together : Together
    names : tuple of str
        SHA-256 of each photo.
    files : tuple of Path
    size_mm : tuple of float
        Of the piece that the picture kept was composed for.
    laid : tuple of Laid
    mask : str
        SHA-256 of the mask of what no photo covers; empty where they cover all of it.
    """

    together: "Together"
    names: tuple[str, ...]
    files: tuple[Path, ...]
    size_mm: tuple[float, float]
    laid: "tuple[Laid, ...]" = ()
    mask: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain values, for the book."""
        return {
            "together": self.together.to_dict(),
            "photos": list(self.names),
            "size_mm": list(self.size_mm),
            "laid": [one.to_dict() for one in self.laid],
            "mask": self.mask,
        }

    def is_for(self, outline: Outline) -> bool:
        """Whether the picture kept is of a piece of these proportions and this size."""
        return self.size_mm == (outline.width_mm, outline.height_mm)


def of_reference(studio: Studio, reference: Reference) -> Joined | None:
    """Return the photos that a reference is composed from, verified; None if it is one photo."""
    plain = reference.together
    if plain is None:
        return None
    from burnplan.tone.together import Laid, Together

    width, height = plain["size_mm"]
    return Joined(
        Together.from_dict(plain["together"]),
        tuple(plain["photos"]),
        tuple(originals.fetch(studio.originals, name) for name in plain["photos"]),
        (width, height),
        tuple(Laid.from_dict(one) for one in plain["laid"]),
        plain["mask"],
    )


def view(book: Session, reference: Reference) -> JoinedView | None:
    """Return several photos on a piece as shown; None if it is one photo."""
    plain = reference.together
    if plain is None:
        return None
    photos = piece.photos_of(book, reference)
    return JoinedView(
        photos=[
            JoinedPhotoView(
                number=number,
                photo=photo.filename,
                photo_px=(photo.width_px, photo.height_px),
                box=_per_cent(lies["box"]),
                crop=_per_cent(lies["crop"]),
                mirrored=lies["mirrored"],
                px_per_mm=lies["px_per_mm"],
                cut_off=lies["cut"],
                photographed=_tones(lies["before"]),
                composed=_tones(lies["after"]),
                taken_by=photo.taken_by,
                allowed=photo.allowed,
            )
            for number, (photo, lies) in enumerate(zip(photos, plain["laid"], strict=True), start=1)
        ],
        stacked=plain["together"]["stacked"],
        shares=plain["together"]["shares"],
        seam=plain["together"]["seam"],
        middles=plain["together"]["middles"],
    )


def _tones(plain: Sequence[float]) -> TonesView:
    dark, middle, light = plain
    return TonesView(dark=dark, middle=middle, light=light)


def _per_cent(box: Sequence[float]) -> tuple[float, float, float, float]:
    left, top, right, bottom = (round(value * 100, 1) for value in box)
    return left, top, right, bottom


def notes(shown: JoinedView | None) -> list[str]:
    """Return what is to be noted of each of several photos: few pixels, a subject cut off."""
    found = []
    for one in shown.photos if shown else ():
        if one.px_per_mm < FEW_PX_PER_MM:
            found.append(
                f"'{one.photo}' has only {one.px_per_mm:.1f} pixels per mm where it lies, so fine"
                " detail will be soft"
            )
        if one.cut_off > _MUCH_CUT:
            found.append(
                f"{one.cut_off * 100:.0f} % of the likely subject of '{one.photo}' is cut off:"
                " give it a larger share, another crop, or stack the photos"
            )
    return found


def composed_for(
    joined: Joined, outline: Outline, layout: "Layout", on_progress: Progress | None = None
) -> "tuple[Composed, Joined, Layout]":
    """Compose the photos for a piece, with the areas marked on them where they come to lie.

    The mask of a layout is not settled here: it names what is kept.
    """
    from burnplan.tone.composed import compose
    from burnplan.tone.together import area_moved

    made = compose(joined.files, joined.together, outline, on_progress)
    size = outline.width_mm, outline.height_mm
    if joined.laid:

        def moved(areas: Sequence[Any]) -> tuple[Any, ...]:
            found = (area_moved(one, joined.laid, made.laid) for one in areas)
            return tuple(one for one in found if one is not None)

        control = layout.control
        layout = replace(
            layout,
            focal=moved(layout.focal),
            control=replace(
                control,
                background=moved(control.background),
                subject=moved(control.subject),
                keep=moved(control.keep),
            ),
        )
    return made, replace(joined, size_mm=size, laid=made.laid, mask=""), layout


def kept_for(
    studio: Studio,
    joined: Joined,
    outline: Outline,
    layout: "Layout",
    name: str,
    on_progress: Progress | None = None,
) -> "tuple[Original, Joined, Layout]":
    """Compose the photos for a piece and keep the picture; its record is in no book yet."""
    made, new, layout = composed_for(joined, outline, layout, on_progress)
    mask = "" if made.keep is None else photo_store.keep_bytes(studio, _png(made))
    if layout.mask in ("", joined.mask):
        layout = replace(layout, mask=mask)
    kept = photo_store.keep_picture(studio, made.rgb, name, _QUALITY)
    return kept, replace(new, mask=mask), layout


def on_piece(
    photo: Path, asked: EstimateRequest, on_progress: Progress | None = None
) -> tuple[Path | bytes, EstimateRequest]:
    """Return the picture of a piece as asked for: that kept, or composed anew for its size."""
    from burnplan.desk.jobs.layouts import Layout

    joined = asked.joined
    if joined is None or joined.is_for(asked.outline):
        return photo, asked
    layout = asked.layout or Layout()
    made, new, moved = composed_for(joined, asked.outline, layout, on_progress)
    mask = asked.mask
    if layout.mask in ("", joined.mask):
        mask = None if made.keep is None else _png(made)
    return _jpeg(made), replace(asked, layout=moved, mask=mask, joined=new)


def _jpeg(made: "Composed") -> bytes:
    from PIL import Image

    file = io.BytesIO()
    Image.fromarray(made.rgb).save(file, "JPEG", quality=_QUALITY, subsampling=0)
    return file.getvalue()


def _png(made: "Composed") -> bytes:
    from PIL import Image

    file = io.BytesIO()
    assert made.keep is not None  # noqa: S101 - asked before
    Image.fromarray(made.keep).save(file, "PNG")
    return file.getvalue()
