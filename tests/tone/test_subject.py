"""Subjects found from one rough mark, against outlines drawn by hand."""

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from burnplan.tone.region import Polygon, ellipse, polygon_mask
from burnplan.tone.subject import proposed, subject_of
from tests.cases import quick_first

# By hand over each photo: a rough ellipse as left, top, right, bottom in shares of its width
# and height, and the outline of the subject in per cent of them.
DRAWN = json.loads(Path(__file__).with_name("subjects.json").read_text())

Mask = NDArray[np.bool_]


def overlap(one: Mask, other: Mask) -> float:
    return float((one & other).sum() / (one | other).sum())


def read(path: Path) -> tuple[NDArray[np.uint8], Polygon, Mask]:
    """Return a photo, its mark in pixels and its subject."""
    rgb = np.asarray(Image.open(path).convert("RGB"))
    size = np.array(rgb.shape[1::-1])
    drawn = DRAWN[path.name]
    mark = ellipse(*(np.array(drawn["mark"]) * np.tile(size, 2)))
    outline = polygon_mask([np.array(drawn["outline"]) / 100 * size], rgb.shape[:2], 1.0)
    return rgb, mark, outline


@quick_first("name", sorted(DRAWN), quick=2)
def test_the_subject_is_found(name: str, photo_file: Callable[[str], Path]) -> None:
    rgb, mark, outline = read(photo_file(name))
    found = subject_of(rgb, [mark])
    assert overlap(found, outline) >= 0.85
    marked = polygon_mask([mark], rgb.shape[:2], 1.0)
    assert overlap(found, outline) > overlap(marked, outline)
    assert np.array_equal(found, subject_of(rgb, [mark]))  # no chance in it


def test_what_is_dropped_goes_and_what_is_kept_stays(photo_file: Callable[[str], Path]) -> None:
    rgb, mark, _outline = read(photo_file("flower.jpg"))
    height, width = rgb.shape[:2]
    left = np.array([(0, 0), (0.45 * width, 0), (0.45 * width, height), (0, height)])
    corner = np.array([(0, 0), (40, 0), (40, 40), (0, 40)], np.float64)
    found = subject_of(rgb, [mark], drop=[left], keep=[corner])
    assert not found[:, : int(0.44 * width)][60:].any()
    assert found[:38, :38].all()
    assert found[height // 2, width // 2]


def test_nothing_lies_beyond_what_the_photo_covers(photo_file: Callable[[str], Path]) -> None:
    rgb, mark, _outline = read(photo_file("flower.jpg"))
    within = np.zeros(rgb.shape[:2], np.bool_)
    within[:, 200:] = True
    found = subject_of(rgb, [mark], within=within)
    assert not found[:, :190].any()


@pytest.mark.parametrize("shift", [-0.03, 0.03])
def test_a_mark_may_be_rough(shift: float, photo_file: Callable[[str], Path]) -> None:
    rgb, mark, outline = read(photo_file("coffee.png"))
    assert overlap(subject_of(rgb, [mark + shift * rgb.shape[1]]), outline) >= 0.8


def test_a_likely_subject_is_proposed(photo_file: Callable[[str], Path]) -> None:
    rgb, _mark, outline = read(photo_file("flower.jpg"))
    mark = proposed(rgb)
    inside = polygon_mask([mark], rgb.shape[:2], 1.0)
    assert (inside & outline).sum() > 0.9 * outline.sum()
    assert overlap(subject_of(rgb, [mark]), outline) >= 0.85


def test_a_flat_picture_is_proposed_whole_or_its_middle() -> None:
    mark = proposed(np.full((60, 90, 3), 128, np.uint8))
    assert np.isfinite(mark).all()
