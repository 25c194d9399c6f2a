"""The reference sheet: the photo in sepia at true size, ready to cut out and tape on."""

import os
from collections.abc import Sequence
from functools import partial

import cv2
import numpy as np
from numpy.typing import NDArray
from reportlab.platypus import Flowable

from burnplan.outline import Outline
from burnplan.sheets.drawing import Drawing
from burnplan.sheets.flowing import Compositor
from burnplan.sheets.jobs.direction import TICKS_SAY, draw_ticks
from burnplan.sheets.jobs.letters import draw_letters
from burnplan.sheets.jobs.pages import print_pages
from burnplan.sheets.jobs.panel import Facts, PrintJob
from burnplan.sheets.jobs.photo import draw_photo, packed
from burnplan.sheets.jobs.tone_key import KeyTone, draw_key, draw_strip, key_block
from burnplan.sheets.paper import A4, Box, Paper
from burnplan.sheets.writing import Written
from burnplan.tone.letters import Letters
from burnplan.tone.place import Placed
from burnplan.tone.render import sepia_of
from burnplan.tone.zones import ZoneMap
from burnplan.units import UnitSystem


def value_key(placed: Placed, zones: ZoneMap, picture: NDArray[np.uint8]) -> tuple[KeyTone, ...]:
    """Return the tones of the value zones, darkest first, as a picture of their raster shows them.

    Zones that have no area are left out; what is left bare is in none.
    """
    burned = placed.burned
    tones = []
    for zone in range(1, zones.count + 1):
        mask = ((zones.labels == zone) & burned).view(np.uint8)
        pixels = cv2.countNonZero(mask)
        if pixels == 0:
            continue
        red, green, blue = (round(value) for value in cv2.mean(picture, mask)[:3])
        tones.append(
            KeyTone(
                zone=zone,
                rgb=(red, green, blue),
                lightness=cv2.mean(placed.lightness, mask)[0],
                area_cm2=pixels * placed.pixel_area_mm2 / 100,
            )
        )
    return tuple(tones)


def reference_sheet(
    path: str | os.PathLike[str],
    picture: NDArray[np.uint8],
    outline: Outline,
    facts: Facts,
    *,
    key: Sequence[KeyTone] = (),
    paper: Paper = A4,
    left_handed: bool = False,
    mirrored: bool = False,
    whole: Sequence[Box] = (),
    ticks: Sequence[NDArray[np.float64]] = (),
    letters: Sequence[Letters] = (),
) -> Written:
    """Write the reference sheet as PDF at true size.

    The picture (RGB) covers the outline's bounding box, at any resolution; ``key`` has
    the value zones, darkest first; ``ticks`` show the direction of strokes; ``letters``
    are drawn sharp over their picture; the rest is as for
    :class:`~burnplan.sheets.jobs.panel.PrintJob`.

    Raises
    ------
    BadInput
        If the pages would be too many.
    """
    setter = Compositor()
    image = packed(picture, outline)

    def draw(drawing: Drawing) -> None:
        draw_photo(drawing, image, outline)
        draw_ticks(drawing, ticks, on_photo=True)
        draw_letters(drawing, letters, lambda one: sepia_of(100 * (1 - one.darkness)))

    job = PrintJob(
        "Reference", facts, outline, draw,
        paper, left_handed, mirrored,
        blocks=[_key_block(key, facts.units, setter, ticks)] if key else [],
        rest=partial(draw_strip, tones=key) if key else None,
        key=partial(draw_key, tones=key) if key else None,
        note=TICKS_SAY if ticks else "",
        whole=whole,
    )  # fmt: skip
    return print_pages(path, job, setter)


def _key_block(
    key: Sequence[KeyTone],
    units: UnitSystem,
    setter: Compositor,
    ticks: Sequence[NDArray[np.float64]],
) -> list[Flowable]:
    lights = [f"{tone.lightness:.0f}" for tone in key]
    notes = ["Lightness L* of the photo: 0 black, 100 white", TICKS_SAY if ticks else ""]
    note = ". ".join(filter(None, notes))
    return key_block(key, ("Value key", "L*", lights), units, setter, note)
