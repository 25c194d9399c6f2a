"""Letters in words, ready to send: filled from the book, in the client's language.

The program's own templates are in ``burnplan/words/letters``; a studio's own, in the folder
``words/letters`` of its home, come before them: ``ready.txt``, or ``ready.de.txt`` for one
language. The first line is the subject.
"""

import html
import re
import unicodedata
from collections.abc import Mapping
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import comparing
from burnplan.desk.jobs.comparing import PhotoWorthView
from burnplan.desk.money import letter_facts
from burnplan.desk.money.letter_facts import LetterFacts
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.files import written_whole
from burnplan.letter_kinds import OWN_LETTERS, LetterKind
from burnplan.reckon.stages import Stage, has_reached
from burnplan.sentences import Do
from burnplan.sheets.filling import filled_letter
from burnplan.sheets.money import client_terms
from burnplan.sheets.money.quote_sheet import quote_number
from burnplan.sheets.reader import Reader
from burnplan.sheets.writing import Written
from burnplan.shipped import shipped
from burnplan.terminal_safe import terminal_safe
from burnplan.wood.species import species_on_record

# What can still be said of a job that was dropped.
_OF_MONEY = (LetterKind.DEPOSIT, LetterKind.BALANCE)

# How sure a new date is to be that a client is told.
_SURE = 0.9


@dataclass(frozen=True, slots=True)
class ClientLetter:
    """A letter in words: its subject, and paragraphs that blank lines part."""

    subject: str
    body: str
    language: str
    direction: str
    about: str  # the kind of letter and the job

    def text(self) -> str:
        """Return it as plain text, the subject first."""
        return f"{self.subject}\n\n{self.body}\n"

    def page(self) -> str:
        """Return it as HTML that says the same."""
        escaped = (html.escape(part) for part in self.body.split("\n\n"))
        paragraphs = "\n".join(f"<p>{part.replace(chr(10), '<br>')}</p>" for part in escaped)
        subject = html.escape(self.subject)
        return (
            f"<!DOCTYPE html>\n<!-- burnplan: {self.about} -->\n"
            f'<html lang="{self.language}" dir="{self.direction}">\n<head>\n'
            '<meta charset="utf-8">\n<meta name="generator" content="burnplan">\n'
            f"<title>{subject}</title>\n</head>\n<body>\n{paragraphs}\n</body>\n</html>\n"
        )


def letter_of_text(text: str, reader: Reader, about: str) -> ClientLetter:
    """Return a letter of plain text: its first line is the subject.

    Raises
    ------
    BadInput
        If nothing is in it.
    """
    tidy = "\n".join(line.rstrip() for line in text.strip().splitlines())
    subject, _, body = tidy.partition("\n")
    if not body.strip():
        raise BadInput("The letter has no words", "Its first line is the subject, then the text")
    whole = re.sub(r"\n{3,}", "\n\n", body).strip()
    return ClientLetter(subject, whole, reader.language, reader.direction, about)


