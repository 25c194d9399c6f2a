"""The colours of the workbench can be read: contrasts as WCAG 2.2 defines them."""

import itertools
import math
import re
from pathlib import Path

import pytest
from rich.color import Color, ColorSystem
from skimage.color import rgb2lab
from textual.color import Color as TextualColor
from textual.theme import Theme
from textual.widgets import Input

import burnplan.workbench
from burnplan.desk.studio.studio import Studio
from burnplan.workbench import blocks
from burnplan.workbench.colours import DAY, DAY_16, LAMP, LAMP_16, lights
from tests.workbench.hand import Hand, at_work


def luminance(colour: str) -> float:
    """Return the relative luminance of #rrggbb (WCAG 2.2, 'relative luminance')."""
    parts = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours (WCAG 2.2, 'contrast ratio')."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_of_black_and_white_is_that_of_the_standard() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


def shown(colour: str, depth: str) -> str:
    """Return a colour as a terminal shows it, as rich and Textual bring it down."""
    if depth == "greys":  # NO_COLOR
        return TextualColor.parse(colour).monochrome.hex.lower()
    system = {"256": ColorSystem.EIGHT_BIT, "16": ColorSystem.STANDARD}.get(depth)
    found = Color.parse(colour)
    return (found if system is None else found.downgrade(system)).get_truecolor().hex


def difference(one: str, other: str) -> float:
    """Return how far two colours are apart, CIE 1976 ΔE*ab; 2.3 is just seen (from memory)."""
    return math.dist(*(rgb2lab([[TextualColor.parse(c).normalized]])[0, 0] for c in (one, other)))


GROUNDS = ("background", "surface", "panel", "cursor")
WORDS = ("foreground", "foreground-muted", "primary", "success", "warning", "error")
# Every light with the depths in which it is used.
SHOWN = [
    *((theme, depth) for theme in (LAMP, DAY) for depth in ("true", "256", "greys")),
    *((theme, "16") for theme in (LAMP_16, DAY_16)),
]
each_light = pytest.mark.parametrize(
    ("theme", "depth"), SHOWN, ids=lambda one: one if isinstance(one, str) else one.name
)


def colour_of(theme: Theme, role: str, depth: str) -> str:
    colour = theme.variables.get(role) or getattr(theme, role)
    return shown(str(colour), depth)


@each_light
def test_text_can_be_read_on_every_ground(theme: Theme, depth: str) -> None:
    # WCAG 2.2, 1.4.3 (AA); of plain text 1.4.6 (AAA). What the sixteen look like is the
    # terminal's own: by rich's figures, large text (AA), since words of a colour have a sign too.
    least = 3.0 if depth == "16" else 4.5
    for ground in GROUNDS:
        for role in WORDS:
            found = contrast(colour_of(theme, role, depth), colour_of(theme, ground, depth))
            assert found >= least, (role, ground, found)
    ink, primary = (colour_of(theme, role, depth) for role in ("primary-ink", "primary"))
    assert contrast(ink, primary) >= least
    plain = colour_of(theme, "foreground", depth)
    assert contrast(plain, colour_of(theme, "background", depth)) >= 7


@each_light
def test_each_role_is_told_from_every_other(theme: Theme, depth: str) -> None:
    for one, other in itertools.combinations(WORDS, 2):
        pair = colour_of(theme, one, depth), colour_of(theme, other, depth)
        if depth == "greys":  # no two alike; a word or a sign says what each means
            assert contrast(*pair) >= 1.1, (one, other, pair)
        else:
            assert difference(*pair) >= 12, (one, other, pair)
    if depth != "16":  # there frames and lines part them
        grounds = [colour_of(theme, ground, depth) for ground in (*GROUNDS, "line")]
        assert len(set(grounds)) == len(grounds), grounds


@each_light
def test_cursors_and_frames_in_use_can_be_told(theme: Theme, depth: str) -> None:
    """WCAG 2.2, 1.4.11: at least 3:1 against what is next to it."""
    line_under = colour_of(theme, "foreground", depth)  # the cursor is underlined in its text's
    for next_to in ("cursor", "background"):
        assert contrast(line_under, colour_of(theme, next_to, depth)) >= 3
    frame = colour_of(theme, "primary", depth)  # of the part that has the keys
    for ground in ("background", "surface", "panel"):
        assert contrast(frame, colour_of(theme, ground, depth)) >= 3


@each_light
def test_a_zone_is_told_from_wood_and_wood_from_the_page(theme: Theme, depth: str) -> None:
    zone, page = (colour_of(theme, role, depth) for role in ("foreground", "background"))
    wood, burned = (colour_of(theme, role, depth) for role in ("wood", "wood-burned"))
    assert len({zone, page, wood, burned}) == 4
    assert contrast(zone, wood) >= 3  # WCAG 2.2, 1.4.11
    if depth != "16":
        assert contrast(zone, burned) >= 3


def test_a_terminal_of_sixteen_colours_has_themes_of_its_own() -> None:
    assert lights("truecolor") == lights("256") == lights(None) == (LAMP, DAY)
    assert lights("standard") == (LAMP_16, DAY_16)


@pytest.mark.parametrize("theme", [LAMP_16, DAY_16], ids=lambda theme: theme.name)
def test_each_word_has_one_of_the_sixteen_to_itself(theme: Theme) -> None:
    numbers = [
        Color.parse(colour_of(theme, role, "true")).downgrade(ColorSystem.STANDARD).number
        for role in (*WORDS, "background")
    ]
    assert len(set(numbers)) == len(numbers), numbers


def test_the_cursor_is_underlined() -> None:
    look = (Path(burnplan.workbench.__path__[0]) / "look.tcss").read_text(encoding="utf-8")
    assert "Lines:focus > .lines--cursor { background: $cursor; text-style: underline; }" in look


def test_zones_have_tones_of_wood_in_256_colours_too() -> None:
    browns = [f"#{red:02x}{red * 3 // 4:02x}{red * 3 // 5:02x}" for red in range(50, 250, 35)]
    shown_as = [blocks.nearest_in_ramp(brown) for brown in browns]
    assert len({*shown_as}) >= len(browns) - 1
    for brown, tone in zip(browns, shown_as, strict=True):
        # It is one of the 256 itself, and as light as what it stands for, within a step.
        assert shown(tone, "256") == tone
        light, wanted = (
            rgb2lab([[TextualColor.parse(one).normalized]])[0, 0][0] for one in (tone, brown)
        )
        assert abs(light - wanted) <= 9


@pytest.mark.parametrize("depth", ["truecolor", "256", None])
def test_a_hint_is_not_to_be_taken_for_an_answer(
    studio: Studio, monkeypatch: pytest.MonkeyPatch, depth: str | None
) -> None:
    """What is to be typed stands in brackets and slanted: not told by its grey alone."""
    monkeypatch.setattr("textual.constants.COLOR_SYSTEM", depth or "truecolor")
    if depth is None:
        monkeypatch.setenv("NO_COLOR", "1")

    async def desk(hand: Hand) -> None:
        await hand.press("n")
        for field in hand.app.screen.query(Input):
            assert field.placeholder == "" or re.fullmatch(r"\(.+\)", field.placeholder)
            hint = field.get_component_rich_style("input--placeholder")
            assert hint.italic
            assert not field.rich_style.italic
        title = hand.app.screen.query_one("#title", Input)
        assert title.render_line(0).text.startswith("(what is burned)")

    at_work(studio, desk)
