"""The reference sheet: the photo in sepia at true size, ready to cut out and tape on."""

import io
import os
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.platypus import Flowable

from burnplan.outline import Outline
from burnplan.sheets.drawing import HAIR, INK, SOFT, Align, Drawing, colour_of
from burnplan.sheets.flowing import Compositor, gap, rule, table
from burnplan.sheets.jobs.pages import CUT_MM, print_pages
from burnplan.sheets.jobs.panel import SMALL_POINTS, TEXT_POINTS, Facts, PrintJob, heading
from burnplan.sheets.lettering import BOLD, POINTS_PER_MM
from burnplan.sheets.paper import A4, Box, Paper
from burnplan.sheets.writing import Written
from burnplan.tone.place import Placed, outline_mask
from burnplan.tone.zones import ZoneMap
from burnplan.units import MM_PER_INCH, UnitSystem

_JPEG_QUALITY = 92


@dataclass(frozen=True, slots=True)
class KeyTone:
    """A value zone in the key: its mean colour on the sheet, its mean L* in the reference."""

    zone: int
    rgb: tuple[int, int, int]
    lightness: float
    area_cm2: float


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
) -> Written:
    """Write the reference sheet as PDF at true size.

    The picture (RGB) covers the outline's bounding box, at any resolution; ``key`` has
    the value zones, darkest first; the rest is as for
    :class:`~burnplan.sheets.jobs.panel.PrintJob`.

    Raises
    ------
    BadInput
        If the pages would be too many.
    """
    setter = Compositor()
    image = _as_jpeg(_carried_over_the_edge(picture, outline))
    size = outline.width_mm * POINTS_PER_MM, outline.height_mm * POINTS_PER_MM
    job = PrintJob(
        "Reference", facts, outline, lambda drawing: drawing.canvas.drawImage(image, 0, 0, *size),
        paper, left_handed, mirrored,
        blocks=[_key_block(key, facts.units, setter)] if key else [],
        rest=partial(_draw_strip, key=key) if key else None,
        key=partial(_draw_key, key=key) if key else None,
        whole=whole,
    )  # fmt: skip
    return print_pages(path, job, setter)


def _carried_over_the_edge(picture: NDArray[np.uint8], outline: Outline) -> NDArray[np.uint8]:
    """Carry colours on past the outline's staircase of pixels, so that it cuts through colour."""
    height, width = picture.shape[:2]
    inside = outline_mask(outline, (height, width), width / outline.width_mm)
    if inside.all():
        return picture
    weight = inside.astype(np.float32)
    near = cv2.blur(weight, (5, 5), borderType=cv2.BORDER_CONSTANT)
    colour = cv2.blur(picture * weight[..., None], (5, 5), borderType=cv2.BORDER_CONSTANT)
    rim = (near > 0) & ~inside
    carried = picture.copy()
    carried[rim] = np.rint(colour[rim] / near[rim][:, None]).astype(np.uint8)
    return carried


def _as_jpeg(picture: NDArray[np.uint8]) -> ImageReader:
    """Pack a picture so that the PDF carries it as it is, without loss that shows."""
    packed = io.BytesIO()
    Image.fromarray(picture).save(packed, "JPEG", quality=_JPEG_QUALITY, subsampling=0)
    packed.seek(0)
    return ImageReader(packed)


_ROW_MM = 5.6
_STRIP_MM = 34.0
_SMALL_CM2 = 60.0  # below this, areas are shown to a tenth


def _key_block(key: Sequence[KeyTone], units: UnitSystem, setter: Compositor) -> list[Flowable]:
    """Return a wedge of tones, darkest on top, with lightness and area."""
    fine = max(tone.area_cm2 for tone in key) < _SMALL_CM2
    figure = partial(setter.text, points=TEXT_POINTS, align=Align.RIGHT)
    small = partial(setter.text, points=SMALL_POINTS, colour=SOFT)
    heads = [small(head, align=Align.RIGHT) for head in ("L*", "area")]
    rows = [[setter.text("Value key", TEXT_POINTS, BOLD), "", "", *heads]]
    tones = []
    for number, tone in enumerate(key, start=1):
        tones.append(("BACKGROUND", (0, number), (0, number), colour_of(tone.rgb)))
        name = setter.text(f"Z{tone.zone}", TEXT_POINTS, BOLD)
        area = figure(_area(tone.area_cm2, fine, units))
        rows.append(["", "", name, figure(f"{tone.lightness:.0f}"), area])
    wedge = table(
        rows,
        [15, 3, 9, 10, 20],
        *tones,
        ("SPAN", (0, 0), (2, 0)),
        ("TOPPADDING", (0, 1), (-1, -1), 2.4),
        rule("BOX", (0, 1), (0, -1), HAIR, 0.1),
        heights_mm=[5, *[_ROW_MM] * len(key)],
    )
    return [wedge, gap(1), small("Lightness L* of the photo: 0 black, 100 white")]


def _draw_key(drawing: Drawing, room: Box, key: Sequence[KeyTone]) -> None:
    """Draw the tones in one line, each with its zone."""
    pitch = min(18.0, room.width / len(key))
    for number, tone in enumerate(key):
        x = room.x + number * pitch
        drawing.box(Box(x, room.y, pitch - 7, room.height - 0.5), fill=tone.rgb, stroke=False)
        drawing.text(x + pitch - 6, room.y + room.height - 1.2, f"Z{tone.zone}", SMALL_POINTS)


def _area(cm2: float, fine: bool, units: UnitSystem) -> str:
    """Show an area with as many decimals as the others in its column."""
    decimals = 1 if fine else 0
    if units is UnitSystem.IMPERIAL:
        return f"{cm2 * 100 / MM_PER_INCH**2:.{decimals}f} in²"
    return f"{cm2:.{decimals}f} cm²"


def _draw_strip(drawing: Drawing, room: Box, key: Sequence[KeyTone]) -> None:
    """Draw the tones side by side, to be held against the wood while burning."""
    heading(drawing, room.x, room.y, "Strip of tones")
    drawing.text(
        room.x, room.y + 7, "Cut it out and hold it beside the burn", SMALL_POINTS, colour=SOFT
    )
    width = room.width / len(key)
    strip = Box(room.x, room.y + 11, width, _STRIP_MM)
    for number, tone in enumerate(key):
        x = strip.x + width * number
        drawing.box(Box(x, strip.y, width, _STRIP_MM), fill=tone.rgb, stroke=False)
        name, middle = f"Z{tone.zone}", x + width / 2
        y = strip.bottom + 4.5
        drawing.text(middle, y, name, TEXT_POINTS, weight=BOLD, align=Align.MIDDLE)
    drawing.stroke(INK, CUT_MM)
    drawing.box(Box(room.x, strip.y, room.width, _STRIP_MM + 7))
