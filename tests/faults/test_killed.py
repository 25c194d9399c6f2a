"""A program that is killed while it writes loses nothing said done and leaves nothing half done.

tests/soak/kill_points.py kills it hundreds of times, in every desk action.
"""

import random
from pathlib import Path

import pytest

from burnplan.desk.jobs import clients
from tests import books
from tests.cases import quick_first
from tests.desk.actions import Bench
from tests.faults import killing
from tests.faults.conftest import Tell
from tests.faults.killing import Scenario

pytestmark = [books.about_files, pytest.mark.long]

POINTS = 5  # in each scenario
SOME_ACTIONS = (
    "commissions.add", "photos.add", "checklists.tick", "sessions.stop", "quotes.issue",
    "endings.drop",
)  # fmt: skip


@pytest.fixture(scope="module")
def scenarios(tmp_path_factory: pytest.TempPathFactory) -> list[Scenario]:
    return killing.all_scenarios(tmp_path_factory.mktemp("scenarios"), SOME_ACTIONS)


@quick_first("number", range(5), quick=0, long=2)
def test_nothing_is_lost(
    scenarios: list[Scenario], number: int, tmp_path: Path, fault: Tell
) -> None:
    scenario, killed = scenarios[number], 0
    for seed in range(10 * POINTS):
        dice = random.Random(seed)  # noqa: S311
        killed += killing.kill_once(scenario, dice, tmp_path) is not None
        if killed == POINTS:
            break
    assert killed == POINTS
    fault(f"killed: {scenario.name}", f"{killed} kill points", "nothing lost, nothing half written")


def test_a_step_told_before_it_is_done_is_found_out(
    scenarios: list[Scenario], tmp_path: Path
) -> None:
    hasty = Scenario("hasty", tmp_path / "hasty")
    hasty.begin(scenarios[0].before(0))
    hasty.then("client", _told_before_it_is_done)
    with pytest.raises(AssertionError, match="lost, or half written"):  # noqa: PT012 at some seed
        for seed in range(60):
            killing.kill_once(hasty, random.Random(seed), tmp_path)  # noqa: S311


def _told_before_it_is_done(bench: Bench, tell: killing.Tell) -> None:
    tell()
    clients.add(bench.studio, "Zoe Quist", clients.ClientDetails())
