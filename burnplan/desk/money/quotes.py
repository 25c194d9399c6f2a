"""Quotes: reckoned, issued, accepted; a changed one is a new version."""

import re
from datetime import date, timedelta
from decimal import Decimal
from typing import Literal

from pydantic import Field

from burnplan.cleaned import cleaned_line, cleaned_note
from burnplan.codes import commission_code
from burnplan.desk.derived import hazards_found, piece, studio_settings
from burnplan.desk.derived.balances import agreed_quote
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.commissions import CommissionView
from burnplan.desk.jobs.estimates import PriceLineView, terms_of
from burnplan.desk.studio.lookup import find_commission, refuse_closed
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.ledger.models import Commission, Quote, QuoteInstalment, QuoteLine
from burnplan.money import parse_money, parse_number
from burnplan.reckon.price import (
    VALID_DAYS,
    Instalment,
    Milestone,
    Price,
    Terms,
    hours_paid,
    price_for,
)
from burnplan.reckon.remaining import RemainingHours, of_quantiles, whole_job
from burnplan.sentences import Do
from burnplan.view import View

MOST_VALID_DAYS = 365  # a limit by definition


class QuoteRequest(View):
    """How a quote is to be made; money as typed, percentages 0 to 100."""

    hours: float | None = Field(default=None, gt=0, le=2000)
    sure: float = 0.8  # our own choice, as reckon.price has it
    packing: str | None = None
    rush_percent: Decimal = Decimal(0)
    margin_percent: Decimal = Decimal(0)
    minimum: str | None = None
    discount: str | None = None
    discount_reason: str = ""
    round_to: str | None = None
    round_total: bool = True
    price: str | None = None
    instalments: list[str] = Field(default_factory=list)
    note: str = ""


class InstalmentView(View):
    """A part of a price that falls due along the way."""

    at: Milestone
    amount: Decimal


class QuoteView(View):
    """A quote, as shown to the artist.

    ``hours_paid`` are those that the price pays at the hourly target; ``chance``
    is that of needing no more, None for hours as judged.
    """

    code: str
    title: str
    client: str | None
    version: int
    state: Literal["draft", "open", "accepted", "expired", "replaced"]
    issued_on: date
    valid_until: date
    accepted_on: date | None
    currency: str
    lines: list[PriceLineView]
    total: Decimal
    tax: Decimal
    deposit: Decimal
    instalments: list[InstalmentView] = Field(default_factory=list)
    hours_p50: float
    hours_p80: float
    hours_paid: float
    chance: float | None
    note: str
    # Whether its hours rest on the starting guess alone, and on no job of the studio's own.
    by_guess: bool = False
    # What it was reckoned for; None if that was not said.
    width_mm: float | None = None
    height_mm: float | None = None
    species: str | None = None
    # Whether the piece has another size or wood than that.
    outdated: bool = False
    # The date that was put to the client with it.
    ready_on: date | None = None


def _hours(commission: Commission, wanted: QuoteRequest) -> RemainingHours:
    """Return the job's hours: as said, or as its reference was measured."""
    if wanted.hours is not None:
        return of_quantiles(wanted.hours, wanted.hours)
    if not commission.references:
        code = commission_code(commission.id)
        raise BadInput(
            f"{code} has no reference to reckon its hours from",
            "Add one (",
            Do("reference.add", job=code),
            ") or say ",
            Do("quote.hours"),
        )
    return whole_job(commission.references[-1].hours)


_INSTALMENT = re.compile(r"(\d+(?:[.,]\d+)?)\s*%?\s+([a-z]+)", re.IGNORECASE)


def parse_instalment(text: str) -> Instalment:
    """Read a share of the price and when it falls due.

    Raises
    ------
    BadInput
        If it is not a share followed by a milestone.

    Examples
    --------
    >>> parse_instalment("30% transferred")
    Instalment(at=<Milestone.TRANSFERRED: 'transferred'>, percent=Decimal('30'))
    """
    found = _INSTALMENT.fullmatch(text.strip())
    if found is None or found[2].lower() not in set(Milestone):
        raise BadInput(
            f"'{text}' is not an instalment",
            "Write it like '30% transferred': a share, then prepared, transferred or burned",
        )
    return Instalment(Milestone(found[2].lower()), Decimal(found[1].replace(",", ".")))


