"""Pictures of a reference: sepia, as the wood will hold it, its zones, its lines."""

import io
import os
from dataclasses import dataclass
from functools import cache
from importlib import resources

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray
from PIL import Image, ImageDraw, ImageFont
from PIL.PngImagePlugin import PngInfo

from burnplan.files import written_whole
from burnplan.tone.lightness import on_wood, srgb_of_lab
from burnplan.tone.lines import Lines
from burnplan.tone.passes import Pressure
from burnplan.tone.place import Placed
from burnplan.tone.region import outline_mask, outline_polygon
from burnplan.tone.zones import ZoneMap
from burnplan.units import MM_PER_INCH, UnitSystem, format_runs, format_size

# Stops of tonal scales as L*, a*, b*, darkest first: a dark brown that is not
# black, warmest in the shadows' upper half, cream at the light end (our own choice, by eye).
_SEPIA = ((4, 3, 4), (24, 10, 13), (50, 11, 20), (76, 6, 17), (98, 0.5, 4))
_CHAR = (7.0, 13.0)  # a*, b* of burned wood; our own estimate, by eye
WOOD_AB = (7.0, 21.0)  # a*, b* of pale bare wood; our own estimate, by eye
_PAPER = (255, 255, 255)  # by definition
_LINE_RED = (196, 32, 38)  # our own choice: red shows on grey and on wood
_WEIGHT_MM = {
    Pressure.FIRM: 0.55,
    Pressure.LIGHT: 0.3,
    Pressure.LOST: 0.0,
}  # our own choice: as pens write
_SUBPIXEL_BITS = 4  # by definition

# The contact sheet: colours, and sizes in pixels (our own layout).
_SHEET, _INK, _SOFT, _HAIRLINE = (250, 247, 242), (52, 42, 34), (122, 108, 96), (196, 184, 170)
_PANEL_AREA = 560_000  # of each picture's box; our own layout
_MARGIN, _GUTTER = 84, 56  # our own layout
_TITLE, _CAPTION, _SMALL, _SWATCH = 46, 30, 24, 30  # our own layout


def sepia(placed: Placed) -> NDArray[np.uint8]:
    """Return the photo in sepia, its lightness kept.

    Parameters
    ----------
    placed : Placed

    Returns
    -------
    ndarray of uint8, shape (H, W, 3)
        sRGB; white outside.
    """
    return _toned(placed.lightness, placed.inside, _SEPIA)


def sepia_of(lightness: float) -> tuple[int, int, int]:
    """Return the colour that a lightness L* has in sepia, sRGB."""
    red, green, blue = srgb_of_lab(_along([lightness], _SEPIA))[0].tolist()
    return red, green, blue


def wood_preview(
    placed: Placed,
    wood_lightness: float,
    burn_lightness: float,
    wood_ab: tuple[float, float] = WOOD_AB,
) -> NDArray[np.uint8]:
    """Return the photo as this wood can hold it, without grain.

    Parameters
    ----------
    placed : Placed
    wood_lightness, burn_lightness : float
        L* of the bare wood and of its darkest burn.
    wood_ab : tuple of float, optional
        a* and b* of the bare wood; pale wood by default.

    Returns
    -------
    ndarray of uint8, shape (H, W, 3)
        sRGB; bare wood where the photo does not reach, white outside the outline.
    """
    light = on_wood(placed.lightness, wood_lightness, burn_lightness)
    return _toned(light, placed.inside, _wood_stops(wood_lightness, burn_lightness, wood_ab))


