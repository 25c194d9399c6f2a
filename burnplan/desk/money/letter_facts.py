"""What letters to a client are filled with: one job's facts, as every other surface has them."""

from datetime import date
from decimal import Decimal

from sqlalchemy.orm import Session

from burnplan.codes import commission_code
from burnplan.dates import format_day
from burnplan.desk.derived import piece
from burnplan.desk.jobs import clients, commissions, comparing, finishing, joined, lettering, photos
from burnplan.desk.jobs.clients import ClientView
from burnplan.desk.jobs.commissions import CommissionView
from burnplan.desk.jobs.comparing import PhotoWorthView
from burnplan.desk.jobs.finishing import FinishView
from burnplan.desk.jobs.photos import PhotoView
from burnplan.desk.money import payments, quotes
from burnplan.desk.money.payments import PaymentView
from burnplan.desk.money.quotes import QuoteView
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from burnplan.ledger import originals
from burnplan.ledger.models import Reference
from burnplan.letter_kinds import LetterKind
from burnplan.outline import Outline, OutlineKind
from burnplan.sentences import Do
from burnplan.view import View


class LetterFacts(View):
    """All that a letter about a job may say."""

    # In a proposal and an order as it is quoted: the price is for that size and wood.
    piece: CommissionView
    client: ClientView | None
    # The one that holds: the newest accepted one, else the newest; in a proposal the newest.
    quote: QuoteView | None
    newest_payment: PaymentView | None
    newest_photo: PhotoView | None
    # Those it was planned from, the best first; only where the letter is about them.
    photos: list[PhotoWorthView]
    has_reference: bool
    # Whether it is on record that the photo in use may be burned.
    photo_allowed: bool
    finish: FinishView
    # The lines to be burned in letters, as they are on record.
    lettering: list[str]
    balance: Decimal


def gather(studio: Studio, which: str, kind: LetterKind | None = None) -> LetterFacts:
    """Return what letters about a commission, or one of a kind, are filled with."""
    with studio.reading() as book:
        commission = find_commission(book, which)
        code, used = commission_code(commission.id), commission.references[-1:]
        allowed = all(photo.allowed for one in used for photo in piece.photos_of(book, one))
    job = commissions.show(studio, code)
    paid = [one for one in payments.all_of(studio, code) if one.kind != "refund"]
    taken = photos.all_of(studio, code)
    quote = None
    if job.quoted is not None:
        proposed = kind is LetterKind.PROPOSAL
        quote = quotes.show(studio, code) if proposed else quotes.agreed(studio, code)
        if kind in (LetterKind.PROPOSAL, LetterKind.ORDER):
            job = quotes.as_quoted(quote, job)
    return LetterFacts(
        piece=job,
        client=clients.named(studio, job.client),
        quote=quote,
        newest_payment=max(paid, key=lambda one: (one.paid_on, one.number), default=None),
        newest_photo=taken[-1] if taken else None,
        photos=photos_ranked(studio, code) if kind is LetterKind.PHOTOS else [],
        has_reference=job.references > 0,
        photo_allowed=allowed,
        finish=finishing.show(studio, code),
        lettering=[line for one in lettering.of(studio, code).lettering for line in one.lines],
        balance=job.balance,
    )


def photos_ranked(studio: Studio, which: str) -> list[PhotoWorthView]:
    """Return the photos that a commission was planned from, the best first, as compared.

    None where its size is not known.

    Raises
    ------
    OperationFailed
        If a photo is missing or no longer what it was.
    """
    with studio.reading() as book:
        commission = find_commission(book, which)
        size = piece.size_of(commission)
        if size is None:
            return []
        found: dict[str, comparing.Asked] = {}
        for reference in commission.references:
            for name, file, outline in _each_photo(studio, book, reference, size):
                found[file.name] = (name, file, outline)
    return comparing.ranked(list(found.values())[-comparing.MOST :]) if found else []


def _each_photo(
    studio: Studio, book: Session, reference: Reference, size: Outline
) -> list[comparing.Asked]:
    """Return the photos of a reference, each with what it is to fill.

    One of several on a piece fills what it would whole, as fine as it lies there.
    """
    several, lies = joined.of_reference(studio, reference), joined.view(book, reference)
    if several is None or lies is None:
        kept = reference.original
        return [(kept.filename, originals.fetch(studio.originals, kept.sha256), size)]
    found = []
    for one, file in zip(lies.photos, several.files, strict=True):
        width, height = (side / one.px_per_mm for side in one.photo_px)
        found.append((one.photo, file, Outline(OutlineKind.RECTANGLE, width, height)))
    return found


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
