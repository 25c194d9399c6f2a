"""Commissions on the terminal."""

from datetime import date
from decimal import Decimal

from rich.console import RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.derived import drop_terms
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.commissions import CommissionView, SpoiledView
from burnplan.desk.jobs.endings import DropOffer
from burnplan.money import format_balance, format_money
from burnplan.show.console import facts, table
from burnplan.show.jobs.photos import by_photo_words
from burnplan.show.jobs.portfolio import consent_words
from burnplan.show.jobs.review import due_text
from burnplan.units import format_hours, format_hours_range, format_size
from burnplan.wood.species import species_on_record


def commission_table(
    found: list[CommissionView], settings: Settings, today: date
) -> RenderableType:
    """Return a list of commissions, or what to do when there are none."""
    if not found:
        return Text("No commissions yet. Log one with: burnplan commission add", "soft")
    rows = table("job", "+title", "client", "stage", "due", ">steps", ">hours")
    for one in found:
        rows.add_row(
            Text(one.code, "code"),
            Text(one.title),
            Text(one.client or "–"),
            "set aside" if one.paused else settings.wording.own(one.stage.value),
            due_text(one.due, today),
            f"{one.steps_settled}/{one.steps}",
            format_hours(one.hours_done) if one.hours_done else "–",
        )
    return rows


def hours_left_words(one: CommissionView) -> str:
    """Return the hours left of an open commission; empty where they are not known."""
    left = one.hours_left
    if left is None or not left.p80:
        return ""
    return format_hours_range(left.p50, left.p80)


def spoiled_words(one: SpoiledView, today: date) -> str:
    """Return a spoiled piece in a line: when, on what, why, and how long it was worked on."""
    hours = f", after {format_hours(one.hours)}" if one.hours else ""
    when = format_date(one.spoiled_on, today)
    return f"{when}{f' on {one.blank}' if one.blank else ''}{hours}: {one.reason}"


def offer_words(offer: DropOffer, locale: str) -> str:
    """Return what may be agreed for a job dropped, and what it would leave to pay."""
    return f"{offer.words}, {_money(offer.amount, offer, locale)}; {_rest_words(offer, locale)}"


def drop_words(one: CommissionView, locale: str) -> str:
    """Return what was agreed for a job dropped, and what that leaves to pay."""
    agreed = drop_terms.IN_WORDS[one.drop_terms] if one.drop_terms else ""
    return f"{agreed[0].upper()}{agreed[1:]}: {_rest_words(one, locale)}"


def _rest_words(one: CommissionView | DropOffer, locale: str) -> str:
    if not one.balance:
        return "nothing is left to pay"
    rest = _money(abs(one.balance), one, locale)
    return f"{rest} is left to pay" if one.balance > 0 else f"{rest} is to be given back"


def _money(amount: Decimal, one: CommissionView | DropOffer, locale: str) -> str:
    return format_money(amount, one.currency or "", locale)


def _shown_words(one: CommissionView, today: date) -> str:
    """Return what was said of showing it, once it is handed over or somebody was asked."""
    told = one.consent is not None and (one.delivered_on or one.consent.said_on)
    return consent_words(one.consent, today) if told and one.consent else ""


def commission_card(one: CommissionView, settings: Settings, today: date) -> RenderableType:
    """Return all that is known of a commission."""
    size = one.shape()

    def money(amount: object) -> str:
        return format_money(amount, one.currency or settings.currency, settings.locale)  # type: ignore[arg-type]

    owed = None
    if one.quoted is not None:
        owed = format_balance(one.balance, one.currency or settings.currency, settings.locale)
    works = ", ".join(f"{work} {format_hours(h)}" for work, h in one.hours_by_work.items())
    quoted = money(one.quoted) if one.quoted is not None else ""
    if quoted:
        accepted = one.accepted_on and f"accepted {format_date(one.accepted_on, today)}"
        quoted += f", {accepted or 'not accepted yet'}"
    return facts(
        (one.code, Text(one.title, "title")),
        ("client", Text(one.client or "")),
        (
            "stage",
            Text(settings.wording.own(one.stage.value) + (", set aside" if one.paused else "")),
        ),
        ("set aside", Text(one.paused or "")),
        ("dropped", Text(one.dropped or "")),
        ("agreed then", Text(drop_words(one, settings.locale) if one.drop_terms else "")),
        ("size", format_size(size, settings.units) if size else None),
        ("wood", Text(species_on_record(one.species).name) if one.species else None),
        ("blank", one.blank),
        ("use", one.use),
        ("due", due_text(one.due, today) if one.due else None),
        ("hours left", "" if one.progress else hours_left_words(one)),
        ("progress", Text(one.progress)),
        ("by photo", Text(by_photo_words(one.by_photo, today))),
        ("delivered", due_text(one.delivered_on, today) if one.delivered_on else None),
        ("may be shown", Text(_shown_words(one, today))),
        ("checklist", f"{one.steps_settled} of {one.steps} steps"),
        ("hours", f"{format_hours(one.hours_done)} ({works})" if works else None),
        *(("spoiled", Text(spoiled_words(piece, today))) for piece in one.spoiled),
        ("quote", quoted),
        ("deposit", money(one.deposit) if one.deposit else None),
        ("received", money(one.received) if one.received else None),
        ("to pay", owed),
        ("written off", Text(one.written_off or "")),
        ("note", Text(one.note)),
    )
