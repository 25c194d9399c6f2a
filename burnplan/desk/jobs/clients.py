"""Clients: who orders."""

import re
from datetime import date
from decimal import Decimal
from difflib import get_close_matches

from pydantic import Field
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned, cleaned_line, cleaned_note
from burnplan.codes import client_code, commission_code
from burnplan.desk.derived import balances, checklist_progress, studio_settings
from burnplan.desk.studio.lookup import NotOne, client_number, find_client
from burnplan.desk.studio.paging import ALL, ListPage
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.ledger.models import Client, Climate, Commission
from burnplan.money import check_locale
from burnplan.reckon.stages import Stage
from burnplan.view import View

# How like another a new client's name (difflib's ratio) is asked about.
_MISSPELT = 0.8  # a guess: one letter in five


class Ordered(View):
    """A job of a client, with what was paid for it and is owed."""

    code: str
    title: str
    stage: Stage
    due: date | None
    received: Decimal
    balance: Decimal
    currency: str


class ClientView(View):
    """A client, as shown; ``jobs``, newest first, only where one client is looked at."""

    code: str = ""
    name: str
    email: str
    phone: str
    address: str
    note: str
    commissions: int
    language: str = ""
    jobs: list[Ordered] = Field(default_factory=list)


class ClientDetails(View):
    """What can be said of a client; None leaves it as it is."""

    email: str | None = None
    phone: str | None = None
    address: str | None = None
    note: str | None = None
    language: str | None = None


def _view(client: Client, commissions: int) -> ClientView:
    return ClientView(
        code=client_code(client.id),
        name=client.name,
        email=client.email,
        phone=client.phone,
        address=client.address,
        note=client.note,
        language=client.language,
        commissions=commissions,
    )


def _count(book: Session, client: Client) -> int:
    counting = select(func.count()).where(Commission.client_id == client.id)
    return book.scalar(counting) or 0


def _describe(client: Client, details: ClientDetails) -> None:
    if details.email and ("@" not in details.email or len(details.email) > 200):
        raise BadInput(f"'{details.email}' is not an e-mail address", "Leave it out if unknown")
    if details.language:
        details.language = check_locale(details.language)
    for name, value in details.model_dump(exclude_none=True).items():
        limit = {"phone": 60, "email": 200, "language": 20}.get(name)
        setattr(client, name, cleaned_line(value)[:limit] if limit else cleaned_note(value))


def _is_code(name: str) -> bool:
    return re.fullmatch(r"p-\d+", name, re.IGNORECASE) is not None


def _free_name(book: Session, name: str, owner: Client | None = None) -> str:
    """Return a name as it is kept, that no code and nobody else has."""
    name = cleaned(name, "client's name")
    if _is_code(name):
        raise BadInput(f"No client has the code {name}", "Give the client's name")
    taken = book.scalar(select(Client).where(func.lower(Client.name) == name.lower()))
    if taken is not None and taken is not owner:
        raise BadInput(f"There is a client '{name}' already", "Use that one or add a surname")
    return name


def add_to(book: Session, studio: Studio, name: str) -> Client:
    """Add a client within another action."""
    client = Client(name=_free_name(book, name), added_at=studio.now())
    book.add(client)
    book.flush()
    return client


def add(studio: Studio, name: str, details: ClientDetails) -> ClientView:
    """Add a client.

    Raises
    ------
    BadInput
        If the name is empty or taken.
    """
    with studio.writing("client.add") as (book, entry):
        client = add_to(book, studio, name)
        _describe(client, details)
        entry.says(f"Added client {client.name}")
        return _view(client, 0)


def edit(studio: Studio, who: str, details: ClientDetails, new_name: str | None) -> ClientView:
    """Change what is known of a client."""
    with studio.writing("client.edit") as (book, entry):
        client = find_client(book, who)
        said = [details.given()] if details.given() else []
        if new_name is not None:
            client.name = _free_name(book, new_name, client)
            said = ["name", *said]
        _describe(client, details)
        entry.says(f"Changed client {client.name}: {', '.join(said)}")
        return _view(client, _count(book, client))


