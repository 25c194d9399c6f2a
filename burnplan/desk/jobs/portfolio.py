"""The portfolio: pieces handed over that may be shown, each with its photos.

A piece is in it where its client said yes and there is a photo of it. No client is named
who did not agree to that, by the title of their piece neither.
"""

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Literal

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from burnplan.codes import commission_code
from burnplan.desk.derived import balances, piece
from burnplan.desk.jobs import consents, photos
from burnplan.desk.jobs.consents import ConsentView
from burnplan.desk.jobs.photos import PhotoView
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.paging import ALL, ListPage
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.ledger import originals
from burnplan.ledger.models import Commission, ProgressPhoto
from burnplan.outline import Outline
from burnplan.sentences import Do
from burnplan.view import View

MOST_PHOTOS = 3
"""Of one piece: a portfolio is no album (our own choice)."""

# Letters from which a word of a client's name tells who it is; a guess: Ida does, "de" and "of"
# do not.
_A_NAME = 3

Withheld = Literal["", "not asked", "refused", "no photo", "named by its title"]


class PortfolioPiece(View):
    """A piece handed over; ``withheld`` says why it is not shown, empty where it is.

    ``shown_as`` is what it is called, ``client`` who it was for, empty where they are not to
    be named. ``photos`` are those that show it: chosen ones, else the newest. Lengths in mm.
    """

    code: str
    title: str
    shown_as: str
    client: str
    outline: Outline | None
    species: str | None
    delivered_on: date
    hours: float
    price: Decimal | None
    currency: str | None
    photos: list[PhotoView]
    consent: ConsentView
    withheld: Withheld


def pieces(studio: Studio, page: ListPage = ALL) -> list[PortfolioPiece]:
    """Return all pieces handed over, the newest first."""
    query = (
        select(Commission)
        .where(Commission.delivered_on.is_not(None))
        .options(
            selectinload(Commission.client), selectinload(Commission.blank),
            selectinload(Commission.consent), selectinload(Commission.sessions),
            selectinload(Commission.quotes),
        )
        .order_by(Commission.delivered_on.desc(), Commission.id.desc())
    )  # fmt: skip
    with studio.reading() as book:
        return _views(studio, book, book.scalars(page.of(query)).all())


def shown(studio: Studio, which: Sequence[str] = ()) -> list[PortfolioPiece]:
    """Return the pieces of a portfolio: those named, in that order, or all that may be shown.

    Raises
    ------
    NotAllowed
        If one that is named may not be shown.
    NotFound
        If there is none to show.
    """
    if not which:
        found = [one for one in pieces(studio) if not one.withheld]
        if not found:
            raise NotFound(
                "No piece that was handed over may be shown yet",
                "Ask its client, then note what they said: ",
                Do("consent.note"),
            )
        return found
    with studio.reading() as book:
        named = {one.id: one for one in (find_commission(book, text) for text in which)}
        for commission in named.values():
            if commission.delivered_on is None:
                raise NotAllowed(
                    f"{commission_code(commission.id)} is not handed over yet",
                    "A portfolio shows what has left the studio",
                )
        found = _views(studio, book, list(named.values()))
    for one in found:
        _refuse(one)
    return found


def _refuse(one: PortfolioPiece) -> None:
    match one.withheld:
        case "not asked":
            raise NotAllowed(
                f"Nobody was asked whether {one.code} may be shown",
                "Ask its client, then note what they said: ",
                Do("consent.note", job=one.code),
            )
        case "refused":
            raise NotAllowed(f"{one.code} may not be shown", "Leave it out")
        case "no photo":
            raise NotAllowed(
                f"{one.code} has no photos", "Add one: ", Do("photo.add", job=one.code)
            )
        case "named by its title":
            raise NotAllowed(
                f"The title of {one.code} names its client, who did not agree to that",
                "Say what it is called where others see it: ",
                Do("consent.shown_as", title="a title"),
            )


