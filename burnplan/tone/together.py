"""How several photos share a piece, as wanted and as they came to lie."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, NamedTuple

from burnplan.errors import BadInput
from burnplan.tone.areas import MarkedArea, On
from burnplan.tone.validation import number_within

MOST = 6
"""Most photos on a piece; a limit by definition."""

HALF_WAY = 0.5
"""How far middles are drawn to each other if nobody says (our own choice)."""

_SMALLEST = 0.05  # width and height of a box, of the piece; our own choice

Box = tuple[float, float, float, float]


class Seam(StrEnum):
    """How one photo ends where the next begins."""

    SOFT = "soft"
    HARD = "hard"


def holds(box: Box, point: tuple[float, float]) -> bool:
    """Whether a point lies in a box or on its edge."""
    return box[0] <= point[0] <= box[2] and box[1] <= point[1] <= box[3]


@dataclass(frozen=True, slots=True)
class Lies:
    """How one of several photos is wanted.

    Parameters
    ----------
    box : tuple of float, optional
        Left, top, right and bottom of the place it fills, fractions of the piece; its share
        of the piece if not given.
    crop : tuple of float, optional
        The part of the photo to use; what suits its box if not given.
    mirrored : bool
    """

    box: Box | None = None
    crop: Box | None = None
    mirrored: bool = False

    def __post_init__(self) -> None:
        for given, what in ((self.box, "place on the piece"), (self.crop, "crop")):
            for value in given or ():
                number_within(value, 0, 1, f"{what}, a fraction,")
            if given and min(given[2] - given[0], given[3] - given[1]) < _SMALLEST:
                raise BadInput(
                    f"The {what} leaves next to nothing of a photo",
                    "Give its left, top, right and bottom in this order",
                )


@dataclass(frozen=True, slots=True)
class Together:
    """How several photos share a piece.

    Parameters
    ----------
    lies : tuple of Lies
        One for each photo; later ones lie over earlier ones.
    stacked : bool
        One above the other, not side by side.
    shares : tuple of float, optional
        What each takes of the piece, in proportion; alike if not given.
    seam : Seam
    middles : float, optional
        How far the middle tones are drawn to each other, 0 to 1; None leaves all tones as
        they were photographed.

    Raises
    ------
    BadInput
        If there are fewer than two photos, or too many.

    Examples
    --------
    >>> two = Together((Lies(), Lies(crop=(0.1, 0.0, 0.9, 1.0))), seam=Seam.HARD)
    >>> Together.from_dict(two.to_dict()) == two
    True
    """

    lies: tuple[Lies, ...]
    stacked: bool = False
    shares: tuple[float, ...] | None = None
    seam: Seam = Seam.SOFT
    middles: float | None = HALF_WAY

    def __post_init__(self) -> None:
        if not 2 <= len(self.lies) <= MOST:
            raise BadInput(f"That is {len(self.lies)} photos", f"Give 2 to {MOST} for one piece")
        if self.shares is not None:
            if len(self.shares) != len(self.lies):
                raise BadInput(
                    f"Those are {len(self.shares)} shares for {len(self.lies)} photos",
                    "Give one for each photo, like 60,40",
                )
            whole = sum(map(abs, self.shares)) or 1.0
            for share in self.shares:
                number_within(share / whole, _SMALLEST, 1, "share of a photo")
        if self.middles is not None:
            number_within(self.middles, 0, 1, "share by which middles are drawn together")

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain values that JSON can hold."""
        return {
            "lies": [
                {"box": _plain(one.box), "crop": _plain(one.crop), "mirrored": one.mirrored}
                for one in self.lies
            ],
            "stacked": self.stacked,
            "shares": None if self.shares is None else list(self.shares),
            "seam": str(self.seam),
            "middles": self.middles,
        }

    @classmethod
    def from_dict(cls, plain: Mapping[str, Any]) -> "Together":
        """Return what :meth:`to_dict` made plain."""
        return cls(
            tuple(
                Lies(_box(one["box"]), _box(one["crop"]), bool(one["mirrored"]))
                for one in plain["lies"]
            ),
            bool(plain["stacked"]),
            None if plain["shares"] is None else tuple(plain["shares"]),
            Seam(plain["seam"]),
            plain["middles"],
        )


