"""Fonts with PostScript outlines on printed sheets, held against fontTools' own figures."""

import io
from importlib import resources
from pathlib import Path

import pytest
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTCollection, TTFont
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from burnplan.sheets import lettering
from burnplan.sheets.lettering import BOX, REGULAR, Typesetter

FACE = Path(str(resources.files("burnplan.lettering") / "faces" / "EBGaramond12-Regular.otf"))
TEXT = "Ragnhild & Ægir: §5, ½ €"


@pytest.fixture
def ours(tmp_path: Path) -> Path:
    """A font file by a name that nothing remembers."""
    copy = tmp_path / f"{tmp_path.name}.otf"
    copy.write_bytes(FACE.read_bytes())
    return copy


def test_outlines_and_widths_are_those_of_the_font(ours: Path) -> None:
    font = lettering._elsewhere(str(ours))
    assert font is not None
    letters = sorted(set(TEXT))
    shown = TTFont(io.BytesIO(font.face.makeSubset([*map(ord, letters)])))
    whole = TTFont(FACE)
    names, shapes = whole.getBestCmap(), whole.getGlyphSet()
    mine, places = shown.getGlyphSet(), shown["cmap"].tables[0].cmap
    for place, letter in enumerate(letters):
        one, other = mine[places[place]], shapes[names[ord(letter)]]
        assert one.width == other.width, letter
        area, wanted = AreaPen(mine), AreaPen(shapes)
        one.draw(area)
        other.draw(wanted)
        # Filled the other way round, as TrueType wants it.
        assert -area.value == pytest.approx(wanted.value, rel=0.005, abs=1), letter
        bounds, those = BoundsPen(mine), BoundsPen(shapes)
        one.draw(bounds)
        other.draw(those)
        assert bounds.bounds == pytest.approx(those.bounds, abs=1.5), letter


def test_a_collection_is_taken_by_its_first(tmp_path: Path) -> None:
    both = TTCollection()
    lobster = FACE.with_name("LobsterTwo-Bold.otf")
    both.fonts = [TTFont(FACE), TTFont(lobster)]
    path = tmp_path / f"{tmp_path.name}.ttc"
    both.save(path)
    font = lettering._elsewhere(str(path))
    assert font is not None
    width = TTFont(FACE)["hmtx"]["W"][0]
    assert width != TTFont(lobster)["hmtx"]["W"][0]
    assert font.face.getCharWidth(ord("W")) == width


def test_a_letter_is_taken_from_such_a_font(
    ours: Path, monkeypatch: pytest.MonkeyPatch, no_other_fonts: None
) -> None:
    letter = next(chr(c) for c in TTFont(FACE).getBestCmap() if not _in_the_face(chr(c)))
    sheet = Typesetter()
    assert sheet.runs(letter) == [(REGULAR, BOX)]
    monkeypatch.undo()
    lettering._set.cache_clear()
    monkeypatch.setattr(lettering, "_ELSEWHERE", (str(ours),))
    sheet, file = Typesetter(), io.BytesIO()
    canvas = Canvas(file)
    sheet.draw(canvas, (50, 500), f"A{letter}B", 20, REGULAR)
    canvas.save()
    assert sheet.notes == ()
    assert PdfReader(file).pages[0].extract_text().split() == ["A", letter, "B"]


@pytest.mark.parametrize("kept", [0, 3, 14, 300, 5_000])
def test_half_a_font_is_none(tmp_path: Path, kept: int) -> None:
    path = tmp_path / f"{tmp_path.name}.otf"
    path.write_bytes(FACE.read_bytes()[:kept])
    assert lettering._elsewhere(str(path)) is None


def _in_the_face(letter: str) -> bool:
    return lettering._has(lettering.face(REGULAR), letter) or letter.isspace()
