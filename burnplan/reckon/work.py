"""The work plan: what a job asks for, and how long that takes at a standard pace.

Standard hours are a starting guess built from priors that anybody can argue
with, one by one, in :data:`PRIORS`; how this artist's hours relate to them is
learned in :mod:`burnplan.reckon.pace`. A plan comes from a photo that was
measured, zone by zone, or from what is known of a piece as a whole
(:func:`coarse_plan`); what is not known widens its :class:`Doubt`.
"""

from collections.abc import Mapping
from enum import StrEnum
from math import hypot, isfinite, log
from typing import Any, NamedTuple

from burnplan.errors import BadInput


class Work(StrEnum):
    """The stages of work, in order."""

    PREPARE = "prepare"
    TRANSFER = "transfer"
    BURN = "burn"
    FINISH = "finish"


_PRACTICE = "common practice, no source"
_TRACED = "own derivation: our own trace lines of five public photos at four sizes each"


class Prior(NamedTuple):
    """A starting guess with its unit and where it comes from.

    Parameters
    ----------
    value : float
    unit : str
    about : str
    provenance : str
    """

    value: float
    unit: str
    about: str
    provenance: str = _PRACTICE


PRIORS: Mapping[str, Prior] = {
    "prepare_setup": Prior(10, "min", "choosing, cleaning and marking the blank"),
    "sanding": Prior(0.8, "min per 100 cm² and grit", "sanding with one grit"),
    "transfer_setup": Prior(15, "min", "printing, cutting, taping, checking"),
    "tracing": Prior(20, "cm per min", "drawing over a line on graphite paper"),
    "sanding_back": Prior(1.5, "min per 100 cm²", "sanding the lines back until barely visible"),
    "line_density": Prior(3.6, "cm", "trace lines of a smooth piece of 1 cm²", _TRACED),
    "line_exponent": Prior(0.82, "power", "lines grow with area to this", _TRACED),
    "nib_width": Prior(1.2, "mm", "width a shading nib covers in one stroke"),
    "stroke_speed": Prior(10, "mm per s", "speed of a shading stroke"),
    "passes": Prior(1, "passes", "passes for the lightest tone"),
    "passes_dark": Prior(3, "passes", "further passes from the lightest to the darkest tone"),
    "bare_below": Prior(0.12, "darkness", "lighter areas are left partly or wholly bare"),
    "texture": Prior(1.5, "share", "further time for full texture (dense fur)"),
    "hardness_exponent": Prior(0.15, "power", "harder wood takes longer: (hardness/410 lbf)^this"),
    "line_burning": Prior(48, "cm per min", "burning along a firm or light line"),
    "session_setup": Prior(10, "min", "setting out, heating, cooling, per session"),
    "session_length": Prior(2, "h", "burning in one session"),
    "coat": Prior(5, "min", "laying one coat, whatever the size"),
    "coat_area": Prior(0.8, "min per 100 cm²", "laying one coat"),
    "finish_setup": Prior(15, "min", "cleaning, signing, photographing"),
}
SOFTEST_LBF = 410.0
# Hardness to reckon with where a species has none on record: the table's middle.
MIDDLE_LBF = 750.0

# Doubts, as standard deviations, of what is not known (own derivation: the table's
# hardnesses; five public photos' darkness, texture and lines; an eye's grade is good
# to half a grade).
HARDNESS_DOUBT = 0.45
LINE_DOUBT = 0.45
EYE_DOUBT = 0.10
# A piece taken as a whole is worked over, however pale: no paler than this.
PALEST_PIECE = 0.07


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


UNKNOWN_DARKNESS = Grade(0.5, 0.18)
UNKNOWN_TEXTURE = Grade(0.25, 0.15)


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


