"""A photo read for a piece: what is asked of it, and the work that it amounts to."""

from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from burnplan.outline import Outline
from burnplan.passes import Pass
from burnplan.progress import Progress
from burnplan.reckon.work import LineWork, PassWork, WorkPlan, ZoneWork
from burnplan.wood import finishes, grits
from burnplan.wood.species import Species
from burnplan.zoning import DEFAULT_ZONES, MIN_AREA_MM2

if TYPE_CHECKING:
    from burnplan.desk.jobs.joined import Joined
    from burnplan.desk.jobs.layouts import Layout
    from burnplan.lettering.laying import Inscription
    from burnplan.tone.analysis import PhotoAnalysis
    from burnplan.tone.letters import Letters
    from burnplan.tone.lines import Lines


@dataclass(frozen=True, slots=True)
class EstimateRequest:
    """What is asked of a photo.

    Parameters
    ----------
    outline : Outline
    species : Species
    zones : int
    thresholds : tuple of float, optional
    min_area_mm2 : float
    sandings, coats : int
        To do on the face, and of the finish.
    layout : Layout, optional
        Filled, centred and with its tones as they are if not given.
    mask : Path or bytes, optional
        Image of what to keep of the photo, white, and drop out, black.
    seek_subject : bool
        Whether to look for a likely subject: to place the photo by where nothing else says
        how it lies, and to offer.
    lettering : tuple of Inscription
    joined : Joined, optional
        The photos that the picture was composed from.
    """

    outline: Outline
    species: Species
    zones: int = DEFAULT_ZONES
    thresholds: tuple[float, ...] | None = None
    min_area_mm2: float = MIN_AREA_MM2
    sandings: int = grits.ALL_SANDINGS
    coats: int = finishes.USUAL_COATS
    layout: "Layout | None" = None
    mask: Path | bytes | None = None
    seek_subject: bool = False
    lettering: "tuple[Inscription, ...]" = ()
    joined: "Joined | None" = None


def letters_of(asked: EstimateRequest) -> "tuple[Letters, ...]":
    """Return what is lettered on a piece, laid on its outline.

    Raises
    ------
    BadInput
        If it does not fit.
    """
    if not asked.lettering:
        return ()
    from burnplan.lettering.laying import laid

    margin = asked.layout.placement.margin_mm if asked.layout else 0.0
    return tuple(laid(one, asked.outline, margin) for one in asked.lettering)


def read(
    photo: Path, asked: EstimateRequest, on_progress: Progress | None = None
) -> "PhotoAnalysis":
    """Read a photo laid on the outline asked for.

    Raises
    ------
    BadInput
        If the photo or a number cannot be used, or lettering does not fit.
    """
    from burnplan.desk.jobs.joined import on_piece
    from burnplan.desk.jobs.layouts import Layout
    from burnplan.tone.analysis import analyse_photo

    source, asked = on_piece(photo, asked)
    layout = asked.layout or Layout()
    letters = letters_of(asked)
    return analyse_photo(
        source,
        asked.outline,
        placement=layout.placement,
        control=layout.control,
        focal=layout.focal,
        mask=asked.mask,
        detail=layout.line,
        likely=layout.likely,
        seek_subject=asked.seek_subject,
        wood_lightness=asked.species.bare_lightness,
        burn_lightness=asked.species.darkest_burn,
        zones=asked.zones,
        thresholds=asked.thresholds,
        min_area_mm2=asked.min_area_mm2,
        letters=letters,
        on_progress=on_progress,
    )


def plan_of(reading: "PhotoAnalysis", asked: EstimateRequest) -> WorkPlan:
    """Return the work plan that a reading amounts to."""
    return WorkPlan(
        width_mm=asked.outline.width_mm,
        height_mm=asked.outline.height_mm,
        area_cm2=asked.outline.area_cm2,
        species=asked.species.key,
        hardness_lbf=asked.species.hardness_lbf,
        zones=tuple(
            ZoneWork(m.zone, m.area_cm2, m.darkness, m.texture, m.islands, m.line_cm)
            for m in reading.measures
        ),
        lines=_line_work(reading.lines),
        sandings=asked.sandings,
        coats=asked.coats,
    )


def _line_work(lines: "Lines") -> LineWork:
    """Return what lines ask of the hand."""
    by_pressure = Counter(line.pressure.value for line in lines.drawn)
    by_pass = {one: [line for line in lines.drawn if line.in_pass is one] for one in Pass}
    return LineWork(
        firm_cm=lines.firm_cm,
        light_cm=lines.light_cm,
        lost_cm=lines.lost_cm,
        firm_strokes=by_pressure["firm"],
        light_strokes=by_pressure["light"],
        passes=tuple(
            PassWork(sum(line.length_mm for line in drawn) / 10, len(drawn))
            for drawn in by_pass.values()
        ),
        letter_cm=sum(line.length_mm for line in lines.drawn if line.of_letter) / 10,
    )
