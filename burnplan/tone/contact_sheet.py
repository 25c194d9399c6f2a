"""A reference at a glance: sepia, on its wood, its zones and its lines, on one sheet."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from burnplan.tone import render
from burnplan.tone.lines import Lines
from burnplan.tone.place import Placed
from burnplan.tone.region import outline_polygon
from burnplan.tone.typeface import face
from burnplan.tone.zones import ZoneMap
from burnplan.units import UnitSystem, format_runs, format_size

# Colours, and sizes in pixels (our own layout).
_SHEET, _INK, _SOFT, _HAIRLINE = (250, 247, 242), (52, 42, 34), (122, 108, 96), (196, 184, 170)
_PANEL_AREA = 560_000  # of each picture's box; our own layout
_MARGIN, _GUTTER = 84, 56  # our own layout
_TITLE, _CAPTION, _SMALL, _SWATCH = 46, 30, 24, 30  # our own layout


@dataclass(frozen=True, slots=True)
class _Panel:
    """A picture on the contact sheet, what it is, and what more can be said of it.

    More than one word has a swatch to each, or a stroke of the pressures in order.
    """

    picture: NDArray[np.uint8]
    caption: str
    more: tuple[str, ...]
    swatches: NDArray[np.uint8] | None = None


def contact_sheet(
    placed: Placed,
    zones: ZoneMap,
    lines: Lines,
    wood_lightness: float,
    burn_lightness: float,
    *,
    title: str = "",
    wood: str = "wood",
    wood_ab: tuple[float, float] = render.WOOD_AB,
    units: UnitSystem = UnitSystem.METRIC,
) -> NDArray[np.uint8]:
    """Return sepia, wood preview, value zones and trace lines side by side.

    Portraits stand in one row; what is much wider than high makes two.

    Parameters
    ----------
    placed : Placed
    zones : ZoneMap
    lines : Lines
    wood_lightness, burn_lightness : float
        L* of the bare wood and of its darkest burn.
    title : str, optional
        Written above; letters that the face lacks become boxes.
    wood : str, optional
        Name of the wood, for the caption.
    wood_ab : tuple of float, optional
        a* and b* of the bare wood.
    units : UnitSystem, optional
        For what is said of sizes and lengths.

    Returns
    -------
    ndarray of uint8, shape (H, W, 3)
        sRGB.
    """
    outline = placed.outline
    firm, light, lost, _ = format_runs([lines.firm_cm, lines.light_cm, lines.lost_cm], units)
    burned = zones.labels[placed.burned]
    share = np.bincount(burned, minlength=zones.count + 1)[1:] / max(1, len(burned))
    panels = (
        _Panel(render.sepia(placed), "Sepia reference", (format_size(outline, units),)),
        _Panel(
            render.wood_preview(placed, wood_lightness, burn_lightness, wood_ab),
            f"On {wood}",
            (f"L* {burn_lightness:.0f} to {wood_lightness:.0f}, grain left out",),
        ),
        _Panel(
            render.zone_map(zones, placed)[..., :3],
            "One value zone" if zones.count == 1 else f"{zones.count} value zones",
            tuple(f"{part * 100:.0f} %" for part in share),
            render.zone_palette(zones.count),
        ),
        _Panel(
            render.trace_overlay(lines, placed, scale=2),
            "Trace lines",
            (
                f"{firm} firm",
                f"{light} light",
                f"{lost} left open",
            ),
        ),
    )
    aspect = outline.width_mm / outline.height_mm
    columns = 2 if aspect > 1.2 else 4
    width = round((_PANEL_AREA * aspect) ** 0.5)
    height = round(width / aspect)
    head = _MARGIN + (_TITLE + 44 if title else 0)
    pitch = height + _CAPTION + _SMALL + _SWATCH + 68
    sheet = Image.new(
        "RGB",
        (
            2 * _MARGIN + columns * width + (columns - 1) * _GUTTER,
            head + len(panels) // columns * pitch + _MARGIN - 44,
        ),
        _SHEET,
    )
    draw = ImageDraw.Draw(sheet)
    if title:
        shown = _shortened(title, sheet.width - 2 * _MARGIN)
        draw.text((_MARGIN, _MARGIN), shown, _INK, face("Semibold", _TITLE), "la")
    mask = _shrunk_to(np.where(placed.inside, 255, 0).astype(np.uint8), width, height)
    edge = outline_polygon(outline) * (width / outline.width_mm, height / outline.height_mm)
    for place, panel in enumerate(panels):
        x = _MARGIN + place % columns * (width + _GUTTER)
        y = head + place // columns * pitch
        picture = Image.fromarray(_shrunk_to(panel.picture, width, height))
        sheet.paste(picture, (x, y), Image.fromarray(mask))
        corners = [(x + float(at[0]), y + float(at[1])) for at in (*edge, edge[0])]
        draw.line(corners, _HAIRLINE, 2, "curve")
        _caption(draw, panel, (x, y + height + 18), width)
    return np.asarray(sheet, np.uint8)


def _caption(draw: ImageDraw.ImageDraw, panel: _Panel, at: tuple[int, int], width: int) -> None:
    """Write under a picture what it is."""
    x, y = at
    draw.text((x, y), panel.caption, _INK, face("Semibold", _CAPTION), "la")
    y += _CAPTION + 12
    small = face("Regular", _SMALL)
    if panel.swatches is None:
        for weight, text in zip((3, 1, 0), panel.more, strict=False):
            if x > at[0] and x + 52 + small.getlength(text) > at[0] + width:
                x, y = at[0], y + _SMALL + 8
            if len(panel.more) > 1:
                across = (x, y + _SMALL // 2 + 4, x + 40, y + _SMALL // 2 + 4)
                draw.line(across, render.LINE_RED if weight else _HAIRLINE, max(weight, 1))
                x += 52
            draw.text((x, y), text, _SOFT, small, "la")
            x += round(small.getlength(text)) + 32
        return
    step = width / len(panel.swatches)
    for number, (colour, text) in enumerate(zip(panel.swatches, panel.more, strict=True)):
        left = x + number * step
        box = (round(left), y + 3, round(left + step) - 1, y + 3 + _SWATCH)
        draw.rectangle(box, fill=tuple(int(value) for value in colour))
        label = f"Z{number + 1}  {text}" if step > 104 else f"Z{number + 1}"
        draw.text((left, y + _SWATCH + 12), label, _SOFT, small, "la")


def _shrunk_to(picture: NDArray[np.uint8], width: int, height: int) -> NDArray[np.uint8]:
    """Scale a picture to a size, averaging where it shrinks."""
    smaller = picture.shape[1] >= width
    method = cv2.INTER_AREA if smaller else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(picture, (width, height), interpolation=method), np.uint8)


def _shortened(text: str, width: int) -> str:
    """Cut a title to a width."""
    shown = " ".join(text.split())
    while shown and face("Semibold", _TITLE).getlength(shown) > width:
        shown = shown[:-2].rstrip(" …") + "…"
    return shown
