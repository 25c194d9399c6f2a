"""Tone control made for wood: levels, midtone, local contrast, subject and background.

All of it works on lightness L* and comes before value zones, trace lines and
measures, which see only the result. In this order: the black and the white
point are stretched to 0 and 100, the midtone is lifted or lowered, local
contrast is raised, and what is not subject, or marked as background, becomes bare wood.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from burnplan.errors import BadInput
from burnplan.tone.areas import MarkedArea
from burnplan.tone.lightness import edge_preserved
from burnplan.tone.place import Placed, laid_mask
from burnplan.tone.region import polygon_mask
from burnplan.tone.subject import subject_of
from burnplan.tone.validation import number, number_within, refuse_unknown

MIDTONES = (0.25, 4.0)
"""Least and most midtone (limits by definition: a gamma of four either way)."""

CLIPPED = 0.005
"""Share of the picture that automatic levels may make wholly black, and wholly white (common
practice, no source: a half to one per cent)."""

LEAST_RANGE = 20.0
"""Automatic levels stretch no range narrower than this, L*, which would raise its grain
(our own choice)."""

LOCAL_SHARE = 0.03
"""Reach of local contrast, as a share of the raster's shorter side (our own choice)."""

LOCAL_MOST = 12.0
"""Most that full local contrast changes a tone, L* (our own choice)."""

# Small detail at full local contrast becomes three times as strong; our own choice.
_LOCAL_GAIN = 2.0
_LOCAL_EDGE = 10.0  # spread, L*, above which a change is an edge and no detail; our own choice


