"""What reading a photo costs, and how well six value zones keep it.

Run it as ``python tests/benchmarks/bench_tone.py``, or with ``speed`` or
``zones`` for one half. It measures; it judges nothing.

``speed`` builds a 6000 × 4000 JPEG from a real photo, enlarged and given
sensor-like noise so that it decodes as a camera's would, and reads it for a
30 × 40 cm blank at 4 px/mm in a process of its own: each stage's share, the
ratio to the photo's own full decode and the peak memory of the process.

``zones`` compares six value zones with multi-level Otsu at the same number on
every real photo that ships in scikit-image and scikit-learn, each on a 30 × 40
cm blank turned to suit. Thresholds of Otsu are exact and made on the same
lightness, and it is given as it comes and cleaned to the same smallest area:
islands below it take the label of the nearest pixel that stays, until none is
left. For each: the islands below 9 mm², the borders between zones in cm (the sides
of pixels, which go up and down more than a line would), and RMS of
L* and SSIM (Wang et al. 2004, Gaussian window, by scikit-image) against the
photo, for three ways to paint the same zones:

- flat: one tone a zone, its mean. Nothing flat with six tones can have a lower
  RMS than Otsu as it comes: that is what it minimises. A pen cannot burn it.
- own: each island its own mean.
- burned: shaded within each island as an artist does with the reference beside
  the wood: tones go over into each other within it over a nib's width and never
  across a line, and the nib softens every edge.
"""

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from burnplan.tone.place import Placed

    Labels = NDArray[np.uint8]
    Parts = NDArray[np.integer]
    Light = NDArray[np.float32]

WIDTH, HEIGHT = 6000, 4000

# All photographs of the two packages; drawings, charts, arrays and the animation are left out.
PHOTOS = (
    "astronaut.png",
    "brick.png",
    "camera.png",
    "cell.png",
    "chelsea.png",
    "china.jpg",
    "clock_motion.png",
    "coffee.png",
    "coins.png",
    "flower.jpg",
    "grass.png",
    "gravel.png",
    "hubble_deep_field.jpg",
    "ihc.png",
    "microaneurysms.png",
    "moon.png",
    "motorcycle_left.png",
    "motorcycle_right.png",
    "page.png",
    "retina.jpg",
    "rocket.jpg",
    "text.png",
)
ZONES = 6
METHODS = ("otsu", "cleaned", "ours")
PAINTS = ("flat", "own", "burned")
NIB_MM = 0.75


