"""On two real portraits: what is softly lit opens, eyes, nose and mouth keep their lines.

The places were marked by eye on the photos, in pixels: left, top, right, bottom.
"""

import dataclasses
import importlib
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from burnplan.outline import Outline, OutlineKind
from burnplan.tone.areas import AreaKind, MarkedArea
from burnplan.tone.photo import open_photo
from burnplan.tone.place import Placed, place
from burnplan.tone.trace import Pressure, TraceLines, trace_lines
from burnplan.tone.zones import find_zones

Box = tuple[float, float, float, float]


@dataclasses.dataclass(frozen=True)
class Portrait:
    name: str
    blank: tuple[float, float]
    features: tuple[Box, ...]
    soft: tuple[Box, ...]


WOMAN = Portrait(
    "astronaut.png",
    (300, 300),
    features=((190, 92, 214, 107), (234, 93, 260, 109), (200, 135, 250, 155)),  # eyes, mouth
    soft=((310, 0, 370, 180),),  # the mottled backdrop
)
CAT = Portrait(
    "chelsea.png",
    (300, 200),
    features=((132, 82, 208, 148), (292, 107, 345, 166), (225, 222, 295, 268)),  # eyes, nose
    soft=((360, 50, 450, 300), (40, 255, 110, 300)),  # the room behind, the soft chest
)


@cache
def traced(path: Path, portrait: Portrait, marked: bool) -> tuple[Placed, TraceLines]:
    photo = open_photo(path)
    width, height = photo.full_size
    areas = [
        MarkedArea(AreaKind.ELLIPSE, ((x0 / width, y0 / height), (x1 / width, y1 / height)))
        for x0, y0, x1, y1 in portrait.features
    ]
    outline = Outline(OutlineKind.RECTANGLE, *portrait.blank)
    placed = place(photo, outline, focal=areas if marked else ())
    return placed, trace_lines(find_zones(placed), placed)


