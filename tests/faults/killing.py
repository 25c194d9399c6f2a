"""Programs killed at a chosen point, and what must be true of the book afterwards.

A scenario is a row of steps, each of which writes; what the home is before and
after each of them is kept from a run that nobody disturbs. A child process
repeats some of the steps, tells as each is said to be done, and is killed. The
book must then be the one after the last step told, or after the next, whole;
and the steps that are left must lead to the same end.
"""

import hashlib
import os
import random
import resource
import shutil
import signal
import sqlite3
import time
import traceback
import uuid
import warnings
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any, Literal
from unittest.mock import patch

from sqlalchemy import Engine, event

from burnplan.desk.jobs import review
from burnplan.desk.keeping import backups, restoring, undo
from burnplan.desk.studio.studio import open_studio
from burnplan.desk.time import past
from burnplan.errors import BurnplanError
from burnplan.files import UNFINISHED, replacing
from burnplan.ledger import backup, migrate, package, soundness
from burnplan.progress import silent
from burnplan.sheets.tables import write_jobs
from tests.conftest import FixedClock
from tests.desk import actions
from tests.desk.actions import ACTIONS, Bench

Tell = Callable[[], None]
Do = Callable[[Bench, Tell], None]
How = Literal["at a call", "at a moment", "in a write"]
HOWS: tuple[How, ...] = ("at a call", "at a moment", "in a write")

START = datetime(2027, 3, 20, 9, tzinfo=UTC)
# How many steps a child does at most.
SPAN = 3
OLD_SCHEMA = "0008"
EVERY_ACTION = (
    *ACTIONS, "sessions.pause", "sessions.resume", "sessions.stop", "sessions.start",
)  # fmt: skip