class LineWork(NamedTuple):
    """Length of the trace lines at each pressure, cm."""

    firm_cm: float = 0.0
    light_cm: float = 0.0
    lost_cm: float = 0.0

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
    sandings: int = 5
    coats: int = 3
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
            "lines": self.lines._asdict(),
            "doubt": self.doubt._asdict(),
        }

    @classmethod
    def from_dict(cls, plain: Mapping[str, Any]) -> "WorkPlan":
        """Return the plan that :meth:`to_dict` made plain."""
        return cls(
            **{
                **plain,
                "zones": tuple(ZoneWork(**zone) for zone in plain["zones"]),
                "lines": LineWork(**plain["lines"]),
                "doubt": Doubt(**plain.get("doubt", {})),
            }
        )


def _of(name: str) -> float:
    return PRIORS[name].value


def passes(darkness: float) -> float:
    """Return how many passes a tone takes; a part of one where wood is left bare.

    Examples
    --------
    >>> passes(0.0), passes(0.06), passes(1.0)
    (0.0, 0.59, 4.0)
    """
    cover = min(1.0, max(0.0, darkness) / _of("bare_below"))
    return cover * (_of("passes") + _of("passes_dark") * darkness)


def _hardness_factor(hardness_lbf: float | None) -> float:
    return float(((hardness_lbf or MIDDLE_LBF) / SOFTEST_LBF) ** _of("hardness_exponent"))


def zone_hours(zone: ZoneWork, hardness_lbf: float | None) -> float:
    """Return the standard hours of shading one zone."""
    strokes_mm2_per_s = _of("nib_width") * _of("stroke_speed")
    seconds = zone.area_cm2 * 100 * passes(zone.darkness) / strokes_mm2_per_s
    textured = 1 + _of("texture") * zone.texture
    return seconds / 3600 * textured * _hardness_factor(hardness_lbf)


def _shading_hours(plan: WorkPlan) -> float:
    return sum(zone_hours(zone, plan.hardness_lbf) for zone in plan.zones)


def _line_hours(plan: WorkPlan) -> float:
    return plan.lines.drawn_cm / _of("line_burning") / 60


def standard_hours(plan: WorkPlan) -> dict[Work, float]:
    """Return the hours each stage takes at the standard pace.

    Setting out is counted by the hour of burning, and once at least: a plan a
    little larger takes a little longer, never a whole session.

    Examples
    --------
    >>> plan = WorkPlan(
    ...     300, 400, 1200, "basswood", 410, (ZoneWork(1, 1200, 0.5, 0.2),), LineWork(400, 600)
    ... )
    >>> {stage.value: round(hours, 1) for stage, hours in standard_hours(plan).items()}
    {'prepare': 1.0, 'transfer': 1.4, 'burn': 10.2, 'finish': 1.0}
    """
    hundreds = plan.area_cm2 / 100
    burning = _shading_hours(plan) + _line_hours(plan)
    sessions = max(1.0, burning / _of("session_length"))
    minutes = {
        Work.PREPARE: _of("prepare_setup") + plan.sandings * hundreds * _of("sanding"),
        Work.TRANSFER: _of("transfer_setup")
        + plan.lines.drawn_cm / _of("tracing")
        + hundreds * _of("sanding_back"),
        Work.BURN: burning * 60 + sessions * _of("session_setup"),
        Work.FINISH: _of("finish_setup") + plan.coats * (_of("coat") + hundreds * _of("coat_area")),
    }
    return {stage: amount / 60 for stage, amount in minutes.items()}


def usual_line_cm(area_cm2: float, texture: float) -> float:
    """Return the length of trace lines that a piece of some area usually has, cm.

    Examples
    --------
    >>> round(usual_line_cm(1200, 0.25), -1)
    1510.0
    """
    return float(_of("line_density") * area_cm2 ** _of("line_exponent") * (1 + texture))


