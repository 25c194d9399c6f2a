"""Kill the program at random points of every way it writes: five hundred by default.

    nice python tests/soak/kill_points.py --points 500

After each the book must be whole, hold all that was said done, and go on as if
nothing had happened. Prints a table; a failure names the seed that shows it
again:

    python tests/soak/kill_points.py --first 4711 --points 1
"""

import argparse
import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests import made_once
from tests.faults import killing


def main() -> None:
    """Kill so many, and print how many of each scenario in each way."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--points", type=int, default=500)
    parser.add_argument("--first", type=int, default=0, help="seed of the first")
    asked = parser.parse_args()
    found: Counter[tuple[str, str]] = Counter()
    steps: set[str] = set()
    began, seed = time.monotonic(), asked.first
    with pytest.MonkeyPatch.context() as patch, tempfile.TemporaryDirectory() as folder:
        made_once.remember_readings(patch)
        scenarios = killing.all_scenarios(Path(folder) / "scenarios")
        while found.total() < asked.points:
            dice = random.Random(seed)  # noqa: S311
            # Half of them in the desk's actions, the rest in each of the others alike.
            scenario = scenarios[0] if dice.random() < 0.5 else dice.choice(scenarios[1:])
            try:
                killed = killing.kill_once(scenario, dice, Path(folder))
            except BaseException:
                print(f"seed {seed}, after {found.total()} kill points", flush=True)
                raise
            if killed is not None:
                found[killed.scenario, killed.how] += 1
                steps.add(f"{killed.scenario}: {killed.step}")
                if found.total() % 50 == 0:
                    print(f"{found.total()} kill points, nothing lost", flush=True)
            seed += 1
    print(f"{'':40}" + "".join(f"{how:>14}" for how in killing.HOWS))
    for scenario in scenarios:
        counts = [found[scenario.name, how] for how in killing.HOWS]
        print(f"{scenario.name:40}" + "".join(f"{count:14}" for count in counts))
    print(
        f"{found.total()} kill points in {len(steps)} different steps, {seed - asked.first} runs:"
        f" nothing lost, nothing half written; {time.monotonic() - began:.0f} s"
    )


if __name__ == "__main__":
    main()
