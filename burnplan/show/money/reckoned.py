"""Estimates, references, quotes and payments on the terminal."""

from collections.abc import Mapping, Sequence
from datetime import date
from math import isinf
from typing import Any

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.estimates import (
    EstimateView,
    HoursView,
    LinesView,
    PriceView,
    Quantiles,
    WidthView,
    ZoneView,
)
from burnplan.desk.jobs.references import ReferenceView
from burnplan.desk.money.earnings import EarnedView, EarningsView
from burnplan.desk.money.payments import PaymentView
from burnplan.desk.money.quotes import InstalmentView, QuoteView
from burnplan.desk.money.what_ifs import PriceListView, VariantView
from burnplan.money import format_money
from burnplan.outline import Outline, OutlineKind
from burnplan.show.console import facts, table
from burnplan.units import format_area, format_chance, format_hours, format_runs, format_size
from burnplan.wood.species import species_on_record

_BAR = " ▏▎▍▌▋▊▉█"


def _bar(share: float, width: int = 10) -> str:
    """Return a bar of a share, to an eighth of a cell."""
    eighths = round(min(1.0, max(0.0, share)) * width * 8)
    whole, rest = divmod(eighths, 8)
    return "█" * whole + (_BAR[rest] if rest else "")


def zone_table(zones: list[ZoneView], settings: Settings) -> RenderableType:
    """Return the value zones, darkest first."""
    whole = sum(zone.area_cm2 for zone in zones) or 1.0
    rows = table("zone", ">area", "share", ">dark", ">texture", ">islands", ">line")
    runs = format_runs([zone.line_cm for zone in zones], settings.units)
    for zone, run in zip(zones, runs, strict=False):
        rows.add_row(
            Text(f"Z{zone.zone}", "code"),
            format_area(zone.area_cm2, settings.units),
            Text(_bar(zone.area_cm2 / whole), "ember"),
            f"{zone.darkness * 100:.0f} %",
            f"{zone.texture * 100:.0f} %",
            str(zone.islands),
            run,
        )
    return rows


def lines_line(lines: LinesView, settings: Settings) -> RenderableType:
    """Return the trace lines by pressure, in a line."""
    firm, light, drawn = format_runs([lines.firm_cm, lines.light_cm], settings.units)
    lost, _ = format_runs([lines.lost_cm], settings.units)
    return Text(f"Trace {drawn}: firm {firm}, light {light}; leave {lost} of lost edges open")


def hours_table(hours: HoursView) -> RenderableType:
    """Return hours by stage, with what is enough in 10, 50, 80 and 90 of 100 cases."""
    rows = table("work", ">10 %", ">50 %", ">80 %", ">90 %", "")
    rows.caption = "hours that are enough in that share of cases"
    rows.caption_justify = "left"
    rows.caption_style = "soft"
    longest = hours.total.p50 or 1.0
    for name in HoursView.model_fields:
        part: Quantiles = getattr(hours, name)
        style = "title" if name == "total" else ""
        figures = [format_hours(value) for value in (part.p10, part.p50, part.p80, part.p90)]
        bar = Text(_bar(part.p50 / longest, 14), "ember" if name != "total" else "soft")
        rows.add_row(*(Text(cell, style) for cell in (name, *figures)), bar)
    return rows


def price_table(
    price: PriceView, settings: Settings, along: Sequence[InstalmentView] = ()
) -> RenderableType:
    """Return the lines of a price, their sum, and what of it falls due before the end."""
    rows = table("", ">")
    rows.show_header = False

    def money(amount: object) -> str:
        return format_money(amount, price.currency, settings.locale)  # type: ignore[arg-type]

    for line in price.lines:
        rows.add_row(Text(line.label), money(line.amount))
    rows.add_section()
    rows.add_row(Text("Price", "title"), Text(money(price.amount), "title"))
    if price.deposit:
        rows.add_row(Text("of which deposit", "soft"), Text(money(price.deposit), "soft"))
    for part in along:
        rows.add_row(Text(f"once {part.at}", "soft"), Text(money(part.amount), "soft"))
    return rows


def notes(found: list[str]) -> RenderableType:
    """Return what the user should know, a line each."""
    return Group(*(Text(f"• {note[0].upper()}{note[1:]}", "warn") for note in found))