@dataclass
class Scenario:
    """Steps, each with the home as it was before, and what the book was then.

    Parameters
    ----------
    name : str
    folder : Path
        For the homes, and the photos and files that steps take.
    """

    name: str
    folder: Path
    steps: list[tuple[str, Do]] = field(default_factory=list)
    states: list[str] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)
    calls: dict[int, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Make the folder."""
        self.folder.mkdir(parents=True, exist_ok=True)

    def before(self, number: int) -> Path:
        """Return the home as it was before a step, or after the last."""
        return self.folder / f"home{number}"

    def begin(self, home: Path | None = None) -> None:
        """Begin with a home, or with none."""
        if home is not None:
            shutil.copytree(home, self.before(0))
        self.states = [state(self.before(0))]

    def then(self, name: str, do: Do) -> None:
        """Do the next step undisturbed, and keep what the home is then.

        Raises
        ------
        BurnplanError
            If it is refused; then it is none of the steps.
        """
        number, began = len(self.steps), time.monotonic()
        after = self.before(number + 1)
        copied(self.before(number), after)
        try:
            with self.bench(after, number) as bench:
                do(bench, lambda: None)
        except BurnplanError:
            shutil.rmtree(after)
            raise
        self.seconds.append(time.monotonic() - began)
        self.steps.append((name, do))
        self.states.append(state(after))

    def do(self, home: Path, number: int, tell: Tell = lambda: None) -> None:
        """Do a step in some home, as it was done undisturbed."""
        with self.bench(home, number) as bench:
            self.steps[number][1](bench, tell)

    @contextmanager
    def bench(self, home: Path, number: int) -> Iterator[Bench]:
        """Open a home at the time of a step."""
        clock = FixedClock()
        clock.now = START + timedelta(hours=number)
        studio = open_studio(home, clock=clock, zone=UTC)
        names = (uuid.uuid5(uuid.NAMESPACE_OID, f"{number}.{n}") for n in range(1000))
        # Planned sessions get the same unique names each time, and a step that was done and
        # not told of is done again, over its own file.
        with patch("uuid.uuid4", lambda: next(names)), replacing(lambda _path: True):
            yield Bench(studio, clock, random.Random(number), self.folder)  # noqa: S311
        studio.close()


def copied(home: Path, target: Path) -> None:
    """Copy a home, in place of what was there."""
    shutil.rmtree(target, ignore_errors=True)
    if home.exists():
        shutil.copytree(home, target)


def state(home: Path) -> str:
    """Return a digest of all the book holds: schema and every row; empty without a book."""
    path = home / "book.db"
    if not path.exists() or not path.stat().st_size:
        return ""
    with closing(sqlite3.connect(path)) as book:
        # A migration that makes a table anew makes its indexes in any order.
        said = sorted(_ordered(line) for line in book.iterdump())
    has_tables = any("alembic_version" in line for line in said)
    return hashlib.sha256("\n".join(said).encode()).hexdigest() if has_tables else ""


def _ordered(statement: str) -> str:
    """Return a statement; of a table's definition, which has no order, its sorted lines."""
    if not statement.startswith("CREATE"):
        return statement
    return "\n".join(sorted(line.strip(", )") for line in statement.splitlines()))


# --- scenarios -----------------------------------------------------------------------------


def _desk_action(name: str, seed: int, bench: Bench, tell: Tell) -> None:
    bench.dice.seed(seed)
    ACTIONS[name](bench)()
    tell()


def _undo(bench: Bench, tell: Tell) -> None:
    undo.undo_last(bench.studio)
    tell()


def _open(bench: Bench, tell: Tell) -> None:
    with bench.studio.reading():
        tell()


def _in_home(what: Callable[..., object], name: str, bench: Bench, tell: Tell) -> None:
    what(bench.studio, bench.studio.home / name)
    tell()


def _copy_of_the_day(bench: Bench, tell: Tell) -> None:
    another_day = bench.studio.today() + timedelta(days=9)
    backup.copy_of_the_day(bench.studio.home / "book.db", another_day)
    tell()


def _restore(bench: Bench, tell: Tell) -> None:
    with restoring.of_backup(bench.studio, bench.studio.home / "kept.zip") as ready:
        ready.put_in_place(silent)
        tell()


def _bring_in(bench: Bench, tell: Tell) -> None:
    source = bench.studio.home / "out.zip"
    with restoring.of_export(bench.studio, source, replace=True) as ready:
        ready.put_in_place(silent)
        tell()


def _write_jobs(bench: Bench, tell: Tell) -> None:
    write_jobs(review.review(bench.studio), bench.studio.home / "review.csv")
    tell()


def all_scenarios(folder: Path, names: Iterable[str] = EVERY_ACTION) -> list[Scenario]:
    """Return every way the program writes, having done each undisturbed.

    Parameters
    ----------
    folder : Path
    names : iterable of str
        The desk actions, where not all are wanted.
    """
    new = Scenario("a new book", folder / "new")
    new.begin()
    new.then("open", _open)

    furnished = folder / "furnished"
    with new.bench(furnished, 0) as bench:
        actions.furnish(bench)

    desk = Scenario("each desk action, and undo", folder / "desk")
    desk.begin(furnished)
    for name in names:
        _add_if_accepted(desk, name)
    for _ in range(SPAN):
        desk.then("undo", _undo)

    files = Scenario("tables and backups written", folder / "files")
    files.begin(furnished)
    files.then("past jobs", partial(_in_home, past.give_out, "past.csv"))
    files.then("open jobs", _write_jobs)
    files.then("copy of the day", _copy_of_the_day)
    files.then("backup", partial(_in_home, backups.back_up, "kept.zip"))
    files.then("export", partial(_in_home, backups.export, "out.zip"))

    back = Scenario("a backup restored, an export brought in", folder / "back")
    back.begin(files.before(len(files.steps)))
    back.then("undo", _undo)
    back.then("restore", _restore)
    back.then("undo", _undo)
    back.then("bring in", _bring_in)

    older = folder / "older"
    shutil.copytree(furnished, older)
    with new.bench(older, 0) as bench:
        migrate.migrate_to(bench.studio.engine, OLD_SCHEMA)
    migration = Scenario(f"a migration from schema {OLD_SCHEMA}", folder / "migration")
    migration.begin(older)
    migration.then("open", _open)
    return [desk, new, migration, files, back]


def _add_if_accepted(scenario: Scenario, name: str) -> None:
    """Add an action with the first dice by which the book takes it."""
    for seed in range(60):
        try:
            scenario.then(name, partial(_desk_action, name, seed))
        except BurnplanError:
            continue
        return


# --- killing -------------------------------------------------------------------------------


class Counter:
    """Counts the calls that write; at the one chosen the process is killed."""

    def __init__(self, fatal: int | None) -> None:
        self.seen, self._fatal = 0, fatal

    def __call__(self, *_anything: object, **_more: object) -> None:
        self.seen += 1
        if self.seen == self._fatal:
            os.kill(os.getpid(), signal.SIGKILL)

    def arm(self) -> None:
        """Count before and after each SQL statement, commit, and change of a file's name."""
        for name in ("before_cursor_execute", "after_cursor_execute", "commit", "rollback"):
            event.listen(Engine, name, self)
        for name in ("fsync", "replace", "rename", "unlink", "mkdir", "chmod", "link"):
            setattr(os, name, self._around(getattr(os, name)))

    def _around(self, call: Callable[..., Any]) -> Callable[..., Any]:
        def counted(*args: Any, **kwargs: Any) -> Any:
            self()
            made = call(*args, **kwargs)
            self()
            return made

        return counted


@dataclass(frozen=True)
class Killed:
    """A kill point: in which step of which scenario, and how."""

    scenario: str
    step: str
    how: How


def kill_once(scenario: Scenario, dice: random.Random, room: Path) -> Killed | None:
    """Kill a child somewhere in a scenario, and look what it left; None if it was too quick.

    Raises
    ------
    AssertionError
        If something said done is lost, or something is half written.
    """
    first, how = dice.randrange(len(scenario.steps)), dice.choice(HOWS)
    last = min(first + dice.randint(1, SPAN), len(scenario.steps))
    home = room / "home"
    copied(scenario.before(first), home)
    told = _killed_child(scenario, range(first, last), how, dice, home)
    if told is None:
        return None
    done = first + told
    step = scenario.steps[min(done, last - 1)][0]
    label = f"{scenario.name}, {step}: killed {how}"
    check_left(home, label)
    check_tables(scenario, home, label)
    now = state(home)
    assert now in scenario.states[done : done + 2], f"{label}: lost, or half written"
    if now != scenario.states[done]:
        done += 1  # it was done, and only not said yet
    for number in range(done, last):
        scenario.do(home, number)
    assert state(home) == scenario.states[last], f"{label}: what is left to do ends otherwise"
    return Killed(scenario.name, step, how)


def _killed_child(
    scenario: Scenario, steps: range, how: How, dice: random.Random, home: Path
) -> int | None:
    """Let a child do steps until it is killed; return how many it told were done, if it was."""
    if how == "at a call":
        if steps.start not in scenario.calls:
            copied(home, home.with_name("counted"))
            other = _Child(scenario, range(steps.start, steps.start + 1), home.with_name("counted"))
            scenario.calls[steps.start] = other.wait().counted
        fatal = dice.randint(1, max(1, scenario.calls[steps.start]))
        child = _Child(scenario, steps, home, fatal=fatal)
    elif how == "in a write":
        largest = max(path.stat().st_size for path in _files(scenario.before(steps.stop)))
        child = _Child(scenario, steps, home, most_bytes=dice.randint(1, largest + 100_000))
    else:
        child = _Child(scenario, steps, home)
        time.sleep(dice.uniform(0, sum(scenario.seconds[n] for n in steps)))
        os.kill(child.pid, signal.SIGKILL)
    end = child.wait()
    return end.told if end.killed else None


@dataclass(frozen=True)
class _Ended:
    """How a child ended: the steps it told, the calls it counted, and whether it was killed."""

    told: int
    counted: int
    killed: bool


class _Child:
    """A process that does some steps of a scenario in a home."""

    def __init__(
        self,
        scenario: Scenario,
        steps: range,
        home: Path,
        *,
        fatal: int | None = None,
        most_bytes: int | None = None,
    ) -> None:
        self._ear, mouth = os.pipe()
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)  # threads: the child starts none
            self.pid = os.fork()
        if self.pid == 0:
            try:
                counter = Counter(fatal)
                counter.arm()
                if most_bytes is not None:
                    _die_beyond(most_bytes)
                for number in steps:
                    scenario.do(home, number, lambda: _say(mouth, "."))
                _say(mouth, str(counter.seen))
                os._exit(0)
            except BaseException:  # noqa: BLE001 nothing of the parent's may run in the child
                _say(mouth, traceback.format_exc())
                os._exit(1)
        os.close(mouth)

    def wait(self) -> _Ended:
        """Wait for its end."""
        with open(self._ear, encoding="utf-8") as ear:  # noqa: PTH123 a pipe has no path
            said = ear.read()
        _, status = os.waitpid(self.pid, 0)
        rest = said.lstrip(".")
        assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0, rest
        return _Ended(len(said) - len(rest), int(rest or 0), os.WIFSIGNALED(status))


