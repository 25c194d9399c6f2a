"""The quote as a client sees it: the piece and what it costs, none of what it is reckoned from."""

from decimal import Decimal

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.clients import ClientView
from burnplan.desk.jobs.commissions import CommissionView
from burnplan.desk.money.quotes import QuoteView
from burnplan.errors import OperationFailed
from burnplan.money import round_money
from burnplan.reckon.price import LineKind
from burnplan.sheets.money.client_terms import MILESTONES, care, conditions
from burnplan.sheets.money.letter import (
    Figures,
    Letter,
    Prose,
    Row,
    Section,
    Signature,
    SmallPrint,
    Spelling,
    Twins,
    Weight,
    letter_on,
)
from burnplan.sheets.reader import Reader
from burnplan.terminal_safe import terminal_safe
from burnplan.units import UnitSystem
from burnplan.wording import N_

_SHOWN = {
    LineKind.PACKING: N_("Packing and delivery"),
    LineKind.RUSH: N_("Rush, ahead of the queue"),
}


def quote_number(quote: QuoteView) -> str:
    """Return the number that a quote carries, such as ``C-0007/2``."""
    return f"{quote.code}/{quote.version}"


def client_lines(quote: QuoteView) -> list[tuple[str, Decimal]]:
    """Return the lines that a client sees, before tax, then the tax; they add up to the total.

    Whatever is not the client's business is in the line of the piece, and so
    is any kind of line that is not known here.

    Raises
    ------
    OperationFailed
        If the quote's own lines do not add up to its total.
    """
    lines: list[tuple[str, Decimal]] = []
    taxes: list[tuple[str, Decimal]] = []
    piece = Decimal(0)
    for line in quote.lines:
        if line.kind in _SHOWN:
            lines.append((_SHOWN[LineKind(line.kind)], line.amount))
        elif line.kind == LineKind.DISCOUNT:
            lines.append((line.label, line.amount))
        elif line.kind == LineKind.TAX:
            taxes.append((line.label, line.amount))
        else:
            piece += line.amount
    shown = [(N_("The piece"), piece), *lines, *taxes]
    total = sum((amount for _, amount in shown), Decimal(0))
    uneven = any(amount != round_money(amount, quote.currency) for _, amount in shown)
    if total != quote.total or uneven:
        raise OperationFailed(
            f"The lines of quote {quote_number(quote)} do not add up to its total",
            "Issue the quote again",
        )
    return shown


def price_figures(quote: QuoteView, spelling: Spelling) -> Figures:
    """Return the price as a client sees it: lines, net and tax if any, total."""
    lines = client_lines(quote)
    taxed = sum(line.kind == LineKind.TAX for line in quote.lines)
    before = lines[: len(lines) - taxed]
    rows = [Row(label, spelling.money(amount)) for label, amount in before]
    if taxed:
        net = sum((amount for _, amount in before), Decimal(0))
        rows.append(Row("Net", spelling.money(net), Weight.SUM))
        rows += [Row(label, spelling.money(amount)) for label, amount in lines[len(before) :]]
    rows.append(Row("Total", spelling.money(quote.total), Weight.TOTAL))
    return Figures("Price", tuple(rows))


def due_parts(quote: QuoteView) -> list[tuple[str, Decimal]]:
    """Return when how much of a price is due, in words still to be translated."""
    along = [(MILESTONES[part.at], part.amount) for part in quote.instalments]
    before = sum((amount for _, amount in along), quote.deposit)
    rest = N_("Balance, before delivery") if before else N_("In full, before delivery")
    parts = [(N_("Deposit, on acceptance"), quote.deposit), *along, (rest, quote.total - before)]
    return [(label, amount) for label, amount in parts if amount]


def _schedule(quote: QuoteView, spelling: Spelling) -> Figures:
    """When how much is due."""
    rows = (Row(label, spelling.money(amount)) for label, amount in due_parts(quote))
    return Figures("When it is due", tuple(rows))


def _terms(quote: QuoteView, commission: CommissionView, spelling: Spelling) -> SmallPrint:
    """Return the terms, in words for anybody."""
    reader = Reader("en", spelling, UnitSystem.METRIC)
    first, rights = conditions(quote, reader)
    return SmallPrint("Good to know", (*first, *care(commission, reader), rights))


def _mark(quote: QuoteView, spelling: Spelling) -> str:
    if quote.state == "accepted" and quote.accepted_on:
        return f"Accepted on {spelling.day(quote.accepted_on)}"
    return {
        "draft": "Draft, not an offer yet",
        "expired": "Expired",
        "replaced": "Replaced by a newer quote",
    }.get(quote.state, "")


def quote_letter(
    quote: QuoteView,
    commission: CommissionView,
    client: ClientView | None,
    settings: Settings,
    *,
    remark: str = "",
) -> Twins:
    """Return a quote for the client.

    ``remark`` is something said to this client; the notes on record are not printed.

    Raises
    ------
    OperationFailed
        When it is set, if the quote's lines do not add up to its total.
    """
    number = quote_number(quote)

    def letter(spelling: Spelling) -> Letter:
        sections: list[Section] = [Prose("", terminal_safe(remark))] if remark.strip() else []
        sections += [
            price_figures(quote, spelling),
            _schedule(quote, spelling),
            _terms(quote, commission, spelling),
        ]
        if quote.state == "open":
            total = spelling.money(quote.total)
            sections.append(Signature(f"I accept quote {number} for {total}, on the terms above."))
        facts = [
            ("Date", spelling.day(quote.issued_on)),
            ("Valid until", spelling.day(quote.valid_until)),
        ]
        mark = _mark(quote, spelling)
        return letter_on(commission, client, settings, "Quote", number, facts, sections, mark)

    return Twins(letter, quote.currency, settings)