def estimate(view: EstimateView, outline: Outline, settings: Settings) -> RenderableType:
    """Return an estimate: zones, lines, hours, price, and what it assumes."""
    depth = {
        "photo": f", {len(view.zones)} value zones",
        "mixed": f", {len(view.zones)} value zones, graded by eye too",
        "eye": ", judged by eye",
    }[view.depth]
    head = Text.assemble(
        (format_size(outline, settings.units), "title"),
        f" on {species_on_record(view.species).name.lower()}",
        (depth, "soft"),
    )
    measured = (zone_table(view.zones, settings), lines_line(view.lines, settings), Text())
    return Group(
        head,
        Text(),
        *(measured if view.zones else ()),
        hours_table(view.hours),
        Text(),
        price_table(view.price, settings),
        Text(),
        width_lines(view.width),
        notes(view.notes),
    )


def width_lines(width: list[WidthView]) -> RenderableType:
    """Return what makes the hours wide, and what would narrow them most."""
    lines = (
        Text.assemble(
            (f"{one.share * 100:4.0f} %  ", "code"), one.source, (f"  {one.narrow}", "soft")
        )
        for one in width
    )
    return Group(Text("What makes it wide", "soft"), *lines)


def layout_line(layout: Mapping[str, Any] | None) -> str | None:
    """Return what is set of a reference besides its crop, in a line; None if nothing is.

    Examples
    --------
    >>> area, plain = {"kind": "ellipse"}, {"background": [], "auto_levels": True}
    >>> layout_line({"control": plain, "focal": [area], "mask": ""})
    '1 focal area, levels found from the photo'
    """
    if layout is None:
        return None
    tones, focal = layout["control"], len(layout["focal"])
    bare = len(tones.get("background") or ())
    parts = [
        focal and f"{focal} focal area{'s' if focal > 1 else ''}",
        bare and f"{bare} area{'s' if bare > 1 else ''} left bare",
        layout["mask"] and "background left bare by a mask",
        tones.get("auto_levels") and "levels found from the photo",
        tones.get("black") is not None and f"black at L* {tones['black']:g}",
        tones.get("white") is not None and f"white at L* {tones['white']:g}",
        tones.get("midtone", 1) != 1 and f"midtone {tones['midtone']:g}",
        tones.get("local_contrast") and f"local contrast {tones['local_contrast'] * 100:.0f} %",
    ]
    return ", ".join(part for part in parts if isinstance(part, str) and part) or None


def reference_card(view: ReferenceView, settings: Settings) -> RenderableType:
    """Return a reference: photo, zones, lines and hours."""
    live = view.outline is OutlineKind.LIVE_EDGE
    outline = Outline(OutlineKind.RECTANGLE if live else view.outline, *view.size_mm)
    return Group(
        Text.assemble((view.code, "code"), "  ", (view.title, "title")),
        facts(
            ("photo", Text(f"{view.photo}, {view.photo_px[0]} × {view.photo_px[1]} px")),
            ("size", format_size(outline, settings.units)),
            ("wood", Text(species_on_record(view.species).name)),
            ("set", layout_line(view.layout)),
        ),
        Text(),
        zone_table(view.zones, settings),
        lines_line(view.lines, settings),
        Text(),
        hours_table(view.hours),
        notes(view.notes),
    )


def quote_card(view: QuoteView, settings: Settings, today: date) -> RenderableType:
    """Return a quote, with what it means for the artist."""
    price = PriceView(
        currency=view.currency, amount=view.total, lines=view.lines, deposit=view.deposit
    )
    title = f"quote {view.version}" if view.state != "draft" else "draft, not issued"
    state = {
        "draft": "Issue it with: burnplan quote issue " + view.code,
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
    )


def _odds(view: QuoteView) -> str:
    paid = "" if isinf(view.hours_paid) else f"; the price pays {format_hours(view.hours_paid)}"
    if view.chance is None:
        return f"Work of {format_hours(view.hours_p50)}, as you judge it{paid}"
    return (
        f"Work of {format_hours(view.hours_p50)} (50 %) to {format_hours(view.hours_p80)} (80 %)"
        f"{paid}: {format_chance(view.chance)} chance to earn at least the hourly target"
    )


