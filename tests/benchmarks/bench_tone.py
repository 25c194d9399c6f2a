"""Time and memory of reading a 24-megapixel photo, stage by stage.

Run it as ``python tests/benchmarks/bench_tone.py``. It builds a 6000 × 4000
JPEG from a real photo, enlarged and given sensor-like noise so that it decodes
as a camera's would, and reads it for a 30 × 40 cm blank at 4 px/mm in a
process of its own. It prints each stage's share, the ratio to the photo's own
full decode and the peak memory of the process. It measures; it judges nothing.
"""

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

WIDTH, HEIGHT = 6000, 4000


def build_photo(path: Path) -> None:
    """Write a 24-megapixel JPEG made from scikit-image's coffee photo."""
    import cv2
    import numpy as np
    import skimage.data
    from PIL import Image

    small = np.asarray(Image.open(Path(skimage.data.__file__).parent / "coffee.png"))
    photo = cv2.resize(small.astype(np.float32), (WIDTH, HEIGHT), interpolation=cv2.INTER_CUBIC)
    rng = np.random.default_rng(24)
    # Shot noise grows with the root of the signal; a camera blurs it a little when it
    # makes full colour of its mosaic.
    noise = rng.standard_normal((HEIGHT, WIDTH, 3), np.float32)
    noise = cv2.GaussianBlur(noise, (0, 0), 0.6) * 4.0
    noisy = photo + noise * (1.0 + 0.25 * np.sqrt(np.maximum(photo, 0)))
    Image.fromarray(np.clip(noisy, 0, 255).astype(np.uint8)).save(path, quality=92)


def read_once(path: Path) -> dict[str, object]:
    """Read the photo in this process; give stages in seconds and the peak in MB."""
    started = time.perf_counter()
    from burnplan.outline import Outline, OutlineKind
    from burnplan.tone.reading import read_reference

    imported = time.perf_counter()
    marks: list[tuple[str, float]] = []
    reading = read_reference(
        path,
        Outline(OutlineKind.RECTANGLE, 300, 400),
        wood_lightness=82,
        burn_lightness=20,
        on_progress=lambda _share, label: marks.append((label, time.perf_counter())),
    )
    done = time.perf_counter()
    stages: dict[str, float] = {}
    for (label, start), (_next, stop) in zip(marks, [*marks[1:], ("", done)], strict=True):
        stages[label] = stages.get(label, 0.0) + stop - start
    return {
        "import": imported - started,
        "read": done - imported,
        "stages": stages,
        "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
        "line_cm": reading.lines.length_cm(),
        "islands": sum(measure.islands for measure in reading.measures),
    }


def decode_once(path: Path) -> float:
    """Seconds to decode the whole photo to an array."""
    import numpy as np
    from PIL import Image

    started = time.perf_counter()
    with Image.open(path) as image:
        np.asarray(image.convert("RGB"))
    return time.perf_counter() - started


def in_own_process(step: str, path: Path, *more: str) -> str:
    """Run this file for one step and return what it printed."""
    command = [sys.executable, __file__, step, str(path), *more]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--runs", type=int, default=5)
    # Each step runs in a process of its own: a child's peak memory, as the system
    # counts it, starts from its parent's, so the parent must stay small.
    parser.add_argument("--build", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--decode", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--read", type=Path, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.build:
        build_photo(given.build)
        return
    if given.decode:
        print(json.dumps(min(decode_once(given.decode) for _ in range(given.runs))))
        return
    if given.read:
        print(json.dumps(read_once(given.read)))
        return
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "photo.jpg"
        in_own_process("--build", path)
        decode = json.loads(in_own_process("--decode", path, "--runs", str(given.runs)))
        runs = [json.loads(in_own_process("--read", path)) for _ in range(given.runs)]
        best = min(runs, key=lambda run: run["read"])
        size = path.stat().st_size / 1e6
    print(f"photo {WIDTH}x{HEIGHT}, {size:.1f} MB; full decode {decode:.3f} s")
    print(
        f"reading {best['read']:.3f} s = {best['read'] / decode:.2f} x decode "
        f"(decode + {best['read'] - decode:.3f} s); imports {best['import']:.3f} s"
    )
    for label, seconds in best["stages"].items():
        print(f"  {label:26s} {seconds:7.3f} s  {seconds / best['read']:6.1%}")
    print(f"peak memory {max(run['peak_mb'] for run in runs):.0f} MB")
    print(f"lines {best['line_cm']:.0f} cm, islands {best['islands']}")


if __name__ == "__main__":
    main()
