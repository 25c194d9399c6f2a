"""Letters to a client: what they say, and the same as plain text.

A :class:`Letter` is made by the sheet it belongs to; :func:`as_text` and
:func:`burnplan.sheets.money.letter_pdf.write_letter` only lay it out, so the PDF and
its plain text twin cannot say different things.
"""

import os
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import TYPE_CHECKING, Literal

from rich.cells import cell_len

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.clients import ClientView
from burnplan.desk.jobs.commissions import CommissionView
from burnplan.money import currency_sign, format_money
from burnplan.outline import OutlineKind
from burnplan.sheets.dates import written_date
from burnplan.sheets.writing import Written
from burnplan.terminal_safe import terminal_safe
from burnplan.units import format_size
from burnplan.wood.species import species_on_record
from burnplan.wording import N_

if TYPE_CHECKING:
    from PIL.Image import Image


TEXT_CELLS = 72
"""Width of a line of plain text: what mail programs leave alone (common practice, no source)."""

_USES = {"indoor": "for indoors", "outdoor": "for outdoors", "food": "for use with food"}

# Where letters of a currency touch figures, a space stands between (CLDR, UTS #35,
# currencySpacing), which Babel leaves out.
_BESIDE_FIGURES = re.compile(r"(?<=[^\W\d_])(?=\d)|(?<=\d)(?=[^\W\d_])")


def _anything(_text: str) -> bool:
    return True


@dataclass(frozen=True, slots=True)
class Spelling:
    """How amounts and dates are written: as the locale does, where that can be set in type.

    Parameters
    ----------
    currency, locale : str
        ISO 4217 code and CLDR locale.
    can_set : callable
        Says whether a text can be printed. An amount that cannot is written
        with its ISO 4217 code, a date as ISO 8601.
    placed : callable
        Returns a text as it stands in a sentence of another direction.

    Examples
    --------
    >>> Spelling("KWD", "en_GB").money(Decimal("-12.5")).replace(chr(160), " ")
    '−KWD 12.500'
    """

    currency: str
    locale: str
    can_set: Callable[[str], bool] = _anything
    placed: Callable[[str], str] = str

    def money(self, amount: Decimal) -> str:
        """Return an amount in the locale's form."""
        text = format_money(amount, self.currency, self.locale).replace("-", "−")
        # The same sign, without the hole that the wide one leaves before figures.
        text = text.replace("\N{FULLWIDTH YEN SIGN}", "\N{YEN SIGN}")
        if not self.can_set(text):
            text = text.replace(currency_sign(self.currency, self.locale), self.currency)
        return self.placed(_BESIDE_FIGURES.sub("\N{NO-BREAK SPACE}", text))

    def day(self, day: date, length: Literal["long", "medium"] = "long") -> str:
        """Return a date in the locale's form."""
        text = written_date(day, self.locale, length)
        return self.placed(text) if self.can_set(text) else day.isoformat()


class Weight(StrEnum):
    """How much a row of figures counts."""

    PLAIN = "plain"
    SUM = "sum"
    TOTAL = "total"


@dataclass(frozen=True, slots=True)
class Row:
    """A row of figures."""

    label: str
    amount: str
    weight: Weight = Weight.PLAIN


@dataclass(frozen=True, slots=True)
class Figures:
    """Rows of figures under a heading."""

    heading: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Prose:
    """Running text; a heading may be empty."""

    heading: str
    text: str


@dataclass(frozen=True, slots=True)
class SmallPrint:
    """Terms: each a name and a sentence or two."""

    heading: str
    items: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """A table of amounts: a head for each column, and rows with a name."""

    corner: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Signature:
    """A sentence to sign."""

    sentence: str


@dataclass(frozen=True, slots=True)
class Pictured:
    """A picture (Pillow's; None for a sheet of paper), its size in mm, and what it is."""

    image: "Image | None"
    mm: tuple[float, float]
    caption: str


