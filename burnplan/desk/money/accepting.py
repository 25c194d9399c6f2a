"""A client's yes: to a quote, or to another size put beside it."""

from datetime import date
from decimal import Decimal

from burnplan.codes import blank_code, commission_code
from burnplan.dates import format_day
from burnplan.desk.derived import hazards_found, piece, studio_settings
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.money import quotes
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed
from burnplan.ledger.models import Commission, Quote, QuoteChoice, QuoteInstalment, QuoteLine
from burnplan.outline import Outline, OutlineKind
from burnplan.progress import Progress
from burnplan.sentences import Do
from burnplan.units import format_size

LETTERS = "ABC"
"""What sizes put to a client are called, the smallest first."""


def accept(
    studio: Studio,
    which: str,
    on: date | None = None,
    size: str | None = None,
    on_progress: Progress | None = None,
) -> quotes.QuoteView:
    """Put on record that the client accepted the newest quote, or a size put beside it.

    For one that is accepted the day given puts that of the yes right.

    Of another size the figures shown then hold: they become a quote of their own, the piece
    gets that size, and its plan is made again from the photo kept.

    Parameters
    ----------
    studio : Studio
    which : str
    on : date, optional
        The day of the yes; today if not given.
    size : str, optional
        Its letter in the proposal, or the size as typed; the quote's own if not given.
    on_progress : callable, optional

    Raises
    ------
    NotAllowed
        If it is accepted already or has expired, the job was dropped or paid for in another
        currency, or the blank held is of another size.
    BadInput
        If that day cannot be, or that size was not put to the client.
    """
    from burnplan.desk.jobs import replanning

    plan = None
    if size is not None:
        with studio.reading() as book:
            commission = find_commission(book, which)
            chosen = _chosen(
                quotes.newest(commission), commission, size, studio_settings.of_book(book)
            )
            code = commission_code(commission.id)
            held, outline = commission.blank, outline_of(chosen) if chosen else None
            if outline and held and piece.outline_of(held) != outline:
                raise NotAllowed(
                    f"{code} has a blank of another size held for it",
                    "Release it first: ",
                    Do("blank.release", blank=blank_code(held.id)),
                )
        if outline is not None:
            plan = replanning.plan_for(studio, code, outline, None, on_progress)
    with studio.writing("quote.accept") as (book, entry):
        commission = find_commission(book, which)
        quote, day = quotes.newest(commission), on or studio.today()
        if commission.dropped_on:
            raise NotAllowed(
                f"{commission_code(commission.id)} was dropped", "Log it anew, or undo that"
            )
        hazards_found.refuse(commission)
        quotes.refuse_other_money(commission, quote.currency)
        if quote.accepted_on and (on is None or size is not None):
            raise NotAllowed(
                f"Quote {quote.version} was accepted {format_day(quote.accepted_on)}",
                "Carry on; its day alone can be given to put that right",
            )
        if day > studio.today() or day < quote.issued_on:
            raise BadInput(
                f"{format_day(day)} is not between its issue and today", "Give the day of the yes"
            )
        if day > quote.valid_until:
            raise NotAllowed(
                f"Quote {quote.version} expired {format_day(quote.valid_until)}",
                "Issue it again: ",
                Do("quote.issue", job=commission_code(quote.commission_id)),
            )
        said, moved = "", quote.accepted_on is not None
        if size is not None:
            own = studio_settings.of_book(book)
            choice = _chosen(quote, commission, size, own)
            if choice is not None:
                quote = _of_choice(quote, choice, quotes.next_version(commission))
                quote.accepted_on = day
                commission.quotes.append(quote)
                outline = outline_of(choice)
                if commission.blank is None:
                    # The shape of a live edge is that of the blank that will be held.
                    live = outline.kind is OutlineKind.LIVE_EDGE
                    commission.outline = (OutlineKind.RECTANGLE if live else outline.kind).value
                    commission.width_mm, commission.height_mm = outline.width_mm, outline.height_mm
                if plan is not None and not piece.is_planned(commission):
                    plan.put(studio, book, commission)
                said = f", {format_size(outline, own.units)}"
        quote.accepted_on = day
        book.flush()
        when = f" {format_day(day)}" if moved else ""
        entry.says(
            f"Quote {quote.version} for '{commission.title}'{said} accepted{when}", commission.id
        )
        return quotes.view(quote, commission, studio.today())


