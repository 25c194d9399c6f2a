"""Set lines, held against fontTools' own figures and HarfBuzz asked directly.

fontTools reads the font files by code of its own (hmtx, cmap, glyf and CFF outlines);
what Unicode says of a script is named beside each check.
"""

import io
from collections.abc import Callable
from importlib import resources
from typing import Any

import numpy as np
import pytest
import uharfbuzz as hb
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from burnplan.errors import BadInput
from burnplan.lettering import setting
from burnplan.lettering.drawing import glyph_path, joins, outlines
from burnplan.lettering.setting import SetLine, cleaned, runs, set_line
from burnplan.lettering.typefaces import SHIPPED, STAND_INS, Typeface, shipped
from burnplan.reading_order import in_visual_order, levels

HEIGHT = 12.0
LATIN = ("serif", "sans", "bold", "script", "display")
WORDS = {
    "serif": "AVATAR fi Tøffel 2014",
    "sans": "Żółw & Łoś, 1987",
    "bold": "Welcome",
    "script": "Forever in our hearts",
    "display": "The Hollow Oak",
    "naskh": "بسكويت حبيبي لا",
    "hebrew": "בִּסקוויט",
    "devanagari": "बिस्किट प्रिय क्षत्रिय",
}


def faces(name: str) -> list[Typeface]:
    return [shipped(name), *(shipped(one) for one in STAND_INS if one != name)]


def read_by_fonttools(name: str) -> TTFont:
    one = SHIPPED[name]
    return TTFont(io.BytesIO((resources.files(one.package) / one.file).read_bytes()))


def asked_directly(name: str, text: str, script: str, direction: str) -> tuple[list[Any], float]:
    """Glyph numbers and positions in font units, as HarfBuzz gives them, and its own width."""
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.script, buffer.direction, buffer.language = script, direction, "und"
    one = SHIPPED[name]
    font = hb.Font(hb.Face(hb.Blob((resources.files(one.package) / one.file).read_bytes())))
    hb.shape(font, buffer, setting.FEATURES)
    pen, found = 0, []
    for info, at in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        found.append((info.codepoint, pen + at.x_offset, at.y_offset))
        pen += at.x_advance
    return found, pen


def cap_height(font: TTFont) -> float:
    """Height of a capital H by fontTools."""
    pen = BoundsPen(font.getGlyphSet())
    font.getGlyphSet()[font.getBestCmap()[ord("H")]].draw(pen)
    return float(pen.bounds[3])


@pytest.mark.parametrize("name", LATIN)
def test_letters_advance_as_the_font_file_says(name: str) -> None:
    font = read_by_fonttools(name)
    scale = HEIGHT / cap_height(font)
    cmap, widths = font.getBestCmap(), font["hmtx"]
    for letter in "ABCHMQTVaeghilmnorst":
        line = set_line(letter, faces(name), HEIGHT)
        glyph = font.getGlyphName(line.glyphs[0].number)  # the display face has other forms, too
        assert name == "display" or glyph == cmap[ord(letter)]
        wide, _bearing = widths[glyph]
        assert line.width_mm == pytest.approx(wide * scale, abs=1e-3)


@pytest.mark.parametrize("name", WORDS)
def test_every_glyph_fills_the_box_that_fonttools_gives_it(name: str) -> None:
    font = read_by_fonttools(name)
    glyphs = font.getGlyphSet()
    boxes, line = [], set_line(WORDS[name], faces(name), HEIGHT)
    for glyph in line.glyphs:
        assert glyph.typeface.name == name  # none had to stand in
        pen = BoundsPen(glyphs)
        glyphs[font.getGlyphName(glyph.number)].draw(pen)
        if pen.bounds is None:
            continue
        low, high = np.reshape(pen.bounds, (2, 2)) * glyph.scale + (glyph.x, glyph.y)
        assert glyph_path(glyph).bounds == pytest.approx((*low, *high), abs=1e-3)
        boxes.append((*low, *high))
    # The line as it is drawn: joined where letters overlap, and cut into straight pieces.
    points = np.concatenate(outlines((glyph_path(one), lambda p: p) for one in line.glyphs))
    left, bottom, right, top = np.array(boxes).T
    assert points.min(axis=0) == pytest.approx((left.min(), bottom.min()), abs=0.011)
    assert points.max(axis=0) == pytest.approx((right.max(), top.max()), abs=0.011)


def test_a_capital_is_as_high_as_was_asked() -> None:
    for name in LATIN:
        line = set_line("H", faces(name), HEIGHT)
        assert glyph_path(line.glyphs[0]).bounds[3] == pytest.approx(HEIGHT, abs=1e-3)


def test_pairs_are_kerned() -> None:
    """Source Sans says so in GPOS: A and V stand closer than their advances."""
    apart = sum(set_line(one, faces("sans"), HEIGHT).width_mm for one in "AV")
    assert set_line("AV", faces("sans"), HEIGHT).width_mm < apart - 0.2


