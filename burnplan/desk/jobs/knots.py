"""Focal areas that would be burned on a knot, and how the photo would lie clear of them."""

from typing import TYPE_CHECKING

from burnplan.desk.derived import piece
from burnplan.desk.wood import faces
from burnplan.desk.wood.faces import MarkView
from burnplan.ledger.models import Reference
from burnplan.units import UnitSystem
from burnplan.view import View

if TYPE_CHECKING:
    from burnplan.tone.placement import Placement


class ClearView(View):
    """A placement that keeps every focal area off the marks, as one would type it.

    ``scale`` and ``turn`` are null where they stay as they are.
    """

    shift: str
    scale: float | None
    turn: float | None

    def in_words(self) -> str:
        """Say it."""
        parts = [f"shift it to {self.shift}"]
        parts += [] if self.turn is None else [f"turn it to {self.turn:g}°"]
        parts += [] if self.scale is None else [f"scale it to {self.scale:g}"]
        return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


class OnMarkView(View):
    """A focal area, as one would type it, and the mark of the wood that it lies on."""

    area: str
    mark: MarkView


class KnotsView(View):
    """Which focal areas lie on marks; ``clear`` is where none would, null if there is no place."""

    lying_on: list[OnMarkView]
    clear: ClearView | None

    def notes(self, units: UnitSystem) -> list[str]:
        """Say what lies on what, and what to do."""
        said = [
            f"The focal area '{one.area}' lies on a {one.mark.in_words(units)}"
            for one in self.lying_on
        ]
        if said and self.clear is None:
            said[-1] += ": no placement near is clear, mark another area or choose another blank"
        elif said and self.clear is not None:
            said[-1] += f": to lie clear of all of them, {self.clear.in_words()}"
        return said


NONE = KnotsView(lying_on=[], clear=None)


def under(reference: Reference, unit: str) -> KnotsView:
    """Return which focal areas of a reference lie on marks of the blank that is held for it.

    Parameters
    ----------
    reference : Reference
    unit : str
        That lengths are typed in.
    """
    blank = reference.commission.blank
    marks = faces.marks_of(blank) if blank is not None else []
    if blank is None or not marks or not (reference.layout or {}).get("focal"):
        return NONE  # without the pictures' room
    from burnplan.desk.jobs.layouts import Layout, typed_area
    from burnplan.tone.clear_of import clear_placement, lying_on
    from burnplan.tone.position import position_on

    layout, outline = Layout.from_dict(reference.layout), piece.outline_of(blank)
    size = reference.original.width_px, reference.original.height_px
    subject = layout.control.subject
    laid = position_on(size, outline, layout.placement, (*layout.focal, *subject), layout.likely)
    polygons = [mark.points_mm for mark in marks]
    pairs = lying_on(laid, layout.focal, polygons)
    if not pairs:
        return NONE
    found = [
        OnMarkView(area=layout.focal[one].name or typed_area(layout.focal[one]), mark=marks[other])
        for one, other in pairs
    ]
    left_out = bool(layout.mask or layout.control.background)
    alone = subject or ((layout.likely,) if left_out and layout.likely else ())
    clear = clear_placement(size, outline, laid.placement, layout.focal, polygons, subject=alone)
    return KnotsView(lying_on=found, clear=clear and _typed(layout.placement, clear, unit))


def _typed(before: "Placement", clear: "Placement", unit: str) -> ClearView:
    from burnplan.desk.jobs.layouts import typed_length

    scale = round(clear.scale or 1.0, 3)
    return ClearView(
        shift=",".join(typed_length(mm, unit) for mm in clear.offset_mm or (0.0, 0.0)),
        scale=None if scale == (before.scale or 1.0) else scale,
        turn=None if clear.turn_degrees == before.turn_degrees else clear.turn_degrees,
    )