def choose(studio: Studio, which: str, numbers: Sequence[int]) -> PortfolioPiece | None:
    """Choose the photos that show a piece, by their numbers; none: its newest one does.

    Returns
    -------
    PortfolioPiece or None
        The piece, where it is handed over already.

    Raises
    ------
    BadInput
        If there are too many.
    NotFound
        If a photo is not one of that piece.
    """
    if len(set(numbers)) > MOST_PHOTOS:
        raise BadInput(
            f"{len(set(numbers))} photos are too many of one piece", f"Choose {MOST_PHOTOS} at most"
        )
    with studio.writing("portfolio.choose") as (book, entry):
        commission = find_commission(book, which)
        code, rows = commission_code(commission.id), photos.rows(book, commission)
        if missing := set(numbers) - {row.id for row in rows}:
            raise NotFound(f"{code} has no photo {min(missing)}", "See ", Do("photo.list"))
        for row in rows:
            row.chosen = row.id in numbers
        entry.says(f"Chose which photos show '{commission.title}'", commission.id)
        if commission.delivered_on is None:
            return None
        return _views(studio, book, [commission])[0]


def photo_files(studio: Studio, one: PortfolioPiece) -> list[Path]:
    """Return the files of the photos that show a piece, verified.

    Raises
    ------
    OperationFailed
        If one is missing or no longer what it was.
    """
    with studio.reading() as book:
        rows = [book.get_one(ProgressPhoto, photo.number) for photo in one.photos]
        return [originals.fetch(studio.originals, row.original_sha256) for row in rows]


def _views(studio: Studio, book: Session, found: Sequence[Commission]) -> list[PortfolioPiece]:
    """Return pieces as shown, by one look at all photos of them."""
    query = (
        select(ProgressPhoto)
        .where(ProgressPhoto.commission_id.in_([one.id for one in found]))
        .options(selectinload(ProgressPhoto.original), selectinload(ProgressPhoto.commission))
        .order_by(ProgressPhoto.taken_on, ProgressPhoto.id)
    )
    taken: dict[int, list[ProgressPhoto]] = {}
    for row in book.scalars(query):
        taken.setdefault(row.commission_id, []).append(row)
    now = studio.now()
    views = []
    for one in found:
        consent, rows = consents.view(one), taken.get(one.id, [])
        client = one.client.name if one.client else ""
        quote = balances.agreed_quote(one)
        size = piece.size_of(one)
        if one.delivered_on is None:
            continue
        views.append(
            PortfolioPiece(
                code=commission_code(one.id),
                title=one.title,
                shown_as=consent.shown_as or one.title,
                client=client if consent.with_name else "",
                outline=size,
                species=piece.species_of(one) or None,
                delivered_on=one.delivered_on,
                hours=sum(session.hours(now) for session in one.sessions),
                price=balances.to_pay(one) if quote else None,
                currency=quote.currency if quote else None,
                photos=[photos.view(row) for row in _showing(rows)],
                consent=consent,
                withheld=_withheld(one.title, client, consent, any_photo=bool(rows)),
            )
        )
    return views


def _showing(rows: list[ProgressPhoto]) -> list[ProgressPhoto]:
    return [row for row in rows if row.chosen] or rows[-1:]


def _withheld(title: str, client: str, consent: ConsentView, *, any_photo: bool) -> Withheld:
    if consent.answer == "not asked":
        return "not asked"
    if consent.answer == "no":
        return "refused"
    if not any_photo:
        return "no photo"
    if not consent.with_name and not consent.shown_as and names(title, client):
        return "named by its title"
    return ""


def names(title: str, client: str) -> bool:
    """Return whether a title has a word of a client's name.

    Examples
    --------
    >>> names("Mara's dog", "Mara Lindqvist")
    True
    >>> names("Marauder at sea", "Mara Lindqvist")
    False
    """
    words = {word.casefold() for word in re.findall(r"\w+", title)}
    known = {word.casefold() for word in re.findall(r"\w+", client) if len(word) >= _A_NAME}
    return bool(words & known)
