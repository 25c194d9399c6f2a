"""The work plan: what a job asks for, and how well that is known.

A plan comes from a photo that was measured, zone by zone, or from what is known of
a piece as a whole (:func:`burnplan.reckon.standard_hours.coarse_plan`); what is not
known widens its :class:`Doubt`.
"""

import re
from collections.abc import Callable, Mapping
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
    """Darkness, texture or burned share of a piece as a whole, and how well it is known.

    Parameters
    ----------
    value : float
        0 to 1; up to 2 for the texture of a showpiece.
    doubt : float
        Standard deviation; 0 when measured.
    """

    value: float
    doubt: float = 0.0


# Measured on eight photos of scikit-image and scikit-learn: 0.53 ± 0.13 and 0.24 ± 0.09. The doubts
# are wider, since no more photos were measured.
UNKNOWN_DARKNESS = Grade(0.5, 0.18)
UNKNOWN_TEXTURE = Grade(0.25, 0.15)  # measured, as above
SHOWPIECE_GRADE = 6  # of detail, beyond dense fur; by definition
SHOWPIECE = Grade(2.0, 0.5)  # by definition; its doubt is a guess: a quarter
WHOLE_FACE = Grade(1.0)  # by definition: where nothing is said, all of it is burned


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


def detail_by_eye(grade: float) -> Grade:
    """Return what a grade of detail stands for: 1 (plain) to 5 (dense fur), 6 a showpiece.

    A showpiece is worked over again and again, hair by hair; what that takes is the prior
    of that name in :mod:`burnplan.reckon.standard_hours`.

    Raises
    ------
    BadInput
        If it is not from 1 to 6.

    Examples
    --------
    >>> detail_by_eye(5), detail_by_eye(6)
    (Grade(value=0.9, doubt=0.1), Grade(value=2.0, doubt=0.5))
    """
    beyond = grade - 5
    if beyond <= 0:
        return grade_by_eye(grade)
    if not grade <= SHOWPIECE_GRADE:
        raise BadInput(
            f"A grade of detail is from 1 to {SHOWPIECE_GRADE}, not {grade:g}",
            "5 is dense fur, 6 a showpiece",
        )
    furry = grade_by_eye(5)
    return Grade(
        furry.value + beyond * (SHOWPIECE.value - furry.value),
        furry.doubt + beyond * (SHOWPIECE.doubt - furry.doubt),
    )


def read_grade(text: str, unknown: Grade, by_eye: Callable[[float], Grade] = grade_by_eye) -> Grade:
    """Read darkness or texture as records have it: ``0.42``, ``eye:3`` or nothing.

    Parameters
    ----------
    text : str
    unknown : Grade
        What nothing stands for.
    by_eye : callable
        What a grade by eye stands for: :func:`detail_by_eye` for texture.

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
    judged = text.startswith("eye:")
    try:
        value = float(text.removeprefix("eye:"))
    except ValueError:
        value = float("nan")
    if judged and isfinite(value):
        return by_eye(value)
    if not 0 <= value <= 1:
        raise BadInput(
            f"'{text}' is neither a measure from 0 to 1 nor a grade by eye",
            "Write for example 0.42, or eye:3 for the middle of 1 to 5",
        )
    return Grade(value)


def covered_by_eye(share: float) -> Grade:
    """Return a share of the face that is burned, as judged by eye.

    The nearer to half, the worse an eye tells (a guess: within 0.075 there).

    Examples
    --------
    >>> covered_by_eye(0.5), covered_by_eye(1)
    (Grade(value=0.5, doubt=0.075), Grade(value=1.0, doubt=0.0))
    """
    return Grade(float(share), round(0.3 * share * (1 - share), 6))


def read_covered(text: str) -> Grade:
    """Read what share of the face is burned: ``60%`` or ``eye:0.6`` by eye, ``0.6`` measured.

    Nothing means all of it.

    Raises
    ------
    BadInput
        If it is no share above zero.

    Examples
    --------
    >>> read_covered("50 %"), read_covered("0.5"), read_covered("")
    (Grade(value=0.5, doubt=0.075), Grade(value=0.5, doubt=0.0), Grade(value=1.0, doubt=0.0))
    """
    plain = text.strip().lower().replace(",", ".")
    if not plain:
        return WHOLE_FACE
    try:
        share = float(plain.removeprefix("eye:").removesuffix("%"))
    except ValueError:
        share = float("nan")
    in_hundred = plain.endswith("%") or share > 1
    judged = plain.startswith("eye:") or in_hundred
    share = share / 100 if in_hundred else share
    if not 0 < share <= 1:
        raise BadInput(
            f"'{text.strip()}' is no share of the face", "Write how much of it is burned, like 60%"
        )
    return covered_by_eye(share) if judged else Grade(share)


# Words for the stages, without their endings; and words that say nothing beside them.
_FILLING = ("and", "alone", "only", "the")
_COVERING = {
    "prepar": Work.PREPARE,
    "sand": Work.PREPARE,
    "transfer": Work.TRANSFER,
    "transferr": Work.TRANSFER,
    "trac": Work.TRANSFER,
    "draw": Work.TRANSFER,
    "burn": Work.BURN,
    "shad": Work.BURN,
    "finish": Work.FINISH,
}


def read_covers(text: str) -> tuple[Work, ...]:
    """Read which stages a total of hours covers: the whole piece where nothing is said.

    Raises
    ------
    BadInput
        If a word of it is no stage.

    Examples
    --------
    >>> [stage.value for stage in read_covers("tracing and burning")]
    ['transfer', 'burn']
    >>> read_covers("whole piece") == read_covers("") == tuple(Work)
    True
    """
    words = re.findall(r"[^\W_]+", text.lower())
    if not words or words[0] in ("whole", "all", "everything"):
        return tuple(Work)
    stems = {word: re.sub("(ation|ing|e)$", "", word) for word in words if word not in _FILLING}
    unknown = [word for word, stem in stems.items() if stem not in _COVERING]
    if unknown or not stems:
        raise BadInput(
            f"'{text.strip()}' is not what hours cover",
            f"Write whole, or stages of {', '.join(Work)}",
        )
    found = {_COVERING[stem] for stem in stems.values()}
    return tuple(stage for stage in Work if stage in found)


class Doubt(NamedTuple):
    """What is not known exactly of a plan, as standard deviations.

    Parameters
    ----------
    darkness, texture : float
        Of the mean over what is burned.
    line : float
        Of the logarithm of the length of line.
    covered : float
        Of the logarithm of the share that is burned.
    """

    darkness: float = 0.0
    texture: float = 0.0
    line: float = 0.0
    covered: float = 0.0


class ZoneWork(NamedTuple):
    """What one value zone asks of the burner.

    Parameters
    ----------
    zone : int
        1 darkest; the lettering is :data:`burnplan.zone_names.LETTERING`.
    area_cm2 : float
    darkness, texture : float
        0 to 1; the texture of a showpiece is up to 2.
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
    letter_cm : float
        What of it is outlines of letters.
    """

    firm_cm: float = 0.0
    light_cm: float = 0.0
    lost_cm: float = 0.0
    firm_strokes: int | None = None
    light_strokes: int | None = None
    passes: tuple[PassWork, ...] = ()
    letter_cm: float = 0.0

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
        """Mean texture over the area, 0 to 1: a showpiece counts as dense fur."""
        return self._mean("texture")

    def _mean(self, name: str) -> float:
        area = sum(zone.area_cm2 for zone in self.zones)
        weighted = sum(zone.area_cm2 * min(1.0, getattr(zone, name)) for zone in self.zones)
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
