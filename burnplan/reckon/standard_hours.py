"""Standard hours: how long what a job asks for takes at a standard pace.

They are a starting guess built from priors that anybody can argue with, one by one,
in :data:`PRIORS`; how this artist's hours relate to them is learned in
:mod:`burnplan.reckon.pace`.
"""

from collections.abc import Mapping
from enum import StrEnum
from math import hypot, log
from typing import NamedTuple

from burnplan.reckon.work import (
    UNKNOWN_DARKNESS,
    UNKNOWN_TEXTURE,
    WHOLE_FACE,
    Doubt,
    Grade,
    LineWork,
    Work,
    WorkPlan,
    ZoneWork,
)
from burnplan.wood.finishes import USUAL_COATS
from burnplan.wood.grits import ALL_SANDINGS

_PRACTICE = "common practice, no source"
_TRACED = "own derivation: our own lines of five public photos at four sizes each"


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
    "stroke": Prior(
        8,
        "s per line",
        "finding where it starts, setting down, lifting",
        "a guess: about as long as tracing it takes",
    ),
    "sanding_back": Prior(1.5, "min per 100 cm²", "sanding the lines back until barely visible"),
    "line_density": Prior(2.0, "cm", "trace lines of a smooth piece of 1 cm²", _TRACED),
    "line_exponent": Prior(0.81, "power", "lines grow with area to this", _TRACED),
    "line_length": Prior(2.8, "cm", "a line, where they were not counted", _TRACED),
    "nib_width": Prior(1.2, "mm", "width a shading nib covers in one stroke"),
    "stroke_speed": Prior(10, "mm per s", "speed of a shading stroke"),
    "passes": Prior(1, "passes", "passes for the lightest tone"),
    "passes_dark": Prior(3, "passes", "further passes from the lightest to the darkest tone"),
    "bare_below": Prior(0.12, "darkness", "lighter areas are left partly or wholly bare"),
    "texture": Prior(1.5, "share", "further time for full texture (dense fur)"),
    "showpiece": Prior(
        2.5,
        "times",
        "burning a showpiece, against dense fur",
        "a guess: towards the 110 h that one maker reports of such a piece",
    ),
    "hardness_exponent": Prior(0.15, "power", "harder wood takes longer: (hardness/410 lbf)^this"),
    "line_burning": Prior(48, "cm per min", "burning along a firm or light line"),
    "letter_burning": Prior(
        8,
        "cm per min",
        "burning along the outline of a letter",
        "a guess: a sixth of the speed along a line",
    ),
    "session_setup": Prior(10, "min", "setting out, heating, cooling, per session"),
    "session_length": Prior(2, "h", "burning in one session"),
    "coat": Prior(5, "min", "laying one coat, whatever the size"),
    "coat_area": Prior(0.8, "min per 100 cm²", "laying one coat"),
    "finish_setup": Prior(15, "min", "cleaning, signing, photographing"),
}
SOFTEST_LBF = 410.0  # Wood Handbook, Table 5-3
# Hardness to reckon with where a species has none on record: the table's middle.
MIDDLE_LBF = 750.0

# Doubts, as standard deviations, of what is not known (own derivation: the table's
# hardnesses; five public photos' darkness, texture and lines).
HARDNESS_DOUBT = 0.45
LINE_DOUBT = 0.45  # own derivation, as above
# A piece taken as a whole is worked over, however pale: no paler than this.
PALEST_PIECE = 0.07


def _of(name: str) -> float:
    return PRIORS[name].value


def cover(darkness: float) -> float:
    """Return the share of a tone's area that is burned: below some darkness wood shows bare.

    Examples
    --------
    >>> cover(0.0), cover(0.06), cover(0.5)
    (0.0, 0.5, 1.0)
    """
    return min(1.0, max(0.0, darkness) / _of("bare_below"))


def passes(darkness: float) -> float:
    """Return how many passes a tone takes; a part of one where wood is left bare.

    Examples
    --------
    >>> passes(0.0), passes(0.06), passes(1.0)
    (0.0, 0.59, 4.0)
    """
    return cover(darkness) * (_of("passes") + _of("passes_dark") * darkness)


class Burned(NamedTuple):
    """What of a face is burned.

    Parameters
    ----------
    share : float
        Of the face, 0 to 1.
    darkness, texture : float
        Means over it.
    """

    share: float
    darkness: float
    texture: float


def burned(plan: WorkPlan) -> Burned:
    """Return what of a plan's face is burned: one zone of it takes the passes that they all do.

    Examples
    --------
    >>> plan = coarse_plan(100, 100, 100, darkness=Grade(0.5), covered=Grade(0.6))
    >>> [round(one, 6) for one in burned(plan)]
    [0.6, 0.5, 0.25]
    """
    parts = [(zone, zone.area_cm2 * cover(zone.darkness)) for zone in plan.zones]
    area = sum(part for _, part in parts)
    if not area:
        return Burned(0.0, 0.0, 0.0)
    return Burned(
        min(1.0, area / plan.area_cm2),
        sum(zone.darkness * part for zone, part in parts) / area,
        sum(zone.texture * part for zone, part in parts) / area,
    )


def _textured(texture: float) -> float:
    """Return how many times as long a texture takes as none."""
    dense = 1 + _of("texture") * min(1.0, texture)
    return float(dense * _of("showpiece") ** max(0.0, texture - 1))


