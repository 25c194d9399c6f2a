"""The laying-out table: a photo of 24 megapixels, at 120 × 40: from a key to the picture.

    python tests/benchmarks/bench_laying.py [PRESSES] [sixel|kitty]

Reports how long the photo takes to be in hand, and for each kind of change how long a key waits
until the picture that shows it is on the screen: on the clock, and in processor time of all the
program's threads, which a busy machine does not change so much. Medians and worst. With sixel
or kitty each picture is laid in the terminal's own dots too, once the hand rests: how long that
takes, and how many bytes it is.
"""

import asyncio
import os
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

os.environ["TEXTUAL_COLOR_SYSTEM"] = "truecolor"
sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np
from PIL import Image

from burnplan.desk.jobs import commissions, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.studio import open_studio
from burnplan.workbench.app import Workbench
from burnplan.workbench.pages.laying import Top
from burnplan.workbench.presses import Presses
from burnplan.workbench.terminal import Cell, Terminal, Way
from burnplan.workbench.threads import keys_first

SIZE = (120, 40)
KINDS = {
    "move": ("p", ("right", "down", "left", "up")),
    "scale": ("s", ("right", "left")),
    "turn": ("t", ("right", "right", "left")),
    "black": ("b", ("right", "left")),
    "midtone": ("g", ("right", "left")),
    "contrast": ("c", ("right", "right", "left", "left")),
    "zones shown, number": ("z", ("right", "left")),
    "subject's mark": ("S", ("right", "left")),
}


def photo_24(folder: Path) -> Path:
    """Return a JPEG of 6000 × 4000 pixels with detail and noise."""
    sample = Path(__file__).parents[2] / "sample_data" / "photo-to-trace.jpg"
    large = np.asarray(
        Image.open(sample).convert("RGB").rotate(90, expand=True).resize((6000, 4000))
    )
    noise = np.random.default_rng(3).normal(0, 3, large.shape)
    path = folder / "large.jpg"
    Image.fromarray(np.clip(large + noise, 0, 255).astype(np.uint8)).save(path, quality=92)
    return path


class Timed(Workbench):
    """The workbench, noting when a picture of the table has been put on the screen."""

    def __init__(self, *args: Any) -> None:
        super().__init__(*args)
        self.given = False
        self.drawn = asyncio.Event()
        self.at = (0.0, 0.0)

    def _display(self, screen: Any, renderable: Any) -> None:
        super()._display(screen, renderable)
        if renderable is not None and self.given:
            self.at = time.perf_counter(), time.process_time()
            self.drawn.set()


async def run(presses: int) -> None:
    """Time them all and print."""
    with tempfile.TemporaryDirectory() as folder:
        studio = open_studio(Path(folder) / "home")
        wishes = Wishes(title="Cat", client="Mara", size="30x20cm", species="basswood")
        code = commissions.add(studio, wishes).code
        references.add(studio, code, photo_24(Path(folder)))
        app = Timed(studio)
        give = Top.give

        def noted(self: Top, *drawn: Any) -> None:
            app.given = True
            give(self, *drawn)

        Top.give = noted  # type: ignore[method-assign, assignment]
        way = next((way for way in Way if way.value in sys.argv), None)
        app.terminal = Terminal(way, Cell(10, 20) if way else None)
        laid: list[float] = []
        sizes: list[int] = []

        def told(text: str) -> None:
            if "\x1bP" in text or "f=100" in text:
                laid.append(time.perf_counter())
                sizes.append(len(text))

        async with app.run_test(size=SIZE) as pilot:
            driver: Any = app._driver
            driver.write = told

            async def rested() -> None:
                quiet = 0
                while quiet < 5:
                    await asyncio.sleep(0.02)
                    quiet = quiet + 1 if all(one.is_finished for one in app.workers) else 0

            app.open_job(code)
            await rested()
            began = time.perf_counter()
            await pilot.press("y")
            await app.drawn.wait()
            print(f"the photo is in hand and seen: {time.perf_counter() - began:.2f} s")
            await rested()
            every: list[float] = []
            sharp: list[float] = []
            for kind, (letter, keys) in KINDS.items():
                if kind.startswith("zones"):
                    await pilot.press("v")
                await pilot.press(letter)
                await rested()
                waits, own = [], []
                for n in range(presses):
                    app.given = False
                    app.drawn.clear()
                    app.presses = Presses()
                    clock, spent = time.perf_counter(), time.process_time()
                    laid.clear()
                    await pilot.press(keys[n % len(keys)])
                    await app.drawn.wait()
                    waits.append(1000 * (app.at[0] - clock))
                    own.append(1000 * (app.at[1] - spent))
                    await rested()
                    sharp += [1000 * (one - clock) for one in laid[:1]]
                every += waits
                print(
                    f"{kind:22} {statistics.median(waits):4.0f} ms (most {max(waits):.0f}); "
                    f"processor {statistics.median(own):.0f} (most {max(own):.0f})"
                )
                if kind.startswith("zones"):
                    await pilot.press("v")
            over = sum(one > 150 for one in every)
            print(
                f"{'all':22} {statistics.median(every):4.0f} ms (most {max(every):.0f}); "
                f"{over} of {len(every)} over 150"
            )
            if sharp:
                middle, most = statistics.median(sharp), max(sharp)
                print(
                    f"{'in its own dots':22} {middle:4.0f} ms (most {most:.0f}); "
                    f"{statistics.median(sizes) / 1000:.0f} kB (most {max(sizes) / 1000:.0f})"
                )


if __name__ == "__main__":
    keys_first()
    asyncio.run(run(next((int(one) for one in sys.argv if one.isdigit()), 20)))