def outline_of(choice: QuoteChoice) -> Outline:
    """Return a size put beside a quote as an outline."""
    points = tuple((x, y) for x, y in choice.points or ())
    return Outline(OutlineKind(choice.outline), choice.width_mm, choice.height_mm, points)


def own_size(quote: Quote, commission: Commission) -> Outline | None:
    """Return the size a quote is of, in the shape the piece has; None if it was not said."""
    if quote.width_mm is None or quote.height_mm is None:
        return None
    size = piece.size_of(commission)
    if size and (size.width_mm, size.height_mm) == (quote.width_mm, quote.height_mm):
        return size
    return piece.other_size(size, f"{quote.width_mm:.4f}x{quote.height_mm:.4f}mm", "mm")


def put_to_client(
    quote: Quote, commission: Commission
) -> list[tuple[str, Outline | None, QuoteChoice | None]]:
    """Return the sizes put to a client by their letters, the smallest first; None for its own."""
    own: tuple[Outline | None, QuoteChoice | None] = (own_size(quote, commission), None)
    sizes = [own, *((outline_of(one), one) for one in quote.choices)]
    ordered = sorted(sizes, key=lambda one: one[0].area_mm2 if one[0] else 0.0)
    return [(letter, *one) for letter, one in zip(LETTERS, ordered, strict=False)]


def _chosen(quote: Quote, commission: Commission, text: str, own: Settings) -> QuoteChoice | None:
    """Return which of the sizes put to a client is meant; None for the quote's own."""
    put = put_to_client(quote, commission)
    by_letter = {letter: one for letter, _, one in put}
    if text.strip().upper() in by_letter:
        return by_letter[text.strip().upper()]
    try:
        wanted = piece.other_size(own_size(quote, commission), text, own.size_unit)
    except BadInput:
        wanted = None
    for _, outline, one in put:
        if wanted and outline and _alike(outline, wanted):
            return one
    names = ", ".join(
        f"{letter} ({format_size(outline, own.units)})" if outline else letter
        for letter, outline, _ in put
    )
    raise BadInput(f"'{text}' was not put to the client", f"Quote {quote.version} has {names}")


def _alike(one: Outline, other: Outline) -> bool:
    return abs(one.width_mm - other.width_mm) < 0.05 and abs(one.height_mm - other.height_mm) < 0.05


def _of_choice(quote: Quote, choice: QuoteChoice, version: int) -> Quote:
    """Return a quote of another size that was put beside one, with what was said of it."""
    return Quote(
        width_mm=choice.width_mm,
        height_mm=choice.height_mm,
        species=quote.species,
        taught_by=quote.taught_by,
        version=version,
        issued_on=quote.issued_on,
        valid_until=quote.valid_until,
        currency=quote.currency,
        total=choice.total,
        tax=choice.tax,
        deposit=choice.deposit,
        hours_p50=choice.hours_p50,
        hours_p80=choice.hours_p80,
        hours_paid=choice.hours_paid,
        note=quote.note,
        ready_on=choice.ready_on,
        certainty=quote.certainty if choice.ready_on else None,
        lines=[
            QuoteLine(position=number, kind=kind, label=label, amount=Decimal(amount))
            for number, (kind, label, amount) in enumerate(choice.lines, start=1)
        ],
        instalments=[
            QuoteInstalment(position=number, milestone=at, amount=Decimal(amount))
            for number, (at, amount) in enumerate(choice.instalments, start=1)
        ],
        choices=[],
    )
