"""A studio of its own for each test: temporary home, fixed clock, fixed zone."""

import os

# As the program has it, before numpy is loaded: its threads only wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import gc
import io
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import settings
from PIL import Image

from burnplan.desk.studio.studio import Studio
from burnplan.ledger import backup, migrate
from burnplan.show import console
from tests import books, made_once

# A busy machine must not fail a property, and the same commit always tries the same
# examples. New ones are looked for with: pytest --hypothesis-profile search
settings.register_profile("steady", deadline=None, derandomize=True)
settings.register_profile("search", deadline=None, max_examples=1000)
settings.register_profile("few", deadline=None, derandomize=True, max_examples=10)
settings.load_profile("steady")


# Waiting until each change is on the disk takes longer than many a test; in memory nothing waits.
_MEMORY, _ENOUGH = Path("/dev/shm"), 4 << 30  # noqa: S108 pytest makes a folder of its own in it
if os.access(_MEMORY, os.W_OK) and shutil.disk_usage(_MEMORY).free > _ENOUGH:
    os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(_MEMORY))


# A third of the time of the workbench's tests went into looking for cycles.
gc.set_threshold(200_000, 50, 100)


def pytest_collection_finish() -> None:
    """Never look again through the tests themselves and all that they imported."""
    gc.freeze()


class FixedClock:
    """A clock that stands still until it is moved."""

    def __init__(self) -> None:
        self.now = datetime(2027, 3, 17, 9, 0, tzinfo=UTC)  # a Wednesday

    def __call__(self) -> datetime:
        return self.now

    def forward(self, **length: float) -> None:
        self.now += timedelta(**length)


@pytest.fixture
def clock() -> FixedClock:
    return FixedClock()


def new_terminal() -> None:
    """Forget the width of the terminal: a program looks at it once, when it starts."""
    for shown_on in (console.console, console.error_console):
        shown_on.cache_clear()


@pytest.fixture(autouse=True)
def _no_environment(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Keep every test away from the user's own book and language."""
    monkeypatch.setenv("BURNPLAN_HOME", str(tmp_path / "home"))
    monkeypatch.delenv("BURNPLAN_DATABASE_URL", raising=False)
    # Else each program that a test starts would compile all of burnplan again.
    monkeypatch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
    monkeypatch.setenv("COLUMNS", "120")
    new_terminal()
    for name in ("LC_ALL", "LC_MONETARY", "LANG"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture(autouse=True)
def _no_books_left(tmp_path: Path) -> Iterator[None]:
    """Let no test's books pile up on a server."""
    yield
    books.drop(tmp_path)


@pytest.fixture(scope="session", autouse=True)
def _made_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Read no photo and no styles, make no book and compile no statement twice."""
    new_book = tmp_path_factory.mktemp("new")
    with pytest.MonkeyPatch.context() as patch:
        made_once.remember_readings(patch)
        made_once.compile_statements_once(patch)
        made_once.read_styles_once(patch)
        copying = made_once.copying_new_books(migrate.migrate_to, new_book)
        patch.setattr(migrate, "migrate_to", copying)
        yield


@pytest.fixture(scope="session", autouse=True)
def _no_common_books_left(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    yield
    books.drop(tmp_path_factory.getbasetemp())
    books.leave()


@pytest.fixture(scope="session")
def empty_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home with an empty book, made once and copied: migrating takes its time."""
    home = tmp_path_factory.mktemp("empty") / "home"
    opened = books.open_at(home, FixedClock())
    with opened.reading():
        pass
    opened.close()
    if not books.SERVER:
        # As if something had been done this day already: else each test would make its copy.
        backup.copy_book(home / "book.db", backup.copy_of(home / "book.db", opened.today()))
    return home


@pytest.fixture(scope="session")
def demo_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The home of the invented studio, with rows in every table of its file, for copying."""
    from burnplan.desk import demo
    from burnplan.ledger import tables

    def make(home: Path) -> None:
        studio, clock = demo.open_demo(home, FixedClock().now)
        demo.fill(studio, clock)
        with studio.engine.connect() as connection:
            for table in tables.tables():
                assert tables.count(connection, table) > 0, table.name
        studio.close()

    return books.made_once(tmp_path_factory, "demo", make)


@pytest.fixture(scope="session")
def filled(demo_home: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same home; where a server is named, its book is there as well as in the file."""
    if not books.SERVER:
        return demo_home
    from burnplan.ledger import engines, moving
    from burnplan.progress import silent

    home = tmp_path_factory.mktemp("filled") / "home"
    shutil.copytree(demo_home, home)
    file = engines.open_engine(engines.sqlite_url(home / "book.db"))
    there = books.open_at(home, FixedClock())
    there.begins_anew = True  # the photos are there already
    moving.move(file, there.engine, silent)
    there.close()
    file.dispose()
    return home


@pytest.fixture
def studio(tmp_path: Path, clock: FixedClock, empty_home: Path) -> Iterator[Studio]:
    books.copy(empty_home, tmp_path / "home")
    opened = books.open_at(tmp_path / "home", clock)
    yield opened
    opened.close()


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    """A drawn photo: a dark disc and a mid square on a light ground."""
    return draw_photo(tmp_path / "drawn.png")


def draw_photo(path: Path) -> Path:
    """Draw it: the disc has a radius of 220 px, the square is 440 × 480 px."""
    path.write_bytes(_drawn())
    return path


@cache
def _drawn() -> bytes:
    y, x = np.mgrid[:960, :1280] + 0.5
    grey = np.full((960, 1280), 225, np.uint8)
    grey[240:720, 720:1160] = 120
    grey[(x - 360) ** 2 + (y - 480) ** 2 < 220**2] = 25
    file = io.BytesIO()
    Image.fromarray(np.dstack([grey] * 3)).save(file, "PNG")
    return file.getvalue()


@pytest.fixture
def no_other_fonts(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A machine that has no fonts of its own."""
    from burnplan.sheets import lettering
    from burnplan.sheets.money import letter_pdf

    remembering = (lettering._set, lettering._set_beside, letter_pdf.can_set)
    monkeypatch.setattr(lettering, "_elsewhere", lambda _file: None)
    for one in remembering:
        one.cache_clear()
    yield
    for one in remembering:
        one.cache_clear()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print the fault matrix, where the tests of tests/faults were run."""
    rows = [
        tuple(value)
        for report in terminalreporter.getreports("passed")
        for name, value in report.user_properties
        if name == "fault"
    ]
    if rows:
        terminalreporter.section("faults: tried, said, kept")
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        for row in rows:
            cells = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
            terminalreporter.line("  ".join(cells).rstrip())