def fields(
    facts: LetterFacts,
    settings: Settings,
    reader: Reader,
    *,
    because: str = "",
    lettering: str = "",
    new_date: date | None = None,
) -> dict[str, Any]:
    """Return what a template may name: words for this reader; empty where nothing is known."""
    piece, quote, paid = facts.piece, facts.quote, facts.newest_payment
    photo, size = facts.newest_photo, piece.shape()
    lettered = [lettering.strip()] if lettering.strip() else facts.lettering
    deposit_open = (
        max(Decimal(0), quote.deposit - piece.received) if quote is not None else Decimal(0)
    )
    wood = species_on_record(piece.species).name if piece.species else "wood"

    def money(amount: Decimal | None) -> str:
        return reader.money(amount) if amount else ""

    def day(one: date | None) -> str:
        return reader.day(one) if one else ""

    known = {
        "address": settings.address,
        "balance": reader.money(max(Decimal(0), facts.balance)),
        "because": because.strip(),
        "client": facts.client.name if facts.client else "",
        "code": piece.code,
        "delivered_on": day(piece.delivered_on),
        "deposit": money(quote.deposit if quote else None),
        "deposit_open": money(deposit_open),
        "due": day(piece.due),
        "new_date": day(new_date),
        "number": quote_number(quote) if quote else piece.code,
        "paid": money(paid.amount if paid else None),
        "paid_on": day(paid.paid_on if paid else None),
        "pay_to": ", ".join(line for line in settings.pay_to.splitlines() if line.strip()),
        "photo": photo.filename if photo else "",
        "photo_day": day(photo.taken_on if photo else None),
        "ready_on": day(quote.ready_on if quote else None),
        "received": reader.money(piece.received),
        "size": reader.size(size) if size else "",
        "studio": settings.name,
        "title": piece.title,
        "to_pay": reader.money(piece.to_pay),
        "total": money(quote.total if quote else None),
        "valid_until": day(quote.valid_until if quote else None),
        "wood": reader.wood(wood),
    }
    return {name: terminal_safe(value) for name, value in known.items()} | {
        "all_paid": quote is not None and facts.balance <= 0 and piece.written_off is None,
        "ask_to_show": piece.consent is None or piece.consent.answer == "not asked",
        "begun": has_reached(piece.stage, Stage.PREPARED),
        "care": client_terms.aftercare(piece.use, reader),
        "ended": piece.dropped_on is not None,
        "has_photo": facts.has_reference,
        "lettering": [
            {"line": terminal_safe(line), "spelled": terminal_safe(_spelled(line))}
            for line in lettered
        ],
        "owed": facts.balance > 0,
        "otherwise": reader.say(comparing.OTHERWISE).format(file=facts.photos[0].photo)
        if facts.photos
        else "",
        "photos": [_photo(one, reader) for one in facts.photos],
        "rights": "" if facts.photo_allowed else reader.say(comparing.RIGHTS),
        "wishes": [reader.say(comparing.WISHES[fault]) for fault in facts.photos[0].faults]
        if facts.photos
        else [],
    }


def _spelled(line: str) -> str:
    r"""Return a line letter by letter, each with the marks that stand on it.

    Examples
    --------
    >>> _spelled("Zoe\N{COMBINING DIAERESIS} & Bo") == "Z-o-e\N{COMBINING DIAERESIS}  &  B-o"
    True
    """
    return "  ".join("-".join(_signs(word)) for word in line.split())


def _signs(word: str) -> list[str]:
    found: list[str] = []
    for letter in word:
        if found and unicodedata.category(letter) in ("Mn", "Me", "Mc", "Cf"):
            found[-1] += letter
        else:
            found.append(letter)
    return found


def _photo(one: PhotoWorthView, reader: Reader) -> dict[str, Any]:
    """Return what is said of a photo: the reasons that it was ranked by."""
    reasons = [comparing.reason(fault, one, reader.fill) for fault in one.faults]
    return {
        "file": terminal_safe(one.photo),
        "pixels": f"{one.size_px[0]} × {one.size_px[1]}",
        "reasons": "; ".join(reasons),
    }


def reader_of(facts: LetterFacts, own: Settings) -> Reader:
    """Return who a letter is for: the client's language, and the money they were quoted in.

    Where they were not, it is that which they paid in.
    """
    currency = facts.quote.currency if facts.quote else facts.piece.currency or own.currency
    return Reader.of(own, facts.client.language if facts.client else "", currency)


def letter_of(
    studio: Studio,
    kind: LetterKind,
    facts: LetterFacts,
    own: Settings,
    *,
    because: str = "",
    lettering: str = "",
    new_date: date | None = None,
) -> ClientLetter:
    """Return a letter about a job; of a delay the date is the one that can be promised.

    Raises
    ------
    NotFound, BadInput, NotAllowed
        If it would have nothing to say, or its date cannot be known.
    """
    check(kind, facts, because)
    reader = reader_of(facts, own)
    given = {
        "because": (because, "words of your own"),
        "lettering": (lettering, "lettering"),
        "new_date": (new_date, "a new date"),
    }
    text = template(kind, reader.language, studio.home)[0]
    for name, (value, what) in given.items():
        if value and name not in text:
            raise BadInput(
                f"A letter of the kind '{kind.value}' has no place for {what}", "Leave it out"
            )
    if kind is LetterKind.DELAY and new_date is None:
        new_date = letter_facts.later_date(studio, facts.piece, _SURE)
    said = fields(facts, own, reader, because=because, lettering=lettering, new_date=new_date)
    return client_letter(kind, said, reader, studio.home)


