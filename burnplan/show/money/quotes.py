"""Quotes on the terminal."""

from datetime import date
from math import isinf

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.estimates import PriceView
from burnplan.desk.money.proposals import ProposalView
from burnplan.desk.money.quotes import QuoteView
from burnplan.money import format_money
from burnplan.show.console import table
from burnplan.show.jobs.estimates import price_table
from burnplan.units import format_chance, format_hours, format_hours_range, format_size


def quote_card(view: QuoteView, settings: Settings, today: date) -> RenderableType:
    """Return a quote, with what it means for the artist."""
    price = PriceView(
        currency=view.currency, amount=view.total, lines=view.lines, deposit=view.deposit
    )
    title = f"quote {view.version}" if view.state != "draft" else "draft, not issued"
    state = {
        "draft": "Issue it, with the same options: burnplan quote issue " + view.code,
        "open": f"open until {format_date(view.valid_until, today)}",
        "accepted": f"accepted {format_date(view.accepted_on or today, today)}",
        "expired": f"expired {format_date(view.valid_until, today)}",
        "replaced": "replaced by a newer one",
    }[view.state]
    return Group(
        Text.assemble((view.code, "code"), "  ", (view.title, "title"), f"  {title}"),
        Text(f"{view.client or 'no client yet'}; {state}", "soft"),
        Text(),
        price_table(price, settings, view.instalments),
        Text(),
        Text(_odds(view)),
        *([Text(OUTDATED, "bad")] if view.outdated else []),
    )


OUTDATED = "Reckoned for another size or wood than the piece has now: issue a new one"


def _odds(view: QuoteView) -> str:
    paid = "" if isinf(view.hours_paid) else f"; the price pays {format_hours(view.hours_paid)}"
    if view.chance is None:
        return f"Work of {format_hours(view.hours_p50)}, as you judge it{paid}"
    guessed = " by the starting guess" if view.by_guess else ""
    return (
        f"Work of {format_hours_range(view.hours_p50, view.hours_p80)}"
        f"{paid}: {format_chance(view.chance)} chance{guessed} to earn at least the hourly target"
    )


def quote_table(quotes: list[QuoteView], settings: Settings, today: date) -> RenderableType:
    """Return the versions of a quote, or what to do when there are none."""
    if not quotes:
        return Text("No quotes yet. Issue one with: burnplan quote issue JOB", "soft")
    rows = table(">#", "state", "issued", "valid until", ">total", ">hours")
    for one in quotes:
        rows.add_row(
            str(one.version),
            one.state,
            format_date(one.issued_on, today),
            format_date(one.valid_until, today),
            format_money(one.total, one.currency, settings.locale),
            format_hours_range(one.hours_p50, one.hours_p80),
        )
    return rows


def proposal_table(view: ProposalView, settings: Settings, today: date) -> RenderableType:
    """Return the sizes put to a client side by side."""
    quote = view.quote
    rows = table("", "size", ">price", ">deposit", "ready by")
    for one in view.choices:
        rows.add_row(
            Text(one.letter, "code"),
            format_size(one.outline, settings.units),
            format_money(one.total, quote.currency, settings.locale),
            format_money(one.deposit, quote.currency, settings.locale) if one.deposit else "–",
            format_date(one.ready_on, today) if one.ready_on else "–",
        )
    if view.certainty is not None:
        rows.caption = f"ready by: met with a chance of {format_chance(view.certainty)}"
    head = Text.assemble((quote.code, "code"), "  ", (quote.title, "title"))
    head.append(f"  quote {quote.version}, open until {format_date(quote.valid_until, today)}")
    return Group(head, Text(), rows)
