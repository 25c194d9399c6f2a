"""Blanks on the terminal: in stock, their hazards, which suit a photo, which to buy."""

from datetime import date
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.derived.hazards_found import HazardView
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.wood import faces
from burnplan.desk.wood.blanks import BlankView
from burnplan.desk.wood.fitting import FitView
from burnplan.desk.wood.outlines import OutlineView
from burnplan.desk.wood.wood_to_buy import NeedView
from burnplan.money import format_money
from burnplan.outline import Outline, OutlineKind
from burnplan.show.console import facts, table
from burnplan.show.jobs import pictures
from burnplan.units import MM_PER_INCH, UnitSystem, format_area, format_length, format_size

if TYPE_CHECKING:
    from burnplan.show.jobs.pictures import Picture


def blank_table(blanks: list[BlankView], settings: Settings) -> RenderableType:
    """Return the blanks, or what to do when there are none."""
    if not blanks:
        return Text(settings.wording.own(_NONE), "soft")
    rows = table("blank", "wood", "size", ">thick", ">grit", "state", ">cost", "+place")
    for one in blanks:
        rows.add_row(
            Text(one.code, "code"),
            Text(one.species_name),
            format_size(one.shape(), settings.units),
            format_length(one.thickness_mm, settings.units) if one.thickness_mm else "",
            str(one.grit or "–"),
            _blank_state(one),
            format_money(one.cost, settings.currency, settings.locale) if one.cost else "",
            Text(one.location),
        )
    return rows


def _blank_state(one: BlankView) -> Text:
    """Say where a blank is, and if it must not be burned."""
    said = Text(f"{one.state} {one.held_for or ''}".strip())
    if any(hazard.blocks for hazard in one.hazards):
        said.append(", blocked", "bad")
    return said


def blank_card(one: BlankView, settings: Settings) -> RenderableType:
    """Return all that is known of a blank, with the sanding left to do."""
    return facts(
        (one.code, Text(one.species_name, "title")),
        ("size", format_size(one.shape(), settings.units)),
        ("area", _area(one, settings)),
        ("bark", format_length(one.bark_mm, settings.units) if one.bark_mm else None),
        ("thickness", format_length(one.thickness_mm, settings.units) if one.thickness_mm else ""),
        ("state", _blank_state(one)),
        ("scrapped", Text(one.scrap_reason or "")),
        ("cost", format_money(one.cost, settings.currency, settings.locale) if one.cost else None),
        ("supplier", Text(one.supplier)),
        ("place", Text(one.location)),
        ("grit", str(one.grit) if one.grit else "rough"),
        ("to do", Text("\n".join(one.sanding_left) or "ready to transfer")),
        ("grain", grain_line(one)),
        ("bare wood", f"L* {one.bare:.0f}, read from its photo" if one.bare is not None else None),
        ("keep off", Text("\n".join(faces.in_words(one.marks, settings.units)))),
        ("moisture", f"{one.moisture:g} %" if one.moisture is not None else None),
        ("photos", str(one.photos) if one.photos else None),
        ("condition", Text(", ".join(found.kind for found in one.conditions))),
        ("blocked", Text("\n".join(h.in_words() for h in one.hazards if h.blocks), "bad")),
        ("caution", Text("\n".join(h.in_words() for h in one.hazards if not h.blocks), "warn")),
        ("checking", Text(one.checking, "warn")),
        ("note", Text(one.note)),
    )


def grain_line(one: BlankView) -> str | None:
    """Say which way the grain runs, as noted and as seen in its photo."""
    seen = None if one.grain_degrees is None else f"{one.grain_degrees:.0f}° from across, as seen"
    return ", ".join(part for part in (one.grain, seen) if part) or None


def _area(one: BlankView, settings: Settings) -> str | None:
    """Say the area of a live edge, which no size tells."""
    if one.outline is not OutlineKind.LIVE_EDGE:
        return None
    if not one.points_mm:
        return f"find it: burnplan blank outline {one.code} PHOTO --sheet a5"
    return format_area(one.shape().area_cm2, settings.units)


def outline_card(found: OutlineView, seen: "Picture | None", settings: Settings) -> RenderableType:
    """Return a blank's outline over its photo, if there is one, and in figures."""
    units = settings.units
    corners = tuple(found.points_mm) if found.outline is OutlineKind.LIVE_EDGE else ()
    shape = Outline(found.outline, found.width_mm, found.height_mm, corners)
    card = facts(
        (found.code, format_size(shape, units)),
        ("area", format_area(found.area_mm2 / 100, units)),
        ("corners", str(len(corners)) if corners else None),
        ("bark", format_length(found.bark_mm, units) if found.bark_mm else None),
    )
    if seen is None:
        return card
    words = {found.code: "its outline over the photo of it"}
    return Group(pictures.side_by_side({found.code: seen}, words), card)


def hazard_list(hazards: list[HazardView], empty: str = "") -> RenderableType:
    """Return hazards with their reason, source and what to do."""
    if not hazards:
        return Text(empty, "soft")
    rows = table("", "", "+")
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


_NONE = "No blanks in stock. Add one with: burnplan blank add basswood 30x40cm"


def fit_table(found: list[FitView], settings: Settings) -> RenderableType:
    """Return blanks by how well they suit a photo, or what to do when there are none."""
    if not found:
        return Text("No blank in stock suits. Add one with: burnplan blank add WOOD SIZE", "soft")
    inches = settings.units is UnitSystem.IMPERIAL
    per, dense, digits = ("px/in", MM_PER_INCH, 0) if inches else ("px/mm", 1.0, 1)
    rows = table("blank", "wood", "size", ">lost", f">{per}", "+what speaks against it")
    for one in found:
        rows.add_row(
            Text(one.blank.code, "code"),
            Text(one.blank.species_name),
            format_size(one.blank.shape(), settings.units),
            f"{one.lost * 100:.0f} %",
            f"{one.px_per_mm * dense:.{digits}f}",
            Text(settings.wording.own("; ".join(_fit_words(one))), "soft"),
        )
    return rows


def _fit_words(one: FitView) -> list[str]:
    turn = ["turn it a quarter"] if one.turned else []
    if one.blank.state != "held":
        return [*turn, *one.reasons]
    return [f"held for {one.blank.held_for}", *turn, *(one.reasons or ["it fits"])]


def buying_table(needs: list[NeedView], settings: Settings, today: date) -> RenderableType:
    """Return the wood that booked work needs, or that it needs none."""
    if not needs:
        words = "Every booked job has its blank. Hold one for another:"
        return Text(f"{words} burnplan blank hold BLANK JOB", "soft")
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
