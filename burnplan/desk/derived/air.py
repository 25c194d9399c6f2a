"""The air that wood is kept in, as noted, and what it means for end grain."""

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.desk.derived import woods
from burnplan.ledger.models import Blank, Climate
from burnplan.view import View
from burnplan.wood import moisture, movement


class Air(View):
    """Temperature and relative humidity somewhere."""

    celsius: float
    humidity: float
    emc: float
    noted_at: datetime | None = None


def on_record(book: Session, client_id: int | None) -> Air | None:
    """Return the air last noted in a client's home; in the shop, for no client."""
    same = Climate.client_id.is_(None) if client_id is None else Climate.client_id == client_id
    row = book.scalars(
        select(Climate).where(same).order_by(Climate.noted_at.desc(), Climate.id.desc()).limit(1)
    ).first()
    if row is None:
        return None
    emc = moisture.emc(row.celsius, row.humidity)
    return Air(celsius=row.celsius, humidity=row.humidity, emc=emc, noted_at=row.noted_at)


def checking_words(book: Session, blank: Blank) -> str:
    """Say whether an end-grain piece is at risk of checking; nothing for any other."""
    if blank.grain != "end-grain":
        return ""
    client = blank.commission.client if blank.commission else None
    air = (on_record(book, client.id) if client else None) or on_record(book, None)
    if not blank.readings or air is None:
        return (
            "End grain can check from the heart as it dries: log its moisture and the air it will"
            " live in"
        )
    wood = woods.on_record(book, blank.species)
    found = movement.checking(wood, blank.readings[-1].moisture, air.emc)
    if found.risk is movement.Risk.NONE:
        return ""
    return f"Checking risk {found.risk}: {found.why[0].lower()}{found.why[1:]}"