def show(studio: Studio, who: str) -> ClientView:
    """Return one client, with their jobs."""
    with studio.reading() as book:
        client = find_client(book, who)
        own = studio_settings.of_book(book).currency
        query = select(Commission).where(Commission.client_id == client.id)
        query = query.options(*checklist_progress.with_rows()).order_by(Commission.id.desc())
        found = list(book.scalars(query))
        view = _view(client, len(found))
        view.jobs = [_ordered(commission, own) for commission in found]
        return view


def _ordered(commission: Commission, own: str) -> Ordered:
    stands = checklist_progress.of(commission)
    return Ordered(
        code=commission_code(commission.id),
        title=commission.title,
        stage=checklist_progress.stage(commission, stands),
        due=commission.due_on if commission.is_open else None,
        received=balances.received(commission),
        balance=balances.balance(commission),
        currency=balances.currency_of(commission, own),
    )


def merge(studio: Studio, double: str, into: str) -> ClientView:
    """Make one of two clients who are the same: the jobs of the first go to the second.

    What is not known of the second is taken from the first, who is gone then.

    Raises
    ------
    BadInput
        If both are one already.
    """
    with studio.writing("client.merge") as (book, entry):
        gone, kept = find_client(book, double), find_client(book, into)
        if gone is kept:
            raise BadInput(f"{kept.name} is one client already", "Name the other one")
        for commission in book.scalars(select(Commission).where(Commission.client_id == gone.id)):
            commission.client = kept
        for air in book.scalars(select(Climate).where(Climate.client_id == gone.id)):
            air.client_id = kept.id
        for name in ClientDetails.model_fields:
            if not getattr(kept, name):
                setattr(kept, name, getattr(gone, name))
        book.flush()
        book.delete(gone)
        entry.says(f"Merged client {gone.name} into {kept.name}")
        return _view(kept, _count(book, kept))


def remove(studio: Studio, who: str) -> str:
    """Remove a client who ordered nothing; return the name.

    Raises
    ------
    NotAllowed
        If there is a job of theirs.
    """
    with studio.writing("client.remove") as (book, entry):
        client = find_client(book, who)
        if count := _count(book, client):
            jobs = "1 job" if count == 1 else f"{count} jobs"
            raise NotAllowed(f"{client.name} has {jobs}", "Merge them into another client instead")
        for air in book.scalars(select(Climate).where(Climate.client_id == client.id)):
            book.delete(air)
        book.flush()
        book.delete(client)
        entry.says(f"Removed client {client.name}")
        return client.name


def named(studio: Studio, name: str | None) -> ClientView | None:
    """Return the client a commission names; None if it names none."""
    return show(studio, name) if name else None


def doubt(studio: Studio, name: str) -> str:
    """Return that a client is new, and whom else a name so near may mean; or nothing."""
    wanted = cleaned_line(name)
    with studio.reading() as book:
        names = list(book.scalars(select(Client.name).order_by(Client.id)))
        try:
            known = client_number(book, wanted) > 0
        except NotFound as missing:
            known = isinstance(missing, NotOne)
    if known or _is_code(wanted):
        return ""
    near = {name.lower(): name for name in names}
    close = [near[found] for found in get_close_matches(wanted.lower(), near, 2, _MISSPELT)]
    asked = f". Did you mean {' or '.join(close)}?" if close else ""
    return f"New client: {wanted}{asked}"


def everyone(studio: Studio, page: ListPage = ALL) -> list[ClientView]:
    """Return all clients by name."""
    counts = (
        select(Commission.client_id, func.count().label("n"))
        .group_by(Commission.client_id)
        .subquery()
    )
    query = (
        select(Client, func.coalesce(counts.c.n, 0))
        .outerjoin(counts, counts.c.client_id == Client.id)
        .order_by(func.lower(Client.name))
    )
    with studio.reading() as book:
        return [_view(client, number) for client, number in book.execute(page.of(query))]
