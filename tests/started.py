"""The program as a process of its own, which need not start: it is a copy of the tests'.

Importing is most of what a start takes. What is looked at here is all else that a process has:
its output, its terminal, its exit code, its rights. Starting itself is looked at by the tests
that start the program in earnest (``tests/cli/test_program.py``). No book may be open in this
process then: SQLite would take the copy for the one that has it.
"""

import gc
import os
import pty
import select
import signal
import subprocess
import sys
import tempfile
import traceback
import warnings
from collections.abc import Callable, Mapping, Sequence
from typing import NoReturn

import pytest

from burnplan.__main__ import main
from tests.conftest import new_terminal

LONGEST = 60  # seconds, then it is taken to hang


def started(
    words: Sequence[str],
    environment: Mapping[str, str] | None = None,
    first: Callable[[], object] = lambda: None,
) -> subprocess.CompletedProcess[str]:
    """Run the program, with nothing to read from; ``first`` is called in its process before."""
    with (
        tempfile.TemporaryFile("w+", encoding="utf-8", newline="") as out,
        tempfile.TemporaryFile("w+", encoding="utf-8", newline="") as err,
        open(os.devnull, encoding="utf-8") as nothing,  # noqa: PTH123 a device
    ):
        child = _fork(os.fork)[0]
        if child == 0:  # pragma: no cover - the other process
            for own, file in enumerate((nothing, out, err)):
                os.dup2(file.fileno(), own)
            _be_the_program(words, environment or {}, first)
        status = os.waitpid(child, 0)[1]
        out.seek(0)
        err.seek(0)
        code = os.waitstatus_to_exitcode(status)
        return subprocess.CompletedProcess([*words], code, out.read(), err.read())


def in_a_terminal(words: Sequence[str], answers: str) -> str:
    """Run the program on a pseudo-terminal, type answers, return what was seen."""
    child, terminal = _fork(pty.fork)
    if child == 0:  # pragma: no cover - the other process
        _be_the_program(words, {}, lambda: None)
    return heard(child, terminal, answers)


def heard(child: int, terminal: int, answers: str) -> str:
    """Type answers on the terminal of a process, wait for its end, return what was seen."""
    os.write(terminal, answers.encode())
    seen = b""
    while True:
        if not select.select([terminal], [], [], LONGEST)[0]:
            os.kill(child, signal.SIGKILL)
            pytest.fail(f"It waits for more than was typed: {seen.decode(errors='replace')}")
        try:
            chunk = os.read(terminal, 65536)
        except OSError:
            break
        if not chunk:
            break
        seen += chunk
    os.waitpid(child, 0)
    os.close(terminal)
    return seen.decode(errors="replace")


def _fork(how: Callable[[], object]) -> tuple[int, int]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # threads: the copy asks none
        made = how()
    return made if isinstance(made, tuple) else (made, -1)


def _be_the_program(
    words: Sequence[str], environment: Mapping[str, str], first: Callable[[], object]
) -> NoReturn:  # pragma: no cover - the other process
    """Do what a new process does once all is imported, and end."""
    code = 1
    try:
        gc.freeze()  # books that tests left behind are not this process's to close
        signal.alarm(LONGEST)
        for name, number, mode in (("stdin", 0, "r"), ("stdout", 1, "w"), ("stderr", 2, "w")):
            stream = open(  # noqa: SIM115 it has no path, and stays open
                number, mode, encoding="utf-8", errors="surrogateescape", closefd=False,
                buffering=1 if number == 2 or os.isatty(number) else -1,
            )  # fmt: skip
            setattr(sys, name, stream)
        os.environ.update(environment)
        new_terminal()
        sys.argv = ["burnplan", *words]
        first()
        main()
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else int(end.code is not None)
    except BaseException:  # noqa: BLE001 nothing of the tests' may run in the copy
        traceback.print_exc()
    finally:
        for stream in (sys.stdout, sys.stderr):
            if stream is not None:
                stream.flush()
        os._exit(code)
