"""Wood on the terminal: moisture and movement of a blank, air, own species."""

from datetime import date, datetime

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.derived.air import Air
from burnplan.desk.derived.hazards_found import HazardView
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.derived.woods import LIMITS
from burnplan.desk.jobs.finishing import FinishView
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood.conditioning import DaysView, MoistureView, MovementView
from burnplan.desk.wood.fitting import FitView
from burnplan.desk.wood.own_species import OwnSpeciesView
from burnplan.desk.wood.wood_to_buy import NeedView
from burnplan.reckon.settling import Verdict
from burnplan.show.console import facts, table
from burnplan.units import UnitSystem, format_length, format_size
from burnplan.wood.moisture import format_temperature


def air_words(air: Air, units: UnitSystem) -> str:
    """Return an air in words, with the moisture wood settles at in it."""
    warm = format_temperature(air.celsius, units)
    return f"{warm}, {air.humidity:g} %: wood settles near {air.emc:.1f} %"


def _days(left: DaysView) -> str:
    if left.high < 1:
        return "less than a day"
    if round(left.low) == round(left.high):
        return f"about {left.likely:.0f} days"
    return f"{left.low:.0f} … {left.high:.0f} days, likely {left.likely:.0f}"


def moisture_card(view: MoistureView, settings: Settings, studio: Studio) -> RenderableType:
    """Return a blank's readings, the airs that count for it, and whether to wait."""
    verdict = None
    if view.verdict is not None:
        style = "good" if view.verdict is Verdict.GO else "warn"
        word = "Go: it has settled" if view.verdict is Verdict.GO else "Wait: it is still moving"
        verdict = Text(word, style)
    home = f"home of {view.home_of}" if view.home_of else "home"
    parts: list[RenderableType] = [
        facts(
            (view.code, Text(view.species_name, "title")),
            ("shop", air_words(view.shop, settings.units) if view.shop else None),
            (home, air_words(view.home, settings.units) if view.home else None),
            ("verdict", verdict),
            ("days left", _days(view.days_left) if view.days_left else None),
            ("days left", Text(view.unknown, "soft") if view.unknown else None),
        )
    ]
    if view.readings:
        rows = table("taken", ">moisture", "+note")
        for reading in view.readings:
            when = f"{studio.local(reading.taken_at):%d %b %Y %H:%M}"
            rows.add_row(when, f"{reading.moisture:g} %", Text(reading.note))
        parts += [Text(""), rows]
    return Group(*parts, *(Text(note, "soft") for note in view.notes))


def movement_card(view: MovementView, settings: Settings) -> RenderableType:
    """Return what a blank does across its grain."""

    def length(mm: float) -> str:
        inches = settings.units is UnitSystem.IMPERIAL
        return f"{mm / 25.4:+.3f} in" if inches else f"{mm:+.1f} mm"

    rows = table("cut", ">across the grain", ">change", "+source")
    for one in view.moved:
        change = Text(length(one.change_mm), "warn" if abs(one.change_mm) >= 1 else "")
        before = format_length(one.before_mm, settings.units)
        rows.add_row(one.cut, before, change, Text(one.source, "soft"))
    parts: list[RenderableType] = [
        facts(
            (view.code, Text(view.species_name, "title")),
            ("moisture", f"{view.start:.1f} % → {view.end:.1f} %"),
            ("grain", view.grain),
            (
                "checking",
                Text(f"{view.checking} risk. {view.checking_why}", "warn")
                if view.checking
                else None,
            ),
        )
    ]
    if view.moved:
        parts += [Text(""), rows]
    return Group(*parts, *(Text(note, "soft") for note in view.notes))


def own_species_card(view: OwnSpeciesView) -> RenderableType:
    """Return a wood of the user's own."""
    given = [(name, getattr(view, name)) for name in LIMITS]
    return facts(
        (view.key, Text(view.name, "title")),
        ("botanical", Text(view.botanical)),
        *(
            (LIMITS[name][2].partition(",")[0], f"{value:g}")
            for name, value in given
            if value is not None
        ),
        ("resinous", Text(view.resinous)),
        ("irritant", Text(view.irritant)),
        ("source", Text(view.source)),
    )


def hazard_list(hazards: list[HazardView], empty: str = "") -> RenderableType:
    """Return hazards with their reason, source and what to do."""
    if not hazards:
        return Text(empty, "soft")
    rows = table("", "", "+")
    rows.show_header = False
    for one in hazards:
        word, style = ("BLOCKED", "bad") if one.blocks else ("caution", "warn")
        if one.override:
            word = "set aside"
        words = Text(one.reason)
        words.append(f"\n{one.advice}")
        words.append(f"\n{one.source}", "soft")
        if one.override:
            words.append(f"\nset aside: {one.override}", "warn")
        rows.add_row(Text(word, style), Text(one.key, "code"), words)
    return rows


def buying_table(needs: list[NeedView], settings: Settings, today: date) -> RenderableType:
    """Return the wood that booked work needs, or that it needs none."""
    if not needs:
        return Text("Every booked job has its blank. Hold one with: burnplan blank hold", "soft")
    rows = table("job", "+title", "due", "wood", "size", "from")
    for one in needs:
        size = one.shape()
        rows.add_row(
            Text(one.code, "code"),
            Text(one.title),
            format_date(one.due, today) if one.due else "–",
            Text(one.species_name or "any"),
            format_size(size, settings.units) if size else "not known",
            Text(f"stock: {one.in_stock}", "good") if one.in_stock else Text("buy", "warn"),
        )
    return rows


def finish_card(view: FinishView, studio: Studio) -> RenderableType:
    """Return the finish that a piece's use asks for, and its coats."""

    def when(moment: datetime | None) -> str:
        return f"{studio.local(moment):%d %b %H:%M}" if moment else ""

    head = facts(
        (view.code, Text(view.title, "title")),
        ("use", view.use),
        ("finish", Text(view.advice)),
        ("why", Text(view.reason)),
        ("source", Text(view.source, "soft")),
        ("caution", Text("\n".join(view.cautions), "warn")),
    )
    if not view.coats:
        hint = f"No coats planned. Plan them: burnplan finish plan {view.code} PRODUCT --dry 8h"
        return Group(head, Text(hint, "soft"))
    rows = table("coat", "+of", ">dry", ">next coat", "laid", "dry from", "next coat from")
    for coat in view.coats:
        rows.add_row(
            str(coat.number),
            Text(coat.product),
            f"{coat.dry_hours:g} h",
            f"{coat.next_coat_hours:g} h",
            when(coat.laid_at),
            when(coat.dry_at),
            Text(when(coat.next_coat_from), "ember"),
        )
    return Group(head, Text(""), rows)


def fit_table(found: list[FitView], settings: Settings) -> RenderableType:
    """Return blanks by how well they suit a photo, or what to do when there are none."""
    if not found:
        return Text("No blank in stock suits: add one with burnplan blank add", "soft")
    rows = table("blank", "wood", "size", ">lost", ">px/mm", "+what speaks against it")
    for one in found:
        rows.add_row(
            Text(one.blank.code, "code"),
            Text(one.blank.species_name),
            format_size(one.blank.shape(), settings.units),
            f"{one.lost * 100:.0f} %",
            f"{one.px_per_mm:.1f}",
            Text("; ".join(_fit_words(one)), "soft"),
        )
    return rows


def _fit_words(one: FitView) -> list[str]:
    turn = ["turn it a quarter"] if one.turned else []
    if one.blank.state != "held":
        return [*turn, *one.reasons]
    return [f"held for {one.blank.held_for}", *turn, *(one.reasons or ["it fits"])]
