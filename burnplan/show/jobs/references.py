"""References on the terminal."""

from collections.abc import Mapping
from typing import Any

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import layouts
from burnplan.desk.jobs.joined import JoinedView, TonesView
from burnplan.desk.jobs.references import ReferenceView
from burnplan.outline import Outline, OutlineKind
from burnplan.show.console import facts, table
from burnplan.show.jobs.estimates import (
    covered_line,
    hours_table,
    lines_line,
    notes,
    subject_offer,
    zone_table,
)
from burnplan.tone.areas import MarkedArea
from burnplan.units import MM_PER_INCH, UnitSystem, format_size
from burnplan.wood.species import species_on_record


def layout_line(layout: Mapping[str, Any] | None) -> str | None:
    """Return what is set of a reference, in a line; None if nothing is.

    Examples
    --------
    >>> area, plain = {"kind": "ellipse"}, {"background": [], "auto_levels": True}
    >>> lies = {"mirrored": True, "turn_degrees": -3.5}
    >>> layout_line({"placement": lies, "control": plain, "focal": [area], "mask": ""})
    'mirrored, turned by -3.5°, 1 focal area, levels found from the photo'
    """
    if layout is None:
        return None
    lies, tones, focal = layout["placement"], layout["control"], len(layout["focal"])
    turn = lies.get("turn_degrees", 0) + 90 * lies.get("quarter_turns", 0)
    bare, kept = (len(tones.get(name) or ()) for name in ("background", "keep"))
    subject = len(tones.get("subject") or ())
    line = layout.get("line", "usual")
    parts = [
        lies.get("crop") and "cropped",
        lies.get("mirrored") and "mirrored",
        turn and f"turned by {turn:g}°",
        lies.get("fit") == "whole" and "the whole photo",
        (lies.get("margin_mm") or lies.get("sides_mm")) and "a margin left bare",
        line != "usual" and f"{line} lines",
        focal and f"{focal} focal area{'s' if focal > 1 else ''}",
        subject and f"the subject alone, by {subject} mark{'s' if subject > 1 else ''}",
        bare and f"{bare} area{'s' if bare > 1 else ''} left bare",
        kept and f"{kept} area{'s' if kept > 1 else ''} kept",
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
            ("together", _together(view.together)),
            ("size", format_size(outline, settings.units)),
            ("wood", Text(species_on_record(view.species).name)),
            ("set", layout_line(view.layout)),
            ("taken by", _rights(view)),
        ),
        *_photos(view.together, settings),
        Text(),
        zone_table(view.zones, settings),
        *covered_line(view.covered),
        lines_line(view.lines, settings),
        Text(),
        hours_table(view.hours),
        notes(view.notes, settings),
        *_clear_of_knots(view),
        *subject_offer(_likely(view.layout), view.code),
    )


def _clear_of_knots(view: ReferenceView) -> list[Text]:
    """Return the line that lays the photo clear of the knots it lies on now, if there is one."""
    clear = view.knots.clear
    if clear is None:
        return []
    words = f"burnplan reference plan {view.code} --shift={clear.shift}"
    words += "" if clear.turn is None else f" --turn={clear.turn:g}"
    words += "" if clear.scale is None else f" --scale={clear.scale:g}"
    return [Text(f"Clear of it: {words}", "soft")]


def _together(several: JoinedView | None) -> Text | None:
    if several is None:
        return None
    tones = "tones as photographed"
    if several.middles is not None:
        tones = f"tones matched, middles drawn together by {several.middles * 100:.0f} %"
    return Text(f"{len(several.photos)} photos, {several.seam} seam, {tones}")


def _photos(several: JoinedView | None, settings: Settings) -> list[RenderableType]:
    """Return the photos of a piece in a table: where each lies, how fine, its tones."""
    if several is None:
        return []
    inches = settings.units is UnitSystem.IMPERIAL
    fine = ">px/in" if inches else ">px/mm"
    rows = table("#", "+photo", ">of the piece, %", ">seen of it, %", fine, ">L* as taken",
                 ">as composed", "use")  # fmt: skip
    for one in several.photos:
        rows.add_row(
            str(one.number),
            Text(one.photo),
            _box(one.box),
            _box(one.crop) + (" mirrored" if one.mirrored else ""),
            f"{one.px_per_mm * (MM_PER_INCH if inches else 1):.{0 if inches else 1}f}",
            _tones(one.photographed),
            _tones(one.composed),
            Text("allowed") if one.allowed else Text("not noted", "warn"),
        )
    return [Text(), rows]


def _box(box: tuple[float, float, float, float]) -> str:
    left, top, right, bottom = box
    return f"{left:.0f},{top:.0f} {right:.0f},{bottom:.0f}"


def _tones(tones: TonesView) -> str:
    return f"{tones.dark:.0f} · {tones.middle:.0f} · {tones.light:.0f}"


def _rights(view: ReferenceView) -> Text:
    """Return who took the photo, and how its use was allowed or that this is open."""
    who = view.taken_by or "not noted"
    if view.allowed:
        return Text(f"{who}; allowed: {view.allowed}")
    return Text(f"{who}; that its use is allowed is not noted", "warn")


def _likely(layout: Mapping[str, Any] | None) -> str | None:
    """Return the likely subject as one would type it, where nothing is left bare yet."""
    if not layout or not layout.get("likely") or layout["mask"]:
        return None
    control = layout["control"]
    if control.get("subject") or control.get("background"):
        return None
    return layouts.typed_area(MarkedArea.from_dict(layout["likely"]))
