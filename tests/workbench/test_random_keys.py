"""A child at the keyboard: whatever is pressed, the workbench lives, and a press writes once.

tests/soak/random_keys.py presses thousands.
"""

import random
from contextlib import suppress
from pathlib import Path

import pytest
from sqlalchemy import func, select
from textual.widgets import Input

from burnplan.desk.jobs import checklists, clients, review
from burnplan.desk.jobs.clients import ClientDetails
from burnplan.desk.keeping import checking
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BurnplanError
from burnplan.ledger.models import History
from burnplan.workbench.actions import ALL
from tests import books
from tests.conftest import FixedClock
from tests.workbench.hand import Hand, at_work

# Leaving ends the program, as it should; sheets and the like write files where they are told.
LEFT_OUT = {"ctrl+q"}
KEYS = sorted(
    {key for action in ALL.values() for key in action.key.split(",") if key} - LEFT_OUT
    | {"1", "2", "3", "4", "5", "6", "up", "down", "home", "end", "pageup", "pagedown"}
    | {"enter", "escape", "tab", "shift+tab", "ctrl+p", "ctrl+s", "backspace", "space", "left"}
    | {*"az0.-/"}
)
# Where somebody types, keys are letters: they go on for a while, then the question is left.
_TYPED = 6


def entries(studio: Studio) -> int:
    with studio.reading() as book:
        return book.scalar(select(func.count()).select_from(History)) or 0


def press_at_random(studio: Studio, other: Studio, seed: int, presses: int) -> None:
    """Press keys, and look after each that no more than one thing was written."""
    dice = random.Random(seed)  # noqa: S311
    pressed: list[str] = []

    async def desk(hand: Hand) -> None:
        if seed % 2:  # random keys seldom come to the laying-out table, and soon leave it
            hand.app.open_job("C-0009")
            await hand.settle()
            await hand.press("y")
            assert hand.app.page_name == "laying"
        in_question, before = 0, entries(studio)
        for turn in range(presses):
            asked = len(hand.app.screen_stack) > 1 or isinstance(hand.app.focused, Input)
            in_question = in_question + 1 if asked else 0
            key = "escape" if in_question > _TYPED else dice.choice(KEYS)
            pressed.append(key)
            await hand.press(key)
            assert hand.app.is_running, pressed
            assert hand.app.ended_by is None, pressed
            now = entries(studio)
            assert now - before <= 1, pressed
            if turn % 20 == 19:
                clients.add(other, f"Client {seed}-{turn}", ClientDetails())
                job = dice.choice(review.review(other))
                with suppress(BurnplanError):  # it may be closed: money is open
                    checklists.add(other, job.code, f"Look again {turn}", "finish")
                await hand.app._each_second()
                await hand.settle()
                now = entries(studio)
            before = now

    at_work(studio, desk, ((80, 24), (120, 40))[seed % 2])


@books.about_files
@pytest.mark.parametrize("seed", range(2))
@pytest.mark.whole
def test_whatever_is_pressed_it_lives_and_writes_once(
    filled: Path, tmp_path: Path, clock: FixedClock, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    books.copy(filled, tmp_path / "home")
    studio, other = (books.open_at(tmp_path / "home", clock) for _ in range(2))
    press_at_random(studio, other, seed, 120)
    assert not [one for one in checking.check(studio).findings if one.wrong]
    studio.close()
    other.close()