def build_photo(path: Path) -> None:
    """Write a 24-megapixel JPEG made from scikit-image's coffee photo.

    At about 6.5 MB it lies at the lower end of what cameras write of that size (6 to
    12 MB, from memory). A file with less noise decodes sooner and is read as slowly as
    any, so that its ratio to the decode is higher; one with more has a lower ratio.
    """
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
    from burnplan.tone.analysis import analyse_photo

    imported = time.perf_counter()
    marks: list[tuple[str, float]] = []
    reading = analyse_photo(
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


def decode(path: Path) -> None:
    """Decode the whole photo, and nothing else: no copy to an array."""
    from PIL import Image

    with Image.open(path) as image:
        image.load()


def decode_once(path: Path) -> float:
    """Seconds to decode the whole photo."""
    started = time.perf_counter()
    decode(path)
    return time.perf_counter() - started


def in_own_process(step: str, path: Path, *more: str) -> str:
    """Run this file for one step and return what it printed."""
    command = [sys.executable, __file__, step, str(path), *more]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def photo_path(name: str) -> Path:
    """Return where a photo lies."""
    import skimage.data
    import sklearn.datasets

    for folder in (
        Path(skimage.data.__file__).parent,
        Path(sklearn.datasets.__file__).parent / "images",
    ):
        if (folder / name).exists():
            return folder / name
    raise SystemExit(f"There is no photo {name}")


def measured(name: str) -> dict[str, dict[str, float]]:
    """Give for each method its islands, line and errors on a photo."""
    import numpy as np

    from burnplan.outline import Outline, OutlineKind
    from burnplan.tone.islands import islands_of
    from burnplan.tone.photo import open_photo
    from burnplan.tone.place import place
    from burnplan.tone.zones import find_zones, lightness_histogram, optimal_thresholds
    from burnplan.zoning import MIN_AREA_MM2

    photo = open_photo(photo_path(name))
    wide = photo.full_size[0] >= photo.full_size[1]
    placed = place(photo, Outline(OutlineKind.RECTANGLE, *((400, 300) if wide else (300, 400))))
    zones = find_zones(placed, ZONES)
    least = MIN_AREA_MM2 / placed.pixel_area_mm2
    cuts = optimal_thresholds(lightness_histogram(placed.lightness, placed.inside), zones.count)
    edges = (np.array(cuts) + 1) * 100 / 256
    otsu = (np.searchsorted(edges, placed.lightness, side="right") + 1).astype(np.uint8)
    result = {}
    for method, labels in zip(METHODS, (otsu, _cleaned(otsu, least), zones.labels), strict=True):
        islands = islands_of(labels)
        found = {
            "small": float((islands.pixels()[1:] < least).sum()),
            "line": _borders(labels) / placed.px_per_mm / 10,
        }
        for paint in PAINTS:
            parts = labels if paint == "flat" else islands.painted(np.arange(islands.count))
            painted = _painted(paint, labels, parts, placed)
            found[f"rms {paint}"], found[f"ssim {paint}"] = _errors(placed.lightness, painted)
        result[method] = found
    return result


def _borders(labels: "Labels") -> int:
    """Sides of pixels between two zones."""
    across, down = labels[:, 1:] != labels[:, :-1], labels[1:] != labels[:-1]
    return int(across.sum() + down.sum())


def _cleaned(labels: "Labels", least: float) -> "Labels":
    """Give islands below the least area to the nearest that stay, until none is left."""
    from scipy import ndimage

    from burnplan.tone.islands import islands_of

    while True:
        islands = islands_of(labels)
        small = islands.pixels() < least
        small[0] = False
        if not small.any():
            return labels
        gone = islands.painted(small)
        at = ndimage.distance_transform_edt(gone, return_distances=False, return_indices=True)
        labels = labels[tuple(at)]


def _painted(paint: str, labels: "Labels", parts: "Parts", placed: "Placed") -> "Light":
    """Lightness of zones painted in one of the ways, each part its own mean."""
    import cv2
    import numpy as np

    from burnplan.zoning import MIN_AREA_MM2

    light = placed.lightness
    count = np.maximum(np.bincount(parts.ravel()), 1)
    mean = np.bincount(parts.ravel(), weights=light.ravel()) / count
    result = mean[parts].astype(np.float32)
    if paint != "burned":
        return result
    # Tone within a zone as fine as the smallest area, from the same zone alone.
    side, nib = (2 * round(mm * placed.px_per_mm / 2) + 1 for mm in (MIN_AREA_MM2**0.5, NIB_MM))
    border = cv2.BORDER_CONSTANT
    for zone in range(1, int(labels.max()) + 1):
        mask = (labels == zone).astype(np.float32)
        share = cv2.boxFilter(mask, -1, (side, side), borderType=border)
        own = cv2.boxFilter(light * mask, -1, (side, side), borderType=border)
        np.copyto(result, own / np.maximum(share, 1e-6), where=mask > 0)
    return np.asarray(cv2.blur(result, (nib, nib)), np.float32)


def _errors(light: "Light", painted: "Light") -> tuple[float, float]:
    """Root-mean-square error, L*, and structural similarity."""
    import numpy as np
    from skimage import metrics

    similarity: Any = metrics.structural_similarity
    rms = float(np.sqrt(np.mean((light - painted) ** 2)))
    alike = similarity(
        light,
        painted,
        data_range=100,
        gaussian_weights=True,
        sigma=1.5,
        use_sample_covariance=False,
    )
    return rms, float(alike)


def compare(photos: Sequence[str]) -> None:
    """Measure and print how well zones keep photos."""
    head = f"{'':22s}{'islands':>16s}{'line cm':>21s}"
    for paint in PAINTS:
        head += f"{'RMS ' + paint:>20s}{'SSIM ' + paint:>20s}"
    print(head)
    columns = "".join(f"{word:>20s}" for word in ("Otsu clean  ours",) * (2 * len(PAINTS)))
    print(f"{'':22s}{'Otsu clean ours':>16s}{'Otsu clean  ours':>21s}{columns}", flush=True)
    all_found = []
    for name in photos:
        found = measured(name)
        all_found.append(found)
        row = f"{name:22s}" + "".join(f"{found[m]['small']:5.0f}" for m in METHODS) + " "
        row += "".join(f"{found[m]['line']:7.0f}" for m in METHODS)
        for paint in PAINTS:
            row += "  " + "".join(f"{found[m][f'rms {paint}']:6.2f}" for m in METHODS)
            row += "  " + "".join(f"{found[m][f'ssim {paint}']:6.3f}" for m in METHODS)
        print(row, flush=True)
    print(f"\nOurs on {len(all_found)} photos:")
    for method in METHODS[:2]:
        for paint, other_paint in (*((p, p) for p in PAINTS), ("burned", "flat")):
            _verdict(all_found, method, paint, other_paint)


def _verdict(
    all_found: Sequence[dict[str, dict[str, float]]], method: str, paint: str, other_paint: str
) -> None:
    """Print on how many photos ours is no worse than another, as far as the table shows."""
    rms = ssim = line = together = 0
    for found in all_found:
        ours, other = found["ours"], found[method]
        better = (
            round(ours[f"rms {paint}"], 2) <= round(other[f"rms {other_paint}"], 2),
            round(ours[f"ssim {paint}"], 3) >= round(other[f"ssim {other_paint}"], 3),
            ours["line"] < other["line"] and ours["small"] == 0,
        )
        rms, ssim, line = rms + better[0], ssim + better[1], line + better[2]
        together += all(better)
    print(
        f"  {paint:6s} against {method:7s} {other_paint:6s}: RMS no worse on {rms}, "
        f"SSIM on {ssim}, no small islands and fewer cm on {line}, all of it on {together}"
    )


def speed(runs_wanted: int) -> None:
    """Measure and print what a reading costs."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "photo.jpg"
        in_own_process("--build", path)
        decode = json.loads(in_own_process("--decode", path, "--runs", str(runs_wanted)))
        runs = [json.loads(in_own_process("--read", path)) for _ in range(runs_wanted)]
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


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("what", nargs="?", choices=("speed", "zones", "all"), default="all")
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--photos", nargs="*", default=PHOTOS, metavar="NAME")
    parser.add_argument(
        "--set",
        nargs="*",
        default=[],
        metavar="CONSTANT=VALUE",
        help="zones with another constant of burnplan.tone.zones, like MIN_WIDTH_MM=1",
    )
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
    if given.what in ("speed", "all"):
        speed(given.runs)
    if given.what in ("zones", "all"):
        from burnplan.tone import zones

        for setting in given.set:
            constant, _equals, value = setting.partition("=")
            setattr(zones, constant, type(getattr(zones, constant))(value))
        compare(given.photos)


if __name__ == "__main__":
    main()
