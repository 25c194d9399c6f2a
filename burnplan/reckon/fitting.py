"""Which blank suits a photo: how much of it is lost, how near the size, the right wood."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import log2, pi

from burnplan.outline import Outline, OutlineKind

# What counts how much against a blank (our own weights): losing all of the photo,
# being of double or half the area wanted, another wood, and a caution.
_LOSS, _AREA, _WOOD, _CAUTION = 2.0, 0.5, 0.6, 0.4
# Below this many of the photo's pixels on a millimetre fine features are soft.
SOFT_PX_PER_MM = 2.0
# Share of its bounding box that a blank covers; a live edge is guessed.
_COVER = {OutlineKind.ROUND: pi / 4, OutlineKind.OVAL: pi / 4, OutlineKind.LIVE_EDGE: 0.85}


@dataclass(frozen=True, slots=True)
class Candidate:
    """A blank that could be used.

    Parameters
    ----------
    key : str
    outline : Outline
    wood_suits : bool
        It is of the species wanted, or none was named.
    cautions : int
        Reasons to mind about it.
    """

    key: str
    outline: Outline
    wood_suits: bool = True
    cautions: int = 0


@dataclass(frozen=True, slots=True)
class Suited:
    """How a blank suits a photo.

    Parameters
    ----------
    key : str
    turned : bool
        It suits better a quarter turn round.
    lost : float
        Share of the photo that does not come onto the wood, 0 to 1.
    px_per_mm : float
        The photo's own pixels on a millimetre of wood.
    against : float
        What speaks against it; less is better.
    """

    key: str
    turned: bool
    lost: float
    px_per_mm: float
    against: float


def _lost(photo_px: tuple[int, int], outline: Outline) -> float:
    aspect = photo_px[0] / photo_px[1] / (outline.width_mm / outline.height_mm)
    return 1 - min(aspect, 1 / aspect) * _COVER.get(outline.kind, 1.0)


def _suited(photo_px: tuple[int, int], one: Candidate, wanted_cm2: float | None) -> Suited:
    plain, turned = one.outline, one.outline.turned()
    turn = _lost(photo_px, turned) < _lost(photo_px, plain) - 1e-9
    outline = turned if turn else plain
    lost = _lost(photo_px, outline)
    against = _LOSS * lost + _WOOD * (not one.wood_suits) + _CAUTION * one.cautions
    if wanted_cm2:
        against += _AREA * abs(log2(outline.area_cm2 / wanted_cm2))
    pixels = min(photo_px[0] / outline.width_mm, photo_px[1] / outline.height_mm)
    return Suited(one.key, turn, lost, pixels, against)


def ranked(
    photo_px: tuple[int, int], candidates: Iterable[Candidate], wanted_cm2: float | None = None
) -> list[Suited]:
    """Return the blanks, those that suit a photo best first.

    Parameters
    ----------
    photo_px : (int, int)
        Upright width and height.
    candidates : iterable of Candidate
    wanted_cm2 : float, optional
        The area asked for.

    Examples
    --------
    >>> from burnplan.units import parse_size
    >>> blanks = [Candidate(s, parse_size(s)) for s in ("30x30cm", "20x30cm", "round 30cm")]
    >>> [(one.key, one.turned) for one in ranked((3000, 2000), blanks)]
    [('20x30cm', True), ('30x30cm', False), ('round 30cm', False)]
    """
    found = (_suited(photo_px, one, wanted_cm2) for one in candidates)
    return sorted(found, key=lambda one: (one.against, one.key))
