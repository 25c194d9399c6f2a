"""What the README shows is what the program takes."""

import re
import shlex
from pathlib import Path
from typing import Any

import pytest

from burnplan.cli.commands import COMMANDS

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")
SHOWN = [
    line.partition("  #")[0].strip()
    for block in re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    for line in block.splitlines()
    if line.startswith("burnplan ")
]


@pytest.mark.parametrize("line", SHOWN)
def test_every_command_of_the_readme_parses(line: str) -> None:
    words = shlex.split(line)[1:]
    first = words.pop(0)
    command: Any = COMMANDS[first].command(first)
    while children := getattr(command, "commands", None):
        command = children[words.pop(0)]
    command.make_context("burnplan", words)


def test_there_are_two_commands_for_a_fresh_machine() -> None:
    marked = re.findall(r"<!-- (set-up|tests) -->\n```sh\n(.*?)\n```", README, re.DOTALL)
    assert [name for name, _ in marked] == ["set-up", "tests"]
    assert all("\n" not in command for _, command in marked)


def test_files_named_in_the_documents_are_there() -> None:
    for name in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / name).read_text("utf-8")
        for target in re.findall(r"\]\((?!http)([^)#]+)\)", text):
            assert (ROOT / target).exists(), f"{name} names {target}"
