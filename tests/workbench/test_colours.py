"""The colours of the workbench can be read: contrasts as WCAG 2.2 defines them."""

from pathlib import Path

import pytest
from textual.theme import Theme

import burnplan.workbench
from burnplan.workbench.colours import DAY, LAMP


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


@pytest.mark.parametrize("theme", [LAMP, DAY], ids=lambda theme: theme.name)
def test_text_can_be_read_on_every_ground(theme: Theme) -> None:
    words = {
        "text": (theme.foreground, 7.0),  # WCAG 2.2, 1.4.6 (AAA)
        # WCAG 2.2, 1.4.3 (AA)
        "quiet": (theme.variables["foreground-muted"], 4.5),
        "names": (theme.primary, 4.5),
        "good": (theme.success, 4.5),
        "mind": (theme.warning, 4.5),
        "bad": (theme.error, 4.5),
    }
    grounds = (theme.background, theme.surface, theme.panel, theme.variables["cursor"])
    for name, (colour, least) in words.items():
        for ground in grounds:
            assert colour is not None
            assert ground is not None
            assert contrast(colour, ground) >= least, f"{name} on {ground}"
    assert contrast(theme.variables["primary-ink"], theme.primary) >= 4.5


@pytest.mark.parametrize("theme", [LAMP, DAY], ids=lambda theme: theme.name)
def test_cursors_and_frames_in_use_can_be_told(theme: Theme) -> None:
    """WCAG 2.2, 1.4.11: at least 3:1 against what is next to it."""
    assert theme.foreground is not None
    assert theme.background is not None
    cursor = theme.variables["cursor"]
    line_under = theme.foreground  # the cursor is underlined in the colour of its text
    for next_to in (cursor, theme.background):
        assert contrast(line_under, next_to) >= 3
    for ground in (theme.background, theme.surface, theme.panel):
        assert ground is not None
        assert contrast(theme.primary, ground) >= 3  # the frame of the part that has the keys


def test_the_cursor_is_underlined() -> None:
    look = (Path(burnplan.workbench.__path__[0]) / "look.tcss").read_text(encoding="utf-8")
    assert "Lines:focus > .lines--cursor { background: $cursor; text-style: underline; }" in look
