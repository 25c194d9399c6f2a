"""What the lines of a reference cost a hand, and how much of the picture they hold.

Run it as ``python tests/benchmarks/bench_line.py``; it measures and judges nothing. Photos are
those that ship in scikit-image and scikit-learn, the portrait in textual-image, two drawn here,
and whatever is given after ``--more``. Each lies on a blank of 20 × 25 cm turned to suit.

For each detail it counts:

- strokes (firm and light lines, one subpath each), and their share of those of the borders of
  value zones, which were traced before lines were drawn: counted then, with the same photos;
- the share of strokes under 5 mm;
- turning in degrees a cm, at the points as written;
- the share of coarse edges (``skimage.feature.canny`` on L*, sigma 1.5 mm, quantiles 0.8 and
  0.9) within 1 mm of a line;
- the share of the strongest fine edges (sigma 0.6 mm, quantiles 0.93 and 0.97) within 0.8 mm;
- seconds for the lines alone.

Pictures side by side (photo, borders of zones, calm, usual, fine; the first pass red, the second
black, the third blue; firm lines heavier; ticks grey beside calm) go to the folder of ``--to``.
"""

import argparse
import math
import statistics
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from bench_tone import PHOTOS, photo_path  # type: ignore[import-not-found]
from numpy.typing import NDArray

from burnplan.outline import Outline, OutlineKind
from burnplan.tone.lines import Detail, Lines, draw_lines
from burnplan.tone.passes import Pass, Pressure
from burnplan.tone.photo import Photo, PhotoInfo, open_photo
from burnplan.tone.place import Placed, place
from burnplan.tone.ticks import direction_ticks
from burnplan.tone.zones import find_zones

Strokes = Sequence[tuple[NDArray[np.float64], bool]]

COLUMNS = ("strokes", "share", "under 5 mm", "turning", "coarse", "fine", "seconds")
BORDERS = {
    "astronaut.png": 839,
    "brick.png": 638,
    "camera.png": 590,
    "cell.png": 16,
    "chelsea.png": 1059,
    "china.jpg": 1520,
    "clock_motion.png": 21,
    "coffee.png": 536,
    "coins.png": 595,
    "flower.jpg": 494,
    "grass.png": 3204,
    "gravel.png": 3117,
    "hubble_deep_field.jpg": 482,
    "ihc.png": 1936,
    "microaneurysms.png": 2,
    "moon.png": 120,
    "motorcycle_left.png": 1439,
    "motorcycle_right.png": 1429,
    "page.png": 309,
    "retina.jpg": 90,
    "rocket.jpg": 470,
    "text.png": 367,
    "gracehopper.jpg": 524,
    "jug, drawn": 7,
    "face, drawn": 104,
}
"""Strokes of the borders of value zones."""

COLOURS = {Pass.SHAPES: (30, 30, 200), Pass.DARKEST: (30, 30, 30), Pass.CONTOURS: (170, 110, 60)}
GREY = (165, 165, 165)