def _terms(commission: Commission, own: Settings, wanted: QuoteRequest) -> Terms:
    cost = commission.blank.cost if commission.blank else None
    plain = terms_of(own, cost or Decimal(0))

    def money(text: str | None) -> Decimal:
        return parse_money(text, own.currency, own.locale) if text else Decimal(0)

    if wanted.price and (wanted.round_to or wanted.minimum):
        raise BadInput(
            "A price in mind is neither rounded nor raised",
            "Give that price, or what it is to be rounded up to, or the least to ask",
        )
    discount, percent = wanted.discount, Decimal(0)
    if discount and discount.strip().endswith("%"):
        percent = parse_number(discount, "the discount", least=0, most=100)
        discount = None
    return Terms(
        currency=plain.currency,
        digits=plain.digits,
        hourly_target=plain.hourly_target,
        sure=wanted.sure,
        wood=plain.wood,
        packing=money(wanted.packing),
        rush_percent=wanted.rush_percent,
        margin_percent=wanted.margin_percent,
        minimum=money(wanted.minimum),
        discount=money(discount),
        discount_percent=percent,
        discount_reason=cleaned_line(wanted.discount_reason)[:100],
        round_to=money(wanted.round_to),
        round_with_tax=wanted.round_total,
        agreed=money(wanted.price) if wanted.price else None,
        tax_percent=plain.tax_percent,
        deposit_percent=plain.deposit_percent,
        instalments=tuple(parse_instalment(text) for text in wanted.instalments),
    )


def priced(
    commission: Commission, own: Settings, wanted: QuoteRequest, hours: RemainingHours
) -> tuple[Price, Terms]:
    """Return what a commission of some hours costs, and on what terms.

    Raises
    ------
    BadInput
        If a part of the price cannot be.
    """
    terms = _terms(commission, own, wanted)
    return price_for(hours.quantile(wanted.sure), terms), terms


def drawn(
    commission: Commission, own: Settings, wanted: QuoteRequest, today: date, valid_days: int
) -> Quote:
    """Return the quote of a commission as it is, not yet on record.

    Raises
    ------
    BadInput
        If the hours are unknown or a part of the price cannot be.
    """
    if not 1 <= valid_days <= MOST_VALID_DAYS:
        raise BadInput(f"A quote is valid for 1 to {MOST_VALID_DAYS} days", "Common is 30")
    hours = _hours(commission, wanted)
    price, terms = priced(commission, own, wanted, hours)
    size = piece.size_of(commission)
    return Quote(
        width_mm=size.width_mm if size else None,
        height_mm=size.height_mm if size else None,
        species=piece.species_of(commission) or None,
        taught_by=commission.references[-1].taught_by if wanted.hours is None else None,
        version=next_version(commission),
        issued_on=today,
        valid_until=today + timedelta(days=valid_days),
        currency=terms.currency,
        total=price.total,
        tax=price.tax,
        deposit=price.deposit,
        hours_p50=hours.p50,
        hours_p80=hours.p80,
        hours_paid=hours_paid(price.net, terms),
        note=cleaned_note(wanted.note),
        lines=[
            QuoteLine(position=number, kind=line.kind, label=line.label, amount=line.amount)
            for number, line in enumerate(price.lines, start=1)
        ],
        instalments=[
            QuoteInstalment(position=number, milestone=part.at.value, amount=amount)
            for number, (part, amount) in enumerate(
                zip(terms.instalments, price.instalments, strict=True), start=1
            )
        ],
        choices=[],
    )


def refuse_other_money(commission: Commission, currency: str) -> None:
    """Refuse, by a NotAllowed, a price in another currency than what was paid."""
    other = next((one for one in commission.payments if one.currency != currency), None)
    if other is not None:
        raise NotAllowed(
            f"Payment {other.id} is in {other.currency}, the price in {currency}",
            f"The two cannot be added up: let the studio's currency be {other.currency} while it"
            " is quoted",
        )


def next_version(commission: Commission) -> int:
    """Return the number of the next version of a commission's quote."""
    return max((quote.version for quote in commission.quotes), default=0) + 1