@dataclass(frozen=True, slots=True)
class Pictures:
    """Pictures side by side in true relation to each other; in plain text their captions."""

    heading: str
    shown: tuple[Pictured, ...]


@dataclass(frozen=True, slots=True)
class Tile:
    """A piece with its photos (Pillow's), the first the largest: its name, and lines below."""

    images: "tuple[Image, ...]"
    name: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Tiles:
    """Pieces in rows, as on a contact sheet."""

    shown: tuple[Tile, ...]


BLANKS = (N_("Place and date"), N_("Signature"))
"""What the lines under a sentence to sign are for."""


Section = Figures | Prose | SmallPrint | Grid | Signature | Pictures | Tiles


@dataclass(frozen=True, slots=True)
class Letter:
    """A page or more to a client; whatever is empty is left out."""

    kind: str  # such as Quote
    studio: str
    sender: str  # lines of its address
    facts: tuple[tuple[str, str], ...]  # such as dates
    title: str
    detail: str
    sections: tuple[Section, ...]
    number: str = ""
    recipient: tuple[str, ...] = ()  # lines: name and address
    mark: str = ""  # what must not be overlooked, such as that it is a draft
    language: str = "en"
    say: Callable[[str], str] = str  # puts the few words of the layout into that language
    image: "Image | None" = None  # the studio's mark


@dataclass(frozen=True, slots=True)
class Twins:
    """A letter as plain text for a mail, and as a PDF that says the same.

    ``spelled`` makes the letter, given how amounts and dates are written; ``notes`` say
    what may disappoint, a sentence each.
    """

    spelled: Callable[[Spelling], Letter]
    currency: str
    settings: Settings
    notes: tuple[str, ...] = ()

    def text(self) -> str:
        """Return it as plain text."""
        return as_text(self.spelled(Spelling(self.currency, self.settings.locale)))

    def write(self, path: str | os.PathLike[str]) -> Written:
        """Write it as a PDF."""
        from burnplan.sheets.money.letter_pdf import letter_paper, print_spelling, write_letter

        letter = self.spelled(print_spelling(self.currency, self.settings.locale))
        written = write_letter(letter, path, letter_paper(self.settings))
        return replace(written, notes=(*written.notes, *self.notes))


def letter_on(
    commission: CommissionView,
    client: ClientView | None,
    settings: Settings,
    kind: str,
    number: str,
    facts: Sequence[tuple[str, str]],
    sections: Sequence[Section],
    mark: str = "",
) -> Letter:
    """Return a letter about a commission, to its client."""
    recipient: tuple[str, ...] = ()
    if client is not None:
        # The e-mail address where there is no other.
        known = client.address.splitlines() if client.address.strip() else [client.email]
        recipient = (client.name, *(line.strip() for line in known if line.strip()))
    return Letter(
        kind, settings.name, settings.address, tuple(facts), commission.title,
        made_of(commission, settings), tuple(sections), number, recipient, mark,
    )  # fmt: skip


def made_of(commission: CommissionView, settings: Settings) -> str:
    """Say what a piece is: size, wood and use, as far as they are known."""
    parts = []
    if shape := commission.shape():
        live = commission.outline is OutlineKind.LIVE_EDGE
        size = format_size(shape, settings.units)
        parts.append(f"live edge, about {size}" if live else size)
    if commission.species:
        parts.append(species_on_record(commission.species).name.lower())
    return " · ".join([*parts, _USES[commission.use]])


# Plain text ---------------------------------------------------------------------------


def wrapped(text: str, width: int) -> list[str]:
    """Break a paragraph into lines of so many cells; a longer word is broken too.

    Examples
    --------
    >>> wrapped("Two cats on limewood", 11)
    ['Two cats on', 'limewood']
    """
    lines = [""]
    # Spaces that hold figures together are no place to break, so split() will not do.
    for word in re.split(r"[ \t\n]+", text.strip()):
        if lines[-1] and cell_len(lines[-1]) + 1 + cell_len(word) <= width:
            lines[-1] += f" {word}"
            continue
        if lines[-1]:
            lines.append("")
        for letter in word:
            if cell_len(lines[-1]) + cell_len(letter) > width:
                lines.append("")
            lines[-1] += letter
    return lines