def _say(mouth: int, words: str) -> None:
    os.write(mouth, words.encode())


def _die_beyond(most: int) -> None:
    """Let the system end this process in the middle of a write that makes a file too long."""
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, resource.RLIM_INFINITY))


# --- what is left --------------------------------------------------------------------------


def _files(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


def check_left(home: Path, label: str) -> None:
    """Look at all that a program left: the book, its photos, copies, backups."""
    path = home / "book.db"
    if path.exists():
        with closing(sqlite3.connect(path)) as book:
            assert book.execute("PRAGMA integrity_check").fetchall() == [("ok",)], label
            assert book.execute("PRAGMA foreign_key_check").fetchall() == [], label
            tables = [row[0] for row in book.execute("SELECT name FROM sqlite_master")]
            query = "SELECT sha256, bytes FROM original"
            rows = book.execute(query).fetchall() if "original" in tables else []
        for sha256, length in rows:
            data = (home / "originals" / sha256[:2] / sha256).read_bytes()
            assert (hashlib.sha256(data).hexdigest(), len(data)) == (sha256, length), label
    for found in _files(home):
        assert found.suffix == ".csv" or _private(found, home), f"{label}: {found} is not private"
        if any(_unfinished(name) for name in found.relative_to(home).parts):
            continue
        if found.parent.parent.name == "originals":
            assert hashlib.sha256(found.read_bytes()).hexdigest() == found.name, label
        elif found.suffix == ".db" and found != path:
            assert soundness.damage(found) == [], label
        elif found.suffix == ".zip":
            with package.opened(found) as whole:
                whole.verify()


def check_tables(scenario: Scenario, home: Path, label: str) -> None:
    """Look whether each table written for other programs is one that was written undisturbed."""
    for table in home.glob("*.csv"):
        kept = [scenario.before(n) / table.name for n in range(len(scenario.steps) + 1)]
        known = {one.read_bytes() for one in kept if one.exists()}
        assert table.read_bytes() in known, f"{label}: half of {table.name}"


def _private(path: Path, home: Path) -> bool:
    """Return whether only its owner can read a file: by its own mode, or a folder's around it."""
    around = [one for one in path.parents if one.is_relative_to(home) and one != home]
    return any(one.stat().st_mode & 0o077 == 0 for one in (path, *around))


def _unfinished(name: str) -> bool:
    """Return whether a name is of something still being written, which nothing reads."""
    return name.endswith(UNFINISHED) or name.startswith((".", "tmp"))
