"""Which of the blanks in stock suits a photo: a ranking with its reasons.

Only proportions, sizes and conditions are compared, no pixels. Each thing that
speaks against a blank adds to its cost, in shares of the photo lost: a blank
that crops 10 % of the photo and one that wants other remedies worth as much
rank alike. The weights are our own, and each reason is said.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from burnplan.errors import BadInput
from burnplan.outline import Outline
from burnplan.units import FEW_PX_PER_MM

WEIGHTS: Mapping[str, float] = {
    "size": 0.15,  # for each doubling or halving of the area wanted
    "pixels": 0.3,  # times the share of pixels wanting
    "tones": 0.5,  # times the share of the tonal range wanting
    "sanding": 0.01,  # for each grit still to sand
    "doubt": 0.15,  # for each thing said against its condition
}
"""What speaks against a blank, in shares of the photo (our own, no source)."""

WIDE_RANGE = 60.0
"""Lightness range, L*, from bare to darkest burn that wants nothing (our own, no source)."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A blank that could be used.

    Parameters
    ----------
    code : str
    outline : Outline
    tonal_range : float, optional
        L* between the bare wood and its darkest burn.
    sandings_left : int
    doubts : tuple of str
        What speaks against its condition, for example ``"moisture not measured"``.
    """

    code: str
    outline: Outline
    tonal_range: float | None = None
    sandings_left: int = 0
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BlankFit:
    """How well a blank suits a photo.

    Parameters
    ----------
    code : str
    turned : bool
        Whether the blank is to be turned a quarter.
    lost : float
        Share of the photo that is cropped when it fills the outline, 0 to 1.
    px_per_mm : float
        Pixels of the photo on a millimetre of wood.
    area_cm2 : float
    cost : float
        All that speaks against it, in shares of the photo; 0 is perfect.
    reasons : tuple of str
        What speaks against it, worst first.
    """

    code: str
    turned: bool
    lost: float
    px_per_mm: float
    area_cm2: float
    cost: float
    reasons: tuple[str, ...]


def rank_blanks(
    photo_size: tuple[int, int],
    candidates: Iterable[Candidate],
    *,
    wanted_cm2: float | None = None,
) -> tuple[BlankFit, ...]:
    """Rank blanks by how well they suit a photo, best first.

    Parameters
    ----------
    photo_size : tuple of int
        Width and height of the upright photo, or of its crop, pixels.
    candidates : iterable of Candidate
    wanted_cm2 : float, optional
        Area that was asked for.

    Returns
    -------
    tuple of BlankFit
        Among equals the larger blank first, then by code.

    Raises
    ------
    BadInput
        If the photo or the area wanted has no extent.

    Examples
    --------
    >>> from burnplan.outline import OutlineKind
    >>> square = Outline(OutlineKind.RECTANGLE, 300, 300)
    >>> tall = Outline(OutlineKind.RECTANGLE, 200, 300)
    >>> ranked = rank_blanks((3000, 2000), [Candidate("B-1", square), Candidate("B-2", tall)])
    >>> [(fit.code, fit.turned, round(fit.lost, 2)) for fit in ranked]
    [('B-2', True, 0.0), ('B-1', False, 0.33)]
    """
    if min(photo_size) <= 0:
        raise BadInput(f"A photo of {photo_size[0]} × {photo_size[1]} pixels cannot be placed")
    if wanted_cm2 is not None and not (math.isfinite(wanted_cm2) and wanted_cm2 > 0):
        raise BadInput(f"The area wanted must be more than 0 cm², not {wanted_cm2:g}")
    fits = [_fit(photo_size, candidate, wanted_cm2) for candidate in candidates]
    return tuple(sorted(fits, key=lambda fit: (round(fit.cost, 6), -fit.area_cm2, fit.code)))


def _fit(photo_size: tuple[int, int], candidate: Candidate, wanted_cm2: float | None) -> BlankFit:
    straight, other = (
        _lost(photo_size, outline) for outline in (candidate.outline, candidate.outline.turned())
    )
    turned = other[0] < straight[0] - 1e-9
    lost, px_per_mm = other if turned else straight
    area = candidate.outline.area_cm2
    against: list[tuple[float, str]] = []
    if lost >= 0.005:
        against.append((lost, f"{lost * 100:.0f} % of the photo is cropped"))
    if px_per_mm < FEW_PX_PER_MM:
        wanting = 1 - px_per_mm / FEW_PX_PER_MM
        against.append(
            (
                WEIGHTS["pixels"] * wanting,
                f"only {px_per_mm:.1f} pixels per mm: detail will be soft",
            )
        )
    if wanted_cm2 is not None:
        off = abs(math.log2(area / wanted_cm2))
        if off > 0.1:
            word = "larger" if area > wanted_cm2 else "smaller"
            against.append((WEIGHTS["size"] * off, f"{word} than wanted ({area:.0f} cm²)"))
    if candidate.tonal_range is not None and candidate.tonal_range < WIDE_RANGE:
        wanting = 1 - max(candidate.tonal_range, 0) / WIDE_RANGE
        against.append((WEIGHTS["tones"] * wanting, "a dark wood, that holds fewer tones"))
    if candidate.sandings_left:
        grits = "one grit" if candidate.sandings_left == 1 else f"{candidate.sandings_left} grits"
        against.append((WEIGHTS["sanding"] * candidate.sandings_left, f"{grits} still to sand"))
    against += [(WEIGHTS["doubt"], doubt) for doubt in candidate.doubts]
    against.sort(key=lambda one: -one[0])
    return BlankFit(
        code=candidate.code,
        turned=turned,
        lost=lost,
        px_per_mm=px_per_mm,
        area_cm2=area,
        cost=sum(cost for cost, _reason in against),
        reasons=tuple(reason for _cost, reason in against),
    )


def _lost(photo_size: tuple[int, int], outline: Outline) -> tuple[float, float]:
    """Share of the photo outside when it fills the outline, and its pixels per mm."""
    width, height = photo_size
    mm_per_px = max(outline.width_mm / width, outline.height_mm / height)
    within = min(outline.area_mm2, outline.width_mm * outline.height_mm)
    return max(0.0, 1 - within / (width * height * mm_per_px**2)), 1 / mm_per_px