def sides(lines: TraceLines) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Middle and length of every straight piece, mm, and whether it is drawn."""
    middles, lengths, drawn = [], [], []
    for line in lines.lines:
        points = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
        middles.append((points[:-1] + points[1:]) / 2)
        lengths.append(np.hypot(*np.diff(points, axis=0).T))
        drawn.append(np.full(len(lengths[-1]), line.pressure is not Pressure.LOST))
    return np.concatenate(middles), np.concatenate(lengths), np.concatenate(drawn)


def drawn_share(placed: Placed, lines: TraceLines, box: Box) -> float:
    size = placed.position.photo_size
    low, high = placed.position.to_mm(np.array(box).reshape(2, 2) / size)
    middles, lengths, drawn = sides(lines)
    within = ((middles > low) & (middles < high)).all(axis=1)
    assert lengths[within].sum() > 40  # there is something to tell
    return float(lengths[within & drawn].sum() / lengths[within].sum())


@pytest.fixture(params=[WOMAN, CAT], ids=["woman", "cat"])
def portrait(request: pytest.FixtureRequest) -> Portrait:
    chosen: Portrait = request.param
    return chosen


def test_soft_parts_open_and_features_keep_their_lines(
    photo_file: Callable[[str], Path], portrait: Portrait
) -> None:
    """Without any mark, by the lightness step alone."""
    placed, lines = traced(photo_file(portrait.name), portrait, False)
    soft = [drawn_share(placed, lines, box) for box in portrait.soft]
    features = [drawn_share(placed, lines, box) for box in portrait.features]
    assert max(soft) < 0.3
    assert min(features) > 0.65
    assert lines.lost_cm > 0.1 * lines.length_cm()


def test_edges_of_the_features_have_a_line(
    photo_file: Callable[[str], Path], portrait: Portrait
) -> None:
    """Against skimage.feature.canny at the scale of a nib: what it finds is drawn, or nearly."""
    feature: Any = importlib.import_module("skimage.feature")

    def covered(marked: bool) -> list[float]:
        placed, lines = traced(photo_file(portrait.name), portrait, marked)
        edges = feature.canny(
            placed.lightness, sigma=0.75 * placed.px_per_mm, low_threshold=2, high_threshold=5
        )
        drawn = np.ones(edges.shape, np.uint8)
        for line in lines.lines:
            if line.pressure is not Pressure.LOST:
                points = np.rint(line.points * placed.px_per_mm - 0.5).astype(np.int32)
                cv2.polylines(drawn, [points], line.closed, 0)
        away_mm = cv2.distanceTransform(drawn, cv2.DIST_L2, 5) / placed.px_per_mm
        shares = []
        for box in portrait.features:
            corners = np.array(box).reshape(2, 2) / placed.position.photo_size
            (x0, y0), (x1, y1) = (placed.position.to_mm(corners) * placed.px_per_mm).astype(int)
            there = edges[y0:y1, x0:x1]
            assert there.sum() > 100
            shares.append(float((away_mm[y0:y1, x0:x1][there] < 1).mean()))
        return shares

    plain, marked = covered(False), covered(True)
    assert min(plain) > 0.6
    assert np.mean(plain) > 0.7
    assert min(marked) > 0.7
    assert np.mean(marked) > np.mean(plain)


def test_marked_features_lose_nothing(
    photo_file: Callable[[str], Path], portrait: Portrait
) -> None:
    plain = traced(photo_file(portrait.name), portrait, False)[1]
    placed, lines = traced(photo_file(portrait.name), portrait, True)
    assert placed.focal is not None
    middles, lengths, drawn = sides(lines)
    column, row = np.floor(middles * placed.px_per_mm).astype(int).T
    height, width = placed.focal.shape
    within = placed.focal[row.clip(0, height - 1), column.clip(0, width - 1)]
    assert lengths[within & ~drawn].sum() < 0.002 * lengths[within].sum()  # at its very edge
    # There is more of them, and elsewhere as much as before.
    plain_middles, plain_lengths, _drawn = sides(plain)
    column, row = np.floor(plain_middles * placed.px_per_mm).astype(int).T
    plain_within = placed.focal[row.clip(0, height - 1), column.clip(0, width - 1)]
    assert lengths[within].sum() > 1.15 * plain_lengths[plain_within].sum()
    assert lengths[~within].sum() == pytest.approx(plain_lengths[~plain_within].sum(), rel=0.05)
    for box in portrait.soft:
        assert drawn_share(placed, lines, box) < 0.3


def test_what_is_left_open_has_no_edge_in_the_photo(
    photo_file: Callable[[str], Path], portrait: Portrait
) -> None:
    """Against skimage.filters.sobel, at the scale of a nib."""
    filters: Any = importlib.import_module("skimage.filters")
    placed, lines = traced(photo_file(portrait.name), portrait, False)
    edge = filters.sobel(filters.gaussian(placed.lightness, 0.75 * placed.px_per_mm / 2))
    middles, lengths, drawn = sides(lines)
    column, row = np.floor(middles * placed.px_per_mm).astype(int).T
    strength = edge[row.clip(0, edge.shape[0] - 1), column.clip(0, edge.shape[1] - 1)]
    strong = np.average(strength[drawn], weights=lengths[drawn])
    weak = np.average(strength[~drawn], weights=lengths[~drawn])
    assert weak < strong / 2.5
    # Nine tenths of what is left open is fainter than nine tenths of what is drawn.
    assert np.quantile(strength[~drawn], 0.9) < np.quantile(strength[drawn], 0.3)


def test_long_contours_open_along_their_way(
    photo_file: Callable[[str], Path], portrait: Portrait
) -> None:
    """Contours are not drawn or lost as a whole: many lines end where light turns soft."""
    _placed, lines = traced(photo_file(portrait.name), portrait, False)
    ends: dict[bool, list[NDArray[np.float64]]] = {True: [], False: []}
    for line in lines.lines:
        if not line.closed:
            ends[line.pressure is Pressure.LOST].append(line.points[[0, -1]])
    drawn, lost = np.concatenate(ends[False]), np.concatenate(ends[True])
    meets = (np.abs(drawn[:, None] - lost[None]).max(axis=2) < 1e-3).any(axis=1)
    assert len(drawn) > 100
    assert meets.mean() > 0.15