def variant_table(variants: list[VariantView], settings: Settings) -> RenderableType:
    """Return variants of a piece side by side, each against the piece as it is."""
    rows = table("+what if", ">zones", ">50 %", ">80 %", ">price", ">difference")
    for one in variants:
        more = one.price - variants[0].price
        shown = format_money(abs(more), one.currency, settings.locale)
        rows.add_row(
            Text(one.what, "title" if one is variants[0] else ""),
            str(one.zones),
            format_hours(one.hours_p50),
            format_hours(one.hours_p80),
            format_money(one.price, one.currency, settings.locale),
            Text("" if not more else f"{'+' if more > 0 else '−'}{shown}", "soft"),
        )
    return rows


def price_list_table(view: PriceListView, settings: Settings) -> RenderableType:
    """Return prices by size and detail."""
    rows = table("size", *(f">detail {detail}" for detail in view.details))
    for size, prices in zip(view.sizes, view.prices, strict=True):
        shown = (format_money(price, view.currency, settings.locale) for price in prices)
        rows.add_row(Text(size, "code"), *shown)
    wood = species_on_record(view.species).name.lower()
    return Group(
        rows, Text(f"On {wood}, without the blank; detail 1 is plain, 5 dense fur", "soft")
    )


def earnings_report(view: EarningsView, settings: Settings) -> RenderableType:
    """Return what jobs, months and kinds of work earned an hour, and where hours went."""
    if not view.jobs:
        return Text(f"No job was delivered since {view.since}: earlier ones with --since", "soft")

    def rows(title: str, found: list[EarnedView]) -> RenderableType:
        made = table(f"+{title}", ">jobs", ">earned", ">hours", ">an hour", "prepare … finish")
        for one in found:
            low = one.an_hour is not None and one.an_hour < view.hourly_target
            hourly = "–"
            if one.an_hour is not None:
                hourly = format_money(one.an_hour, view.currency, settings.locale)
            made.add_row(
                Text(one.name),
                str(one.jobs),
                format_money(one.earned, view.currency, settings.locale),
                format_hours(one.hours),
                Text(hourly, "bad" if low else "good"),
                _stages_bar(one),
            )
        return made

    target = format_money(view.hourly_target, view.currency, settings.locale)
    return Group(
        rows("job", view.jobs),
        Text(),
        rows("month", view.months),
        Text(),
        rows("kind of work, best paid first", view.kinds),
        Text(
            f"Delivered since {view.since}. Target {target} an hour; earned is what came in less"
            " tax, wood and packing",
            "soft",
        ),
    )


_STAGE_CELLS = dict(zip(("prepare", "transfer", "burn", "finish"), "░▒█▓", strict=True))


def _stages_bar(one: EarnedView, width: int = 20) -> Text:
    """Draw where hours went; a cell is a twentieth of them."""
    if not one.hours:
        return Text("")
    cells = (_STAGE_CELLS[work] * round(h / one.hours * width) for work, h in one.by_work.items())
    return Text("".join(cells), "ember")


def quote_table(quotes: list[QuoteView], settings: Settings) -> RenderableType:
    """Return the versions of a quote, or what to do when there are none."""
    if not quotes:
        return Text("No quotes yet. Issue one with: burnplan quote issue JOB", "soft")
    rows = table(">#", "state", "issued", "valid until", ">total", ">hours (50 … 80 %)")
    for one in quotes:
        rows.add_row(
            str(one.version),
            one.state,
            str(one.issued_on),
            str(one.valid_until),
            format_money(one.total, one.currency, settings.locale),
            f"{format_hours(one.hours_p50)} … {format_hours(one.hours_p80)}",
        )
    return rows


def payment_table(payments: list[PaymentView], settings: Settings) -> RenderableType:
    """Return payments, or what to do when there are none."""
    if not payments:
        return Text("No payments yet. Take one with: burnplan payment add JOB AMOUNT", "soft")
    rows = table(">#", "paid", "job", "+title", "kind", ">amount", "how", "+note")
    for one in payments:
        rows.add_row(
            str(one.number),
            str(one.paid_on),
            Text(one.code, "code"),
            Text(one.title),
            one.kind,
            format_money(one.amount, one.currency, settings.locale),
            Text(one.method),
            Text(one.note),
        )
    return rows
