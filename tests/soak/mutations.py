"""What the tests hold: small changes made to the program, one at a time, and who notices.

    pip install --editable '.[dev,mutation]'
    nice -n 19 python tests/soak/mutations.py                          # a sample of each file
    nice -n 19 python tests/soak/mutations.py burnplan/reckon/price.py --all

Changes are made by the operators of cosmic-ray, and floats are moved by a tenth, in a copy
of the checkout; which operators and files, and which tests a file has, is in pyproject.toml
under ``tool.burnplan.mutations``. Each change is tried in a fork of a process that has
loaded what the tests import of others, so that most take less than a second. A change is
noticed if a test fails, or does not end within four times what it takes without.

Prints the share noticed of each file, and what was not; with ``--keep FILE`` also as JSON,
from which ``--again FILE`` tries those not noticed once more.
"""

import argparse
import ast
import contextlib
import io
import json
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).parents[2]
SETTINGS = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["burnplan"]
MUTATIONS: dict[str, Any] = SETTINGS["mutations"]
COPIED = ("burnplan", "migrations", "sample_data", "tests", "pyproject.toml")
_FEW, _MANY = 5, 100  # examples of a property
FLOAT = "float"


def copied(target: Path) -> Path:
    """Copy what tests need of the checkout, to be changed."""
    target.mkdir()
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, target / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, target / name)
    return target


class Mutant(NamedTuple):
    """A change to a file: by which operator, at which of the places that it can change."""

    operator: str
    occurrence: int
    line: int


def _operator(name: str) -> Any:
    from cosmic_ray.operators.number_replacer import NumberReplacer
    from cosmic_ray.plugins import get_operator
    from parso.python.tree import Number

    class Whole(NumberReplacer):  # type: ignore[misc]
        """Whole numbers by one, up and down."""

        def mutation_positions(self, node: Any) -> Iterator[Any]:
            if getattr(node, "value", "").isdigit():
                yield from super().mutation_positions(node)

    class Tenth(NumberReplacer):  # type: ignore[misc]
        """Other numbers by a tenth, from nought to a tenth."""

        def mutation_positions(self, node: Any) -> Iterator[Any]:
            if not getattr(node, "value", "").isdigit():
                yield from list(super().mutation_positions(node))[:1]

        def mutate(self, node: Any, index: int) -> Any:  # noqa: ARG002
            value = float(node.value) * 1.1 or 0.1
            return Number(f"{node.prefix}{value!r}", node.start_pos)

    own = {FLOAT: Tenth, "NumberReplacer": Whole}
    return own[name]() if name in own else get_operator(f"core/{name}")()


Span = tuple[tuple[int, int], tuple[int, int]]


def _spared(source: str) -> list[Span]:
    """Return the stretches that reckon nothing: imports, types, decorators, ``strict=``."""
    found: list[ast.AST | None] = []
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Import() | ast.ImportFrom():
                found.append(node)
            case ast.If(test=ast.Name("TYPE_CHECKING")):
                found.append(node)
            case ast.arg() | ast.AnnAssign():
                found.append(node.annotation)
            case ast.FunctionDef():
                found += [node.returns, *node.decorator_list]
            case ast.ClassDef():
                found += node.decorator_list
            case ast.keyword(arg="strict"):
                found.append(node)
            case ast.Call(func=ast.Name("cast")):
                found.append(node.args[0])
    return [
        ((one.lineno, one.col_offset), (one.end_lineno or 0, one.end_col_offset or 0))
        for one in found
        if isinstance(one, ast.expr | ast.stmt | ast.keyword)
    ]


def mutants_of(source: str) -> list[Mutant]:
    """Return every change that can be made to a file."""
    from cosmic_ray.ast import ast_nodes, get_ast

    nodes, spared, lines = [*ast_nodes(get_ast(source))], _spared(source), source.splitlines()
    found = []
    for name in (*MUTATIONS["operators"], FLOAT):
        operator = _operator(name)
        places = [place for node in nodes for place in operator.mutation_positions(node)]
        for occurrence, ((line, column), _end) in enumerate(places):
            by_name_only = lines[line - 1][column : column + 2] == "*,"
            if not by_name_only and not any(a <= (line, column) < b for a, b in spared):
                found.append(Mutant(name, occurrence, line))
    return found


