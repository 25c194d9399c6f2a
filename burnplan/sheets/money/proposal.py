"""The proposal as a client sees it: the picture on the wood, sizes to choose from, prices, dates.

:class:`Proposal` is what it says, in the reader's language; :mod:`proposal_html` and
:mod:`proposal_pdf` only lay it out, so the page and the PDF cannot say different things.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from burnplan.desk.derived.studio_settings import Paper, Settings
from burnplan.desk.jobs.clients import ClientView
from burnplan.desk.jobs.commissions import CommissionView
from burnplan.desk.jobs.finishing import FinishView
from burnplan.desk.money.proposals import ChoiceView, ProposalView
from burnplan.desk.money.quotes import QuoteView
from burnplan.outline import Outline
from burnplan.reckon.price import LineKind
from burnplan.sheets.money import client_terms
from burnplan.sheets.money.quote_sheet import client_lines, due_parts, quote_number
from burnplan.sheets.reader import Reader
from burnplan.terminal_safe import terminal_safe
from burnplan.units import format_chance
from burnplan.wood.species import Species
from burnplan.wording import N_

# What a piece is shown beside, so that its size can be felt.
_A4 = (210.0, 297.0)  # ISO 216
_LETTER = (215.9, 279.4)  # ANSI/ASME Y14.1 size A
_CARD = (85.6, 53.98)  # ISO/IEC 7810, ID-1
# Longest side up to which a card tells more than a sheet; a guess: one card and a half.
_SMALL_MM = 130.0

Say = Callable[[str], str]

_USES = {
    "indoor": N_("for indoors"),
    "outdoor": N_("for outdoors"),
    "food": N_("for use with food"),
}


_STILL_TO_COME = N_("Your photo is still to come: this is the board, bare.")
_IN_TONES = N_(
    "A picture from your photo, in the tones this wood can hold. The grain of the board comes"
    " with it."
)
_ON_ITS_BOARD = N_(
    "A picture from your photo, on a photo of the very board that is set aside for it."
)


@dataclass(frozen=True, slots=True)
class Choice:
    """A size to choose, in words; ``mm`` is its width and height."""

    letter: str
    size: str
    mm: tuple[float, float]
    alt: str
    price: str
    lines: tuple[tuple[str, str], ...]  # what the price is made of; empty for a price of one part
    due: tuple[tuple[str, str], ...]
    ready: str
    own: bool


@dataclass(frozen=True, slots=True)
class Scale:
    """What stands beside the sizes: its name and its width and height in mm."""

    name: str
    mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Proposal:
    """A proposal, in words."""

    reader: Reader
    studio: str
    sender: tuple[str, ...]
    kind: str
    number: str
    recipient: str
    title: str
    detail: str
    remark: str
    issued: str
    valid_until: str
    state: str  # what must not be overlooked; empty while it stands
    choices: tuple[Choice, ...]
    scale: Scale
    has_picture: bool
    caption: str
    board_alt: str
    dates: str  # how sure they are
    included: tuple[str, ...]
    care: tuple[tuple[str, str], ...]
    terms: tuple[tuple[str, str], ...]
    yes: tuple[str, ...]

    def say(self, text: str) -> str:
        """Return the program's own words in the reader's language."""
        return self.reader.say(text)

    @property
    def own(self) -> Choice:
        """The size of the quote itself."""
        return next(one for one in self.choices if one.own)


def proposal(
    view: ProposalView,
    commission: CommissionView,
    client: ClientView | None,
    finish: FinishView,
    wood: Species,
    settings: Settings,
    reader: Reader,
    *,
    remark: str = "",
    has_picture: bool = True,
    on_own_wood: bool = False,
) -> Proposal:
    """Return what a proposal says to its reader.

    Raises
    ------
    OperationFailed
        If the lines of a price do not add up to its total.
    """
    quote, say = view.quote, reader.say
    name = reader.wood(wood.name) if commission.species else ""
    choices = tuple(
        _choice(one, quote, commission.title, name, reader, has_picture) for one in view.choices
    )
    conditions, rights = client_terms.conditions(quote, reader)
    return Proposal(
        reader=reader,
        studio=settings.name,
        sender=tuple(line for line in settings.address.splitlines() if line.strip()),
        kind=say("Proposal"),
        number=quote_number(quote),
        recipient=client.name if client else "",
        title=commission.title,
        detail=" · ".join(part for part in (name, say(_USES[commission.use])) if part),
        remark=terminal_safe(remark).strip(),
        issued=reader.day(quote.issued_on),
        valid_until=reader.day(quote.valid_until),
        state=_state(quote, reader),
        choices=choices,
        scale=_scale([one.outline for one in view.choices], settings, say),
        has_picture=has_picture,
        caption=say(
            _STILL_TO_COME if not has_picture else _ON_ITS_BOARD if on_own_wood else _IN_TONES
        ),
        board_alt=say("The board set aside for it, as it lies in the workshop"),
        dates=_sure(view, reader),
        included=_included(quote, finish, name, reader),
        care=tuple(client_terms.care(commission, reader)),
        terms=(*conditions, rights),
        yes=_how_to_say_yes(view, settings, reader),
    )


def _state(quote: QuoteView, reader: Reader) -> str:
    if quote.state == "accepted" and quote.accepted_on:
        return reader.say("Accepted on {day}").format(day=reader.day(quote.accepted_on))
    said = {
        "expired": N_("Expired: please ask for a new one"),
        "replaced": N_("Replaced by a newer proposal"),
    }.get(quote.state)
    return reader.say(said) if said else ""


def _choice(
    one: ChoiceView, quote: QuoteView, title: str, wood: str, reader: Reader, has_picture: bool
) -> Choice:
    say, size = reader.say, reader.size(one.outline)
    shown = quote.model_copy(
        update={
            "lines": one.lines, "total": one.total, "tax": one.tax, "deposit": one.deposit,
            "instalments": one.instalments,
        }
    )  # fmt: skip
    lines = client_lines(shown)
    alt = (
        N_("“{title}” as it would look burned on {wood}, {size}")
        if has_picture
        else N_("The bare board of {wood}, {size}: the picture is still to come")
    )
    return Choice(
        letter=one.letter,
        size=size,
        mm=(one.outline.width_mm, one.outline.height_mm),
        alt=say(alt).format(title=title, wood=wood or say("wood"), size=size),
        price=reader.money(one.total),
        lines=tuple((_said(label, say), reader.money(amount)) for label, amount in lines)
        if len(lines) > 1
        else (),
        due=tuple((say(label), reader.money(amount)) for label, amount in due_parts(shown)),
        ready=reader.day(one.ready_on) if one.ready_on else "",
        own=one.own,
    )


def _said(label: str, say: Say) -> str:
    """Return the label of a line: the program's own words are translated, a reason is not."""
    for before in (N_("Tax"), N_("Discount:")):
        if label.startswith(f"{before} "):
            return f"{say(before)} {label.removeprefix(f'{before} ')}"
    return say(label)