def burned_in(
    face: NDArray[np.uint8], placed: Placed, wood_lightness: float, burn_lightness: float
) -> NDArray[np.uint8]:
    """Return the photo as if burned into a photo of the wood itself: its grain shows through.

    Parameters
    ----------
    face : ndarray of uint8, shape (h, w, 3)
        The outline's bounding box from straight above, sRGB, under even light.
    placed : Placed
    wood_lightness, burn_lightness : float
        L* of the bare wood, as which the face is shown, and of its darkest burn.

    Returns
    -------
    ndarray of uint8, shape (H, W, 3)
        sRGB; bare wood where nothing is burned, white outside the outline.
    """
    shape = placed.inside.shape
    if face.shape[:2] != shape:
        face = np.asarray(cv2.resize(face, shape[::-1], interpolation=cv2.INTER_AREA), np.uint8)
    mask = outline_mask(placed.outline, shape, placed.px_per_mm)
    lab = np.asarray(cv2.cvtColor(face.astype(np.float32) / 255, cv2.COLOR_RGB2LAB), np.float32)
    lab[..., 0] += np.float32(wood_lightness - np.median(lab[..., 0][mask]))
    dark = np.where(placed.inside, 1 - placed.lightness / np.float32(100), np.float32(0))
    dark = np.clip(dark, 0, 1).astype(np.float32)
    for channel, end, hump in ((0, burn_lightness, 0), (1, _CHAR[0], 4), (2, _CHAR[1], 5)):
        # Scorched wood is redder than either end, as in :func:`wood_tones`.
        lab[..., channel] += dark * (np.float32(end) - lab[..., channel])
        lab[..., channel] += np.float32(hump) * (1 - np.abs(2 * dark - 1))
    lab[..., 0] = np.clip(lab[..., 0], 0, 100)
    rgb = np.clip(np.asarray(cv2.cvtColor(lab, cv2.COLOR_LAB2RGB)), 0, 1)
    picture = np.asarray(np.rint(rgb * 255), np.uint8)
    picture[~mask] = _PAPER
    return picture


def _wood_stops(
    wood_lightness: float, burn_lightness: float, wood_ab: tuple[float, float]
) -> tuple[tuple[float, float, float], ...]:
    middle = (wood_lightness + burn_lightness) / 2
    return (
        (burn_lightness, *_CHAR),
        # Scorched wood is redder than either end (toasted tones).
        (middle, (wood_ab[0] + _CHAR[0]) / 2 + 4, (wood_ab[1] + _CHAR[1]) / 2 + 5),
        (wood_lightness, *wood_ab),
    )


def wood_tones(
    lightness: ArrayLike,
    wood_lightness: float,
    burn_lightness: float,
    wood_ab: tuple[float, float] = WOOD_AB,
) -> NDArray[np.uint8]:
    """Return the colours of burned wood of some lightness, as :func:`wood_preview` has them.

    Parameters
    ----------
    lightness : array_like, shape (K,)
        L* on the wood.
    wood_lightness, burn_lightness : float
    wood_ab : tuple of float, optional

    Returns
    -------
    ndarray of uint8, shape (K, 3)
    """
    return srgb_of_lab(_along(lightness, _wood_stops(wood_lightness, burn_lightness, wood_ab)))


def zone_palette(count: int) -> NDArray[np.uint8]:
    """Return a colour for each zone, evenly spaced in lightness, Z1 darkest.

    Parameters
    ----------
    count : int

    Returns
    -------
    ndarray of uint8, shape (count, 3)
    """
    tones = np.linspace(16, 94, count) if count > 1 else np.array([60.0])
    return srgb_of_lab(_along(tones, _SEPIA))


def sepia_tones(count: int) -> NDArray[np.uint8]:
    """Return colours of the sepia scale, evenly spaced in lightness from black to white.

    Parameters
    ----------
    count : int

    Returns
    -------
    ndarray of uint8, shape (count, 3)
    """
    return srgb_of_lab(_along(np.linspace(0, 100, count), _SEPIA))


