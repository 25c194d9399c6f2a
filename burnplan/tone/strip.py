"""Read a photographed tone ladder: find its patches along the strip, and how light they are.

The strip lies along the picture's longer side and fills most of its height. A
white or grey card of known lightness at one end tells how the light was: each
channel is scaled until the card is neutral and as light as it is, so exposure
and a colour cast fall out. Without a card the bare wood can tell the exposure.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from burnplan.errors import BadInput
from burnplan.tone.lightness import (
    WEIGHTS,
    lightness_of_luminance,
    luminance,
    luminance_of_lightness,
    srgb_of_lab,
)

WHITE_CARD = 95.0
"""L* of a white card or plain white paper (common practice, no source)."""

GREY_CARD = 49.5
"""L* of an 18 % grey card: 116·0.18^(1/3) − 16 (by definition)."""

_BINS = 480  # places along the strip that are told apart; a guess: tried on drawn strips
# Of a patch's length at either end: soft edges and overlaps; a guess: tried on drawn strips.
_TRIMMED = 0.2
# Of the picture's height: away from the strip's edges; a guess: tried on drawn strips.
_BAND = (0.3, 0.7)
# Code value from which a channel may have been cut off (our own choice: JPEG moves a code by one
# or two, from memory).
_CLIPPED = 253
_DARKEST_CARD = 8  # code value below which a card tells nothing; a guess: tried on drawn strips
_SMALLEST = 40  # pixels across the picture; a guess: tried on drawn strips
# How much lighter than a patch the bare wood is at least, tried in order (a guess: tried on drawn
# strips).
_STANDS_OUT = (3.0, 2.0, 1.2)
_ALIKE = 1 / 3  # of the usual patch's length, at least; a guess: tried on drawn strips
_PRICES = tuple(4.0**power for power in range(1, 7))  # of one more piece, in units of the noise
_LUMA = np.array(WEIGHTS)

_CODES = np.repeat(np.arange(256, dtype=np.uint8), 3).reshape(1, 256, 3)  # by definition
# By definition:
_LINEAR = luminance(_CODES)[0].astype(np.float64)  # of a grey its luminance is its linear light


def tone_of(lightness: float) -> tuple[int, int, int]:
    """Return the colour of burned wood of a lightness, for swatches.

    Pale wood is yellowish and char nearly grey (by eye, no source); the lightness
    is exact.

    Examples
    --------
    >>> tone_of(0)
    (0, 0, 0)
    >>> tone_of(82)
    (228, 200, 165)
    """
    tint = min(max((lightness - 15) / 70, 0.0), 1.0)
    if lightness > 85:  # towards white, which has no tint
        tint = (100 - lightness) / 15
    lab = np.array([[lightness, 5 * tint, 22 * tint]])
    red, green, blue = (int(one) for one in srgb_of_lab(lab).ravel())
    return red, green, blue


class End(StrEnum):
    """The end of the strip at which the card lies, as the picture shows it."""

    FIRST = "first"  # left, or top where the strip stands upright
    LAST = "last"


@dataclass(frozen=True, slots=True)
class Card:
    """A neutral card of known lightness at an end of the strip.

    Parameters
    ----------
    end : End
    lightness : float
        L*.
    """

    end: End
    lightness: float = WHITE_CARD


@dataclass(frozen=True, slots=True)
class PatchRead:
    """A patch found on the strip.

    Parameters
    ----------
    start, end : float
        Where it lies along the strip, 0 to 1.
    lightness : float
        L*.
    spread : float
        Standard deviation of L* inside it.
    """

    start: float
    end: float
    lightness: float
    spread: float


@dataclass(frozen=True, slots=True)
class StripRead:
    """A strip that was read.

    Parameters
    ----------
    patches : tuple of PatchRead
        In the order of the picture: left to right, or top to bottom.
    bare : float or None
        L* of the bare wood, if any is to be seen.
    notes : tuple of str
        What to mind, a sentence each.
    """

    patches: tuple[PatchRead, ...]
    bare: float | None
    notes: tuple[str, ...]


def read_strip(
    rgb: NDArray[np.uint8], patches: int, *, card: Card | None = None, bare: float | None = None
) -> StripRead:
    """Find the patches along a strip and read their lightness.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (height, width, 3)
        The photo, upright, cropped to the strip and its card.
    patches : int
        How many were burned, 2 to 40. Each is darker than the bare wood; side by
        side they differ from one another, or bare wood lies between them.
    card : Card, optional
    bare : float, optional
        L* of the bare wood, to set the exposure by where there is no card.

    Returns
    -------
    StripRead

    Raises
    ------
    BadInput
        If that many patches are not to be found, or the card tells nothing.
    """
    if not 2 <= patches <= 40:
        raise BadInput("A strip has 2 to 40 patches", "Give a setting for each patch")
    height, width = rgb.shape[:2]
    if max(height, width) < _SMALLEST * 4 or min(height, width) < 8:
        raise BadInput("The photo of the strip is too small to read", "Take it from nearer by")
    lying = rgb if width >= height else np.ascontiguousarray(rgb.swapaxes(0, 1))
    band = lying[int(lying.shape[0] * _BAND[0]) : int(lying.shape[0] * _BAND[1]) + 1]
    along = _along(band)
    pieces, wood = _found(along, patches, card)
    gain, notes = _gain(band, along, card, bare, wood)
    read = tuple(_patch(band, piece, len(along), gain) for piece in pieces)
    bare_read = _patch(band, wood, len(along), gain).lightness if wood else None
    return StripRead(read, bare_read, notes)


Piece = tuple[int, int]


def _along(band: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Return the typical colour (code values) of places along the strip, shape (bins, 3)."""
    columns = np.median(band, axis=0).astype(np.float64)
    bins = min(_BINS, len(columns))
    edges = np.linspace(0, len(columns), bins + 1).astype(int)
    sums = np.add.reduceat(columns, edges[:-1], axis=0)
    return np.asarray(sums / np.diff(edges)[:, None], np.float64)