def coarse_plan(
    width_mm: float,
    height_mm: float,
    area_cm2: float,
    *,
    species: str = "",
    hardness_lbf: float | None = None,
    darkness: Grade = UNKNOWN_DARKNESS,
    texture: Grade = UNKNOWN_TEXTURE,
    line_cm: float | None = None,
    sandings: int = 5,
    coats: int = 3,
) -> WorkPlan:
    """Return the plan of a piece known only as a whole: a past job, or one seen by eye.

    Passes grow in proportion to darkness, so that one zone of the mean darkness
    and texture takes what its zones would, except where much wood is left bare:
    there a measured plan takes less.

    Parameters
    ----------
    width_mm, height_mm, area_cm2 : float
    species : str
    hardness_lbf : float, optional
    darkness, texture : Grade
    line_cm : float, optional
        Length of trace lines; guessed from area and texture if not given.
    sandings, coats : int

    Returns
    -------
    WorkPlan

    Examples
    --------
    >>> plan = coarse_plan(100, 150, 150, darkness=grade_by_eye(2), texture=grade_by_eye(2))
    >>> round(sum(standard_hours(plan).values()), 1)
    2.7
    """
    lines = usual_line_cm(area_cm2, texture.value) if line_cm is None else line_cm
    zone = ZoneWork(1, area_cm2, max(darkness.value, PALEST_PIECE), texture.value, line_cm=lines)
    return WorkPlan(
        width_mm=width_mm,
        height_mm=height_mm,
        area_cm2=area_cm2,
        species=species,
        hardness_lbf=hardness_lbf,
        zones=(zone,),
        lines=LineWork(firm_cm=lines),
        sandings=sandings,
        coats=coats,
        doubt=Doubt(
            darkness=darkness.doubt,
            texture=texture.doubt,
            line=LINE_DOUBT if line_cm is None else 0.0,
        ),
    )


class DoubtOf(StrEnum):
    """What of a plan may be in doubt."""

    DARKNESS = "darkness"
    TEXTURE = "texture"
    LINE = "line"
    HARDNESS = "hardness"


def doubt_in_hours(plan: WorkPlan) -> dict[DoubtOf, dict[Work, float]]:
    """Return what each doubt does to the standard hours of the stages it touches.

    Returns
    -------
    dict
        Standard deviation of the logarithm of a stage's standard hours, to first
        order; empty for a measured plan on a known wood.
    """
    hardness_doubt = 0.0 if plan.hardness_lbf else HARDNESS_DOUBT
    if plan.doubt == Doubt() and not hardness_doubt:
        return {}
    shading, line = _shading_hours(plan), _line_hours(plan)
    burning = (shading + line) or 1.0
    traced = plan.lines.drawn_cm / _of("tracing") / 60
    tone, rough = plan.darkness, plan.texture
    dark = _of("passes_dark") / (_of("passes") + _of("passes_dark") * tone)
    textured = _of("texture") / (1 + _of("texture") * rough)
    shaded = shading / burning
    return {
        DoubtOf.DARKNESS: {Work.BURN: shaded * dark * plan.doubt.darkness},
        DoubtOf.TEXTURE: {Work.BURN: shaded * textured * plan.doubt.texture},
        DoubtOf.LINE: {
            Work.BURN: line / burning * plan.doubt.line,
            Work.TRANSFER: traced / standard_hours(plan)[Work.TRANSFER] * plan.doubt.line,
        },
        DoubtOf.HARDNESS: {Work.BURN: shaded * _of("hardness_exponent") * hardness_doubt},
    }


def doubt_by_stage(plan: WorkPlan) -> dict[Work, float]:
    """Return the doubts together: a standard deviation of log hours for each stage."""
    parts = doubt_in_hours(plan).values()
    return {stage: hypot(*(part.get(stage, 0.0) for part in parts)) for stage in Work}


def log_hardness(plan: WorkPlan) -> float:
    """Return the logarithm of the hardness, from the middle of the table."""
    return log((plan.hardness_lbf or MIDDLE_LBF) / MIDDLE_LBF)
