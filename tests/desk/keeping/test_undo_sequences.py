"""Each action of the desk, taken back, gives the identical book; also whole sequences.

tests/soak/undo_sequences.py does the same ten thousand times.
"""

import random
from collections.abc import Iterator

import pytest

from tests import books
from tests.conftest import FixedClock
from tests.desk import actions
from tests.desk.actions import Bench, Tally

SEQUENCES, LENGTH = 4, 12
# What has to be done before an action can be.
FIRST = {"sessions.start": ("sessions.stop",), "sessions.resume": ("sessions.pause",)}


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    folder = tmp_path_factory.mktemp("bench")
    clock = FixedClock()
    with pytest.MonkeyPatch.context() as patch:
        actions.remember_readings(patch)
        studio = books.open_at(folder / "home", clock)
        bench = Bench(studio, clock, random.Random(0), folder)  # noqa: S311
        actions.furnish(bench)
        yield bench
        studio.close()


def test_every_action_of_the_desk_is_drawn() -> None:
    assert set(actions.ACTIONS) == actions.writing_functions() - {"undo.undo_last"}


def test_a_desk_function_that_writes_is_found() -> None:
    assert {
        "references.replan",
        "conditioning.set_grain",
        "undo.undo_last",
    } <= actions.writing_functions()
    assert "clients.show" not in actions.writing_functions()


def test_sequences_of_actions_are_undone_exactly(furnished: Bench) -> None:
    tally = Tally()
    for seed in range(SEQUENCES):
        furnished.dice.seed(seed)
        names = furnished.dice.choices(list(actions.ACTIONS), k=LENGTH)
        actions.undo_sequence(furnished, names, tally)
    assert tally.undone > SEQUENCES * LENGTH / 2


@pytest.mark.parametrize("name", actions.ACTIONS)
def test_each_action_is_done_and_undone(furnished: Bench, name: str) -> None:
    tally = Tally()
    for seed in range(50):
        furnished.dice.seed(seed)
        actions.undo_sequence(furnished, [*FIRST.get(name, ()), name], tally)
        if tally.done[name]:
            return
    pytest.fail(f"{name} is refused, or changes nothing")