def rendered() -> dict[str, NDArray[np.uint8]]:
    """Return pictures drawn here: a jug on a table in side light, and a mask of a face."""
    y, x = np.mgrid[0:1250, 0:1000].astype(np.float64)
    jug = 205 - 40 * (y > 900) - 0.02 * y
    half = 190 + 60 * np.sin((y - 300) / 600 * math.pi)
    body = (np.abs(x - 500) < half) & (y > 300) & (y < 1000)
    jug[body] = (70 + 130 * np.clip(0.55 - (x - 500) / half / 2, 0, 1))[body]
    rim = ((x - 500) / 190) ** 2 + ((y - 300) / 45) ** 2 < 1
    jug[rim] = 60
    ring = ((x - 760) / 130) ** 2 + ((y - 600) / 170) ** 2
    jug[(ring < 1) & (ring > 0.5) & ~body] = 85

    face = np.full_like(x, 215)
    head = ((x - 500) / 330) ** 2 + ((y - 620) / 450) ** 2 < 1
    face[head] = (185 - 70 * np.clip((x - 420) / 420, 0, 1))[head]
    hair = (((x - 500) / 380) ** 2 + ((y - 560) / 500) ** 2 < 1) & (
        y < 420 + 0.0008 * (x - 500) ** 2
    )
    face[hair] = (70 + 25 * np.sin(x / 9 + 6 * np.sin(y / 160)))[hair]
    for middle in (360, 640):
        white = ((x - middle) / 75) ** 2 + ((y - 600) / 32) ** 2 < 1
        face[white] = 225
        face[white & (np.hypot(x - middle, y - 600) < 30)] = 60
        face[(np.abs(x - middle) < 90) & (np.abs(y - 520 - 0.002 * (x - middle) ** 2) < 11)] = 80
    nose = (np.abs(y - 770) < 10) & (np.abs(x - 500) < 50)
    face[nose] = 100
    mouth = np.abs(y - 900 + 0.0015 * (x - 500) ** 2)
    face[(mouth < 26 - 0.0016 * (x - 500) ** 2) & (np.abs(x - 500) < 125)] = 105
    face[(mouth < 5) & (np.abs(x - 500) < 125)] = 55
    return {
        name: np.repeat(cv2.GaussianBlur(shade, (0, 0), 1.5).astype(np.uint8)[..., None], 3, axis=2)
        for name, shade in (("jug, drawn", jug), ("face, drawn", face))
    }


def on_blank(photo: Photo) -> Placed:
    """Lay a photo on 20 × 25 cm, turned to suit."""
    wide = photo.full_size[0] > photo.full_size[1]
    return place(photo, Outline(OutlineKind.RECTANGLE, *((250, 200) if wide else (200, 250))))


def strokes_of(lines: Lines) -> Strokes:
    """Return what is traced."""
    return [(line.points, line.closed) for line in lines.drawn]


