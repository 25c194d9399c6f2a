"""A photo of a half-burned piece against its plan: how well it is read, and what it costs.

Run it as ``python tests/benchmarks/bench_compare.py``, or with ``speed``, ``darkness`` or
``found`` for a part. Photos are rendered from seeds that ``--first`` gives, those of which
the truth is known.

``speed`` compares a photo of 12 megapixels in an open book, with its corners given and
with the piece to be found, and gives the ratio to the photo's own full decode, by the
clock and of processor time. ``darkness`` reads pieces at three states of progress, the
light uneven by a factor of 2, with noise, JPEG and corners 3 pixels off, and looks
whether the ten largest faults planted are among the places named. ``found`` finds pieces
of four shapes on a bench with things on it.
"""

import argparse
import cProfile
import math
import os
import pstats
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the program does

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[2]))

from burnplan.desk.jobs import commissions, comparisons, planned, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.comparisons import CompareRequest
from burnplan.desk.jobs.layouts import LayoutChange
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from burnplan.outline import Outline, OutlineKind
from burnplan.tone.areas import AreaKind, MarkedArea
from burnplan.tone.compare import TOLERANCE, compare_zones, lay_on_plan, wanted_darkness
from burnplan.tone.control import ToneControl, controlled
from burnplan.tone.flat_view import FlatView, view_of_corners
from burnplan.tone.photo import open_photo
from burnplan.tone.piece_found import find_piece
from burnplan.tone.place import Placed, place
from burnplan.tone.placement import Placement
from burnplan.tone.places import darkness_off, places_off
from burnplan.tone.zones import ZoneMap, find_zones
from burnplan.wood.species import species_on_record
from tests import books
from tests.tone.burned import STATES, Scene, scene
from tests.tone.conftest import _photo_file

Plan = tuple[Placed, ZoneMap]
FAR = 0.12  # darkness that no zone may be off


def plans() -> dict[str, Plan]:
    """Return a plan of each shape: some wood bare, the rest in six zones."""
    turn = np.linspace(0, 2 * math.pi, 60, endpoint=False)
    far = 100 * (1 + 0.06 * np.cos(3 * turn + 1) + 0.04 * np.cos(5 * turn))
    edge = np.stack([1.15 * far * np.cos(turn), far * np.sin(turn)], axis=1)
    wanted = {
        "cat, rectangle": ("chelsea.png", Outline(OutlineKind.RECTANGLE, 240, 180)),
        "cup, round": ("coffee.png", Outline(OutlineKind.ROUND, 200, 200)),
        "flower, oval": ("flower.jpg", Outline(OutlineKind.OVAL, 260, 190)),
        "portrait, live edge": (
            "astronaut.png",
            Outline.of_corners([(float(x), float(y)) for x, y in edge - edge.min(axis=0)]),
        ),
    }
    made = {}
    for name, (photo, outline) in wanted.items():
        control = ToneControl(auto_levels=True)
        placement: Placement | None = Placement(margin_mm=15)
        if outline.kind is OutlineKind.RECTANGLE:
            marked = (MarkedArea(AreaKind.ELLIPSE, ((0.2, 0.02), (0.95, 0.98))),)
            control, placement = ToneControl(auto_levels=True, subject=marked), None
        placed = place(open_photo(_photo_file(photo)), outline, placement, 2.0)
        placed = controlled(placed, control)
        made[name] = placed, find_zones(placed)
    return made


def read(
    plan: Plan, seen: Scene, view: FlatView, *, recognised: bool
) -> tuple[list[float], int, int]:
    """Return the errors of zones, how many of the ten largest faults are named, of how many.

    None are where the piece must be recognised by what is burned, and is not.
    """
    placed, zones = plan
    piece = lay_on_plan(seen.rgb, view, placed, zones, 82.0, 18.0)
    if recognised and piece.corners_mm is None:
        return [], 0, 0
    off = darkness_off(piece, placed.px_per_mm)
    found = compare_zones(piece, placed, zones, off, TOLERANCE)
    errors = [abs(zone.measured - seen.darkness[zone.zone]) for zone in found]
    light, dark = places_off(off, placed, zones, TOLERANCE)
    assert len(light) + len(dark) <= 20
    largest = sorted(seen.faults, key=lambda fault: -fault.area_cm2)[:10]
    named = [
        any(
            math.dist(one.at_mm, fault.at_mm) < fault.radius_mm
            for one in (dark if fault.step > 0 else light)
        )
        for fault in largest
    ]
    return errors, sum(named), len(named)


