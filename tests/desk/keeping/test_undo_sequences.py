"""Each action of the desk, taken back, gives the identical book; also whole sequences.

That what is kept is what the facts give is a long test after each action, and that every surface
gives the same hours after every fourth. After each, and after each undo, that is tried with the
whole: the book is then the one they were held to before, with all that is kept of what follows.

tests/soak/undo_sequences.py does the same ten thousand times.
"""

import random
from collections.abc import Iterator

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from tests import books
from tests.conftest import FixedClock
from tests.desk import actions, surfaces
from tests.desk.actions import Bench, Tally

# What has to be done before an action can be.
FIRST = {
    "pace.teach_again": ("pace.set_aside",),
    "past.correct": ("past.add",),
    "past.remove": ("past.add",),
    "past.set_aside": ("past.add",),
    "past.teach_again": ("past.add", "past.set_aside"),
    "clients.remove": ("clients.add",),
    "payments.correct": ("payments.take",),
    "payments.write_off": ("endings.deliver",),
    "endings.correct_day": ("endings.deliver",),
    "sessions.start": ("sessions.stop",),
    "sessions.resume": ("sessions.pause",),
}


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    folder = tmp_path_factory.mktemp("bench")
    clock = FixedClock()
    studio = books.open_at(folder / "home", clock)
    bench = Bench(studio, clock, random.Random(0), folder)  # noqa: S311
    actions.furnish(bench)
    yield bench
    studio.close()


def test_every_action_of_the_desk_is_drawn() -> None:
    assert set(actions.ACTIONS) == actions.writing_functions() - {
        "undo.undo_last", "undo.redo_last",
    }  # fmt: skip


def test_a_desk_function_that_writes_is_found() -> None:
    assert {
        "references.replan",
        "conditioning.set_grain",
        "undo.undo_last",
    } <= actions.writing_functions()
    assert "clients.show" not in actions.writing_functions()


# Not shrunk: the bench is as the failing example left it.
@settings(max_examples=8, phases=[Phase.generate])
@given(
    st.lists(st.sampled_from(sorted(actions.ACTIONS)), min_size=3, max_size=9),
    st.integers(0, 2**32),
)
@pytest.mark.whole
def test_sequences_of_actions_are_undone_exactly(
    furnished: Bench, names: list[str], seed: int
) -> None:
    furnished.dice.seed(seed)
    actions.undo_sequence(furnished, names, Tally(), surfaces.agree, surfaces.agree)


def done_and_undone(bench: Bench, name: str, *after_each: actions.Look) -> None:
    tally = Tally()
    for seed in range(50):
        bench.dice.seed(seed)
        actions.undo_sequence(bench, [*FIRST.get(name, ()), name], tally, *after_each)
        if tally.done[name]:
            return
    pytest.fail(f"{name} is refused, or changes nothing")


@pytest.mark.parametrize("name", [
    pytest.param(name, marks=pytest.mark.long if turn % 4 else ())
    for turn, name in enumerate(actions.ACTIONS)
])  # fmt: skip
def test_each_action_is_done_and_undone(furnished: Bench, name: str) -> None:
    done_and_undone(furnished, name)


@books.about_files  # what the surfaces reckon of rows is the same whichever engine keeps those
@pytest.mark.parametrize(("name", "look"), [
    *[pytest.param(name, surfaces.nothing_is_stale, marks=pytest.mark.long)
      for name in actions.ACTIONS],
    *[pytest.param(name, surfaces.agree, marks=pytest.mark.whole if turn % 4 else pytest.mark.long)
      for turn, name in enumerate(actions.ACTIONS)],
])  # fmt: skip
def test_after_each_action_all_surfaces_agree(
    furnished: Bench, name: str, look: actions.Look
) -> None:
    done_and_undone(furnished, name, look)
