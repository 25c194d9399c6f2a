"""From a 24-megapixel photo to every sheet of a 30 × 40 cm blank, stage by stage.

Run it as ``python tests/benchmarks/bench_sheets.py``. Times are of this
process's own processor, so that a busy machine changes them little; ratios are
to the photo's own full decode. It measures; it judges nothing.
"""

import argparse
import multiprocessing
import resource
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from bench_tone import build_photo  # type: ignore[import-not-found]

from burnplan.outline import Outline, OutlineKind
from burnplan.sheets.numbers import ZoneNumber, place_numbers
from burnplan.sheets.pages import Facts
from burnplan.sheets.reference_sheet import reference_sheet, value_key
from burnplan.sheets.trace_sheet import trace_pdf, trace_svg
from burnplan.tone import render
from burnplan.tone.reading import Reading, read_reference

OUTLINE = Outline(OutlineKind.RECTANGLE, 300, 400)
FACTS = Facts(title="Benchmark", size="30 × 40 cm")


@contextmanager
def clocked(into: dict[str, list[float]], stage: str) -> Iterator[None]:
    """Note the seconds of processor time that a stage takes."""
    start = time.process_time()
    yield
    into.setdefault(stage, []).append(time.process_time() - start)


def decode(photo: Path) -> None:
    """Decode the whole photo."""
    from PIL import Image

    with Image.open(photo) as image:
        image.load()


def sheets(reading: Reading, folder: Path) -> dict[str, Callable[[], object]]:
    """Return what writes each sheet."""
    placed, zones, lines = reading.placed, reading.zones, reading.lines

    def reference() -> object:
        sepia = render.sepia(placed)
        key = value_key(placed, zones, sepia)
        return reference_sheet(folder / "reference.pdf", sepia, OUTLINE, FACTS, key=key)

    scale = placed.px_per_mm
    numbers: list[ZoneNumber] = []
    return {
        "reference sheet": reference,
        "zone numbers": lambda: numbers.extend(place_numbers(zones, lines, scale)),
        "trace PDF": lambda: trace_pdf(
            folder / "trace.pdf", lines, zones, OUTLINE, FACTS, px_per_mm=scale, numbers=numbers
        ),
        "trace SVG": lambda: trace_svg(
            folder / "trace.svg", lines, zones, OUTLINE, FACTS, px_per_mm=scale, numbers=numbers
        ),
    }


def main() -> None:
    """Build the photo, go through everything some times, print medians and ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    rounds = parser.parse_args().rounds
    taken: dict[str, list[float]] = {}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        photo = folder / "photo.jpg"
        # In a process of its own: its memory is not the pipeline's.
        maker = multiprocessing.get_context("spawn").Process(target=build_photo, args=(photo,))
        maker.start()
        maker.join()
        for _ in range(rounds):
            with clocked(taken, "full decode"):
                decode(photo)
            with clocked(taken, "analysis"):
                reading = read_reference(photo, OUTLINE, wood_lightness=84, burn_lightness=20)
            for stage, write in sheets(reading, folder).items():
                with clocked(taken, stage):
                    write()
    median = {stage: statistics.median(times) for stage, times in taken.items()}
    whole = sum(seconds for stage, seconds in median.items() if stage != "full decode")
    print(f"{'stage':<18}{'seconds':>9}{'× decode':>10}{'share':>8}")
    for stage, seconds in median.items():
        share = "" if stage == "full decode" else f"{seconds / whole:.0%}"
        print(f"{stage:<18}{seconds:>9.3f}{seconds / median['full decode']:>10.1f}{share:>8}")
    print(f"{'all sheets':<18}{whole:>9.3f}{whole / median['full decode']:>10.1f}")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory: {peak:.0f} MB")


if __name__ == "__main__":
    main()
