"""Whether a piece may be shown to others: what its client said, when, and how.

Nothing is shown that nobody was asked about.
"""

from datetime import date
from typing import Literal, get_args

from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned, cleaned_line
from burnplan.codes import commission_code
from burnplan.dates import that_was
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotFound
from burnplan.ledger.models import Commission, Consent
from burnplan.sentences import Do
from burnplan.view import View

Answer = Literal["yes", "no", "not asked"]
ANSWERS: tuple[Answer, ...] = get_args(Answer)


class ConsentView(View):
    """What was said of showing a piece; ``shown_as`` is its name then, if not its title."""

    answer: Answer = "not asked"
    said_by: str = ""
    said_on: date | None = None
    how: str = ""
    with_name: bool = False
    shown_as: str = ""


class ConsentGiven(View):
    """What a client said, as typed; None is what is usual, or stays as it was.

    ``said_by`` is the client and ``said_on`` today where nobody says otherwise.
    """

    answer: Answer
    said_by: str | None = None
    said_on: date | None = None
    how: str | None = None
    with_name: bool | None = None
    shown_as: str | None = None


def view(commission: Commission) -> ConsentView:
    """Return what was said of showing a commission's piece."""
    kept = commission.consent
    return ConsentView() if kept is None else ConsentView.of(kept)


def show(studio: Studio, which: str) -> ConsentView:
    """Return what was said of showing a commission's piece."""
    with studio.reading() as book:
        return view(find_commission(book, which))


def note(studio: Studio, which: str, given: ConsentGiven) -> ConsentView:
    """Put on record what a client said of showing their piece; "not asked" takes it off again.

    Raises
    ------
    BadInput
        If it is not said who gave it or how, or on a day to come.
    NotFound
        If there is nothing on record to take off.
    """
    with studio.writing("consent.note") as (book, entry):
        commission = find_commission(book, which)
        if given.answer == "not asked":
            _take_off(book, commission)
            entry.says(f"Took off what was said of showing '{commission.title}'", commission.id)
            return ConsentView()
        made = _said(view(commission), given, commission, studio.today())
        kept = commission.consent
        if kept is None:
            kept = Consent(commission_id=commission.id)
            book.add(kept)
        for name, value in made:
            setattr(kept, name, value)
        may = "may" if made.answer == "yes" else "may not"
        entry.says(f"Noted that '{commission.title}' {may} be shown", commission.id)
        return made


def _take_off(book: Session, commission: Commission) -> None:
    if commission.consent is None:
        raise NotFound(
            f"Nothing is on record of showing {commission_code(commission.id)}",
            "It is not shown as it is",
        )
    book.delete(commission.consent)


def _said(
    kept: ConsentView, given: ConsentGiven, commission: Commission, today: date
) -> ConsentView:
    """Return what is on record once this is: of the same answer as before, what is not given stays.

    Raises
    ------
    BadInput
        If it is not said who gave it or how, or on a day to come.
    """
    code = commission_code(commission.id)
    before = kept if kept.answer == given.answer else ConsentView(shown_as=kept.shown_as)
    day = that_was(given.said_on or before.said_on or today, today, "Give the day it was said")
    client = commission.client.name if commission.client else ""
    said_by = given.said_by or before.said_by or client
    if not said_by:
        raise BadInput(
            f"{code} is for no client, so it is not known who says so",
            "Name who may say it: the client, the owner, yourself",
        )
    how = cleaned_line(before.how if given.how is None else given.how)[:200]
    if given.answer == "yes" and not how:
        raise BadInput(
            f"It is not said how {said_by} agreed to show {code}",
            "Say it: ",
            Do("consent.how", how="in a mail"),
        )
    named = before.with_name if given.with_name is None else given.with_name
    shown_as = before.shown_as if given.shown_as is None else given.shown_as
    return ConsentView(
        answer=given.answer,
        said_by=cleaned(said_by, "name"),
        said_on=day,
        how=how,
        with_name=named and given.answer == "yes",
        shown_as=cleaned_line(shown_as)[:200],
    )