@pytest.mark.parametrize(
    ("name", "script", "direction"),
    [("naskh", "Arab", "rtl"), ("hebrew", "Hebr", "rtl"), ("devanagari", "Deva", "ltr")],
)
def test_other_scripts_are_shaped_as_harfbuzz_says(name: str, script: str, direction: str) -> None:
    wanted, width = asked_directly(name, cleaned(WORDS[name]), script, direction)
    line = set_line(WORDS[name], faces(name), HEIGHT)
    scale = line.glyphs[0].scale
    found = [(g.number, round(g.x / scale), round(g.y / scale)) for g in line.glyphs]
    assert found == wanted
    assert line.width_mm == pytest.approx(width * scale)


def test_lam_and_alef_become_one() -> None:
    """The Unicode Standard, 9.2: the ligature of lam and alef is obligatory."""
    inked = [
        [bool(g.advance) for g in set_line(t, faces("naskh"), HEIGHT).glyphs] for t in ("لا", "لن")
    ]
    assert list(map(sum, inked)) == [1, 2]


def test_the_vowel_sign_i_stands_before_its_letter() -> None:
    """The Unicode Standard, 12.1: the sign for i is shown to the left of its consonant."""
    font = read_by_fonttools("devanagari")
    line = set_line("कि", faces("devanagari"), HEIGHT)
    names = [font.getGlyphName(glyph.number) for glyph in line.glyphs]
    assert names[-1] == font.getBestCmap()[ord("क")]
    assert names[0].startswith("uni093F")  # U+093F, the sign for i


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        # As UAX #9 has it: digits run from left to right within a line from right to left,
        # and a Latin name within it stays whole.
        ("בלה 2014", "2014 הלב"),
        ("בלה Bella 2014", "Bella 2014 הלב"),
        ("Bella ומשה too", "Bella השמו too"),
    ],
)
def test_lines_of_two_directions_are_seen_in_order(text: str, seen: str) -> None:
    order = in_visual_order(runs(text, faces("serif")), lambda run: run.level)
    shown = "".join(run.text[::-1] if run.level % 2 else run.text for run in order)
    assert shown == seen


def test_what_only_joins_goes_with_its_letter() -> None:
    """A zero-width non-joiner, as Persian has it: two letters that do not join."""
    text = cleaned("می\u200cخواهم")
    assert "\u200c" in text
    assert levels(text) == [1] * len(text)
    joined = [g.number for g in set_line("میخواهم", faces("naskh"), HEIGHT).glyphs]
    apart = [g.number for g in set_line(text, faces("naskh"), HEIGHT).glyphs]
    assert joined != [number for number in apart if number in joined]


def test_another_script_stands_in_whole() -> None:
    told = runs("Bella & משה", faces("script"))
    assert [(run.typeface.name, run.script) for run in told] == [
        ("script", "Latn"),
        ("hebrew", "Hebr"),
    ]


def test_a_missing_letter_is_named_and_no_other_face_takes_its_place() -> None:
    with pytest.raises(BadInput, match=r"'script' has no ł \(U\+0142 latin small letter l with"):
        set_line("Michał", faces("script"), HEIGHT)
    with pytest.raises(BadInput, match=r"U\+5B57"):
        set_line("字", faces("serif"), HEIGHT)
    with pytest.raises(BadInput, match="nothing to letter"):
        set_line(" ", faces("serif"), HEIGHT)


def test_what_is_no_font_is_refused() -> None:
    with pytest.raises(BadInput, match="not a font"):
        Typeface(b"no font at all", "cat.png")


@pytest.mark.parametrize(
    ("name", "joined"), [("serif", False), ("sans", False), ("script", True), ("naskh", True)]
)
def test_it_is_known_whether_letters_run_into_each_other(name: str, joined: bool) -> None:
    text = WORDS["naskh"] if name == "naskh" else "Biscuit"
    assert joins(set_line(text, faces(name), HEIGHT)) is joined


def _area(line: SetLine, warp: Callable[[Any], Any]) -> float:
    rings = outlines((glyph_path(glyph), warp) for glyph in line.glyphs)
    return abs(
        sum(float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2 for x, y in (r.T for r in rings))
    )


def test_overlaps_are_inked_once() -> None:
    """Held against a raster of the same glyphs, each drawn by itself."""
    line = set_line("Forever", faces("script"), HEIGHT)
    from burnplan.lettering.drawing import flattened
    from burnplan.tone.region import polygon_mask

    px, shape = 20.0, (800, 1600)
    ink = np.zeros(shape, bool)
    for glyph in line.glyphs:
        rings = [ring + np.array([5, 15]) for ring in flattened(glyph_path(glyph), 1e9)]
        inner = np.zeros(shape, bool)
        for ring in rings:
            inner ^= polygon_mask([ring], shape, px)
        ink |= inner
    assert _area(line, lambda p: p) == pytest.approx(ink.sum() / px**2, rel=0.01)