def zone_map(zones: ZoneMap, placed: Placed | None = None) -> NDArray[np.uint8]:
    """Return the value zones in flat tones with a fine seam between them.

    Parameters
    ----------
    zones : ZoneMap
    placed : Placed, optional
        Tells what is left bare and belongs to no zone, which is white, and lettering.

    Returns
    -------
    ndarray of uint8, shape (H, W, 4)
        sRGB and alpha; outside is white and fully transparent.
    """
    colours = np.concatenate([np.full((1, 3), 255, np.uint8), zone_palette(zones.count)])
    rgb = np.take(colours, zones.labels, axis=0)
    seam = np.zeros(zones.labels.shape, np.bool_)
    seam[:, 1:] |= zones.labels[:, 1:] > zones.labels[:, :-1]
    seam[1:] |= zones.labels[1:] > zones.labels[:-1]
    rgb[seam & (zones.labels > 0)] = (rgb[seam & (zones.labels > 0)] * 0.82).astype(np.uint8)
    if placed is not None:
        if placed.bare is not None:
            rgb[placed.bare] = _PAPER
        if placed.lettered is not None:
            lettered = placed.lettered & placed.inside
            rgb[lettered] = srgb_of_lab(_along(placed.lightness[lettered], _SEPIA))
    alpha = np.where(zones.labels > 0, 255, 0).astype(np.uint8)
    return np.dstack([rgb, alpha])


# How much of the photo shows under lines: enough to know it by, and all lines stand out (our
# own choice, by eye); and pixels of the picture to one of the raster, so that lines are smooth
# where they are drawn on it (our own choice).
FAINT, _CRISP = 0.25, 2


def faint_photo(placed: Placed, faint: float = FAINT) -> NDArray[np.uint8]:
    """Return the photo so faint that lines show on it.

    Parameters
    ----------
    placed : Placed
    faint : float, optional
        How much of it shows, over 0 (none) to 1.

    Returns
    -------
    ndarray of uint8, shape (H, W, 3)
        sRGB; white outside.
    """
    darkest = 100 - 70 * faint
    ground = on_wood(placed.lightness, 100, darkest)
    return _toned(ground, placed.inside, ((darkest, 4, 12), (100, 0, 0)))


