"""Typefaces: those that come with the program, and any font file of the artist's."""

from dataclasses import dataclass
from functools import cache, cached_property
from importlib import resources
from pathlib import Path
from typing import Any

import uharfbuzz as hb

from burnplan.errors import BadInput


@dataclass(frozen=True, slots=True)
class Shipped:
    """A typeface that comes with the program, under the SIL Open Font License."""

    name: str
    package: str
    file: str
    about: str


SHIPPED = {
    one.name: one
    for one in (
        Shipped("serif", "burnplan.lettering", "faces/EBGaramond12-Regular.otf", "old-style roman"),
        Shipped("sans", "font_source_sans_pro", "files/SourceSansPro-Regular.ttf", "plain"),
        Shipped("bold", "font_source_sans_pro", "files/SourceSansPro-Semibold.ttf", "plain, heavy"),
        Shipped("script", "burnplan.lettering", "faces/DancingScript-Regular.otf", "handwritten"),
        Shipped("display", "burnplan.lettering", "faces/LobsterTwo-Bold.otf", "heavy, rounded"),
        Shipped("naskh", "burnplan.lettering", "faces/NotoNaskhArabic-Regular.ttf", "Arabic"),
        Shipped("hebrew", "burnplan.lettering", "faces/NotoSerifHebrew-Regular.ttf", "Hebrew"),
        Shipped(
            "devanagari", "burnplan.lettering", "faces/NotoSerifDevanagari-Regular.ttf",
            "Devanagari",
        ),
    )
}  # fmt: skip
"""By name; the faces of other scripts stand in where the one chosen lacks a whole script."""

DEFAULT = "serif"
STAND_INS = ("serif", "naskh", "hebrew", "devanagari")

# A letter as high as a script's letters are said to be: a capital, or what is as tall where
# there are none (common practice, no source: an alef, a Devanagari letter with its head line).
_MEASURED_BY = ("H", "Н", "Η", "א", "ا", "क")


class Typeface:
    """A font file, opened for shaping and drawing; lengths are in its own units.

    Parameters
    ----------
    data : bytes
    name : str
        As it is called in what is said of it.

    Raises
    ------
    BadInput
        If it is no font with outlines.
    """

    def __init__(self, data: bytes, name: str) -> None:
        face = hb.Face(hb.Blob(data))
        if not face.glyph_count or not face.unicodes or not face.upem:
            raise BadInput(f"'{name}' is not a font", "Give an OpenType font: .otf, .ttf or .ttc")
        if not {"glyf", "CFF ", "CFF2"} & set(face.table_tags):
            raise BadInput(f"'{name}' has no outlines to burn", "Give another font file")
        self.data, self.name = data, name
        self.font: Any = hb.Font(face)
        self._known = set(face.unicodes)

    def has(self, letter: str) -> bool:
        """Return whether it has a letter."""
        return ord(letter) in self._known

    @cached_property
    def cap_height(self) -> float:
        """Height of a capital H above the baseline; of what measures its script if it has none."""
        for letter in _MEASURED_BY:
            if self.has(letter):
                box = self.font.get_glyph_extents(self.font.get_nominal_glyph(ord(letter)))
                if box.y_bearing > 0:
                    return float(box.y_bearing)
        # From memory: capitals of most typefaces are near it.
        return 0.7 * float(self.font.face.upem)


@cache
def shipped(name: str) -> Typeface:
    """Return a typeface that comes with the program.

    Raises
    ------
    BadInput
        If there is none of that name.
    """
    try:
        one = SHIPPED[name]
    except KeyError:
        raise BadInput(
            f"There is no typeface '{name}'", f"Give one of {', '.join(SHIPPED)}, or a font file"
        ) from None
    return Typeface((resources.files(one.package) / one.file).read_bytes(), name)


def opened(path: Path, name: str = "") -> Typeface:
    """Return a font file, opened; it is called by its name unless another is given.

    Raises
    ------
    BadInput
        If it cannot be read, or is no font.
    """
    try:
        return Typeface(path.read_bytes(), name or path.name)
    except OSError as error:
        raise BadInput(
            f"'{path}' cannot be read: {error.strerror}", "Check its name and folder"
        ) from None