def write(letter: ClientLetter, into: Path, name: str) -> list[Written]:
    """Write a letter into a folder that is there, as HTML and as text: both, or neither."""
    texts = {into / f"{name}.html": letter.page(), into / f"{name}.txt": letter.text()}
    with ExitStack() as both:
        for path, text in texts.items():
            both.enter_context(written_whole(path)).write_text(text, encoding="utf-8")
    return [Written(path, 0) for path in texts]


def _are_good(facts: LetterFacts) -> bool:
    return bool(facts.photos) and not facts.photos[0].faults


def check(kind: LetterKind, facts: LetterFacts, because: str = "") -> None:
    """Refuse a letter about what is not on record.

    Raises
    ------
    NotFound
        If it would have nothing to say.
    NotAllowed
        If it is about a piece that will not be made.
    """
    code = facts.piece.code
    quote, payment = facts.quote, facts.newest_payment
    if facts.piece.dropped_on and kind not in _OF_MONEY:
        raise NotAllowed(
            f"{code} was dropped", "Write about what was paid for it, or about what is still owed"
        )
    if quote is None and kind in (LetterKind.PROPOSAL, LetterKind.ORDER, LetterKind.BALANCE):
        raise NotFound(f"{code} has no quote yet", "Issue one: ", Do("quote.issue", job=code))
    # Of a piece that the client has, its price is owed whether or not the yes is on record.
    agreed = [LetterKind.ORDER, *([] if facts.piece.delivered_on else [LetterKind.BALANCE])]
    if kind in agreed and quote is not None and quote.accepted_on is None:
        raise NotFound(
            f"Quote {quote_number(quote)} is not on record as accepted",
            "Put the client's yes on record first",
        )
    if kind is LetterKind.DEPOSIT and payment is None:
        raise NotFound(f"Nothing was paid for {code} yet", "Put the payment on record first")
    if kind is LetterKind.PROGRESS and facts.newest_photo is None:
        raise NotFound(f"{code} has no photos", "Add one: ", Do("photo.add", job=code))
    if kind is LetterKind.PHOTOS and not because and _are_good(facts):
        raise NotFound(
            f"Nothing is wrong with the photo of {code}",
            "Say in your own words what you would rather have: ",
            Do("letter.because", because="a photo with open eyes"),
        )
    if kind is LetterKind.BALANCE and facts.balance <= 0:
        raise NotFound(f"Nothing is owed for {code}", "There is nothing to remind of")


def template(kind: LetterKind, language: str, home: Path) -> tuple[str, str]:
    """Return the template of a letter, and the name of the studio's own; empty for the program's.

    Raises
    ------
    BadInput
        If the studio's own cannot be read.
    """
    own = home / OWN_LETTERS
    for name in (f"{kind}.{language}.txt", f"{kind}.txt"):
        if (own / name).is_file():
            try:
                return (own / name).read_text(encoding="utf-8"), name
            except (OSError, UnicodeError):
                raise BadInput(
                    f"Your template '{name}' cannot be read", "Save it as text in UTF-8"
                ) from None
    return shipped(f"words/letters/{kind}.txt").read_text(encoding="utf-8"), ""


def client_letter(
    kind: LetterKind, said: Mapping[str, Any], reader: Reader, home: Path
) -> ClientLetter:
    """Return a letter filled from the book.

    Raises
    ------
    BadInput
        If the studio's own template names what there is not, or is no template.
    """
    source, name = template(kind, reader.language, home)
    about = f"letter {kind} {said['code']}"
    return letter_of_text(filled_letter(source, name, said, reader), reader, about)
