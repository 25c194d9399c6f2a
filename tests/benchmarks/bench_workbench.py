"""The workbench: opening, keys and queries, with a thousand open jobs.

    python tests/benchmarks/bench_workbench.py [OPEN]

Makes a book of 1,000 open jobs in a temporary folder and reports

- how long the workbench takes from the start of the process until today's jobs
  are on its screen, in a book of twenty, against an empty Textual app that
  imports the same modules and opens the same book (processor time of either
  process, in turn; medians and their ratio);
- how long a key waits until the screen has changed, and until it changes no
  more: on the clock, and the processor time of the screen's thread alone, which
  a busy machine does not change; also while a thousand jobs are being looked up
  in the background;
- the same for moving the cursor in a plain Textual list of as many options, and
  for putting a screen over it, on the same machine at the same time;
- the longest query on the screen's thread, by the engine's own events.
"""

import asyncio
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any, ClassVar, NamedTuple

from grown_book import fill  # type: ignore[import-not-found]  # beside this program
from sqlalchemy import event
from textual._compositor import CompositorUpdate
from textual.app import App, ComposeResult
from textual.binding import BindingType
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList

from burnplan.desk.studio.studio import Studio, open_studio
from burnplan.workbench.app import Workbench
from burnplan.workbench.threads import keys_first, sweep

ROUNDS = 7
SIZE = (120, 40)
# Each with the page it is pressed on gone to before, all at rest.
KEYS: tuple[tuple[str, str], ...] = (
    *(("jobs", key) for key in ("down", "down", "j", "k", "pagedown", "pageup", "end", "home")),
    *(("today", key) for key in ("down", "down", "pagedown", "end", "home")),
    *(("job", key) for key in ("down", "down", "up", "space", "space", "u")),
    ("today", "2"),
    ("jobs", "1"),
    ("jobs", "3"),
    ("jobs", "4"),
    ("jobs", "enter"),
    ("job", "escape"),
    ("jobs", "l"),
    ("jobs", "n"),
    ("jobs", "ctrl+p"),
)

IMPORTS = """
import burnplan.cli.studio.workbench, burnplan.cli.app
from burnplan.desk.jobs import review
from burnplan.desk.studio.studio import open_studio
from burnplan.workbench.app import Workbench
from textual.app import App
studio = open_studio()
studio.engine
"""
OURS = (
    IMPORTS
    + """
class First(Workbench):
    def on_ready(self):
        self.set_interval(0.005, self.shown)
    def shown(self):
        if self.page.listing.key:
            self.call_after_refresh(self.exit)
First(studio).run(headless=True, size=(120, 40))
"""
)
EMPTY = (
    IMPORTS
    + """
class First(App):
    def on_ready(self):
        self.call_after_refresh(self.exit)
First().run(headless=True, size=(120, 40))
"""
)