def _hardness_factor(hardness_lbf: float | None) -> float:
    return float(((hardness_lbf or MIDDLE_LBF) / SOFTEST_LBF) ** _of("hardness_exponent"))


def zone_hours(zone: ZoneWork, hardness_lbf: float | None) -> float:
    """Return the standard hours of shading one zone."""
    strokes_mm2_per_s = _of("nib_width") * _of("stroke_speed")
    seconds = zone.area_cm2 * 100 * passes(zone.darkness) / strokes_mm2_per_s
    return seconds / 3600 * _textured(zone.texture) * _hardness_factor(hardness_lbf)


def _shading_hours(plan: WorkPlan) -> float:
    return sum(zone_hours(zone, plan.hardness_lbf) for zone in plan.zones)


def _line_hours(plan: WorkPlan) -> float:
    letters = plan.lines.letter_cm
    others = plan.lines.drawn_cm - letters
    return (others / _of("line_burning") + letters / _of("letter_burning")) / 60


def _tracing_hours(lines: LineWork) -> float:
    """Return the hours of tracing: by length, and for each line.

    With the prior for a line a drawing of the demo's photo takes about what the
    borders of its zones took, which were twice as long and counted by length alone.
    """
    strokes = lines.strokes
    count = lines.drawn_cm / _of("line_length") if strokes is None else strokes
    return lines.drawn_cm / _of("tracing") / 60 + count * _of("stroke") / 3600


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
    {'prepare': 1.0, 'transfer': 2.2, 'burn': 10.2, 'finish': 1.0}
    """
    hundreds = plan.area_cm2 / 100
    burning = _shading_hours(plan) + _line_hours(plan)
    sessions = max(1.0, burning / _of("session_length"))
    minutes = {
        Work.PREPARE: _of("prepare_setup") + plan.sandings * hundreds * _of("sanding"),
        Work.TRANSFER: _of("transfer_setup")
        + _tracing_hours(plan.lines) * 60
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
    780.0
    """
    return float(_of("line_density") * area_cm2 ** _of("line_exponent") * (1 + min(1.0, texture)))


def coarse_plan(
    width_mm: float,
    height_mm: float,
    area_cm2: float,
    *,
    species: str = "",
    hardness_lbf: float | None = None,
    darkness: Grade = UNKNOWN_DARKNESS,
    texture: Grade = UNKNOWN_TEXTURE,
    covered: Grade = WHOLE_FACE,
    line_cm: float | None = None,
    sandings: int = ALL_SANDINGS,
    coats: int = USUAL_COATS,
) -> WorkPlan:
    """Return the plan of a piece known only as a whole: a past job, or one seen by eye.

    Passes grow in proportion to darkness, so that one zone of the mean darkness
    and texture takes what its zones would. What is left bare is in no zone, as with a photo.

    Parameters
    ----------
    width_mm, height_mm, area_cm2 : float
    species : str
    hardness_lbf : float, optional
    darkness, texture : Grade
        Of what is burned.
    covered : Grade
        The share of the face that is burned.
    line_cm : float, optional
        Length of trace lines; guessed from the burned area and texture if not given.
    sandings, coats : int

    Returns
    -------
    WorkPlan

    Examples
    --------
    >>> from burnplan.reckon.work import grade_by_eye
    >>> plan = coarse_plan(100, 150, 150, darkness=grade_by_eye(2), texture=grade_by_eye(2))
    >>> round(sum(standard_hours(plan).values()), 1)
    2.6
    """
    burnt_cm2 = area_cm2 * covered.value
    lines = usual_line_cm(burnt_cm2, texture.value) if line_cm is None else line_cm
    zone = ZoneWork(1, burnt_cm2, max(darkness.value, PALEST_PIECE), texture.value, line_cm=lines)
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
            covered=covered.doubt / covered.value if covered.doubt else 0.0,
        ),
    )


class DoubtOf(StrEnum):
    """What of a plan may be in doubt."""

    DARKNESS = "darkness"
    TEXTURE = "texture"
    LINE = "line"
    COVERED = "covered"
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
    traced = _tracing_hours(plan.lines)
    _, tone, rough = burned(plan)
    dark = _of("passes_dark") / (_of("passes") + _of("passes_dark") * tone)
    textured = (
        _of("texture") / (1 + _of("texture") * rough) if rough <= 1 else log(_of("showpiece"))
    )
    shaded = shading / burning
    return {
        DoubtOf.DARKNESS: {Work.BURN: shaded * dark * plan.doubt.darkness},
        DoubtOf.TEXTURE: {Work.BURN: shaded * textured * plan.doubt.texture},
        DoubtOf.LINE: {
            Work.BURN: line / burning * plan.doubt.line,
            Work.TRANSFER: traced / standard_hours(plan)[Work.TRANSFER] * plan.doubt.line,
        },
        DoubtOf.COVERED: {Work.BURN: shaded * plan.doubt.covered},
        DoubtOf.HARDNESS: {Work.BURN: shaded * _of("hardness_exponent") * hardness_doubt},
    }


def doubt_by_stage(plan: WorkPlan) -> dict[Work, float]:
    """Return the doubts together: a standard deviation of log hours for each stage."""
    parts = doubt_in_hours(plan).values()
    return {stage: hypot(*(part.get(stage, 0.0) for part in parts)) for stage in Work}


def log_hardness(plan: WorkPlan) -> float:
    """Return the logarithm of the hardness, from the middle of the table."""
    return log((plan.hardness_lbf or MIDDLE_LBF) / MIDDLE_LBF)