def edges_of_canny(placed: Placed) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return coarse and fine edges."""
    from skimage import feature

    canny: Any = feature.canny
    px = placed.px_per_mm
    inner = cv2.erode(
        placed.inside.astype(np.uint8),
        np.ones((9, 9), np.uint8),
        borderType=cv2.BORDER_CONSTANT,
        borderValue=0,
    )
    coarse, fine = (
        canny(
            placed.lightness.astype(float),
            sigma=sigma * px,
            mask=inner > 0,
            low_threshold=low,
            high_threshold=high,
            use_quantiles=True,
        )
        for sigma, low, high in ((1.5, 0.8, 0.9), (0.6, 0.93, 0.97))
    )
    return coarse, fine


def figures(
    strokes: Strokes,
    placed: Placed,
    edges: tuple[NDArray[np.bool_], NDArray[np.bool_]],
    before: int | None,
    seconds: float,
) -> tuple[float, ...]:
    """Return what is counted, in the order of the columns."""
    px = placed.px_per_mm
    drawn = np.ones(placed.lightness.shape, np.uint8)
    lengths, turning = [], 0.0
    for points, closed in strokes:
        at = np.rint((points * px - 0.5) * 16).astype(np.int32)
        cv2.polylines(drawn, [at], closed, 0, 1, cv2.LINE_8, 4)
        sides = np.diff(np.vstack([points, points[:1]]) if closed else points, axis=0)
        long = np.hypot(*sides.T)
        lengths.append(float(long.sum()))
        angle = np.arctan2(*sides[long > 1e-6].T[::-1])
        turning += float(np.abs((np.diff(angle) + math.pi) % (2 * math.pi) - math.pi).sum())
    away = cv2.distanceTransform(drawn, cv2.DIST_L2, 5) / px
    near = [
        float((away[found] <= within).mean()) if found.any() else 1.0
        for found, within in zip(edges, (1.0, 0.8), strict=True)
    ]
    under = sum(length < 5 for length in lengths) / max(len(lengths), 1)
    turn = math.degrees(turning) / max(sum(lengths) / 10, 1e-9)
    return (
        len(strokes),
        len(strokes) / before if before else math.nan,
        under,
        turn,
        *near,
        seconds,
    )


def picture(lines: Lines, placed: Placed, ticks: Strokes = ()) -> NDArray[np.uint8]:
    """Return lines on white, BGR."""
    finer = 2
    height, width = placed.lightness.shape
    px = placed.px_per_mm * finer
    image = np.full((height * finer, width * finer, 3), 255, np.uint8)

    def draw(points: NDArray[np.float64], closed: bool, colour: Sequence[int], wide: float) -> None:
        at = np.rint((points * px - 0.5) * 16).astype(np.int32)
        cv2.polylines(image, [at], closed, colour, max(1, round(wide * px)), cv2.LINE_AA, 4)

    for points, closed in ticks:
        draw(points, closed, GREY, 0.12)
    for line in reversed(lines.drawn):
        wide = 0.45 if line.pressure is Pressure.FIRM else 0.25
        draw(line.points, line.closed, COLOURS[line.in_pass], wide)
    return image


def borders(placed: Placed) -> NDArray[np.uint8]:
    """Return the borders of value zones on white, BGR: what was traced before lines were drawn."""
    labels = cv2.resize(
        find_zones(placed).labels, None, fx=2, fy=2, interpolation=cv2.INTER_NEAREST
    )
    image = np.full((*labels.shape, 3), 255, np.uint8)
    for zone in range(2, int(labels.max()) + 1):
        lighter = (labels >= zone).astype(np.uint8)
        found, _ = cv2.findContours(lighter, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
        cv2.polylines(image, found, True, COLOURS[Pass.DARKEST], 2, cv2.LINE_AA)
    return image


def side_by_side(placed: Placed, drawings: Sequence[Lines], path: Path) -> None:
    """Write the photo and each drawing."""
    photo = cv2.resize(placed.rgb[..., ::-1], None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    ticks = [(tick, False) for tick in direction_ticks(placed, drawings[0])]
    parts = [picture(lines, placed, () if at else ticks) for at, lines in enumerate(drawings)]
    cv2.imwrite(str(path), np.hstack([photo, borders(placed), *parts]))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--to", type=Path, help="folder for pictures")
    parser.add_argument("--more", nargs="*", default=[], type=Path, metavar="PHOTO")
    parser.add_argument("--photos", nargs="*", default=PHOTOS, metavar="NAME")
    given = parser.parse_args()
    if given.to:
        given.to.mkdir(parents=True, exist_ok=True)
    import textual_image

    portrait = Path(textual_image.__file__).parent / "gracehopper.jpg"
    sources = {name: photo_path(name) for name in given.photos}
    sources |= {path.name: path for path in (portrait, *given.more) if path.exists()}
    placed = {name: on_blank(open_photo(path)) for name, path in sources.items()}
    for name, rgb in rendered().items():
        size = rgb.shape[1], rgb.shape[0]
        placed[name] = on_blank(Photo(rgb, size, PhotoInfo("PNG", size, 1)))

    found: dict[Detail, list[tuple[float, ...]]] = {word: [] for word in Detail}
    print(f"{'':24s}{'':8s}" + "".join(f"{word:>11s}" for word in COLUMNS))
    for name, lying in placed.items():
        edges = edges_of_canny(lying)
        before = BORDERS.get(name)
        drawings = []
        for detail in Detail:
            start = time.perf_counter()
            lines = draw_lines(lying, detail)
            seconds = time.perf_counter() - start
            drawings.append(lines)
            row = figures(strokes_of(lines), lying, edges, before, seconds)
            found[detail].append(row)
            print(_row(name if detail is Detail.CALM else "", detail, row), flush=True)
        if given.to:
            path = given.to / f"{Path(name).stem.replace(', ', '_')}.png"
            side_by_side(lying, drawings, path)
    print(f"\nMedians over {len(placed)} photos")
    for word, all_rows in found.items():
        medians = tuple(
            statistics.median([value for value in column if not math.isnan(value)])
            for column in zip(*all_rows, strict=True)
        )
        print(_row("", word, medians))


def _row(name: str, word: str, row: Sequence[float]) -> str:
    shown = "{:11.0f}{:11.2f}{:11.1%}{:11.0f}{:11.1%}{:11.1%}{:11.2f}".format(*row)
    return f"{name:24s}{word:8s}{shown}"


if __name__ == "__main__":
    main()
