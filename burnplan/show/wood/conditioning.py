"""Moisture and movement of a blank on the terminal."""

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.dates import format_moment
from burnplan.desk.derived.air import Air
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood.conditioning import DaysView, MoistureView, MovementView
from burnplan.reckon.settling import Verdict
from burnplan.show.commands import in_words
from burnplan.show.console import facts, table
from burnplan.units import MM_PER_INCH, UnitSystem, format_length
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
            when = format_moment(studio.local(reading.taken_at), studio.today())
            rows.add_row(when, f"{reading.moisture:g} %", Text(reading.note))
        parts += [Text(""), rows]
    return Group(*parts, *(Text(in_words(note, settings.wording), "soft") for note in view.notes))


def movement_card(view: MovementView, settings: Settings) -> RenderableType:
    """Return what a blank does across its grain."""

    def length(mm: float) -> str:
        inches = settings.units is UnitSystem.IMPERIAL
        return f"{mm / MM_PER_INCH:+.3f} in" if inches else f"{mm:+.1f} mm"

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
    return Group(*parts, *(Text(in_words(note, settings.wording), "soft") for note in view.notes))
