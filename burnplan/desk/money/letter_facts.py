"""What letters to a client are filled with: one job's facts, as every other surface has them."""

import math
from datetime import date
from decimal import Decimal

from burnplan.codes import commission_code
from burnplan.dates import format_day
from burnplan.desk.derived import piece
from burnplan.desk.jobs import clients, commissions, finishing, joined, lettering, photos
from burnplan.desk.jobs.clients import ClientView
from burnplan.desk.jobs.commissions import CommissionView
from burnplan.desk.jobs.finishing import FinishView
from burnplan.desk.jobs.photos import PhotoView
from burnplan.desk.money import payments, quotes
from burnplan.desk.money.payments import PaymentView
from burnplan.desk.money.quotes import QuoteView
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from burnplan.sentences import Do
from burnplan.units import FEW_PX_PER_MM
from burnplan.view import View


class PhotoFault(View):
    """What is wrong with a photo for a piece of this size; pixels of the photo, and needed."""

    filename: str
    px: tuple[int, int]
    needed_px: tuple[int, int] | None
    lies_across: bool


class LetterFacts(View):
    """All that a letter about a job may say."""

    piece: CommissionView
    client: ClientView | None
    # The one that holds: the newest accepted one, else the newest.
    quote: QuoteView | None
    newest_payment: PaymentView | None
    newest_photo: PhotoView | None
    photo_faults: list[PhotoFault]
    has_reference: bool
    finish: FinishView
    # The lines to be burned in letters, as they are on record.
    lettering: list[str]
    balance: Decimal


def gather(studio: Studio, which: str) -> LetterFacts:
    """Return what letters about a commission are filled with."""
    with studio.reading() as book:
        code = commission_code(find_commission(book, which).id)
    job = commissions.show(studio, code)
    paid = [one for one in payments.all_of(studio, code) if one.kind != "refund"]
    taken = photos.all_of(studio, code)
    return LetterFacts(
        piece=job,
        client=clients.named(studio, job.client),
        quote=quotes.agreed(studio, code) if job.quoted is not None else None,
        newest_payment=max(paid, key=lambda one: (one.paid_on, one.number), default=None),
        newest_photo=taken[-1] if taken else None,
        photo_faults=photo_faults(studio, code),
        has_reference=job.references > 0,
        finish=finishing.show(studio, code),
        lettering=[line for one in lettering.of(studio, code).lettering for line in one.lines],
        balance=job.balance,
    )


def photo_faults(studio: Studio, which: str) -> list[PhotoFault]:
    """Return what is wrong with each photo that a commission was planned from."""
    with studio.reading() as book:
        commission = find_commission(book, which)
        size = piece.size_of(commission)
        if size is None:
            return []
        found: dict[str, PhotoFault] = {}
        for reference in commission.references:
            if (several := joined.view(book, reference)) is not None:
                found |= {one.photo: fault for one in several.photos if (fault := _of_one(one))}
                continue
            width, height = reference.original.width_px, reference.original.height_px
            needed = (round(size.width_mm * FEW_PX_PER_MM), round(size.height_mm * FEW_PX_PER_MM))
            # Filled, the photo covers the piece: it is as fine as its coarser side.
            fine = min(width / size.width_mm, height / size.height_mm)
            across = (width > height) != (size.width_mm > size.height_mm) and not (
                width == height or size.width_mm == size.height_mm
            )
            found[reference.original_sha256] = PhotoFault(
                filename=reference.original.filename,
                px=(width, height),
                needed_px=needed if fine < FEW_PX_PER_MM else None,
                lies_across=across,
            )
        return [one for one in found.values() if one.needed_px or one.lies_across]


def _of_one(shown: joined.JoinedPhotoView) -> PhotoFault | None:
    """Return what is wrong with one of several photos; None if it has pixels enough."""
    if shown.px_per_mm >= FEW_PX_PER_MM:
        return None
    width, height = (math.ceil(n * FEW_PX_PER_MM / shown.px_per_mm) for n in shown.photo_px)
    return PhotoFault(
        filename=shown.photo, px=shown.photo_px, needed_px=(width, height), lies_across=False
    )


def later_date(studio: Studio, job: CommissionView, confidence: float) -> date:
    """Return the new date that can be promised for a commission that will be late.

    Raises
    ------
    BadInput
        If its hours are not known, or it can still be ready by its date.
    NotAllowed
        If it is closed or finished.
    """
    from burnplan.desk.time import promises  # brings numpy

    found = promises.dates_for(studio, job.code, [None], confidence)[0].ready
    if job.due is not None and found <= job.due:
        raise BadInput(
            f"{job.code} can still be ready by {format_day(job.due)}",
            "Give the new date if it is to be later all the same: ",
            Do("letter.until", until="in 4 weeks"),
        )
    return found
