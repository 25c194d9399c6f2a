"""Random sequences of every action of the desk, each undone exactly: ten thousand by default.

    nice python tests/soak/undo_sequences.py --sequences 10000

Prints how many were run; a failure ends it with the seed that shows it again:

    python tests/soak/undo_sequences.py --first 4711 --sequences 1
"""

import argparse
import random
import sys
import tempfile
import time
from datetime import UTC
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[2]))

from burnplan.desk.studio.studio import open_studio
from tests import made_once
from tests.conftest import FixedClock
from tests.desk import actions
from tests.desk.actions import Bench, Tally

# A book is begun anew after so many, or its history would make them slower and slower.
ON_ONE_BOOK = 200


def run(folder: Path, first: int, count: int, tally: Tally) -> None:
    """Run sequences on one furnished book; each leaves it as it was."""
    clock = FixedClock()
    studio = open_studio(folder / "home", clock=clock, zone=UTC)
    bench = Bench(studio, clock, random.Random(0), folder)  # noqa: S311
    actions.furnish(bench)
    start = clock.now
    for seed in range(first, first + count):
        bench.dice.seed(seed)
        clock.now = start
        names = bench.dice.choices(list(actions.ACTIONS), k=bench.dice.randint(2, 6))
        try:
            actions.undo_sequence(bench, names, tally)
        except BaseException:
            print(f"seed {seed}: {', '.join(names)}", flush=True)
            raise
    studio.close()


def main() -> None:
    """Run them all and print the count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sequences", type=int, default=10_000)
    parser.add_argument("--first", type=int, default=0, help="seed of the first")
    asked = parser.parse_args()
    tally, began = Tally(), time.monotonic()
    with pytest.MonkeyPatch.context() as patch:
        made_once.remember_readings(patch)
        for first in range(asked.first, asked.first + asked.sequences, ON_ONE_BOOK):
            count = min(ON_ONE_BOOK, asked.first + asked.sequences - first)
            with tempfile.TemporaryDirectory(dir=_memory()) as folder:
                run(Path(folder), first, count, tally)
            print(
                f"{first + count - asked.first} sequences, {tally.done.total()} actions done,"
                f" {tally.refused.total()} refused, {tally.undone} undone exactly,"
                f" {tally.kept} kept as they were changed since,"
                f" {time.monotonic() - began:.0f} s",
                flush=True,
            )
    for name in actions.ACTIONS:
        print(f"{name:24}{tally.done[name]:7} done {tally.refused[name]:7} refused")


def _memory() -> str | None:
    """Return a folder in memory, where there is one: disks make it slow."""
    return "/dev/shm" if Path("/dev/shm").is_dir() else None  # noqa: S108


if __name__ == "__main__":
    main()
