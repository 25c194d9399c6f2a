"""Proposals: a quote with other sizes beside it, each with its price and a date.

The quote is of the piece as it is; the other sizes are kept with it as they were shown,
so that one can be accepted for what was said, whatever prices have become since.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import Field

from burnplan.codes import commission_code
from burnplan.desk.derived import hazards_found, piece, studio_settings, woods
from burnplan.desk.jobs import asking, joined, planned, readings
from burnplan.desk.jobs.estimates import PriceLineView
from burnplan.desk.jobs.joined import Joined
from burnplan.desk.money import accepting, quotes, what_ifs
from burnplan.desk.money.quotes import InstalmentView, QuoteRequest, QuoteView
from burnplan.desk.studio.lookup import find_commission, refuse_closed
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from burnplan.ledger import originals
from burnplan.ledger.models import Blank, Commission, Quote, QuoteChoice
from burnplan.outline import Outline
from burnplan.progress import Progress, silent
from burnplan.reckon.price import VALID_DAYS, Milestone, hours_paid
from burnplan.reckon.remaining import RemainingHours, judged, of_quantiles, whole_job
from burnplan.reckon.standard_hours import coarse_plan, standard_hours
from burnplan.reckon.work import UNKNOWN_DARKNESS, UNKNOWN_TEXTURE
from burnplan.sentences import Do
from burnplan.units import format_size
from burnplan.view import View
from burnplan.wood.species import UNKNOWN_WOOD, Species

if TYPE_CHECKING:
    from burnplan.desk.jobs.layouts import Layout
    from burnplan.lettering.laying import Inscription
    from burnplan.tone.place import Placed

MOST_SIZES = 2
"""Besides the piece as it is: more than three are no choice but a price list (our own choice)."""

CERTAINTY = 0.9
"""That a date put to a client is met, where nobody says otherwise (our own choice)."""


class ChoiceView(View):
    """A size put to a client; ``own`` is that of the quote itself. Lengths in mm."""

    letter: str
    own: bool
    outline: Outline
    total: Decimal
    tax: Decimal
    deposit: Decimal
    lines: list[PriceLineView]
    instalments: list[InstalmentView] = Field(default_factory=list)
    ready_on: date | None


class ProposalView(View):
    """A quote and all sizes that were put to the client with it, the smallest first."""

    quote: QuoteView
    certainty: float | None
    choices: list[ChoiceView]


def view(quote: Quote, commission: Commission, today: date) -> ProposalView:
    """Return a quote and what was put beside it."""
    shown = quotes.view(quote, commission, today)
    found = []
    for letter, outline, row in accepting.put_to_client(quote, commission):
        if outline is None:
            code = commission_code(commission.id)
            raise BadInput(
                f"Quote {quote.version} of {code} was made without a size",
                "Give it one (",
                Do("commission.size", job=code),
                ") and issue the quote again",
            )
        found.append(
            ChoiceView.of(shown, letter=letter, own=True, outline=outline, ready_on=quote.ready_on)
            if row is None
            else ChoiceView.of(
                row,
                letter=letter,
                own=False,
                outline=outline,
                lines=[
                    PriceLineView(kind=kind, label=label, amount=Decimal(amount))
                    for kind, label, amount in row.lines
                ],
                instalments=[
                    InstalmentView(at=Milestone(at), amount=Decimal(amount))
                    for at, amount in row.instalments
                ],
            )
        )
    return ProposalView(quote=shown, certainty=quote.certainty, choices=found)


def show(studio: Studio, which: str) -> ProposalView:
    """Return the newest quote of a commission, and what was put beside it.

    Raises
    ------
    NotFound
        If it has no quote.
    """
    with studio.reading() as book:
        commission = find_commission(book, which)
        return view(quotes.newest(commission), commission, studio.today())


def issue(
    studio: Studio,
    which: str,
    wanted: QuoteRequest,
    *,
    sizes: Sequence[str] = (),
    certainty: float = CERTAINTY,
    valid_days: int = VALID_DAYS,
    on_progress: Progress = silent,
) -> ProposalView:
    """Issue a quote of a piece as it is, with other sizes beside it.

    Parameters
    ----------
    studio : Studio
    which : str
    wanted : QuoteRequest
        The terms of all of them; hours as judged are of the piece as it is.
    sizes : sequence of str
        Other sizes, as typed; they have the piece's shape where they name none.
    certainty : float
        How sure each date is to be, between 0 and 1.
    valid_days : int
    on_progress : callable

    Raises
    ------
    BadInput
        If the hours are unknown, a size or a part of the price cannot be.
    NotAllowed
        If the commission is closed, or was paid for in another currency.
    """
    from burnplan.desk.time import promises  # brings numpy

    outlines = _sizes(studio, which, sizes)
    if outlines and wanted.price:
        raise BadInput(
            "A price in mind is of one size", "Leave it out, or put no other sizes beside it"
        )
    hours = []
    for number, outline in enumerate(outlines):
        on_progress(number / (len(outlines) + 1), "Reckoning another size")
        hours.append(_hours(studio, which, outline, wanted))
    on_progress(len(outlines) / (len(outlines) + 1), "Finding the dates")
    own_left = None if wanted.hours is None else judged(wanted.hours)
    dates = promises.dates_for(studio, which, [own_left, *hours], certainty)
    with studio.writing("quote.issue") as (book, entry):
        commission, own = find_commission(book, which), studio_settings.of_book(book)
        refuse_closed(commission, "Quote an open one")
        hazards_found.refuse(commission)
        quotes.refuse_other_money(commission, own.currency)
        quote = quotes.drawn(commission, own, wanted, studio.today(), valid_days)
        quote.ready_on, quote.certainty = dates[0].ready, certainty
        for number, (outline, takes, day) in enumerate(
            zip(outlines, hours, dates[1:], strict=True), start=1
        ):
            quote.choices.append(_drawn(commission, own, wanted, outline, takes, day.ready, number))
        commission.quotes.append(quote)
        book.flush()
        beside = {0: "", 1: " with another size"}.get(
            len(outlines), f" with {len(outlines)} other sizes"
        )
        entry.says(f"Issued quote {quote.version} for '{commission.title}'{beside}", commission.id)
        return view(quote, commission, studio.today())


def _sizes(studio: Studio, which: str, sizes: Sequence[str]) -> list[Outline]:
    if len(sizes) > MOST_SIZES:
        raise BadInput(
            f"{len(sizes)} sizes beside the piece's own are too many to choose from",
            f"Give {MOST_SIZES} at most; a price list shows more",
        )
    with studio.reading() as book:
        own, commission = studio_settings.of_book(book), find_commission(book, which)
        size, code = piece.size_of(commission), commission_code(commission.id)
    if size is None:
        raise BadInput(
            f"{code} has no size yet",
            "Give it (",
            Do("commission.size", job=code),
            ") or hold a blank for it",
        )
    found: list[Outline] = []
    for text in sizes:
        other = piece.other_size(size, text, own.size_unit)
        if other in (size, *found):
            raise BadInput(
                f"{format_size(other, own.units)} is there twice", "Give sizes that differ"
            )
        found.append(other)
    return found


def _hours(
    studio: Studio,
    which: str,
    outline: Outline,
    wanted: QuoteRequest,
) -> RemainingHours:
    """Return the hours in another size: measured, or as judged for the piece as it is."""
    if wanted.hours is None:
        job = what_ifs.of_job(studio, which)
        found = job.reckoned(replace(job.plain, outline=outline))
        return whole_job(found.hours.model_dump())
    with studio.reading() as book:
        commission = find_commission(book, which)
        size = piece.size_of(commission)
        wood = woods.on_record(book, piece.species_of(commission) or UNKNOWN_WOOD)
    if size is None:
        raise BadInput("It has no size to compare with", "Give it one first")
    # Judged hours grow from size to size as those of a piece of middling tone and detail do
    # (our own estimate).
    takes = wanted.hours * _middling(outline, wood) / _middling(size, wood)
    return of_quantiles(takes, takes)


def _middling(outline: Outline, wood: Species) -> float:
    """Return the standard hours of a piece of which only size and wood are known."""
    plan = coarse_plan(
        outline.width_mm,
        outline.height_mm,
        outline.area_cm2,
        species=wood.key,
        hardness_lbf=wood.hardness_lbf,
        darkness=UNKNOWN_DARKNESS,
        texture=UNKNOWN_TEXTURE,
    )
    return sum(standard_hours(plan).values())


def _drawn(
    commission: Commission,
    own: studio_settings.Settings,
    wanted: QuoteRequest,
    outline: Outline,
    hours: RemainingHours,
    ready_on: date,
    position: int,
) -> QuoteChoice:
    price, terms = quotes.priced(commission, own, wanted, hours)
    return QuoteChoice(
        position=position,
        outline=outline.kind.value,
        width_mm=outline.width_mm,
        height_mm=outline.height_mm,
        points=[list(point) for point in outline.points] or None,
        total=price.total,
        tax=price.tax,
        deposit=price.deposit,
        hours_p50=hours.p50,
        hours_p80=hours.p80,
        hours_paid=hours_paid(price.net, terms),
        ready_on=ready_on,
        lines=[[line.kind.value, line.label, str(line.amount)] for line in price.lines],
        instalments=[
            [part.at.value, str(amount)]
            for part, amount in zip(terms.instalments, price.instalments, strict=True)
        ],
    )


# What is seen of it ----------------------------------------------------------------------


def wood_of(studio: Studio, quote: QuoteView) -> Species:
    """Return the wood that a quote is of, as far as it is known."""
    with studio.reading() as book:
        commission = find_commission(book, quote.code)
        if quote.species in (None, piece.species_of(commission)):
            return piece.wood_of(book, commission)
        return woods.on_record(book, quote.species)


def board_photo(studio: Studio, which: str) -> Path | None:
    """Return the newest photo of the blank held for a commission, verified; None if none."""
    with studio.reading() as book:
        blank: Blank | None = find_commission(book, which).blank
        if blank is None or not blank.photos:
            return None
        return originals.fetch(studio.originals, blank.photos[-1].original_sha256)


def placed_on(
    studio: Studio, which: str, wanted: Sequence[tuple[Outline, int]]
) -> "list[Placed] | None":
    """Return a commission's photo as it lies on outlines, each as many pixels long as wanted.

    Its lettering is on it. It is decoded once, no larger than the largest picture needs.

    Returns
    -------
    list of Placed or None
        None where there is no photo yet.
    """
    from burnplan.desk.jobs.layouts import Layout
    from burnplan.tone.control import ToneControl, controlled
    from burnplan.tone.photo import look, open_mask, open_photo
    from burnplan.tone.place import place, size_needed

    with studio.reading() as book:
        commission = find_commission(book, which)
        if not commission.references:
            return None
        reference = commission.references[-1]
        layout = Layout.from_dict(reference.layout)
        file = originals.fetch(studio.originals, reference.original_sha256)
        mask = originals.fetch(studio.originals, layout.mask) if layout.mask else None
        words = asking.lettering_of(studio, commission)
        several = joined.of_reference(studio, reference)
        wood = piece.wood_of(book, commission)
    if several is not None:
        return [
            _several_on(file, one, layout, mask, words, several, wood, px) for one, px in wanted
        ]
    focal, subject = layout.focal, layout.control.subject
    fine = [(one, px / max(one.width_mm, one.height_mm)) for one, px in wanted]
    px, inside = look(file).size, (*focal, *subject)
    needed = [size_needed(px, one, layout.placement, per_mm, focal=inside) for one, per_mm in fine]
    enough = (max(width for width, _ in needed), max(height for _, height in needed))
    photo = open_photo(file, at_least=enough)
    keep = None if mask is None else open_mask(mask, at_least=enough)
    found = []
    for one, per_mm in fine:
        placed = place(
            photo, one, layout.placement, per_mm, focal=focal, subject=subject, likely=layout.likely
        )
        if layout.control != ToneControl() or keep is not None:
            placed = controlled(placed, layout.control, keep)
        asked = readings.EstimateRequest(outline=one, species=wood, layout=layout, lettering=words)
        found.append(planned.lettered(placed, asked))
    return found


def _several_on(
    file: Path,
    outline: Outline,
    layout: "Layout",
    mask: Path | None,
    words: "tuple[Inscription, ...]",
    several: Joined,
    wood: Species,
    longest_px: int,
) -> "Placed":
    """Return several photos as they lie on an outline, composed for it."""
    fine = longest_px / max(outline.width_mm, outline.height_mm)
    asked = readings.EstimateRequest(
        outline=outline, species=wood, layout=layout, mask=mask, lettering=words, joined=several
    )
    return planned.lettered(planned.laid_as_asked(file, asked, fine), asked)
