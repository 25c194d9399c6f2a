"""How many outlines are found in rendered photos: within 1 % and 3 mm, refused, or wrong.

.venv/bin/python tests/benchmarks/bench_outline.py --first 5000 --scenes 60
"""

import argparse
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from burnplan.errors import BadInput
from burnplan.outline import OutlineKind
from burnplan.tone.found_outline import distances, evenly, find_outline
from burnplan.tone.known_sheet import SHEETS, find_sheet
from burnplan.tone.region import outline_polygon
from tests.tone.scenes import Scene, scene


def area(points: "np.ndarray[tuple[int, ...], np.dtype[np.float64]]") -> float:
    """Return the area inside a closed line."""
    x, y = points.T
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2


def measured(shown: Scene) -> tuple[float, float, OutlineKind]:
    """Return how far the outline found is off at most, mm, and its area, as a share."""
    sheet = find_sheet(shown.rgb, SHEETS["a5"])
    found = find_outline(shown.rgb, sheet)
    got = outline_polygon(found.outline)
    true = found.view.to_mm(shown.view.to_pixels(evenly(shown.points_mm)))
    far = max(distances(evenly(got), true).max(), distances(true, got).max())
    return float(far), area(got) / area(true) - 1, found.outline.kind


def main() -> None:
    """Count them."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--first", type=int, default=5000)
    asked.add_argument("--scenes", type=int, default=60)
    given = asked.parse_args()
    good = wrong = refused = 0
    for seed in range(given.first, given.first + given.scenes):
        shown = scene(seed)
        start = time.process_time()
        try:
            far, off, kind = measured(shown)
        except BadInput as error:
            refused += 1
            said = f"refused: {error.message}"
        else:
            fine = far <= 3 and abs(off) <= 0.01
            good, wrong = good + fine, wrong + (not fine)
            said = f"{kind:10} {far:5.1f} mm {100 * off:+6.2f} %{'' if fine else '   WRONG'}"
        took = time.process_time() - start
        print(f"{seed} {shown.wood:9}{shown.bench:8} {said}  {took:.1f} s", flush=True)
    print(f"found {good}, wrong {wrong}, refused {refused} of {given.scenes}")


if __name__ == "__main__":
    main()
