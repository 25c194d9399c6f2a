"""Clients: who orders."""

from difflib import get_close_matches

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned, cleaned_line, cleaned_note
from burnplan.desk.studio.lookup import by_name, find_client
from burnplan.desk.studio.paging import ALL, ListPage
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from burnplan.ledger.models import Client, Commission
from burnplan.view import View

# How like another a new client's name (difflib's ratio) is asked about.
_MISSPELT = 0.8


class ClientView(View):
    """A client, as shown."""

    name: str
    email: str
    phone: str
    address: str
    note: str
    commissions: int


class ClientDetails(View):
    """What can be said of a client; None leaves it as it is."""

    email: str | None = None
    phone: str | None = None
    address: str | None = None
    note: str | None = None


def _view(client: Client, commissions: int) -> ClientView:
    return ClientView(
        name=client.name,
        email=client.email,
        phone=client.phone,
        address=client.address,
        note=client.note,
        commissions=commissions,
    )


def _count(book: Session, client: Client) -> int:
    counting = select(func.count()).where(Commission.client_id == client.id)
    return book.scalar(counting) or 0


def _describe(client: Client, details: ClientDetails) -> None:
    if details.email and ("@" not in details.email or len(details.email) > 200):
        raise BadInput(f"'{details.email}' is not an e-mail address", "Leave it out if unknown")
    for name, value in details.model_dump(exclude_none=True).items():
        limit = {"phone": 60, "email": 200}.get(name)
        setattr(client, name, cleaned_line(value)[:limit] if limit else cleaned_note(value))


def add_to(book: Session, studio: Studio, name: str) -> Client:
    """Add a client within another action."""
    name = cleaned(name, "client's name")
    if book.scalar(select(Client).where(func.lower(Client.name) == name.lower())):
        raise BadInput(f"There is a client '{name}' already", "Use that one or add a surname")
    client = Client(name=name, added_at=studio.now())
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
        if new_name is not None:
            new_name = cleaned(new_name, "client's name")
            taken = select(Client).where(func.lower(Client.name) == new_name.lower())
            if (other := book.scalar(taken)) and other is not client:
                raise BadInput(f"There is a client '{new_name}' already", "Choose another name")
            client.name = new_name
        _describe(client, details)
        entry.says(f"Changed client {client.name}")
        return _view(client, _count(book, client))


def show(studio: Studio, who: str) -> ClientView:
    """Return one client."""
    with studio.reading() as book:
        client = find_client(book, who)
        return _view(client, _count(book, client))


def named(studio: Studio, name: str | None) -> ClientView | None:
    """Return the client a commission names; None if it names none."""
    return show(studio, name) if name else None


def doubt(studio: Studio, name: str) -> str:
    """Return that a client is new, and whom else a name so near may mean; or nothing."""
    wanted = cleaned_line(name)
    with studio.reading() as book:
        names = list(book.scalars(select(Client.name).order_by(Client.id)))
    if any(by_name(enumerate(names), wanted)):
        return ""
    near = {known.lower(): known for known in names}
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
