"""The program as a process: start-up, help, pipes, questions asked in a terminal."""

import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from burnplan.cli.app import run
from burnplan.cli.commands import COMMANDS
from tests.started import heard, in_a_terminal, started

# pydantic is not among them: typer itself parses options with it.
HEAVY = ("numpy", "cv2", "scipy", "sqlalchemy", "alembic", "textual", "reportlab", "PIL", "babel")


def _loaded_by(*arguments: str) -> set[str]:
    code = (
        "import sys; from burnplan.cli.app import run; run(sys.argv[1:]);"
        "print('LOADED', *sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments], capture_output=True, text=True, check=True
    )
    return set(done.stdout.rpartition("LOADED")[2].split())


@pytest.mark.parametrize(
    "arguments",
    [("--help",), ("jobs", "--help"), ("quote", "draft", "--help"), ("--version",), ("no-such",)],
)
def test_help_loads_nothing_heavy(arguments: tuple[str, ...]) -> None:
    assert not set(HEAVY) & _loaded_by(*arguments)


def test_no_command_loads_anything_heavy_before_it_is_called() -> None:
    code = (
        "import sys; from burnplan.cli.commands import COMMANDS;"
        "[listed.command(name) for name, listed in COMMANDS.items()];"
        "assert 'burnplan.cli.wood.blank' in sys.modules;"
        "print(*sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not set(HEAVY) & set(done.stdout.split())


def test_a_list_loads_no_pictures_and_no_migrations() -> None:
    assert run(["jobs"]) == 0  # makes the book
    loaded = _loaded_by("jobs")
    assert not {"numpy", "cv2", "scipy", "alembic", "textual", "reportlab", "PIL"} & loaded
    assert "sqlalchemy" in loaded
    assert "sqlalchemy.dialects.postgresql" not in loaded


def _commands(command: object, path: tuple[str, ...] = ()) -> list[tuple[tuple[str, ...], object]]:
    children = getattr(command, "commands", None)
    if not children:
        return [(path, command)]
    # Old names, taken for one version more, are not shown.
    shown = {name: child for name, child in children.items() if not child.hidden}
    return [found for name, child in shown.items() for found in _commands(child, (*path, name))]


EVERY = [
    found for name, listed in COMMANDS.items() for found in _commands(listed.command(name), (name,))
]


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_is_listed_with_its_own_first_line(name: str) -> None:
    own = COMMANDS[name].command(name).help
    assert " ".join(own.split("\n\n")[0].split()) == COMMANDS[name].says


@pytest.mark.parametrize(("path", "command"), EVERY, ids=[" ".join(path) for path, _ in EVERY])
def test_every_command_has_help_with_an_example_that_parses(
    path: tuple[str, ...], command: object
) -> None:
    import shlex

    text = command.help or ""  # type: ignore[attr-defined]
    examples = [line.strip() for line in text.splitlines() if line.strip().startswith("burnplan ")]
    assert examples, f"{' '.join(path)} has no example"
    for example in examples:
        words = shlex.split(example)[1:]
        assert words[: len(path)] == list(path)
        command.make_context("x", words[len(path) :])  # type: ignore[attr-defined]
    for parameter in command.params:  # type: ignore[attr-defined]
        assert getattr(parameter, "help", None) or parameter.name == "which", parameter.name


@pytest.mark.long
def test_a_closed_pipe_is_no_error() -> None:
    program = f"{sys.executable} -m burnplan"
    done = subprocess.run(
        ["bash", "-c", f"set -o pipefail; {program} blank species --json | head -1"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stderr == ""
    assert done.returncode == 0


def test_a_bare_add_asks_one_by_one(tmp_path: Path) -> None:
    settings = "\n" * 10  # ten questions on first use, Enter keeps what is shown
    answers = "Old barn\nMara\nlarge\n30x40\n\nlast week\nin 6 weeks\n\n\n"
    seen = in_a_terminal(["commission", "add"], settings + answers)
    assert "'large' is not a size" in seen
    assert "'last week' is not a date" in seen
    assert "C-0001" in seen
    done = started(["commission", "show", "1"])
    assert done.returncode == 0
    for word in ("Old barn", "Mara", "30 × 40 cm"):
        assert word in done.stdout


@pytest.mark.long
def test_an_estimate_asks_nothing_and_makes_no_book(tmp_path: Path) -> None:
    child, terminal = pty.fork()
    if child == 0:  # pragma: no cover - the other process, started in earnest
        asked = ["estimate", "--size", "20x30cm", "--dark", "3"]
        os.execv(sys.executable, [sys.executable, "-m", "burnplan", *asked])  # noqa: S606
    seen = heard(child, terminal, "\n" * 12)
    assert "Name of the studio" not in seen
    assert "20 × 30 cm" in seen
    assert not (tmp_path / "home").exists()
