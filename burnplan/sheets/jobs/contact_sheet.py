"""A contact sheet: photos of progress side by side, each with its day."""

import os
from collections.abc import Sequence
from math import ceil, sqrt
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from burnplan.desk.jobs.photos import PhotoView
from burnplan.files import written_whole
from burnplan.sheets.dates import written_date
from burnplan.sheets.drawing import INK, PAPER, SOFT
from burnplan.sheets.lettering import note_of, shortened, with_boxes
from burnplan.sheets.writing import Written
from burnplan.tone.photo import open_photo
from burnplan.tone.render import png_label
from burnplan.tone.typeface import face

TILE = 480
"""Longest side of a photo on the sheet, pixels."""

MOST_COLUMNS = 5
_GAP, _MARGIN, _HEAD, _CAPTION = 24, 40, 76, 60


def _shortened(text: str, font: ImageFont.FreeTypeFont, width: float) -> str:
    return shortened(text, lambda cut: font.getlength(cut) <= width)


def _small(file: Path) -> Image.Image:
    picture = Image.fromarray(open_photo(file, at_least=(TILE, TILE)).rgb)
    picture.thumbnail((TILE, TILE), Image.Resampling.LANCZOS)
    return picture


def write_contact_sheet(
    photos: Sequence[tuple[PhotoView, Path]], path: str | os.PathLike[str], locale: str = "en_GB"
) -> Written:
    """Write photos of one piece, at least one, as a PNG, in the order given.

    Raises
    ------
    BadInput
        If a photo cannot be read.
    """
    columns = min(MOST_COLUMNS, ceil(sqrt(len(photos))))
    rows = ceil(len(photos) / columns)
    pictures = [_small(file) for _, file in photos]
    # A row is as high as its highest picture.
    heights = [
        max(picture.height for picture in pictures[row * columns : (row + 1) * columns])
        for row in range(rows)
    ]
    width = 2 * _MARGIN + columns * TILE + (columns - 1) * _GAP
    height = 2 * _MARGIN + _HEAD + sum(heights) + rows * _CAPTION + (rows - 1) * _GAP
    sheet = Image.new("RGB", (width, height), PAPER)
    draw = ImageDraw.Draw(sheet)
    bold, small, head = face("Semibold", 22), face("Regular", 20), face("Semibold", 34)
    first, missing = photos[0][0], dict[str, None]()
    named = with_boxes(f"{first.code} · {first.title}", missing)
    title = _shortened(named, head, width - 2 * _MARGIN)
    draw.text((_MARGIN, _MARGIN), title, INK, font=head)
    for number, ((view, _), picture) in enumerate(zip(photos, pictures, strict=True)):
        row, column = divmod(number, columns)
        x = _MARGIN + column * (TILE + _GAP)
        # Upright and lying photos stand on one line, above their captions.
        line = _MARGIN + _HEAD + sum(heights[: row + 1]) + row * (_CAPTION + _GAP)
        sheet.paste(picture, (x, line - picture.height))
        draw.text((x, line + 8), written_date(view.taken_on, locale), INK, font=bold)
        if view.note:
            note = _shortened(with_boxes(view.note, missing), small, TILE)
            draw.text((x, line + 34), note, SOFT, font=small)
    with written_whole(path) as unfinished:
        facts = png_label(f"{first.code} {first.title} · photos")
        sheet.save(unfinished, format="PNG", optimize=True, pnginfo=facts)
    return Written(Path(path), 1, note_of(missing))
