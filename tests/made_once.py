"""What tests would do over and over with the same outcome, done once by each process.

What is put in place of the program's own does what that did the first time it was asked; the
tests of reading a photo (``tests/tone``) and of migrations (``tests/ledger``) know the true ones.
"""

from collections import OrderedDict
from collections.abc import Callable
from contextlib import closing
from functools import cache
from hashlib import sha256
from pathlib import Path
from sqlite3 import connect
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import Dialect, Engine, create_engine, inspect
from sqlalchemy.orm import Session
from sqlalchemy.util import LRUCache
from textual.css.model import RuleSet
from textual.css.stylesheet import Stylesheet
from textual.css.types import CSSLocation

from burnplan.desk.jobs import readings
from burnplan.desk.jobs.readings import EstimateRequest
from burnplan.ledger import engines
from burnplan.progress import Progress, silent

if TYPE_CHECKING:
    from burnplan.tone.analysis import PhotoAnalysis

MOST_READINGS = 24
MOST_STATEMENTS = 3000

Read = Callable[[Path, EstimateRequest, Progress | None], "PhotoAnalysis"]
MigrateTo = Callable[[Engine, str, Callable[[Session], None]], None]


def remember_readings(patch: pytest.MonkeyPatch) -> None:
    """Let each photo be read once for what is asked of it."""
    patch.setattr(readings, "read", remembering(readings.read))


def remembering(read: Read) -> Read:
    """Return what reads a photo once for what is asked of it: nothing else bears on it.

    What the first reading told of its progress is told again.
    """
    kept: OrderedDict[Any, tuple[PhotoAnalysis, list[tuple[float, str]]]] = OrderedDict()

    def remembered(
        photo: Path, asked: EstimateRequest, on_progress: Progress | None = None
    ) -> "PhotoAnalysis":
        if asked.joined is not None or asked.mask is not None or not photo.is_file():
            return read(photo, asked, on_progress)
        tell = on_progress or silent
        key = (photo.name, sha256(photo.read_bytes()).digest(), asked)
        if key in kept:
            kept.move_to_end(key)
            reading, told = kept[key]
            for part in told:
                tell(*part)
            return reading
        told = []

        def telling(done: float, doing: str) -> None:
            told.append((done, doing))
            tell(done, doing)

        kept[key] = read(photo, asked, telling), told
        if len(kept) > MOST_READINGS:
            kept.popitem(last=False)
        return kept[key][0]

    return remembered


def compile_statements_once(patch: pytest.MonkeyPatch) -> None:
    """Let each statement be compiled once, not once for each book that is opened.

    The program opens one; tests open thousands, and half of their time would go into this.
    What was compiled is kept by the dialect it was compiled for, so all files have one.
    """
    compiled: LRUCache[Any, Any] = LRUCache(MOST_STATEMENTS)
    dialects: list[Dialect] = []

    def create(*about: Any, **given: Any) -> Engine:
        engine = create_engine(*about, **given)
        # One that may only look listens to its own dialect for how to connect.
        if engine.dialect.name != "sqlite" or given.get("poolclass") is not None:
            return engine
        dialects.append(engine.dialect)
        del dialects[1:]
        engine.dialect = engine.pool._dialect = dialects[0]
        engine.update_execution_options(compiled_cache=compiled)
        return engine

    patch.setattr("burnplan.ledger.engines.create_engine", create)


def read_styles_once(patch: pytest.MonkeyPatch) -> None:
    """Let the workbench's styles be read once for the same colours, not once for each opening."""
    kept: dict[Any, list[RuleSet]] = {}
    read = Stylesheet._parse_rules

    def read_once(
        self: Stylesheet,
        css: str,
        read_from: CSSLocation,
        is_default_rules: bool = False,
        tie_breaker: int = 0,
        scope: str = "",
    ) -> list[RuleSet]:
        given = (css, read_from, is_default_rules, tie_breaker, scope)
        key = (frozenset(self._variables.items()), *given)
        if key not in kept:
            kept[key] = read(self, *given)
        return kept[key]

    patch.setattr(Stylesheet, "_parse_rules", read_once)


def copying_new_books(migrate_to: MigrateTo, folder: Path) -> MigrateTo:
    """Return what makes a new book as the first was made by migrations; else migrates."""

    @cache
    def statements() -> list[str]:
        path = folder / "book.db"
        engine = engines.open_engine(engines.sqlite_url(path))
        migrate_to(engine, "head", lambda _book: None)
        engine.dispose()
        with closing(connect(path)) as made:
            return [one for one in made.iterdump() if one not in ("BEGIN TRANSACTION;", "COMMIT;")]

    def migrate(
        engine: Engine, revision: str, then: Callable[[Session], None] = lambda _book: None
    ) -> None:
        new = False
        if revision == "head" and engine.dialect.name == "sqlite":
            with engines.plain_transaction(engine, writing=True) as book:
                new = not inspect(book).get_table_names()
                for statement in statements() if new else ():
                    book.exec_driver_sql(statement)
        if not new:
            migrate_to(engine, revision, then)

    return migrate
