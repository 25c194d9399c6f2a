"""Fonts with PostScript outlines, as most for Chinese, Japanese and Korean have, on printed sheets.

reportlab embeds TrueType outlines only. It is given such a font without any, from which it
learns letters and widths; the outlines of the letters that a document shows are made
TrueType's by fontTools as it is written, off by a thousandth of the type's size at most.
"""

from functools import partial
from io import BytesIO
from struct import error, pack, unpack_from
from typing import Any

from fontTools import subset
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont as Outlines
from fontTools.ttLib import TTLibError, newTable
from fontTools.ttLib.sfnt import SFNTReader, SFNTWriter
from reportlab.pdfbase.ttfonts import TTFError, TTFont, TTFontFile

_TRUETYPE = "\0\1\0\0"
_KEPT = ("name", "head", "OS/2", "post", "hhea", "cmap", "hmtx")
_OFF = 0.001  # of the type's size


def load(name: str, data: bytes) -> TTFont:
    """Return a font for reportlab, to which its outlines are added as a document is written.

    Parameters
    ----------
    name : str
        What reportlab is to know it by.
    data : bytes
        A font with PostScript outlines, or a collection of them: its first is taken.

    Raises
    ------
    TTFError
        If it cannot be read.
    """
    try:
        font = TTFont(name, BytesIO(_without_outlines(data)), shapable=False)
    except (TTLibError, KeyError, error) as fault:
        raise TTFError(str(fault)) from fault
    font.face.makeSubset = partial(_subset, data)
    return font


def _subset(data: bytes, codes: list[int]) -> bytes:
    """Return a TrueType font of some letters."""
    font = Outlines(BytesIO(data), fontNumber=0, lazy=True)
    for tag in {*font.reader.keys()} - {*_KEPT, "maxp", "CFF ", "CFF2"}:
        del font[tag]
    wanted = subset.Subsetter(subset.Options(hinting=False))
    wanted.populate(unicodes=[*codes, ord(" ")])
    wanted.subset(font)
    _make_truetype(font)
    written = BytesIO()
    font.save(written)
    return bytes(TTFontFile(BytesIO(written.getvalue())).makeSubset(codes))


def _without_outlines(data: bytes) -> bytes:
    """Return a TrueType font with the letters and widths of another, and nothing to draw."""
    read = SFNTReader(BytesIO(data), fontNumber=0)
    tables = {tag: read[tag] for tag in _KEPT}
    (letters,) = unpack_from(">H", read["maxp"], 4)
    tables["maxp"] = pack(">IH13H", 0x10000, letters, *[0] * 13)
    (longer,) = unpack_from(">H", tables["head"], 50)
    tables |= {"loca": bytes((letters + 1) * (4 if longer else 2)), "glyf": bytes(4)}
    written = BytesIO()
    writer = SFNTWriter(written, len(tables), _TRUETYPE)
    for tag, table in tables.items():
        writer[tag] = table
    writer.close()
    return written.getvalue()


def _make_truetype(font: Any) -> None:
    """Give a font TrueType outlines in the place of its own: of few letters, it takes long."""
    shapes, drawn = font.getGlyphSet(), {}
    for glyph in font.getGlyphOrder():
        pen = TTGlyphPen(None)
        shapes[glyph].draw(Cu2QuPen(pen, font["head"].unitsPerEm * _OFF, reverse_direction=True))
        drawn[glyph] = pen.glyph()
    font["glyf"], font["loca"] = newTable("glyf"), newTable("loca")
    font["glyf"].glyphOrder, font["glyf"].glyphs = font.getGlyphOrder(), drawn
    for tag in ("CFF ", "CFF2"):
        if tag in font:
            del font[tag]
    maxp = newTable("maxp")
    maxp.tableVersion, maxp.numGlyphs = 0x10000, len(drawn)
    for name in (
        "maxZones", "maxTwilightPoints", "maxStorage", "maxFunctionDefs", "maxInstructionDefs",
        "maxStackElements", "maxSizeOfInstructions", "maxComponentElements",
        "maxPoints", "maxContours", "maxCompositePoints", "maxCompositeContours",
        "maxComponentDepth",
    ):  # fmt: skip
        setattr(maxp, name, 0)
    font["maxp"], font.sfntVersion = maxp, _TRUETYPE