@dataclass(frozen=True, slots=True)
class ToneControl:
    """How the tones of a photo are changed for wood; as it stands, not at all.

    Parameters
    ----------
    black, white : float, optional
        L* taken as the darkest burn and as bare wood; if not given 0 and 100,
        or what automatic levels find.
    midtone : float
        As a gamma: above 1 lightens the middle tones, below 1 darkens them.
    local_contrast : float
        0 (none) to 1.
    auto_levels : bool
        Whether the points that are not given are found from the photo.
    background : tuple of MarkedArea
        Areas that are dropped out: bare wood.
    subject : tuple of MarkedArea
        Rough marks round what the picture is of: all else is dropped out.
    keep : tuple of MarkedArea
        Areas that are kept whatever else drops them out.

    Raises
    ------
    BadInput
        If a number is out of range, or black is not darker than white.

    Examples
    --------
    >>> control = ToneControl(black=10, midtone=1.2)
    >>> ToneControl.from_dict(control.to_dict()) == control
    True
    """

    black: float | None = None
    white: float | None = None
    midtone: float = 1.0
    local_contrast: float = 0.0
    auto_levels: bool = False
    background: tuple[MarkedArea, ...] = ()
    subject: tuple[MarkedArea, ...] = ()
    keep: tuple[MarkedArea, ...] = ()

    def __post_init__(self) -> None:
        for value, name in ((self.black, "black point"), (self.white, "white point")):
            if value is not None:
                number_within(value, 0, 100, f"{name}, a lightness L*,")
        number_within(self.midtone, *MIDTONES, "midtone")
        number_within(self.local_contrast, 0, 1, "local contrast")
        black, white = self.black or 0.0, 100.0 if self.white is None else self.white
        if white - black < 1:
            raise BadInput(
                f"The black point {black:g} is not darker than the white point {white:g}",
                "Give lightness L*, for example 10 for black and 92 for white",
            )

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain values that JSON can hold."""
        return {
            "black": self.black,
            "white": self.white,
            "midtone": self.midtone,
            "local_contrast": self.local_contrast,
            "auto_levels": self.auto_levels,
            **{name: [area.to_dict() for area in getattr(self, name)] for name in _AREAS},
        }

    @classmethod
    def from_dict(cls, plain: Mapping[str, Any]) -> "ToneControl":
        """Return what :meth:`to_dict` gave; what is missing is as it stands.

        Raises
        ------
        BadInput
            If a name or a value means nothing.
        """
        refuse_unknown(plain, cls.__dataclass_fields__, "tone control")
        black, white = plain.get("black"), plain.get("white")
        marked = {name: plain.get(name, ()) for name in _AREAS}
        for name, areas in marked.items():
            if not isinstance(areas, list | tuple) or not all(
                isinstance(area, Mapping) for area in areas
            ):
                raise BadInput(f"The {name} on record cannot be used", "Mark it again")
        return cls(
            black=None if black is None else number(black, "black point"),
            white=None if white is None else number(white, "white point"),
            midtone=number(plain.get("midtone", 1.0), "midtone"),
            local_contrast=number(plain.get("local_contrast", 0.0), "local contrast"),
            auto_levels=bool(plain.get("auto_levels", False)),
            **{name: tuple(map(MarkedArea.from_dict, areas)) for name, areas in marked.items()},
        )


_AREAS = ("background", "subject", "keep")


def controlled(
    placed: Placed, control: ToneControl, keep: NDArray[np.uint8] | None = None
) -> Placed:
    """Return a placed photo with its tones changed.

    Parameters
    ----------
    placed : Placed
    control : ToneControl
    keep : ndarray of uint8, shape (H, W), optional
        A mask as large as the photo or of the same proportions: 255 keeps, 0
        drops out, between them fades.

    Returns
    -------
    Placed
        With new ``lightness``, ``bare`` where something is dropped out, and
        notes of what automatic levels and the subject came to; ``rgb`` stays the photo's.

    Raises
    ------
    BadInput
        If the mask has other proportions than the photo, nothing is kept, or no
        subject is found.
    """
    weight = _kept(placed, control, keep)
    bare = None if weight is None else placed.inside & (weight < np.float32(0.5))
    if bare is not None and not np.any(placed.inside & ~bare):
        raise BadInput(
            "The background takes up all of the photo on the blank",
            "In a mask white is kept and black is dropped out",
        )
    placed = replace(placed, bare=bare)
    light, notes = placed.lightness, placed.notes
    if control.subject and bare is not None:
        share = 1 - bare.sum() / placed.inside.sum()
        notes += (f"The subject takes {share * 100:.0f} % of the piece; the rest is left bare",)
    black, white = end_points(control, light, placed.burned)
    if control.auto_levels:
        notes += (f"Lightness {black:.0f} is taken as black and {white:.0f} as white",)
    light = curve(light, black, white, control.midtone)
    if control.local_contrast:
        outline = placed.outline
        shorter = min(outline.width_mm, outline.height_mm) * placed.px_per_mm
        light = local_contrast(light, control.local_contrast, shorter)
    if weight is not None:
        light = np.float32(100) - weight * (np.float32(100) - light)
    return replace(placed, lightness=light, notes=notes)


def curve(lightness: ArrayLike, black: float, white: float, midtone: float) -> NDArray[np.float32]:
    """Stretch lightness between two points and bend it in the middle.

    Never reverses two tones.

    Parameters
    ----------
    lightness : array_like
        L*, 0 to 100.
    black, white : float
        L* that becomes 0 and 100.
    midtone : float
        As a gamma: above 1 lightens.

    Returns
    -------
    ndarray of float32

    Examples
    --------
    >>> curve([10, 50, 90], 10, 90, 1).tolist()
    [0.0, 50.0, 100.0]
    """
    values = np.asarray(lightness, np.float32)
    if (black, white, midtone) == (0.0, 100.0, 1.0):
        return values
    share = np.clip((values - np.float32(black)) / np.float32(white - black), 0, 1)
    if midtone != 1:
        share = np.power(share, np.float32(1 / midtone))
    return np.asarray(share * np.float32(100), np.float32)


def end_points(
    control: ToneControl, lightness: NDArray[np.float32], burned: NDArray[np.bool_]
) -> tuple[float, float]:
    """Return the lightness L* that is taken as black and as white.

    Parameters
    ----------
    control : ToneControl
    lightness : ndarray of float32, shape (H, W)
        L* of the whole piece, before it is changed.
    burned : ndarray of bool, shape (H, W)
        What automatic levels look at.
    """
    black, white = control.black, control.white
    if control.auto_levels:
        return _ordered(black, white, _levels(lightness, burned))
    return 0.0 if black is None else black, 100.0 if white is None else white


def local_contrast(
    lightness: NDArray[np.float32], amount: float, shorter: float | None = None
) -> NDArray[np.float32]:
    """Raise the contrast of detail against its surroundings, without halos at edges.

    Parameters
    ----------
    lightness : ndarray of float32, shape (H, W)
    amount : float
        0 to 1.
    shorter : float, optional
        The shorter side of the whole piece, pixels, where this is a part of it.

    Returns
    -------
    ndarray of float32, shape (H, W)

    Notes
    -----
    What the edge-preserving filter takes away is detail ``d``, and ``amount ·
    12 · tanh(2 d / 12)`` of it is added. So far tones can change, and no
    farther: at any one place a lighter tone stays the lighter one, since the
    filter follows a single tone by at most 9/8 of its change; no tone moves
    by more than ``12 · amount``; and so two places that are more than twice
    that apart never change order. Nearer ones may, as in all local contrast.
    """
    radius = max(2.0, LOCAL_SHARE * (min(lightness.shape) if shorter is None else shorter))
    detail = lightness - edge_preserved(lightness, radius, _LOCAL_EDGE)
    most = np.float32(LOCAL_MOST)
    raised = np.float32(amount) * most * np.tanh(detail * np.float32(_LOCAL_GAIN) / most)
    return np.asarray(np.clip(lightness + raised, 0, 100), np.float32)


def _levels(lightness: NDArray[np.float32], burned: NDArray[np.bool_]) -> tuple[float, float]:
    """Black and white point that clip no more than a small share, and are not too near."""
    low, high = np.quantile(lightness[burned], [CLIPPED, 1 - CLIPPED])
    short = max(0.0, LEAST_RANGE - float(high - low)) / 2
    low, high = float(low) - short, float(high) + short
    if low < 0:
        low, high = 0.0, high - low
    if high > 100:
        low, high = low - (high - 100), 100.0
    return math.floor(low), math.ceil(high)


def _ordered(
    black: float | None, white: float | None, found: tuple[float, float]
) -> tuple[float, float]:
    """Take what is given, and for what is not what was found, if that leaves an order."""
    low = found[0] if black is None else black
    high = found[1] if white is None else white
    if high - low >= 1:
        return low, high
    return (0.0 if black is None else black), (100.0 if white is None else white)


def _kept(
    placed: Placed, control: ToneControl, keep: NDArray[np.uint8] | None
) -> NDArray[np.float32] | None:
    """How much of each pixel is kept, 0 to 1; None if all is."""
    if keep is None and not control.background and not control.subject:
        return None
    shape, px = placed.inside.shape, placed.px_per_mm
    weight = np.ones(shape, np.float32)
    if keep is not None:
        weight = laid_mask(keep, placed).astype(np.float32) / np.float32(255)
    dropped, subject, kept = (
        [placed.position.of(area) * px for area in areas]
        for areas in (control.background, control.subject, control.keep)
    )
    if subject:
        found = subject_of(placed.rgb, subject, drop=dropped, keep=kept, within=placed.inside)
        if not found.any():
            raise BadInput(
                "No subject is found in what is marked",
                "Mark it roughly, a little larger than it is, where it lies on the blank",
            )
        weight *= found
    for polygons, value in ((dropped, 0), (kept, 1)):
        for polygon in polygons:  # one by one: where two overlap both count
            weight[polygon_mask([polygon], shape, 1.0)] = value
    return weight
