"""Movement: how much wood shrinks or swells as its moisture changes.

Wood Handbook FPL-GTR-190 (2010), ch. 13: Eq. 13-2 with the coefficients of Table 13-5
between 6 and 14 % moisture, Eq. 13-3 with the shrinkage of Table 4-3 beyond (Eq. 13-3 from
memory; it reproduces every coefficient of the table). Boards are rarely cut quite flat or
quite quartered, so the width is probably overestimated and the thickness underestimated.
"""

from dataclasses import dataclass
from enum import StrEnum

from burnplan.errors import BadInput
from burnplan.wood.moisture import FIBRE_SATURATION, WETTEST
from burnplan.wood.species import Mark, Species

# Wood Handbook ch. 13: between these the coefficients of Table 13-5 hold.
_STEADY_FROM, _STEADY_TO = 6.0, 14.0
# The moisture content for which that table was made: with it Eq. 13-3 gives the table.
# Computed from Wood Handbook, Table 13-5.
_TABLE_MOISTURE = 10.0


class Across(StrEnum):
    """The direction of a dimension across the grain, by the growth rings."""

    TANGENTIAL = "tangential"  # along the rings: the width of a flat-sawn board
    RADIAL = "radial"  # across the rings: the width of a quarter-sawn board


@dataclass(frozen=True, slots=True)
class Movement:
    """What a dimension does when the moisture changes.

    Parameters
    ----------
    before_mm, after_mm : float
    mark : Mark
        How well the figure behind it is known.
    """

    before_mm: float
    after_mm: float
    mark: Mark

    @property
    def change_mm(self) -> float:
        """Millimetres; negative if it shrinks."""
        return self.after_mm - self.before_mm


def coefficient(shrinkage: float) -> float:
    """Return the dimensional change coefficient that follows from a shrinkage.

    Parameters
    ----------
    shrinkage : float
        Green to oven-dry, %, as in Table 4-3.

    Returns
    -------
    float
        Change per % moisture, as in Table 13-5.

    Examples
    --------
    >>> round(coefficient(9.3), 5)  # basswood, tangential
    0.0033
    """
    _check_shrinkage(shrinkage)
    return 1 / (FIBRE_SATURATION * 100 / shrinkage - FIBRE_SATURATION + _TABLE_MOISTURE)


def change_by_coefficient(mm: float, per_percent: float, start: float, end: float) -> float:
    """Return the change of a dimension by Eq. 13-2, mm; it holds from 6 to 14 % moisture.

    Parameters
    ----------
    mm : float
        The dimension at the start.
    per_percent : float
        Dimensional change coefficient, as in Table 13-5.
    start, end : float
        Moisture content, %.

    Examples
    --------
    The Handbook's worked example, 233.7 mm after the change:

    >>> round(232 + change_by_coefficient(232, 0.00245, 8, 11), 1)
    233.7
    """
    return mm * per_percent * (end - start)


def change_by_shrinkage(mm: float, shrinkage: float, start: float, end: float) -> float:
    """Return the change of a dimension by Eq. 13-3, mm; it holds up to fibre saturation.

    Parameters
    ----------
    mm : float
        The dimension at the start.
    shrinkage : float
        Green to oven-dry, %, as in Table 4-3.
    start, end : float
        Moisture content, %. What is above 30 % does not move wood and counts as 30.

    Examples
    --------
    Green to oven-dry it is the shrinkage itself:

    >>> round(change_by_shrinkage(100, 9.3, 30, 0), 6)
    -9.3
    """
    _check_shrinkage(shrinkage)
    start, end = min(start, FIBRE_SATURATION), min(end, FIBRE_SATURATION)
    return mm * (end - start) / (FIBRE_SATURATION * 100 / shrinkage - FIBRE_SATURATION + start)


def _check_shrinkage(shrinkage: float) -> None:
    if not 0 < shrinkage < 100:
        raise BadInput(f"{shrinkage:g} % is not a shrinkage", "Woods shrink by some 2 to 13 %")


