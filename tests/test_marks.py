"""Every figure says beside itself where it is from: a source, or that it has none.

Constants, defaults of classes, and defaults of functions that are a magnitude.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import burnplan

ROOT = Path(burnplan.__path__[0])
FILES = [
    path
    for room in ("tone", "lettering", "wood", "reckon", "desk")
    for path in sorted((ROOT / room).rglob("*.py"))
]
MARKS = re.compile(
    r"no source|from memory|a guess[:,]|by definition|our own|own derivation|our assumption"
    r"|measured|invented|ISO|IEC|CIE|TIFF|W3C|Handbook|\b(?:19|20)\d\d\b",
    re.IGNORECASE,
)
# What nobody would ask the source of: none, one, yes and no.
PLAIN = (0, 1)


def numbers(node: ast.expr | None) -> bool:
    found = (
        (part.value for part in ast.walk(node) if isinstance(part, ast.Constant)) if node else ()
    )
    return any(
        isinstance(value, int | float) and not isinstance(value, bool) and value not in PLAIN
        for value in found
    )


def figures(body: list[ast.stmt], lines: list[str], within: str = "") -> Iterator[tuple[str, str]]:
    """Yield the name of each constant and default that is a figure, with what stands beside it."""
    for place, node in enumerate(body):
        if isinstance(node, ast.ClassDef):
            yield from figures(node.body, lines, f"{node.name}.")
        if isinstance(node, ast.Assign):
            name = ast.unparse(node.targets[0])
        elif isinstance(node, ast.AnnAssign):
            name = ast.unparse(node.target)
        else:
            continue
        if not numbers(node.value) or not (within or re.match(r"\(?_?[A-Z]", name)):
            continue
        first, last = node.lineno - 1, node.end_lineno or node.lineno
        above = first
        while above and lines[above - 1].lstrip().startswith("#"):
            above -= 1
        after = body[place + 1] if place + 1 < len(body) else None
        docstring = ast.unparse(after) if isinstance(after, ast.Expr) else ""
        yield within + name, "\n".join(lines[above:last]) + docstring


def defaults(tree: ast.AST, lines: list[str]) -> Iterator[tuple[str, str]]:
    """Yield each default of a function that is a figure, with the comments that stand by it.

    A comment stands by it on its line, or above it, where it may be of the ones that follow too.
    """
    for node in ast.walk(tree):
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        asked = node.args
        plain = [*asked.posonlyargs, *asked.args]
        late = plain[len(plain) - len(asked.defaults) :]
        for argument, default in (
            *zip(late, asked.defaults, strict=True),
            *zip(asked.kwonlyargs, asked.kw_defaults, strict=True),
        ):
            if not numbers(default):
                continue
            first = above = argument.lineno - 1
            while above > node.lineno and "#" not in lines[above - 1] and "=" in lines[above - 1]:
                above -= 1
            while above > node.lineno and lines[above - 1].lstrip().startswith("#"):
                above -= 1
            said = [line for line in lines[above:first] if line.lstrip().startswith("#")]
            yield f"{node.name}({argument.arg})", "\n".join([*said, lines[first]])


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_figure_is_marked(path: Path) -> None:
    source = path.read_text(encoding="utf-8")
    tree, lines = ast.parse(source), source.splitlines()
    found = [*figures(tree.body, lines), *defaults(tree, lines)]
    unmarked = [name for name, beside in found if not MARKS.search(beside)]
    assert not unmarked, f"{unmarked} of {path.name}: say where the figure is from"


def test_a_guess_says_what_it_was_judged_by() -> None:
    assert MARKS.search("a guess: tried on drawn strips")
    assert MARKS.search("# A guess, tried on drawn strips:")
    assert not MARKS.search("# a guess")
    assert not MARKS.search("of its height (a guess).")


def test_the_walk_finds_what_is_there_and_what_is_missing() -> None:
    source = (
        'A = 3\n\nB = 4  # a guess: by eye\n# By definition.\nC = 5\nD = 6\n"""So (no source)."""\n'
    )
    found = dict(figures(ast.parse(source).body, source.splitlines()))
    assert [name for name, beside in found.items() if not MARKS.search(beside)] == ["A"]


def test_the_walk_finds_defaults_of_functions() -> None:
    source = """def far(a, b=2, *, c=0.5, d=1):
    pass

def near(
    a: int = 3,  # a guess: by eye
    # Both are by definition.
    b: int = 4,
    c: int = 5,
    *,
    d: int = 6,
):
    def inside(e=7):  # from memory
        pass
"""
    found = dict(defaults(ast.parse(source), source.splitlines()))
    assert [*found] == [
        "far(b)", "far(c)", "near(a)", "near(b)", "near(c)", "near(d)", "inside(e)",
    ]  # fmt: skip
    unmarked = [name for name, beside in found.items() if not MARKS.search(beside)]
    assert unmarked == ["far(b)", "far(c)", "near(d)"]


@pytest.mark.parametrize("table", ["species", "materials"])
def test_the_tables_are_marked(table: str) -> None:
    text = (ROOT / "wood" / "tables" / f"{table}.toml").read_text(encoding="utf-8")
    bare = re.findall(r"^\w+ = \[-?[\d.]+\]$|^source = \"\"$", text, re.MULTILINE)
    assert bare == []
