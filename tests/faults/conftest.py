"""The fault matrix: what was tried, what burnplan said, what became of the book."""

import re
from collections.abc import Callable
from datetime import UTC, timedelta
from pathlib import Path

import pytest

from burnplan.cli.app import run
from burnplan.desk.studio.studio import open_studio
from tests.conftest import FixedClock
from tests.desk import actions
from tests.faults.killing import START, Scenario, copied

Tell = Callable[[str, str, str], None]
# Runs a command in a home; returns its exit code and what it said on standard error.
Say = Callable[..., tuple[int, str]]


@pytest.fixture
def fault(request: pytest.FixtureRequest) -> Tell:
    """Put a line into the table that is printed after the tests."""

    def tell(what: str, said: str, kept: str) -> None:
        words = re.sub(r"'?/\S*/", "…/", said)
        request.node.user_properties.append(("fault", [what, words[:70], kept]))

    return tell


@pytest.fixture(scope="session")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home with a little of everything in it, for copying."""
    home = tmp_path_factory.mktemp("furnished") / "home"
    with Scenario("furnished", home.parent / "files").bench(home, 0) as bench:
        actions.furnish(bench)
    return home


@pytest.fixture
def home(furnished: Path, tmp_path: Path) -> Path:
    """A home of one's own with a little of everything in it."""
    copied(furnished, tmp_path / "home")
    return tmp_path / "home"


@pytest.fixture
def clock() -> FixedClock:
    """A clock that stands some days after the home was furnished."""
    clock = FixedClock()
    clock.now = START + timedelta(days=3)
    return clock


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str], clock: FixedClock) -> Say:
    """Run commands as the program does."""

    def command(home: Path, *arguments: str) -> tuple[int, str]:
        studio = open_studio(home, clock=clock, zone=UTC)
        code = run(list(arguments), studio)
        studio.close()
        return code, capsys.readouterr().err

    return command


def one_line(told: tuple[int, str]) -> str:
    """Return what a command that failed said, having checked that it is one line, with a hint."""
    code, said = told
    assert code in (1, 2), said
    # What must not be burned is said first, whatever comes then.
    before, begins, said = said.partition("burnplan: ")
    assert begins, before
    assert not before or before.startswith("! Must not"), before
    assert said.count("\n") == 1, said
    return said.strip()
