"""Islands against scipy.ndimage and scipy.sparse.csgraph, and against counting side by side."""

from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays
from numpy.typing import NDArray
from scipy import ndimage
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from burnplan.tone.islands import islands_of, united
from burnplan.tone.photo import open_photo
from burnplan.tone.place import Placed
from burnplan.tone.zones import find_zones

FOUR, EIGHT = ndimage.generate_binary_structure(2, 1), ndimage.generate_binary_structure(2, 2)

rasters = arrays(
    np.uint8, array_shapes(min_dims=2, max_dims=2, max_side=12), elements=st.integers(0, 3)
)


def numbered(labels: NDArray[np.uint8], structure: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Number islands label by label with scipy, which goes from the top down."""
    number = np.zeros(labels.shape, np.int64)
    for label in range(1, int(labels.max()) + 1):
        parts, _count = ndimage.label(labels == label, structure)
        number[parts > 0] = parts[parts > 0] + number.max()
    return number


@given(labels=rasters, across=st.booleans())
def test_islands_are_those_of_scipy(labels: NDArray[np.uint8], across: bool) -> None:
    islands = islands_of(labels, across_corners=across)
    number = islands.painted(np.arange(islands.count))
    assert np.array_equal(number, numbered(labels, EIGHT if across else FOUR))
    assert np.array_equal(islands.painted(islands.label), labels)


@given(labels=rasters, seed=st.integers(0, 9))
def test_pixels_and_sums_are_those_of_scipy(labels: NDArray[np.uint8], seed: int) -> None:
    values = np.random.default_rng(seed).integers(0, 100, labels.shape).astype(np.float32)
    islands = islands_of(labels)
    number, each = numbered(labels, FOUR), np.arange(islands.count)
    assert np.array_equal(islands.pixels(), ndimage.sum_labels(labels >= 0, number, each))
    assert np.array_equal(islands.sums(values), ndimage.sum_labels(values, number, each))


@given(labels=rasters)
def test_sides_are_those_counted_pixel_by_pixel(labels: NDArray[np.uint8]) -> None:
    number = numbered(labels, FOUR)
    wanted: Counter[tuple[int, int]] = Counter()
    for a, b in ((number[:, :-1], number[:, 1:]), (number[:-1], number[1:])):
        for pair in zip(a.ravel().tolist(), b.ravel().tolist(), strict=True):
            if pair[0] != pair[1] and min(pair) > 0:
                wanted[min(pair), max(pair)] += 1
    found: Counter[tuple[int, int]] = Counter()
    for one, other, shared in zip(
        *(side.tolist() for side in islands_of(labels).sides()), strict=True
    ):
        found[min(one, other), max(one, other)] += shared
    assert found == wanted


def test_islands_of_a_photo_are_those_of_scipy(
    photo_file: Callable[[str], Path], placed_of: Callable[..., Placed]
) -> None:
    labels = find_zones(placed_of(open_photo(photo_file("flower.jpg")).rgb)).labels
    islands = islands_of(labels)
    assert np.array_equal(islands.painted(np.arange(islands.count)), numbered(labels, FOUR))


@pytest.mark.parametrize("across", [True, False])
def test_a_winding_island_is_one(across: bool) -> None:
    labels = np.ones((41, 30), np.uint8)
    labels[1::4, :-1] = 2
    labels[3::4, 1:] = 2
    for turned in (labels, np.ascontiguousarray(labels.T)):
        islands = islands_of(turned, across_corners=across)
        assert np.count_nonzero(islands.label == 1) == 1
        assert np.count_nonzero(islands.label == 2) == 20


@given(count=st.integers(1, 40), data=st.data())
def test_things_are_united_as_in_scipy(count: int, data: st.DataObject) -> None:
    thing = st.integers(0, count - 1)
    pairs = data.draw(st.lists(st.tuples(thing, thing), max_size=60))
    one, other = np.array(pairs, np.int64).reshape(-1, 2).T
    graph = coo_array((np.ones(len(one)), (one, other)), shape=(count, count))
    _count, theirs = connected_components(graph, directed=False)
    ours = united(count, one, other)
    assert np.array_equal(ours[:, None] == ours, theirs[:, None] == theirs)
    assert list(dict.fromkeys(ours.tolist())) == list(range(int(ours.max()) + 1))
