"""Marks on a photo: where they are kept, and how a hand moves them."""

from dataclasses import replace

from burnplan.desk.jobs.layouts import Layout
from burnplan.tone.areas import MarkedArea, On
from burnplan.tone.control import ToneControl

MARKS = ("subject", "focal", "drop", "keep")
_LEAST = 0.02  # of the photo: no smaller than can be seen


def areas_of(layout: Layout, kind: str) -> tuple[MarkedArea, ...]:
    """Return the marks of a kind."""
    control = layout.control
    return {
        "focal": layout.focal, "subject": control.subject,
        "drop": control.background, "keep": control.keep,
    }[kind]  # fmt: skip


def marked(control: ToneControl, kind: str, areas: tuple[MarkedArea, ...]) -> ToneControl:
    """Return a tone control with other marks of a kind that it keeps."""
    if kind == "drop":
        return replace(control, background=areas)
    return replace(control, subject=areas) if kind == "subject" else replace(control, keep=areas)


def in_order(box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    """Return a box of the photo as left, top, right, bottom in tenths of a per cent."""
    x0, y0, x1, y1 = (round(min(max(value, 0.0), 1.0), 3) for value in box)
    left, top = min(x0, x1), min(y0, y1)
    return left, top, max(x0, x1, left + _LEAST), max(y0, y1, top + _LEAST)


def unit_of(area: MarkedArea) -> float:
    """Return what a share of the photo is worth in a mark's own unit: on the wood, mm."""
    return 100.0 if area.on is On.WOOD else 1.0


def moved(area: MarkedArea, right: float, down: float) -> MarkedArea:
    """Return a mark moved by shares of the photo."""
    unit = unit_of(area)
    return replace(area, corners=tuple(
        (round(x + right * unit, 4), round(y + down * unit, 4)) for x, y in area.corners
    ))  # fmt: skip


def grown(area: MarkedArea, wider: float, higher: float) -> MarkedArea:
    """Return a mark as much larger on every side, no smaller than can be seen."""
    unit = unit_of(area)
    xs, ys = zip(*area.corners, strict=True)
    found = []
    for values, more in ((xs, wider * unit), (ys, higher * unit)):
        low, high = min(values), max(values)
        wide = max(high - low + 2 * more, _LEAST * unit)
        middle = (low + high) / 2
        found.append(
            [round(middle + (value - middle) * wide / (high - low), 4) for value in values]
        )
    return replace(area, corners=tuple(zip(*found, strict=True)))