def trace_overlay(
    lines: Lines, placed: Placed, *, faint: float = FAINT, scale: int = _CRISP
) -> NDArray[np.uint8]:
    """Return the trace lines in red, weight by pressure, over a faint ground.

    Parameters
    ----------
    lines : Lines
    placed : Placed
    faint : float, optional
        How much of the photo shows, over 0 (none) to 1.
    scale : int, optional
        Pixels of the picture to a pixel of the working raster, for crisp lines.

    Returns
    -------
    ndarray of uint8, shape (scale·H, scale·W, 3)
        sRGB; lost lines are left open, outside is white.
    """
    picture = faint_photo(placed, faint)
    if scale != 1:
        picture = np.asarray(
            cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_LINEAR), np.uint8
        )
    px_per_mm = placed.px_per_mm * scale
    for pressure in (Pressure.LIGHT, Pressure.FIRM):
        width = max(1, round(_WEIGHT_MM[pressure] * px_per_mm))
        for closed in (False, True):
            chains = [
                # cv2 counts from pixel centres, millimetres from the corner.
                np.rint((line.points * px_per_mm - 0.5) * 2**_SUBPIXEL_BITS).astype(np.int32)
                for line in lines.lines
                if line.pressure is pressure and line.closed is closed
            ]
            cv2.polylines(picture, chains, closed, _LINE_RED, width, cv2.LINE_AA, _SUBPIXEL_BITS)
    # Strokes are cut off square at the outline.
    outside = np.repeat(np.repeat(~placed.inside, scale, axis=0), scale, axis=1)
    picture[outside] = _PAPER
    return picture


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
    wood_ab: tuple[float, float] = WOOD_AB,
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
        _Panel(sepia(placed), "Sepia reference", (format_size(outline, units),)),
        _Panel(
            wood_preview(placed, wood_lightness, burn_lightness, wood_ab),
            f"On {wood}",
            (f"L* {burn_lightness:.0f} to {wood_lightness:.0f}, grain left out",),
        ),
        _Panel(
            zone_map(zones, placed)[..., :3],
            "One value zone" if zones.count == 1 else f"{zones.count} value zones",
            tuple(f"{part * 100:.0f} %" for part in share),
            zone_palette(zones.count),
        ),
        _Panel(
            trace_overlay(lines, placed, scale=2),
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
        draw.text((_MARGIN, _MARGIN), shown, _INK, _face("Semibold", _TITLE), "la")
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
    draw.text((x, y), panel.caption, _INK, _face("Semibold", _CAPTION), "la")
    y += _CAPTION + 12
    small = _face("Regular", _SMALL)
    if panel.swatches is None:
        for weight, text in zip((3, 1, 0), panel.more, strict=False):
            if len(panel.more) > 1:
                across = (x, y + _SMALL // 2 + 4, x + 40, y + _SMALL // 2 + 4)
                draw.line(across, _LINE_RED if weight else _HAIRLINE, max(weight, 1))
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


@cache
def _face(weight: str, size: int) -> ImageFont.FreeTypeFont:
    """Return the face of printed sheets, Source Sans (SIL Open Font License)."""
    folder = resources.files("font_source_sans_pro") / "files"
    data = (folder / f"SourceSansPro-{weight}.ttf").read_bytes()
    return ImageFont.truetype(io.BytesIO(data), size)


def small_face(size: int) -> ImageFont.FreeTypeFont:
    """Return the face that numbers in pictures are written in, of a height in pixels."""
    return _face("Semibold", size)


def _shortened(text: str, width: int) -> str:
    """Cut a title to a width."""
    shown = " ".join(text.split())
    while shown and _face("Semibold", _TITLE).getlength(shown) > width:
        shown = shown[:-2].rstrip(" …") + "…"
    return shown


def save_png(
    picture: NDArray[np.uint8],
    path: str | os.PathLike[str],
    px_per_mm: float,
    *,
    title: str = "",
) -> None:
    """Save a picture as PNG that prints at true size.

    Parameters
    ----------
    picture : ndarray of uint8, shape (H, W), (H, W, 3) or (H, W, 4)
    path : path
    px_per_mm : float
        Resolution written into the file.
    title : str
        What it is of, written into the file: by that an earlier one of the same is known,
        and replaced as a whole.

    Raises
    ------
    BadInput
        If the folder does not exist or the path is a folder.
    WouldReplace
        If something else is there.
    OperationFailed
        If writing fails.
    """
    dots = px_per_mm * MM_PER_INCH
    with written_whole(path) as unfinished:
        Image.fromarray(picture).save(
            unfinished, format="PNG", dpi=(dots, dots), pnginfo=png_label(title)
        )


def png_label(title: str) -> PngInfo:
    """Return what a PNG says of itself: what it is of, and that burnplan drew it."""
    facts = PngInfo()
    if title:
        facts.add_text("Title", title[:200])
        facts.add_text("Software", "burnplan")
    return facts


def _toned(
    lightness: NDArray[np.float32],
    inside: NDArray[np.bool_],
    stops: tuple[tuple[float, float, float], ...],
) -> NDArray[np.uint8]:
    """Colour lightness along a scale of L*a*b* stops; white outside."""
    levels = np.linspace(0, 100, 1024)
    table = srgb_of_lab(_along(levels, stops))
    level = (lightness * np.float32(10.23) + np.float32(0.5)).astype(np.int16)
    picture: NDArray[np.uint8] = np.take(table, level, axis=0)
    picture[~inside] = _PAPER
    return picture


def _along(
    lightness: ArrayLike, stops: tuple[tuple[float, float, float], ...]
) -> NDArray[np.float64]:
    """L*a*b* on a scale of stops, at given L*; lightness itself is kept."""
    scale = np.asarray(stops, np.float64)
    tones = np.asarray(lightness, np.float64)
    a = np.interp(tones, scale[:, 0], scale[:, 1])
    b = np.interp(tones, scale[:, 0], scale[:, 2])
    return np.stack([tones, a, b], axis=1)
