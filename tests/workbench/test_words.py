"""Errors of the desk in the workbench's words."""

import ast
import re
from pathlib import Path

import pytest

import burnplan.desk
from burnplan.errors import BadInput
from burnplan.workbench.words import in_words

# What the workbench calls; the rest of the desk is the command line's alone.
CALLED = {
    "blanks", "checklists", "clients", "commissions", "hazards", "payments", "quotes",
    "references", "sessions", "undo",
}  # fmt: skip
# About what is left to the command line, which their words name: it is not done here.
ELSEWHERE = (
    "session correct", "session list", "payment list", "--length", "Leave --override out",
    "Hold it with --override",
)  # fmt: skip


def hints() -> list[str]:
    """Return the hints of the errors that the workbench can meet, names filled in."""
    found = []
    modules = Path(burnplan.desk.__path__[0]).rglob("*.py")
    for path in sorted(path for path in modules if path.stem in CALLED | {"lookup"}):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and len(node.args) == 2:
                name = node.func.id if isinstance(node.func, ast.Name) else ""
                if name in {"BadInput", "NotFound", "NotAllowed", "OperationFailed"}:
                    found.append(_said(node.args[1]))
    return found


def _said(node: ast.expr) -> str:
    if isinstance(node, ast.JoinedStr):
        return "".join(
            str(part.value) if isinstance(part, ast.Constant) else "C-0001" for part in node.values
        )
    return str(node.value) if isinstance(node, ast.Constant) else ""


def test_hints_are_found() -> None:
    named = [hint for hint in hints() if "burnplan " in hint]
    assert len(named) > 8


@pytest.mark.parametrize(
    "hint", [hint for hint in sorted(set(hints())) if not any(name in hint for name in ELSEWHERE)]
)
def test_no_hint_names_a_command_or_option(hint: str) -> None:
    said = in_words(BadInput("Something is wrong", hint))
    assert not re.search(r"burnplan |--", said)
    assert said.startswith("Something is wrong")
