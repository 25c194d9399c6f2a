"""The value map: flat tones at true size, each zone as it is burned, to lie beside the bench."""

import itertools
import os
from collections.abc import Iterator, Sequence
from functools import partial

import cv2
import numpy as np
from numpy.typing import NDArray

from burnplan.sheets.drawing import INK, PAPER, RGB, Drawing
from burnplan.sheets.flowing import Compositor
from burnplan.sheets.jobs.letters import draw_letters
from burnplan.sheets.jobs.marks import ZoneMarks, draw_borders, draw_marks
from burnplan.sheets.jobs.pages import print_pages
from burnplan.sheets.jobs.panel import Facts, PrintJob
from burnplan.sheets.jobs.tone_key import KeyTone, draw_key, draw_strip, key_block
from burnplan.sheets.paper import A4, Box, Paper
from burnplan.sheets.writing import Written
from burnplan.tone.analysis import PhotoAnalysis
from burnplan.tone.chains import Chains
from burnplan.tone.place import outline_mask
from burnplan.tone.strip import tone_of

_BLURS = 4  # along a border: take out its staircase of pixels
_EVERY = 3  # point of a border
_DARK = 55.0  # L* below which marks on a tone are light
_TOLD_APART = 6.0  # L*: tones nearer to each other have a seam
_SEAM, _SEAM_MM = 12.0, 0.1  # how much lighter, L*, and how wide it is
_PALE_DOTS: RGB = (205, 200, 194)
_DARK_DOTS: RGB = (78, 72, 68)
_LOST = "Along dots an edge is lost: let the tones melt"
_NOTE = (
    "Darkness: 0 % is bare wood, 100 % its darkest burn. Marks stand on areas worth burning "
    f"by themselves. {_LOST}"
)


def value_map(
    path: str | os.PathLike[str],
    reading: PhotoAnalysis,
    marks: ZoneMarks,
    facts: Facts,
    *,
    wood_lightness: float,
    burn_lightness: float,
    paper: Paper = A4,
    whole: Sequence[Box] = (),
) -> Written:
    """Write the value map as PDF at true size.

    Parameters
    ----------
    path : path
    reading : PhotoAnalysis
    marks : ZoneMarks
        Of the same photo.
    facts : Facts
    wood_lightness, burn_lightness : float
        L* of the bare wood and of its darkest burn.
    paper, whole
        As for :class:`~burnplan.sheets.jobs.panel.PrintJob`.

    Raises
    ------
    BadInput
        If the pages would be too many.
    """
    setter, outline = Compositor(), reading.placed.outline
    measures = [one for one in reading.measures if one.area_cm2]
    tones = [
        KeyTone(one.zone, tone_of(light), light, one.area_cm2)
        for one in measures
        for light in [wood_lightness - one.darkness * (wood_lightness - burn_lightness)]
    ]
    darkness = [f"{one.darkness:.0%}".replace("%", " %") for one in measures]
    by_zone = {tone.zone: tone for tone in tones}
    dark = {tone.zone for tone in tones if tone.lightness < _DARK}

    def draw(drawing: Drawing) -> None:
        bare = Box(0, 0, outline.width_mm, outline.height_mm)
        drawing.box(bare, fill=tone_of(wood_lightness), stroke=False)
        drawing.canvas.setLineJoin(1)
        pixel = 1 / reading.placed.px_per_mm  # borders run along the middles of pixels inside
        lighter = wood_lightness
        for zone, rings in _rings(reading):
            if zone not in by_zone:
                continue
            tone = by_zone[zone]
            drawing.area(rings, tone.rgb, pixel)
            if lighter - tone.lightness < _TOLD_APART:
                drawing.stroke(tone_of(tone.lightness + _SEAM), _SEAM_MM)
                drawing.paths((ring, True) for ring in rings)
            lighter = tone.lightness
        # Bare wood begins where it begins: no tone is to melt into it.
        lost = marks._replace(borders=tuple(one for one in marks.borders if one.zone))
        draw_borders(drawing, lost, lambda zone: _PALE_DOTS if zone in dark else _DARK_DOTS)
        draw_marks(drawing, marks, lambda zone: PAPER if zone in dark else INK)
        draw_letters(
            drawing,
            reading.letters,
            lambda one: tone_of(wood_lightness - one.darkness * (wood_lightness - burn_lightness)),
        )

    blocks = [key_block(tones, ("Value zones", "darkness", darkness), facts.units, setter, _NOTE)]
    job = PrintJob(
        "Value map", facts, outline, draw, paper,
        left_handed=False, mirrored=False, taped=False,
        blocks=blocks, rest=partial(draw_strip, tones=tones),
        key=partial(draw_key, tones=tones, figures=darkness), note=_LOST, whole=whole,
    )  # fmt: skip
    return print_pages(path, job, setter)


def _rings(reading: PhotoAnalysis) -> Iterator[tuple[int, list[NDArray[np.float64]]]]:
    """Yield each zone but the lightest, and what goes round all that is as dark, in mm.

    The lightest comes first: zones lie on each other like the steps of a map of heights.
    What is left bare counts as one zone more.
    """
    placed, zones = reading.placed, reading.zones
    levels = np.where(placed.burned, zones.labels, np.uint8(zones.count + 1))
    on_wood = outline_mask(placed.outline, levels.shape, placed.px_per_mm)
    if not on_wood.all():  # tones go on past the staircase of pixels
        beside = cv2.erode(np.where(on_wood, levels, np.uint8(255)), np.ones((5, 5), np.uint8))
        levels = np.where(on_wood, levels, beside)
    levels = cv2.copyMakeBorder(levels, 2, 2, 2, 2, cv2.BORDER_REPLICATE)
    for zone in range(zones.count, 0, -1):
        rings = Chains.around((levels <= zone).view(np.uint8))
        smooth = (rings.blurred(_BLURS) - 1.5) / placed.px_per_mm
        yield zone, [smooth[a:b:_EVERY] for a, b in itertools.pairwise(rings.starts.tolist())]
