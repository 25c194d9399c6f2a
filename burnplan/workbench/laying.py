"""What the hand does at the laying-out table: which value it holds, and how a key changes it.

Every value is one that ``burnplan reference plan`` takes, and is kept as it would be typed: the
table and the command line cannot mean two things. Brings numpy: only where a photo is laid out.
"""

import shlex
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from burnplan.desk.jobs.laying import InHand
from burnplan.desk.jobs.layouts import (
    Layout,
    LayoutChange,
    as_typed,
    change_between,
    changed,
    typed_area,
    typed_length,
    typed_margins,
)
from burnplan.errors import BadInput, BurnplanError
from burnplan.passes import Detail
from burnplan.tone.areas import AreaKind, MarkedArea, On
from burnplan.tone.control import MIDTONES
from burnplan.tone.laying import Setting
from burnplan.tone.placement import SCALES, Placement
from burnplan.units import MM_PER_INCH
from burnplan.workbench import cropping
from burnplan.workbench.cropping import Box
from burnplan.workbench.forms import chosen_of, whole_number
from burnplan.workbench.marking import MARKS, areas_of, grown, in_order, marked, moved
from burnplan.zoning import FEWEST, MOST

_SWITCHES = {"mirror": ("no", "yes"), "whole": ("fill", "whole"), "levels": ("no", "found")}
PLACE = ("shift", "scale", "turn", "mirror", "whole", "margin", "crop")
TONES = ("black", "white", "midtone", "contrast", "levels")
DRAWN = ("zones", "line")

# How far a press goes, and one with shift.
_STEPS = {
    "scale": (0.02, 0.2), "turn": (0.5, 5.0), "black": (1, 5), "white": (1, 5),
    "midtone": (0.05, 0.25), "contrast": (5, 20),
}  # fmt: skip
_MM, _INCH = (1.0, 10.0), (MM_PER_INCH / 20, MM_PER_INCH / 2)
_MARK = (0.01, 0.05)  # of the photo
# Nobody undoes a thousand steps one by one.
_KEPT_STEPS = 500


class Laid(NamedTuple):
    """How a photo is laid, and in how many zones."""

    layout: Layout
    zones: int


class Row(NamedTuple):
    """A value: its name as an option, what is shown of it, and whether it is another than was."""

    name: str
    text: str
    changed: bool


