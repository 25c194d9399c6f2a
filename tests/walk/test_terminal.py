"""Every command in an inch studio and a metric one, at every width and in a pipe.

What is shown has the units, the dates and the spelling of the studio, and nothing that is read
or copied as one is broken. A command that is not in ``lines.py`` fails the first test.
"""

import json
import re
import shutil
from collections import defaultdict
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from burnplan.cli.app import run
from burnplan.cli.commands import COMMANDS
from burnplan.desk import demo
from tests import books
from tests.conftest import new_terminal
from tests.walk import lines, scanning, studios
from tests.walk.studios import COUNTRIES, Country, Walker

# The workbench has a test of its own: test_workbench.py.
ELSEWHERE = {"workbench"}


def _commands() -> Iterator[tuple[str, Any]]:
    for name, listed in COMMANDS.items():
        command = listed.command(name)
        children = getattr(command, "commands", None)
        if children is None:
            yield name, command
        else:
            yield from ((f"{name} {under}", one) for under, one in children.items())


def test_every_command_is_walked() -> None:
    walked = [*lines.READS, *lines.CHANGES, *lines.MISTAKES]
    shown = {name for name, command in _commands() if not command.hidden}
    missing = {
        name for name in shown if not any(f"{one} ".startswith(f"{name} ") for one in walked)
    }
    assert missing == ELSEWHERE


@pytest.mark.parametrize("country", COUNTRIES.values(), ids=COUNTRIES)
@pytest.mark.whole
def test_every_command_in(
    country: Country, filled: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each is done once; what is wrong is gathered by what is wrong with it."""
    books.copy(filled, tmp_path / "home")
    studio, _ = studios.open_at(tmp_path / "home")
    studios.fill(studio, country)
    monkeypatch.setattr(demo, "open_demo", lambda _home: studios.open_at(tmp_path / "home"))
    monkeypatch.setattr(demo, "fill", lambda *_: None)
    walker = Walker(studio, country, tmp_path, monkeypatch)
    wrong: dict[str, list[str]] = defaultdict(list)
    walked = [(line, 0) for line in (*lines.READS, *lines.CHANGES)]
    for line, code in (*walked, *((line, 2) for line in lines.MISTAKES)):
        shown = walker.walk(line)
        if shown.code != code:
            wrong["not what it is walked for"].append(f"{line}: {shown.code} {shown.piped}")
        for what, found in scanning.wrong(shown, country):
            wrong[what].append(f"{line}: {found}")
    studio.close()
    pages = sorted(tmp_path.rglob("*.pdf"))
    assert len(pages) > 10
    for path in pages:
        text = "\n".join(page.extract_text() for page in PdfReader(path).pages)
        foreign = (*scanning.FOREIGN[country.name], scanning.ISO_DATE, scanning.LOOSE_DATE)
        wrong[f"on {path.name}"] += scanning.found(foreign, text)
        wrong[f"broken on {path.name}"] += scanning.broken_on_paper(text)
    wrong = {what: found for what, found in wrong.items() if found}
    assert not wrong, "\n".join(
        f"\n{what}, {len(found)}:\n" + "\n".join(found[:40]) for what, found in wrong.items()
    )


DATED = (
    "commission show C-0004", "payment list", "session list", "session planned",
    "quote list C-0004", "days-off list", "photo list", "blank moisture B-0006", "ladder list",
    "jobs", "promise", "today", "past backtest", "calendar",
)  # fmt: skip
A_DAY = re.compile(r"(?<!hangs)_(?:on|at|from|until)$|^(?:due|day|monday|p\d0)$")


def test_json_has_days_and_moments_of_iso_8601(
    filled: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    books.copy(filled, tmp_path / "home")
    studio, _ = studios.open_at(tmp_path / "home")
    studios.settle_in(studio, COUNTRIES["en_US"])
    for line in DATED:
        assert run([*line.split(), "--json"], studio) == 0
        found = [*_named(json.loads(capsys.readouterr().out))]
        days = [value for name, value in found if isinstance(value, str) and A_DAY.search(name)]
        assert days, line
        assert [datetime.fromisoformat(day) for day in days], line
    studio.close()


def _named(value: Any, name: str = "") -> Iterator[tuple[str, Any]]:
    """Yield each value of JSON with its name."""
    if isinstance(value, dict):
        for key, one in value.items():
            yield from _named(one, key)
    elif isinstance(value, list):
        for one in value:
            yield from _named(one, name)
    else:
        yield name, value


@books.about_files
@pytest.mark.whole
@pytest.mark.parametrize("country", COUNTRIES.values(), ids=COUNTRIES)
def test_every_help_in(
    country: Country,
    empty_home: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Help is asked for where no book is open yet: it takes a look at the file."""
    shutil.copytree(empty_home, tmp_path / "home")
    studio, _ = studios.open_at(tmp_path / "home")
    studios.settle_in(studio, country)
    studio.close()
    monkeypatch.delenv("COLUMNS")
    foreign = (*scanning.FOREIGN[country.name], scanning.LOOSE_DATE)
    wrong = []
    for name in ("", *(name for name, _ in _commands()), *COMMANDS):
        words = [*name.split(), "--help"]
        new_terminal()
        assert run(words) == 0
        whole = capsys.readouterr().out
        wrong += [f"{name}: {one}" for one in scanning.found(foreign, whole)]
        # The narrowest in one country, that of most people in the other.
        width = 60 if country.name == "en_US" else 80
        monkeypatch.setenv("COLUMNS", str(width))
        new_terminal()
        assert run(words) == 0
        narrow = capsys.readouterr().out
        wrong += [f"{name}, {width}: {one}" for one in scanning.broken(whole, narrow, width)]
        wrong += [f"{name}, {width}: {one}" for one in scanning.too_long(narrow, width)]
        monkeypatch.delenv("COLUMNS")
    assert not wrong, "\n".join(wrong)