def mutated(source: str, mutant: Mutant) -> str:
    """Return a file with a change made."""
    from cosmic_ray.mutating import mutate_code

    code = mutate_code(source, _operator(mutant.operator), mutant.occurrence)
    if code is None:
        raise ValueError(f"{mutant} cannot be made")
    return str(code)


def tests_of(path: str) -> list[str]:
    """Return the tests of a file: its examples, those of its name, and those named for it."""
    own = Path("tests", *Path(path).parts[1:-1], f"test_{Path(path).name}")
    named: list[str] = MUTATIONS["tests"].get(path, [])
    return list(dict.fromkeys([path, *([str(own)] if own.exists() else []), *named]))


def _run_tests(tests: Sequence[str], examples: int, cpu_seconds: int) -> int:
    """Run tests until one fails, properties with so many examples; the exit code of pytest."""
    import hypothesis
    import pytest

    if cpu_seconds:
        resource.setrlimit(resource.RLIMIT_CPU, (cpu_seconds, cpu_seconds + 5))
    phases = [hypothesis.Phase.explicit, hypothesis.Phase.generate]  # nobody reads what is shrunk
    hypothesis.settings.register_profile(
        "mutations", max_examples=examples, derandomize=True, deadline=None, phases=phases
    )
    base = tempfile.mkdtemp(dir=os.environ["TMPDIR"])
    quiet = [
        "-q", "-x", "-m", "not whole", "--assert=plain", "-p", "no:cacheprovider",
        f"--basetemp={base}/t",
    ]  # fmt: skip
    return int(pytest.main([*quiet, "--hypothesis-profile", "mutations", *tests]))


