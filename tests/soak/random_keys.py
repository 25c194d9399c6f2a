"""Random keys at the workbench, with another program writing in the book: thousands by default.

    nice python tests/soak/random_keys.py --presses 5000

Prints how many were pressed; a failure ends it with the keys, and the seed that shows it again:

    python tests/soak/random_keys.py --first 17 --presses 250
"""

import argparse
import os
import sys
import tempfile
import time
from contextlib import chdir
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[2]))

from burnplan.desk import demo
from burnplan.desk.keeping import checking
from tests import books
from tests.conftest import FixedClock
from tests.workbench import hand
from tests.workbench.test_random_keys import press_at_random

# The book is begun anew after so many.
ON_ONE_BOOK = 250


def run(folder: Path, seed: int, presses: int) -> None:
    """Press keys on a book of the invented studio, and look whether it is still whole."""
    os.environ["BURNPLAN_HOME"] = str(folder / "home")
    clock = FixedClock()
    filled, demo_clock = demo.open_demo(folder / "home", clock.now)
    demo.fill(filled, demo_clock)
    filled.close()
    studio, other = (books.open_at(folder / "home", clock) for _ in range(2))
    with chdir(folder):
        press_at_random(studio, other, seed, presses)
    wrong = [one for one in checking.check(studio).findings if one.wrong]
    assert not wrong, f"seed {seed}: {wrong}"
    studio.close()
    other.close()


def main() -> None:
    """Press them all and print the count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--presses", type=int, default=5000)
    parser.add_argument("--first", type=int, default=0, help="seed of the first")
    asked = parser.parse_args()
    pressed, began = 0, time.monotonic()
    with pytest.MonkeyPatch.context() as patch:
        for module in ("textual.app", "textual.pilot"):
            patch.setattr(f"{module}.wait_for_idle", hand.nothing_waits)
        for seed in range(asked.first, asked.first + -(-asked.presses // ON_ONE_BOOK)):
            with tempfile.TemporaryDirectory() as folder:
                run(Path(folder), seed, min(ON_ONE_BOOK, asked.presses - pressed))
            pressed += min(ON_ONE_BOOK, asked.presses - pressed)
            print(f"{pressed} pressed, seeds up to {seed}", flush=True)
    print(f"{pressed} keys pressed in {time.monotonic() - began:.0f} s; it lived, the book whole")


if __name__ == "__main__":
    main()
