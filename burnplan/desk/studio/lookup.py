"""Find a record by what people call it: a code, its number, or its name.

Part of a name is a guess, whomever it fits: who asked is told which record it
would be, and nothing is done until they give the whole name or the code.
"""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from typing import NoReturn

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.codes import client_code, commission_code
from burnplan.errors import NotAllowed, NotFound
from burnplan.ledger.models import Blank, BurnSession, Client, Commission
from burnplan.sentences import Do


class NotOne(NotFound):
    """A name that could mean more than one record, or that is only part of one's name."""


class OnlyPart(NotOne):
    """Part of the name of the one record that it can mean.

    Parameters
    ----------
    text : str
        As typed.
    meant : str
        What to give in its place: a code, a number or a whole name.
    called : str
        How people know the record.
    """

    def __init__(self, text: str, meant: str, called: str) -> None:
        super().__init__(f"'{text}' is only part of {called}", f"If that is meant, give '{meant}'")
        self.text, self.meant, self.called = text, meant, called


def _number(text: str, letter: str) -> int | None:
    match = re.fullmatch(rf"(?:{letter}-?)?0*(\d{{1,9}})", text.strip(), re.IGNORECASE)
    return int(match[1]) if match else None


def is_code(text: str) -> bool:
    """Return whether a text is a code or a number, which mean one record or none."""
    return _number(text, "[a-z]") is not None


def undecided(text: str, names: Sequence[str], hint: str) -> NoReturn:
    """Say which records a text could mean.

    Raises
    ------
    NotOne
        Always.
    """
    shown = ", ".join(names[:4]) + (" …" if len(names) > 4 else "")
    raise NotOne(f"'{text}' could be {shown}", hint)


def _compared(text: str) -> str:
    return unicodedata.normalize("NFC", " ".join(text.split())).casefold()


def _begins_a_word(part: str, name: str) -> bool:
    at = name.find(part)
    while at > 0 and unicodedata.category(name[at - 1])[0] in "LMN":  # letter, mark, number
        at = name.find(part, at + 1)
    return at >= 0


def by_name(named: Iterable[tuple[int, str]], text: str) -> tuple[list[int], list[int]]:
    """Return the numbers of those whose name is a text, and of those with words that begin so.

    Compared here rather than by the database: engines differ in what letters are the same.

    Examples
    --------
    >>> by_name([(1, "Joanna Smith"), (2, "Ann Berg"), (3, "Ann")], "ann")
    ([3], [2])
    """
    wanted = _compared(text)
    names = [(number, _compared(name)) for number, name in named]
    return (
        [number for number, name in names if name == wanted],
        [n for n, name in names if wanted and name != wanted and _begins_a_word(wanted, name)],
    )


def find_commission(book: Session, text: str) -> Commission:
    """Return the commission meant by ``C-0007``, ``c7``, ``7`` or its title.

    An open commission is preferred to a closed one.

    Raises
    ------
    NotFound
        If none is meant; ``NotOne`` if several can be, ``OnlyPart`` if the title is not whole.
    """
    number = _number(text, "c")
    if number is not None and (found := book.get(Commission, number)):
        return found
    query = select(Commission.id, Commission.title, (~Commission.is_open).label("closed")).order_by(
        Commission.id
    )
    rows = {number: (title, closed) for number, title, closed in book.execute(query)}
    whole, begun = by_name(((number, title) for number, (title, _) in rows.items()), text)
    among = [number for number in whole or begun if not rows[number][1]] or whole or begun
    called = [f"{commission_code(number)} '{rows[number][0]}'" for number in among]
    if len(among) > 1:
        undecided(text, called, "Name one commission by its code")
    if whole:
        return book.get_one(Commission, among[0])
    if begun:
        raise OnlyPart(text, commission_code(among[0]), called[0])
    raise NotFound(f"No commission is called '{text}'", "See ", Do("commission.list"))


def refuse_closed(commission: Commission, hint: str) -> None:
    """Refuse, by a NotAllowed, what cannot be done to a job that was delivered or dropped."""
    if not commission.is_open:
        closed = "dropped" if commission.dropped_on else "delivered"
        raise NotAllowed(f"{commission_code(commission.id)} was {closed}", hint)


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
    """Return the client of that name, or of a code like ``P-0004``.

    Raises
    ------
    NotFound
        If nobody is meant; ``NotOne`` if several can be, ``OnlyPart`` if the name is not whole.
    """
    return book.get_one(Client, client_number(book, text))


def find_session(book: Session, number: int) -> BurnSession:
    """Return the session of a number, also one that another counts in the place of.

    Raises
    ------
    NotFound
        If there is no such session.
    """
    found = book.get(BurnSession, number)
    if found is None:
        raise NotFound(f"There is no session {number}", "See ", Do("session.list"))
    return found


def client_number(book: Session, text: str) -> int:
    """Return the number of the client that :func:`find_client` would find."""
    names = dict(iter(book.execute(select(Client.id, Client.name).order_by(Client.id))))
    whole, begun = by_name(names.items(), text)
    whole = [one for one in whole if names[one] == text.strip()] or whole  # Weiß, beside Weiss
    number = _number(text, "p")
    if not whole and number in names:
        return number
    if len(whole) == 1:
        return whole[0]
    if len(whole or begun) > 1:
        called = [f"{client_code(number)} '{names[number]}'" for number in whole or begun]
        undecided(text, called, "Give the code")
    if begun:
        called_so = names[begun[0]]
        raise OnlyPart(text, called_so, f"the name of {called_so}")
    if number is not None:
        raise NotFound(f"No client has the code {text}", "Give the client's name")
    raise NotFound(f"No client is called '{text}'", "Add one with: ", Do("client.add", client=text))