def _plain(box: Box | None) -> list[float] | None:
    return None if box is None else list(box)


def _box(plain: Sequence[float] | None) -> Box | None:
    return None if plain is None else _four(plain)


def _four(plain: Sequence[float]) -> Box:
    left, top, right, bottom = plain
    return left, top, right, bottom


class Tones(NamedTuple):
    """L* of a subject: its dark end, its middle and its light end."""

    dark: float
    middle: float
    light: float


@dataclass(frozen=True, slots=True)
class Laid:
    """How one of several photos came to lie.

    Parameters
    ----------
    box : tuple of float
        What it fills, fractions of the piece, with what fades into its neighbours.
    crop : tuple of float
        The part of the photo that is seen there.
    mirrored : bool
    px_per_mm : float
        Pixels of the photo on a millimetre of wood.
    cut : float
        Share of its likely subject that is not seen.
    before, after : Tones
        Of its subject, as photographed and as composed.
    """

    box: Box
    crop: Box
    mirrored: bool
    px_per_mm: float
    cut: float
    before: Tones
    after: Tones

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain values that JSON can hold."""
        return {
            "box": list(self.box), "crop": list(self.crop), "mirrored": self.mirrored,
            "px_per_mm": self.px_per_mm, "cut": self.cut, "before": list(self.before),
            "after": list(self.after),
        }  # fmt: skip

    @classmethod
    def from_dict(cls, plain: Mapping[str, Any]) -> "Laid":
        """Return what :meth:`to_dict` made plain."""
        box, crop = _four(plain["box"]), _four(plain["crop"])
        return cls(
            box, crop, bool(plain["mirrored"]), float(plain["px_per_mm"]),
            float(plain["cut"]), Tones(*plain["before"]), Tones(*plain["after"]),
        )  # fmt: skip

    def photo_at(self, x: float, y: float) -> tuple[float, float]:
        """Return which point of the photo, as fractions, lies at one of the piece."""
        across, down = within(self.box, x, y)
        across = 1 - across if self.mirrored else across
        left, top, right, bottom = self.crop
        return left + across * (right - left), top + down * (bottom - top)

    def piece_at(self, x: float, y: float) -> tuple[float, float]:
        """Return where on the piece, as fractions, a point of the photo lies."""
        across, down = within(self.crop, x, y)
        across = 1 - across if self.mirrored else across
        left, top, right, bottom = self.box
        return left + across * (right - left), top + down * (bottom - top)


def within(box: Box, x: float, y: float) -> tuple[float, float]:
    """Return where a point lies in a box, as fractions of its width and height."""
    left, top, right, bottom = box
    return (x - left) / (right - left), (y - top) / (bottom - top)


def area_moved(
    area: MarkedArea, before: Sequence[Laid], after: Sequence[Laid]
) -> MarkedArea | None:
    """Return an area marked on a composed picture as it lies when that is composed anew.

    It stays on what it was marked on in its photo. None where that is not seen any more.
    """
    if area.on is On.WOOD:
        return area
    points = area.polygon()
    x, y = ((points.min(axis=0) + points.max(axis=0)) / 2).tolist()
    holding = [n for n, one in enumerate(before) if holds(one.box, (x, y))]
    if not holding or holding[-1] >= len(after):
        return None
    old, new = before[holding[-1]], after[holding[-1]]
    corners = [new.piece_at(*old.photo_at(*corner)) for corner in area.corners]
    inside = tuple((min(max(x, 0.0), 1.0), min(max(y, 0.0), 1.0)) for x, y in corners)
    try:
        return replace(area, corners=inside)
    except BadInput:
        return None
