"""Damage a book in thousands of ways, and put it right by the command that is named.

    nice python tests/soak/damages.py --damages 10000

Each damaged home must answer every command in words and be restored to its newest copy by
the one command that is named there. Prints a table; a failure names the seed that shows it
again:

    python tests/soak/damages.py --first 4711 --damages 1
"""

import argparse
import random
import shutil
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests import made_once
from tests.desk import actions
from tests.faults import damaging, killing

OUTCOMES = ("restored", "harmless", "unseen")


def main() -> None:
    """Damage so many, and print how each kind ended."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--damages", type=int, default=10_000)
    parser.add_argument("--first", type=int, default=0, help="seed of the first")
    asked = parser.parse_args()
    found: Counter[tuple[str, str]] = Counter()
    failed: list[int] = []
    began = time.monotonic()
    with pytest.MonkeyPatch.context() as patch, tempfile.TemporaryDirectory() as folder:
        made_once.remember_readings(patch)
        made_once.compile_statements_once(patch)
        made, kept, home = (Path(folder) / name for name in ("made", "kept", "home"))
        with killing.Scenario("furnished", Path(folder) / "files").bench(made, 0) as bench:
            actions.furnish(bench)
        good = damaging.furnished_with_a_copy(made, kept)
        for seed in range(asked.first, asked.first + asked.damages):
            # One after another, so that a seed always shows the same.
            damage = damaging.DAMAGES[seed % len(damaging.DAMAGES)]
            killing.copied(kept, home)
            try:
                damage(random.Random(seed), home)  # noqa: S311
                found[damage.__name__, damaging.recover(home, good)] += 1
            except Exception as error:  # noqa: BLE001 the others are tried all the same
                failed.append(seed)
                print(f"seed {seed}, {damage.__name__}: {error!r}", flush=True)
            shutil.rmtree(home)
            if (tried := found.total() + len(failed)) % 500 == 0:
                print(f"{tried} damages, {len(failed)} without a way out", flush=True)
    print(f"{'':24}" + "".join(f"{how:>12}" for how in OUTCOMES))
    for damage in damaging.DAMAGES:
        counts = [found[damage.__name__, how] for how in OUTCOMES]
        print(f"{damage.__name__.replace('_', ' '):24}" + "".join(f"{one:12}" for one in counts))
    print(f"{found.total()} damages in {time.monotonic() - began:.0f} s")
    if failed:
        sys.exit(f"without a way out: seeds {failed}")


if __name__ == "__main__":
    main()
