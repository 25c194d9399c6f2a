"""The work plan: what a job asks for, and how long that takes at a standard pace.

Standard hours are a starting guess built from priors that anybody can argue
with, one by one, in :data:`PRIORS`; how this artist's hours relate to them is
learned in :mod:`burnplan.reckon.pace`.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from enum import StrEnum
from math import ceil
from typing import Any


class Work(StrEnum):
    """The stages of work, in order."""

    PREPARE = "prepare"
    TRANSFER = "transfer"
    BURN = "burn"
    FINISH = "finish"


@dataclass(frozen=True, slots=True)
class Prior:
    """A starting guess with its unit and where it comes from."""

    value: float
    unit: str
    about: str
    provenance: str = "common practice, no source"


PRIORS: Mapping[str, Prior] = {
    "prepare_setup": Prior(15, "min", "choosing, cleaning and marking the blank"),
    "sanding": Prior(1.5, "min per 100 cm² and grit", "sanding with one grit"),
    "transfer_setup": Prior(25, "min", "printing, cutting, taping, checking"),
    "tracing": Prior(45, "cm per min", "drawing over a line on graphite paper"),
    "sanding_back": Prior(1.5, "min per 100 cm²", "sanding the lines back until barely visible"),
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
    "coat": Prior(10, "min", "laying one coat, whatever the size"),
    "coat_area": Prior(0.5, "min per 100 cm²", "laying one coat"),
    "finish_setup": Prior(20, "min", "cleaning, signing, photographing"),
}
SOFTEST_LBF = 410.0
# Hardness to reckon with where a species has none on record: the table's middle.
MIDDLE_LBF = 750.0


@dataclass(frozen=True, slots=True)
class ZoneWork:
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


@dataclass(frozen=True, slots=True)
class LineWork:
    """Length of the trace lines at each pressure, cm."""

    firm_cm: float = 0.0
    light_cm: float = 0.0
    lost_cm: float = 0.0

    @property
    def drawn_cm(self) -> float:
        """What is drawn: lost edges are not."""
        return self.firm_cm + self.light_cm


@dataclass(frozen=True, slots=True)
class WorkPlan:
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
        return asdict(self)

    @classmethod
    def from_dict(cls, plain: Mapping[str, Any]) -> "WorkPlan":
        """Return the plan that :meth:`to_dict` made plain."""
        return cls(
            **{
                **plain,
                "zones": tuple(ZoneWork(**zone) for zone in plain["zones"]),
                "lines": LineWork(**plain["lines"]),
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


def zone_hours(zone: ZoneWork, hardness_lbf: float | None) -> float:
    """Return the standard hours of shading one zone."""
    strokes_mm2_per_s = _of("nib_width") * _of("stroke_speed")
    hard = ((hardness_lbf or MIDDLE_LBF) / SOFTEST_LBF) ** _of("hardness_exponent")
    seconds = zone.area_cm2 * 100 * passes(zone.darkness) / strokes_mm2_per_s
    return float(seconds / 3600 * (1 + _of("texture") * zone.texture) * hard)


def standard_hours(plan: WorkPlan) -> dict[Work, float]:
    """Return the hours each stage takes at the standard pace.

    Examples
    --------
    >>> plan = WorkPlan(
    ...     300, 400, 1200, "basswood", 410, (ZoneWork(1, 1200, 0.5, 0.2),), LineWork(400, 600)
    ... )
    >>> {stage.value: round(hours, 1) for stage, hours in standard_hours(plan).items()}
    {'prepare': 1.8, 'transfer': 1.1, 'burn': 10.2, 'finish': 1.1}
    """
    hundreds = plan.area_cm2 / 100
    shading = sum(zone_hours(zone, plan.hardness_lbf) for zone in plan.zones)
    burning = shading + plan.lines.drawn_cm / _of("line_burning") / 60
    sessions = ceil(burning / _of("session_length"))
    minutes = {
        Work.PREPARE: _of("prepare_setup") + plan.sandings * hundreds * _of("sanding"),
        Work.TRANSFER: _of("transfer_setup")
        + plan.lines.drawn_cm / _of("tracing")
        + hundreds * _of("sanding_back"),
        Work.BURN: burning * 60 + sessions * _of("session_setup"),
        Work.FINISH: _of("finish_setup") + plan.coats * (_of("coat") + hundreds * _of("coat_area")),
    }
    return {stage: amount / 60 for stage, amount in minutes.items()}