def _found(
    along: NDArray[np.float64], patches: int, card: Card | None
) -> tuple[list[Piece], Piece | None]:
    """Return the pieces of the strip that are patches, and the longest one of bare wood.

    From fine to coarse, the first division that shows the number of patches: what
    the wood's own figure divides is joined again by its lightness.
    """
    shortest = max(2, len(along) // (6 * patches))
    costs = _costs(along)
    noise = max(1.0, float(np.median(np.abs(np.diff(along, axis=0))) / 0.95) ** 2)
    most = 0
    for price in _PRICES:
        pieces = _divided(costs, shortest, price * noise * np.log(len(along)))
        wooden = _without_card(pieces, card)
        for stands_out in _STANDS_OUT:
            found, bare = _told_apart(along, wooden, stands_out)
            if len(found) == patches and _alike(found):
                return found, bare
            most = max(most, len(found) if len(found) < patches else 0)
    seen = f"only {most}" if most else "not as many"
    raise BadInput(
        f"{patches} patches were burned, {seen} can be told apart in the photo",
        "Crop it to the strip and its card, or give the lightness by eye",
    )


def _alike(found: list[Piece]) -> bool:
    """Whether the patches are about as long as one another: no edges or specks among them."""
    lengths = np.array([end - start for start, end in found])
    return bool(lengths.min() >= _ALIKE * np.median(lengths))


def _costs(along: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the squared error of taking bins i to j (not included) for one colour, [i, j]."""
    bins = len(along)
    sums = np.vstack([np.zeros(3), np.cumsum(along, axis=0)])
    squares = np.concatenate([[0.0], np.cumsum((along**2).sum(axis=1))])
    total = sums[None, :, :] - sums[:, None, :]
    count = np.arange(bins + 1)[None, :] - np.arange(bins + 1)[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        error = squares[None, :] - squares[:, None] - (total**2).sum(axis=2) / count
    return np.where(count > 0, np.maximum(error, 0.0), np.inf)


def _divided(costs: NDArray[np.float64], shortest: int, price: float) -> list[Piece]:
    """Divide the strip so that error and a price for each piece are least (exact, by DP)."""
    bins = len(costs) - 1
    best = np.full(bins + 1, np.inf)
    best[0] = 0.0
    before = np.zeros(bins + 1, int)
    for end in range(shortest, bins + 1):
        starts = best[: end - shortest + 1] + costs[: end - shortest + 1, end] + price
        before[end] = int(np.argmin(starts))
        best[end] = starts[before[end]]
    pieces: list[Piece] = []
    end = bins
    while end > 0:
        pieces.append((int(before[end]), end))
        end = int(before[end])
    return pieces[::-1]


def _without_card(pieces: list[Piece], card: Card | None) -> list[Piece]:
    if card is None:
        return pieces
    return pieces[1:] if card.end is End.FIRST else pieces[:-1]


def _told_apart(
    along: NDArray[np.float64], pieces: list[Piece], stands_out: float
) -> tuple[list[Piece], Piece | None]:
    """Return the pieces darker than bare wood, and the longest piece of bare wood."""
    if not pieces:
        return [], None
    joined = [pieces[0]]
    for piece in pieces[1:]:
        if abs(_lightness(along, joined[-1]) - _lightness(along, piece)) < stands_out:
            joined[-1] = (joined[-1][0], piece[1])
        else:
            joined.append(piece)
    light = [_lightness(along, piece) for piece in joined]
    edge = max(light) - stands_out
    bare = [piece for piece, one in zip(joined, light, strict=True) if one >= edge]
    dark = [piece for piece, one in zip(joined, light, strict=True) if one < edge]
    return dark, max(bare, key=lambda piece: piece[1] - piece[0])


def _lightness(along: NDArray[np.float64], piece: Piece) -> float:
    """Return the L* of a piece as the camera exposed it."""
    return float(lightness_of_luminance(_linear(_colour(along, piece)) @ _LUMA))


def _colour(along: NDArray[np.float64], piece: Piece) -> NDArray[np.float64]:
    start, end = _inner(piece)
    return np.asarray(np.median(along[start:end], axis=0), np.float64)


def _inner(piece: Piece) -> Piece:
    start, end = piece
    trim = int((end - start) * _TRIMMED)
    return start + trim, max(start + trim + 1, end - trim)


def _linear(codes: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.interp(codes, np.arange(256), _LINEAR), np.float64)


def _gain(
    band: NDArray[np.uint8],
    along: NDArray[np.float64],
    card: Card | None,
    bare: float | None,
    wood: Piece | None,
) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """Return by how much each channel's light is to be multiplied, and what to mind."""
    if card is not None:
        return _card_gain(along, card), ()
    if bare is not None and wood is not None:
        here = _light(band, wood, len(along), np.ones(3)).mean()
        gain = float(luminance_of_lightness(bare)) / max(float(here), 1e-4)
        return np.full(3, gain), ("The exposure was set by the bare wood, not by a card",)
    return np.ones(3), (
        "No card: the lightness is as the camera exposed it, and may be some way off",
    )


def _card_gain(along: NDArray[np.float64], card: Card) -> NDArray[np.float64]:
    """Return the gain that makes the card neutral and as light as it is.

    The card is taken from its own end: the stretch there of one colour.
    """
    ordered = along if card.end is End.FIRST else along[::-1]
    shortest = max(2, len(along) // 100)
    start = np.median(ordered[:shortest], axis=0)
    away = np.abs(ordered - start).max(axis=1) > 12
    until = int(np.argmax(away)) if away.any() else len(ordered)
    codes = np.median(ordered[: max(shortest, int(until * 0.8))], axis=0)
    if codes.max() >= _CLIPPED:
        raise BadInput("The card is overexposed in the photo", "Take it again, darker")
    if codes.min() < _DARKEST_CARD:
        raise BadInput("There is no light card at that end of the photo", "Say where it lies")
    return np.asarray(float(luminance_of_lightness(card.lightness)) / _linear(codes), np.float64)


def _light(
    band: NDArray[np.uint8], piece: Piece, bins: int, gain: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the luminance of the pixels well inside a piece."""
    start, end = _inner(piece)
    width = band.shape[1]
    inside = band[:, int(start * width / bins) : max(1, int(end * width / bins))]
    return np.asarray(_LINEAR[inside.reshape(-1, 3)] @ (gain * _LUMA), np.float64)


def _patch(
    band: NDArray[np.uint8], piece: Piece, bins: int, gain: NDArray[np.float64]
) -> PatchRead:
    """Read a piece: the lightness of its mean luminance, as the eye takes it from afar."""
    light = np.clip(_light(band, piece, bins, gain), 0.0, 1.0)
    return PatchRead(
        start=piece[0] / bins,
        end=piece[1] / bins,
        lightness=float(lightness_of_luminance(light.mean())),
        spread=float(np.std(lightness_of_luminance(light))),
    )