class Table:
    """A photo laid out by eye: as it was, as it is, and which value is in hand."""

    def __init__(self, taken: InHand) -> None:
        self.taken = taken
        self.was = self.now = Laid(taken.layout, taken.zones)
        self.hand = "shift"
        self._past: list[tuple[str, Laid]] = []
        self._future: list[tuple[str, Laid]] = []

    # What is there

    @property
    def setting(self) -> Setting:
        """How the photo lies, as it is drawn."""
        return setting_of(self.now.layout)

    @property
    def is_changed(self) -> bool:
        """Whether anything is other than it was."""
        return self.now != self.was

    def marks(self) -> list[tuple[str, int, MarkedArea]]:
        """Return all marks: their kind, their place among those, and the area."""
        return [
            (kind, at, area)
            for kind in MARKS
            for at, area in enumerate(areas_of(self.now.layout, kind))
        ]

    @property
    def mark(self) -> tuple[str, int] | None:
        """Which mark is in hand, if one is."""
        kind, _, at = self.hand.partition(" ")
        return (kind, int(at)) if kind in MARKS and at else None

    @property
    def area(self) -> MarkedArea | None:
        """The mark in hand."""
        mark = self.mark
        return None if mark is None else areas_of(self.now.layout, mark[0])[mark[1]]

    def rows(self) -> Iterator[Row]:
        """Yield all values, as one would type them."""
        for name in (*PLACE, *TONES, *DRAWN):
            text = self.text(name, self.now)
            yield Row(name, text, text != self.text(name, self.was))
        before = {kind: areas_of(self.was.layout, kind) for kind in MARKS}
        for kind, at, area in self.marks():
            yield Row(f"{kind} {at}", typed_area(area), area not in before[kind])

    def text(self, name: str, laid: Laid) -> str:
        """Return a value as one would type it."""
        typed = as_typed(laid.layout, self.taken.unit)
        if name == "zones":
            return str(laid.zones)
        if name in ("shift", "scale"):
            placed = self.taken.photo.lies(setting_of(laid.layout)).placement
            if name == "scale":
                return f"{placed.scale or 1:.4g}"
            shown = (round(mm, 1) + 0.0 for mm in placed.offset_mm or (0.0, 0.0))
            return typed.shift or ",".join(typed_length(mm, self.taken.unit) for mm in shown)
        value = getattr(typed, name)
        if name in _SWITCHES:
            return _SWITCHES[name][bool(value)]
        if value is None:
            found = laid.layout.control.auto_levels
            return "found" if found else {"black": "0", "white": "100"}[name]
        return f"{value:g}" if isinstance(value, float | int) else str(value)

    @property
    def change(self) -> LayoutChange:
        """What one would type to make of it as it was what it is now."""
        return change_between(self.was.layout, self.now.layout, self.taken.unit)

    def command(self) -> str:
        """Return the command that does the same."""
        said, words = self.change, ["burnplan", "reference", "plan", self.taken.code]
        if self.now.zones != self.was.zones:
            words += ["--zones", str(self.now.zones)]
        for name in LayoutChange.__dataclass_fields__:
            value = getattr(said, name)
            if value is None:
                continue
            if isinstance(value, bool):
                words.append(_switched(name, on=value))
            elif isinstance(value, Sequence) and not isinstance(value, str):
                for one in value or ("none",):
                    words += [f"--{name}", one]
            else:
                text = f"{value:g}" if isinstance(value, float) else str(value)
                words += [f"--{name}={text}"] if text.startswith("-") else [f"--{name}", text]
        return shlex.join(words)

    # What the hand does

    def take(self, name: str) -> None:
        """Take a value in hand."""
        self.hand = name

    def next(self, by: int) -> None:
        """Take the next value in hand, or the one before."""
        names = [row.name for row in self.rows()]
        self.hand = names[(names.index(self.hand) + by) % len(names)]

    def step(self, right: int, down: int, *, far: bool = False) -> None:
        """Change what is in hand by a press of an arrow: -1, 0 or 1 each way."""
        layout, more = self.now.layout, right or -down
        if self.hand == "shift":
            self._move(right, down, far=far)
        elif self.area is not None:
            by = _MARK[far]
            self._put_area(moved(self.area, right * by, down * by))
        elif self.hand == "crop":
            self.crop(cropping.moved(self.used, right * _MARK[far], down * _MARK[far]))
        elif self.hand in _SWITCHES:
            self.switch(self.hand)
        elif self.hand == "zones":
            zones = min(max(self.now.zones + more, FEWEST), MOST)
            self._now(Laid(layout, zones))
        elif self.hand == "line":
            order = list(Detail)
            at = min(max(order.index(layout.line) + more, 0), len(order) - 1)
            self._now(Laid(replace(layout, line=order[at]), self.now.zones))
        elif self.hand == "margin":
            step = (_INCH if self.taken.unit == "in" else _MM)[far]
            margin = max(0.0, layout.placement.margin_mm + more * step)
            wider = replace(layout.placement, margin_mm=margin)
            self._typed(margin=typed_margins(wider, self.taken.unit))
        elif self.hand in _STEPS:
            self._number(self.hand, more * _STEPS[self.hand][far])

    def grow(self, more: int, *, far: bool = False) -> None:
        """Make what is in hand larger, or smaller."""
        if self.area is not None:
            self._put_area(grown(self.area, more * _MARK[far], more * _MARK[far]))
        elif self.hand == "crop":
            self.crop(cropping.grown(self.used, more * _MARK[far], more * _MARK[far]))
        elif self.hand == "shift":
            self._number("scale", more * _STEPS["scale"][far])
        else:
            self.step(more, 0, far=far)

    def stretch(self, right: int, down: int) -> None:
        """Make the mark in hand wider or higher, or the part that is used."""
        if self.area is not None:
            self._put_area(grown(self.area, right * _MARK[0], down * _MARK[0]))
        elif self.hand == "crop":
            self.crop(cropping.grown(self.used, right * _MARK[0], down * _MARK[0]))

    @property
    def used(self) -> Box:
        """The part of the photo that is used."""
        return self.now.layout.placement.crop or cropping.ALL

    def crop(self, box: Box | None) -> None:
        """Use another part of the photo."""
        if box is not None:
            self._typed(crop=cropping.typed(box))

    def drag(self, right_mm: float, down_mm: float) -> None:
        """Move the photo."""
        x, y = self._offset()
        self._shifted(x + right_mm, y + down_mm)

    def switch(self, name: str) -> None:
        """Turn a switch over."""
        self._typed(**{name: not getattr(as_typed(self.now.layout), name)}, what=name)

    def quarter(self) -> None:
        """Turn the photo by a quarter, clockwise."""
        self._number("turn", 90)

    def put_mark(self, kind: str, box: tuple[float, float, float, float]) -> None:
        """Add a mark, an ellipse in a box of the photo, and take it in hand."""
        left, top, right, bottom = in_order(box)
        area = MarkedArea(AreaKind.ELLIPSE, ((left, top), (right, bottom)))
        areas = (*areas_of(self.now.layout, kind), area)
        self._now(self._with(kind, areas), f"{kind} {len(areas) - 1} new")
        self.hand = f"{kind} {len(areas) - 1}"

    def box(self, box: tuple[float, float, float, float]) -> None:
        """Give the mark in hand another box of the photo."""
        if self.area is not None and self.area.kind is not AreaKind.POLYGON:
            left, top, right, bottom = in_order(box)
            self._put_area(replace(self.area, corners=((left, top), (right, bottom)), on=On.PHOTO))

    def reshape(self) -> None:
        """Make a rectangle of the ellipse in hand, or the other way."""
        if self.area is not None and self.area.kind is not AreaKind.POLYGON:
            other = {
                AreaKind.ELLIPSE: AreaKind.RECTANGLE, AreaKind.RECTANGLE: AreaKind.ELLIPSE,
            }  # fmt: skip
            self._put_area(replace(self.area, kind=other[self.area.kind]))

    def remove(self) -> None:
        """Take the mark in hand away."""
        if (mark := self.mark) is not None:
            kind, gone = mark
            areas = [one for at, one in enumerate(areas_of(self.now.layout, kind)) if at != gone]
            self._now(self._with(kind, tuple(areas)), f"{self.hand} gone")
            self.hand = f"{kind} {len(areas) - 1}" if areas else "shift"

    def reset(self) -> None:
        """Make what is in hand as it was."""
        name, was, now = self.hand, self.was.layout, self.now.layout
        if name == "zones":
            self._now(Laid(now, self.was.zones))
        elif name == "line":
            self._now(Laid(replace(now, line=was.line), self.now.zones))
        elif (mark := self.mark) is not None:
            before = areas_of(was, mark[0])
            if mark[1] < len(before):
                self._put_area(before[mark[1]])
        else:
            place = {"shift": "offset_mm", "turn": "turn_degrees", "mirror": "mirrored",
                     "whole": "fit"}.get(name, name)  # fmt: skip
            tone = {"contrast": "local_contrast", "levels": "auto_levels"}.get(name, name)
            if name in ("shift", "scale") and was.placement.offset_mm is None:
                placement = replace(now.placement, offset_mm=None, scale=was.placement.scale)
                self._now(Laid(replace(now, placement=placement), self.now.zones))
            elif name == "margin":
                before_it = was.placement
                placement = replace(
                    now.placement, margin_mm=before_it.margin_mm, sides_mm=before_it.sides_mm
                )
                self._now(Laid(replace(now, placement=placement), self.now.zones))
            elif name in PLACE:
                placement = replace(now.placement, **{place: getattr(was.placement, place)})
                self._now(Laid(replace(now, placement=placement), self.now.zones))
            else:
                control = replace(now.control, **{tone: getattr(was.control, tone)})
                self._now(Laid(replace(now, control=control), self.now.zones))

    def type(self, text: str) -> None:
        """Give what is in hand a value that was typed.

        Raises
        ------
        BadInput
            If it cannot be that.
        """
        if self.hand == "zones":
            zones = whole_number(text, "zones", FEWEST, MOST)
            self._now(Laid(self.now.layout, zones), "typed")
        elif (mark := self.mark) is not None:
            kind, at = mark
            texts = [typed_area(area) for area in areas_of(self.now.layout, kind)]
            texts[at] = text
            self._typed(**{kind: texts}, what="typed", loud=True)
        else:
            self._typed(**{self.hand: _value(self.hand, text)}, what="typed", loud=True)

    def put_back(self, laid: Laid) -> None:
        """Lay the photo as it lay once; one step to undo.

        Raises
        ------
        BurnplanError
            If it cannot lie so any more: the blank is another.
        """
        self._now(laid, "put back")

    def undo(self) -> None:
        """Take the last change back."""
        self._turn_back(self._past, self._future)

    def redo(self) -> None:
        """Make again what was taken back."""
        self._turn_back(self._future, self._past)

    def _turn_back(self, one: list[tuple[str, Laid]], other: list[tuple[str, Laid]]) -> None:
        if one:
            _what, laid = one.pop()
            other.append(("", self.now))
            self.now = laid
            if self.hand not in [row.name for row in self.rows()]:
                self.hand = "shift"

    # How it is put down

    def _now(self, laid: Laid, what: str = "") -> None:
        """Take a new state; changes of the same thing in a row are one to undo."""
        if laid == self.now:
            return
        self.taken.photo.lies(setting_of(laid.layout))  # a margin may leave nothing
        what = what or self.hand
        if not self._past or self._past[-1][0] != what or what == "typed":
            self._past.append((what, self.now))
            del self._past[:-_KEPT_STEPS]
        self._future.clear()
        self.now = laid

    def _typed(self, *, what: str = "", loud: bool = False, **values: Any) -> None:
        """Change values as the command does; what goes too far is left, unless it was typed."""
        change = LayoutChange(**values)
        try:
            layout = changed(self.now.layout, change, _no_mask, self.taken.unit, self.taken.bark_mm)
            self._now(Laid(layout, self.now.zones), what)
        except BurnplanError:
            if loud:
                raise

    def _offset(self) -> tuple[float, float]:
        placed = self.taken.photo.lies(self.setting).placement
        return placed.offset_mm or (0.0, 0.0)

    def _move(self, right: int, down: int, *, far: bool) -> None:
        steps = _INCH if self.taken.unit == "in" else _MM
        x, y = (round(value / steps[0]) * steps[0] for value in self._offset())
        self._shifted(x + right * steps[far], y + down * steps[far])

    def _shifted(self, x: float, y: float) -> None:
        unit = self.taken.unit
        shift = ",".join(typed_length(round(mm, 2) + 0.0, unit) for mm in (x, y))
        scale = self.now.layout.placement.scale
        if scale is None:  # as it is seen: it must not jump under the hand
            scale = _found_scale(self.taken.photo.lies(self.setting).placement)
        self._typed(shift=shift, scale=scale, what="shift")

    def _number(self, name: str, by: float) -> None:
        control, placed = self.now.layout.control, self.taken.photo.lies(self.setting).placement
        step = _STEPS[name][0]
        if name == "scale":
            scale = round(round((placed.scale or 1.0) / step) * step + by, 4)
            x, y = self._offset()
            old = placed.scale or 1.0
            scale = min(max(scale, SCALES[0]), SCALES[1])
            # About the middle of the wood: what is looked at stays there.
            shift = (round(value * scale / old, 1) + 0.0 for value in (x, y))
            shift_text = ",".join(typed_length(mm, self.taken.unit) for mm in shift)
            self._typed(scale=scale, shift=shift_text, what="scale")
        elif name == "turn":
            turn = round(self.now.layout.placement.turn_degrees + by, 3)
            self._typed(turn=(turn + 180) % 360 - 180 + 0.0, what="turn")
        elif name in ("black", "white"):
            now = getattr(control, name)
            now = {"black": 0.0, "white": 100.0}[name] if now is None else now
            values: dict[str, Any] = {name: min(max(round(now + by, 2), 0.0), 100.0)}
            self._typed(**values)
        elif name == "midtone":
            value = min(max(round(control.midtone + by, 3), MIDTONES[0]), MIDTONES[1])
            self._typed(midtone=value)
        else:
            self._typed(contrast=min(max(round(control.local_contrast * 100 + by, 2), 0.0), 100.0))

    def _with(self, kind: str, areas: tuple[MarkedArea, ...]) -> Laid:
        layout = self.now.layout
        placed = self.taken.photo.lies(self.setting).placement
        if layout.placement.offset_mm is None:  # a mark must not move the photo that is seen
            x, y = (round(mm, 1) + 0.0 for mm in placed.offset_mm or (0.0, 0.0))
            scale = layout.placement.scale or _found_scale(placed)
            layout = replace(
                layout, placement=replace(layout.placement, offset_mm=(x, y), scale=scale)
            )
        if kind == "focal":
            layout = replace(layout, focal=areas)
        else:
            layout = replace(layout, control=marked(layout.control, kind, areas))
        # As it would be typed: then it can be.
        change = change_between(self.now.layout, layout, self.taken.unit)
        return Laid(
            changed(self.now.layout, change, _no_mask, self.taken.unit, self.taken.bark_mm),
            self.now.zones,
        )

    def _put_area(self, area: MarkedArea) -> None:
        if (mark := self.mark) is not None:
            areas = list(areas_of(self.now.layout, mark[0]))
            areas[mark[1]] = area
            self._now(self._with(mark[0], tuple(areas)))


def setting_of(layout: Layout) -> Setting:
    """Return a layout as what is seen of it is reckoned by."""
    return Setting(layout.placement, layout.control, layout.focal, layout.likely)


def _found_scale(placed: Placement) -> float | None:
    """Return the scale that was found for a photo, where it is another than fits."""
    scale = round(placed.scale or 1.0, 4)
    return None if scale == 1 else scale


def _no_mask(_data: bytes) -> str:
    raise BadInput("A mask cannot be given here", "Give it on the command line")


def _value(name: str, text: str) -> object:
    """Return what was typed for an option."""
    text = text.strip()
    if name in _SWITCHES:
        return chosen_of(_SWITCHES[name], text, f"answer for {name}") == _SWITCHES[name][1]
    if name == "line":
        return chosen_of(tuple(Detail), text, "way to draw lines")
    if name in ("shift", "margin", "crop"):
        return text
    try:
        return float(text.removesuffix("%").removesuffix("°").replace(",", "."))
    except ValueError:
        raise BadInput(f"'{text}' is not a number", f"Give one for {name}") from None


def _switched(name: str, *, on: bool) -> str:
    if name == "whole":
        return "--whole" if on else "--fill"
    return f"--{name}" if on else f"--no-{name}"