def spent(program: str, home: Path) -> float:
    """Return the seconds of processor time that a program takes."""
    environment = {**os.environ, "BURNPLAN_HOME": str(home)}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(
        [sys.executable, "-c", program], env=environment, check=True, stdout=subprocess.DEVNULL
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def opening(home: Path) -> str:
    """Time opening in turn with the empty app."""
    spent(OURS, home), spent(EMPTY, home)
    pairs = [(spent(OURS, home), spent(EMPTY, home)) for _ in range(ROUNDS)]
    ours, empty = (statistics.median(column) for column in zip(*pairs, strict=True))
    ratio = statistics.median(one / other for one, other in pairs)
    return f"opening {ours:.2f} s, empty app {empty:.2f} s: ratio {ratio:.2f} (target < 1.5)"


class Waits(NamedTuple):
    """How long a key waited, ms: until the screen changed, until it changed no more."""

    first: float
    first_own: float
    whole: float
    whole_own: float


class Timed(App[None]):
    """An app that notes when it draws."""

    def __init__(self, *args: Any) -> None:
        super().__init__(*args)
        self.drawn = asyncio.Event()
        self.at = (0.0, 0.0)

    def _display(self, screen: Any, renderable: Any) -> None:
        super()._display(screen, renderable)
        if renderable is None:
            return  # nothing has changed
        if isinstance(renderable, CompositorUpdate):
            renderable.render_segments(self.console)  # as where there is a terminal
        self.drawn.set()
        self.at = time.perf_counter(), time.thread_time()

    async def at_rest(self) -> None:
        """Wait until nothing is looked up and nothing is drawn any more."""
        quiet = 0
        while quiet < 5:
            self.drawn.clear()
            await asyncio.sleep(0.02)
            done = all(worker.is_finished for worker in self.workers)
            quiet = quiet + 1 if done and not self.drawn.is_set() else 0

    async def waits(self, pilot: Any, key: str, *, whole: bool = True) -> Waits:
        """Press a key; return the waits for the first change of the screen, and for all of it."""
        self.drawn.clear()
        clock, own = time.perf_counter(), time.thread_time()
        pressed = asyncio.create_task(pilot.press(key))
        await self.drawn.wait()
        first = self.at
        await pressed
        if whole:
            await self.at_rest()
        times = first[0] - clock, first[1] - own, self.at[0] - clock, self.at[1] - own
        return Waits(*(1000 * one for one in times))


class TimedWorkbench(Timed, Workbench):
    """The workbench, noting when it draws."""


class Plain(Timed):
    """A list of options and nothing else."""

    BINDINGS: ClassVar[list[BindingType]] = [("n", "over", "")]

    def __init__(self, count: int) -> None:
        super().__init__()
        self.count = count

    def compose(self) -> ComposeResult:
        """Lay out the list."""
        yield OptionList(*(f"C-{n:04d}  Job {n}" for n in range(self.count)))

    def action_over(self) -> None:
        """Put a screen with two inputs over it."""
        self.push_screen(Over())


class Over(ModalScreen[None]):
    """A screen with two inputs."""

    def compose(self) -> ComposeResult:
        """Lay them out."""
        yield Input()
        yield Input()


async def plain_keys(count: int) -> list[str]:
    """Time the keys of the plain list."""
    app = Plain(count)
    async with app.run_test(size=SIZE) as pilot:
        await app.at_rest()
        moves = [await app.waits(pilot, key) for key in ("down", "pagedown", "end", "home") * 5]
        over = []
        for _ in range(5):
            over.append(await app.waits(pilot, "n"))
            await app.run_action("pop_screen")
            await app.at_rest()
    return [line("plain list: cursor", moves), line("plain list: a screen over it", over)]


def line(name: str, waits: Sequence[Waits]) -> str:
    """Return what the keys of one kind waited."""
    clock, own, whole, whole_own = zip(*waits, strict=True)

    def middle_and_most(times: Sequence[float]) -> str:
        return f"{statistics.median(times):.0f} (most {max(times):.0f})"

    late = sum(one > 50 for one in clock)
    return (
        f"{name}: {middle_and_most(clock)} ms, {late} of {len(clock)} over 50;"
        f" screen's thread {middle_and_most(own)} ms;"
        f" all drawn {middle_and_most(whole)} ms, thread {middle_and_most(whole_own)} ms"
    )


async def keys(studio: Studio) -> list[str]:
    """Time the keys, at rest and while jobs are looked up."""
    app, found = TimedWorkbench(studio), []
    async with app.run_test(size=SIZE) as pilot:
        await app.at_rest()
        at_rest = []
        for _ in range(3):
            for page, key in KEYS:
                if page == "job":
                    app.open_job("C-0005")
                else:
                    await app.action_page(page)
                await app.at_rest()
                at_rest.append((key, await app.waits(pilot, key)))
                await app.at_rest()
                if len(app.screen_stack) > 1:
                    await pilot.press("escape")
                sweep()
        found.append(line("keys at rest", [times for _, times in at_rest]))
        found += [
            line(f"  {key:9}", [times for name, times in at_rest if name == key])
            for key in dict.fromkeys(key for key, _ in at_rest)
        ]
        await app.action_page("jobs")
        await app.at_rest()
        busy = []
        for _ in range(5):
            looked = threading.Thread(target=app.page.look_up)
            app.open_jobs._known = None
            looked.start()
            while looked.is_alive():
                for key in ("down", "up"):
                    busy.append(await app.waits(pilot, key, whole=False))
                    await asyncio.sleep(0.03)
        found.append(line("keys while a thousand jobs are looked up", busy))
    return found


def watched(studio: Studio) -> dict[str, float]:
    """Keep the longest query of the thread that calls this, and of all others, in ms."""
    screen, begun = threading.get_ident(), threading.local()
    longest = {"screen": 0.0, "others": 0.0}

    def before(*_: Any) -> None:
        begun.at = time.perf_counter()

    def after(*_: Any) -> None:
        where = "screen" if threading.get_ident() == screen else "others"
        longest[where] = max(longest[where], 1000 * (time.perf_counter() - begun.at))

    event.listen(studio.engine, "before_cursor_execute", before)
    event.listen(studio.engine, "after_cursor_execute", after)
    return longest


def main() -> None:
    """Fill, time, report."""
    jobs = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    with tempfile.TemporaryDirectory() as folder:
        few, home = Path(folder) / "few", Path(folder) / "many"
        fill(few, 20, 0)
        fill(home, jobs, 0)
        print(opening(few))
        studio = open_studio(home)
        longest = watched(studio)
        keys_first()
        print(*asyncio.run(plain_keys(jobs)), sep="\n")
        print(*asyncio.run(keys(studio)), sep="\n")
        print(
            f"longest query: on the screen's thread {longest['screen']:.1f} ms (none is 0),"
            f" on others {longest['others']:.0f} ms"
        )


if __name__ == "__main__":
    main()
