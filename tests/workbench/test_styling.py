"""Styles that are given once only are those that would be given anew."""

import pytest
from textual.css.stylesheet import Stylesheet
from textual.widget import Widget

from burnplan.desk.studio.studio import Studio
from tests.workbench.hand import Hand, at_work, barn

# Between pages and lights, with a list asked, a question over it and one beside it focused.
KEYS = (
    *("2", "l", "1", "2", "enter", "l", "escape", "slash", "o", "enter", "escape", "3", "n"),
    *("escape", "5", "tab", "1", "l", "5", "6", "tab", "l", "2", "ctrl+p", "escape", "l", "1"),
)


def _styles(widget: Widget) -> tuple[dict[str, object], dict[str, dict[str, object]]]:
    parts = {name: dict(found.base.get_rules()) for name, found in widget._component_styles.items()}
    return dict(widget.styles.base.get_rules()), parts


@pytest.mark.whole
def test_what_is_in_sight_has_the_styles_that_it_would_be_given_anew(studio: Studio) -> None:
    barn(studio)

    async def desk(hand: Hand) -> None:
        for number, key in enumerate(KEYS):
            await hand.press(key)
            app = hand.app
            screen = app.screen
            parts = [part for part in screen.walk_children(Widget, with_self=True) if part.region]
            before = [_styles(part) for part in parts]
            for part, was in zip(parts, before, strict=True):
                Stylesheet.apply(app.stylesheet, part)
                assert _styles(part) == was, (number, key, part)

    at_work(studio, desk, size=(120, 40))


@pytest.mark.long
def test_no_styles_are_read_for_the_first_question_or_the_palette(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        known = set(hand.app.stylesheet.source)
        for key in ("n", "escape", "ctrl+p"):
            await hand.press(key)
            assert set(hand.app.stylesheet.source) == known, key

    at_work(studio, desk)