def _figures_text(section: Figures) -> list[str]:
    lines = [section.heading]
    for row in section.rows:
        if row.weight is not Weight.PLAIN and len(section.rows) > 1:
            stroke = "=" if row.weight is Weight.TOTAL else "-"
            lines.append((stroke * (cell_len(row.amount) + 2)).rjust(TEXT_CELLS))
        *before, last = wrapped(row.label, TEXT_CELLS - cell_len(row.amount) - 2)
        gap = " " * (TEXT_CELLS - cell_len(last) - cell_len(row.amount))
        lines += [*before, f"{last}{gap}{row.amount}"]
    return lines


def _grid_text(section: Grid) -> list[str]:
    columns = list(zip(*(amounts for _, amounts in section.rows), strict=True))
    widths = [
        max(cell_len(cell) for cell in (head, *column))
        for head, column in zip(section.heads, columns, strict=True)
    ]
    room = max(12, TEXT_CELLS - sum(widths) - 2 * len(widths))
    names = (section.corner, *(name for name, _ in section.rows))
    room = min(room, max(cell_len(name) for name in names))

    def line(name: str, figures: Sequence[str]) -> list[str]:
        lines = wrapped(name, room)
        set_figures = "".join(
            " " * (2 + width - cell_len(figure)) + figure
            for figure, width in zip(figures, widths, strict=True)
        )
        return [lines[0] + " " * (room - cell_len(lines[0])) + set_figures, *lines[1:]]

    rule = "-" * (room + sum(widths) + 2 * len(widths))
    body = (part for name, amounts in section.rows for part in line(name, amounts))
    return [*line(section.corner, section.heads), rule, *body]


def _section_text(section: Section, say: Callable[[str], str]) -> list[str]:
    match section:
        case Pictures():
            return []
        case Tiles():
            return [", ".join((one.name, *one.lines)) for one in section.shown]
        case Figures():
            return _figures_text(section)
        case Grid():
            return _grid_text(section)
        case Prose():
            head = [section.heading] if section.heading else []
            paragraphs = section.text.splitlines()
            return head + [part for one in paragraphs for part in wrapped(one, TEXT_CELLS)]
        case SmallPrint():
            terms = (wrapped(f"{name}: {said}", TEXT_CELLS) for name, said in section.items)
            return [section.heading, *(line for term in terms for line in term)]
        case Signature():
            lines = wrapped(section.sentence, TEXT_CELLS)
            for blank in map(say, BLANKS):
                lines += ["", f"{blank} {'_' * (44 - cell_len(blank))}"]
            return lines


def as_text(letter: Letter) -> str:
    """Return a letter as plain text, in lines of at most :data:`TEXT_CELLS` cells.

    Only a price list with very long amounts is wider, since no amount is cut.
    """
    head = wrapped(letter.studio, TEXT_CELLS)
    for line in letter.sender.splitlines():
        head += wrapped(line, TEXT_CELLS)
    named = " ".join(part for part in (letter.kind.upper(), letter.number) if part)
    facts = [named, letter.mark] if letter.mark else [named]
    label_width = max((cell_len(label) for label, _ in letter.facts), default=0)
    for label, value in letter.facts:
        facts.append(f"{label}{' ' * (label_width - cell_len(label) + 3)}{value}")
    about = [
        *(wrapped(letter.title, TEXT_CELLS) if letter.title else ()),
        *(wrapped(letter.detail, TEXT_CELLS) if letter.detail else ()),
    ]
    to = [part for line in letter.recipient for part in wrapped(line, TEXT_CELLS)]
    sections = (_section_text(section, letter.say) for section in letter.sections)
    blocks = [head, facts, to, about, *sections]
    text = "\n\n".join("\n".join(lines) for lines in blocks if lines)
    return terminal_safe(f"{text}\n".replace("\N{NO-BREAK SPACE}", " "))