def darkness(first: int, scenes: int, *, find: bool) -> None:
    """Print how well zones are read and faults named, with corners given or the piece found."""
    errors: list[float] = []
    named = planted = refused = wrong = 0
    for name, (placed, zones) in plans().items():
        outline, own = placed.outline, []
        for state in STATES:
            for seed in range(first, first + scenes):
                seen = scene(placed, zones, state, seed, faults=12, things=12 if find else 60)
                size = seen.rgb.shape[1], seen.rgb.shape[0]
                box = outline.width_mm, outline.height_mm
                view = view_of_corners(seen.corners, box, size)
                if find:
                    try:
                        view = find_piece(seen.rgb, outline, size, wanted_darkness(placed))
                    except BadInput:
                        refused += 1
                        continue
                off_zones, hits, of = read((placed, zones), seen, view, recognised=find)
                refused += not off_zones
                if max(off_zones, default=0) > FAR:
                    wrong += 1
                    print(f"  {name} {state} {seed}: off by {max(off_zones):.2f}")
                own += off_zones
                named, planted = named + hits, planted + of
        errors += own
        if own:
            typical = f"median error {np.median(own):.3f}, largest {max(own):.3f}"
            print(f"  {name}: {typical}", flush=True)
    shares = [float(np.mean(np.array(errors) <= bound)) for bound in (0.06, 0.12)]
    print(f"{len(errors)} zones: median error {np.median(errors):.3f}, within 0.06 {shares[0]:.3f},"
          f" within 0.12 {shares[1]:.3f}, largest {max(errors):.3f}")  # fmt: skip
    print(f"faults named: {named} of the {planted} largest")
    if find:
        print(f"refused {refused}, wrong {wrong}")


def timed(work: Callable[[], object], rounds: int) -> tuple[float, float]:
    """Return the shortest time of some rounds, by the clock and of the processor."""
    taken = []
    for _ in range(rounds):
        wall, processor = time.perf_counter(), time.process_time()
        work()
        taken.append((time.perf_counter() - wall, time.process_time() - processor))
    return min(one for one, _ in taken), min(one for _, one in taken)


def speed(first: int, rounds: int, *, profile: bool) -> None:
    """Print what a comparison costs against the decode."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / "home"
        studio = books.open_at(home, lambda: datetime(2027, 3, 17, 9, 0, tzinfo=UTC))
        marked = LayoutChange(subject=["ellipse 20,2 95,98"], levels=True)
        wanted = (
            ("Cat", "24x18cm", "chelsea.png", marked),
            ("Cup", "round 20cm", "coffee.png", LayoutChange(margin="15mm", levels=True)),
        )
        for title, size, photo, layout in wanted:
            wishes = Wishes(title=title, size=size, species="basswood")
            code = commissions.add(studio, wishes).code
            references.add(studio, code, _photo_file(photo), wanted=layout)
            plan = planned.planned(studio, code, 4.0)
            wood = species_on_record(plan.view.species)
            seen = scene(
                plan.placed, plan.zones, "all", first, size=(4000, 3000), things=8, quality=92,
                noise=5.0, bare=wood.bare_lightness, dark=wood.darkest_burn,
            )  # fmt: skip
            path = Path(folder) / "bench.jpg"
            path.write_bytes(seen.jpeg)
            print(f"{title}, {size}: a photo of 12 megapixels, {len(seen.jpeg) / 1e6:.1f} MB")
            given = CompareRequest(corners=[(float(x), float(y)) for x, y in seen.corners])
            compared_in(studio, code, path, given, rounds)
            if profile:
                watched = cProfile.Profile()
                watched.runcall(comparisons.compare, studio, code, path, None)
                pstats.Stats(watched).sort_stats("cumulative").print_stats(45)


def compared_in(studio: Studio, code: str, path: Path, given: CompareRequest, rounds: int) -> None:
    """Print what it takes with corners given and without, and the decode."""

    def decode() -> None:
        with Image.open(path) as image:
            np.asarray(image.convert("RGB"))

    whole = timed(decode, rounds)
    print(f"  decode {whole[0]:.3f} s, of the processor {whole[1]:.3f} s")
    for name, asked in (("corners given", given), ("found", None)):
        took = timed(partial(comparisons.compare, studio, code, path, asked), rounds)
        print(f"  {name}: {took[0]:.3f} s, {took[0] / whole[0]:.2f} × the decode;"
              f" of the processor {took[1]:.3f} s, {took[1] / whole[1]:.2f} ×")  # fmt: skip


def main() -> None:
    """Measure what is asked for."""
    asked = argparse.ArgumentParser()
    asked.add_argument("what", nargs="*", default=["speed", "darkness", "found"])
    asked.add_argument("--first", type=int, default=7000)
    asked.add_argument("--scenes", type=int, default=4)
    asked.add_argument("--rounds", type=int, default=5)
    asked.add_argument("--profile", action="store_true")
    given = asked.parse_args()
    if "speed" in given.what:
        speed(given.first, given.rounds, profile=given.profile)
    if "darkness" in given.what:
        darkness(given.first, given.scenes, find=False)
    if "found" in given.what:
        darkness(given.first, given.scenes, find=True)


if __name__ == "__main__":
    main()
