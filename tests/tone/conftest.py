"""Real photos and small builders that the tests of tone share."""

import importlib
import warnings
from collections.abc import Callable
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from burnplan.outline import Outline, OutlineKind
from burnplan.tone.photo import Photo, PhotoInfo
from burnplan.tone.place import Placed, place

Rgb = NDArray[np.uint8]


@cache
def _photo_file(name: str) -> Path:
    from skimage import data

    learn = find_spec("sklearn")  # importing it takes its time
    assert learn is not None
    assert learn.origin is not None
    for folder in (Path(data.__file__).parent, Path(learn.origin).parent / "datasets/images"):
        if (folder / name).exists():
            return folder / name
    raise FileNotFoundError(name)


@pytest.fixture
def photo_file() -> Callable[[str], Path]:
    """Give the path of a real photo that ships in scikit-image or scikit-learn."""
    return _photo_file


def as_photo(rgb: Rgb) -> Photo:
    """Wrap an array, grey or colour, as an opened photo."""
    colour = np.repeat(rgb[..., None], 3, axis=2) if rgb.ndim == 2 else rgb
    size = (colour.shape[1], colour.shape[0])
    return Photo(colour, size, PhotoInfo("PNG", size, 1))


@pytest.fixture
def colour_science() -> Any:
    """Give colour-science; it warns while loading where matplotlib is not installed."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return importlib.import_module("colour")


@pytest.fixture
def photo_of() -> Callable[[Rgb], Photo]:
    return as_photo


@pytest.fixture
def placed_of() -> Callable[..., Placed]:
    """Place an array on a rectangle as large as its pixels at 4 px/mm, or on an outline."""

    def build(rgb: Rgb, outline: Outline | None = None, px_per_mm: float = 4.0) -> Placed:
        height, width = rgb.shape[:2]
        blank = outline or Outline(OutlineKind.RECTANGLE, width / px_per_mm, height / px_per_mm)
        return place(as_photo(rgb), blank, px_per_mm=px_per_mm)

    return build
