"""Estimates on the terminal: zones, lines, hours, price."""

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.text import Text

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
from burnplan.desk.money.quotes import InstalmentView
from burnplan.money import format_money
from burnplan.outline import Outline
from burnplan.sentences import Do, Sentence
from burnplan.show.commands import in_words
from burnplan.show.console import table
from burnplan.units import format_area, format_hours, format_runs, format_size
from burnplan.wood.species import species_on_record
from burnplan.zone_names import LETTERING, zone_name

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
            Text(zone_name(zone.zone), "code"),
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
    strokes = "" if lines.strokes is None else f" in {lines.strokes} strokes"
    left = f"; leave {lost} of lost edges open" if lines.lost_cm else ""
    return Text(f"Trace {drawn}{strokes}: firm {firm}, light {light}{left}")


def _share_burned(covered: float) -> str:
    """Return the share of the face that is burned; nothing where it is as good as all."""
    return f"{covered * 100:.0f} %" if covered < 0.995 else ""


def covered_line(covered: float) -> tuple[RenderableType, ...]:
    """Return how much of the face is burned, where some stays bare."""
    share = _share_burned(covered)
    return (Text(f"Burned: {share} of the face; the rest stays bare wood"),) if share else ()


def hours_table(hours: HoursView) -> RenderableType:
    """Return hours by stage, with what is enough in 10, 50, 80 and 90 of 100 cases."""
    rows = table("work", ">10 %", ">50 %", ">80 %", ">90 %", "")
    rows.caption = "hours that are enough in that share of cases"
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


def open_price() -> RenderableType:
    """Return that there is no price yet, and what makes one."""
    words = "No price yet; say what an hour earns: "
    return Text(in_words(Sentence(words, Do("settings.target"))), "warn")


def notes(found: list[str], settings: Settings) -> RenderableType:
    """Return what the user should know, a line each."""
    own = map(settings.wording.own, found)
    return Group(*(Text(f"• {note[0].upper()}{note[1:]}", "warn") for note in own))


def estimate(view: EstimateView, outline: Outline, settings: Settings) -> RenderableType:
    """Return an estimate: zones, lines, hours, price, and what it assumes."""
    share = _share_burned(view.covered)
    zones = sum(zone.zone != LETTERING for zone in view.zones)
    depth = {
        "photo": f", {zones} value zones",
        "mixed": f", {zones} value zones, graded by eye too",
        "eye": ", judged by eye" + (f", {share} of it burned" if share else ""),
    }[view.depth]
    head = Text.assemble(
        (format_size(outline, settings.units), "title"),
        f" on {species_on_record(view.species).name.lower()}",
        (depth, "soft"),
    )
    measured = (
        zone_table(view.zones, settings),
        *covered_line(view.covered),
        lines_line(view.lines, settings),
        Text(),
    )
    return Group(
        head,
        Text(),
        *(measured if view.zones else ()),
        hours_table(view.hours),
        Text(),
        price_table(view.price, settings) if view.price else open_price(),
        Text(),
        width_lines(view.width),
        notes(view.notes, settings),
        *(() if view.subject else subject_offer(view.likely_subject)),
    )


def subject_offer(likely: str | None, code: str = "") -> tuple[RenderableType, ...]:
    """Return what is offered of a likely subject: where it is, and how it is burned alone."""
    if likely is None:
        return ()
    how = f"--subject '{likely}'"
    if code:
        how = f"burnplan reference plan {code} {how}"
    return (Text(f"Its subject is likely about {likely}. To burn it alone: {how}", "soft"),)


def width_lines(width: list[WidthView]) -> RenderableType:
    """Return what makes the hours wide, and what would narrow them most."""
    lines = (
        Text.assemble(
            (f"{one.share * 100:4.0f} %  ", "code"),
            one.source,
            (f"  {in_words(one.narrow)}", "soft"),
        )
        for one in width
    )
    return Group(Text("What makes it wide", "soft"), *lines)
