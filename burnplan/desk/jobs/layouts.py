"""How a photo is laid on the wood and its tones are set, as typed and as kept.

Brings the pictures' room with it: nothing that must be instant comes here.
"""

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any

from burnplan.errors import BadInput
from burnplan.passes import Detail
from burnplan.tone.areas import AreaKind, MarkedArea, On
from burnplan.tone.control import ToneControl
from burnplan.tone.placement import Fit, Placement
from burnplan.tone.validation import number_within
from burnplan.units import MM_PER_INCH, parse_length, unit_in

_AREA_HINT = (
    "Write 'ellipse 30,20 60,70' (two corners in % of the photo) or"
    " 'rectangle 40mm,50mm 120mm,90mm' (on the wood)"
)
SIDES = ("left", "top", "right", "bottom")
"""Sides of a blank as it lies, whose margins are typed by name."""

_OF_SIDE = re.compile(r"(\w+)\s*=\s*([^=]*?)(?=[,;]|\s+\w+\s*=|\s*$)")


@dataclass(frozen=True, slots=True)
class Layout:
    """Placement, tone control, the areas that count most, and how much is drawn.

    Parameters
    ----------
    placement : Placement
    control : ToneControl
    focal : tuple of MarkedArea
    mask : str
        SHA-256 of a kept mask image: white keeps, black drops out; empty for none.
    line : Detail
    likely : MarkedArea or None
        The likely subject that was found when the photo was first planned from: the photo is
        placed by it where nothing else says how it lies.
    """

    placement: Placement = field(default_factory=Placement)
    control: ToneControl = field(default_factory=ToneControl)
    focal: tuple[MarkedArea, ...] = ()
    mask: str = ""
    line: Detail = Detail.USUAL
    likely: MarkedArea | None = None

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain values, for the book."""
        return {
            "placement": self.placement.to_dict(),
            "control": self.control.to_dict(),
            "focal": [area.to_dict() for area in self.focal],
            "mask": self.mask,
            "line": str(self.line),
            "likely": self.likely and self.likely.to_dict(),
        }

    @classmethod
    def from_dict(cls, plain: Mapping[str, Any] | None) -> "Layout":
        """Return the layout that :meth:`to_dict` made plain; the plain one for None."""
        if plain is None:
            return cls()
        return cls(
            Placement.from_dict(plain["placement"]),
            ToneControl.from_dict(plain["control"]),
            tuple(MarkedArea.from_dict(area) for area in plain["focal"]),
            str(plain["mask"]),
            Detail(plain.get("line", Detail.USUAL)),
            MarkedArea.from_dict(plain["likely"]) if plain.get("likely") else None,
        )


@dataclass(frozen=True, slots=True)
class LayoutChange:
    """Changes to a layout, as typed; None leaves a thing as it is.

    Parameters
    ----------
    crop : str, optional
        Left, top, right, bottom, % of the photo; ``none`` for no crop.
    turn : float, optional
        Degrees clockwise.
    mirror, whole, levels : bool, optional
    scale : float, optional
        Size beyond what fits.
    shift : str, optional
        To the right and down, lengths: ``5mm,-3mm``.
    margin : str, optional
        A length all round, or ``bark`` for as deep as that reaches, and those of sides by
        name: ``8mm bottom=30mm``.
    focal, drop, subject, keep : sequence of str, optional
        Areas; an empty sequence or ``none`` for no areas.
    black, white, midtone, contrast : float, optional
        L*, L*, a gamma, 0 to 100 %.
    mask : Path, optional
        A mask image for the background; ``none`` for none.
    line : Detail, optional
        How much is drawn.
    """

    crop: str | None = None
    turn: float | None = None
    mirror: bool | None = None
    whole: bool | None = None
    scale: float | None = None
    shift: str | None = None
    margin: str | None = None
    focal: Sequence[str] | None = None
    drop: Sequence[str] | None = None
    subject: Sequence[str] | None = None
    keep: Sequence[str] | None = None
    black: float | None = None
    white: float | None = None
    midtone: float | None = None
    contrast: float | None = None
    levels: bool | None = None
    mask: Path | None = None
    line: Detail | None = None


def _numbers(text: str, count: int, hint: str) -> list[float]:
    try:
        values = [float(part.strip().removesuffix("%")) for part in text.split(",")]
    except ValueError:
        values = []
    if len(values) != count:
        raise BadInput(f"'{text}' is not {count} numbers", hint)
    return values


def fractions(text: str) -> tuple[float, float, float, float] | None:
    """Return left, top, right and bottom typed in per cent as fractions; None for ``none``.

    Raises
    ------
    BadInput
        If these are no four numbers.
    """
    if text.strip().lower() == "none":
        return None
    hint = "Write left,top,right,bottom in %, for example 10,5,90,100"
    left, top, right, bottom = (value / 100 for value in _numbers(text, 4, hint))
    return left, top, right, bottom


def lengths(text: str, unit: str = "mm") -> tuple[float, float]:
    """Return two lengths, each perhaps below zero, in mm.

    A bare number has the unit of the other one, or the unit given.
    """
    parts = [part.strip() for part in text.split(",")]
    if len(parts) != 2:
        raise BadInput(f"'{text}' is not two lengths", "Write right,down, for example 5mm,-3mm")
    x, y = (
        (-1 if part.startswith("-") else 1)
        * parse_length(part.lstrip("+-").strip(), default_unit=unit_in(text) or unit)
        for part in parts
    )
    return x, y


def parse_area(text: str) -> MarkedArea:
    """Read a marked area as typed.

    Raises
    ------
    BadInput
        If it is not one.

    Examples
    --------
    >>> parse_area("ellipse 30,20 60,70").corners
    ((0.3, 0.2), (0.6, 0.7))
    >>> parse_area("rectangle 40mm,50mm 120mm,90mm").on
    <On.WOOD: 'wood'>
    """
    name, _, rest = text.strip().partition(" ")
    try:
        kind = AreaKind(name.lower())
    except ValueError:
        raise BadInput(f"'{text}' is not an area", _AREA_HINT) from None
    unit = unit_in(rest)
    read: Callable[[str], tuple[float, float]]
    if unit:
        read = partial(lengths, unit=unit)
    else:

        def read(corner: str) -> tuple[float, float]:
            x, y = _numbers(corner, 2, _AREA_HINT)
            return x / 100, y / 100

    corners = tuple(read(corner) for corner in rest.split())
    return MarkedArea(kind, corners, On.WOOD if unit else On.PHOTO)


def typed_area(area: MarkedArea) -> str:
    """Return a marked area as one would type it.

    Examples
    --------
    >>> typed_area(parse_area("ellipse 30,20 60,70"))
    'ellipse 30,20 60,70'
    >>> typed_area(parse_area("rectangle 4cm,50mm 120mm,90mm"))
    'rectangle 40mm,50mm 120mm,90mm'
    """
    times, unit = (1, "mm") if area.on is On.WOOD else (100, "")
    corners = (f"{x * times:g}{unit},{y * times:g}{unit}" for x, y in area.corners)
    return " ".join((area.kind, *corners))


def _areas(texts: Sequence[str]) -> tuple[MarkedArea, ...]:
    return tuple(parse_area(text) for text in texts if text.strip().lower() != "none")


def _margins(text: str, unit: str, bark_mm: float | None) -> dict[str, Any]:
    """Read margins as typed: one all round, or ``bark``, and of sides by their names."""
    sides = dict.fromkeys(SIDES, 0.0)
    named = re.findall(_OF_SIDE, text)
    for side, length in named:
        if side.lower() not in sides:
            raise BadInput(f"'{side}' is no side", f"Sides are {', '.join(SIDES)}: left=10mm")
        sides[side.lower()] = parse_length(length, default_unit=unit)
    rest = re.sub(_OF_SIDE, " ", text).strip(" ,;")
    all_round = 0.0 if named and not rest else _all_round(rest, unit, bark_mm)
    return {"margin_mm": all_round, "sides_mm": tuple(sides.values()) if named else None}


def typed_margins(placement: Placement, unit: str = "mm") -> str:
    """Return margins as one would type them.

    Examples
    --------
    >>> typed_margins(Placement(margin_mm=8, sides_mm=(0, 0, 0, 30)))
    '8mm bottom=30mm'
    """
    named = zip(SIDES, placement.sides_mm or (), strict=False)
    sides = [f"{side}={typed_length(mm, unit)}" for side, mm in named if mm]
    return " ".join([typed_length(placement.margin_mm, unit), *sides])


def _all_round(text: str, unit: str, bark_mm: float | None) -> float:
    if text.strip().lower() != "bark":
        return parse_length(text, default_unit=unit)
    if not bark_mm:
        raise BadInput(
            "No bark is known on this wood",
            "Find its outline in a photo first, or give a length, for example 8mm",
        )
    return float(math.ceil(bark_mm))


def changed(
    layout: Layout,
    wanted: LayoutChange,
    keep: Callable[[bytes], str],
    unit: str = "mm",
    bark_mm: float | None = None,
) -> Layout:
    """Return a layout with some things changed.

    Parameters
    ----------
    layout : Layout
    wanted : Wanted
    keep : callable
        Keeps the bytes of a mask image and returns their SHA-256.
    unit : str
        Of a length without one.
    bark_mm : float, optional
        How deep bark reaches in from the edge of the wood.

    Raises
    ------
    BadInput
        If something typed cannot be.
    """
    placement: dict[str, Any] = {}
    if wanted.crop is not None:
        placement["crop"] = fractions(wanted.crop)
    if wanted.turn is not None:
        placement["turn_degrees"] = wanted.turn
    if wanted.mirror is not None:
        placement["mirrored"] = wanted.mirror
    if wanted.whole is not None:
        placement["fit"] = Fit.WHOLE if wanted.whole else Fit.FILL
    if wanted.scale is not None:
        placement["scale"] = wanted.scale
    if wanted.shift is not None:
        placement["offset_mm"] = lengths(wanted.shift, unit)
    if wanted.margin is not None:
        placement |= _margins(wanted.margin, unit, bark_mm)
    typed = {
        "black": wanted.black,
        "white": wanted.white,
        "midtone": wanted.midtone,
        "auto_levels": wanted.levels,
        "local_contrast": None
        if wanted.contrast is None
        else number_within(wanted.contrast, 0, 100, "local contrast") / 100,
        "background": None if wanted.drop is None else _areas(wanted.drop),
        "subject": None if wanted.subject is None else _areas(wanted.subject),
        "keep": None if wanted.keep is None else _areas(wanted.keep),
    }
    control: dict[str, Any] = {name: value for name, value in typed.items() if value is not None}
    mask = layout.mask
    if wanted.mask == Path("none"):
        mask = ""
    elif wanted.mask is not None:
        try:
            mask = keep(wanted.mask.read_bytes())
        except OSError as error:
            raise BadInput(
                f"'{wanted.mask}' cannot be read: {error.strerror}", "Check its name and folder"
            ) from None
    return Layout(
        replace(layout.placement, **placement),
        replace(layout.control, **control),
        layout.focal if wanted.focal is None else _areas(wanted.focal),
        mask,
        wanted.line or layout.line,
        layout.likely,
    )


def typed_length(mm: float, unit: str = "mm") -> str:
    """Return a length as one would type it, in mm or inches.

    Examples
    --------
    >>> typed_length(5), typed_length(-6.35, "in")
    ('5mm', '-0.25in')
    """
    return f"{mm / MM_PER_INCH:.4g}in" if unit == "in" else f"{mm:.6g}mm"


def as_typed(layout: Layout, unit: str = "mm") -> LayoutChange:
    """Return the change that makes a layout of any other, each thing as one would type it.

    What nobody typed yet stays None: a scale and a shift that are found, black and white.

    Examples
    --------
    >>> as_typed(Layout(Placement(offset_mm=(5, -3.5)))).shift
    '5mm,-3.5mm'
    """
    placement, control = layout.placement, layout.control
    turn = placement.turn_degrees + 90 * placement.quarter_turns
    crop = placement.crop
    return LayoutChange(
        crop="none" if crop is None else ",".join(f"{value * 100:.6g}" for value in crop),
        turn=turn,
        mirror=placement.mirrored,
        whole=placement.fit is Fit.WHOLE,
        scale=placement.scale,
        shift=None
        if placement.offset_mm is None
        else ",".join(typed_length(mm, unit) for mm in placement.offset_mm),
        margin=typed_margins(placement, unit),
        focal=[typed_area(area) for area in layout.focal],
        drop=[typed_area(area) for area in control.background],
        subject=[typed_area(area) for area in control.subject],
        keep=[typed_area(area) for area in control.keep],
        black=control.black,
        white=control.white,
        midtone=control.midtone,
        contrast=round(control.local_contrast * 100, 6),
        levels=control.auto_levels,
        line=layout.line,
    )


def change_between(before: Layout, after: Layout, unit: str = "mm") -> LayoutChange:
    """Return what one would type to make one layout of another.

    What cannot be typed away again (a scale, a shift, a black or white point that was given)
    stays as it was before, where it is not given after.

    Examples
    --------
    >>> change_between(Layout(), Layout(Placement(scale=1.2))).scale
    1.2
    """
    old, new = as_typed(before, unit), as_typed(after, unit)
    differs = {
        name: value for name in LayoutChange.__dataclass_fields__
        if (value := getattr(new, name)) != getattr(old, name)
    }  # fmt: skip
    return LayoutChange(**differs)