def _check_moisture(moisture: float) -> None:
    if not 0 <= moisture <= WETTEST:
        raise BadInput(f"{moisture:g} % is not a moisture content", "Give it like 8 or 8.5")


def move(species: Species, across: Across, mm: float, start: float, end: float) -> Movement | None:
    """Return what a dimension across the grain does when the moisture changes.

    Parameters
    ----------
    species : Species
    across : Across
    mm : float
        The dimension at the start, positive. Along the grain wood hardly moves.
    start, end : float
        Moisture content, %.

    Returns
    -------
    Movement or None
        None if the species' figures are not known.

    Raises
    ------
    BadInput
        If a moisture content or the dimension cannot be.

    Examples
    --------
    >>> from burnplan.wood.species import species_or_own
    >>> moved = move(species_or_own("basswood"), Across.TANGENTIAL, 300, 7, 11)
    >>> round(moved.change_mm, 2), moved.mark.name
    (3.96, 'VERIFIED')
    """
    if not mm > 0:
        raise BadInput(f"{mm:g} mm is not a dimension", "Give the width across the grain")
    _check_moisture(start)
    _check_moisture(end)
    known = dict(species.figures)
    steady = all(_STEADY_FROM <= moisture <= _STEADY_TO for moisture in (start, end))
    if steady and (figure := known.get(f"coefficient_{across}")):
        return Movement(mm, mm + change_by_coefficient(mm, figure.value, start, end), figure.mark)
    if figure := known.get(across):
        return Movement(mm, mm + change_by_shrinkage(mm, figure.value, start, end), figure.mark)
    return None


class Risk(StrEnum):
    """Of checks: cracks that run out from the heart."""

    NONE = "none"
    SOME = "some"
    HIGH = "high"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Checking:
    """The risk that an end-grain round checks.

    Parameters
    ----------
    risk : Risk
    misfit : float or None
        By how many % more the rim shrinks than the radius lets it, from Table 4-3;
        None if the species' shrinkage is not known.
    why : str
    """

    risk: Risk
    misfit: float | None
    why: str


# Common practice, no source: a round whose rim wants to be half a per cent shorter than
# its radius allows is expected to open.
_OPENS_AT = 0.5


def checking(species: Species, start: float, end: float, *, has_heart: bool = True) -> Checking:
    """Say how likely an end-grain round is to check as it dries.

    The rim lies along the rings and shrinks more than the radius does; the difference
    has to open somewhere. What of it counts as a high risk is common practice, no source.

    Parameters
    ----------
    species : Species
    start, end : float
        Moisture content now and where it settles, %.
    has_heart : bool
        Whether the round goes all round its heart; half rounds can close in instead.

    Examples
    --------
    >>> from burnplan.wood.species import species_or_own
    >>> found = checking(species_or_own("american-beech"), 20, 8)
    >>> found.risk, round(found.misfit, 1)
    (<Risk.HIGH: 'high'>, 2.7)
    """
    _check_moisture(start)
    _check_moisture(end)
    start, end = min(start, FIBRE_SATURATION), min(end, FIBRE_SATURATION)
    if end >= start:
        return Checking(Risk.NONE, 0.0, "It has no more drying to do")
    radial, tangential = species.value("radial"), species.value("tangential")
    if radial is None or tangential is None:
        return Checking(
            Risk.UNKNOWN, None, "How this wood shrinks is not known: dry it slowly, ends sealed"
        )
    rim = -change_by_shrinkage(100, tangential, start, end)
    radius = -change_by_shrinkage(100, radial, start, end)
    shrinks = f"Its rim shrinks by {rim:.1f} %, its radius by {radius:.1f} %"
    if not has_heart:
        return Checking(Risk.SOME, rim - radius, f"{shrinks}: without its heart it can close in")
    risk = Risk.HIGH if rim - radius >= _OPENS_AT else Risk.SOME
    return Checking(risk, rim - radius, f"{shrinks}: the difference opens checks from the heart")
