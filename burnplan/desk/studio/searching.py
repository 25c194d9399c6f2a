"""Find jobs, clients and blanks by any part of what people call them, closed ones too."""

from collections.abc import Iterator
from itertools import islice
from typing import Literal, NamedTuple

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.codes import blank_code, client_code, commission_code
from burnplan.desk.studio.studio import Studio
from burnplan.ledger.models import Blank, Client, Commission
from burnplan.wood.species import species_on_record


class Found(NamedTuple):
    """Something that is called so: its code, its name, and what else is known at a glance."""

    kind: Literal["job", "client", "blank"]
    code: str
    name: str
    more: str


def search(studio: Studio, text: str, most: int) -> list[Found]:
    """Return what holds a text in its code, name or client: open jobs first, the newest first.

    Parameters
    ----------
    studio : Studio
    text : str
        Letters are compared without their case; woods by their name, as they are shown.
    most : int
        How many to return at most.
    """
    wanted = _compared(text)
    with studio.reading() as book:
        every = (*_jobs(book, is_open=True), *_jobs(book, is_open=False), *_clients(book),
                 *_blanks(book))  # fmt: skip
    holding = (one for one in every if wanted in _compared(" ".join(one[1:])))
    return list(islice(holding, most))


def _compared(text: str) -> str:
    """Return text as it is compared: a key of a wood has a hyphen where its name has a space."""
    return text.casefold().replace("-", " ")


def _jobs(book: Session, *, is_open: bool) -> Iterator[Found]:
    query = select(Commission.id, Commission.title, Client.name, Commission.dropped_on)
    query = query.outerjoin(Client, Commission.client_id == Client.id)
    which = Commission.is_open if is_open else ~Commission.is_open
    for number, title, client, dropped in book.execute(
        query.where(which).order_by(Commission.id.desc())
    ):
        state = "" if is_open else "dropped" if dropped else "delivered"
        more = ", ".join(part for part in (client, state) if part)
        yield Found("job", commission_code(number), title, more)


def _clients(book: Session) -> Iterator[Found]:
    for number, name in book.execute(select(Client.id, Client.name).order_by(Client.name)):
        yield Found("client", client_code(number), name, "client")


def _blanks(book: Session) -> Iterator[Found]:
    query = select(Blank.id, Blank.species, Blank.location).where(Blank.scrapped_on.is_(None))
    for number, species, location in book.execute(query.order_by(Blank.id.desc())):
        more = ", ".join(part for part in ("blank", location) if part)
        yield Found("blank", blank_code(number), species_on_record(species).name, more)
