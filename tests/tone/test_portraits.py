"""On two real portraits: what is softly lit stays open, eyes, nose and mouth have their lines.

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
from burnplan.tone.lines import Lines, draw_lines
from burnplan.tone.passes import Pressure
from burnplan.tone.photo import open_photo
from burnplan.tone.place import Placed, place

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
def drawn(path: Path, portrait: Portrait, marked: bool) -> tuple[Placed, Lines]:
    photo = open_photo(path)
    width, height = photo.full_size
    areas = [
        MarkedArea(AreaKind.ELLIPSE, ((x0 / width, y0 / height), (x1 / width, y1 / height)))
        for x0, y0, x1, y1 in portrait.features
    ]
    outline = Outline(OutlineKind.RECTANGLE, *portrait.blank)
    placed = place(photo, outline, focal=areas if marked else ())
    return placed, draw_lines(placed)


def sides(lines: Lines) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Middle and length of every straight piece, mm, and whether it is drawn."""
    middles, lengths, traced = [], [], []
    for line in lines.lines:
        points = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
        middles.append((points[:-1] + points[1:]) / 2)
        lengths.append(np.hypot(*np.diff(points, axis=0).T))
        traced.append(np.full(len(lengths[-1]), line.pressure is not Pressure.LOST))
    return np.concatenate(middles), np.concatenate(lengths), np.concatenate(traced)


def drawn_density(placed: Placed, lines: Lines, box: Box) -> float:
    """Length drawn in a box, mm/cm²."""
    size = placed.position.photo_size
    low, high = placed.position.to_mm(np.array(box).reshape(2, 2) / size)
    middles, lengths, traced = sides(lines)
    within = ((middles > low) & (middles < high)).all(axis=1)
    return float(lengths[within & traced].sum() / np.prod(high - low) * 100)


@pytest.fixture(params=[pytest.param(WOMAN, marks=pytest.mark.long), CAT], ids=["woman", "cat"])
def portrait(request: pytest.FixtureRequest) -> Portrait:
    chosen: Portrait = request.param
    return chosen


def test_soft_parts_stay_open_and_features_have_lines(
    photo_file: Callable[[str], Path], portrait: Portrait
) -> None:
    """Without any mark."""
    placed, lines = drawn(photo_file(portrait.name), portrait, False)
    soft = [drawn_density(placed, lines, box) for box in portrait.soft]
    features = [drawn_density(placed, lines, box) for box in portrait.features]
    assert max(soft) < min(features) / 3
    assert lines.lost_cm > 0


@pytest.mark.long
def test_strong_edges_of_the_features_have_a_line(
    photo_file: Callable[[str], Path], portrait: Portrait
) -> None:
    """Against skimage.feature.canny: the coarse edges of what is most contrasted."""
    feature: Any = importlib.import_module("skimage.feature")

    def covered(marked: bool) -> list[float]:
        placed, lines = drawn(photo_file(portrait.name), portrait, marked)
        edges = feature.canny(
            placed.lightness,
            sigma=1.5 * placed.px_per_mm,
            low_threshold=0.8,
            high_threshold=0.9,
            use_quantiles=True,
        )
        free = np.ones(edges.shape, np.uint8)
        for line in lines.drawn:
            points = np.rint(line.points * placed.px_per_mm - 0.5).astype(np.int32)
            cv2.polylines(free, [points], line.closed, 0)
        away_mm = cv2.distanceTransform(free, cv2.DIST_L2, 5) / placed.px_per_mm
        shares = []
        for box in portrait.features:
            corners = np.array(box).reshape(2, 2) / placed.position.photo_size
            (x0, y0), (x1, y1) = (placed.position.to_mm(corners) * placed.px_per_mm).astype(int)
            there = edges[y0:y1, x0:x1]
            assert there.sum() > 50
            shares.append(float((away_mm[y0:y1, x0:x1][there] < 1).mean()))
        return shares

    assert min(covered(False)) > 0.7
    assert min(covered(True)) > 0.8


@pytest.mark.long
def test_marked_features_have_more_and_the_rest_as_much(
    photo_file: Callable[[str], Path], portrait: Portrait
) -> None:
    _placed, plain = drawn(photo_file(portrait.name), portrait, False)
    placed, lines = drawn(photo_file(portrait.name), portrait, True)
    assert placed.focal is not None

    def lengths_of(drawing: Lines) -> tuple[float, float]:
        """Length drawn in focal areas and outside, mm."""
        middles, lengths, traced = sides(drawing)
        column, row = np.floor(middles * placed.px_per_mm).astype(int).T
        height, width = placed.inside.shape
        assert placed.focal is not None
        within = placed.focal[row.clip(0, height - 1), column.clip(0, width - 1)]
        return float(lengths[within & traced].sum()), float(lengths[~within & traced].sum())

    (inner, outer), (plain_inner, plain_outer) = lengths_of(lines), lengths_of(plain)
    assert inner > 1.05 * plain_inner
    assert outer == pytest.approx(plain_outer, rel=0.05)


def test_what_is_left_open_has_no_strong_edge_in_the_photo(
    photo_file: Callable[[str], Path], portrait: Portrait
) -> None:
    """Against skimage.filters.sobel, at the scale of a nib."""
    filters: Any = importlib.import_module("skimage.filters")
    placed, lines = drawn(photo_file(portrait.name), portrait, False)
    edge = filters.sobel(filters.gaussian(placed.lightness, 0.75 * placed.px_per_mm / 2))
    middles, lengths, traced = sides(lines)
    column, row = np.floor(middles * placed.px_per_mm).astype(int).T
    strength = edge[row.clip(0, edge.shape[0] - 1), column.clip(0, edge.shape[1] - 1)]
    strong = np.average(strength[traced], weights=lengths[traced])
    weak = np.average(strength[~traced], weights=lengths[~traced])
    # What is left open in fur is not faint but like all around it.
    assert weak < 0.75 * strong
