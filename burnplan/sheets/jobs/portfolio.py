"""The portfolio as others see it: pieces with their photos, and no more than may be told.

:class:`Portfolio` is what it says, in the reader's language; :mod:`portfolio_files` lays it
out as a page and as a contact sheet.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.portfolio import PortfolioPiece
from burnplan.sheets.reader import Reader
from burnplan.terminal_safe import terminal_safe
from burnplan.units import format_hours
from burnplan.wood.species import species_on_record
from burnplan.wording import N_


@dataclass(frozen=True, slots=True)
class PortfolioWanted:
    """What is wanted of a portfolio; hours and prices are not told unless asked for."""

    heading: str = ""
    remark: str = ""
    language: str = ""
    hours: bool = False
    price: bool = False


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece, in words; ``lines`` are what it is made of and what it took."""

    title: str
    lines: tuple[str, ...]
    client: str
    price: str
    alt: str
    also_alt: str


@dataclass(frozen=True, slots=True)
class Portfolio:
    """A portfolio, in words."""

    reader: Reader
    studio: str
    sender: tuple[str, ...]
    kind: str
    number: str
    title: str
    remark: str
    issued: str
    pieces: tuple[Piece, ...]

    def say(self, text: str) -> str:
        """Return the program's own words in the reader's language."""
        return self.reader.say(text)


def portfolio(
    pieces: Sequence[PortfolioPiece],
    settings: Settings,
    wanted: PortfolioWanted,
    readers: Sequence[Reader],
    day: str,
) -> Portfolio:
    """Return what a portfolio says.

    Parameters
    ----------
    pieces : sequence of PortfolioPiece
    settings : Settings
    wanted : PortfolioWanted
    readers : sequence of Reader
        One for each piece: they differ by the currency it was paid in.
    day : str
        When it is written, in words.
    """
    reader = readers[0]
    heading = terminal_safe(wanted.heading).strip()
    return Portfolio(
        reader=reader,
        studio=settings.name,
        sender=tuple(line for line in settings.address.splitlines() if line.strip()),
        kind=reader.say(N_("Portfolio")),
        number="",
        title=heading or reader.say(N_("Burned by hand")),
        remark=terminal_safe(wanted.remark).strip(),
        issued=day,
        pieces=tuple(_piece(one, wanted, its) for one, its in zip(pieces, readers, strict=True)),
    )


def _piece(one: PortfolioPiece, wanted: PortfolioWanted, reader: Reader) -> Piece:
    say = reader.say
    wood = reader.wood(species_on_record(one.species).name) if one.species else ""
    size = reader.size(one.outline) if one.outline else ""
    made_of = " · ".join(part for part in (wood, size, str(one.delivered_on.year)) if part)
    lines = [made_of]
    if wanted.hours and one.hours:
        hours = format_hours(one.hours).replace(" ", "\N{NO-BREAK SPACE}")
        lines.append(say(N_("{hours} of work")).format(hours=hours))
    named = {"title": one.shown_as, "wood": wood or say(N_("wood")), "size": size}
    alt = N_("“{title}”, burned on {wood}, {size}") if size else N_("“{title}”, burned on {wood}")
    return Piece(
        title=one.shown_as,
        lines=tuple(lines),
        client=one.client,
        price=reader.money(one.price) if wanted.price and one.price is not None else "",
        alt=say(alt).format(**named),
        also_alt=say(N_("Another photo of “{title}”")).format(**named),
    )