def _forked(work: Callable[[], int], seconds: float) -> tuple[int, float]:
    """Do work in a child; its exit code (1 if it did not end) and the time of the processor."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    child = os.fork()
    if child == 0:
        os.setsid()
        code = 1
        with contextlib.suppress(BaseException), contextlib.redirect_stdout(io.StringIO()):
            null = os.open(os.devnull, os.O_WRONLY)
            os.dup2(null, 1)
            os.dup2(null, 2)
            code = work()
        os._exit(code)
    end, status = time.monotonic() + seconds, 1
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            break
        time.sleep(0.02)
    else:
        status = 1
        with contextlib.suppress(ProcessLookupError):
            os.killpg(child, signal.SIGKILL)
        os.waitpid(child, 0)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return status, spent


def _loaded(tests: Sequence[str]) -> list[str]:
    """Return the modules of others that some tests load."""
    asked = ["-q", "-x", "-m", "not whole", "--assert=plain", *tests]
    program = (
        "import sys, pytest\n"
        f"code = pytest.main({asked!r})\n"
        "print('loaded', *sys.modules, sep='\\n')\n"
        "sys.exit(code)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    said, _, names_said = done.stdout.partition("\nloaded\n")
    if done.returncode:
        raise SystemExit(f"These tests fail as it is:\n{said}\n{done.stderr}")
    names = names_said.split()
    ours = ("burnplan", "tests", "conftest", "__main__", "test_")
    return [name for name in names if not name.startswith(ours)]


def tried(path: str, mutants: Sequence[Mutant]) -> Iterator[tuple[Mutant, bool, str]]:
    """Try changes to a file of the copy we are in; whether each was noticed, and the new line."""
    import importlib

    tests, file = tests_of(path), Path(path)
    for name in _loaded(tests):
        with contextlib.suppress(Exception):
            importlib.import_module(name)
    source = file.read_text("utf-8")
    code, needed = _forked(lambda: _run_tests(tests, _MANY, 0), 3600)
    if code:
        raise SystemExit(f"The tests of {path} fail as it is, in a fork")
    sys.dont_write_bytecode = True
    for old in file.parent.glob(f"__pycache__/{file.stem}.*.pyc"):
        old.unlink()
    most = int(4 * needed + 10)
    for mutant in mutants:
        changed = mutated(source, mutant)
        file.write_text(changed, "utf-8")
        # Most are noticed by few examples, which take a fraction of the time.
        noticed = any(
            _forked(partial(_run_tests, tests, examples, most), 20 * most)[0]
            for examples in (_FEW, _MANY)
        )
        line = changed.splitlines()[mutant.line - 1].strip()
        yield mutant, noticed, line
    file.write_text(source, "utf-8")


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("files", nargs="*", help="of the program; all that are named if none")
    parser.add_argument("--sample", type=int, default=MUTATIONS["sample"], help="of each file")
    parser.add_argument("--all", action="store_true", help="every change, no sample")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, help="write what was found to this file")
    parser.add_argument("--again", type=Path, help="only what was not noticed in this file")
    return parser.parse_args()


def _chosen(
    path: str, mutants: list[Mutant], asked: argparse.Namespace, kept: dict[str, Any]
) -> list[Mutant]:
    if asked.again:
        old = {(one["operator"], one["occurrence"]) for one in kept.get(path, {}).get("left", [])}
        return [one for one in mutants if (one.operator, one.occurrence) in old]
    if asked.all or len(mutants) <= asked.sample:
        return mutants
    draw = random.Random(f"{asked.seed} {path}")  # noqa: S311
    return sorted(draw.sample(mutants, asked.sample), key=lambda one: one.line)


def _one_file(path: str, mutants: list[Mutant], total: int) -> dict[str, Any]:
    began, left, noticed = time.monotonic(), [], 0
    for mutant, seen, line in tried(path, mutants):
        noticed += seen
        if not seen:
            left.append({**mutant._asdict(), "now": line})
    share = noticed / len(mutants) if mutants else 1.0
    minutes = (time.monotonic() - began) / 60
    print(f"{path}: {noticed} of {len(mutants)} noticed, {share:.0%}"
          f" ({total} can be made; {minutes:.0f} min)", flush=True)  # fmt: skip
    for one in left:
        print(f"    {one['line']:4} {one['operator']}: {one['now']}", flush=True)
    return {"can": total, "tried": len(mutants), "noticed": noticed, "left": left}


def main() -> None:
    """Try what was asked for, file after file, each in a process of its own."""
    asked = _asked()
    kept = json.loads(asked.again.read_text("utf-8")) if asked.again else {}
    files = asked.files or (list(kept) if asked.again else MUTATIONS["files"])
    found: dict[str, Any] = {}
    with tempfile.TemporaryDirectory() as folder:
        copy = copied(Path(folder) / "copy")
        scratch = Path(folder) / "scratch"
        scratch.mkdir()
        os.environ |= {"PYTHONPATH": str(copy), "TMPDIR": str(scratch)}
        os.environ |= {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
        for path in files:
            every = mutants_of((copy / path).read_text("utf-8"))
            mutants = _chosen(path, every, asked, kept)
            reading, writing = os.pipe()
            child = os.fork()
            if child == 0:
                os.chdir(copy)
                sys.path.insert(0, str(copy))
                tempfile.tempdir = None
                try:
                    with os.fdopen(writing, "w") as answer:
                        json.dump(_one_file(path, mutants, len(every)), answer)
                except SystemExit as stopped:
                    print(stopped, flush=True)
                finally:
                    os._exit(0)
            os.close(writing)
            with os.fdopen(reading) as answer:
                said = answer.read()
            os.waitpid(child, 0)
            if said:
                found[path] = json.loads(said)
            if asked.keep:
                asked.keep.write_text(json.dumps(found, indent=1), "utf-8")
    tries = sum(one["tried"] for one in found.values())
    noticed = sum(one["noticed"] for one in found.values())
    if tries:
        print(f"all: {noticed} of {tries} noticed, {noticed / tries:.1%}")


if __name__ == "__main__":
    main()
