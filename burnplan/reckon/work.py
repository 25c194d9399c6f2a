"""The work plan: what a job asks for, and how well that is known.

A plan comes from a photo that was measured, zone by zone, or from what is known of
a piece as a whole (:func:`burnplan.reckon.standard_hours.coarse_plan`); what is not
known widens its :class:`Doubt`.
"""

from collections.abc import Mapping
from enum import StrEnum
from math import isfinite
from typing import Any, NamedTuple

from burnplan.errors import BadInput
from burnplan.wood.finishes import USUAL_COATS
from burnplan.wood.grits import ALL_SANDINGS


class Work(StrEnum):
    """The stages of work, in order."""

    PREPARE = "prepare"
    TRANSFER = "transfer"
    BURN = "burn"
    FINISH = "finish"


EYE_DOUBT = 0.10
"""Standard deviation of a grade by eye, which is good to half a grade (own derivation)."""


class Grade(NamedTuple):
    """Darkness or texture of a piece as a whole, and how well it is known.

    Parameters
    ----------
    value : float
        0 to 1.
    doubt : float
        Standard deviation; 0 when measured.
    """

    value: float
    doubt: float = 0.0


UNKNOWN_DARKNESS = Grade(0.5, 0.18)  # a guess
UNKNOWN_TEXTURE = Grade(0.25, 0.15)  # a guess


def grade_by_eye(grade: float) -> Grade:
    """Return what a grade from 1 (pale, smooth) to 5 (dark, dense fur) stands for.

    Raises
    ------
    BadInput
        If it is not from 1 to 5.

    Examples
    --------
    >>> grade_by_eye(3)
    Grade(value=0.5, doubt=0.1)
    """
    if not 1 <= grade <= 5:
        raise BadInput(f"A grade by eye is from 1 to 5, not {grade:g}", "Write 3 for the middle")
    return Grade(round((grade - 0.5) / 5, 6), EYE_DOUBT)


def read_grade(text: str, unknown: Grade) -> Grade:
    """Read darkness or texture as records have it: ``0.42``, ``eye:3`` or nothing.

    Raises
    ------
    BadInput
        If it is neither, or out of range.

    Examples
    --------
    >>> read_grade("0.42", UNKNOWN_TEXTURE), read_grade("eye:5", UNKNOWN_TEXTURE)
    (Grade(value=0.42, doubt=0.0), Grade(value=0.9, doubt=0.1))
    """
    text = text.strip().lower()
    if not text:
        return unknown
    by_eye = text.startswith("eye:")
    try:
        value = float(text.removeprefix("eye:"))
    except ValueError:
        value = float("nan")
    if by_eye and isfinite(value):
        return grade_by_eye(value)
    if not 0 <= value <= 1:
        raise BadInput(
            f"'{text}' is neither a measure from 0 to 1 nor a grade by eye",
            "Write for example 0.42, or eye:3 for the middle of 1 to 5",
        )
    return Grade(value)


class Doubt(NamedTuple):
    """What is not known exactly of a plan, as standard deviations.

    Parameters
    ----------
    darkness, texture : float
        Of the mean over the piece.
    line : float
        Of the logarithm of the length of line.
    """

    darkness: float = 0.0
    texture: float = 0.0
    line: float = 0.0


class ZoneWork(NamedTuple):
    """What one value zone asks of the burner.

    Parameters
    ----------
    zone : int
        1 darkest.
    area_cm2 : float
    darkness, texture : float
        0 to 1.
    islands : int
    line_cm : float
    """

    zone: int
    area_cm2: float
    darkness: float
    texture: float
    islands: int = 1
    line_cm: float = 0.0


class PassWork(NamedTuple):
    """What is traced in one pass."""

    cm: float
    strokes: int


class LineWork(NamedTuple):
    """What is traced.

    Parameters
    ----------
    firm_cm, light_cm, lost_cm : float
        Length at each pressure.
    firm_strokes, light_strokes : int or None
        None if they were not counted.
    passes : tuple of PassWork
        In their order; empty if not known.
    """

    firm_cm: float = 0.0
    light_cm: float = 0.0
    lost_cm: float = 0.0
    firm_strokes: int | None = None
    light_strokes: int | None = None
    passes: tuple[PassWork, ...] = ()

    @property
    def strokes(self) -> int | None:
        """Number of lines that are drawn; None if they were not counted."""
        if self.firm_strokes is None or self.light_strokes is None:
            return None
        return self.firm_strokes + self.light_strokes

    @property
    def drawn_cm(self) -> float:
        """What is drawn: lost edges are not."""
        return self.firm_cm + self.light_cm


class WorkPlan(NamedTuple):
    """Everything about a job that decides its hours.

    Parameters
    ----------
    width_mm, height_mm : float
    area_cm2 : float
        Inside the outline.
    species : str
        Key of the species; empty if not known.
    hardness_lbf : float or None
        None if not known.
    zones : tuple of ZoneWork
    lines : LineWork
    sandings : int
        Grits and wettings still to do.
    coats : int
        Coats of finish.
    doubt : Doubt
        Nothing when the plan was measured.
    """

    width_mm: float
    height_mm: float
    area_cm2: float
    species: str
    hardness_lbf: float | None
    zones: tuple[ZoneWork, ...]
    lines: LineWork
    sandings: int = ALL_SANDINGS
    coats: int = USUAL_COATS
    doubt: Doubt = Doubt()

    @property
    def darkness(self) -> float:
        """Mean darkness over the area, 0 to 1."""
        return self._mean("darkness")

    @property
    def texture(self) -> float:
        """Mean texture over the area, 0 to 1."""
        return self._mean("texture")

    def _mean(self, name: str) -> float:
        area = sum(zone.area_cm2 for zone in self.zones)
        weighted = sum(zone.area_cm2 * float(getattr(zone, name)) for zone in self.zones)
        return weighted / area if area else 0.0

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain values, for the book."""
        return {
            **self._asdict(),
            "zones": [zone._asdict() for zone in self.zones],
            "lines": {
                **self.lines._asdict(),
                "passes": [one._asdict() for one in self.lines.passes],
            },
            "doubt": self.doubt._asdict(),
        }

    @classmethod
    def from_dict(cls, plain: Mapping[str, Any]) -> "WorkPlan":
        """Return the plan that :meth:`to_dict` made plain."""
        return cls(
            **{
                **plain,
                "zones": tuple(ZoneWork(**zone) for zone in plain["zones"]),
                "lines": LineWork(**{**plain["lines"], "passes": _passes(plain["lines"])}),
                "doubt": Doubt(**plain.get("doubt", {})),
            }
        )


def _passes(lines: Mapping[str, Any]) -> tuple[PassWork, ...]:
    return tuple(PassWork(**one) for one in lines.get("passes", ()))
