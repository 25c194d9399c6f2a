"""Magnitudes, held to half a per cent: see :mod:`tests.golden.figures`."""

import json
import re
from collections.abc import Iterator
from itertools import zip_longest
from pathlib import Path
from typing import Any

import pytest

from burnplan.desk import demo
from burnplan.desk.studio.studio import Studio
from tests import books
from tests.golden.figures import NOW, of_demo, path_of

WITHIN = 0.005
NEXT_TO_NOTHING = 1e-4  # chances smaller than this are alike

_NUMBER = re.compile(r"\d+(?:\.\d+)?")


def differences(golden: Any, now: Any, where: str = "") -> Iterator[str]:
    """Yield where two values differ: in words at all, in figures by more than half a per cent.

    Figures inside words count as figures.
    """
    if isinstance(golden, dict) and isinstance(now, dict):
        for key in sorted(golden.keys() | now.keys()):
            if key not in golden or key not in now:
                yield f"{where}/{key}: only in {'golden' if key in golden else 'what is now'}"
            else:
                yield from differences(golden[key], now[key], f"{where}/{key}")
    elif isinstance(golden, list) and isinstance(now, list | tuple):
        for place, (one, other) in enumerate(zip_longest(golden, now)):
            yield from differences(one, other, f"{where}/{place}")
    elif not _alike(golden, now):
        yield f"{where}: {golden!r} was, {now!r} is"


def _alike(golden: Any, now: Any) -> bool:
    if isinstance(golden, str) and isinstance(now, str):
        if _NUMBER.sub("#", golden) != _NUMBER.sub("#", now):
            return False
        pairs = zip(_NUMBER.findall(golden), _NUMBER.findall(now), strict=True)
        return all(_alike(float(one), float(other)) for one, other in pairs)
    if isinstance(golden, bool) or golden is None or isinstance(golden, str):
        return bool(golden == now)
    return isinstance(now, int | float) and now == pytest.approx(
        golden, rel=WITHIN, abs=NEXT_TO_NOTHING
    )


@pytest.mark.parametrize("name", ["estimate", "learned", "review", "job_sheet"])
def test_figures_stay_as_they_were(name: str, filled: Path, tmp_path: Path) -> None:
    books.copy(filled, tmp_path / "golden")
    studio = books.open_at(tmp_path / "golden", demo.DemoClock(NOW))
    found = of_demo(studio)[name]()
    studio.close()
    golden = json.loads(path_of(name).read_text("utf-8"))
    off = "\n".join(differences(golden, found))
    assert not off, f"{path_of(name).name}; meant? see tests/golden/figures.py\n{off}"


def test_every_golden_file_is_held_to(studio: Studio) -> None:
    assert set(of_demo(studio)) == {path.stem for path in path_of("any").parent.glob("*.json")}


@pytest.mark.parametrize(
    ("golden", "now", "differs"),
    [
        ({"h": 10.0}, {"h": 10.04}, False),
        ({"h": 10.0}, {"h": 10.06}, True),
        ({"h": 10.0}, {}, True),
        ({}, {"h": 10.0}, True),
        ([1, 2], [1], True),
        ([1], [1, 2], True),
        ("9.1 cm² of Z1", "9.12 cm² of Z1", False),
        ("9.1 cm² of Z1", "9.2 cm² of Z1", True),
        ("9.1 cm² of Z1", "9.1 cm² of S1", True),
        (None, 0.0, True),
        (True, False, True),
        (0.00001, 0.00002, False),
        (0.01, 0.02, True),
    ],
)
def test_what_counts_as_a_difference(golden: Any, now: Any, differs: bool) -> None:
    assert bool(list(differences(golden, now))) == differs
