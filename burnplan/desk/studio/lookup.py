"""Find a record by what people call it: a code, its beginning, or part of a title."""

import re
from collections.abc import Sequence
from typing import NoReturn

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from burnplan.codes import commission_code
from burnplan.errors import NotFound
from burnplan.ledger.models import Blank, Client, Commission
from burnplan.sentences import Do


def _number(text: str, letter: str) -> int | None:
    match = re.fullmatch(rf"(?:{letter}-?)?0*(\d{{1,9}})", text.strip(), re.IGNORECASE)
    return int(match[1]) if match else None


def _undecided(text: str, names: Sequence[str], noun: str) -> NoReturn:
    shown = ", ".join(names[:4]) + (" …" if len(names) > 4 else "")
    raise NotFound(f"'{text}' could be {shown}", f"Name one {noun} by its code")


def _by_words(book: Session, query: Select[int, str], text: str) -> dict[int, str]:
    """Return the numbers and names of those whose name is the text, else of those that contain it.

    Compared here rather than by the database: engines differ in what letters are the same.
    """
    wanted = " ".join(text.lower().split())
    kept = {number: name for number, name in book.execute(query) if wanted in name.lower()}
    exact = {number: name for number, name in kept.items() if name.lower() == wanted}
    return exact or (kept if wanted else {})


def find_commission(book: Session, text: str) -> Commission:
    """Return the commission meant by ``C-0007``, ``c7``, ``7`` or part of its title.

    An open commission is preferred to a closed one.

    Raises
    ------
    NotFound
        If none or several are meant.
    """
    number = _number(text, "c")
    if number is not None and (found := book.get(Commission, number)):
        return found
    for among in (Commission.is_open, ~Commission.is_open):
        query = select(Commission.id, Commission.title).where(among).order_by(Commission.id)
        found_all = _by_words(book, query, text)
        if len(found_all) == 1:
            return book.get_one(Commission, *found_all)
        if found_all:
            names = [f"{commission_code(number)} '{title}'" for number, title in found_all.items()]
            _undecided(text, names, "commission")
    raise NotFound(f"No commission is called '{text}'", "See ", Do("commission.list"))


def find_blank(book: Session, text: str) -> Blank:
    """Return the blank meant by ``B-0012``, ``b12`` or ``12``.

    Raises
    ------
    NotFound
        If there is none.
    """
    number = _number(text, "b")
    if number is not None and (found := book.get(Blank, number)):
        return found
    raise NotFound(f"No blank is called '{text}'", "See ", Do("blank.list"))


def find_client(book: Session, text: str) -> Client:
    """Return the client whose name is, or contains, the text.

    Raises
    ------
    NotFound
        If none or several are meant.
    """
    return book.get_one(Client, client_number(book, text))


def client_number(book: Session, text: str) -> int:
    """Return the number of the client that :func:`find_client` would find."""
    found = _by_words(book, select(Client.id, Client.name).order_by(Client.id), text)
    if len(found) == 1:
        return next(iter(found))
    if found:
        _undecided(text, [f"'{name}'" for name in found.values()], "client")
    raise NotFound(f"No client is called '{text}'", "Add one with: ", Do("client.add", client=text))
