"""A piece against its plan, on the terminal."""

from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.dates import format_date
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.comparisons import ComparisonView, PlaceOff
from burnplan.sentences import Do, Sentence
from burnplan.show.commands import in_words
from burnplan.show.console import table
from burnplan.show.jobs.estimates import notes
from burnplan.show.jobs.pictures import side_by_side
from burnplan.units import format_area, format_hours_range

if TYPE_CHECKING:
    from datetime import date

    from burnplan.show.jobs.pictures import Picture


def zone_name(zone: int) -> str:
    """Return how a zone is called; 0 is what stays bare."""
    return f"Z{zone}" if zone else "bare wood"


def said(place: PlaceOff, number: int, kind: str, settings: Settings) -> str:
    """Return a place in a line, as it is numbered in the picture.

    Examples
    --------
    >>> place = PlaceOff(zone=2, area_cm2=4, at_mm=(50, 60), off=-0.2, whole=False,
    ...                  where="left of the nose")
    >>> said(place, 1, "too light", Settings())
    '1  Z2 left of the nose: 4 cm² too light'
    """
    where = "as a whole" if place.whole else place.where
    area = format_area(place.area_cm2, settings.units)
    if area.startswith("0 "):
        area = f"under 0.1{area[1:]}"
    return f"{number}  {zone_name(place.zone)} {where}: {area} {kind}"


def named_places(view: ComparisonView, settings: Settings) -> list[str]:
    """Return the places that are off in lines, as they are numbered in the picture."""
    kinds = [(one, "too light") for one in view.too_light]
    kinds += [(one, "too dark") for one in view.too_dark]
    return [said(one, n, kind, settings) for n, (one, kind) in enumerate(kinds, start=1)]


def comparison_card(view: ComparisonView, settings: Settings, today: "date") -> RenderableType:
    """Return a comparison: each zone, the places that are off, and what of it is done."""
    zones = table("zone", ">wanted", ">measured", ">as wanted")
    for zone in view.zones:
        zones.add_row(
            Text(f"Z{zone.zone}", "code"),
            f"{zone.wanted * 100:.0f} %",
            f"{max(0.0, zone.measured) * 100:.0f} %",
            f"{zone.within * 100:.0f} % of it",
        )
    places = [Text(words) for words in named_places(view, settings)]
    burning = view.burning
    done = (
        f"Burned by this photo {burning.by_photo * 100:.0f} %, by the ticks"
        f" {burning.by_ticks * 100:.0f} %"
    )
    if burning.hours_left is not None:
        left = format_hours_range(burning.hours_left.p50, burning.hours_left.p80)
        done += f"; by the photo {left} left of the job"
    return Group(
        Text.assemble(
            (view.code, "code"), "  ", (view.title, "title"),
            f"  {view.photo}, {format_date(view.taken_on, today)}",
        ),
        Text("Darkness: 0 % is bare wood, 100 % its darkest burn", "soft"),
        zones,
        Text(),
        *(places or [Text("No place is off by more than is allowed")]),
        Text(),
        Text(done),
        *_offered(view),
        notes(view.notes, settings),
    )  # fmt: skip


def _offered(view: ComparisonView) -> list[RenderableType]:
    """Return what might be ticked by the photo, and how; nothing if nothing might."""
    steps = " ".join(map(str, view.burning.steps_offered))
    said = Sentence(
        "As wanted by this photo and not ticked: ", Do("step.tick", job=view.code, steps=steps)
    )
    return [Text(in_words(said))] if steps else []


def picture_kept(off: "Picture", view: ComparisonView) -> RenderableType:
    """Return the picture kept of a comparison: what is off."""
    return side_by_side({"off": off}, {"off": _off_words(view)})


def pictures(piece: "Picture", off: "Picture", view: ComparisonView) -> RenderableType:
    """Return the piece from straight above, and beside it what is off."""
    words = {
        "piece": "the piece as photographed, from straight above",
        "off": _off_words(view),
    }
    return side_by_side({"piece": piece, "off": off}, words)


def _off_words(view: ComparisonView) -> str:
    light, dark = len(view.too_light), len(view.too_dark)
    return f"{light} places too light in blue, {dark} too dark in orange, numbered as below"