def _scale(outlines: Sequence[Outline], settings: Settings, say: Say) -> Scale:
    longest = max(max(one.width_mm, one.height_mm) for one in outlines)
    if longest <= _SMALL_MM:
        return Scale(say("Bank card"), _CARD)
    if settings.paper in (Paper.LETTER, Paper.TABLOID):
        return Scale(say("Sheet of Letter paper"), _LETTER)
    return Scale(say("Sheet of A4 paper"), _A4)


def _sure(view: ProposalView, reader: Reader) -> str:
    if view.certainty is None:
        return ""
    said = reader.say(
        N_(
            "Dates are reckoned for an order of {day}, from the work that is booked, and hold with"
            " a chance of {chance}. If you say yes later, you hear the date again before you pay."
        )
    )
    chance = format_chance(view.certainty).replace(" ", "\N{NO-BREAK SPACE}")
    return said.format(day=reader.day(view.quote.issued_on), chance=chance)


def _included(quote: QuoteView, finish: FinishView, wood: str, reader: Reader) -> tuple[str, ...]:
    say = reader.say
    board = (
        say("The board of {wood}, sanded and prepared").format(wood=wood)
        if wood
        else say("The board, sanded and prepared")
    )
    found = [board, say("The picture, drawn and burned by hand")]
    products = list(dict.fromkeys(coat.product for coat in finish.coats))
    if products:
        coats = reader.say_of("{n} coat of {product}", "{n} coats of {product}", len(finish.coats))
        found.append(coats.format(n=len(finish.coats), product=", ".join(products)))
    else:
        found.append(say(client_terms.FINISHES[finish.use]))
    kinds = {line.kind for line in quote.lines}
    found.append(
        say("Packing and delivery")
        if LineKind.PACKING in kinds
        else say("Collection from the workshop; delivery is extra")
    )
    if quote.tax:
        found.append(say("All taxes"))
    return tuple(found)


def _how_to_say_yes(view: ProposalView, settings: Settings, reader: Reader) -> tuple[str, ...]:
    say, letters = reader.say, [one.letter for one in view.choices]
    found = []
    if view.quote.state == "open" and len(letters) > 1:
        said = say("Answer with the letter of the size you choose: {letters}.")
        found.append(said.format(letters=",\N{NO-BREAK SPACE}".join(letters)))
    elif view.quote.state == "open":
        found.append(say("Answer that you accept, with the number of this proposal."))
    deposits = {one.deposit > Decimal(0) for one in view.choices}
    if True in deposits:
        found.append(say("Your order is firm once the deposit is in; work begins in its turn."))
        if settings.pay_to.strip():
            account = ", ".join(line for line in settings.pay_to.splitlines() if line.strip())
            said = say("To pay: {account}. Please name {number}.")
            found.append(said.format(account=account, number=quote_number(view.quote)))
    elif view.quote.state == "open":
        found.append(say("Your order is firm with your yes; work begins in its turn."))
    return tuple(found)