def _chance(quote: Quote) -> float | None:
    """Return the chance that the work takes no more hours than the quote pays.

    None for hours as judged: nothing is known of how wide they are.
    """
    if quote.hours_p80 <= quote.hours_p50:
        return None
    hours = of_quantiles(quote.hours_p50, quote.hours_p80, 0.8)
    return hours.chance_within(quote.hours_paid + 1e-6)


def _state(
    quote: Quote, commission: Commission, today: date
) -> Literal["open", "accepted", "expired", "replaced"]:
    if quote.accepted_on:
        return "accepted"
    if quote is not commission.quotes[-1]:
        return "replaced"
    return "open" if quote.valid_until >= today else "expired"


def view(quote: Quote, commission: Commission, today: date, *, draft: bool = False) -> QuoteView:
    """Return a quote as shown."""
    return QuoteView.of(
        quote,
        code=commission_code(commission.id),
        title=commission.title,
        client=commission.client.name if commission.client else None,
        state="draft" if draft else _state(quote, commission, today),
        lines=[PriceLineView.of(line) for line in quote.lines],
        instalments=[InstalmentView.of(part, at=part.milestone) for part in quote.instalments],
        chance=_chance(quote),
        by_guess=quote.taught_by == 0,
        outdated=not piece.is_quoted(quote, commission),
    )


def as_quoted(quote: QuoteView, job: CommissionView) -> CommissionView:
    """Return a job as the piece that a quote is of: its price is for that size and wood."""
    found = job.model_copy(update={"species": quote.species or job.species})
    if quote.width_mm and quote.height_mm:
        found.size_mm = (quote.width_mm, quote.height_mm)
    return found


def draft(
    studio: Studio, which: str, wanted: QuoteRequest, *, valid_days: int = VALID_DAYS
) -> QuoteView:
    """Reckon a quote without issuing it.

    Raises
    ------
    BadInput
        If the hours are unknown or a part of the price cannot be.
    """
    with studio.reading() as book:
        commission, own = find_commission(book, which), studio_settings.of_book(book)
        quote = drawn(commission, own, wanted, studio.today(), valid_days)
        return view(quote, commission, studio.today(), draft=True)


def issue(
    studio: Studio, which: str, wanted: QuoteRequest, *, valid_days: int = VALID_DAYS
) -> QuoteView:
    """Issue a quote; it replaces an earlier one that is still open.

    Raises
    ------
    BadInput
        If the hours are unknown or a part of the price cannot be.
    NotAllowed
        If the commission is closed, or was paid for in another currency.
    """
    with studio.writing("quote.issue") as (book, entry):
        commission, own = find_commission(book, which), studio_settings.of_book(book)
        refuse_closed(commission, "Quote an open one")
        hazards_found.refuse(commission)
        refuse_other_money(commission, own.currency)
        quote = drawn(commission, own, wanted, studio.today(), valid_days)
        commission.quotes.append(quote)
        book.flush()
        entry.says(f"Issued quote {quote.version} for '{commission.title}'", commission.id)
        return view(quote, commission, studio.today())


def newest(commission: Commission) -> Quote:
    """Return the newest quote of a commission.

    Raises
    ------
    NotFound
        If it has none.
    """
    if not commission.quotes:
        code = commission_code(commission.id)
        raise NotFound(f"{code} has no quote yet", "Issue one: ", Do("quote.issue", job=code))
    return commission.quotes[-1]


def all_of(studio: Studio, which: str) -> list[QuoteView]:
    """Return a commission's quotes, oldest first."""
    with studio.reading() as book:
        commission, today = find_commission(book, which), studio.today()
        return [view(quote, commission, today) for quote in commission.quotes]


def agreed(studio: Studio, which: str) -> QuoteView:
    """Return the quote that holds: the newest accepted one, else the newest."""
    with studio.reading() as book:
        commission = find_commission(book, which)
        quote = agreed_quote(commission) or newest(commission)
        return view(quote, commission, studio.today())


def show(studio: Studio, which: str) -> QuoteView:
    """Return the newest quote of a commission."""
    with studio.reading() as book:
        commission = find_commission(book, which)
        quote = newest(commission)
        return view(quote, commission, studio.today())
