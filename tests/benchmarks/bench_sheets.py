"""From a 24-megapixel photo to every sheet of a 30 × 40 cm blank, stage by stage.

Run it as ``python tests/benchmarks/bench_sheets.py``. Times are by the clock on
the wall and of this process's processors, all threads together: a busy machine
changes the second little. The shortest of the rounds count; ratios are to the
photo's own full decode, shares are of all but it. It measures; it judges nothing.
"""

import argparse
import itertools
import multiprocessing
import resource
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from bench_tone import build_photo, decode  # type: ignore[import-not-found]
from numpy.typing import NDArray

from burnplan.outline import Outline, OutlineKind
from burnplan.sheets.jobs.marks import ZoneMarks, place_marks
from burnplan.sheets.jobs.panel import Facts
from burnplan.sheets.jobs.reference_sheet import reference_sheet, value_key
from burnplan.sheets.jobs.trace_sheet import trace_pdf, trace_svg
from burnplan.sheets.jobs.value_map import value_map
from burnplan.tone import render
from burnplan.tone.analysis import PhotoAnalysis, analyse_photo
from burnplan.tone.ticks import direction_ticks

OUTLINE = Outline(OutlineKind.RECTANGLE, 300, 400)
FACTS = Facts(title="Benchmark", size="30 × 40 cm")


Ticks = tuple[NDArray[np.float64], ...]
Times = dict[str, list[tuple[float, float]]]


@contextmanager
def clocked(into: Times, stage: str) -> Iterator[None]:
    """Note the seconds that a stage takes, on the wall and of processor time."""
    wall, processor = time.perf_counter(), time.process_time()
    yield
    taken = time.perf_counter() - wall, time.process_time() - processor
    into.setdefault(stage, []).append(taken)


def best(times: Times) -> dict[str, tuple[float, float]]:
    """Give the shortest wall and processor time of each stage."""
    return {
        stage: (min(w for w, _ in runs), min(p for _, p in runs)) for stage, runs in times.items()
    }


def analysis_stages(photo: Path, into: Times) -> PhotoAnalysis:
    """Read the photo; note what the analysis and each of its own stages take."""
    marks: list[tuple[str, float, float]] = []

    def mark(_done: float, label: str) -> None:
        marks.append((label, time.perf_counter(), time.process_time()))

    with clocked(into, "analysis"):
        mark(0.0, "Looking at the photo")
        reading = analyse_photo(
            photo, OUTLINE, wood_lightness=84, burn_lightness=20, on_progress=mark
        )
        mark(1.0, "")
    taken: dict[str, tuple[float, float]] = {}
    for (label, wall, processor), (_next, wall_end, processor_end) in itertools.pairwise(marks):
        before = taken.get(label, (0.0, 0.0))
        taken[label] = before[0] + wall_end - wall, before[1] + processor_end - processor
    for label, times in taken.items():
        into.setdefault(f"  {label}", []).append(times)
    return reading


def sheets(reading: PhotoAnalysis, folder: Path) -> dict[str, Callable[[], object]]:
    """Return what writes each sheet."""
    placed, zones, lines = reading.placed, reading.zones, reading.lines

    def reference() -> object:
        sepia = render.sepia(placed)
        key = value_key(placed, zones, sepia)
        path = folder / "reference.pdf"
        return reference_sheet(path, sepia, OUTLINE, FACTS, key=key, ticks=ticks[0])

    def values() -> object:
        path = folder / "values.pdf"
        return value_map(path, reading, marks[0], FACTS, wood_lightness=84, burn_lightness=20)

    marks: list[ZoneMarks] = []
    ticks: list[Ticks] = []
    return {
        "direction": lambda: ticks.append(direction_ticks(placed, lines)),
        "reference sheet": reference,
        "zone marks": lambda: marks.append(place_marks(zones, lines, placed)),
        "value map": values,
        "trace PDF": lambda: trace_pdf(
            folder / "trace.pdf", lines, OUTLINE, FACTS, ticks=ticks[0], marks=marks[0]
        ),
        "trace SVG": lambda: trace_svg(
            folder / "trace.svg", lines, OUTLINE, FACTS, ticks=ticks[0], marks=marks[0]
        ),
    }


def main() -> None:
    """Build the photo, go through everything some times, print times, ratios and shares."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    rounds = parser.parse_args().rounds
    times: Times = {}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        photo = folder / "photo.jpg"
        # In a process of its own: its memory is not the pipeline's.
        maker = multiprocessing.get_context("spawn").Process(target=build_photo, args=(photo,))
        maker.start()
        maker.join()
        for _ in range(rounds):
            with clocked(times, "full decode"):
                decode(photo)
            reading = analysis_stages(photo, times)
            for stage, write in sheets(reading, folder).items():
                with clocked(times, stage):
                    write()
            del reading  # no round works beside what another one found
    print(f"{'':<28}{'wall':>26}{'processor':>26}")
    print(f"{'stage':<28}" + f"{'seconds':>9}{'× decode':>9}{'share':>8}" * 2)
    found = best(times)
    decoding = found.pop("full decode")
    whole = [sum(t[k] for stage, t in found.items() if stage[0] != " ") for k in (0, 1)]
    print_row("full decode", decoding, decoding)
    for stage, taken in found.items():
        print_row(stage, taken, decoding, whole)
    print_row("all sheets", whole, decoding)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory: {peak:.0f} MB")


def print_row(
    stage: str,
    taken: Sequence[float],
    decoding: Sequence[float],
    whole: Sequence[float] | None = None,
) -> None:
    """Print a stage's times, their ratio to the decode's and their share of the whole."""
    row = f"{stage:<28}"
    for k in (0, 1):
        share = f"{taken[k] / whole[k]:.0%}" if whole else ""
        row += f"{taken[k]:>9.3f}{taken[k] / decoding[k]:>9.1f}{share:>8}"
    print(row)


if __name__ == "__main__":
    main()
